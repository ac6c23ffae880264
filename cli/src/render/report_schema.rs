//! The JSON Schema (draft-07) of what `inspect --format json` writes.
//!
//! It names every member that there is and lets no other in, so that a test of it notices whatever is added or renamed.

use serde_json::{Map, Value, json};

use super::json::SCHEMA;

/// Returns the schema.
pub(crate) fn report() -> Value {
    json!({
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "storystick inspection report",
        "type": "object",
        "additionalProperties": false,
        "required": ["schema", "program", "version", "notice", "jobs", "unread"],
        "properties": {
            "schema": { "const": SCHEMA, "description": "Number of this form; it grows when a member changes its meaning or goes away." },
            "program": { "const": "storystick" },
            "version": { "type": "string" },
            "notice": { "type": "string", "description": "What the program does not do." },
            "jobs": list("job"),
            "unread": list("unread"),
        },
        "definitions": {
            "job": job(),
            "unread": closed(&[("file", text()), ("problems", list("problem"))], &[]),
            "problem": closed(&[("at", or_null(link("at"))), ("help", maybe_text()), ("message", text())], &[]),
            "at": at(),
            "code": closed(
                &[("edition", text()), ("jurisdiction", text()), ("permit_date", text()), ("rulesets", list("ruleset"))],
                &[],
            ),
            "ruleset": closed(
                &[
                    ("content", text()),
                    ("draft", maybe_text()),
                    ("id", text()),
                    ("kind", text()),
                    ("reviewed", text()),
                    ("title", text()),
                    ("version", text()),
                ],
                &[],
            ),
            "tally": tally(),
            "assumed": assumed(),
            "finding": finding(),
            "value": value(),
            "allowed": closed(&[("limits", list("value")), ("text", text())], &[]),
            "field": field(),
            "entry": entry(),
            "source": { "anyOf": [link("field"), link("entry")] },
            "working": working(),
            "presumed": closed(
                &[("because", text()), ("field", text()), ("item", text()), ("kind", text()), ("text", text())],
                &[],
            ),
            "missing": closed(
                &[("at", or_null(link("at"))), ("field", text()), ("item", text()), ("limit", maybe_text())],
                &[],
            ),
            "permission": closed(
                &[
                    ("at", or_null(link("at"))),
                    ("granted_by", text()),
                    ("lapsed", flag()),
                    ("reason", text()),
                    ("until", text()),
                ],
                &[],
            ),
            "set_by": closed(
                &[
                    ("checked", text()),
                    ("cite", text()),
                    ("file", maybe_text()),
                    ("in_force", maybe_text()),
                    ("line", json!({ "type": ["integer", "null"], "minimum": 1 })),
                    ("ruleset", text()),
                    ("title", text()),
                    ("value", text()),
                ],
                &[],
            ),
        },
    })
}

fn text() -> Value {
    json!({ "type": "string" })
}

fn maybe_text() -> Value {
    json!({ "type": ["string", "null"] })
}

fn flag() -> Value {
    json!({ "type": "boolean" })
}

fn count() -> Value {
    json!({ "type": "integer", "minimum": 0 })
}

fn words(words: &[&str]) -> Value {
    json!({ "enum": words })
}

fn link(name: &str) -> Value {
    json!({ "$ref": format!("#/definitions/{name}") })
}

fn list(name: &str) -> Value {
    json!({ "type": "array", "items": link(name) })
}

fn texts(about: &str) -> Value {
    json!({ "type": "array", "items": { "type": "string" }, "description": about })
}

fn or_null(value: Value) -> Value {
    json!({ "anyOf": [{ "type": "null" }, value] })
}

/// Returns an object with members that are always there and others that may be left out, and none besides.
fn closed(always: &[(&str, Value)], perhaps: &[(&str, Value)]) -> Value {
    let properties: Map<String, Value> =
        always.iter().chain(perhaps).map(|(name, value)| ((*name).to_owned(), value.clone())).collect();
    let required: Vec<&str> = always.iter().map(|(name, _)| *name).collect();
    json!({ "type": "object", "additionalProperties": false, "required": required, "properties": properties })
}

fn at() -> Value {
    let one = || json!({ "type": "integer", "minimum": 1 });
    closed(&[("column", one()), ("file", text()), ("line", one())], &[("path", text())])
}

fn tally() -> Value {
    let names = ["caution", "correction", "excepted", "met", "note", "permitted", "presumed", "to_measure"];
    let members: Vec<(&str, Value)> = names.into_iter().map(|name| (name, count())).collect();
    closed(&members, &[])
}

fn job() -> Value {
    let left_out = closed(&[("cite", text()), ("left_alone", count()), ("rule", text()), ("ruleset", text())], &[]);
    let texts = || json!({ "type": "array", "items": text() });
    let existing =
        closed(&[("faults_only", texts()), ("items", texts()), ("kind", text()), ("not_applied", texts())], &[]);
    let existing = json!({
        "type": "array",
        "description": "Existing work by kind: rules for new work are not applied to it, and of `faults_only` only what is recorded and wrong.",
        "items": existing,
    });
    closed(
        &[
            ("assumed", list("assumed")),
            ("code", link("code")),
            ("existing_work", existing),
            ("faults", list("problem")),
            ("file", text()),
            ("findings", list("finding")),
            ("job", text()),
            ("not_applicable", json!({ "type": "array", "items": left_out })),
            ("notices", list("problem")),
            ("stage", words(&["layout", "rough_in", "trim_out", "final"])),
            ("tally", link("tally")),
        ],
        &[("since", json!({ "type": "object", "description": "How the job compares with an earlier report." }))],
    )
}

fn value() -> Value {
    closed(
        &[("text", text())],
        &[
            (
                "amount",
                json!({ "type": "number", "description": "The amount in `unit`; a conductor size is its cross-section." }),
            ),
            ("dimension", text()),
            ("flag", flag()),
            ("item", text()),
            ("members", list("value")),
            ("unit", text()),
        ],
    )
}

/// What the job format takes for granted where the job file says nothing.
fn assumed() -> Value {
    let items = json!({ "type": "array", "items": text(), "minItems": 1 });
    closed(
        &[
            ("by_shop", flag()),
            ("field", text()),
            ("items", items),
            ("kind", text()),
            ("text", text()),
            ("value", link("value")),
        ],
        &[],
    )
}

fn field() -> Value {
    closed(&[("field", text()), ("item", text()), ("kind", text())], &[])
}

fn entry() -> Value {
    closed(&[("entry", text())], &[("row", text())])
}

fn working() -> Value {
    let steps = ["field", "item", "entry", "row", "literal", "operation", "members", "member", "other"];
    closed(
        &[("step", words(&steps)), ("value", or_null(link("value")))],
        &[
            ("name", json!({ "type": "string", "description": "The name that a `let` of the rule gives the value." })),
            ("operator", text()),
            ("parts", list("working")),
            ("source", link("source")),
        ],
    )
}

fn finding() -> Value {
    let exception = closed(&[("name", text()), ("section", text())], &[]);
    let sides = closed(&[("allowed", list("working")), ("found", or_null(link("working")))], &[]);
    closed(
        &[
            ("allowed", or_null(link("allowed"))),
            ("also", texts("Partners whose own finding is left out, because it says the same from the other side.")),
            ("at", or_null(link("at"))),
            ("check", count()),
            ("cite", text()),
            ("exception", or_null(exception)),
            ("fix", maybe_text()),
            ("found", or_null(link("value"))),
            ("item", text()),
            ("kind", json!({ "type": "string", "description": "Name of the item's kind, such as `cable_end`." })),
            ("look", maybe_text()),
            ("margin", or_null(link("value"))),
            ("message", json!({ "type": "string", "minLength": 1 })),
            ("missing", list("missing")),
            ("outcome", words(&["correction", "to_measure", "permitted", "excepted", "met"])),
            ("partners", texts("Items of the same kind that the finding is as much about.")),
            ("permission", or_null(link("permission"))),
            ("presumed", list("presumed")),
            ("reads", list("source")),
            ("room", maybe_text()),
            ("rule", text()),
            ("rule_at", or_null(link("at"))),
            ("ruleset", text()),
            ("set_by", list("set_by")),
            ("stage", words(&["layout", "rough_in", "trim_out", "final"])),
            ("unverified", maybe_text()),
            ("verb", words(&["at_most", "at_least", "between", "equal_to", "one_of", "need", "look", "except"])),
            ("weight", words(&["correction", "caution", "note"])),
            ("working", sides),
        ],
        &[],
    )
}
