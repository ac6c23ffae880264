//! Overcurrent protection: standard ratings, the largest breaker for a conductor, the conductor for a load, and equipment
//! grounding conductors.

mod at_best;
mod of_appliance;
mod of_cable;
mod of_feeder;
mod of_strand;
#[cfg(test)]
mod tests;

pub use at_best::{
    best_ampacity_of_cable, best_ampacity_of_strand, best_breaker_of_cable, best_breaker_of_feeder,
    best_breaker_of_strand,
};
pub use of_appliance::{ApplianceCircuit, circuit_of_appliance, conductors_that_carry, is_plugged, shares_circuit};
pub use of_cable::{breaker_of_cable, ground_of_cable};
pub use of_feeder::{
    ampacity_of_service, best_breaker_of_feeder_item, breaker_of_feeder, feeder_ampacity_as_service, ground_of_feeder,
};
pub use of_strand::{ampacity_of_strand, ampacity_told_of_strand, breaker_of_strand, strand_ampacity_as_service};

use super::ampacity::{Ampacity, Run, ampacity, column, table_value};
use super::arith::{ONE, divide, times};
use super::given::Traced;
use super::worksheet::{Line, Sheet};
use super::{Code, Datum, Known, Match, shown};
use crate::problem::Problem;
use crate::quantity::{Conductor, Dimension, Quantity};

const RATINGS: &str = "circuit.standard_ratings";

fn ratings(code: &dyn Code) -> Result<Vec<Known<'_>>, Problem> {
    let mut ratings = code.quantities(RATINGS, Dimension::Current)?;
    ratings.sort_by_key(|rating| rating.amount());
    Ok(ratings)
}

/// Returns the smallest standard rating that is not below a current, or nothing past the end of the list.
///
/// # Errors
/// When the code has no list of standard ratings.
pub fn standard_at_or_above(current: Quantity, code: &dyn Code) -> Result<Option<Known<'_>>, Problem> {
    Ok(ratings(code)?.into_iter().find(|rating| rating.amount() >= current.amount()))
}

/// Returns the largest standard rating that is not above a current, or nothing below the beginning of the list.
///
/// # Errors
/// When the code has no list of standard ratings.
pub fn standard_at_or_below(current: Quantity, code: &dyn Code) -> Result<Option<Known<'_>>, Problem> {
    Ok(ratings(code)?.into_iter().rev().find(|rating| rating.amount() <= current.amount()))
}

/// Returns the largest breaker that may protect a conductor of an ampacity.
///
/// The next standard rating above the ampacity will do, unless the circuit feeds several receptacles for plug-in loads; small
/// conductors have limits of their own.
///
/// # Errors
/// When the code lacks an entry, or the ampacity is below every standard rating.
pub fn largest_breaker(
    ampacity: Quantity,
    material: &str,
    size: Traced,
    several_receptacles: bool,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<Quantity, Problem> {
    let none = || {
        let message = format!("no standard breaker is small enough for an ampacity of {}", shown(ampacity));
        Problem::new(size.span, message).label("this conductor").help("use a larger conductor, or run it cooler")
    };
    let below = standard_at_or_below(ampacity, code)?;
    let next_up_to = code.quantity("protection.next_up_to", Dimension::Current)?;
    let above = standard_at_or_above(ampacity, code)?.filter(|rating| rating.amount() <= next_up_to.amount());
    let by_ampacity = if several_receptacles { below } else { above.or(below) }.ok_or_else(none)?;
    sheet.line(|| {
        let what = if several_receptacles { "standard rating not above the ampacity" } else { "next standard rating" };
        Line::new(what).total(by_ampacity.quantity).by(next_up_to).at(by_ampacity.span)
    });
    let Some(most) = small_conductor_limit(material, size, code)? else { return Ok(by_ampacity.quantity) };
    sheet.line(|| Line::new(format!("at most, for {}", shown(size.quantity))).total(most.quantity).by(most).of(size));
    if by_ampacity.amount() <= most.amount() {
        return Ok(by_ampacity.quantity);
    }
    Ok(standard_at_or_below(most.quantity, code)?.ok_or_else(none)?.quantity)
}

/// Returns the largest breaker for a small conductor whatever its ampacity; nothing for larger conductors.
///
/// # Errors
/// When the code does not know the material.
pub fn small_conductor_limit<'c>(
    material: &str,
    size: Traced,
    code: &'c dyn Code,
) -> Result<Option<Known<'c>>, Problem> {
    let Some(group) = code.word_of("ampacity.material", material)? else { return Ok(None) };
    code.row_at(&format!("protection.{group}_max"), size.quantity, Match::Exact, Dimension::Current)
}

/// The load of a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CircuitLoad {
    /// Current that flows for three hours or more.
    pub continuous: Quantity,
    /// Other current.
    pub other: Quantity,
    /// Full-load current of the largest motor, a part of the other current; zero for none.
    pub largest_motor: Quantity,
}

impl CircuitLoad {
    /// Returns the current that breaker and conductors before any factor have to carry: the continuous part enlarged.
    ///
    /// # Errors
    /// When the code lacks the factor, or the load is too large to compute.
    pub fn enlarged(&self, code: &dyn Code, sheet: &mut Sheet) -> Result<Quantity, Problem> {
        let factor = code.quantity("circuit.continuous_factor", Dimension::Ratio)?;
        let motor = code.quantity("protection.motor", Dimension::Number)?;
        let extra = times(self.largest_motor.amount(), motor.amount().saturating_sub(ONE));
        let sum = times(self.continuous.amount(), factor.amount())
            .and_then(|continuous| continuous.checked_add(self.other.amount()))
            .and_then(|sum| sum.checked_add(extra?))
            .ok_or_else(|| Problem::new(factor.span, "this load is too large to compute"))?;
        let sum = Quantity::new(Dimension::Current, sum);
        sheet.line(|| Line::new("continuous load").count(factor.quantity).each(self.continuous).by(factor));
        sheet.line(|| Line::new("other load").total(self.other));
        if let Some(extra) = extra.filter(|extra| *extra > 0) {
            let extra = Quantity::new(Dimension::Current, extra);
            sheet.line(|| Line::new("more for the largest motor").each(self.largest_motor).total(extra).by(motor));
        }
        sheet.line(|| Line::new("to be carried before any factor").total(sum));
        Ok(sum)
    }
}

/// A conductor that serves a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// Its size.
    pub size: Quantity,
    /// Its ampacity where it runs.
    pub ampacity: Ampacity,
    /// The smallest standard breaker for the load.
    pub breaker: Quantity,
}

/// Returns the smallest conductor for a load where it runs, or nothing when no size of the table does. The size in `run` is
/// not looked at.
///
/// The conductor carries the load with all factors, the load with its continuous part enlarged by the column of its terminals
/// without any, and may stand behind the breaker that the load needs.
///
/// # Errors
/// When the code lacks an entry, or the insulation does not stand the surroundings.
pub fn conductor_for(
    load: &CircuitLoad,
    run: &Run<'_>,
    several_receptacles: bool,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<Option<Chosen>, Problem> {
    let enlarged = load.enlarged(code, sheet)?;
    let plain = load.continuous.amount().saturating_add(load.other.amount());
    let Some(breaker) = standard_at_or_above(enlarged, code)? else { return Ok(None) };
    let key = column(run.material, run.insulation, code)?;
    let smallest = code.quantity_if(&format!("circuit.smallest_{}", run.material), Dimension::Conductor)?;
    for (size, row) in code.table(&key, Dimension::Conductor, Dimension::Current)? {
        if smallest.is_some_and(|smallest| size.amount() < smallest.amount()) {
            continue;
        }
        let tried = Run { size: Traced { quantity: size, span: row.span }, ..*run };
        let terminals = run.terminals.unwrap_or(run.insulation);
        // A size that the column of the terminals has not is no candidate.
        let Ok(at_terminals) = table_value(run.material, tried.size, terminals, code) else { continue };
        if at_terminals.amount() < enlarged.amount() {
            continue;
        }
        let found = ampacity(&tried, code, &mut Sheet::none())?;
        if found.ampacity.amount() < plain {
            continue;
        }
        let largest =
            largest_breaker(found.ampacity, run.material, tried.size, several_receptacles, code, &mut Sheet::none());
        if largest.is_ok_and(|largest| largest.amount() >= breaker.amount()) {
            sheet.line(|| Line::new("breaker for the load").total(breaker.quantity).by(breaker));
            ampacity(&tried, code, sheet)?;
            sheet.line(|| Line::new("smallest conductor").total(size).at(row.span));
            return Ok(Some(Chosen { size, ampacity: found, breaker: breaker.quantity }));
        }
    }
    Ok(None)
}

/// Returns the equipment grounding conductor for the breaker ahead of it.
///
/// # Errors
/// When the table has no row for it.
pub fn equipment_ground<'c>(breaker: Traced, material: &str, code: &'c dyn Code) -> Result<Known<'c>, Problem> {
    let group = code.word_of("ampacity.material", material)?.unwrap_or(material);
    let key = format!("ground.equipment_{group}");
    code.row_at(&key, breaker.quantity, Match::AtOrAbove, Dimension::Conductor)?.ok_or_else(|| {
        let message = format!("the code in force has no equipment grounding conductor for {}", shown(breaker.quantity));
        let problem = Problem::new(breaker.span, message).label("this breaker");
        match code.rows(&key).unwrap_or_default().last() {
            Some((Datum::Quantity(last), _)) => problem.help(format!("its table ends at {}", shown(*last))),
            _ => problem,
        }
    })
}

/// Returns the equipment grounding conductor when the other conductors are larger than they need to be: larger in proportion of
/// the cross-sections, up to the next size of the table, never larger than those conductors.
///
/// `needed` is the size that would do for the other conductors, `used` the size they have.
///
/// # Errors
/// When the code lacks a table, or a size is no size.
pub fn enlarged_ground(
    ground: Quantity,
    needed: Traced,
    used: Traced,
    material: &str,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<Quantity, Problem> {
    if used.amount() <= needed.amount() {
        return Ok(ground);
    }
    let area = |size: Quantity| Conductor::of(size).map(|size| size.area().amount());
    let (Some(own), Some(least), Some(actual)) = (area(ground), area(needed.quantity), area(used.quantity)) else {
        return Err(Problem::new(used.span, "this is no conductor size").label("this size"));
    };
    let due = divide(i128::from(own) * i128::from(actual), i128::from(least))
        .ok_or_else(|| Problem::new(needed.span, "this conductor has no cross-section").label("this size"))?;
    let group = code.word_of("ampacity.material", material)?.unwrap_or(material);
    let sizes = code.table(&format!("ampacity.{group}_75"), Dimension::Conductor, Dimension::Current)?;
    // Gauges grow in even steps: whole steps come out even, whatever the last digit of their areas.
    let due = due - due / 100_000;
    let next = sizes.into_iter().map(|(size, _)| size).find(|size| area(*size).is_some_and(|area| area >= due));
    let size = match next {
        Some(size) if size.amount() <= used.amount() => size,
        // Never required larger than the circuit conductors.
        _ => used.quantity,
    };
    sheet.line(|| {
        Line::new(format!(
            "{} in proportion, as {} stands for {}",
            shown(ground),
            shown(used.quantity),
            shown(needed.quantity)
        ))
        .total(size)
        .of(needed)
        .of(used)
    });
    Ok(size)
}
