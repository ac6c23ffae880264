//! Places that can't be: a box past the end of its wall, openings in each other, walls that do not meet.

mod boxes;
mod runs;
mod walls;

use super::loader::Loader;
use crate::model::kinds::{opening, site};
use crate::model::{FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity, UnitSystem};
use crate::source::Span;

/// A length \[nm\] and where it is written. Sums of two stay far from the bounds.
#[derive(Clone, Copy)]
struct Length {
    nm: i128,
    span: Span,
}

/// A rectangle on a wall, without its edges \[nm\]: along the wall, and above the floor.
#[derive(Clone, Copy)]
struct Hole {
    item: ItemIndex,
    from: i128,
    to: i128,
    low: i128,
    high: i128,
}

/// Openings with nothing of the wall left in them; a fireplace, tub or cabinet has a wall behind or above it.
const HOLES: &[&str] = &["door", "doorway", "sliding_door", "vehicle_door", "window"];

/// The height of an opening that states none, and so may reach the ceiling.
const NO_TOP: i128 = i128::MAX;

impl<'a> Loader<'a> {
    /// Looks for impossible places.
    pub(super) fn check_geometry(&mut self) {
        self.check_walls();
        self.check_boxes();
        self.check_runs();
    }

    fn length(&self, item: ItemIndex, field: FieldId) -> Option<Length> {
        let cell = self.cell(item, field);
        (!cell.is_missing()).then(|| Length { nm: i128::from(cell.bits()), span: cell.span() })
    }

    fn items(&self, kind: &str) -> Vec<ItemIndex> {
        self.shape.schema.kind(kind).map(|kind| self.builder.job().of_kind(kind).to_vec()).unwrap_or_default()
    }

    /// Returns a length as the job's papers would print it.
    fn shown(&self, nm: i128) -> String {
        let amount = i64::try_from(nm).unwrap_or(if nm < 0 { i64::MIN } else { i64::MAX });
        Quantity::new(Dimension::Length, amount).print(self.units())
    }

    fn units(&self) -> UnitSystem {
        let metric = self.builder.job().find(site::NAME).and_then(|site| self.builder.job().text(site, site::UNITS))
            == Some("metric");
        if metric { UnitSystem::Metric } else { UnitSystem::Customary }
    }

    /// Returns the openings of a wall that leave nothing of it, by where they begin.
    fn holes(&self, wall: ItemIndex) -> Vec<Hole> {
        let job = self.builder.job();
        let mut holes: Vec<Hole> =
            job.links(wall, crate::model::kinds::wall::OPENINGS).filter_map(|item| self.hole(item)).collect();
        holes.sort_by_key(|hole| (hole.from, hole.item));
        holes
    }

    fn hole(&self, item: ItemIndex) -> Option<Hole> {
        let kind = self.builder.job().text(item, opening::KIND)?;
        if !HOLES.contains(&kind) {
            return None;
        }
        let (from, width) = (self.length(item, opening::AT)?.nm, self.length(item, opening::WIDTH)?.nm);
        let low = self.length(item, opening::SILL).map_or(0, |sill| sill.nm);
        let high = self.length(item, opening::HEIGHT).map_or(NO_TOP, |height| low + height.nm);
        Some(Hole { item, from, to: from + width, low, high })
    }
}
