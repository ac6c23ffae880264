//! Existing work beside new: which rules leave it as it is.

use super::code::Compiled;
use super::finding::LeftAsItIs;
use super::scene::Scene;
use crate::model::{ItemIndex, Nest};
use crate::script::ExistingWork;

/// Returns the existing work of the job by kind, with the rules that are not for it, of those that were to run.
pub(super) fn left_as_it_is(scene: &Scene<'_>) -> Vec<LeftAsItIs> {
    let job = scene.job;
    if !job.has_existing() {
        return Vec::new();
    }
    let mut all = Vec::new();
    for (kind, spec) in job.schema.kinds() {
        let items: Vec<ItemIndex> = job.of_kind(kind).iter().copied().filter(|&item| job.is_existing(item)).collect();
        if items.is_empty() {
            continue;
        }
        let of = |wanted: ExistingWork| {
            let rules = scene.playing.iter().map(|(_, compiled)| compiled);
            let of_kind = rules.filter(|compiled| compiled.in_force.source.kind == kind && holds(compiled) == wanted);
            let mut ids: Vec<String> = of_kind.map(|compiled| compiled.in_force.source.id.clone()).collect();
            ids.sort_unstable();
            ids
        };
        let (rules, faults_only) = (of(ExistingWork::LeftOut), of(ExistingWork::Faults));
        let is_part = matches!(spec.nest, Nest::Inside { .. });
        all.push(LeftAsItIs { kind: spec.name, is_part, items, rules, faults_only });
    }
    all
}

/// Returns the items that a rule for new work alone did not look at, because they are existing.
pub(super) fn left_out<'s>(scene: &'s Scene<'_>, compiled: &Compiled) -> impl Iterator<Item = ItemIndex> + 's {
    let is_left_out = scene.job.has_existing() && holds(compiled) == ExistingWork::LeftOut;
    let items = if is_left_out { scene.job.of_kind(compiled.in_force.source.kind) } else { &[] };
    items.iter().copied().filter(|&item| scene.job.is_existing(item))
}

/// Returns whether what a rule leaves open of an item is not asked: it counts only the faults of existing work that are recorded.
pub(super) fn is_left_open(scene: &Scene<'_>, compiled: &Compiled, item: ItemIndex) -> bool {
    scene.job.is_existing(item) && holds(compiled) == ExistingWork::Faults
}

/// Returns what a rule has to do with existing work; one that did not compile looks at none.
fn holds(compiled: &Compiled) -> ExistingWork {
    compiled.bound().map_or(ExistingWork::LeftOut, |bound| bound.rule().existing_work())
}
