//! What stands against a wall or in the room besides boxes: counters, basins and appliances, seen from the front and from above.

use super::elevation::{CounterFace, Elevation};
use super::plan::Corner;
use crate::calc::{Outline, Side};
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, basin, counter, room, site};
use crate::quantity::{Dimension, Quantity};
use crate::sheet::Desk;
use crate::sheet::desk::words;

/// How deep a counter, a basin or an appliance is drawn where no depth is recorded, and how wide an appliance: looks alone, no measure.
const DEEP: i64 = 609_600_000;
/// How deep a basin is drawn.
const BASIN_DEEP: i64 = 457_200_000;

/// A basin or an appliance against a wall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// What it is.
    pub what: String,
    /// Its middle, from the wall's start.
    pub along: Quantity,
    /// Its width, where it is recorded.
    pub width: Option<Quantity>,
    /// Whether it is a basin.
    pub is_basin: bool,
}

/// A counter, basin or appliance on a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanShape {
    /// What it is; empty for a counter that is named by what is in it.
    pub what: String,
    /// Its corners.
    pub corners: [Corner; 4],
    /// Whether its place is recorded; an island stands in the middle where it is not.
    pub placed: bool,
}

/// Returns the basins and appliances against a wall, those of which a place is recorded.
pub(super) fn standing(desk: &Desk<'_>, room: ItemIndex, wall: ItemIndex) -> Vec<Standing> {
    let job = desk.job;
    let basins = job.links(room, room::BASINS).filter(|&it| job.link(it, basin::WALL) == Some(wall)).filter_map(|it| {
        let (at, width) = (job.quantity(it, basin::AT)?, job.quantity(it, basin::WIDTH)?);
        let middle = at.amount().saturating_add(width.amount() / 2);
        let along = Quantity::new(Dimension::Length, middle);
        Some(Standing { what: String::from("basin"), along, width: Some(width), is_basin: true })
    });
    let all = desk.site().into_iter().flat_map(|site| job.links(site, site::APPLIANCES));
    let appliances = all.filter(|&it| job.link(it, appliance::WALL) == Some(wall)).filter_map(|it| {
        Some(Standing {
            what: words(job.text(it, appliance::KIND)?),
            along: job.quantity(it, appliance::ALONG)?,
            width: job.quantity(it, appliance::WIDTH),
            is_basin: false,
        })
    });
    basins.chain(appliances).collect()
}

/// Returns what stands in a room, seen from above.
pub(super) fn shapes(desk: &Desk<'_>, room: ItemIndex, outline: &Outline, walls: &[Elevation]) -> Vec<PlanShape> {
    let job = desk.job;
    let mut all = Vec::new();
    for side in &outline.sides {
        let Some(wall) = walls.iter().find(|wall| wall.item == side.wall) else { continue };
        for counter in &wall.counters {
            let CounterFace { name, at, length, depth, .. } = counter;
            let deep = depth.map_or(DEEP, Quantity::amount);
            // What interrupts a counter names it well enough; two names would lie on each other.
            let name = if counter.breaks.is_empty() { name.clone() } else { String::new() };
            all.push(against(side, name, at.amount(), length.amount(), deep));
            for gap in &counter.breaks {
                all.push(against(side, gap.kind.clone(), gap.at.amount(), gap.width.amount(), deep));
            }
        }
        for one in &wall.standing {
            let width = one.width.map_or(DEEP, Quantity::amount);
            let deep = if one.is_basin { BASIN_DEEP } else { DEEP };
            all.push(against(side, one.what.clone(), one.along.amount() - width / 2, width, deep));
        }
    }
    let middle = |of: fn(&Side) -> i64| {
        let (least, most) =
            outline.sides.iter().map(of).fold((i64::MAX, i64::MIN), |(a, b), at| (a.min(at), b.max(at)));
        least / 2 + most / 2
    };
    let (x, y) = (middle(|side| side.from.0), middle(|side| side.from.1));
    let free = job.links(room, room::COUNTERS).filter(|&it| job.link(it, counter::WALL).is_none());
    for island in free {
        let Some(length) = job.quantity(island, counter::LENGTH) else { continue };
        let (half, deep) =
            (length.amount() / 2, job.quantity(island, counter::DEPTH).map_or(DEEP, Quantity::amount) / 2);
        let corner = |dx: i64, dy: i64| Corner { x: x + dx, y: y + dy };
        let corners = [corner(-half, -deep), corner(half, -deep), corner(half, deep), corner(-half, deep)];
        let what = words(job.text(island, counter::KIND).unwrap_or("counter"));
        all.push(PlanShape { what, corners, placed: false });
    }
    all
}

/// Returns a shape of a depth against a wall, on the side of the room.
fn against(side: &Side, what: String, at: i64, width: i64, deep: i64) -> PlanShape {
    let (dx, dy) = ((side.to.0 - side.from.0) as f64, (side.to.1 - side.from.1) as f64);
    let long = (dx * dx + dy * dy).sqrt().max(1.0);
    let corner = |along: i64, off: i64| Corner {
        x: side.from.0 + (dx / long * along as f64 - dy / long * off as f64) as i64,
        y: side.from.1 + (dy / long * along as f64 + dx / long * off as f64) as i64,
    };
    let corners = [corner(at, 0), corner(at + width, 0), corner(at + width, deep), corner(at, deep)];
    PlanShape { what, corners, placed: true }
}
