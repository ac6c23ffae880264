//! Length of a hallway along its centre line.

use super::super::arith::root;
use super::super::derive::Ctx;
use super::super::given::{Gap, Traced};
use super::super::outline::outline;
use super::super::worksheet::{Line, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::{room, wall};
use crate::quantity::Dimension;

/// Returns the length of a hallway along its centre line.
///
/// A corridor of even width w and centre line c has the area c · w and, whatever corners it turns, the outline 2 · (c + w); so
/// c = p/4 + √(p²/16 − a) for the outline p and the area a. A rectangle gives its longer side.
///
/// # Errors
/// The fields to record, or an outline that does not close.
pub fn centre_line(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let outline = outline(ctx, item)?;
    let quarter = i128::from(outline.length) / 4;
    // Area is in µm², lengths in nm.
    let under_root = quarter * quarter - i128::from(outline.area) * 1_000_000;
    let length = quarter + root(under_root);
    let length =
        Traced::new(Dimension::Length, i64::try_from(length).unwrap_or(i64::MAX), ctx.place(item, room::LENGTH));
    sheet.line(|| {
        let spans = outline.sides.iter().map(|side| ctx.place(side.wall, wall::LENGTH));
        Line::new("length along the centre line, from outline and area").total(length.quantity).all(spans)
    });
    Ok(length)
}
