//! Quantities of the trade: a dimension and an exact whole number of that dimension's base unit.
//!
//! A length is a whole number of nanometres, so 1/64 in (396 875 nm) and 1 mm (1 000 000 nm) are both exact
//! and a foot is never 11.9999 inches. Nothing in this module knows a code value: only units.

mod arithmetic;
mod conductor;
mod make;
mod parse;
mod print;

pub use arithmetic::ArithmeticError;
pub use conductor::{Conductor, ConductorUnit};
pub use make::CableMake;
pub use parse::{QuantityError, parse};
pub use print::{Fraction, UnitSystem};

/// What a quantity measures. The base unit of each is in brackets.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[repr(u8)]
pub enum Dimension {
    /// A count or plain factor \[10⁻⁹\].
    Number,
    /// A share of something, written in percent \[10⁻⁹\].
    Ratio,
    /// A length \[nm\].
    Length,
    /// An area of floor or of a conductor \[µm²\].
    Area,
    /// A volume of a box \[µm³\].
    Volume,
    /// A current \[µA\].
    Current,
    /// A voltage \[µV\].
    Voltage,
    /// Power or apparent power, W or VA \[µW\].
    Power,
    /// Load by floor area, VA/ft² or W/m² \[pW/m²\].
    PowerPerArea,
    /// A resistance \[nΩ\].
    Resistance,
    /// Resistance by length, ohms per 1000 ft or per km \[pΩ/m\].
    ResistancePerLength,
    /// A conductor size: AWG, kcmil or mm², ordered by cross-section (see [`Conductor`]).
    Conductor,
    /// An angle \[µ°\].
    Angle,
    /// A temperature \[m°C\].
    Temperature,
    /// A mass \[mg\].
    Mass,
    /// A force \[µN\].
    Force,
    /// A turning moment, lbf·in or N·m \[µN·m\].
    Torque,
    /// A day \[days since 1970-01-01\].
    Date,
    /// A span of time \[ms\].
    Time,
}

/// An exact amount of one dimension.
///
/// Quantities compare only with their own kind: there is no `PartialOrd` here, see [`Quantity::compare`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Quantity {
    amount: i64,
    dimension: Dimension,
}

impl Quantity {
    /// Returns the quantity of `amount` base units of `dimension`.
    pub const fn new(dimension: Dimension, amount: i64) -> Quantity {
        Quantity { amount, dimension }
    }

    /// Returns the number of base units.
    pub const fn amount(self) -> i64 {
        self.amount
    }

    /// Returns what the quantity measures.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }
}
