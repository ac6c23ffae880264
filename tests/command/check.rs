//! `ruleset check`: what rulesets cover, and what they lack.

use crate::support::{Folder, flat};

/// Returns the little edition's part of the JSON answer.
fn edition(folder: &Folder) -> (i32, serde_json::Value) {
    let ran = folder.run("ruleset check little/edition --rulesets book --format json");
    (ran.status, ran.json()["rulesets"][0].clone())
}

#[test]
fn what_lacks_a_trial_is_told_and_is_an_exit_status() {
    let ran = Folder::little().run("ruleset check little/edition --rulesets book");
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!("check_80", ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
}

#[test]
fn json_counts_what_the_files_hold() {
    let (status, json) = edition(&Folder::little());
    assert_eq!(status, 1);
    assert_eq!(json["rules"]["all"].as_u64(), Some(7));
    assert_eq!(json["rules"]["unusable"].as_array().map(Vec::len), Some(0));
    assert_eq!((json["rules"]["decide"].as_u64(), json["rules"]["look"].as_u64()), (Some(6), Some(1)));
    assert_eq!(
        (json["values"]["checked"]["law_text"].as_u64(), json["values"]["checked"]["memory"].as_u64()),
        (Some(3), Some(1))
    );
    assert_eq!(json["values"]["unread"].as_array().map(Vec::len), Some(0));
    assert_eq!((json["trials"]["all"].as_u64(), json["sound"].as_bool()), (Some(4), Some(false)));
    assert!(json["rules"]["no_trial_fails"].as_array().unwrap().iter().any(|rule| rule == "wire-fits-breaker"));
    assert!(!json["rules"]["no_trial_fails"].as_array().unwrap().iter().any(|rule| rule == "staple-near-box"));
}

#[test]
fn an_entry_that_nothing_reads_is_told() {
    let folder = Folder::little();
    folder.append(
        "book/little/edition/code/entries.toml",
        "\n[staple.colour]\nvalue = \"red\"\ncites = \"9\"\nchecked = \"memory\"\n\
         [load.lighting]\nvalue = \"3 VA/ft2\"\ncites = \"9\"\nchecked = \"memory\"\n",
    );
    let json = edition(&folder).1;
    assert_eq!(json["values"]["unread"].as_array().map(Vec::len), Some(1), "{json:#}");
    assert_eq!(json["values"]["unread"][0]["name"], "staple.colour");
    // A calculation asks for this one, whether or not some trial brings it about.
    let unshown = json["values"]["unshown"].as_array().unwrap();
    assert!(unshown.len() <= 1 && unshown.iter().all(|entry| entry["name"] == "load.lighting"), "{json:#}");
}

#[test]
fn all_mistakes_of_all_rules_are_told_at_once() {
    let folder = Folder::little();
    folder.append(
        "book/little/edition/rules/rules.rhai",
        "\n/// One.\nrule \"wrong-one\" on box at final cites \"9\" { keep box.tpo at_most code.staple.from_box; }\n\
         /// Two.\nrule \"wrong-two\" on box at final cites \"9\" { keep box.top at_most code.staple.form_box; }\n",
    );
    let ran = folder.run("ruleset check little/edition --rulesets book");
    assert_eq!(ran.status, 2);
    let flat = flat(&ran.out);
    assert!(flat.contains("tpo") && flat.contains("staple.form_box"), "{}", ran.out);
    assert!(flat.contains("9 rules: 6 decided from the record, 1 to look at; 2 can't be used"), "{}", ran.out);
}

#[test]
fn a_rule_must_find_its_entries_on_every_day() {
    let folder = Folder::little();
    // From 2023 the county has another edition, and its rule reads an entry that the edition before did not have.
    folder.write(
        "book/little/next/ruleset.toml",
        "id = \"little/next\"\ntitle = \"Next\"\nkind = \"edition\"\nversion = \"1\"\nreviewed = 2023-01-02\nsource = \"invented\"\nfollows = \"little/edition\"\n",
    );
    folder.write(
        "book/little/next/code/entries.toml",
        "[staple.pieces]\nvalue = 2\ncites = \"9\"\nchecked = \"memory\"\n[staple.number]\nvalue = 2\ncites = \"9\"\nchecked = \"memory\"\n",
    );
    folder.append(
        "book/little/county/ruleset.toml",
        "\n[[adopts]]\nruleset = \"little/next\"\nfrom = 2023-01-01\ncites = \"Ord. 7\"\n",
    );
    folder.write(
        "book/little/county/rules/own.rhai",
        "/// Own.\nrule \"county-staples\" on box at final cites \"9\" { keep box.gangs at_most code.staple.number else \"x\"; }\n",
    );
    let ran = folder.run("ruleset check little/county --rulesets book");
    assert_eq!(ran.status, 2, "{}", ran.out);
    // The county's days under the earlier edition lack the entry: the rule can't be used there, and that is told at its place.
    assert!(flat(&ran.out).contains("`county-staples` reads an entry that is not there"), "{}", ran.out);
}

#[test]
fn a_fault_of_what_a_place_adopts_shows_for_the_place() {
    let folder = Folder::little();
    // `count` is a word of the rule language: no rule could read the entry.
    folder.append(
        "book/little/edition/code/entries.toml",
        "\n[staple.count]\nvalue = 2\ncites = \"9\"\nchecked = \"memory\"\n",
    );
    for place in ["little/edition", "little/county", "little/city"] {
        let ran = folder.run(&format!("ruleset check {place} --rulesets book"));
        assert_eq!(ran.status, 2, "{place}: {}", ran.out);
        let flat = flat(&ran.out);
        assert!(flat.contains("`count` can't be part of an entry's name"), "{place}: {}", ran.out);
        assert!(flat.contains("entries.toml"), "{place}: {}", ran.out);
    }
}

#[test]
fn markdown_is_the_table_alone() {
    let ran = Folder::little().run("ruleset check little/edition little/county --rulesets book --format markdown");
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines.len(), 5, "{}", ran.out);
    assert!(lines[0].starts_with("| ruleset | rules | trials | values |"));
    assert_eq!(lines[2], "| little/edition | 7 | 4 | 4 | 75 % | 0 % | 0 % | 25 % | 2023-01-02 |");
    assert!(lines.iter().all(|line| line.matches('|').count() == 10), "{}", ran.out);
}

#[test]
fn an_unknown_ruleset_is_a_fault() {
    let ran = Folder::little().run("ruleset check little/editoin --rulesets book");
    assert_eq!(ran.status, 2);
    assert!(flat(&ran.out).contains("little/editoin") && flat(&ran.out).contains("little/edition"), "{}", ran.out);
}
