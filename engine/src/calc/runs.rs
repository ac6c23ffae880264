//! Plain facts of circuits and cables: smallest conductor, widest gap between supports.

use super::derive::Ctx;
use super::given::{Gap, Gaps, Traced};
use super::index::items;
use super::worksheet::{Line, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::{cable, circuit, raceway_conductor};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Returns the smallest conductor of a circuit that carries its current, in its cables and raceways.
pub(super) fn smallest_conductor(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let mut smallest: Option<Traced> = None;
    let mut keep = |size: Result<Traced, Gap>, gaps: &mut Gaps| {
        if let Some(size) = gaps.keep(size)
            && smallest.is_none_or(|least| size.amount() < least.amount())
        {
            smallest = Some(size);
        }
    };
    for run in cables_of(ctx, item) {
        keep(cable_size(ctx, run), &mut gaps);
    }
    for &conductor in items(ctx.job, raceway_conductor::NAME) {
        let is_ground = ctx.job.flag(conductor, raceway_conductor::IS_GROUND) == Some(true);
        if !is_ground && ctx.job.link(conductor, raceway_conductor::CIRCUIT) == Some(item) {
            keep(ctx.need(conductor, raceway_conductor::SIZE), &mut gaps);
        }
    }
    gaps.none()?;
    let smallest = smallest.ok_or_else(|| Gap::field(item, circuit::CABLES))?;
    sheet.line(|| Line::new("smallest conductor of its cables and raceways").total(smallest.quantity).of(smallest));
    Ok(smallest)
}

/// Returns the leg of the panel that a circuit's first position is on, 1 or 2: the two columns of positions share the bus row
/// by row, and the rows alternate between the legs (common practice of panel makers, no source).
pub(super) fn leg(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let positions = ctx.job.cell(item, circuit::POSITIONS);
    let listed = if positions.is_missing() { &[] } else { ctx.job.list(positions.to_list()) };
    let first = listed.first().ok_or_else(|| Gap::field(item, circuit::POSITIONS))?;
    let position = first.to_quantity(Dimension::Number);
    let row = position.whole().filter(|&position| position > 0).ok_or_else(|| {
        Gap::from(
            Problem::new(first.span(), "a position is a whole number from 1").help("count the positions of the panel"),
        )
    })?;
    let leg = Traced { quantity: Quantity::number((row - 1) / 2 % 2 + 1), span: first.span() };
    sheet.line(|| Line::new("leg of its first position").count(position).total(leg.quantity).of(leg));
    Ok(leg)
}

/// Returns the cables of a circuit, those that carry it as their second one included.
pub(super) fn cables_of<'a>(ctx: &'a Ctx<'_>, circuit: ItemIndex) -> impl Iterator<Item = ItemIndex> + 'a {
    ctx.job.links(circuit, circuit::CABLES).chain(ctx.index.cables_as_second(circuit).iter().copied())
}

/// Returns the size of a cable's insulated conductors; an unrecorded one names the make, under which it is written.
pub(super) fn cable_size(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Traced, Gap> {
    ctx.given(item, cable::SIZE).ok_or_else(|| Gap::field(item, cable::KEY_MAKE))
}

/// Returns the longest distance between two supports of a cable: as measured, or from their positions.
pub(super) fn widest_support_gap(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    if let Some(gap) = ctx.given(item, cable::SUPPORT_GAP) {
        sheet.line(|| Line::new("widest gap between supports, as measured").total(gap.quantity).of(gap));
        return Ok(gap);
    }
    let supports = ctx.job.cell(item, cable::SUPPORTS);
    if supports.is_missing() {
        return Err(Gap::field(item, cable::SUPPORT_GAP));
    }
    let mut places: Vec<Traced> = Vec::new();
    for cell in ctx.job.list(supports.to_list()) {
        let place = Traced { quantity: cell.to_quantity(Dimension::Length), span: cell.span() };
        if let Some(length) = ctx.given(item, cable::LENGTH)
            && !(0..=length.amount()).contains(&place.amount())
        {
            return Err(Problem::new(place.span, "this support is not on the cable")
                .label("position of a support")
                .mark(length.span, "the cable is only this long")
                .help("positions are measured along the cable from its `from` end")
                .into());
        }
        places.push(place);
    }
    places.sort_by_key(|place| place.amount());
    let mut widest = Traced::new(Dimension::Length, 0, supports.span());
    for pair in places.windows(2) {
        if let [a, b] = pair
            && b.amount() - a.amount() > widest.amount()
        {
            widest = Traced::new(Dimension::Length, b.amount() - a.amount(), b.span);
        }
    }
    sheet.line(|| Line::new("widest gap between supports, from their positions").total(widest.quantity).of(widest));
    Ok(widest)
}
