//! The optional method, and the one for existing dwellings.

use super::super::Code;
use super::super::worksheet::{Line, Sheet};
use super::climate::optional_climate;
use super::standard::{charger_demand, general_load};
use super::{Dwelling, by, list, power, sum, too_large};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// A load by the optional method ([`Dimension::Power`]).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OptionalLoad {
    /// All general loads, as connected.
    pub general: Quantity,
    /// The same after demand.
    pub general_demand: Quantity,
    /// Heating or cooling, whichever case is largest.
    pub climate: Quantity,
    /// Vehicle chargers.
    pub chargers: Quantity,
    /// All together.
    pub total: Quantity,
}

/// Returns the load of a dwelling by the optional method.
///
/// # Errors
/// When the code lacks an entry, or a load is negative or too large.
pub fn optional_load(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<OptionalLoad, Problem> {
    let general = connected(dwelling, code, sheet)?;
    let general_demand = demand(general, "load.optional", code, sheet)?;
    let climate = optional_climate(&dwelling.climate, code, sheet)?;
    let chargers = if chargers_pooled(code) { 0 } else { charger_demand(&dwelling.chargers, code, sheet)? };
    let total = [general_demand, climate, chargers].into_iter().try_fold(0_i64, i64::checked_add);
    let total = total.ok_or_else(|| too_large(dwelling.floor_area.span))?;
    sheet.line(|| Line::new("calculated load, optional method").total(power(total)));
    Ok(OptionalLoad {
        general: power(general),
        general_demand: power(general_demand),
        climate: power(climate),
        chargers: power(chargers),
        total: power(total),
    })
}

/// Returns the load of an existing dwelling to which no heating or cooling is added: everything together by its own steps.
///
/// # Errors
/// As [`optional_load`].
pub fn existing_load(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<Quantity, Problem> {
    let general = connected(dwelling, code, sheet)?;
    let climate: Vec<_> = dwelling.climate.winter().chain(&dwelling.climate.cooling).cloned().collect();
    list(&climate, sheet);
    let chargers = if chargers_pooled(code) { 0 } else { charger_demand(&dwelling.chargers, code, sheet)? };
    let all = [general, sum(&climate)?, chargers].into_iter().try_fold(0_i64, i64::checked_add);
    let all = all.ok_or_else(|| too_large(dwelling.floor_area.span))?;
    Ok(power(demand(all, "load.existing", code, sheet)?))
}

/// Returns whether chargers are among the general loads of the optional method.
fn chargers_pooled(code: &dyn Code) -> bool {
    code.has_word(IN_GENERAL, "ev_charger") == Some(true)
}

/// Kinds of appliance that are general loads of the optional method in an edition and not in another.
const IN_GENERAL: &str = "load.optional_general";

/// Returns all loads but heating and cooling at their nameplates, chargers where the edition has them among the general loads \[µW\].
fn connected(dwelling: &Dwelling, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let mut all = general_load(dwelling, code, sheet)?;
    let none = Vec::new();
    let chargers = if chargers_pooled(code) { &dwelling.chargers } else { &none };
    let groups =
        [&dwelling.cooking, &dwelling.dryers, &dwelling.fastened, &dwelling.own_circuit, &dwelling.other, chargers];
    for group in groups {
        list(group, sheet);
        all = all.checked_add(sum(group)?).ok_or_else(|| too_large(dwelling.floor_area.span))?;
    }
    sheet.line(|| Line::new("all general loads, as connected").total(power(all)));
    Ok(all)
}

/// Returns a load after two steps: the first amount in full, a factor on the rest.
fn demand(load: i64, key: &str, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let first = code.quantity(&format!("{key}_first"), Dimension::Power)?;
    let rest = code.quantity(&format!("{key}_rest"), Dimension::Ratio)?;
    let full = load.min(first.amount());
    let reduced = by(load - full, rest.amount(), rest.span)?;
    sheet.line(|| Line::new("first part in full").total(power(full)).by(first));
    sheet.line(|| Line::new("the rest").count(rest.quantity).each(power(load - full)).total(power(reduced)).by(rest));
    sheet.line(|| Line::new("after demand").total(power(full + reduced)));
    Ok(full + reduced)
}
