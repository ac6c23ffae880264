//! The standard method.

use super::super::worksheet::{Line, Sheet};
use super::super::{Code, Match};
use super::climate::{Season, season};
use super::cooking::cooking_demand;
use super::{Apparatus, Dwelling, at_least, by, largest_motor, list, power, sum, too_large};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// A load by the standard method, heading by heading ([`Dimension::Power`]).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StandardLoad {
    /// Lighting, small-appliance and laundry circuits, as connected.
    pub general: Quantity,
    /// The same after demand.
    pub general_demand: Quantity,
    /// Cooking.
    pub cooking: Quantity,
    /// Dryers.
    pub dryers: Quantity,
    /// Fastened appliances.
    pub fastened: Quantity,
    /// The larger of heating and cooling.
    pub climate: Quantity,
    /// Vehicle chargers.
    pub chargers: Quantity,
    /// Other loads.
    pub other: Quantity,
    /// What the largest motor adds.
    pub motor: Quantity,
    /// All together.
    pub total: Quantity,
}

/// Returns the load of a dwelling by the standard method.
///
/// # Errors
/// When the code lacks an entry, or a load is negative, too large or beyond a table.
pub fn standard_load(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<StandardLoad, Problem> {
    let general = general_load(dwelling, code, sheet)?;
    let general_demand = general_demand(general, code, sheet)?;
    let cooking = cooking_demand(&dwelling.cooking, code, sheet)?;
    let dryers = dryer_demand(&dwelling.dryers, code, sheet)?;
    let fastened = fastened_demand(&dwelling.fastened, code, sheet)?;
    let (climate, season) = season(&dwelling.climate, code, sheet)?;
    let chargers = charger_demand(&dwelling.chargers, code, sheet)?;
    list(&dwelling.other, sheet);
    let other = sum(&dwelling.other)?;
    let running: Vec<&Apparatus> = match season {
        Season::Winter => dwelling.climate.winter().collect(),
        Season::Summer => dwelling.climate.summer().collect(),
    };
    let motors = dwelling.fastened.iter().chain(&dwelling.other).chain(running);
    let motor = largest_motor(motors, code, sheet)?;
    let parts = [general_demand, cooking, dryers, fastened, climate, chargers, other, motor];
    let total = parts.into_iter().try_fold(0_i64, i64::checked_add);
    let total = total.ok_or_else(|| too_large(dwelling.floor_area.span))?;
    sheet.line(|| Line::new("calculated load, standard method").total(power(total)));
    Ok(StandardLoad {
        general: power(general),
        general_demand: power(general_demand),
        cooking: power(cooking),
        dryers: power(dryers),
        fastened: power(fastened),
        climate: power(climate),
        chargers: power(chargers),
        other: power(other),
        motor: power(motor),
        total: power(total),
    })
}

/// Returns the load of lighting and general receptacles, small-appliance and laundry circuits, before demand \[µW\].
///
/// # Errors
/// When the code lacks an entry, or the floor area is not positive.
pub fn general_load(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let area = dwelling.floor_area;
    if area.amount() <= 0 {
        return Err(Problem::new(area.span, "a dwelling cannot have a floor area of zero or less").label("this area"));
    }
    let by_area = code.quantity("load.lighting", Dimension::PowerPerArea)?;
    let lighting = by_area.quantity.mul(area.quantity).map_err(|_| too_large(area.span))?;
    sheet.line(|| {
        Line::new("lighting and general receptacles, by floor area")
            .count(area.quantity)
            .each(by_area.quantity)
            .total(lighting)
            .by(by_area)
            .of(area)
    });
    let small = circuits("small-appliance circuits", dwelling.small_appliance, "load.small_appliance", code, sheet)?;
    let laundry = circuits("laundry circuits", dwelling.laundry, "load.laundry", code, sheet)?;
    let sum = lighting.amount().checked_add(small).and_then(|sum| sum.checked_add(laundry));
    let sum = sum.ok_or_else(|| too_large(area.span))?;
    sheet.line(|| Line::new("general load, as connected").total(power(sum)));
    Ok(sum)
}

/// Returns how many branch circuits of a rating the lighting of a floor area takes.
///
/// # Errors
/// When the code lacks an entry, or voltage or rating is zero.
pub fn lighting_circuits(area: Quantity, voltage: Quantity, rating: Quantity, code: &dyn Code) -> Result<i64, Problem> {
    let by_area = code.quantity("load.lighting", Dimension::PowerPerArea)?;
    let circuits = || by_area.quantity.mul(area)?.parts_up(voltage.mul(rating)?);
    circuits().map_err(|_| Problem::new(by_area.span, "the circuits for this floor area cannot be counted"))
}

/// Returns the load of circuits that count a fixed amount each, as many as there are or as many as there must be.
fn circuits(what: &str, count: i64, key: &str, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let each = code.quantity(key, Dimension::Power)?;
    let least = code.quantity(&format!("{key}_least"), Dimension::Number)?;
    let count = count.max(least.amount() / super::ONE);
    let load = each.amount().checked_mul(count).ok_or_else(|| too_large(each.span))?;
    sheet.line(|| Line::new(what).count(Quantity::number(count)).each(each.quantity).total(power(load)).by(each));
    Ok(load)
}

/// Returns a general load after demand, step by step \[µW\].
///
/// # Errors
/// When the code lacks an entry.
pub fn general_demand(general: i64, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let steps = code.table("load.general_demand", Dimension::Power, Dimension::Ratio)?;
    let beyond = code.quantity("load.general_beyond", Dimension::Ratio)?;
    let (mut from, mut demand) = (0_i64, 0_i64);
    for (to, factor) in steps.into_iter().map(|(to, factor)| (to.amount(), factor)).chain([(i64::MAX, beyond)]) {
        let part = general.min(to) - from;
        if part <= 0 {
            break;
        }
        let taken = by(part, factor.amount(), factor.span)?;
        sheet.line(|| {
            let what = if from == 0 { "first part of it" } else { "next part of it" };
            Line::new(what).count(factor.quantity).each(power(part)).total(power(taken)).by(factor)
        });
        demand = demand.saturating_add(taken);
        from = to;
    }
    sheet.line(|| Line::new("general load after demand").total(power(demand)));
    Ok(demand)
}

/// Returns the demand of clothes dryers \[µW\].
///
/// # Errors
/// When the code lacks an entry, or has no factor for so many.
pub fn dryer_demand(dryers: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let Some(first) = dryers.first() else { return Ok(0) };
    let least = code.quantity("load.dryer_least", Dimension::Power)?;
    sum(dryers)?;
    let mut all = 0_i64;
    for dryer in dryers {
        let load = dryer.load.amount().max(least.amount());
        all = all.checked_add(load).ok_or_else(|| too_large(dryer.load.span))?;
        sheet.line(|| {
            Line::new(dryer.name.clone()).each(dryer.load.quantity).total(power(load)).by(least).of(dryer.load)
        });
    }
    let count = Quantity::number(i64::try_from(dryers.len()).unwrap_or(i64::MAX));
    let factor = code.row_at("load.dryer_demand", count, Match::AtOrAbove, Dimension::Ratio)?;
    let factor = factor.ok_or_else(|| {
        Problem::new(first.load.span, format!("the code in force has no demand for {} dryers", dryers.len()))
            .label("one of them")
    })?;
    by(all, factor.amount(), first.load.span)
}

/// Returns the demand of appliances fastened in place \[µW\]: reduced where there are enough of them that are large enough to count.
///
/// # Errors
/// When the code lacks an entry.
pub fn fastened_demand(fastened: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    if fastened.is_empty() {
        return Ok(0);
    }
    let least = code.quantity("load.fastened_least", Dimension::Power)?;
    let many = code.quantity("load.fastened_count", Dimension::Number)?;
    let factor = code.quantity("load.fastened_factor", Dimension::Ratio)?;
    let (large, small): (Vec<Apparatus>, Vec<Apparatus>) =
        fastened.iter().cloned().partition(|one| one.open || one.load.amount() >= least.amount());
    list(fastened, sheet);
    let (large_sum, small_sum) = (sum(&large)?, sum(&small)?);
    let reduced = at_least(large.len(), many.amount());
    let demand = if reduced { by(large_sum, factor.amount(), factor.span)? } else { large_sum };
    let all = demand.checked_add(small_sum).ok_or_else(|| too_large(factor.span))?;
    sheet.line(|| {
        let line = Line::new("fastened appliances").total(power(all));
        if reduced { line.count(factor.quantity).each(power(large_sum)).by(factor) } else { line.at(many.span) }
    });
    Ok(all)
}

/// Returns the demand of vehicle chargers \[µW\].
pub(super) fn charger_demand(chargers: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    if chargers.is_empty() {
        return Ok(0);
    }
    let least = code.quantity("load.charger_least", Dimension::Power)?;
    sum(chargers)?;
    let mut all = 0_i64;
    for charger in chargers {
        let load = charger.load.amount().max(least.amount());
        all = all.checked_add(load).ok_or_else(|| too_large(charger.load.span))?;
        sheet.line(|| {
            Line::new(charger.name.clone()).each(charger.load.quantity).total(power(load)).by(least).of(charger.load)
        });
    }
    Ok(all)
}
