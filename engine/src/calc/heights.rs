//! Heights of a box above the finished floor, from whichever height is written.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use super::worksheet::{Line, Sheet};
use crate::model::kinds::{outlet_box, site};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;

/// Two heights of one box may differ by this much before they contradict each other: 1/16 in, the finest mark on a
/// tape, in nanometres.
const TAPE: i64 = 1_587_500;

/// The three heights of a box above the finished floor. Each is there or says what is still to record.
#[derive(Clone, Debug)]
pub struct BoxHeights {
    /// Height of its centre.
    pub centre: Result<Traced, Gap>,
    /// Height of its top edge.
    pub top: Result<Traced, Gap>,
    /// Height of its bottom edge.
    pub bottom: Result<Traced, Gap>,
}

/// The written field that heights go by, and where it lies: half body heights above the centre.
struct Basis {
    height: Traced,
    field: FieldId,
    halves: i64,
}

const WRITTEN: [(FieldId, i64, &str); 3] = [
    (outlet_box::KEY_HEIGHT, 0, "height of its centre"),
    (outlet_box::TOP, 1, "height of its top edge"),
    (outlet_box::BOTTOM, -1, "height of its bottom edge"),
];

/// Returns the heights of a box, from its `height`, `top` or `bottom`, its own height, and where the site measures from.
///
/// A measured height wins over planned ones. Heights that contradict each other are a fault.
pub fn box_heights(ctx: &Ctx<'_>, item: ItemIndex) -> BoxHeights {
    let basis = match basis(ctx, item) {
        Ok(basis) => basis,
        Err(gap) => return BoxHeights { centre: Err(gap.clone()), top: Err(gap.clone()), bottom: Err(gap) },
    };
    let at = |halves: i64| -> Result<Traced, Gap> {
        let steps = halves - basis.halves;
        if steps == 0 {
            return Ok(basis.height);
        }
        let body = ctx.need(item, outlet_box::BODY_HEIGHT)?;
        if body.amount() <= 0 {
            return Err(Problem::new(body.span, "a box cannot have a height of zero or less")
                .label("this box height")
                .help("write its own height, top to bottom edge, such as `3-5/8 in`")
                .into());
        }
        Ok(basis.height.plus(steps * body.amount() / 2))
    };
    BoxHeights { centre: at(0), top: at(1), bottom: at(-1) }
}

fn basis(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Basis, Gap> {
    let mut found: Vec<Basis> = Vec::with_capacity(1);
    for (field, halves, _) in WRITTEN {
        if let Some(height) = ctx.given(item, field) {
            found.push(Basis { height, field, halves });
        }
    }
    if found.len() > 1 && found.iter().any(|basis| ctx.index.is_measured(ctx.job, item, basis.field)) {
        found.retain(|basis| ctx.index.is_measured(ctx.job, item, basis.field));
    }
    agree(ctx, item, &found)?;
    let mut basis = found.into_iter().next().ok_or_else(|| Gap::field(item, outlet_box::KEY_HEIGHT))?;
    basis.height = basis.height.plus(-build_up(ctx)?);
    Ok(basis)
}

/// Fails when two written heights of a box of known size do not fit together.
fn agree(ctx: &Ctx<'_>, item: ItemIndex, found: &[Basis]) -> Result<(), Gap> {
    let ([first, rest @ ..], Some(body)) = (found, ctx.given(item, outlet_box::BODY_HEIGHT)) else { return Ok(()) };
    for other in rest {
        let expected = first.height.amount() + (other.halves - first.halves) * body.amount() / 2;
        if (expected - other.height.amount()).abs() > TAPE {
            return Err(Problem::new(other.height.span, "this box states two heights that do not fit together")
                .label("this height")
                .mark(first.height.span, "and this one")
                .mark(body.span, "for a box of this height")
                .help("keep one of `height`, `top` and `bottom`")
                .into());
        }
    }
    Ok(())
}

/// Returns what is taken off heights that are written from the subfloor.
fn build_up(ctx: &Ctx<'_>) -> Result<i64, Gap> {
    let Some(site) = ctx.site() else { return Ok(0) };
    if ctx.job.text(site, site::HEIGHTS_FROM) != Some("subfloor") {
        return Ok(0);
    }
    Ok(ctx.need(site, site::FLOOR_BUILD_UP)?.amount())
}

/// Writes the worksheet of one height of a box.
pub(super) fn explain(ctx: &Ctx<'_>, item: ItemIndex, halves: i64, result: Traced, sheet: &mut Sheet) {
    let Ok(basis) = basis(ctx, item) else { return };
    let name = |halves: i64| WRITTEN.iter().find(|(_, h, _)| *h == halves).map_or("", |(_, _, name)| name);
    if let Some(site) = ctx.site()
        && ctx.job.text(site, site::HEIGHTS_FROM) == Some("subfloor")
        && let Some(floor) = ctx.given(site, site::FLOOR_BUILD_UP)
    {
        sheet.line(|| Line::new("finished floor above the subfloor, taken off").total(floor.quantity).of(floor));
    }
    sheet.line(|| Line::new(name(basis.halves)).total(basis.height.quantity).of(basis.height));
    if halves != basis.halves
        && let Some(body) = ctx.given(item, outlet_box::BODY_HEIGHT)
    {
        let what = if (halves - basis.halves).abs() == 1 { "half of the box height" } else { "box height" };
        let change = Traced::new(body.quantity.dimension(), result.amount() - basis.height.amount(), body.span);
        sheet.line(|| Line::new(what).total(change.quantity).of(change));
        sheet.line(|| Line::new(name(halves)).total(result.quantity));
    }
}

impl Ctx<'_> {
    /// Returns the site.
    pub fn site(&self) -> Option<ItemIndex> {
        super::index::items(self.job, site::NAME).first().copied()
    }
}
