//! The clumsy user: every command with what is not there, of the wrong sort, misspelt or out of range. Each error says what is
//! wrong, names what is nearest, and tells which command to run next.

use crate::support::{Folder, examples, flat};

/// Words on the command line, and what must be said.
const SLIPS: &[(&str, &[&str])] = &[
    // A job file that is not there, whatever is to be done with it.
    ("inspect hous.toml", &["no such file; did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("loads hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("code hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("compare hous.toml --with demo/millrace", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("propose hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("drill hous.toml --seed 1 --mistakes 1 -o a --key b", &["did you mean `house.toml`?", "next: `storystick start"]),
    ("markout hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("makeup hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("takeoff hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("directory hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("walk hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("walk hous.toml --print", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("readings hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    ("packet hous.toml", &["did you mean `house.toml`?", "next: `storystick start hous.toml`"]),
    // A folder, with and without job files in it.
    ("packet jobs", &["is a folder", "such as `jobs/a.toml`", "next: `storystick inspect jobs`"]),
    ("propose jobs", &["is a folder", "such as `jobs/a.toml`", "next: `storystick inspect jobs`"]),
    ("code none", &["is a folder", "no job file in it", "next: `storystick start none/house.toml`"]),
    ("inspect none", &["`none` holds no job file", "next: `storystick start none/house.toml`"]),
    ("inspect our-rules", &["holds no job file", "next: `storystick ruleset try our-rules`"]),
    // A file that is no job.
    ("inspect empty.toml", &["is empty", "next: `storystick start --force empty.toml`"]),
    ("packet page.html", &["is a page of HTML", "begins with `format = 1`", "next: `storystick start house.toml`"]),
    ("inspect note.txt", &["expected `=`", "note.txt:1:", "next: `storystick start house.toml`"]),
    (
        "inspect our-rules/our-town/ruleset.toml",
        &["manifest of a ruleset", "`storystick ruleset check our-rules/our-town`"],
    ),
    (
        "loads our-rules/our-town/trials/trials.toml",
        &["trials of a ruleset", "`storystick ruleset check our-rules/our-town`"],
    ),
    (
        "markout our-rules/our-town/code/values.toml",
        &["code of a ruleset", "`storystick ruleset check our-rules/our-town`"],
    ),
    ("code demo/millrace", &["is a ruleset", "`storystick code --at demo/millrace --on DATE`"]),
    // A job with a mistake, met by whatever command.
    ("inspect no-place.toml", &["the site has no `jurisdiction`", "no-place.toml:", "`storystick ruleset list`"]),
    ("packet no-place.toml", &["the site has no `jurisdiction`", "no-place.toml:", "`storystick ruleset list`"]),
    (
        "inspect other-place.toml",
        &["there is no jurisdiction", "did you mean `demo/harlow-county`?", "`storystick ruleset list`"],
    ),
    (
        "markout other-place.toml",
        &["other-place.toml:6:21", "did you mean `demo/harlow-county`?", "`storystick ruleset list`"],
    ),
    ("packet early.toml", &["no edition is in force", "1999-01-01", "`storystick ruleset guide demo/harlow-county`"]),
    ("takeoff word.toml", &["`recptacle` is no `kind`", "did you mean `receptacle`?", "`storystick schema job`"]),
    ("directory word.toml", &["word.toml:44:", "did you mean `receptacle`?", "`storystick schema job`"]),
    ("walk word.toml --by A", &["word.toml:44:", "did you mean `receptacle`?", "`storystick schema job`"]),
    ("propose word.toml", &["word.toml:44:", "did you mean `receptacle`?", "`storystick schema job`"]),
    ("makeup unit.toml", &["unit.toml:", "next: put it right, then `storystick inspect unit.toml`"]),
    // Names on the command line.
    ("inspect house.toml --item B99", &["no item `B99`", "`storystick makeup house.toml`"]),
    ("inspect house.toml --rule nm-secured", &["did you mean `nm-secured-at-box`?", "`storystick code house.toml`"]),
    ("inspect house.toml --at demo/milrace", &["did you mean `demo/millrace`?", "`storystick ruleset list`"]),
    (
        "inspect house.toml --permit-date 1999-01-01",
        &["no edition is in force", "`storystick ruleset guide demo/harlow-county`"],
    ),
    ("compare house.toml --with demo/milrace", &["did you mean `demo/millrace`?", "`storystick ruleset list`"]),
    ("compare house.toml --with demo/millrace@1999-01-01", &["no edition is in force", "`storystick ruleset guide"]),
    (
        "code house.toml nm.securd_from_box",
        &["did you mean `nm.secured_from_box`?", "`storystick code house.toml` lists"],
    ),
    (
        "code --at demo/millrace --on 2024-01-01 nm.securd_from_box",
        &["did you mean `nm.secured_from_box`?", "`storystick code --at demo/millrace --on 2024-01-01` lists"],
    ),
    ("code --at demo/milrace --on 2024-01-01", &["did you mean `demo/millrace`?", "`storystick ruleset list`"]),
    (
        "code --at demo/millrace --on 1999-01-01",
        &["no edition is in force", "`storystick ruleset guide demo/millrace`"],
    ),
    ("code --diff demo/millrace demo/milrace", &["did you mean `demo/millrace`?", "`storystick ruleset list`"]),
    ("code --diff demo/millrace demo/harlow-county nm.xx", &["nothing is called `nm.xx`", "`storystick code --at"]),
    ("markout house.toml --room hoby", &["did you mean `hobby`?", "`storystick markout house.toml`"]),
    ("walk house.toml --by A --room hoby", &["did you mean `hobby`?", "`storystick markout house.toml`"]),
    ("makeup house.toml B99", &["no box or panel `B99`", "`storystick makeup house.toml`"]),
    ("packet house.toml --sheet mark-ot", &["possible values: findings, walk, mark-out"]),
    ("inspect house.toml --on yesterday", &["write a date as YEAR-MONTH-DAY"]),
    ("inspct house.toml", &["similar subcommand exists: 'inspect'"]),
    // Files beside the job.
    ("inspect house.toml --since no.json", &["no such file", "`storystick inspect JOB --format json"]),
    ("inspect house.toml --since note.txt", &["is no JSON", "`storystick inspect JOB --format json"]),
    ("walk house.toml --by A --answers not.txt", &["did you mean `note.txt`?", "`storystick walk --help`"]),
    ("walk house.toml", &["a walk is signed", "next: `storystick walk house.toml --by NAME`"]),
    ("start new.toml --answers not.txt", &["did you mean `note.txt`?", "`storystick start --help`"]),
    ("start new.toml --answers note.txt", &["there is no answer `hello`", "`storystick ruleset list`"]),
    ("start house.toml --place demo/millrace --permit-date 2024-01-01", &["is there already", "--force"]),
    (
        "start new.toml --place demo/milrace --permit-date 2024-01-01",
        &["did you mean `demo/millrace`", "`storystick ruleset list`"],
    ),
    ("grade nosuch", &["`nosuch` can't be read: there is no such file", "next: `storystick grade --help`"]),
    ("grade none", &["holds nothing to grade", "next: `storystick grade --help`"]),
    ("grade jobs --key nokey.toml", &["the key can't be used", "no such file", "next: `storystick drill JOB"]),
    ("grade jobs --key note.txt", &["the key can't be used", "expected `=`", "next: `storystick drill JOB"]),
    ("grade jobs --key house.toml", &["unknown field `box`", "next: `storystick drill JOB"]),
    ("grade jobs --key none", &["no key for anybody", "next: give the key of the drill"]),
    ("grade jobs --rubric no.toml", &["no such file", "next: `storystick grade --print-rubric"]),
    ("grade jobs --rubric note.txt", &["expected `=`", "next: `storystick grade --print-rubric"]),
    (
        "grade jobs --reference hous.toml",
        &["the reference can't be used", "did you mean `house.toml`?", "next: `storystick start"],
    ),
    ("grade jobs --reference word.toml", &["did you mean `receptacle`?", "`storystick schema job`"]),
    ("drill house.toml --seed 1 -o a --key b", &["nothing to practise is asked for", "next: `storystick drill JOB"]),
    (
        "drill house.toml --seed 1 --mistakes 1 -o a --key a/b",
        &["where learners read it", "next: `storystick drill JOB"],
    ),
    (
        "drill house.toml --seed 1 --mistakes 1 -o none --key note.txt",
        &["a file stands where a folder should be", "next: name a folder"],
    ),
    (
        "drill house.toml --seed 1 --mistakes 999 -o a --key b",
        &["mistakes can be planted", "next: ask for `--mistakes"],
    ),
    (
        "drill house.toml --seed 1 --mistakes 1 --fault -o a --key b",
        &["either a fault or mistakes", "next: `storystick drill JOB"],
    ),
    (
        "drill house.toml --seed 1 --mistakes 1 --table no.toml -o a --key b",
        &["no such file", "next: `storystick drill --print-table"],
    ),
    (
        "drill house.toml --seed 1 --mistakes 1 --table note.txt -o a --key b",
        &["expected `=`", "next: `storystick drill --print-table"],
    ),
    ("meter non A B", &["`non/fault.sealed` is not there", "did you mean `none`?", "next: `storystick drill JOB"]),
    ("meter none --box B1", &["`none/fault.sealed` is not there", "next: `storystick drill JOB"]),
    // Where to write.
    ("packet house.toml -o nowhere/x.html", &["there is no folder `nowhere`"]),
    ("packet house.toml -o jobs", &["it is a folder; name a file in it"]),
    ("man note.txt", &["a file stands where a folder should be", "next: `storystick man manual`"]),
    ("markout house.toml --svg note.txt", &["note.txt"]),
    // Rulesets.
    ("inspect house.toml --rulesets our-ruls", &["is not there; did you mean `our-rules`?", "`storystick ruleset new"]),
    ("inspect house.toml --rulesets note.txt", &["it is a file", "`storystick ruleset new"]),
    ("inspect house.toml --rulesets none", &["holds no ruleset", "`storystick ruleset new"]),
    ("ruleset try nosuch", &["there is no ruleset `nosuch`", "`storystick ruleset list`"]),
    ("ruleset try house.toml", &["is a file", "`storystick inspect house.toml`"]),
    ("ruleset try our-rules/our-town/ruleset.toml", &["is a file", "`storystick ruleset check our-rules/our-town`"]),
    ("ruleset check us/modl-2020", &["did you mean `us/model-2020`?", "`storystick ruleset list`"]),
    ("ruleset guide us/modl-2020", &["did you mean `us/model-2020`?", "`storystick ruleset list`"]),
    ("ruleset export us/modl-2020", &["did you mean `us/model-2020`?", "`storystick ruleset list`"]),
    ("ruleset export us/model-2020 --dir note.txt", &["a file stands where a folder should be"]),
    ("ruleset new our-town --dir our-rules", &["is there already", "`storystick ruleset check our-rules/our-town`"]),
    ("ruleset new town --within demo/milrace", &["did you mean `demo/millrace`?", "`storystick ruleset list`"]),
    ("ruleset new town --dir note.txt", &["a file stands where a folder should be"]),
    ("ruleset new Our_Town", &["write small letters, digits and single `-`"]),
    ("ruleset try --watch", &["there is nothing to watch", "`storystick ruleset new"]),
    ("inspect gone/house.toml --watch", &["there is no folder", "without --watch"]),
    ("schema jobs", &["similar value exists: 'job'"]),
    ("completions fsh", &["possible values: bash"]),
];

fn folder() -> Folder {
    let folder = Folder::empty();
    let job = std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap();
    let with = |from: &str, to: &str| {
        assert!(job.contains(from), "{from}");
        job.replace(from, to)
    };
    folder.write("house.toml", &job);
    folder.write("jobs/a.toml", &job);
    folder.write("empty.toml", "\n");
    folder.write("note.txt", "hello world\n");
    folder.write("page.html", "<!DOCTYPE html>\n");
    folder.write("no-place.toml", &with("site.jurisdiction = \"demo/harlow-county\"\n", ""));
    folder.write("other-place.toml", &with("demo/harlow-county", "demo/harlow-conty"));
    folder.write("early.toml", &with("permit_date = 2023-05-10", "permit_date = 1999-01-01"));
    folder.write("word.toml", &with("kind = \"receptacle\"", "kind = \"recptacle\""));
    folder.write("unit.toml", &with("rating = \"20 A\"", "rating = \"20 in\""));
    std::fs::create_dir(folder.path().join("none")).unwrap();
    assert_eq!(folder.run("ruleset new our-town --within demo/millrace --dir our-rules").status, 0);
    folder
}

#[test]
fn every_slip_is_told_with_its_place_its_neighbour_and_what_to_run_next() {
    let folder = folder();
    let mut failed = Vec::new();
    for (words, says) in SLIPS {
        let ran = folder.run(words);
        // `ruleset try` and `check` tell of the rulesets where they tell of trials.
        let said = flat(&format!("{}{}", ran.err, ran.out));
        let missing: Vec<&&str> = says.iter().filter(|says| !said.contains(**says)).collect();
        if ran.status != 2 || !missing.is_empty() {
            failed.push(format!("{words}: status {}, lacks {missing:?}:\n{}{}", ran.status, ran.err, ran.out));
        }
        for line in ran.err.lines().filter(|line| !line.starts_with("error: ") && !line.contains("[possible values")) {
            assert!(line.chars().count() <= 80, "{words}: wider than the terminal:\n{line}");
        }
        assert!(!said.contains("os error"), "{words}: {said}");
    }
    assert!(failed.is_empty(), "{}", failed.join("\n\n"));
}

#[test]
fn a_place_named_on_the_command_line_is_no_fault_of_the_job() {
    let folder = folder();
    for words in ["inspect house.toml --at demo/milrace", "compare house.toml --with demo/milrace"] {
        let ran = folder.run(words);
        assert!(!ran.err.contains("house.toml:"), "{}", ran.err);
    }
    // Nor is a day.
    let ran = folder.run("inspect house.toml --permit-date 1999-01-01");
    assert!(ran.err.contains("── the place") && !ran.err.contains("── permit date"), "{}", ran.err);
}

#[test]
fn nothing_is_written_over_a_file_that_is_read_only() {
    let folder = Folder::empty();
    let text = "name Shed\nplace demo/millrace\npermit-date 2024-01-01\nroom bedroom 12x14\ndoor south 3 32in to hallway\nroom hallway 4x14\n";
    folder.write("answers.txt", text);
    assert_eq!(folder.run("start job.toml --answers answers.txt").status, 0);
    let before = folder.read("job.toml");
    let path = folder.path().join("job.toml");
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions.clone()).unwrap();
    for words in [
        "propose job.toml",
        "start job.toml --force --answers answers.txt",
        "packet job.toml -o job.toml",
        "ruleset guide demo/millrace -o job.toml",
    ] {
        let ran = folder.run(words);
        assert_eq!(ran.status, 2, "{words}: {ran:?}");
        assert!(flat(&ran.err).contains("it is read-only; make it writable, or name another file"), "{}", ran.err);
        assert_eq!(folder.read("job.toml"), before, "{words}");
    }
}

#[test]
fn whoever_looks_for_a_single_name_is_not_shown_everything() {
    let folder = folder();
    assert_eq!(folder.run("code house.toml nm.securd_from_box").out, "");
    let both = folder.run("code house.toml nm.securd_from_box nm.secured_from_box");
    assert_eq!(both.status, 2);
    assert!(both.out.contains("nm.secured_from_box = 8 in"), "{}", both.out);
}
