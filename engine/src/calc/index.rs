//! Look-ups over a job that several computations share: what the links of single items don't answer.

use std::collections::BTreeMap;

use crate::model::kinds::{cable, circuit, measure, raceway};
use crate::model::{FieldId, ItemIndex, Job, Symbol};

/// Which end of a raceway.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RacewayEnd {
    /// The one written as `from`.
    From,
    /// The one written as `to`.
    To,
}

/// What the links of single items don't answer, gathered once for a job.
#[derive(Clone, Debug, Default)]
pub struct Index {
    raceways: BTreeMap<Symbol, Vec<(ItemIndex, RacewayEnd)>>,
    shared_neutral: BTreeMap<ItemIndex, Vec<ItemIndex>>,
    measured: BTreeMap<(Symbol, Symbol), ItemIndex>,
    multiwire: BTreeMap<ItemIndex, Vec<ItemIndex>>,
}

impl Index {
    /// Returns the index of a job.
    pub fn new(job: &Job) -> Index {
        let mut index = Index::default();
        for &item in items(job, raceway::NAME) {
            for (field, end) in [(raceway::FROM, RacewayEnd::From), (raceway::TO, RacewayEnd::To)] {
                let cell = job.cell(item, field);
                if !cell.is_missing() {
                    index.raceways.entry(cell.to_symbol()).or_default().push((item, end));
                }
            }
        }
        for &item in items(job, cable::NAME) {
            if let Some(circuit) = job.link(item, cable::SECOND_CIRCUIT) {
                index.shared_neutral.entry(circuit).or_default().push(item);
            }
        }
        for &item in items(job, circuit::NAME) {
            if let Some(other) = job.link(item, circuit::MULTIWIRE_WITH) {
                for (one, other) in [(item, other), (other, item)] {
                    let partners = index.multiwire.entry(one).or_default();
                    if one != other && !partners.contains(&other) {
                        partners.push(other);
                    }
                }
            }
        }
        for &item in items(job, measure::NAME) {
            let (of, field) = (job.cell(item, measure::ITEM), job.cell(item, measure::FIELD));
            if !of.is_missing() && !field.is_missing() {
                index.measured.insert((of.to_symbol(), field.to_symbol()), item);
            }
        }
        index
    }

    /// Returns the raceways that end at a box or panel.
    pub fn raceways_at(&self, job: &Job, item: ItemIndex) -> &[(ItemIndex, RacewayEnd)] {
        self.raceways.get(&job.item(item).id).map_or(&[], Vec::as_slice)
    }

    /// Returns the cables that carry a circuit as their second one.
    pub fn cables_as_second(&self, circuit: ItemIndex) -> &[ItemIndex] {
        self.shared_neutral.get(&circuit).map_or(&[], Vec::as_slice)
    }

    /// Returns the circuits that share the neutral of a circuit, whichever of both says so.
    pub fn multiwire_partners(&self, circuit: ItemIndex) -> &[ItemIndex] {
        self.multiwire.get(&circuit).map_or(&[], Vec::as_slice)
    }

    /// Returns whether a field's value was measured on site.
    pub fn is_measured(&self, job: &Job, item: ItemIndex, field: FieldId) -> bool {
        if self.measured.is_empty() {
            return false;
        }
        let spec = job.item(item);
        job.symbols
            .find(job.schema.field_spec(spec.kind, field).name)
            .is_some_and(|name| self.measured.contains_key(&(spec.id, name)))
    }
}

/// Returns the items of a kind by its name.
pub(super) fn items<'a>(job: &'a Job, kind: &str) -> &'a [ItemIndex] {
    job.schema.kind(kind).map_or(&[], |kind| job.of_kind(kind))
}
