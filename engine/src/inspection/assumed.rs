//! What the job format, or the shop, takes for granted where a job file says nothing.

use super::Code;
use crate::calc::taken_for_granted;
use crate::model::kinds::site;
use crate::model::{Default, FieldId, FieldSpec, Filled, ItemIndex, Job, KindId, Stage, Type};
use crate::quantity::{Dimension, Quantity};
use crate::script::Shown;
use crate::source::File;

/// A value that rules read and the job file does not write.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// Kind of the items.
    pub kind: KindId,
    /// The field.
    pub field: FieldId,
    /// What is taken for granted.
    pub value: Shown,
    /// Whether it is the shop's own default; else it is the job format's.
    pub by_shop: bool,
    /// Whether it is taken from what the items belong to: existing work.
    pub by_owner: bool,
    /// The items of which nothing is written, in the order of the job; at least one.
    pub items: Vec<ItemIndex>,
}

/// Returns the defaults of the job format and of the shop that rules up to a stage read of a job, by kind and field.
pub(super) fn assumed(job: &Job, code: &Code, stage: Stage) -> Vec<Assumed> {
    let mut fields: Vec<(KindId, FieldId)> = code
        .rules
        .iter()
        .filter(|compiled| compiled.in_force.source.stage <= stage)
        .filter_map(|compiled| compiled.bound())
        .flat_map(|bound| bound.rule().fields().iter().copied())
        .chain(taken_for_granted(&job.schema))
        // Every rule for new work reads it, whether it names it or not.
        .chain(job.schema.kind(site::NAME).map(|kind| (kind, site::NEW_WORK)))
        .collect();
    fields.sort_unstable();
    fields.dedup();
    let has_shop = job.schema.kind(site::NAME).is_some_and(|kind| {
        let shop = |&item: &ItemIndex| !job.cell(item, site::SHOP).is_missing();
        job.of_kind(kind).iter().any(shop)
    });
    let mut all: Vec<Assumed> = fields.iter().filter_map(|&(kind, field)| by_format(job, kind, field)).collect();
    if has_shop {
        // What a shop fills in may be read by way of a computed field.
        fields.dedup_by_key(|(kind, _)| *kind);
        for (kind, _) in fields {
            let written = (0..job.schema.spec(kind).fields.len()).filter_map(|at| u16::try_from(at).ok().map(FieldId));
            all.extend(written.flat_map(|field| by_shop(job, kind, field)));
        }
    }
    all.extend(by_owner(job));
    all
}

/// Returns what items leave out about existing work, and what was taken from those that they belong to.
fn by_owner(job: &Job) -> Vec<Assumed> {
    let mut all: Vec<Assumed> = Vec::new();
    for &(item, field) in job.taken() {
        let (kind, value) = (job.item(item).kind, Shown::Flag(job.cell(item, field).to_flag()));
        match all.iter_mut().find(|one| (one.kind, one.field, &one.value) == (kind, field, &value)) {
            Some(one) => one.items.push(item),
            None => all.push(Assumed { kind, field, value, by_shop: false, by_owner: true, items: vec![item] }),
        }
    }
    all
}

fn by_format(job: &Job, kind: KindId, field: FieldId) -> Option<Assumed> {
    let value = value(job.schema.field_spec(kind, field))?;
    let unwritten = |item: &ItemIndex| job.cell(*item, field).is_default();
    let items: Vec<ItemIndex> = job.of_kind(kind).iter().copied().filter(unwritten).collect();
    (!items.is_empty()).then_some(Assumed { kind, field, value, by_shop: false, by_owner: false, items })
}

/// Returns the values of a field that stand in another file than their items: those of the shop.
fn by_shop(job: &Job, kind: KindId, field: FieldId) -> Vec<Assumed> {
    let mut all: Vec<Assumed> = Vec::new();
    let spec = job.schema.field_spec(kind, field);
    if !matches!(spec.filled, Filled::Written { .. }) {
        return all;
    }
    for &item in job.of_kind(kind) {
        let cell = job.cell(item, field);
        let base = |span| job.files.file_of(span).map(File::base);
        if cell.is_missing() || cell.is_default() || base(cell.span()) == base(job.item(item).header) {
            continue;
        }
        let value = match spec.ty {
            Type::Quantity(dimension) => Shown::Quantity(Quantity::new(dimension, cell.bits())),
            Type::Flag => Shown::Flag(cell.to_flag()),
            Type::Word(_) | Type::Text => Shown::Text(job.symbols.text(cell.to_symbol()).to_owned()),
            Type::Item(_) | Type::List(_) => continue,
        };
        match all.iter_mut().find(|one| one.value == value) {
            Some(one) => one.items.push(item),
            None => all.push(Assumed { kind, field, value, by_shop: true, by_owner: false, items: vec![item] }),
        }
    }
    all
}

/// Returns what a field is where nothing is written, if the job format says so.
fn value(field: &FieldSpec) -> Option<Shown> {
    let dimension = match field.ty {
        Type::Quantity(dimension) => dimension,
        _ => Dimension::Number,
    };
    match field.default {
        Default::None | Default::Empty | Default::Owner => None,
        Default::NoItem => Some(Shown::Text(String::from("none"))),
        Default::Flag(flag) | Default::FlagUnless(flag, _) => Some(Shown::Flag(flag)),
        Default::Word(word) => Some(Shown::Text(word.to_owned())),
        Default::Number(number) => Some(Shown::Quantity(Quantity::number(number))),
        Default::Amount(amount) => Some(Shown::Quantity(Quantity::new(dimension, amount))),
    }
}
