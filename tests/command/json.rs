//! `--format json`: the shape that other programs rely on.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::support::Folder;

fn keys(value: &Value) -> BTreeSet<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

fn has(value: &Value, wanted: &[&str]) {
    let keys = keys(value);
    for key in wanted {
        assert!(keys.contains(key), "no `{key}` in {value}");
    }
}

#[test]
fn every_promised_key_is_there() {
    let whole = Folder::little().inspect("--format json --all").json();
    has(&whole, &["schema", "program", "version", "notice", "jobs", "unread"]);
    assert_eq!(whole["schema"], 2);
    let job = &whole["jobs"][0];
    has(job, &["job", "file", "stage", "code", "tally", "findings", "not_applicable", "notices", "faults"]);
    has(&job["code"], &["jurisdiction", "edition", "permit_date", "rulesets"]);
    has(&job["code"]["rulesets"][0], &["id", "title", "kind", "version", "content", "reviewed", "draft"]);
    has(&job["tally"], &["met", "correction", "caution", "note", "to_measure", "permitted", "excepted", "presumed"]);
    let findings = job["findings"].as_array().unwrap();
    let shape = [
        "rule",
        "ruleset",
        "outcome",
        "weight",
        "stage",
        "kind",
        "item",
        "room",
        "cite",
        "found",
        "allowed",
        "margin",
        "message",
        "fix",
        "at",
        "rule_at",
        "set_by",
        "missing",
        "unverified",
        "permission",
        "also",
        "check",
        "exception",
        "look",
        "partners",
        "presumed",
        "reads",
        "verb",
        "working",
    ];
    for finding in findings {
        // The same keys in every finding: what there is nothing to say of is null or empty.
        assert_eq!(keys(finding), shape.iter().copied().collect(), "{finding}");
        has(&finding["at"], &["file", "line", "column", "path"]);
    }
    let outcomes: BTreeSet<&str> = findings.iter().map(|finding| finding["outcome"].as_str().unwrap()).collect();
    assert_eq!(outcomes, ["correction", "met", "to_measure"].into());
}

#[test]
fn one_finding_in_full() {
    let job = Folder::little().job("--rule staple-near-box --item C2/from");
    let finding = &job["findings"][0];
    let expected: [(&str, Value); 15] = [
        ("rule", "staple-near-box".into()),
        ("ruleset", "little/edition".into()),
        ("outcome", "correction".into()),
        ("weight", "correction".into()),
        ("stage", "rough_in".into()),
        ("kind", "cable_end".into()),
        ("item", "C2/from".into()),
        ("room", "Shed".into()),
        ("cite", "1.1".into()),
        ("verb", "at_most".into()),
        ("found", serde_json::json!({ "text": "13 in", "amount": 13.0, "unit": "in", "dimension": "length" })),
        (
            "allowed",
            serde_json::json!({
                "text": "8 in max", "limits": [{ "text": "8 in", "amount": 8.0, "unit": "in", "dimension": "length" }],
            }),
        ),
        ("margin", serde_json::json!({ "text": "-5 in", "amount": -5.0, "unit": "in", "dimension": "length" })),
        ("message", "first support is 13 in; 8 in max".into()),
        ("fix", "add a staple closer to the box".into()),
    ];
    for (key, value) in expected {
        assert_eq!(finding[key], value, "{key}");
    }
    let at = serde_json::json!({ "file": "job.toml", "line": 56, "column": 37, "path": "end C2/from, first_support" });
    assert_eq!(finding["at"], at);
    let chain = serde_json::json!([
        { "ruleset": "little/county", "title": "Little county", "file": "book/little/county/ruleset.toml", "line": 15,
          "cite": "Ord. 2", "value": "8 in", "in_force": "2022-01-01", "checked": "law_text" },
        { "ruleset": "little/edition", "title": "Little edition", "file": "book/little/edition/code/entries.toml", "line": 2,
          "cite": "1.1", "value": "12 in", "in_force": null, "checked": "law_text" },
    ]);
    assert_eq!(finding["set_by"], chain);
    // All that the check and the condition before it have read, by kind, item and field, and by name of the entry.
    let field = |field: &str| serde_json::json!({ "kind": "cable_end", "item": "C2/from", "field": field });
    let reads = finding["reads"].as_array().unwrap();
    for read in [field("is_at_box"), field("first_support"), serde_json::json!({ "entry": "staple.from_box" })] {
        assert!(reads.contains(&read), "{read} in {reads:?}");
    }
    assert_eq!(finding["working"]["found"]["source"], field("first_support"));
    assert_eq!(finding["working"]["allowed"][0]["source"], serde_json::json!({ "entry": "staple.from_box" }));
}

#[test]
fn the_tally_counts_what_the_findings_say() {
    let job = Folder::little().job("--all");
    let findings = job["findings"].as_array().unwrap();
    let count = |outcome: &str, weight: Option<&str>| {
        findings.iter().filter(|f| f["outcome"] == outcome && weight.is_none_or(|weight| f["weight"] == weight)).count()
    };
    let tally = &job["tally"];
    assert_eq!(tally["met"], count("met", None));
    assert_eq!(tally["to_measure"], count("to_measure", None));
    assert_eq!(tally["correction"], count("correction", Some("correction")));
    assert_eq!(tally["caution"], count("correction", Some("caution")));
    assert_eq!(tally["note"], count("correction", Some("note")));
    assert_eq!((&tally["permitted"], &tally["excepted"], &tally["presumed"]), (&0.into(), &0.into(), &0.into()));
    assert_eq!(tally.as_object().unwrap().values().map(|n| n.as_u64().unwrap()).sum::<u64>(), findings.len() as u64);
}

#[test]
fn met_checks_come_when_asked_with_their_margin() {
    let folder = Folder::little();
    assert!(!folder.job("")["findings"].as_array().unwrap().iter().any(|finding| finding["outcome"] == "met"));
    let job = folder.job("--all --rule staple-near-box --item C1/to");
    let finding = &job["findings"][0];
    assert_eq!((&finding["outcome"], &finding["margin"]["text"]), (&"met".into(), &"2 in".into()));
    assert_eq!(finding["fix"], Value::Null);
}

#[test]
fn what_is_missing_is_named_with_the_header_of_its_item() {
    let job = Folder::little().job("--rule staple-near-box --item C2/to");
    let finding = &job["findings"][0];
    assert_eq!(finding["outcome"], "to_measure");
    assert_eq!(finding["found"], Value::Null);
    assert_eq!(finding["missing"][0]["item"], "C2/to");
    assert_eq!(finding["missing"][0]["field"], "first_support");
    assert_eq!(finding["missing"][0]["limit"], "8 in max");
    assert_eq!(finding["missing"][0]["at"]["line"], 57);
    assert_eq!(finding["message"], "not recorded: first support of C2/to (8 in max)");
}

#[test]
fn a_rule_that_met_no_item_is_listed_so_that_nothing_looks_checked_that_was_not() {
    let folder = Folder::little();
    let job = folder.job("--stage final");
    let expected = serde_json::json!([
        { "rule": "appliance-on-circuit", "ruleset": "little/edition", "cite": "1.7", "left_alone": 0 },
    ]);
    assert_eq!(job["not_applicable"], expected);
    folder.change("job.toml", "purpose = \"switch\"", "purpose = \"receptacle\"");
    let listed = folder.job("")["not_applicable"].to_string();
    assert!(listed.contains("switch-not-too-high") && listed.contains("\"left_alone\":2"), "{listed}");
}
