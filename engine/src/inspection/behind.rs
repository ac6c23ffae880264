//! What stands behind a check: who set its limits, which of them nobody has verified, what is not recorded.

use super::finding::{Missing, SetBy, Unverified};
use super::scene::Scene;
use crate::book::{Book, EntryId, Setting, Value};
use crate::model::{FieldId, ItemIndex, Job, Type};
use crate::script::{Detail, OperandSource};

/// Returns the only field that is compared with the limit, if there is one.
fn measured(job: &Job, detail: &Detail) -> Option<(ItemIndex, FieldId)> {
    let mut values = detail.found.iter().flat_map(|operand| &operand.sources).filter_map(|source| match *source {
        OperandSource::Field(item, field) => {
            let spec = job.schema.field_spec(job.item(item).kind, field);
            (!matches!(spec.ty, Type::Item(_))).then_some((item, field))
        }
        OperandSource::Presumed(..) | OperandSource::Entry(..) | OperandSource::Literal(_) => None,
    });
    let first = values.next()?;
    values.next().is_none().then_some(first)
}

/// Returns who set the limits, latest first.
pub(super) fn set_by(book: &Book, detail: &Detail) -> Vec<SetBy> {
    let mut list = Vec::new();
    for (entry, row) in entries(detail) {
        for step in book.set_by_all(&chain(book, entry, row)) {
            if !list.contains(&step) {
                list.push(step);
            }
        }
    }
    list
}

/// Returns the chain of an entry, or that of the row of a table that was looked up.
fn chain(book: &Book, entry: EntryId, row: Option<usize>) -> Vec<Setting> {
    let Some(entry) = book.entry(entry) else { return Vec::new() };
    let row = match (&entry.value, row) {
        (Value::Table(table), Some(row)) => table.rows().get(row),
        _ => None,
    };
    row.map_or_else(|| entry.chain.clone(), |row| entry.row_chain(row))
}

/// Returns the values behind a check that nobody has verified.
pub(super) fn unverified(book: &Book, detail: &Detail) -> Vec<Unverified> {
    let mut doubts = Vec::new();
    for (entry, row) in entries(detail) {
        let Some(latest) = chain(book, entry, row).pop().filter(|latest| !latest.checked.is_verified()) else {
            continue;
        };
        let key = book.entry(entry).map(|entry| entry.key.clone()).unwrap_or_default();
        let doubt = Unverified { key, checked: latest.checked };
        if !doubts.contains(&doubt) {
            doubts.push(doubt);
        }
    }
    doubts
}

/// Returns the entries of the code behind a check: those of the limit first, then those of the value.
fn entries(detail: &Detail) -> Vec<(EntryId, Option<usize>)> {
    let mut list = Vec::new();
    for source in detail.allowed.iter().chain(&detail.found).flat_map(|operand| &operand.sources) {
        if let OperandSource::Entry(entry, row) = *source
            && !list.contains(&(entry, row))
        {
            list.push((entry, row));
        }
    }
    list
}

/// Names what is unrecorded; behind a computed field that is what its calculation lacks.
pub(super) fn missing(scene: &Scene<'_>, detail: &Detail) -> Vec<Missing> {
    let job = scene.job;
    let measured = measured(job, detail);
    let mut list: Vec<Missing> = Vec::new();
    for &(item, field) in &detail.missing {
        let behind = scene.facts.missing_for(item, field);
        let compared = behind.is_empty() && measured == Some((item, field));
        let written = if behind.is_empty() { &[(item, field)][..] } else { behind };
        for &(item, field) in written {
            let one = Missing {
                index: item,
                field_id: field,
                item: job.id(item).to_owned(),
                field: job.schema.field_spec(job.item(item).kind, field).name.to_owned(),
                compared,
                span: job.item(item).header,
            };
            if !list.contains(&one) {
                list.push(one);
            }
        }
    }
    list
}
