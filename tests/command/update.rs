//! `update`: an old job file in the newest format, in place. What words of the trade mean is common practice, no source.

use crate::support::{Folder, examples};

const JOB: &str = r#"# The kitchen of the Alder house.
format = 1

[site]
jurisdiction = "us/model-2020" # no town
permit_date = 2021-06-01
stage = "rough-in"

[[panel]]
id = "P1"

[[room]]
id = "k"
kind = "Kitchen"

[[appliance]]   # under the sink
id = "D"
kind = 'disposal'
room = "k"

[[cable]]
make = "12-2"
wiring_method = "nm-b"
from = "P1"
to = "D"
"#;

#[test]
fn an_old_file_is_rewritten_in_place_and_inspects_the_same() {
    let folder = Folder::empty();
    folder.write("job.toml", JOB);
    let before = folder.run("inspect job.toml --format csv --working D").out;
    let told = folder.run("update job.toml --check");
    assert_eq!((told.status, folder.read("job.toml").as_str()), (1, JOB));
    assert!(told.out.contains("job.toml:18: appliance kind: `disposal` is `disposer`"), "{}", told.out);
    assert!(told.out.ends_with("job.toml: 6 changes to make\n"), "{}", told.out);
    let done = folder.run("update job.toml");
    assert_eq!(done.status, 0, "{}{}", done.out, done.err);
    let expected = JOB
        .replace("format = 1", "format = 2")
        .replace("rough-in", "rough_in")
        .replace("\"Kitchen\"", "\"kitchen\"")
        .replace("'disposal'", "'disposer'")
        .replace("12-2", "12/2")
        .replace("nm-b", "NM");
    assert_eq!(folder.read("job.toml"), expected);
    assert_eq!(folder.run("inspect job.toml --format csv --working D").out, before);
    let again = folder.run("update job.toml --check");
    assert_eq!((again.status, again.out.as_str()), (0, "job.toml: nothing to change\n"));
}

#[test]
fn what_may_mean_two_things_is_left_and_told_and_what_is_no_job_is_refused() {
    let folder = Folder::empty();
    folder.write("job.toml", &JOB.replace("rough-in", "finish"));
    let done = folder.run("update job.toml");
    assert_eq!(done.status, 1, "{}{}", done.out, done.err);
    assert!(done.out.contains("left for you to decide:\njob.toml:7: site stage: `finish` may be"), "{}", done.out);
    assert!(folder.read("job.toml").contains("stage = \"finish\""));
    folder.write("later.toml", "format = 9\n");
    let refused = folder.run("update later.toml");
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("format 9"), "{}", refused.err);
    assert_eq!(folder.run("update nowhere.toml").status, 2);
}

#[test]
fn the_examples_need_the_new_number_alone() {
    for entry in std::fs::read_dir(examples()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "toml") {
            let folder = Folder::empty();
            folder.write("job.toml", &std::fs::read_to_string(&path).unwrap());
            let told = folder.run("update job.toml --check");
            let changes: Vec<&str> = told.out.lines().filter(|line| line.starts_with("job.toml:")).collect();
            assert!(changes.len() == 2 && changes[0].ends_with("format 2"), "{}: {}", path.display(), told.out);
        }
    }
}
