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

/// The table of `same-job-two-places/README.md`.
#[test]
fn the_same_job_in_two_places_on_two_dates() {
    let table: [(&str, &str, &[&str]); 4] = [
        ("demo/harlow-county", "2023-05-10", &["first staple", "island"]),
        ("demo/harlow-county", "2024-09-01", &["first staple", "refrigerator"]),
        ("demo/millrace", "2023-05-10", &["first staple", "island"]),
        ("demo/millrace", "2024-09-01", &["first staple", "refrigerator", "tail", "cable in the garage"]),
    ];
    for (place, date, expected) in table {
        let job = inspect(
            Path::new("same-job-two-places/kitchen-and-garage.toml"),
            &format!("--at {place} --permit-date {date} --weight correction"),
        );
        let mut told: Vec<String> = found(&job, "correction").iter().map(|found| in_words(found)).collect();
        told.sort();
        told.dedup();
        let mut expected: Vec<String> = expected.iter().map(|word| (*word).to_owned()).collect();
        expected.sort();
        assert_eq!(told, expected, "{place} {date}");
    }
}

/// Returns what the README calls a finding; one that it does not name stays as it is.
fn in_words(found: &str) -> String {
    let words = match found {
        "nm-secured-at-box C6/to" => "first staple",
        "island-has-receptacles-for-its-area kitchen/island" => "island",
        "free-conductor-long-enough C3/to" => "tail",
        _ if found.ends_with(" R8") && found.contains("gfci") => "refrigerator",
        _ if found.contains("garage") || found.contains("nm-where-allowed") => "cable in the garage",
        other => other,
    };
    words.to_owned()
}
