//! The current of a calculated load, and the service and conductors for it.

use super::super::ampacity::smallest_by_table;
use super::super::arith::{divide, times};
use super::super::given::Traced;
use super::super::protection::standard_at_or_above;
use super::super::worksheet::{Line, Sheet};
use super::super::{Code, Match, shown};
use super::too_large;
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// A current, exact and as counted: small fractions of an ampere are dropped, large ones made whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Amperes {
    /// Exact.
    pub exact: Quantity,
    /// In whole amperes.
    pub counted: Quantity,
}

/// A service for a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Service {
    /// The current of the load.
    pub current: Amperes,
    /// The smallest standard rating that serves it and that the code allows.
    pub rating: Quantity,
}

/// Base units in an ampere.
const AMPERE: i64 = 1_000_000;

/// Returns the current of a load at a voltage.
///
/// # Errors
/// When the code lacks an entry, or the voltage is not positive.
pub fn amperes(load: Quantity, voltage: Traced, code: &dyn Code) -> Result<Amperes, Problem> {
    if voltage.amount() <= 0 {
        return Err(Problem::new(voltage.span, "a voltage must be more than zero").label("this voltage"));
    }
    let exact = load.div(voltage.quantity).map_err(|_| too_large(voltage.span))?;
    let dropped = code.quantity("load.fraction_dropped", Dimension::Number)?;
    let fraction = exact.amount().rem_euclid(AMPERE);
    let keep = times(AMPERE, dropped.amount()).is_some_and(|below| fraction >= below);
    let counted = exact.amount() - fraction + if keep && fraction > 0 { AMPERE } else { 0 };
    Ok(Amperes { exact, counted: Quantity::new(Dimension::Current, counted) })
}

/// Returns the smallest service for a load.
///
/// # Errors
/// When the code lacks an entry, or no standard rating is large enough.
pub fn service_for(load: Quantity, voltage: Traced, code: &dyn Code, sheet: &mut Sheet) -> Result<Service, Problem> {
    let current = amperes(load, voltage, code)?;
    sheet.line(|| Line::new("current").each(current.exact).total(current.counted).of(voltage));
    let least = code.quantity("service.smallest", Dimension::Current)?;
    let need = Quantity::new(Dimension::Current, current.counted.amount().max(least.amount()));
    let rating = standard_at_or_above(need, code)?.ok_or_else(|| {
        Problem::new(voltage.span, format!("no standard rating is large enough for {}", shown(current.counted)))
    })?;
    sheet.line(|| Line::new("service").total(rating.quantity).by(least).at(rating.span));
    Ok(Service { current, rating: rating.quantity })
}

/// Returns the ungrounded conductor of a dwelling's service or main feeder of a rating, with the current it has to carry.
///
/// By the table of dwelling services where the code has one; otherwise by the share of the rating that the conductor must carry.
///
/// # Errors
/// When the code lacks an entry, or no conductor of its tables will do.
pub fn service_conductor(
    rating: Traced,
    material: &str,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<(Quantity, Quantity), Problem> {
    let share = code.quantity("load.service_share", Dimension::Ratio)?;
    let carried = divide(i128::from(rating.amount()) * i128::from(share.amount()), i128::from(super::ONE));
    let carried = Quantity::new(Dimension::Current, carried.ok_or_else(|| too_large(rating.span))?);
    let key = format!("service.{material}");
    if code.has_table(&key)
        && let Some(size) = code.row_at(&key, rating.quantity, Match::Exact, Dimension::Conductor)?
    {
        sheet.line(|| {
            Line::new(format!("{material} conductor for {}", shown(rating.quantity)))
                .total(size.quantity)
                .by(size)
                .of(rating)
        });
        return Ok((size.quantity, carried));
    }
    let terminals = code.quantity("protection.terminal_large", Dimension::Temperature)?;
    let column = Traced { quantity: terminals.quantity, span: terminals.span };
    let size = smallest_by_table(material, column, carried, code)?.ok_or_else(|| {
        Problem::new(rating.span, format!("no {material} conductor of the tables carries {}", shown(carried)))
            .label("service of this rating")
    })?;
    sheet.line(|| {
        Line::new(format!("{material} conductor that carries this share of the rating"))
            .count(share.quantity)
            .each(carried)
            .total(size)
            .by(share)
            .of(rating)
    });
    Ok((size, carried))
}

/// Returns the current of both lines of a service: a balanced part, loads between the lines, loads of each line, and what the
/// largest motor of each line adds.
///
/// # Errors
/// When the code lacks the factor, or a sum is too large.
pub fn line_currents(
    balanced: Quantity,
    between: &[Quantity],
    lines: [&[Quantity]; 2],
    motors: [Quantity; 2],
    code: &dyn Code,
) -> Result<[Quantity; 2], Problem> {
    let factor = code.quantity("load.motor_factor", Dimension::Ratio)?;
    let line = |own: &[Quantity], motor: Quantity| -> Option<Quantity> {
        let extra = times(motor.amount(), factor.amount())?;
        let all = between.iter().chain(own).try_fold(balanced.amount(), |sum, one| sum.checked_add(one.amount()))?;
        Some(Quantity::new(Dimension::Current, all.checked_add(extra)?))
    };
    let [a, b] = lines;
    let [motor_a, motor_b] = motors;
    match (line(a, motor_a), line(b, motor_b)) {
        (Some(a), Some(b)) => Ok([a, b]),
        _ => Err(too_large(factor.span)),
    }
}
