//! JSON Schemas (draft-07) of the TOML files of a ruleset: manifest, code, facts and trials. As with that of job files, none is stricter
//! than the reader, which alone knows names, dates and what an amendment meets.

use serde_json::{Map, Value, json};

use crate::book::facts_file::what_can_be_held;
use crate::book::{Checked, DateKind, Matching, RulesetKind, ScalarType, Weight};
use crate::json_schema;
use crate::model::Schema;
use crate::quantity::Dimension;

const DRAFT: &str = "http://json-schema.org/draft-07/schema#";

/// Returns the JSON Schema of `ruleset.toml`.
pub fn manifest() -> Value {
    let adoption = object(
        &[
            ("ruleset", text("The edition, or the accessibility requirements, that are adopted.")),
            ("from", date("First day in force.")),
            ("until", date("Last day in force; left out while nothing ends it but a later adoption.")),
            ("by", some_of(&words(&DateKind::ALL), "The dates that count: the first of them that the job records.")),
            ("choice_from", date("From this day, before the first one in force, it may already be chosen.")),
            ("choice_until", date("Until this day the edition before it may still be chosen.")),
            ("when", one_word(&["accessible"], "Only for dwellings whose job says `accessible = true`.")),
            ("dwelling", texts("Only for these kinds of dwelling.")),
            ("cites", text("Where the law says so.")),
            ("checked", checked()),
            ("source", text("Where the adoption was read.")),
        ],
        &["ruleset", "from"],
    );
    let mut whole = object(
        &[
            ("id", text("The path of its folder.")),
            ("title", text("What people call it.")),
            ("kind", one_word(&words(&RulesetKind::ALL), "What it is.")),
            ("version", text("Raised with every change.")),
            ("reviewed", date("The day on which somebody last compared it with its source.")),
            ("source", text("Where its values come from.")),
            ("checked", checked()),
            ("draft", text("Why it is a draft; printed on every paper.")),
            ("within", text("The place around it, whose adoptions and amendments hold here too.")),
            ("follows", text("The edition that it is written as differences from.")),
            ("from", date("For an edition that is a place's whole code: its first day.")),
            ("by", some_of(&words(&DateKind::ALL), "The dates that count.")),
            (
                "locals",
                one_word(
                    &["none", "stricter", "allowed"],
                    "Whether places inside may amend: not at all, only to ask for more, or freely.",
                ),
            ),
            ("adopts", list_of(reference("adoption"))),
            ("amends", list_of(reference("amendment"))),
        ],
        &["id", "title", "kind", "version", "reviewed", "source"],
    );
    finish(&mut whole, "storystick ruleset manifest", [("adoption", adoption), ("amendment", amendment())]);
    whole
}

/// Returns the JSON Schema of `code/*.toml`.
pub fn code() -> Value {
    let quantities = Dimension::all().map(ScalarType::Quantity);
    let types: Vec<&str> = quantities.chain([ScalarType::Text, ScalarType::Flag]).map(ScalarType::name).collect();
    let entry = object(
        &[
            ("value", scalar("The value, with its unit.")),
            ("list", list_of(scalar("A member."))),
            ("rows", rows()),
            (
                "match",
                one_word(
                    &words(&Matching::ALL),
                    "Which row a value finds: that of exactly its key (`exact`, if left out), the one that reaches `up_to` it or beyond, or the last one that begins `from` it or below.",
                ),
            ),
            ("key", text("What the keys of the table are.")),
            ("cites", text("Where the code says so.")),
            ("source", text("Where the value was read.")),
            ("checked", checked()),
            ("note", text("What is doubtful about it.")),
            ("type", one_word(&types, "What the values are, where the way they are written leaves it open.")),
            ("key_type", one_word(&types, "What the keys are, where the way they are written leaves it open.")),
            ("from", date("First day in force; left out where it always was.")),
            ("until", date("Last day in force.")),
        ],
        &[],
    );
    let mut entry = entry;
    entry["oneOf"] = json!([{ "required": ["value"] }, { "required": ["list"] }, { "required": ["rows"] }]);
    // What has none of the three keys is a group, whose members are entries or groups again.
    let group = json!({
        "type": "object",
        "description": "Entries under one name.",
        "propertyNames": { "pattern": "^[a-z][a-z0-9_]*$" },
        "additionalProperties": reference("member"),
    });
    let member = json!({
        "if": { "type": "object", "anyOf": [
            { "required": ["value"] }, { "required": ["list"] }, { "required": ["rows"] },
        ] },
        "then": reference("entry"),
        "else": { "if": { "type": "array" }, "then": list_of(reference("entry")), "else": reference("group") },
    });
    let mut whole = json!({
        "type": "object",
        "properties": { "amends": list_of(reference("amendment")) },
        "additionalProperties": reference("member"),
    });
    let definitions = [("amendment", amendment()), ("entry", entry), ("group", group), ("member", member)];
    finish(&mut whole, "storystick code file", definitions);
    whole
}

/// Returns the JSON Schema of `facts/*.toml`.
pub fn facts(schema: &Schema) -> Value {
    let holds: Vec<String> = what_can_be_held().into_iter().map(|(word, _)| word).collect();
    let holds: Vec<&str> = holds.iter().map(String::as_str).collect();
    let mut fact = object(
        &[
            ("holds", one_word(&holds, "What it holds: yes or no, text, or an amount.")),
            ("words", texts("The words of which it holds one.")),
            ("question", text("What is asked of whoever records it.")),
            ("as_built", json!({ "type": "boolean", "description": "Whether only somebody on site can know it." })),
            ("cites", text("Where the law makes it matter.")),
        ],
        &["question", "cites"],
    );
    fact["oneOf"] = json!([{ "required": ["holds"] }, { "required": ["words"] }]);
    let of_kind = json!({
        "type": "object",
        "propertyNames": { "pattern": "^[a-z][a-z0-9_]*$" },
        "additionalProperties": reference("fact"),
    });
    let kinds: Map<String, Value> = schema.kinds().map(|(_, kind)| (kind.name.into(), reference("facts"))).collect();
    let mut whole = json!({ "type": "object", "additionalProperties": false, "properties": kinds });
    finish(&mut whole, "storystick facts file", [("fact", fact), ("facts", of_kind)]);
    whole
}

/// Returns the JSON Schema of `trials/*.toml`.
pub fn trials(schema: &Schema) -> Value {
    let mut whole = json_schema::job(schema);
    let mut job = object(&[], &[]);
    if let Some(properties) = whole["properties"].as_object() {
        let mut properties = properties.clone();
        properties.remove("format");
        job["properties"] = Value::Object(properties);
    }
    job["description"] = json!("Tables of a job file; the keys of the site that are left out are filled in.");
    let outcomes = ["met", "correction", "to_measure", "not_applicable", "permitted", "excepted"];
    let trial = object(
        &[
            ("rule", text("Id of the rule.")),
            ("name", text("What the trial shows, in a few words.")),
            ("base", text("The base job of this file that it stands on.")),
            ("expect", one_word(&outcomes, "The worst outcome of the rule over its items, or of `item`.")),
            ("by", text("The exception that frees the item, by its section or name, where `excepted` is expected.")),
            ("item", text("Only this item counts.")),
            ("found", text("What must be found, in trade form.")),
            ("place", text("Run in this place instead of the ruleset alone.")),
            ("permit_date", date("Permit date of the job.")),
            ("job", reference("job")),
        ],
        &["rule", "expect"],
    );
    let mut definitions = match whole["definitions"].take() {
        Value::Object(definitions) => definitions,
        _ => Map::new(),
    };
    if let Some(site) = definitions.get_mut("site").and_then(Value::as_object_mut) {
        site.remove("required");
    }
    definitions.insert("job".into(), job);
    definitions.insert("trial".into(), trial);
    let unnoticed = object(
        &[
            ("rule", text("Id of the rule that is changed.")),
            ("define", text("Name of the shared condition that is changed.")),
            ("exception", text("Name of the added exception that is changed.")),
            ("entry", text("Name of the entry that is changed.")),
            ("change", text("The change, as `ruleset check --mutants` prints it.")),
            ("reason", text("Why nothing comes of it.")),
        ],
        &["change", "reason"],
    );
    definitions.insert("unnoticed".into(), unnoticed);
    json!({
        "$schema": DRAFT,
        "title": "storystick trial file",
        "type": "object",
        "additionalProperties": false,
        "properties": {
            "base": { "type": "object", "additionalProperties": reference("job"), "description": "Base jobs by name." },
            "trial": list_of(reference("trial")),
            "unnoticed": list_of(reference("unnoticed")),
        },
        "definitions": definitions,
    })
}

/// Returns the schema of an `[[amends]]`.
fn amendment() -> Value {
    let mut amendment = object(
        &[
            ("entry", text("The entry that is changed.")),
            ("value", scalar("Its new value, or that of the row.")),
            ("list", list_of(scalar("A member of the new list."))),
            ("rows", rows()),
            ("row", scalar("The row of the table that is changed.")),
            (
                "add",
                json!({ "anyOf": [list_of(scalar("A member.")), rows()], "description": "Members or rows to add." }),
            ),
            ("remove", list_of(scalar("A member to take out."))),
            ("omit", text("The rule that does not hold here, or whose `exception` does not.")),
            (
                "exception",
                text(
                    "The exception of the rule in `omit` that does not hold here, by its name or section; the rule itself holds.",
                ),
            ),
            ("reweigh", text("The rule whose weight is changed.")),
            ("weight", one_word(&words(&Weight::ALL), "Its new weight.")),
            ("cites", text("Where the law says so.")),
            ("source", text("Where it was read.")),
            ("checked", checked()),
            ("note", text("What is doubtful about it.")),
            ("from", date("First day in force.")),
            ("until", date("Last day in force.")),
            ("edition", json!({ "anyOf": [text("Only under this edition."), list_of(text("An edition."))] })),
        ],
        &["cites"],
    );
    amendment["oneOf"] =
        json!([{ "required": ["entry"] }, { "required": ["omit"] }, { "required": ["reweigh", "weight"] }]);
    amendment
}

fn finish<const N: usize>(whole: &mut Value, title: &str, definitions: [(&str, Value); N]) {
    whole["$schema"] = json!(DRAFT);
    whole["title"] = json!(title);
    whole["definitions"] = definitions.into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
}

fn words<T>(all: &[(T, &'static str)]) -> Vec<&'static str> {
    all.iter().map(|(_, word)| *word).collect()
}

fn object(properties: &[(&str, Value)], required: &[&str]) -> Value {
    let properties: Map<String, Value> =
        properties.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect();
    let mut object = json!({ "type": "object", "additionalProperties": false, "properties": properties });
    if !required.is_empty() {
        object["required"] = json!(required);
    }
    object
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/definitions/{name}") })
}

fn list_of(items: Value) -> Value {
    json!({ "type": "array", "items": items })
}

fn text(doc: &str) -> Value {
    json!({ "type": "string", "minLength": 1, "description": doc })
}

fn texts(doc: &str) -> Value {
    json!({ "anyOf": [{ "type": "string" }, list_of(json!({ "type": "string" }))], "description": doc })
}

fn one_word(words: &[&str], doc: &str) -> Value {
    json!({ "enum": words, "description": doc })
}

fn some_of(words: &[&str], doc: &str) -> Value {
    json!({ "anyOf": [{ "enum": words }, list_of(json!({ "enum": words }))], "description": doc })
}

// Editors and converters hand a TOML date on as text.
fn date(doc: &str) -> Value {
    json!({ "type": "string", "format": "date", "pattern": "^ *[0-9]{4}-[0-9]{2}-[0-9]{2} *$", "description": doc })
}

fn scalar(doc: &str) -> Value {
    json!({ "type": ["string", "number", "boolean"], "description": doc })
}

fn rows() -> Value {
    json!({ "type": "object", "additionalProperties": scalar("The value of a row."), "description": "A table: key and value." })
}

fn checked() -> Value {
    one_word(&words(&Checked::ALL), "How it was checked.")
}
