//! Resistance of conductors: from the table of the code, and from the material and the geometry of the wire.

use super::arith::{ONE, divide, times};
use super::given::Traced;
use super::{Code, Match, shown};
use crate::problem::Problem;
use crate::quantity::{Conductor, Dimension, Quantity};

/// Base units in a degree Celsius.
const DEGREE: i64 = 1000;
/// Base units in a square millimetre.
const MM2: i64 = 1_000_000;

/// Where a resistance comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The table of conductor properties.
    Table,
    /// The resistivity of the metal, the cross-section, and for stranded wire the lay of its strands.
    Metal,
}

/// A conductor whose resistance is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wire<'a> {
    /// Material, in the words of the job file.
    pub material: &'a str,
    /// Size ([`Dimension::Conductor`]).
    pub size: Traced,
    /// Whether it is stranded.
    pub stranded: bool,
    /// Its temperature.
    pub temperature: Quantity,
}

/// Returns the resistance by length of a conductor, to direct current.
///
/// # Errors
/// When the code lacks an entry or a row: nothing between or beyond the table is taken.
pub fn resistance(wire: &Wire<'_>, basis: Basis, code: &dyn Code) -> Result<Quantity, Problem> {
    let group = code.word_of("conductor.material", wire.material)?.ok_or_else(|| {
        let message = format!("the code in force has no resistance of {}", wire.material.replace('_', "-"));
        Problem::new(wire.size.span, message).label("of this conductor")
    })?;
    match basis {
        Basis::Table => by_table(wire, group, code),
        Basis::Metal => by_metal(wire, group, code),
    }
}

fn by_table(wire: &Wire<'_>, group: &str, code: &dyn Code) -> Result<Quantity, Problem> {
    let made = if wire.stranded { "stranded" } else { "solid" };
    let key = format!("conductor.{group}_{made}");
    let row = code.row_at(&key, wire.size.quantity, Match::Exact, Dimension::ResistancePerLength)?;
    let row = row.ok_or_else(|| {
        let message = format!("the code in force has no resistance of {} {made} {group}", shown(wire.size.quantity));
        Problem::new(wire.size.span, message).label("this size").help("use a size of the table")
    })?;
    let at = code.quantity("conductor.table_temperature", Dimension::Temperature)?;
    let slope = code.quantity(&format!("conductor.{group}_table_coefficient"), Dimension::Number)?;
    heated(row.quantity, slope.amount(), wire.temperature, at.quantity).ok_or_else(|| too_large(wire))
}

fn by_metal(wire: &Wire<'_>, group: &str, code: &dyn Code) -> Result<Quantity, Problem> {
    // Resistance by length of one square millimetre of the metal.
    let unit = code.quantity(&format!("conductor.{group}_of_mm2"), Dimension::ResistancePerLength)?;
    let at = code.quantity("conductor.reference_temperature", Dimension::Temperature)?;
    let slope = code.quantity(&format!("conductor.{group}_coefficient"), Dimension::Number)?;
    let lay = if wire.stranded { code.quantity("conductor.lay", Dimension::Number)?.amount() } else { ONE };
    let area = Conductor::of(wire.size.quantity).map_or(0, |size| size.area().amount());
    let cold =
        divide(i128::from(unit.amount()) * i128::from(MM2) * i128::from(lay), i128::from(area) * i128::from(ONE));
    cold.map(|cold| Quantity::new(Dimension::ResistancePerLength, cold))
        .and_then(|cold| heated(cold, slope.amount(), wire.temperature, at.quantity))
        .ok_or_else(|| too_large(wire))
}

/// Returns a resistance at another temperature: R · (1 + slope · (to − from)).
fn heated(resistance: Quantity, slope: i64, to: Quantity, from: Quantity) -> Option<Quantity> {
    let degrees = i128::from(to.amount()) - i128::from(from.amount());
    let change = divide(i128::from(slope) * degrees, i128::from(DEGREE))?;
    let factor = ONE.checked_add(change)?;
    let heated = times(resistance.amount(), factor)?;
    (heated > 0).then(|| Quantity::new(resistance.dimension(), heated))
}

fn too_large(wire: &Wire<'_>) -> Problem {
    Problem::new(wire.size.span, "the resistance of this conductor cannot be computed").label("this size")
}

/// Returns whether the trade uses a size stranded rather than solid.
///
/// # Errors
/// When the code lacks the size up to which wires are solid.
pub fn is_stranded(size: Quantity, code: &dyn Code) -> Result<bool, Problem> {
    Ok(size.amount() > code.quantity("conductor.solid_to", Dimension::Conductor)?.amount())
}
