//! Values of findings as JSON: beside each text the number with its unit, and how a value came about.

use serde::Serialize;
use storystick_engine::book::{self, EntryId};
use storystick_engine::inspection::Assumed;
use storystick_engine::inspection::finding::{Finding, Read};
use storystick_engine::model::{FieldId, ItemIndex};
use storystick_engine::quantity::Quantity;
use storystick_engine::script::{OperandSource, Part, Shown, Step, Working};
use storystick_engine::told::Words;

// Members stand in the order of the alphabet, as they do in every other result of the program.

/// A value: its text, and where it is an amount the number, its unit and what it measures.
#[derive(Serialize)]
pub(super) struct Value {
    #[serde(skip_serializing_if = "Option::is_none")]
    amount: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dimension: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    flag: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    item: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    members: Option<Vec<Value>>,
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'static str>,
}

impl Value {
    fn plain(text: String) -> Value {
        Value { amount: None, dimension: None, flag: None, item: None, members: None, text, unit: None }
    }

    /// Returns an amount.
    pub(super) fn amount(words: &Words<'_>, quantity: Quantity) -> Value {
        let dimension = Some(quantity.dimension().name());
        let (amount, unit) = quantity.in_unit(words.units()).unzip();
        let unit = unit.filter(|unit| !unit.is_empty());
        Value { amount, dimension, unit, ..Value::plain(words.quantity(quantity)) }
    }

    /// Returns any value. What is not recorded is none.
    fn of(words: &Words<'_>, shown: &Shown) -> Option<Value> {
        let text = || words.value(shown);
        Some(match shown {
            Shown::Unknown => return None,
            Shown::Quantity(quantity) => Value::amount(words, *quantity),
            Shown::Flag(flag) => Value { flag: Some(*flag), ..Value::plain(text()) },
            Shown::Text(_) => Value::plain(text()),
            Shown::Item(item) => Value { item: Some(words.job().id(*item).to_owned()), ..Value::plain(text()) },
            Shown::List(list) => {
                let members = list.iter().filter_map(|member| Value::of(words, member)).collect();
                Value { members: Some(members), ..Value::plain(text()) }
            }
        })
    }
}

/// Returns what was found: none for a condition and for what nobody has recorded.
pub(super) fn found(words: &Words<'_>, finding: &Finding) -> Option<Value> {
    let text = words.found(finding)?;
    let value = Value::of(words, &finding.found.as_ref()?.value)?;
    Some(Value { text, ..value })
}

/// What a check allows: the phrase, and its limits as values.
#[derive(Serialize)]
pub(super) struct Allowed {
    limits: Vec<Value>,
    text: String,
}

/// Returns what a check allows: one limit, two of `between`, or the members of a list.
pub(super) fn allowed(words: &Words<'_>, finding: &Finding) -> Option<Allowed> {
    let text = words.allowed(finding)?;
    let limits = finding.allowed.iter().filter_map(|limit| Value::of(words, &limit.value)).collect();
    Some(Allowed { limits, text })
}

/// A field of an item by their names.
#[derive(Serialize)]
pub(super) struct Field<'a> {
    field: &'a str,
    item: &'a str,
    kind: &'a str,
}

impl<'a> Field<'a> {
    /// Returns a field of an item.
    pub(super) fn of(words: &Words<'a>, item: ItemIndex, field: FieldId) -> Field<'a> {
        let job = words.job();
        let kind = job.item(item).kind;
        Field { field: job.schema.field_spec(kind, field).name, item: job.id(item), kind: job.schema.spec(kind).name }
    }
}

/// What the job format takes for granted of some items.
#[derive(Serialize)]
pub(super) struct Taken<'a> {
    by_shop: bool,
    field: &'a str,
    items: Vec<&'a str>,
    kind: &'a str,
    text: String,
    value: Option<Value>,
}

/// Returns what the job format takes for granted.
pub(super) fn taken<'a>(words: &Words<'a>, assumed: &Assumed) -> Taken<'a> {
    let job = words.job();
    Taken {
        by_shop: assumed.by_shop,
        field: job.schema.field_spec(assumed.kind, assumed.field).name,
        items: assumed.items.iter().map(|&item| job.id(item)).collect(),
        kind: job.schema.spec(assumed.kind).name,
        text: words.assumed(assumed),
        value: Value::of(words, &assumed.value),
    }
}

/// An entry of the code, with the key of a row where one was looked up.
#[derive(Serialize)]
pub(super) struct Entry<'a> {
    entry: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    row: Option<&'a str>,
}

/// Something that a check has read.
#[derive(Serialize)]
#[serde(untagged)]
pub(super) enum Source<'a> {
    /// A field.
    Field(Field<'a>),
    /// An entry.
    Entry(Entry<'a>),
}

fn entry<'a>(words: &Words<'a>, id: EntryId, row: Option<usize>) -> Option<Entry<'a>> {
    let entry = words.book().entry(id)?;
    let row = row.and_then(|row| match &entry.value {
        book::Value::Table(table) => table.rows().get(row).map(|row| row.key_text.as_str()),
        _ => None,
    });
    Some(Entry { entry: &entry.key, row })
}

/// Returns what a check and the conditions before it have read.
pub(super) fn reads<'a>(words: &Words<'a>, finding: &Finding) -> Vec<Source<'a>> {
    let source = |read: &Read| match *read {
        Read::Field { item, field, .. } => Some(Source::Field(Field::of(words, item, field))),
        Read::Entry { entry: id, row } => entry(words, id, row).map(Source::Entry),
    };
    finding.reads.iter().filter_map(source).collect()
}

/// A step of how a value came about.
#[derive(Serialize)]
pub(super) struct Worked<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    operator: Option<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    parts: Vec<Worked<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<Source<'a>>,
    step: &'static str,
    value: Option<Value>,
}

/// Returns how a value came about.
pub(super) fn worked<'a>(words: &Words<'a>, working: &'a Working) -> Worked<'a> {
    let value = Value::of(words, &working.value);
    let plain = |step| Worked {
        name: working.name.as_deref(),
        operator: None,
        parts: Vec::new(),
        source: None,
        step,
        value: None,
    };
    let made = match &working.step {
        Step::Field { item, field } => {
            Worked { source: Some(Source::Field(Field::of(words, *item, *field))), ..plain("field") }
        }
        Step::Item => plain("item"),
        Step::Entry { entry: id } => Worked { source: entry(words, *id, None).map(Source::Entry), ..plain("entry") },
        Step::Row { entry: id, row, key } => Worked {
            source: entry(words, *id, *row).map(Source::Entry),
            parts: vec![worked(words, key)],
            ..plain("row")
        },
        Step::Literal { .. } => plain("literal"),
        Step::Of { operator, parts } => Worked {
            operator: Some(operator.sign()),
            parts: parts.iter().map(|part| worked(words, part)).collect(),
            ..plain("operation")
        },
        Step::Members { over, parts, from, .. } => Worked {
            operator: Some(over.word()),
            source: from.and_then(|from| list(words, from)),
            parts: parts.iter().map(|part| member(words, part)).collect(),
            ..plain("members")
        },
        Step::Other { .. } => plain("other"),
    };
    Worked { value, ..made }
}

fn list<'a>(words: &Words<'a>, from: OperandSource) -> Option<Source<'a>> {
    match from {
        OperandSource::Field(item, field) => Some(Source::Field(Field::of(words, item, field))),
        OperandSource::Entry(id, row) => entry(words, id, row).map(Source::Entry),
        OperandSource::Presumed(..) | OperandSource::Literal(_) => None,
    }
}

fn member<'a>(words: &Words<'a>, part: &'a Part) -> Worked<'a> {
    Worked {
        name: None,
        operator: None,
        parts: part.says.iter().map(|says| worked(words, says)).collect(),
        source: None,
        step: "member",
        value: Value::of(words, &part.member),
    }
}

/// How both sides of a check came about.
#[derive(Serialize)]
pub(super) struct Workings<'a> {
    allowed: Vec<Worked<'a>>,
    found: Option<Worked<'a>>,
}

/// Returns how both sides of a check came about.
pub(super) fn workings<'a>(words: &Words<'a>, finding: &'a Finding) -> Workings<'a> {
    Workings {
        allowed: finding.allowed.iter().map(|limit| worked(words, limit)).collect(),
        found: finding.found.as_ref().map(|found| worked(words, found)),
    }
}
