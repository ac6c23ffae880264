//! A proposed item: its fields in trade form, and why it is proposed.

use crate::model::{FieldId, Job};
use crate::source::Span;

/// A value as a job file writes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Written {
    /// A quantity in trade form, a word, or an id.
    Text(String),
    /// A whole number.
    Number(i64),
    /// Yes or no.
    Flag(bool),
    /// Several values.
    List(Vec<Written>),
    /// A table inside the item: a cable end, a conductor of a raceway.
    Table(Vec<(String, Written)>),
}

impl Written {
    /// Returns a text.
    pub fn text(text: impl Into<String>) -> Written {
        Written::Text(text.into())
    }
}

/// One field of a proposed item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    /// Its key in the job file.
    pub key: &'static str,
    /// Its value.
    pub value: Written,
    /// The field stands only where none of these has a value already: a default of the job, the room or the shop goes before it.
    pub unless: &'static [&'static str],
}

/// An item that a job lacks, or fields that an item of the job lacks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposed {
    /// Its kind: `box`, `device`, …
    pub kind: &'static str,
    /// Its id, free in the job.
    pub id: String,
    /// Its fields, without the id.
    pub fields: Vec<Field>,
    /// Why it is proposed, in the trade's words.
    pub why: String,
    /// Citation of the requirement, where it follows from one.
    pub cite: Option<String>,
    /// Header of the item in the job that the fields are added to; none for an item of its own.
    pub onto: Option<Span>,
}

impl Proposed {
    /// Returns an item without fields.
    pub fn new(kind: &'static str, id: impl Into<String>, why: impl Into<String>) -> Proposed {
        Proposed { kind, id: id.into(), fields: Vec::new(), why: why.into(), cite: None, onto: None }
    }

    /// Returns an item of the job, by its header, without fields to add.
    pub fn onto(kind: &'static str, id: impl Into<String>, header: Span, why: impl Into<String>) -> Proposed {
        Proposed { onto: Some(header), ..Proposed::new(kind, id, why) }
    }

    /// Adds a field, in place of an earlier one of the same key.
    #[must_use]
    pub fn with(mut self, key: &'static str, value: Written) -> Proposed {
        self.put(key, value);
        self
    }

    /// Adds a text field.
    #[must_use]
    pub fn text(self, key: &'static str, value: impl Into<String>) -> Proposed {
        self.with(key, Written::text(value))
    }

    /// Adds a field that stands only where `unless` have no value.
    #[must_use]
    pub fn unless(mut self, key: &'static str, value: Written, unless: &'static [&'static str]) -> Proposed {
        self.fields.push(Field { key, value, unless });
        self
    }

    /// Adds the citation.
    #[must_use]
    pub fn cited(mut self, cite: Option<String>) -> Proposed {
        self.cite = cite;
        self
    }

    /// Sets a field, in place of an earlier one of the same key.
    pub fn put(&mut self, key: &'static str, value: Written) {
        self.fields.retain(|field| field.key != key);
        self.fields.push(Field { key, value, unless: &[] });
    }

    /// Returns the comment that marks the item as proposed.
    pub fn mark(&self) -> String {
        match &self.cite {
            Some(cite) => format!("# proposed: {} ({cite})", self.why),
            None => format!("# proposed: {}", self.why),
        }
    }
}

/// Drops what stands only where nothing else is written. `draft` is the job with the items but without such fields; without a
/// draft all of them go.
pub fn settle(items: &mut [Proposed], draft: Option<&Job>) {
    for item in items {
        let (kind, id) = (item.kind, item.id.clone());
        item.fields.retain(|field| {
            field.unless.is_empty()
                || draft.is_some_and(|job| field.unless.iter().all(|other| is_open(job, kind, &id, other)))
        });
    }
}

fn is_open(job: &Job, kind: &str, id: &str, field: &str) -> bool {
    let (Some(item), Some(kind)) = (job.find(id), job.schema.kind(kind)) else { return true };
    let fields = &job.schema.spec(kind).fields;
    let at = fields.iter().position(|spec| spec.name == field);
    at.and_then(|at| u16::try_from(at).ok()).is_none_or(|at| job.cell(item, FieldId(at)).is_missing())
}
