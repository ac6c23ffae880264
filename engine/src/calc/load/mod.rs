//! Calculated load of a dwelling: the standard and the optional method, the neutral, and the service that it asks for.
//!
//! Which appliances fall under which heading, every demand factor and every step stand in `load.*` entries.

mod apparatus;
mod area;
mod climate;
mod cooking;
mod installed;
mod neutral;
mod of_job;
mod optional;
mod service;
mod standard;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_job;
mod worksheets;

pub use climate::{Climate, optional_climate, standard_climate};
pub use cooking::cooking_demand;
pub use neutral::{NeutralLoad, neutral_load};
pub use of_job::{KnownDwelling, dwelling_of_job, known_dwelling, load_voltage, service_load};
pub use optional::{OptionalLoad, existing_load, optional_load};
pub use service::{Amperes, Service, amperes, line_currents, service_conductor, service_for};
pub use standard::{
    StandardLoad, dryer_demand, fastened_demand, general_demand, general_load, lighting_circuits, standard_load,
};

pub use installed::{Installed, installed};
pub use worksheets::{LoadSheet, load_worksheets};

use super::Code;
use super::arith::{ONE, times};
use super::given::Traced;
use super::worksheet::{Line, Sheet};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// A method of calculation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Heading by heading.
    Standard,
    /// All general loads together.
    Optional,
}

/// An appliance as far as loads go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apparatus {
    /// What it is called on the worksheet.
    pub name: String,
    /// Its nameplate load.
    pub load: Traced,
    /// Whether it is connected to the neutral, so that the neutral carries its current.
    pub to_neutral: bool,
    /// Whether it is a motor of which the largest one is enlarged.
    pub motor: bool,
    /// Whether its load is not recorded: it counts as one more appliance, with the least load that the code lets it have.
    pub open: bool,
}

impl Apparatus {
    /// Returns an appliance between both legs that is no motor.
    pub fn new(name: impl Into<String>, load: Traced) -> Apparatus {
        Apparatus { name: name.into(), load, to_neutral: false, motor: false, open: false }
    }

    /// Returns it as one of which nobody knows yet whether it counts.
    fn unsettled(mut self) -> Apparatus {
        self.load = Traced::new(Dimension::Power, 0, self.load.span);
        self.name.push_str(if self.open { ", fastened in place or not?" } else { ": fastened in place or not?" });
        self.open = true;
        self
    }
}

/// What is connected in a dwelling.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dwelling {
    /// Floor area by outside dimensions.
    pub floor_area: Traced,
    /// Small-appliance branch circuits; at least as many are counted as the code asks for.
    pub small_appliance: i64,
    /// Laundry branch circuits; likewise.
    pub laundry: i64,
    /// Ranges, cooktops and ovens.
    pub cooking: Vec<Apparatus>,
    /// Electric clothes dryers.
    pub dryers: Vec<Apparatus>,
    /// Appliances fastened in place under no other heading.
    pub fastened: Vec<Apparatus>,
    /// Heating and cooling.
    pub climate: Climate,
    /// Chargers of electric vehicles.
    pub chargers: Vec<Apparatus>,
    /// Other loads, taken in full.
    pub other: Vec<Apparatus>,
    /// Appliances on a circuit of their own that the load of the floor area covers by the standard method. The optional method takes
    /// them by their nameplates.
    pub own_circuit: Vec<Apparatus>,
}

impl Dwelling {
    /// Returns an empty dwelling of a floor area.
    pub fn of(floor_area: Traced) -> Dwelling {
        Dwelling {
            floor_area,
            small_appliance: 0,
            laundry: 0,
            cooking: Vec::new(),
            dryers: Vec::new(),
            fastened: Vec::new(),
            climate: Climate::default(),
            chargers: Vec::new(),
            other: Vec::new(),
            own_circuit: Vec::new(),
        }
    }
}

fn power(amount: i64) -> Quantity {
    Quantity::new(Dimension::Power, amount)
}

fn too_large(span: Span) -> Problem {
    Problem::new(span, "this load is too large to compute").label("from here")
}

/// Returns a load taken by a factor.
fn by(load: i64, factor: i64, span: Span) -> Result<i64, Problem> {
    times(load, factor).ok_or_else(|| too_large(span))
}

/// Returns the sum of nameplate loads.
fn sum(apparatus: &[Apparatus]) -> Result<i64, Problem> {
    apparatus.iter().try_fold(0_i64, |sum, one| {
        if one.load.amount() < 0 {
            return Err(Problem::new(one.load.span, "a load cannot be negative").label("this load"));
        }
        sum.checked_add(one.load.amount()).ok_or_else(|| too_large(one.load.span))
    })
}

/// Writes one line for each appliance.
fn list(apparatus: &[Apparatus], sheet: &mut Sheet) {
    for one in apparatus {
        sheet.line(|| {
            let line = Line::new(one.name.clone()).of(one.load);
            if one.open { line } else { line.total(one.load.quantity) }
        });
    }
}

/// Returns a quarter, or whatever the code says, of the largest motor among some appliances.
fn largest_motor<'a>(
    motors: impl Iterator<Item = &'a Apparatus>,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<i64, Problem> {
    let Some(largest) = motors.filter(|one| one.motor).max_by_key(|one| one.load.amount()) else { return Ok(0) };
    let factor = code.quantity("load.motor_factor", Dimension::Ratio)?;
    let extra = by(largest.load.amount(), factor.amount(), largest.load.span)?;
    sheet.line(|| {
        Line::new(format!("largest motor, {}", largest.name))
            .count(factor.quantity)
            .each(largest.load.quantity)
            .total(power(extra))
            .by(factor)
            .of(largest.load)
    });
    Ok(extra)
}

/// Returns whether a number is at least a whole number of the code.
fn at_least(count: usize, least: i64) -> bool {
    i64::try_from(count).unwrap_or(i64::MAX).saturating_mul(ONE) >= least
}
