//! `fields`, and facts that a ruleset declares: from the declaration to the finding.

use std::path::Path;

use storystick_engine::field_table;
use storystick_engine::model::Schema;

use crate::support::{Folder, flat};

const FACTS: &str = r#"[room.sprinklered]
holds = "yes_no"
question = "Is the room sprinklered?"
as_built = true
cites = "Chapter 9"

[box.listed_by]
words = ["town", "county"]
question = "Whose list is the box on?"
cites = "Chapter 9"
"#;

const RULE: &str = r#"/// A workshop has sprinklers, for the dust in it burns.
rule "city-workshop-sprinklered" on room at rough_in cites "Chapter 9" checked memory {
    applies where room.kind == "workshop";
    need room.sprinklered else "have the sprinklers put in first";
}
"#;

/// Returns the little folder with facts of the city and a rule that reads one of them; the job stands in the city.
fn city() -> Folder {
    let folder = Folder::little();
    folder.write("book/little/city/facts/sprinklers.toml", FACTS);
    folder.write("book/little/city/rules/own.rhai", RULE);
    folder.change("job.toml", "little/county", "little/city");
    folder
}

#[test]
fn one_kind_or_all_are_printed_with_all_their_fields() {
    let folder = Folder::empty();
    let ran = folder.run("fields cable_end");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let out = flat(&ran.out);
    for told in [
        "written [cable.from] or [cable.to]; rules on it say `end`; in the lists box.ends, cable.ends",
        "first_support length, such as `12 in` or `300 mm`; written as built; not written: not recorded Distance from the box",
        "box link to box; from `at` Box it ends at.",
        "entry word: connector, internal_clamp, unclamped; written; not written: not recorded",
        "is_at_box yes or no; computed",
    ] {
        assert!(out.contains(told), "`{told}` is not in:\n{}", ran.out);
    }
    let schema = Schema::dwelling();
    let all = folder.run("fields --format json").json();
    let kinds = all["kinds"].as_array().unwrap();
    assert_eq!(kinds.len(), schema.kinds().count());
    for (kind, (_, spec)) in kinds.iter().zip(schema.kinds()) {
        assert_eq!(kind["kind"], spec.name);
        let names: Vec<&str> =
            kind["fields"].as_array().unwrap().iter().map(|field| field["name"].as_str().unwrap()).collect();
        assert_eq!(names, spec.fields.iter().map(|field| field.name).collect::<Vec<_>>());
        let text = folder.run(&format!("fields {}", spec.name)).out;
        assert!(names.iter().all(|name| text.contains(&format!("\n  {name}\n"))), "{text}");
    }
}

#[test]
fn a_kind_goes_by_its_name_or_its_word_and_a_slip_is_told_the_nearest() {
    let folder = Folder::empty();
    assert_eq!(folder.run("fields end").out, folder.run("fields cable_end").out);
    let ran = folder.run("fields boxx");
    ran.refused("there is no kind `boxx`; did you mean `box`?");
    assert_eq!(ran.out, "");
}

#[test]
fn the_manual_carries_the_fields_of_the_kinds_that_rules_read_most() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md");
    let manual = std::fs::read_to_string(path).unwrap();
    let table = field_table::markdown(&Schema::dwelling(), &["box", "device", "cable_end", "room"]);
    assert!(manual.contains(&table), "put this into the manual, under \"What can be asked of an item\":\n{table}");
}

#[test]
fn a_fact_that_a_ruleset_declares_is_written_asked_for_and_judged() {
    let folder = city();
    let open = folder.inspect("--rule city-workshop-sprinklered");
    assert!(flat(&open.out).contains("sprinklered"), "{}{}", open.out, open.err);
    let walk = folder.run("walk job.toml --rulesets book --print --on 2023-06-01");
    assert!(flat(&walk.out).contains("sprinklered"), "{}{}", walk.out, walk.err);
    folder.change("job.toml", "kind = \"workshop\"", "kind = \"workshop\"\nsprinklered = false");
    let failed = folder.inspect("--rule city-workshop-sprinklered");
    assert_eq!(failed.status, 1, "{}{}", failed.out, failed.err);
    assert!(flat(&failed.out).contains("have the sprinklers put in first"), "{}", failed.out);
    folder.change("job.toml", "sprinklered = false", "sprinklered = true");
    let met = folder.job("--rule city-workshop-sprinklered --all");
    assert_eq!(met["findings"][0]["outcome"], "met", "{met}");
    folder.change("job.toml", "sprinklered = true", "sprinkled = true");
    folder.inspect("").refused("unknown key `sprinkled` in room `shed`");
    folder.inspect("").refused("did you mean `sprinklered`?");
}

#[test]
fn declared_facts_are_in_the_schema_and_among_the_fields() {
    let folder = city();
    let schema = folder.run("schema job --rulesets book").json();
    assert_eq!(schema["definitions"]["room"]["properties"]["sprinklered"]["type"], "boolean");
    assert_eq!(schema["definitions"]["box"]["properties"]["listed_by"]["enum"][1], "county");
    // What only somebody on site can know has no default.
    assert!(schema["definitions"]["room-defaults"]["properties"].get("sprinklered").is_none());
    let fields = folder.run("fields room --rulesets book");
    assert!(
        flat(&fields.out).contains("Is the room sprinklered? Declared by little/city."),
        "{}{}",
        fields.out,
        fields.err
    );
    assert!(!folder.run("fields room").out.contains("sprinklered"));
    let facts = folder.run("schema facts").json();
    let validator = jsonschema::draft7::new(&facts).unwrap();
    let written: toml::Value = toml::from_str(FACTS).unwrap();
    assert!(validator.is_valid(&serde_json::to_value(written).unwrap()));
    let slip: toml::Value = toml::from_str(&FACTS.replace("yes_no", "yesno")).unwrap();
    assert!(!validator.is_valid(&serde_json::to_value(slip).unwrap()));
}

#[test]
fn a_fact_that_nothing_reads_is_named() {
    let folder = city();
    let checked = folder.run("ruleset check little/city --rulesets book --format json").json();
    let unread = &checked["rulesets"][0]["values"]["unread_facts"];
    assert_eq!(unread.as_array().map(Vec::len), Some(1), "{checked}");
    assert_eq!(unread[0]["name"], "box.listed_by");
    let text = folder.run("ruleset check little/city --rulesets book").out;
    assert!(flat(&text).contains("facts that no rule reads"), "{text}");
}

#[test]
fn a_declaration_at_fault_is_told_at_its_line_and_stops_what_needs_it() {
    let folder = city();
    folder.change("book/little/city/facts/sprinklers.toml", "holds = \"yes_no\"", "holds = \"yesno\"");
    for command in ["fields room", "schema job"] {
        let ran = folder.run(&format!("{command} --rulesets book"));
        ran.refused("`holds` of the fact `room.sprinklered` can't be `yesno`");
        assert!(ran.err.contains("sprinklers.toml:2"), "{}", ran.err);
    }
    folder.inspect("").refused("can't be `yesno`");
}
