//! The floor area that a load is calculated by: as written for the site, or from its rooms.

use super::super::Datum;
use super::super::arith::times;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::outline::floor_area;
use super::super::worksheet::{Line, Sheet};
use super::too_large;
use crate::model::ItemIndex;
use crate::model::kinds::{room, site};
use crate::quantity::{Dimension, Quantity};

/// Rooms that never count: open porches, garages and the like, as the edition has it.
const LEFT_OUT: &str = "load.area_left_out";
/// Rooms that count only where they are finished: nobody can live in them otherwise.
const IF_FINISHED: &str = "load.area_if_finished";
/// What walls add to the floor inside the rooms.
const WALLS: &str = "load.area_of_walls";

/// The floor area of a dwelling.
pub(super) struct FloorArea {
    /// The area, as far as it is known.
    pub(super) area: Traced,
    /// What is not recorded of it.
    pub(super) gap: Option<Gap>,
}

/// Returns the floor area that the load goes by: that of the site, or the sum of the rooms that count with what the walls between and
/// round them add. With neither, `site.floor_area` is missing.
pub(super) fn area_of_dwelling(ctx: &Ctx<'_>, site: ItemIndex, sheet: &mut Sheet) -> Result<FloorArea, Gap> {
    if let Some(area) = ctx.given(site, site::FLOOR_AREA) {
        return Ok(FloorArea { area, gap: None });
    }
    let mut gaps = Gaps::default();
    let mut sum = 0_i64;
    for item in ctx.job.links(site, site::ROOMS) {
        match counts(ctx, item) {
            Ok(true) => {}
            Ok(false) => {
                sheet.line(|| left_out(ctx, item));
                continue;
            }
            Err(gap) => {
                gaps.add(gap);
                continue;
            }
        }
        let Some(area) = gaps.keep(floor_area(ctx, item, &mut Sheet::none())) else { continue };
        sum = sum.checked_add(area.amount()).ok_or_else(|| too_large(area.span))?;
        sheet.line(|| Line::new(name(ctx, item)).total(area.quantity).of(area));
    }
    if sum <= 0 {
        return Err(Gap::field(site, site::FLOOR_AREA));
    }
    let inside = Quantity::new(Dimension::Area, sum);
    let header = ctx.job.item(site).header;
    let walls = ctx.book.quantity_if(WALLS, Dimension::Ratio)?;
    let added = match walls {
        Some(walls) => times(sum, walls.amount()).ok_or_else(|| too_large(header))?,
        None => 0,
    };
    sheet.line(|| Line::new("rooms together, inside").total(inside));
    sheet.line(|| {
        let line = Line::new("walls round and between them: outside dimensions decide, write `site.floor_area`");
        match walls {
            Some(walls) => {
                line.count(walls.quantity).each(inside).total(Quantity::new(Dimension::Area, added)).by(walls)
            }
            None => line,
        }
    });
    let whole = sum.checked_add(added).ok_or_else(|| too_large(header))?;
    let area = Traced::new(Dimension::Area, whole, header);
    let gap = gaps.none().err();
    sheet.line(|| {
        let what = if gap.is_some() { "floor area, at least" } else { "floor area" };
        Line::new(what).total(area.quantity)
    });
    Ok(FloorArea { area, gap })
}

/// Returns whether a room counts.
fn counts(ctx: &Ctx<'_>, item: ItemIndex) -> Result<bool, Gap> {
    let kind = ctx.need_text(item, room::KIND)?;
    if ctx.book.has_word(LEFT_OUT, kind) == Some(true) {
        return Ok(false);
    }
    if ctx.book.has_word(IF_FINISHED, kind) == Some(true) {
        return ctx.need_flag(item, room::FINISHED);
    }
    Ok(true)
}

/// Returns the line of a room that does not count, with the section that says so.
fn left_out(ctx: &Ctx<'_>, item: ItemIndex) -> Line {
    let kind = ctx.job.text(item, room::KIND).unwrap_or_default();
    let members = [LEFT_OUT, IF_FINISHED].into_iter().flat_map(|key| ctx.book.list(key).unwrap_or_default());
    let said = members.into_iter().find(|member| member.datum == Datum::Text(kind));
    let mut line = Line::new(format!("{}, {}: not counted", name(ctx, item), kind.replace('_', " ")));
    line.cite = said.map(|member| member.cite.to_owned());
    line.at(ctx.job.item(item).header)
}

fn name(ctx: &Ctx<'_>, item: ItemIndex) -> String {
    ctx.job.text(item, room::NAME_).unwrap_or_else(|| ctx.job.id(item)).to_owned()
}
