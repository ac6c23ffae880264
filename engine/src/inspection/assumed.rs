//! What the job format itself supplies where a job says nothing, as far as rules have asked for it. It takes nothing for granted in
//! silence: reports list it, and one line in the job file settles each.

use super::code::Code;
use crate::model::{Default, FieldId, ItemIndex, Job, KindId, Stage};

/// A value that stands in no file: the default of the job format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Assumed {
    /// The item.
    pub item: ItemIndex,
    /// The field.
    pub field: FieldId,
}

/// Returns the defaults of the job format that rules up to a stage have read of a job, in the order of the items.
pub fn assumed(job: &Job, code: &Code, stage: Stage) -> Vec<Assumed> {
    let mut fields: Vec<(KindId, FieldId)> = code
        .rules
        .iter()
        .filter(|compiled| compiled.in_force.source.stage <= stage)
        .filter_map(|compiled| compiled.bound())
        .flat_map(|bound| bound.rule().fields().iter().copied())
        .filter(|&(kind, field)| !matches!(job.schema.field_spec(kind, field).default, Default::None | Default::Empty))
        .collect();
    fields.sort_unstable();
    fields.dedup();
    let mut list: Vec<Assumed> = fields
        .into_iter()
        .flat_map(|(kind, field)| job.of_kind(kind).iter().map(move |&item| Assumed { item, field }))
        .filter(|one| job.cell(one.item, one.field).is_default())
        .collect();
    list.sort_unstable();
    list
}
