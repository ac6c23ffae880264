//! Voltage drop along a branch with loads at several points.
//!
//! A branch is a tree of sections that starts at the panel. Each section has the resistance of one ungrounded conductor and of
//! the neutral; loads draw their current from leg to neutral or from leg to leg. For resistive loads in phase, which is how the
//! trade figures it, the drop at a point is the sum over the sections on the way of what flows through them.

mod branch;
mod feeder;
#[cfg(test)]
mod tests;

pub(super) use branch::voltage_of;
pub use branch::{BranchDrop, PointDrop, branch_drop, conductor_for_drop, drop_of_circuit};
pub use feeder::{drop_in_all, drop_of_feeder};

use super::Code;
use super::arith::divide;
use super::conductor::{Basis, Wire, is_stranded, resistance};
use super::given::Traced;
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// Base units: nΩ · µA is 10⁻¹⁵ V, a µV is 10⁹ of those.
const PER_MICROVOLT: i128 = 1_000_000_000;

/// A stretch of cable or raceway. It ends at a point that has the section's own number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section {
    /// The section it goes on from; none for one that starts at the panel. It comes earlier in the list.
    pub from: Option<usize>,
    /// Resistance of one ungrounded conductor along it.
    pub hot: Quantity,
    /// Resistance of the neutral along it; of the other ungrounded conductor where there is none.
    pub neutral: Quantity,
}

/// What a load is connected to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Legs {
    /// First leg and neutral. A two-wire branch has only such loads.
    First,
    /// Second leg and neutral.
    Second,
    /// Both legs.
    Both,
}

/// A load at the end of a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Load {
    /// The section at whose end it is.
    pub at: usize,
    /// What it is connected to.
    pub legs: Legs,
    /// Its current.
    pub current: Quantity,
}

/// The drop at a point. It can be negative on the lightly loaded leg of a multiwire branch, where the voltage rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drop {
    /// From the first leg to the neutral.
    pub first: Quantity,
    /// From the second leg to the neutral.
    pub second: Quantity,
    /// From leg to leg.
    pub both: Quantity,
}

/// Why a branch can't be computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BranchError {
    /// This section goes on from one that does not come before it.
    NoSuchSection(usize),
    /// This load is at the end of a section that is not there.
    NoSuchPoint(usize),
    /// A sum is too large.
    TooLarge,
}

/// A single load at the end of a two-wire run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SimpleRun<'a> {
    /// Conductor material.
    pub material: &'a str,
    /// Length of the run, one way.
    pub length: Quantity,
    /// Current of the load.
    pub current: Quantity,
    /// Voltage of the circuit.
    pub voltage: Quantity,
    /// Temperature of the conductors.
    pub temperature: Quantity,
}

/// Returns the drop of a single load at the end of a two-wire run, out and back.
///
/// # Errors
/// When the code has no resistance for the conductor, or the drop is too large to compute.
pub fn simple_drop(run: &SimpleRun<'_>, size: Traced, basis: Basis, code: &dyn Code) -> Result<Quantity, Problem> {
    let stranded = is_stranded(size.quantity, code)?;
    let wire = Wire { material: run.material, size, stranded, temperature: run.temperature };
    let by_length = resistance(&wire, basis, code)?;
    let too_large = || Problem::new(size.span, "this voltage drop is too large to compute").label("for this conductor");
    let one_way = resistance_along(by_length, run.length).ok_or_else(too_large)?;
    let section = Section { from: None, hot: one_way, neutral: one_way };
    let load = Load { at: 0, legs: Legs::First, current: run.current };
    let drops = voltage_drops(&[section], &[load]).map_err(|_| too_large())?;
    drops.first().map(|drop| drop.first).ok_or_else(too_large)
}

/// Returns the smallest conductor that keeps the drop of such a run within a share of its voltage; nothing when none does.
///
/// # Errors
/// As [`simple_drop`].
pub fn smallest_for_drop(
    run: &SimpleRun<'_>,
    limit: Quantity,
    basis: Basis,
    code: &dyn Code,
) -> Result<Option<Quantity>, Problem> {
    for size in sizes(run.material, code)? {
        let drop = simple_drop(run, Traced { quantity: size, span: Span::NONE }, basis, code)?;
        if drop.share_of(run.voltage).is_ok_and(|share| share.amount() <= limit.amount()) {
            return Ok(Some(size));
        }
    }
    Ok(None)
}

/// Returns the sizes whose resistance the code knows, smallest first.
fn sizes(material: &str, code: &dyn Code) -> Result<Vec<Quantity>, Problem> {
    let group = code.word_of("conductor.material", material)?.unwrap_or(material);
    let mut sizes = Vec::new();
    for made in ["solid", "stranded"] {
        let key = format!("conductor.{group}_{made}");
        if code.has_table(&key) {
            let rows = code.table(&key, Dimension::Conductor, Dimension::ResistancePerLength)?;
            for (size, _) in rows {
                if (made == "stranded") == is_stranded(size, code)? {
                    sizes.push(size);
                }
            }
        }
    }
    sizes.sort_by_key(|size| size.amount());
    Ok(sizes)
}

/// Returns the resistance of a length of conductor.
pub fn resistance_along(by_length: Quantity, length: Quantity) -> Option<Quantity> {
    by_length.mul(length).ok()
}

/// Returns the voltage drop at the end of every section.
///
/// # Errors
/// [`BranchError`] when the sections are no tree in order, or a sum is too large.
pub fn voltage_drops(sections: &[Section], loads: &[Load]) -> Result<Vec<Drop>, BranchError> {
    // Currents of both legs through each section [µA], summed from the far ends to the panel.
    let mut currents: Vec<(i128, i128)> = vec![(0, 0); sections.len()];
    for load in loads {
        let (first, second) = currents.get_mut(load.at).ok_or(BranchError::NoSuchPoint(load.at))?;
        let current = i128::from(load.current.amount());
        if load.legs != Legs::Second {
            *first += current;
        }
        if load.legs != Legs::First {
            *second += current;
        }
    }
    for (at, section) in sections.iter().enumerate().rev() {
        let Some(from) = section.from else { continue };
        if from >= at {
            return Err(BranchError::NoSuchSection(at));
        }
        let (first, second) = currents.get(at).copied().unwrap_or_default();
        if let Some(before) = currents.get_mut(from) {
            before.0 += first;
            before.1 += second;
        }
    }
    let mut drops: Vec<(i128, i128)> = Vec::with_capacity(sections.len());
    for (section, (first, second)) in sections.iter().zip(currents) {
        let (hot, neutral) = (i128::from(section.hot.amount()), i128::from(section.neutral.amount()));
        let product = |resistance: i128, current: i128| resistance.checked_mul(current).ok_or(BranchError::TooLarge);
        let back = product(neutral, first - second)?;
        let before = section.from.and_then(|from| drops.get(from)).copied().unwrap_or_default();
        drops.push((before.0 + product(hot, first)? + back, before.1 + product(hot, second)? - back));
    }
    let volts = |drop: i128| {
        divide(drop, PER_MICROVOLT)
            .map(|microvolts| Quantity::new(Dimension::Voltage, microvolts))
            .ok_or(BranchError::TooLarge)
    };
    drops
        .into_iter()
        .map(|(first, second)| Ok(Drop { first: volts(first)?, second: volts(second)?, both: volts(first + second)? }))
        .collect()
}
