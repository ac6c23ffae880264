//! Which receptacles count for the spacing along walls, and which for counters.

use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps};
use super::super::heights::box_heights;
use super::super::outline::Outline;
use super::super::shown;
use super::line::length;
use crate::model::ItemIndex;
use crate::model::kinds::{counter, device, outlet_box, wall};
use crate::problem::Problem;
use crate::quantity::Dimension;

/// Whether a receptacle counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It counts.
    Counts,
    /// It does not, and why, in the trade's words.
    Not(&'static str),
    /// Fields that nobody recorded would decide it.
    Open(Gap),
}

impl Standing {
    fn of(result: Result<Option<&'static str>, Gap>) -> Standing {
        match result {
            Ok(None) => Standing::Counts,
            Ok(Some(why)) => Standing::Not(why),
            Err(gap) => Standing::Open(gap),
        }
    }
}

/// Returns whether a device is a receptacle that counts as an outlet of its room, wherever it is.
pub fn counts_in_room(ctx: &Ctx<'_>, device: ItemIndex) -> Standing {
    Standing::of(outlet_of_room(ctx, device))
}

/// Returns whether a device is a receptacle that counts for the spacing along walls.
pub fn counts_for_wall(ctx: &Ctx<'_>, device: ItemIndex) -> Standing {
    Standing::of(outlet_of_wall(ctx, device))
}

/// Returns whether a device is a receptacle that counts for a counter.
pub fn counts_for_counter(ctx: &Ctx<'_>, device: ItemIndex, counter: ItemIndex) -> Standing {
    Standing::of(outlet_of_counter(ctx, device, counter))
}

/// What never counts, wherever it is.
fn excluded(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<&'static str>, Gap> {
    if ctx.need_text(item, device::KIND)? != "receptacle" {
        return Ok(Some("no receptacle"));
    }
    if ctx.job.flag(item, device::IN_CABINET) == Some(true) {
        return Ok(Some("inside a cabinet"));
    }
    if ctx.job.flag(item, device::PART_OF_APPLIANCE) == Some(true) {
        return Ok(Some("part of a luminaire or appliance"));
    }
    for (field, key, dimension) in [
        (device::VOLTAGE, "coverage.voltage_most", Dimension::Voltage),
        (device::RATING, "coverage.rating_most", Dimension::Current),
    ] {
        // An unrecorded rating is that of a general-purpose receptacle; only a stated one can set it apart.
        if let Some(rating) = ctx.given(item, field)
            && rating.amount() > ctx.book.quantity(key, dimension)?.amount()
        {
            return Ok(Some("not a general-purpose receptacle"));
        }
    }
    Ok(None)
}

fn outlet_of_room(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<&'static str>, Gap> {
    if let Some(why) = excluded(ctx, item)? {
        return Ok(Some(why));
    }
    if ctx.job.link(item, device::SERVES_APPLIANCE).is_some() {
        return Ok(Some("for one appliance"));
    }
    let switched = ctx.need_text(item, device::SWITCHED)?;
    if ctx.book.lists("coverage.switched_not_counted", switched)? {
        return Ok(Some("on a wall switch instead of a lighting outlet"));
    }
    let outlet_box = ctx.need_link(item, device::BOX)?;
    let highest = ctx.book.quantity("coverage.receptacle_highest", Dimension::Length)?;
    if !matches!(ctx.job.text(outlet_box, outlet_box::MOUNTED), Some("floor")) {
        let centre = box_heights(ctx, outlet_box).centre?;
        if centre.amount() > highest.amount() {
            return Ok(Some("too high"));
        }
    }
    Ok(None)
}

fn outlet_of_wall(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<&'static str>, Gap> {
    if let Some(why) = excluded(ctx, item)? {
        return Ok(Some(why));
    }
    if ctx.job.link(item, device::COUNTER).is_some() && !ctx.book.flag("coverage.counter_receptacles_count")? {
        return Ok(Some("serves a counter"));
    }
    let outlet_box = ctx.need_link(item, device::BOX)?;
    match ctx.job.text(outlet_box, outlet_box::MOUNTED) {
        Some("floor") => {
            let within = ctx.book.quantity("coverage.floor_within", Dimension::Length)?;
            if ctx.need(outlet_box, outlet_box::FROM_WALL)?.amount() > within.amount() {
                return Ok(Some("in the floor too far from the wall"));
            }
        }
        Some("wall") => {}
        _ => return Ok(Some("not on the wall")),
    }
    outlet_of_room(ctx, item)
}

fn outlet_of_counter(ctx: &Ctx<'_>, item: ItemIndex, counter: ItemIndex) -> Result<Option<&'static str>, Gap> {
    if let Some(why) = excluded(ctx, item)? {
        return Ok(Some(why));
    }
    if ctx.job.link(item, device::SERVES_APPLIANCE).is_some() {
        return Ok(Some("for one appliance"));
    }
    if ctx.job.flag(item, device::BEHIND_APPLIANCE) == Some(true) {
        return Ok(Some("behind an appliance"));
    }
    let above = above_counter(ctx, item, counter)?;
    let most = ctx.book.quantity("counter.highest_above", Dimension::Length)?;
    if above > most.amount() {
        return Ok(Some("too high above the counter"));
    }
    if above < 0 {
        let kind = ctx.need_text(counter, counter::KIND)?;
        let below = ctx.book.quantity("counter.lowest_below", Dimension::Length)?;
        if !ctx.book.lists("coverage.counter_below_kinds", kind)? || -above > below.amount() {
            return Ok(Some("below the counter"));
        }
    }
    Ok(None)
}

/// Returns how high a receptacle is above a counter \[nm\]: as written, or from the heights of both.
fn above_counter(ctx: &Ctx<'_>, item: ItemIndex, counter: ItemIndex) -> Result<i64, Gap> {
    if let Some(above) = ctx.given(item, device::ABOVE_COUNTER) {
        return Ok(above.amount());
    }
    let either = |gap: Gap| match gap {
        // Either the height above the counter or both heights: ask for the shorter list first.
        Gap::Missing(_) => Gap::field(item, device::ABOVE_COUNTER),
        fault => fault,
    };
    let outlet_box = ctx.need_link(item, device::BOX).map_err(either)?;
    let mut gaps = Gaps::default();
    let centre = gaps.keep(box_heights(ctx, outlet_box).centre);
    let top = gaps.keep(ctx.need(counter, counter::HEIGHT));
    gaps.none().map_err(either)?;
    match (centre, top) {
        (Some(centre), Some(top)) => Ok(centre.amount() - top.amount()),
        _ => Err(Gap::field(item, device::ABOVE_COUNTER)),
    }
}

/// Returns where a receptacle is along the outline.
pub(super) fn position(ctx: &Ctx<'_>, device: ItemIndex, outline: &Outline) -> Result<i64, Gap> {
    let outlet_box = ctx.need_link(device, device::BOX)?;
    let mut gaps = Gaps::default();
    let wall = gaps.keep(ctx.need_link(outlet_box, outlet_box::WALL));
    let along = gaps.keep(ctx.need(outlet_box, outlet_box::ALONG));
    gaps.none()?;
    let (Some(wall), Some(along)) = (wall, along) else { return Err(Gap::field(outlet_box, outlet_box::WALL)) };
    let Some(side) = outline.side(wall) else {
        return Err(Problem::new(ctx.place(outlet_box, outlet_box::WALL), "this box is on a wall of another room")
            .label("this wall")
            .into());
    };
    if !(0..=side.length).contains(&along.amount()) {
        return Err(Problem::new(along.span, "this box is not on its wall")
            .label("distance from the wall's start")
            .mark(ctx.place(wall, wall::LENGTH), format!("the wall is {} long", shown(length(side.length))))
            .help("`along` is measured from the wall's start, with the room on the right-hand side of the wall")
            .into());
    }
    Ok(side.start + along.amount())
}
