//! Ampacity: what a conductor may carry where it runs, with every factor.
//!
//! The table value at the insulation's own temperature, corrected for the surroundings and adjusted for conductors that
//! heat each other; never more than the column of the wiring method and of the terminals allows.

mod of_cable;
#[cfg(test)]
mod tests;

pub use of_cable::{CableConditions, ampacity_of_cable, cable_conditions};
pub(in crate::calc) use of_cable::{
    Surroundings, ambient, ampacity_told_of_cable, better_if_marked, cable_ampacity_as_service, insulation,
    limit_where_it_runs, method_limit, of_code, service_terminals, terminals, terminals_at_best,
    unless_terminals_decide,
};

use super::arith::{ONE, root, times, whole};
use super::given::Traced;
use super::worksheet::{Line, Sheet};
use super::{Code, Known, Match, shown};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Base units in a degree Celsius.
const DEGREE: i64 = 1000;

/// How the surrounding temperature is accounted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// By the row of the table, as the trade does.
    Table,
    /// By the square root of the temperature rises, where the code allows it.
    Formula,
}

/// A conductor and where it runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run<'a> {
    /// Material, in the words of the job file: `copper`, `aluminum`, `copper_clad_aluminum`.
    pub material: &'a str,
    /// Size ([`Dimension::Conductor`]).
    pub size: Traced,
    /// Temperature rating of its insulation.
    pub insulation: Traced,
    /// Highest surrounding temperature.
    pub ambient: Traced,
    /// Conductors together that carry current and have to be adjusted for.
    pub current_carrying: i64,
    /// Column beyond which the wiring method may not be used, if it has one.
    pub method_limit: Option<Traced>,
    /// Temperature rating of its terminals, if they count.
    pub terminals: Option<Traced>,
    /// How the surrounding temperature is accounted for.
    pub correction: Correction,
}

/// The ampacity of a conductor, step by step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ampacity {
    /// Table value at the temperature of its insulation.
    pub table: Quantity,
    /// Factor for the surroundings ([`Dimension::Number`]).
    pub correction: Quantity,
    /// Factor for conductors together ([`Dimension::Number`]).
    pub adjustment: Quantity,
    /// Table value by both factors.
    pub derated: Quantity,
    /// Most that the wiring method allows.
    pub method_limit: Option<Quantity>,
    /// Most that the terminals allow.
    pub terminal_limit: Option<Quantity>,
    /// The least of these.
    pub ampacity: Quantity,
}

/// Returns the ampacity of a conductor where it runs.
///
/// # Errors
/// When a table has no column or row for it: nothing is extrapolated.
pub fn ampacity(run: &Run<'_>, code: &dyn Code, sheet: &mut Sheet) -> Result<Ampacity, Problem> {
    let table = table_value(run.material, run.size, run.insulation, code)?;
    let rating = shown(run.insulation.quantity);
    sheet.line(|| {
        let what = format!("{} {} at {rating}", shown(run.size.quantity), run.material.replace('_', "-"));
        Line::new(what).total(table.quantity).by(table).of(run.size).of(run.insulation)
    });
    let correction = correction(run, code, sheet)?;
    let adjustment = adjustment(run.current_carrying, run.size, code, sheet)?;
    let corrected = times(table.amount(), correction.amount());
    let derated = corrected.and_then(|corrected| times(corrected, adjustment.amount())).ok_or_else(|| {
        Problem::new(run.size.span, "this ampacity is too large to compute").label("for this conductor")
    })?;
    let derated = Quantity::new(Dimension::Current, derated);
    sheet.line(|| Line::new("corrected and adjusted").total(derated));
    let mut least = derated;
    let mut limit = |at: Option<Traced>, what: &str| -> Result<Option<Quantity>, Problem> {
        let Some(temperature) = at else { return Ok(None) };
        let most = table_value(run.material, run.size, temperature, code)?;
        sheet.line(|| {
            let what = format!("{what}, at {}", shown(temperature.quantity));
            Line::new(what).total(most.quantity).by(most).of(temperature)
        });
        if most.amount() < least.amount() {
            least = most.quantity;
        }
        Ok(Some(most.quantity))
    };
    let method_limit = limit(run.method_limit, "not more than the wiring method allows")?;
    let terminal_limit = limit(run.terminals, "not more than the terminals allow")?;
    sheet.line(|| Line::new("ampacity").total(least));
    Ok(Ampacity {
        table: table.quantity,
        correction,
        adjustment,
        derated,
        method_limit,
        terminal_limit,
        ampacity: least,
    })
}

/// Returns the key of the column for a material and a temperature.
pub(in crate::calc) fn column(material: &str, temperature: Traced, code: &dyn Code) -> Result<String, Problem> {
    let name = code.word_of("ampacity.material", material)?.ok_or_else(|| {
        Problem::new(temperature.span, format!("the code in force has no ampacities of {}", material.replace('_', "-")))
    })?;
    let degrees = temperature.amount() / DEGREE;
    let key = format!("ampacity.{name}_{degrees}");
    if temperature.amount() % DEGREE != 0 || !code.has_table(&key) {
        let message = format!("the code in force has no column of ampacities for {}", shown(temperature.quantity));
        return Err(Problem::new(temperature.span, message)
            .label("this temperature rating")
            .help("take the next lower rating that the tables have"));
    }
    Ok(key)
}

/// Returns the table value of a conductor, before any factor.
///
/// # Errors
/// When there is no such column or row.
pub fn table_value<'a>(
    material: &str,
    size: Traced,
    temperature: Traced,
    code: &'a dyn Code,
) -> Result<Known<'a>, Problem> {
    let key = column(material, temperature, code)?;
    code.row_at(&key, size.quantity, Match::Exact, Dimension::Current)?.ok_or_else(|| {
        let message = format!(
            "the code in force has no ampacity of {} {} at {}",
            shown(size.quantity),
            material.replace('_', "-"),
            shown(temperature.quantity)
        );
        Problem::new(size.span, message)
            .label("this size")
            .help("use a size of the table; nothing between or beyond is taken")
    })
}

fn correction(run: &Run<'_>, code: &dyn Code, sheet: &mut Sheet) -> Result<Quantity, Problem> {
    let ambient = shown(run.ambient.quantity);
    if run.correction == Correction::Formula {
        if !code.flag("ampacity.formula")? {
            return Err(Problem::new(run.ambient.span, "the code in force allows no ambient correction by formula"));
        }
        let base = code.quantity("ampacity.base_ambient", Dimension::Temperature)?;
        let factor = correction_by_formula(run.insulation.quantity, run.ambient.quantity, base.quantity)
            .ok_or_else(|| too_hot(run))?;
        sheet.line(|| {
            Line::new(format!("surroundings of {ambient}, by formula")).count(factor).by(base).of(run.ambient)
        });
        return Ok(factor);
    }
    let key = format!("ampacity.ambient_{}", run.insulation.amount() / DEGREE);
    let factor = code
        .row_at(&key, run.ambient.quantity, Match::AtOrAbove, Dimension::Number)?
        .filter(|factor| factor.amount() > 0)
        .ok_or_else(|| too_hot(run))?;
    sheet.line(|| Line::new(format!("surroundings of {ambient}")).count(factor.quantity).by(factor).of(run.ambient));
    Ok(factor.quantity)
}

fn too_hot(run: &Run<'_>) -> Problem {
    let message = format!(
        "insulation of {} may not be used where it is {}",
        shown(run.insulation.quantity),
        shown(run.ambient.quantity)
    );
    Problem::new(run.ambient.span, message)
        .label("surrounding temperature")
        .mark(run.insulation.span, "temperature rating of the insulation")
        .help("use insulation of a higher rating, or run it where it is cooler")
}

/// Returns the correction for the surroundings by the square root of the temperature rises:
/// √((insulation − ambient) / (insulation − base)), rounded down to nine decimals. Nothing where the insulation is not above both.
pub fn correction_by_formula(insulation: Quantity, ambient: Quantity, base: Quantity) -> Option<Quantity> {
    let rise = i128::from(insulation.amount()) - i128::from(ambient.amount());
    let full = i128::from(insulation.amount()) - i128::from(base.amount());
    if rise <= 0 || full <= 0 {
        return None;
    }
    let one = i128::from(ONE);
    let factor = root(rise * one * one / full);
    i64::try_from(factor).ok().map(|factor| Quantity::new(Dimension::Number, factor))
}

fn adjustment(count: i64, size: Traced, code: &dyn Code, sheet: &mut Sheet) -> Result<Quantity, Problem> {
    if !(1..=10_000).contains(&count) {
        return Err(Problem::new(size.span, format!("there can't be {count} current-carrying conductors together"))
            .label("beside this conductor"));
    }
    let number = Quantity::new(Dimension::Number, whole(count));
    let factor = match code.row_at("ampacity.bundling", number, Match::AtOrAbove, Dimension::Number)? {
        Some(factor) => factor,
        None => code.quantity("ampacity.bundling_beyond", Dimension::Number)?,
    };
    sheet.line(|| Line::new(format!("{count} current-carrying conductors together")).count(factor.quantity).by(factor));
    Ok(factor.quantity)
}

/// Returns the smallest size of a column whose table value reaches a current, or nothing when none does.
///
/// # Errors
/// When there is no such column.
pub fn smallest_by_table(
    material: &str,
    temperature: Traced,
    current: Quantity,
    code: &dyn Code,
) -> Result<Option<Quantity>, Problem> {
    let key = column(material, temperature, code)?;
    let rows = code.table(&key, Dimension::Conductor, Dimension::Current)?;
    Ok(rows.into_iter().find(|(_, most)| most.amount() >= current.amount()).map(|(size, _)| size))
}

/// Returns a factor by which a whole table is multiplied, as a fraction of one.
#[cfg(test)]
fn factor(thousandths: i64) -> Quantity {
    Quantity::new(Dimension::Number, ONE / 1000 * thousandths)
}
