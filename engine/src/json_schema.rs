//! JSON Schemas (draft-07, the dialect that TOML editors read), generated from the table of kinds and fields.
//!
//! A schema catches what can be caught key by key while somebody types: unknown keys, words, types, bare numbers where a unit is
//! due. It is never stricter than the reader, which alone knows references, defaults and geometry.

use serde_json::{Map, Value, json};

use crate::job::limits::{Least, Limit};
use crate::job::shape::{How, KeyRole, KindShape, Shape};
use crate::job::{FORMAT, NEWEST_FORMAT, NONE};
use crate::model::kinds::measure;
use crate::model::{Default, FieldId, FieldSpec, IdRule, KindId, KindSpec, Nest, Schema, Type};
use crate::quantity::Dimension;

/// An amount with a unit, seen from afar: a digit, and behind it something that may be a unit.
const AMOUNT: &str = "[0-9¼½¾⅓⅔⅛⅜⅝⅞].*[^0-9 .,/+-]";

/// Returns the JSON Schema of job files.
pub fn job(schema: &Schema) -> Value {
    let shape = Shape::new(schema);
    let mut definitions = Map::new();
    let mut properties = Map::new();
    properties.insert(
        "format".into(),
        json!({ "enum": [FORMAT, NEWEST_FORMAT], "description": "Number of the job-file format." }),
    );
    properties.insert("defaults".into(), reference("defaults"));
    for (kind, spec) in schema.kinds() {
        definitions.insert(spec.name.into(), item(&shape, kind, spec));
        match spec.nest {
            Nest::Single(key) => drop(properties.insert(key.into(), reference(spec.name))),
            Nest::Top(key) => drop(properties.insert(key.into(), list_of(reference(spec.name)))),
            Nest::Inside { .. } => {}
        }
        definitions.insert(format!("{}-defaults", spec.name), defaults_of(&shape, kind, spec));
        if let Some(sorts) = sorts(&shape, kind) {
            definitions
                .insert(format!("{}-sort-defaults", spec.name), object(default_fields(&shape, kind, spec, sorts.0)));
        }
    }
    definitions.insert("defaults".into(), defaults(&shape, |_| true));
    definitions.insert("defaults-in-room".into(), defaults(&shape, |kind| kind.in_room));
    json!({
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "storystick job file",
        "type": "object",
        "additionalProperties": false,
        "required": ["format", "site"],
        "properties": properties,
        "definitions": definitions,
    })
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/definitions/{name}") })
}

fn list_of(items: Value) -> Value {
    json!({ "type": "array", "items": items })
}

fn object(properties: Map<String, Value>) -> Value {
    json!({ "type": "object", "additionalProperties": false, "properties": properties })
}

/// Returns the schema of an item's table.
fn item(shape: &Shape<'_>, kind: KindId, spec: &KindSpec) -> Value {
    let of = shape.kind(kind);
    let mut properties = Map::new();
    for name in &of.names {
        let value = match of.keys.get(name) {
            Some(KeyRole::Id) => {
                json!({ "type": "string", "minLength": 1, "description": "Its id, unique in the job." })
            }
            Some(&KeyRole::Field(field)) => written(shape, kind, field),
            Some(KeyRole::Defaults) => reference("defaults-in-room"),
            Some(&KeyRole::Nested(at)) => match of.nested.get(at) {
                Some(nested) => {
                    let table = reference(shape.schema.spec(nested.kind).name);
                    match (nested.many, nested.short) {
                        (true, _) => list_of(table),
                        (false, Some(_)) => json!({ "anyOf": [{ "type": "string", "minLength": 1 }, table] }),
                        (false, None) => table,
                    }
                }
                None => continue,
            },
            None => continue,
        };
        properties.insert((*name).into(), value);
    }
    let mut item = object(properties);
    item["description"] = json!(spec.doc);
    let mut required: Vec<&str> = Vec::new();
    if spec.id == IdRule::Required {
        required.push("id");
    }
    // What defaults may supply is not required here: a shop's defaults stand in another file.
    required.extend(
        spec.fields
            .iter()
            .zip(&of.fields)
            .filter(|(field, of)| of.required && crate::job::belongs_to_the_job(spec, field))
            .map(|(field, _)| field.name),
    );
    if !required.is_empty() {
        item["required"] = json!(required);
    }
    if !of.one_of.is_empty() {
        item["allOf"] = json!(pairs(shape, kind, of));
    }
    item
}

/// Returns, for each two of the fields that say the same thing, that they do not go together.
fn pairs(shape: &Shape<'_>, kind: KindId, of: &KindShape<'_>) -> Vec<Value> {
    let name = |field: &FieldId| shape.schema.field_spec(kind, *field).name;
    let mut pairs = Vec::new();
    for (at, first) in of.one_of.iter().enumerate() {
        for second in of.one_of.iter().skip(at + 1) {
            pairs.push(json!({ "not": { "required": [name(first), name(second)] } }));
        }
    }
    pairs
}

/// Returns the schema of a `defaults` table.
fn defaults(shape: &Shape<'_>, holds: impl Fn(&KindShape<'_>) -> bool) -> Value {
    let kinds = shape.schema.kinds().filter(|(kind, _)| holds(shape.kind(*kind)));
    object(kinds.map(|(_, spec)| (spec.name.to_owned(), reference(&format!("{}-defaults", spec.name)))).collect())
}

fn defaults_of(shape: &Shape<'_>, kind: KindId, spec: &KindSpec) -> Value {
    let mut properties = default_fields(shape, kind, spec, FieldId(u16::MAX));
    if let Some((_, words)) = sorts(shape, kind) {
        let sort = reference(&format!("{}-sort-defaults", spec.name));
        for word in words {
            // A word may also be the name of a field: a counter's `wall`.
            let value = match properties.remove(*word) {
                Some(field) => json!({ "anyOf": [field, sort] }),
                None => sort.clone(),
            };
            properties.insert((*word).into(), value);
        }
    }
    object(properties)
}

/// Returns the field whose words sort the items of a kind for defaults, and the words.
fn sorts(shape: &Shape<'_>, kind: KindId) -> Option<(FieldId, &'static [&'static str])> {
    let field = shape.kind(kind).selector?;
    match shape.schema.field_spec(kind, field).ty {
        Type::Word(words) => Some((field, words)),
        _ => None,
    }
}

fn default_fields(shape: &Shape<'_>, kind: KindId, spec: &KindSpec, but: FieldId) -> Map<String, Value> {
    let fields = spec.fields.iter().zip(&shape.kind(kind).fields).enumerate();
    let open = fields.filter(|(at, (field, of))| {
        !matches!(of.how, How::Unwritten)
            && !of.as_built
            && FieldId(*at as u16) != but
            && !crate::job::belongs_to_the_job(spec, field)
    });
    open.map(|(at, (field, _))| (field.name.to_owned(), written(shape, kind, FieldId(at as u16)))).collect()
}

/// Returns the schema of a field's value, with its description and its default.
fn written(shape: &Shape<'_>, kind: KindId, field: FieldId) -> Value {
    let spec = shape.schema.field_spec(kind, field);
    let of = shape.field(kind, field);
    let mut value = match &of.how {
        How::Make { .. } => {
            json!({ "type": "string", "pattern": "[-/] *[0-9]+ *$", "examples": ["12/2", "14/3", "2.5 mm2/2"] })
        }
        _ if shape.schema.spec(kind).name == measure::NAME && field == measure::VALUE => {
            json!({ "type": ["string", "number", "boolean", "array"] })
        }
        _ => of_type(&spec.ty, of.limit, of.required),
    };
    value["description"] = json!(described(spec));
    match spec.default {
        Default::None | Default::Amount(_) | Default::Owner | Default::FlagUnless(..) => {}
        Default::NoItem => value["default"] = json!(NONE),
        Default::Flag(flag) => value["default"] = json!(flag),
        Default::Word(word) => value["default"] = json!(word),
        Default::Number(number) => value["default"] = json!(number),
        Default::Empty => value["default"] = json!([]),
    }
    value
}

fn described(field: &FieldSpec) -> String {
    let ty = match &field.ty {
        Type::List(inner) => inner,
        other => other,
    };
    match ty {
        Type::Quantity(dimension) if *dimension != Dimension::Number => {
            let help = dimension.units_help();
            let mut help = help.chars();
            let first: String = help.next().map(|first| first.to_uppercase().collect()).unwrap_or_default();
            format!("{} {first}{}.", field.doc, help.as_str())
        }
        _ => field.doc.to_owned(),
    }
}

fn of_type(ty: &Type, limit: Limit, filled: bool) -> Value {
    match ty {
        Type::Flag => json!({ "type": "boolean" }),
        Type::Text if filled => json!({ "type": "string", "pattern": "\\S" }),
        Type::Text => json!({ "type": "string" }),
        Type::Word(words) => json!({ "enum": words }),
        Type::Item(_) => json!({ "type": "string", "minLength": 1 }),
        Type::Quantity(Dimension::Number) => {
            let mut number = json!({ "type": if limit.whole { "integer" } else { "number" } });
            match limit.least {
                Least::Any => {}
                Least::Zero => number["minimum"] = json!(0),
                Least::More => number["exclusiveMinimum"] = json!(0),
            }
            number
        }
        // Editors and converters hand a TOML date on as text.
        Type::Quantity(Dimension::Date) => {
            json!({ "type": "string", "format": "date", "pattern": "^ *[0-9]{4}-[0-9]{2}-[0-9]{2} *$" })
        }
        Type::Quantity(_) => json!({ "type": "string", "pattern": AMOUNT }),
        Type::List(inner) => list_of(of_type(inner, limit, false)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_written_field_is_there_and_no_other() {
        let schema = Schema::dwelling();
        let json = job(&schema);
        let of = |kind: &str, key: &str| json["definitions"][kind]["properties"].get(key).is_some();
        assert!(
            of("box", "top") && of("box", "id") && of("cable", "from") && of("cable", "make") && of("room", "defaults")
        );
        for derived in ["centre", "devices"] {
            assert!(!of("box", derived), "{derived}");
        }
        assert!(!of("cable", "size") && !of("site", "id") && !of("cable_end", "cable"));
        assert!(of("box-defaults", "volume") && of("box-defaults", "switch") && of("cable-defaults", "NM"));
        assert!(
            !of("cable_end-defaults", "first_support")
                && !of("site-defaults", "shop")
                && !of("defaults-in-room", "cable")
        );
        assert_eq!(json["definitions"]["site"]["required"], json!(["permit_date", "jurisdiction", "stage"]));
    }

    #[test]
    fn every_reference_leads_somewhere() {
        fn walk(value: &Value, found: &mut Vec<String>) {
            match value {
                Value::Object(map) => map.iter().for_each(|(key, value)| match (key.as_str(), value) {
                    ("$ref", Value::String(to)) => found.push(to.clone()),
                    _ => walk(value, found),
                }),
                Value::Array(values) => values.iter().for_each(|value| walk(value, found)),
                _ => {}
            }
        }
        let json = job(&Schema::dwelling());
        let mut found = Vec::new();
        walk(&json, &mut found);
        assert!(found.len() > 40);
        for to in found {
            let name = to.trim_start_matches("#/definitions/");
            assert!(json["definitions"].get(name).is_some(), "{to}");
        }
    }

    #[test]
    fn what_an_embedding_program_adds_is_in_the_schema() {
        let mut schema = Schema::dwelling();
        let field = FieldSpec {
            name: "label_printed",
            ty: Type::Flag,
            filled: crate::model::Filled::Written { required: false, as_built: false },
            default: Default::Flag(false),
            doc: "Whether its label is printed.",
        };
        schema.add_field("panel", field).unwrap();
        let json = job(&schema);
        assert_eq!(json["definitions"]["panel"]["properties"]["label_printed"]["type"], json!("boolean"));
    }
}
