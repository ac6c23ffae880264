//! The dwelling of a job as far as loads go.

use super::super::circuit_load::drawn_at;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::voltage_drop::voltage_of;
use super::super::worksheet::Sheet;
use super::super::{Code, shown};
use super::{Apparatus, Climate, Dwelling, optional_load, standard_load};
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, circuit, site};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// The heading of an appliance.
enum Heading {
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

/// Returns what a job says is connected in its dwelling.
///
/// # Errors
/// The fields to record: floor area, loads of appliances, whether an appliance is fastened in place where its kind does not tell.
pub fn dwelling_of_job(ctx: &Ctx<'_>) -> Result<Dwelling, Gap> {
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    let mut gaps = Gaps::default();
    let area = gaps.keep(ctx.need(site, site::FLOOR_AREA));
    let nothing = Traced::new(Dimension::Area, 0, ctx.job.item(site).header);
    let mut dwelling = Dwelling::of(area.unwrap_or(nothing));
    dwelling.small_appliance = circuits(ctx, site, "small_appliance");
    dwelling.laundry = circuits(ctx, site, "laundry");
    for item in ctx.job.links(site, site::APPLIANCES) {
        let heading = gaps.keep(heading(ctx, item));
        if let Some(heading) = heading {
            gaps.keep(file(ctx, item, heading, &mut dwelling));
        }
    }
    gaps.none()?;
    if !dwelling.climate.heat_pumps.is_empty() {
        // Electric heat beside a heat pump runs together with it.
        let heaters = std::mem::take(&mut dwelling.climate.units);
        dwelling.climate.supplement.extend(heaters);
    }
    Ok(dwelling)
}

fn circuits(ctx: &Ctx<'_>, site: ItemIndex, serves: &str) -> i64 {
    ctx.job.links(site, site::CIRCUITS).filter(|it| ctx.job.text(*it, circuit::SERVES) == Some(serves)).count() as i64
}

fn heading(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Heading, Gap> {
    let kind = ctx.need_text(item, appliance::KIND)?;
    let is = |key: &str| ctx.book.lists(key, kind);
    let motor = ctx.job.flag(item, appliance::IS_MOTOR) == Some(true);
    Ok(if is("load.cooking_kinds")? {
        Heading::Cooking
    } else if is("load.dryer_kinds")? {
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
            None if is("load.covered_kinds")? => Heading::Covered,
            None => return Err(Gap::field(item, appliance::FASTENED)),
        }
    })
}

/// Files an appliance under its heading.
fn file(ctx: &Ctx<'_>, item: ItemIndex, heading: Heading, dwelling: &mut Dwelling) -> Result<(), Gap> {
    let climate: &mut Climate = &mut dwelling.climate;
    let list = match heading {
        Heading::Covered => return Ok(()),
        Heading::Cooking => &mut dwelling.cooking,
        Heading::Dryer => &mut dwelling.dryers,
        Heading::Fastened => &mut dwelling.fastened,
        Heading::Charger => &mut dwelling.chargers,
        Heading::Cooling => &mut climate.cooling,
        Heading::HeatPump => &mut climate.heat_pumps,
        Heading::Heater => &mut climate.units,
        Heading::Central => &mut climate.central,
        Heading::WithBoth => &mut climate.with_both,
    };
    list.push(apparatus(ctx, item)?);
    Ok(())
}

fn apparatus(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Apparatus, Gap> {
    let kind = ctx.need_text(item, appliance::KIND)?;
    let written = voltage(ctx, item)?;
    let voltage = match written {
        Some(voltage) => Some(voltage),
        None => usual_voltage(ctx, item)?,
    };
    let mut name = format!("{} {}", kind.replace('_', " "), ctx.job.id(item));
    if let (None, Some(usual)) = (written, voltage) {
        name.push_str(&format!(", taken as {}", shown(usual.quantity)));
    }
    let load = drawn_at(ctx, item, voltage)?;
    let most = ctx.book.quantity("load.to_neutral_most", Dimension::Voltage)?;
    Ok(Apparatus {
        name,
        load,
        to_neutral: voltage.is_some_and(|voltage| voltage.amount() <= most.amount()),
        motor: ctx.job.flag(item, appliance::IS_MOTOR) == Some(true) || ctx.book.lists("load.motor_kinds", kind)?,
    })
}

/// Returns the voltage of an appliance: its own or its circuit's.
fn voltage(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Traced>, Gap> {
    if let Some(own) = ctx.given(item, appliance::VOLTAGE) {
        return Ok(Some(own));
    }
    match ctx.job.link(item, appliance::CIRCUIT).map(|circuit| voltage_of(ctx, circuit)) {
        Some(Err(fault @ Gap::Fault(_))) => Err(fault),
        Some(Ok(voltage)) => Ok(Some(voltage)),
        _ => Ok(None),
    }
}

/// Returns the voltage that such appliances usually have, where the code in force has a table of it: the row of the kind, or what all
/// others are taken to have.
fn usual_voltage(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Traced>, Gap> {
    const USUAL: &str = "appliance.usual_voltage";
    if !ctx.book.has_table(USUAL) {
        return Ok(None);
    }
    let kind = ctx.need_text(item, appliance::KIND)?;
    let of_kind = ctx.book.row_of(USUAL, kind, Dimension::Voltage)?;
    let usual = match of_kind {
        Some(usual) => Some(usual),
        None => ctx.book.quantity_if("appliance.other_voltage", Dimension::Voltage)?,
    };
    Ok(usual.map(|usual| Traced { quantity: usual.quantity, span: ctx.place(item, appliance::VOLTAGE) }))
}

/// Returns the voltage that a calculated load is divided by: between the lines of the service.
///
/// # Errors
/// The field of the site, when nobody recorded it.
pub fn load_voltage(ctx: &Ctx<'_>) -> Result<Traced, Gap> {
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    ctx.need(site, site::LINE_TO_LINE)
}

/// Returns the load by the method that gives less, of those that the code allows.
///
/// # Errors
/// As [`standard_load`] and [`optional_load`].
pub fn smaller_method(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<Quantity, Problem> {
    let standard = standard_load(dwelling, code, sheet)?.total;
    let optional = optional_load(dwelling, code, sheet)?.total;
    Ok(if optional.amount() < standard.amount() { optional } else { standard })
}
