//! Quantities of the trade: a dimension and an exact whole number of that dimension's base unit.
//!
//! A length is a whole number of nanometres, so 1/64 in (396 875 nm) and 1 mm (1 000 000 nm) are both exact
//! and a foot is never 11.9999 inches. Nothing in this module knows a code value: only units.
//!
//! ```
//! use storystick_engine::quantity::{Dimension, UnitSystem, parse};
//!
//! let height = parse("4'-6 1/2\"", Dimension::Length).unwrap();
//! assert_eq!(height.print(UnitSystem::Customary), "4 ft 6 1/2 in");
//! assert_eq!(height.print(UnitSystem::Metric), "1384.3 mm");
//! assert_eq!(parse("20 A", Dimension::Length).unwrap_err().message,
//!     "expected a length such as `12 in` or `300 mm`, found a current `20 A`");
//! ```

mod arithmetic;
mod conductor;
mod date;
mod decimal;
mod dimension;
mod error;
mod gauge;
mod length;
mod make;
mod parse;
mod print;
#[cfg(test)]
mod tests;
mod units;

pub use arithmetic::ArithmeticError;
pub use conductor::{Conductor, ConductorUnit};
pub use dimension::Dimension;
pub use error::QuantityError;
pub use make::CableMake;
pub use parse::{parse, parse_any};
pub use print::{Fraction, UnitSystem};

/// An exact amount of one dimension.
///
/// Quantities compare only with their own kind: there is no `PartialOrd` here, see [`Quantity::compare`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Quantity {
    amount: i64,
    dimension: Dimension,
}

/// Base units of [`Dimension::Number`] and [`Dimension::Ratio`] in 1.
const ONE: i64 = 1_000_000_000;

impl Quantity {
    /// Returns the quantity of `amount` base units of `dimension`.
    pub const fn new(dimension: Dimension, amount: i64) -> Quantity {
        Quantity { amount, dimension }
    }

    /// Returns a count. Counts past 9.2 thousand million stay at the greatest number that there is.
    pub const fn number(count: i64) -> Quantity {
        Quantity::new(Dimension::Number, count.saturating_mul(ONE))
    }

    /// Returns the number of base units.
    pub const fn amount(self) -> i64 {
        self.amount
    }

    /// Returns what the quantity measures.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Returns the count that a whole [`Dimension::Number`] holds, or `None` for a broken number or another dimension.
    pub const fn whole(self) -> Option<i64> {
        match self.dimension {
            Dimension::Number if self.amount % ONE == 0 => Some(self.amount / ONE),
            _ => None,
        }
    }
}
