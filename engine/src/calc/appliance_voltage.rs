//! The voltage of an appliance: recorded, or what such appliances usually have.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use super::voltage_drop::voltage_of;
use crate::model::kinds::{appliance, site};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// The table of the voltages that appliances usually have, by kind.
const USUAL: &str = "appliance.usual_voltage";

/// Returns the recorded voltage of an appliance: its own or its circuit's.
///
/// # Errors
/// When the voltage of its circuit cannot be one.
pub(super) fn recorded_voltage(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Traced>, Gap> {
    if let Some(own) = ctx.given(item, appliance::VOLTAGE) {
        return Ok(Some(own));
    }
    match ctx.job.link(item, appliance::CIRCUIT).map(|circuit| voltage_of(ctx, circuit)) {
        Some(Err(fault @ Gap::Fault(_))) => Err(fault),
        Some(Ok(voltage)) => Ok(Some(voltage)),
        _ => Ok(None),
    }
}

/// Returns the voltage that appliances of a kind usually have, as the site has it: by the table of the code in force, else what it says
/// of all others, else the voltage of its circuits.
///
/// # Errors
/// When an entry of the code is no voltage.
pub(super) fn usual_voltage(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Quantity>, Problem> {
    let code = ctx.book;
    let kind = ctx.job.text(item, appliance::KIND).unwrap_or_default();
    let of_kind = if code.has_table(USUAL) { code.row_of(USUAL, kind, Dimension::Voltage)? } else { None };
    let usual = match of_kind {
        Some(usual) => Some(usual),
        None => code.quantity_if("appliance.other_voltage", Dimension::Voltage)?,
    };
    let usual = match usual {
        Some(usual) => usual.quantity,
        None => {
            let nominal = code.quantity_if("circuits.nominal_voltage", Dimension::Voltage)?;
            return Ok(of_site(ctx, site::LINE_TO_NEUTRAL).or(nominal.map(|known| known.quantity)));
        }
    };
    let Some(two_pole) = code.quantity_if("circuit.two_pole_from", Dimension::Voltage)? else { return Ok(Some(usual)) };
    let field = if usual.amount() >= two_pole.amount() { site::LINE_TO_LINE } else { site::LINE_TO_NEUTRAL };
    Ok(Some(of_site(ctx, field).unwrap_or(usual)))
}

fn of_site(ctx: &Ctx<'_>, field: FieldId) -> Option<Quantity> {
    ctx.site().and_then(|site| ctx.given(site, field)).map(|given| given.quantity)
}
