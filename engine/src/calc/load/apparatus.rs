//! One appliance of a job as far as loads go: its heading, and what it draws.

use super::super::appliance_voltage::{recorded_voltage, usual_voltage};
use super::super::circuit_load::drawn_at;
use super::super::derive::Ctx;
use super::super::given::{Gap, Traced};
use super::super::shown;
use super::Apparatus;
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, circuit, device};
use crate::quantity::Dimension;

/// The heading of an appliance.
pub(super) enum Heading {
    Cooking,
    Dryer,
    Fastened,
    Charger,
    Cooling,
    HeatPump,
    Heater,
    Central,
    WithBoth,
    /// Covered by the load of its circuit or of the floor area.
    Covered,
}

/// Returns the heading of an appliance.
///
/// # Errors
/// Whether it is fastened in place, where its kind does not tell.
pub(super) fn heading(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Heading, Gap> {
    let kind = ctx.need_text(item, appliance::KIND)?;
    let is = |key: &str| ctx.book.lists(key, kind);
    let motor = ctx.job.flag(item, appliance::IS_MOTOR) == Some(true);
    let burns = burns_gas(ctx, item, kind)?;
    Ok(if is("load.cooking_kinds")? && !burns {
        Heading::Cooking
    } else if is("load.dryer_kinds")? && !burns {
        Heading::Dryer
    } else if is("load.charger_kinds")? {
        Heading::Charger
    } else if is("load.cooling_kinds")? {
        Heading::Cooling
    } else if is("load.heat_pump_kinds")? {
        Heading::HeatPump
    } else if is("load.heater_kinds")? {
        Heading::Heater
    } else if is("load.central_kinds")? {
        // A furnace that is only a motor burns something else; its fan runs with cooling too.
        if motor { Heading::WithBoth } else { Heading::Central }
    } else if is("load.with_both_kinds")? {
        Heading::WithBoth
    } else {
        match ctx.job.flag(item, appliance::FASTENED) {
            Some(true) => Heading::Fastened,
            Some(false) => Heading::Covered,
            None if is("load.fastened_kinds")? => Heading::Fastened,
            None if is("load.covered_kinds")? || burns => Heading::Covered,
            None => return Err(Gap::field(item, appliance::FASTENED)),
        }
    })
}

/// Returns whether a range or dryer burns gas: its recorded voltage is that of a motor and an igniter.
fn burns_gas(ctx: &Ctx<'_>, item: ItemIndex, kind: &str) -> Result<bool, Gap> {
    let code = ctx.book;
    if code.has_word("appliance.may_burn_gas", kind) != Some(true) {
        return Ok(false);
    }
    let two_pole = code.quantity_if("circuit.two_pole_from", Dimension::Voltage)?;
    let voltage = recorded_voltage(ctx, item)?;
    Ok(matches!((voltage, two_pole), (Some(voltage), Some(from)) if voltage.amount() < from.amount()))
}

/// Returns whether an appliance has a circuit to itself that nothing else of the load counts already.
///
/// # Errors
/// Its circuit, when nobody recorded it.
pub(super) fn on_own_circuit(ctx: &Ctx<'_>, item: ItemIndex) -> Result<bool, Gap> {
    let job = ctx.job;
    let of_receptacle = || job.links(item, appliance::RECEPTACLES).find_map(|it| job.link(it, device::CIRCUIT));
    let own = job.link(item, appliance::CIRCUIT).or_else(of_receptacle);
    let own = own.ok_or_else(|| Gap::field(item, appliance::CIRCUIT))?;
    Ok(match job.text(own, circuit::SERVES) {
        Some("dedicated") => true,
        Some("small_appliance" | "laundry") => false,
        _ => {
            let alone = job.links(own, circuit::APPLIANCES).all(|other| other == item)
                && job.links(own, circuit::LUMINAIRES).next().is_none();
            alone && job.links(own, circuit::DEVICES).all(|it| job.link(it, device::SERVES_APPLIANCE) == Some(item))
        }
    })
}

/// Returns an appliance with what it draws, and what is not recorded of that.
///
/// # Errors
/// A value of the job or the code that is at fault.
pub(super) fn apparatus(ctx: &Ctx<'_>, item: ItemIndex) -> Result<(Apparatus, Option<Gap>), Gap> {
    let kind = ctx.need_text(item, appliance::KIND)?;
    let written = recorded_voltage(ctx, item)?;
    let place = ctx.place(item, appliance::VOLTAGE);
    let voltage = match written {
        Some(voltage) => Some(voltage),
        None => usual_voltage(ctx, item)?.map(|usual| Traced { quantity: usual, span: place }),
    };
    let mut name = format!("{} {}", kind.replace('_', " "), ctx.job.id(item));
    if let (None, Some(usual)) = (written, voltage) {
        name.push_str(&format!(", taken as {}", shown(usual.quantity)));
    }
    let most = ctx.book.quantity("load.to_neutral_most", Dimension::Voltage)?;
    let mut one = Apparatus {
        to_neutral: voltage.is_some_and(|voltage| voltage.amount() <= most.amount()),
        motor: ctx.job.flag(item, appliance::IS_MOTOR) == Some(true) || ctx.book.lists("load.motor_kinds", kind)?,
        ..Apparatus::new(name, Traced::new(Dimension::Power, 0, ctx.job.item(item).header))
    };
    match drawn_at(ctx, item, voltage) {
        Ok(load) => {
            one.load = load;
            Ok((one, None))
        }
        Err(gap @ Gap::Missing(_)) => {
            one.name.push_str(": load not recorded");
            one.open = true;
            Ok((one, Some(gap)))
        }
        Err(fault) => Err(fault),
    }
}
