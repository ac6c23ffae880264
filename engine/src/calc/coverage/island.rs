//! Islands and peninsulas: their area, and how many receptacles they need and have.

use super::super::Code;
use super::super::arith::{divide, whole};
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::worksheet::{Line, Sheet};
use super::receptacles::{Standing, counts_for_counter};
use crate::model::ItemIndex;
use crate::model::kinds::counter;
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Returns the area of a counter.
///
/// # Errors
/// The fields to record, or a fault in one of them.
pub fn area_of_counter(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let length = gaps.keep(ctx.need(item, counter::LENGTH));
    let depth = gaps.keep(ctx.need(item, counter::DEPTH));
    gaps.none()?;
    let (Some(length), Some(depth)) = (length, depth) else { return Err(Gap::field(item, counter::LENGTH)) };
    for side in [length, depth] {
        if side.amount() <= 0 {
            return Err(Problem::new(side.span, "a counter cannot have a size of zero or less")
                .label("this size")
                .into());
        }
    }
    let area = divide(i128::from(length.amount()) * i128::from(depth.amount()), 1_000_000).ok_or_else(|| {
        Gap::from(Problem::new(length.span, "this counter is too large to compute").label("this length"))
    })?;
    let area = Traced::new(Dimension::Area, area, length.span);
    sheet.line(|| Line::new("length by depth").total(area.quantity).of(length).of(depth));
    Ok(area)
}

/// Returns how many receptacles an island or peninsula of an area needs where the code counts by area.
///
/// # Errors
/// When the code lacks an entry, or an area of it is zero.
pub fn receptacles_for_area(area: Quantity, code: &dyn Code) -> Result<i64, Problem> {
    let first = code.quantity("counter.first_area", Dimension::Area)?;
    let further = code.quantity("counter.further_area", Dimension::Area)?;
    let beyond = area.amount().saturating_sub(first.amount());
    if beyond <= 0 {
        return Ok(1);
    }
    let more = Quantity::new(Dimension::Area, beyond).parts_up(further.quantity);
    more.map(|more| more.saturating_add(1))
        .map_err(|_| Problem::new(further.span, "an area for each further receptacle must be more than zero"))
}

/// Returns how many receptacles a counter needs by its kind and size. A counter along a wall is judged by distance: none.
///
/// # Errors
/// The fields to record, or a fault in one of them.
pub fn receptacles_needed(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let at = ctx.place(item, counter::KIND);
    let number = |count: i64| Traced::new(Dimension::Number, whole(count), at);
    let kind = ctx.need_text(item, counter::KIND)?;
    if kind == "wall" {
        sheet.line(|| Line::new("a counter along a wall goes by distance").at(at));
        return Ok(number(0));
    }
    if !ctx.book.flag("coverage.island_required")? {
        sheet.line(|| Line::new(format!("no receptacle is required at this {kind}")).at(at));
        return Ok(number(0));
    }
    let area = area_of_counter(ctx, item, sheet)?;
    let (length, depth) = (ctx.need(item, counter::LENGTH)?, ctx.need(item, counter::DEPTH)?);
    let (long, short) = (length.amount().max(depth.amount()), length.amount().min(depth.amount()));
    let least_long = ctx.book.quantity("coverage.island_least_long", Dimension::Length)?;
    let least_short = ctx.book.quantity("coverage.island_least_short", Dimension::Length)?;
    if long < least_long.amount() || short < least_short.amount() {
        sheet
            .line(|| Line::new(format!("too small a {kind} to need a receptacle")).by(least_long).of(length).of(depth));
        return Ok(number(0));
    }
    if !ctx.book.flag("coverage.island_by_area")? {
        sheet.line(|| Line::new(format!("one for each {kind}")).count(Quantity::number(1)).by(least_long));
        return Ok(number(1));
    }
    let needed = receptacles_for_area(area.quantity, ctx.book)?;
    sheet.line(|| {
        let line = Line::new("one for the first area and one for each further").count(Quantity::number(needed));
        match ctx.book.quantity("counter.first_area", Dimension::Area) {
            Ok(first) => line.each(first.quantity).by(first),
            Err(_) => line,
        }
    });
    Ok(number(needed))
}

/// Returns how many receptacles that serve a counter count.
///
/// # Errors
/// The fields of receptacles of which nobody recorded whether they count.
pub fn counter_receptacles(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let (mut counted, mut spans) = (0, Vec::new());
    for device in ctx.job.links(item, counter::DEVICES) {
        match counts_for_counter(ctx, device, item) {
            Standing::Counts => {
                counted += 1;
                spans.push(ctx.job.item(device).header);
            }
            Standing::Not(why) => sheet.line(|| {
                Line::new(format!("{} does not count: {why}", ctx.job.id(device))).at(ctx.job.item(device).header)
            }),
            Standing::Open(gap) => gaps.add(gap),
        }
    }
    gaps.none()?;
    let number = Traced::new(Dimension::Number, whole(counted), ctx.job.item(item).header);
    sheet.line(|| Line::new("receptacles that count").total(number.quantity).all(spans));
    Ok(number)
}
