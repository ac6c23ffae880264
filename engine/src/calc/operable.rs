//! Heights of the parts of a device that a hand has to reach.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use super::heights::box_heights;
use super::worksheet::{Line, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::device;
use crate::quantity::Dimension;

/// Kinds of device that nobody operates in daily use: they sound, ring or only close a hole. Words of the job file.
const NOT_OPERATED: [&str; 4] = ["smoke_alarm", "co_alarm", "doorbell", "blank"];

/// The operable parts of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Operable {
    /// Height of the lowest one.
    pub low: Traced,
    /// Height of the highest one.
    pub high: Traced,
}

/// Returns whether people operate a device of a kind: a switch, control, disconnect or receptacle.
pub(super) fn is_operable(kind: &str) -> bool {
    !NOT_OPERATED.contains(&kind)
}

/// Returns the heights of the operable parts of a device.
///
/// The measured height where there is one; otherwise from the centre of its box, with the contacts of a duplex
/// receptacle half of `device.duplex_pitch` above and below it.
///
/// # Errors
/// What is not recorded, or an entry that the code lacks.
pub fn operable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Operable, Gap> {
    if let Some(measured) = ctx.given(item, device::OPERABLE_PART) {
        sheet.line(|| Line::new("operable part, as measured").total(measured.quantity).of(measured));
        return Ok(Operable { low: measured, high: measured });
    }
    let outlet_box = ctx.need_link(item, device::BOX)?;
    let centre = box_heights(ctx, outlet_box).centre?;
    sheet.line(|| Line::new("centre of its box").total(centre.quantity).of(centre));
    let spread = spread(ctx, item, sheet)?;
    Ok(Operable { low: centre.plus(-spread), high: centre.plus(spread) })
}

/// Returns how far the operable parts lie above and below the centre of the device.
fn spread(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<i64, Gap> {
    if ctx.need_text(item, device::KIND)? != "receptacle" {
        return Ok(0);
    }
    let contacts = ctx.need(item, device::CONTACTS)?;
    if contacts.amount() <= super::arith::whole(1) {
        return Ok(0);
    }
    let pitch = ctx.book.quantity("device.duplex_pitch", Dimension::Length)?;
    sheet
        .line(|| Line::new("half the pitch of its contacts, up and down").total(pitch.quantity).by(pitch).of(contacts));
    Ok(pitch.amount() / 2)
}

/// Returns the height of the operable part that is farthest out of reach: the lowest or the highest one, whichever is nearer to
/// its limit or farther past it. Where the code in force has no reach, that is the highest.
///
/// # Errors
/// As [`operable`].
pub(super) fn operable_height(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let parts = operable(ctx, item, sheet)?;
    let low = ctx.book.quantity_if("reach.low", Dimension::Length)?;
    let high = ctx.book.quantity_if("reach.high", Dimension::Length)?;
    let (Some(low), Some(high)) = (low, high) else { return Ok(parts.high) };
    let above_low = parts.low.amount().saturating_sub(low.amount());
    let below_high = high.amount().saturating_sub(parts.high.amount());
    Ok(if above_low < below_high { parts.low } else { parts.high })
}
