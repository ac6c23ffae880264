//! `compare`: one job under several places and dates.

use serde_json::Value;

use crate::support::{Folder, examples, flat};

/// Returns the changes of one comparison as `turn rule item`.
fn changes(with: &Value) -> Vec<String> {
    let word = |change: &Value, key: &str| change[key].as_str().unwrap().to_owned();
    let all = with["changes"].as_array().unwrap();
    all.iter().map(|one| format!("{} {} {}", word(one, "turn"), word(one, "rule"), word(one, "item"))).collect()
}

#[test]
fn another_day_and_another_place_are_told_with_their_reasons() {
    let folder = Folder::little();
    // 10 in: good before the county asked for 8 in.
    folder.change("job.toml", "first_support = \"6 in\"", "first_support = \"10 in\"");
    let ran = folder.run("compare job.toml --rulesets book --on 2023-06-01 --with @2021-12-31 little/city");
    assert_eq!(ran.err, "");
    // The first day has one thing less to put right, the city nothing to look at: nothing newly fails.
    assert_eq!(ran.status, 0, "{}", ran.out);
    insta::assert_snapshot!("compare_80", ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
}

#[test]
fn what_newly_fails_is_an_exit_status() {
    let folder = Folder::little();
    folder.change("job.toml", "first_support = \"6 in\"", "first_support = \"10 in\"");
    folder.change("job.toml", "permit_date = 2023-05-10", "permit_date = 2021-12-31");
    let ran = folder.run("compare job.toml --rulesets book --on 2023-06-01 --with @2022-01-01");
    assert_eq!(ran.status, 1, "{}", ran.err);
    let flat = flat(&ran.out);
    assert!(flat.contains("newly fails: 1 staple-near-box (1.1) · cable end C1/to"), "{}", ran.out);
    assert!(
        flat.contains(
            "because staple.from_box: 12 in (Little edition, 1.1) → 8 in (Little county, Ord. 2, in force 2022-01-01)"
        ),
        "{}",
        ran.out
    );
    assert!(flat.contains("fails under both: "), "{}", ran.out);
}

#[test]
fn json_names_turn_and_entry_and_rule() {
    let folder = Folder::little();
    folder.change("job.toml", "first_support = \"6 in\"", "first_support = \"10 in\"");
    let words =
        "compare job.toml --rulesets book --on 2023-06-01 --format json --with little/county@2021-12-31 little/city";
    let json = folder.run(words).json();
    let with = json["with"].as_array().unwrap();
    assert_eq!(changes(&with[0]), ["newly_passes staple-near-box C1/to"]);
    let because = &with[0]["changes"][0]["because"][0];
    assert_eq!((because["entry"].as_str(), because["before"].as_str()), (Some("staple.from_box"), Some("8 in")));
    assert_eq!(because["after"], "12 in");
    assert_eq!(because["set_by_before"][1]["cite"], "Ord. 2");
    assert_eq!(changes(&with[1]), ["no_longer_open boxes-plumb shed"]);
    let because = &with[1]["changes"][0]["because"][0];
    assert_eq!((because["rule"].as_str(), because["change"].as_str()), (Some("boxes-plumb"), Some("removed")));
    assert_eq!(because["set_by_after"][0]["cite"], "Chapter 5");
    assert_eq!(json["code"]["permit_date"], "2023-05-10");
    assert_eq!(with[0]["code"]["permit_date"], "2021-12-31");
}

#[test]
fn a_place_that_is_not_there_is_a_fault_and_hides_no_other() {
    let folder = Folder::little();
    let ran = folder.run("compare job.toml --rulesets book --on 2023-06-01 --with little/town little/city");
    assert_eq!(ran.status, 2);
    assert!(flat(&ran.err).contains("little/town"), "{}", ran.err);
    assert!(ran.out.contains("Against little/city"), "{}", ran.out);
    folder.run("compare nothing.toml --rulesets book --with little/city").refused("there is no such file");
    folder.run("compare job.toml --rulesets book --with little/city@soon").refused("YEAR-MONTH-DAY");
    folder.run("compare job.toml --rulesets book").refused("--with");
    folder
        .run("compare job.toml --rulesets book --with @2021-01-01")
        .refused("no edition is in force in `little/county` on 2021-01-01");
}

/// The example's README says what fails where; the comparison must say the same.
#[test]
fn the_shipped_example_differs_where_its_readme_says() {
    let folder = Folder::empty();
    let job = examples().join("same-job-two-places/kitchen-and-garage.toml");
    let words = ["--on", "2024-10-01", "--format", "json", "--with", "demo/millrace@2024-09-01", "demo/millrace"];
    let ran = crate::support::ran(folder.command().arg("compare").arg(job).args(words).output().unwrap());
    assert_eq!(ran.status, 1, "{}", ran.err);
    let json = ran.json();
    let later = changes(&json["with"][0]);
    for expected in [
        "newly_fails receptacle-gfci-by-place R8",
        "newly_fails nm-secured-along-run C10",
        "newly_fails free-conductor-long-enough C3/to",
        "newly_fails millrace-garage-wired-in-metal C12/to",
        "newly_passes island-has-receptacles-for-its-area kitchen/island",
    ] {
        assert!(later.iter().any(|change| change == expected), "{expected}: {later:?}");
    }
    let same_day: Vec<String> =
        changes(&json["with"][1]).into_iter().filter(|change| change.starts_with("newly_")).collect();
    assert_eq!(same_day, ["newly_fails nm-secured-along-run C10"]);
    for change in json["with"].as_array().unwrap().iter().flat_map(|with| with["changes"].as_array().unwrap()) {
        assert!(!change["because"].as_array().unwrap().is_empty(), "nothing made the difference: {change:#}");
    }
}
