//! `grade`: the example class, and small classes of a test's own.

use std::collections::BTreeMap;

use crate::support::{Folder, examples, flat};

fn class(words: &str) -> crate::support::Ran {
    let class = examples().join("class");
    let (folder, key) = (class.join("handed-in"), class.join("key/key.toml"));
    Folder::empty().run(&format!("grade {} --key {} {words}", folder.display(), key.display()))
}

/// Returns percent by trainee and competency.
fn percents(csv: &str) -> BTreeMap<(String, String), i64> {
    let rows = csv.lines().skip(1).map(|row| row.split(',').map(str::to_owned).collect::<Vec<_>>());
    rows.filter_map(|row| Some(((row[0].clone(), row[1].clone()), row[3].parse().ok()?))).collect()
}

#[test]
fn the_example_class_gets_the_marks_that_a_hand_count_gives() {
    let ran = class("--format csv");
    assert_eq!(ran.status, 0, "{}", ran.err);
    let marks = percents(&ran.out);
    let of = |name: &str, competency: &str| marks.get(&(name.to_owned(), competency.to_owned())).copied();
    assert_eq!(of("Alma", "all"), Some(100));
    // B5: 3 of 5 lines; B2: nothing of 7; B7: no line, the figure: 1 of 5. Of 6 + 7 + 5 marks 3 + 0 + 1.
    assert_eq!(of("Bert", "box-fill"), Some(22));
    // Two of four put right, less half a mistake for one new one: 1.5 of 4.
    assert_eq!(of("Bert", "fault-finding"), Some(38));
    // One with its section, one with another for half, one false call: 1 of 4.
    assert_eq!(of("Bert", "inspector-eye"), Some(25));
    assert_eq!(of("Bert", "ohms-law"), Some(67));
    assert_eq!(of("Bert", "measure"), Some(67), "a tape has no tolerance");
    assert_eq!(of("Cleo", "inspector-eye"), Some(50));
    assert_eq!(of("Cleo", "fault-finding"), None, "without a job nothing shows it");
}

#[test]
fn the_sheet_says_where_it_went_wrong() {
    let text = flat(&class("").out);
    for said in [
        "box.fill of B5: cable clamps inside, all together, 2 in3 (314.16(B)(2)): MISSING OR WRONG",
        "box.fill of B5: device on its yoke, 4 in3 (314.16(B)(4)): right",
        "missed: box.fill of B5: 16 in3 given, 18 in3 is right",
        "false: B1 (314.16) box too small",
        "R1, R2, R3: sound before, now against receptacle-gfci-by-place",
        "missed: C6/to: the first staple is too far from the box",
        "no job was handed in",
        "Marks are an aid for the trainer, who decides.",
    ] {
        assert!(text.contains(said), "`{said}` is not in {text}");
    }
}

#[test]
fn the_page_stands_alone_and_escapes_what_trainees_write() {
    let page = class("--format html").out;
    for part in ["<!DOCTYPE html>", "lang=\"en\"", "scope=\"col\"", "scope=\"row\"", "<caption>", "break-before:page"] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("<script") && !page.contains("http"), "no script and no network");
    let folder = Folder::empty();
    folder.write("in/x.answers.toml", "name = \"<script>alert(1)</script>\"\n[[correction]]\nitem = \"=1+1\"\n");
    let key = examples().join("class/key/key.toml");
    let page = folder.run(&format!("grade in --key {} --format html", key.display())).out;
    assert!(page.contains("&lt;script&gt;") && !page.contains("<script>"));
}

#[test]
fn a_key_grades_the_sound_job_as_wholly_repaired_and_the_drill_as_not_at_all() {
    let folder = Folder::empty();
    let job = examples().join("three-bedroom.toml");
    let ran = folder.run(&format!("drill {} --seed 21 --mistakes 5 -o out --key key", job.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.write("in/sound/job.toml", &std::fs::read_to_string(job).unwrap());
    folder.write("in/untouched/job.toml", &folder.read("out/job.toml"));
    let marks = percents(&folder.run("grade in --key key/key.toml --format csv").out);
    assert!(marks.iter().filter(|((name, _), _)| name == "sound").all(|(_, percent)| *percent == 100), "{marks:?}");
    assert!(marks.iter().filter(|((name, _), _)| name == "untouched").all(|(_, percent)| *percent == 0), "{marks:?}");
    assert!(marks.keys().any(|(_, competency)| competency == "fault-finding"));
}

#[test]
fn a_rubric_and_a_rule_of_the_trainers_own_decide() {
    let folder = Folder::little();
    folder.write(
        "rubric.toml",
        "title = \"Staples\"\n[[competency]]\nid = \"staples\"\ntitle = \"staple\"\nrules = [\"staple-*\"]\n\
         [[competency]]\nid = \"circuits\"\ntitle = \"circuits\"\nweight = 3\nfields = [\"device.circuit\", \"cable.make\"]\n",
    );
    let job = folder.read("job.toml");
    folder.write(
        "in/one.toml",
        &job.replace("13 in", "8 in").replace("to = \"B2\"", "to = { at = \"B2\", first_support = \"7 in\" }"),
    );
    folder.write("in/two.toml", &job.replace("12/2", "14/2"));
    let ran = folder.run("grade in --reference job.toml --rubric rubric.toml --rulesets book --format csv");
    let marks = percents(&ran.out);
    let of = |name: &str, competency: &str| marks[&(name.to_owned(), competency.to_owned())];
    // Ends at a box: C1/to met, C2/from at 13 in not; C2/to is not recorded in the reference either.
    assert_eq!((of("one", "staples"), of("two", "staples")), (100, 50));
    // The device's circuit and two makes: one make differs.
    assert_eq!((of("one", "circuits"), of("two", "circuits")), (100, 67));
    assert_eq!(of("two", "all"), 63, "(50 + 3 × 66.7) / 4");
}

#[test]
fn faults_are_told_and_the_others_are_graded_all_the_same() {
    let folder = Folder::empty();
    folder.run("grade nowhere").refused("nowhere");
    folder.write("empty/readme.md", "");
    folder.run("grade empty").refused("holds nothing to grade");
    folder.write("in/a.answers.toml", "[[correction]]\nitm = \"B1\"\n");
    folder.write("in/b.answers.toml", "[[correction]]\nitem = \"B5\"\ncites = \"314.23\"\n");
    folder.write("in/c/job.toml", "format = 1\n[site]\n");
    let key = examples().join("class/key/key.toml");
    let ran = folder.run(&format!("grade in --key {} --format csv", key.display()));
    assert_eq!(ran.status, 1);
    assert!(ran.err.contains("a.answers.toml") && ran.err.contains("itm") && ran.err.contains("line 2"), "{}", ran.err);
    assert!(flat(&ran.err).contains("c/job.toml"), "{}", ran.err);
    assert_eq!(percents(&ran.out)[&(String::from("b"), String::from("inspector-eye"))], 25);
    folder.write("own/reference.toml", "format = 1\n[site\n");
    folder.write("own/e.toml", "what = \"no job at all\"\n");
    let own = folder.run(&format!("grade own --key {} --format csv", key.display()));
    assert!(
        own.status == 1 && own.out.contains("reference") && own.out.contains("\ne,all"),
        "broken work is work: {own:?}"
    );
    folder.write("own/key.toml", &std::fs::read_to_string(&key).unwrap());
    assert_eq!(folder.run("grade own --key own/key.toml --format csv").out, own.out, "the key is nobody's work");
    folder.write("twice/d/one.toml", "format = 1\n");
    folder.write("twice/d/two.toml", "format = 1\n");
    folder.run("grade twice").refused("keep one of them");
    let rubric = folder.run("grade --print-rubric").out;
    folder.write("own.toml", &rubric);
    assert_eq!(folder.run(&format!("grade in --key {} --rubric own.toml --format csv", key.display())).out, ran.out);
}
