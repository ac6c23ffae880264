//! The examples, held against what their `expected.toml` says of them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{Folder, examples, found, ran};

fn inspect(job: &Path, words: &str) -> Value {
    let mut command = Folder::empty().command();
    command.current_dir(examples()).arg("inspect").arg(job).args(["--format", "json", "--on", "2023-06-01"]);
    let ran = ran(command.args(words.split_whitespace()).output().unwrap());
    assert!(ran.json()["unread"].as_array().unwrap().is_empty(), "{}", ran.err);
    ran.json()["jobs"][0].clone()
}

/// No example shows a fault of a rule.
#[test]
fn no_rule_faults_on_an_example() {
    let jobs = [
        "hobby-room.toml",
        "three-bedroom.toml",
        "alder-row/dwelling.toml",
        "same-job-two-places/kitchen-and-garage.toml",
    ];
    for name in jobs {
        let job = inspect(Path::new(name), "");
        let faults: Vec<&str> =
            job["faults"].as_array().unwrap().iter().map(|fault| fault["message"].as_str().unwrap()).collect();
        assert!(faults.is_empty(), "{name}: {faults:#?}");
    }
}

#[test]
fn the_hobby_room_has_the_two_things_wrong_that_its_text_promises() {
    let job = inspect(Path::new("hobby-room.toml"), "--weight correction");
    assert_eq!(found(&job, "correction"), ["copper-wire-fits-breaker C3", "nm-secured-at-box C2/to"]);
}

#[test]
fn the_small_dwelling_has_nothing_to_put_right() {
    let job = inspect(Path::new("three-bedroom.toml"), "--weight correction");
    assert_eq!(found(&job, "correction"), [""; 0]);
    assert!(job["tally"]["met"].as_u64().unwrap() > 500, "{}", job["tally"]);
}

/// Every `expected.toml` below the examples.
fn expectations() -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(examples())
        .unwrap()
        .map(|entry| entry.unwrap().path().join("expected.toml"))
        .filter(|path| path.is_file())
        .collect();
    files.sort();
    files
}

#[test]
fn every_example_shows_what_its_expected_toml_lists_and_no_other_correction() {
    let files = expectations();
    assert!(files.iter().any(|file| file.ends_with("alder-row/expected.toml")), "{files:?}");
    let mut differences = Vec::new();
    for file in files {
        let folder = file.parent().unwrap();
        let list: toml::Table = toml::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap();
        let text = |entry: &toml::Value, key: &str| entry[key].as_str().unwrap().to_owned();
        let expected: BTreeSet<(String, String)> = list["expected"]
            .as_array()
            .unwrap()
            .iter()
            .map(|entry| (text(entry, "outcome"), format!("{} {}", text(entry, "rule"), text(entry, "item"))))
            .collect();
        for name in jobs_of(folder) {
            let job = inspect(&name, "--weight correction");
            let got: BTreeSet<(String, String)> = ["correction", "permitted"]
                .iter()
                .flat_map(|outcome| found(&job, outcome).into_iter().map(|place| ((*outcome).to_owned(), place)))
                .collect();
            let name = name.display();
            differences
                .extend(expected.difference(&got).map(|(outcome, place)| format!("{name}: no {outcome} {place}")));
            differences.extend(
                got.difference(&expected).map(|(outcome, place)| format!("{name}: {outcome} {place} is not expected")),
            );
        }
    }
    assert!(differences.is_empty(), "{differences:#?}");
}

/// The job files of a folder that has an `expected.toml`.
fn jobs_of(folder: &Path) -> Vec<PathBuf> {
    let mut jobs: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.extension().is_some_and(|extension| extension == "toml") && !path.ends_with("expected.toml")
        })
        .collect();
    jobs.sort();
    assert!(!jobs.is_empty(), "{}", folder.display());
    jobs
}

/// The table of `same-job-two-places/README.md`, place by place and date by date.
#[test]
fn the_same_job_in_two_places_on_two_dates() {
    let readme = std::fs::read_to_string(examples().join("same-job-two-places/README.md")).unwrap();
    let cells = |row: &str| row.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let mut table = readme.lines().filter(|line| line.starts_with('|'));
    let dates: Vec<String> = cells(table.next().unwrap())
        .iter()
        .skip(1)
        .map(|head| head.split_whitespace().nth(1).unwrap().to_owned())
        .collect();
    let mut looked_at = 0;
    for row in table.skip(1) {
        let row = cells(row);
        let place = match row[0].as_str() {
            "Harlow County" => "demo/harlow-county",
            "Millrace" => "demo/millrace",
            other => panic!("no place is called {other}"),
        };
        for (date, cell) in dates.iter().zip(row.iter().skip(1)) {
            let job = inspect(
                Path::new("same-job-two-places/kitchen-and-garage.toml"),
                &format!("--at {place} --permit-date {date} --weight correction"),
            );
            let told: BTreeSet<String> = found(&job, "correction").iter().map(|found| in_words(found)).collect();
            let expected: BTreeSet<String> = cell.split(';').map(|word| word.trim().to_owned()).collect();
            assert_eq!(told, expected, "{place} {date}");
            looked_at += 1;
        }
    }
    assert_eq!(looked_at, 4);
}

/// Returns what the README calls a finding; one that it does not name stays as it is.
fn in_words(found: &str) -> String {
    let words = match found {
        "nm-secured-at-box C6/to" => "first staple",
        "nm-secured-along-run C10" => "run",
        "island-has-receptacles-for-its-area kitchen/island" => "island",
        "free-conductor-long-enough C3/to" => "tail",
        "receptacle-gfci-by-place R8" => "refrigerator",
        _ if found.starts_with("millrace-garage-wired-in-metal ") => "cable in the garage",
        other => other,
    };
    words.to_owned()
}
