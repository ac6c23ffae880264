//! Facts that rulesets declare: what goes into the table of kinds, and what is wrong with a declaration.

use super::{manifest, shelf, written};
use crate::model::{Filled, Type};
use crate::quantity::Dimension;

const SOUND: &str = r#"[room.sprinklered]
holds = "yes_no"
question = "Is the room sprinklered?"
as_built = true
cites = "Our Town Code 5"

[room.stair_run]
holds = "length"
question = "How long is the stair?"
cites = "Our Town Code 6"

[box.listing]
words = ["town", "county"]
question = "Whose list is it on?"
cites = "Our Town Code 7"
"#;

/// Returns what is wrong with rulesets that have these facts, each with its own.
fn wrong(facts: &[(&str, &str)]) -> String {
    let files: Vec<(String, String)> = facts
        .iter()
        .flat_map(|(id, text)| {
            let own = manifest(id, "jurisdiction", "");
            [(format!("{id}/ruleset.toml"), own), (format!("{id}/facts/own.toml"), (*text).to_owned())]
        })
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let shelf = shelf(&files);
    written(shelf.files(), shelf.problems())
}

#[test]
fn a_declared_fact_is_a_field_like_any_other() {
    let own = manifest("town", "jurisdiction", "");
    let shelf = shelf(&[("town/ruleset.toml", &own), ("town/facts/own.toml", SOUND)]);
    assert_eq!(written(shelf.files(), shelf.problems()), "");
    let schema = shelf.schema();
    assert_eq!(schema.check(), Ok(()));
    let field = |kind, name| {
        let kind = schema.kind(kind).unwrap();
        let field = schema.field(kind, name).unwrap();
        (schema.field_spec(kind, field), schema.declared(kind, field).unwrap())
    };
    let (sprinklered, declared) = field("room", "sprinklered");
    assert_eq!((&sprinklered.ty, sprinklered.doc), (&Type::Flag, "Is the room sprinklered?"));
    assert_eq!(sprinklered.filled, Filled::Written { required: false, as_built: true });
    assert_eq!(
        (declared.cites.as_str(), declared.rulesets.as_slice()),
        ("Our Town Code 5", &[String::from("town")][..])
    );
    assert_eq!(shelf.files().text(declared.span), "sprinklered");
    assert_eq!(field("room", "stair_run").0.ty, Type::Quantity(Dimension::Length));
    assert_eq!(field("box", "listing").0.ty, Type::Word(&["town", "county"]));
}

#[test]
fn rulesets_without_facts_leave_the_table_as_it_is() {
    let own = manifest("town", "jurisdiction", "");
    let shelf = shelf(&[("town/ruleset.toml", &own)]);
    assert_eq!(shelf.schema().all_declared().count(), 0);
}

#[test]
fn two_rulesets_share_what_they_declare_alike() {
    let town = "[room.sprinklered]\nholds = \"yes_no\"\nquestion = \"Sprinklers?\"\ncites = \"Town 1\"\n";
    let county = "[room.sprinklered]\nholds = \"yes_no\"\nquestion = \"Are there sprinklers?\"\ncites = \"County 2\"\n";
    assert_eq!(wrong(&[("county", county), ("town", town)]), "");
}

#[test]
fn what_two_rulesets_declare_otherwise_is_told_at_both() {
    let town = "[room.sprinklered]\nholds = \"yes_no\"\nquestion = \"Sprinklers?\"\ncites = \"Town 1\"\n";
    let county = "[room.sprinklered]\nholds = \"length\"\nquestion = \"How far?\"\ncites = \"County 2\"\n";
    let told = wrong(&[("county", county), ("town", town)]);
    assert!(told.contains("`room.sprinklered` is declared otherwise in `county`"), "{told}");
    assert_eq!(told.matches("is declared otherwise").count(), 2, "{told}");
}

#[test]
fn every_slip_of_a_declaration_is_told_at_its_place() {
    let told = wrong(&[(
        "town",
        r#"[rom.sprinklered]
holds = "yes_no"
question = "?"
cites = "1"
[room.kind]
holds = "text"
question = "?"
cites = "1"
[room.wall]
holds = "text"
question = "?"
cites = "1"
[room.Sprinkler]
holds = "text"
question = "?"
cites = "1"
[room.distance]
holds = "lenght"
question = "?"
cites = "1"
[room.words]
words = ["one"]
question = "?"
cites = "1"
[room.twice]
words = ["one", "one"]
question = "?"
cites = "1"
[room.both]
holds = "text"
words = ["one", "two"]
question = "?"
cites = "1"
[room.none]
as_built = "yes"
askes = "?"
"#,
    )]);
    for expected in [
        "there is no kind `rom` to have a fact",
        "did you mean `room`?",
        "every room has `kind` already",
        "every room has `wall` already",
        "`Sprinkler` can't be the name of a fact",
        "`holds` of the fact `room.distance` can't be `lenght`",
        "did you mean `length`?",
        "`words` of the fact `room.words` needs two words at least",
        "`one` is listed twice",
        "the fact `room.both` has both `holds` and `words`",
        "the fact `room.none` has no `askes`",
        "the fact `room.none` has no `holds`",
        "the fact `room.none` has no `question`",
        "the fact `room.none` has no `cites`",
        "`as_built` of the fact `room.none` must be true",
    ] {
        assert!(told.contains(expected), "{told}\nlacks {expected}");
    }
}
