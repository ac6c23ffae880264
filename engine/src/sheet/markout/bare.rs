//! Stretches of wall and counter that no receptacle reaches, where the inspection asks for one.

use super::boxes::zero;
use crate::calc::coverage::{counter_coverage, wall_coverage};
use crate::calc::{Outline, Sheet};
use crate::inspection::finding::Outcome;
use crate::model::kinds::room;
use crate::model::{FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity};
use crate::sheet::Desk;

/// A stretch out of reach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bare {
    /// The wall it lies on.
    pub wall: ItemIndex,
    /// Its beginning from the wall's start.
    pub from: Quantity,
    /// Its end from the wall's start.
    pub to: Quantity,
    /// Whether it is counter, not floor line.
    pub counter: bool,
}

impl Bare {
    /// Returns its length.
    pub fn length(&self) -> Quantity {
        self.to.sub(self.from).unwrap_or(zero())
    }
}

/// Returns the stretches of a room that a finding is about.
pub(super) fn of_room(desk: &Desk<'_>, item: ItemIndex) -> Vec<Bare> {
    let mut list = Vec::new();
    let mut sheet = Sheet::none();
    if is_found(desk, item)
        && let Ok(coverage) = wall_coverage(&desk.ctx, item, &mut sheet)
    {
        for space in coverage.spaces.iter().filter(|space| space.required) {
            let whole = [(0, space.stretch.length)];
            let parts = if space.receptacles.is_empty() { &whole[..] } else { &space.uncovered[..] };
            for &(from, to) in parts {
                spread(&coverage.outline, space.stretch.from + from, space.stretch.from + to, false, &mut list);
            }
        }
    }
    for counter in desk.job.links(item, room::COUNTERS) {
        if is_found(desk, counter)
            && let Ok(coverage) = counter_coverage(&desk.ctx, counter, &mut sheet)
        {
            for space in coverage.spaces.iter().filter(|space| space.required) {
                let whole = [space.own];
                let parts = if space.receptacles.is_empty() { &whole[..] } else { &space.uncovered[..] };
                for &(from, to) in parts {
                    let (from, to) = (from.max(space.own.0), to.min(space.own.1));
                    spread(&coverage.outline, space.stretch.from + from, space.stretch.from + to, true, &mut list);
                }
            }
        }
    }
    list
}

/// Returns whether the inspection has a correction, permitted or not, about how far a room or counter is covered.
fn is_found(desk: &Desk<'_>, item: ItemIndex) -> bool {
    let job = desk.job;
    let name = |item: ItemIndex, field: FieldId| job.schema.field_spec(job.item(item).kind, field).name;
    desk.report.findings.iter().any(|finding| {
        finding.index == item
            && matches!(finding.outcome, Outcome::Correction | Outcome::Permitted)
            && finding.path.field.is_some_and(|field| name(finding.path.item, field) == "wall_uncovered")
    })
}

/// Lays a part of the outline onto the walls that it runs along.
fn spread(outline: &Outline, from: i64, to: i64, counter: bool, list: &mut Vec<Bare>) {
    if to <= from {
        return;
    }
    let length = |amount| Quantity::new(Dimension::Length, amount);
    // A stretch may run past the end of the outline and on from its beginning.
    for turn in [0, outline.length] {
        for side in &outline.sides {
            let (start, end) = (side.start + turn, side.start + turn + side.length);
            let (a, b) = (from.max(start), to.min(end));
            if a < b {
                list.push(Bare { wall: side.wall, from: length(a - start), to: length(b - start), counter });
            }
        }
    }
}
