//! How far a basin is from its nearest receptacle.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use super::worksheet::{Line, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::{basin, device, outlet_box, room};
use crate::quantity::Dimension;

/// Returns the distance from the edge of a basin to the nearest receptacle: as written; else along its wall; for the only basin of a room
/// also what a receptacle records of it.
///
/// # Errors
/// The fields to record: with receptacles that are not on its wall, only somebody on site or on the plan can tell.
pub(super) fn receptacle_distance(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let job = ctx.job;
    let asked = || Gap::field(item, basin::FROM_RECEPTACLE);
    if let Some(written) = ctx.given(item, basin::FROM_RECEPTACLE) {
        sheet.line(|| Line::new("distance to the nearest receptacle, as written").total(written.quantity).of(written));
        return Ok(written);
    }
    let room = ctx.need_link(item, basin::ROOM)?;
    let is_only = job.links(room, room::BASINS).count() == 1;
    let mut nearest: Option<Traced> = None;
    let mut elsewhere = false;
    for receptacle in job.links(room, room::DEVICES) {
        if job.text(receptacle, device::KIND) != Some("receptacle") {
            continue;
        }
        let recorded = if is_only { ctx.given(receptacle, device::FROM_BASIN) } else { None };
        let Some(distance) = recorded.or_else(|| along_wall(ctx, item, receptacle)) else {
            elsewhere = true;
            continue;
        };
        sheet.line(|| Line::new(format!("receptacle {}", job.id(receptacle))).total(distance.quantity).of(distance));
        if nearest.is_none_or(|nearest| distance.amount() < nearest.amount()) {
            nearest = Some(distance);
        }
    }
    let reach = ctx.book.quantity_if("bath.from_basin", Dimension::Length)?;
    match nearest {
        // A receptacle on another wall could only be nearer.
        Some(nearest) if !elsewhere || reach.is_some_and(|reach| nearest.amount() <= reach.amount()) => Ok(nearest),
        _ => Err(asked()),
    }
}

/// Returns how far a receptacle on the wall of a basin is from its edge; none where it is on another wall or a place is not recorded.
fn along_wall(ctx: &Ctx<'_>, item: ItemIndex, receptacle: ItemIndex) -> Option<Traced> {
    let outlet = ctx.job.link(receptacle, device::BOX)?;
    let wall = ctx.job.link(item, basin::WALL)?;
    if ctx.job.link(outlet, outlet_box::WALL) != Some(wall) {
        return None;
    }
    let along = ctx.given(outlet, outlet_box::ALONG)?;
    let (at, width) = (ctx.given(item, basin::AT)?, ctx.given(item, basin::WIDTH)?);
    let (from, to) = (at.amount(), at.amount().saturating_add(width.amount()));
    let apart = (from - along.amount()).max(along.amount() - to).max(0);
    Some(Traced::new(Dimension::Length, apart, along.span))
}
