//! A room seen from above.

use super::boxes::BoxMark;
use super::elevation::Elevation;
use super::sign::Sign;
use super::standing::{PlanShape, shapes};
use crate::calc::{Side, outline};
use crate::model::ItemIndex;
use crate::model::kinds::{device, luminaire, outlet_box};
use crate::sheet::Desk;

/// A point of a plan \[nm\]: the first wall runs to the right, y points down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Corner {
    /// Along the first wall.
    pub x: i64,
    /// Across it.
    pub y: i64,
}

/// An opening on a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanOpening {
    /// Its kind, a word of the job format.
    pub kind: String,
    /// Its near edge.
    pub from: Corner,
    /// Its far edge.
    pub to: Corner,
    /// Whether a door's latch is at the near edge.
    pub latch_at_start: Option<bool>,
}

/// A box on a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanBox {
    /// The box.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// What is in it.
    pub signs: Vec<Sign>,
    /// Where it is, on its wall; none for one whose place on ceiling or floor is not recorded.
    pub at: Option<Corner>,
    /// The wall's direction, from its start \[nm\]: the room is on its right-hand side.
    pub direction: Option<Corner>,
    /// Whether something about it is to be put right.
    pub flagged: bool,
}

/// A plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Corners in order.
    pub corners: Vec<Corner>,
    /// Names of the walls, in the same order: the wall from this corner to the next.
    pub walls: Vec<(String, String)>,
    /// Openings.
    pub openings: Vec<PlanOpening>,
    /// Counters, basins and appliances.
    pub shapes: Vec<PlanShape>,
    /// Boxes.
    pub boxes: Vec<PlanBox>,
    /// Switch box and the boxes of what it controls in this room, by their numbers in `boxes`.
    pub controls: Vec<(usize, usize)>,
}

/// Returns the plan of a room; nothing where its walls do not close.
pub(super) fn plan(desk: &Desk<'_>, item: ItemIndex, walls: &[Elevation], elsewhere: &[BoxMark]) -> Option<Plan> {
    let outline = outline(&desk.ctx, item).ok()?;
    let corners = outline.sides.iter().map(|side| Corner { x: side.from.0, y: side.from.1 }).collect();
    let shapes = shapes(desk, item, &outline, walls);
    let mut plan =
        Plan { corners, walls: Vec::new(), openings: Vec::new(), shapes, boxes: Vec::new(), controls: Vec::new() };
    for side in &outline.sides {
        let Some(wall) = walls.iter().find(|wall| wall.item == side.wall) else { continue };
        plan.walls.push((wall.name.clone(), wall.kind.clone()));
        for opening in &wall.openings {
            let end = opening.at.amount().saturating_add(opening.width.amount());
            plan.openings.push(PlanOpening {
                kind: opening.kind.clone(),
                from: point(side, opening.at.amount()),
                to: point(side, end),
                latch_at_start: opening.latch_at_start,
            });
        }
        for mark in &wall.boxes {
            let at = mark.along.map(|along| point(side, along.amount()));
            plan.boxes.push(on_plan(mark, at, Some(direction(side))));
        }
    }
    plan.boxes.extend(elsewhere.iter().map(|mark| on_plan(mark, None, None)));
    plan.controls = controls(desk, &plan.boxes);
    Some(plan)
}

fn on_plan(mark: &BoxMark, at: Option<Corner>, direction: Option<Corner>) -> PlanBox {
    PlanBox {
        item: mark.item,
        id: mark.id.clone(),
        signs: mark.signs.clone(),
        at,
        direction: at.and(direction),
        flagged: !mark.corrections.is_empty(),
    }
}

fn direction(side: &Side) -> Corner {
    Corner { x: side.to.0 - side.from.0, y: side.to.1 - side.from.1 }
}

fn point(side: &Side, along: i64) -> Corner {
    let share = |from: i64, to: i64| {
        let part = i128::from(to - from) * i128::from(along) / i128::from(side.length.max(1));
        from.saturating_add(i64::try_from(part).unwrap_or(0))
    };
    Corner { x: share(side.from.0, side.to.0), y: share(side.from.1, side.to.1) }
}

fn controls(desk: &Desk<'_>, boxes: &[PlanBox]) -> Vec<(usize, usize)> {
    let job = desk.job;
    let at = |item: Option<ItemIndex>| boxes.iter().position(|one| Some(one.item) == item);
    let mut list = Vec::new();
    for (from, one) in boxes.iter().enumerate() {
        for switch in job.links(one.item, outlet_box::DEVICES) {
            let lights = job.links(switch, device::LIGHTS).map(|it| job.link(it, luminaire::BOX));
            let receptacles = job.links(switch, device::CONTROLLED_DEVICES).map(|it| job.link(it, device::BOX));
            for to in lights.chain(receptacles).filter_map(at) {
                if to != from && !list.contains(&(from, to)) {
                    list.push((from, to));
                }
            }
        }
    }
    list
}
