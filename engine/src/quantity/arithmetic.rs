//! Arithmetic that refuses mixed dimensions and overflow.

use std::cmp::Ordering;

use super::{Dimension, Quantity, decimal};

/// Milliseconds in a day.
const DAY: i64 = 86_400_000;

/// Why two quantities can't be put together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ArithmeticError {
    /// What is wrong, in one sentence.
    pub message: String,
}

impl ArithmeticError {
    fn new(message: impl Into<String>) -> ArithmeticError {
        ArithmeticError { message: message.into() }
    }

    fn too_large() -> ArithmeticError {
        ArithmeticError::new("the result is too large")
    }
}

impl std::fmt::Display for ArithmeticError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for ArithmeticError {}

fn fit(dimension: Dimension, amount: i128) -> Result<Quantity, ArithmeticError> {
    let amount = i64::try_from(amount).map_err(|_| ArithmeticError::too_large())?;
    Ok(Quantity::new(dimension, amount))
}

#[expect(clippy::should_implement_trait, reason = "an operator can't be followed by `?` on both of its sides")]
impl Quantity {
    /// Returns the sum of two amounts of one dimension, or a day so much later.
    ///
    /// # Errors
    /// [`ArithmeticError`] for dimensions that don't add, part of a day added to a day, and overflow.
    pub fn add(self, other: Quantity) -> Result<Quantity, ArithmeticError> {
        let dimension = self.dimension().sum(other.dimension()).ok_or_else(|| {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            ArithmeticError::new(format!("can't add {b} to {a}"))
        })?;
        let (a, b) = match (self.dimension(), other.dimension()) {
            (Dimension::Date, Dimension::Time) => (self.amount(), whole_days(other)?),
            (Dimension::Time, Dimension::Date) => (whole_days(self)?, other.amount()),
            _ => (self.amount(), other.amount()),
        };
        fit(dimension, i128::from(a) + i128::from(b))
    }

    /// Returns the difference of two amounts of one dimension, the time between two days, or a day so much earlier.
    ///
    /// # Errors
    /// [`ArithmeticError`] for dimensions that don't subtract, part of a day taken from a day, and overflow.
    pub fn sub(self, other: Quantity) -> Result<Quantity, ArithmeticError> {
        let dimension = self.dimension().difference(other.dimension()).ok_or_else(|| {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            ArithmeticError::new(format!("can't subtract {b} from {a}"))
        })?;
        let (a, b) = (i128::from(self.amount()), i128::from(other.amount()));
        match (self.dimension(), other.dimension()) {
            (Dimension::Date, Dimension::Date) => fit(dimension, (a - b) * i128::from(DAY)),
            (Dimension::Date, Dimension::Time) => fit(dimension, a - i128::from(whole_days(other)?)),
            _ => fit(dimension, a - b),
        }
    }

    /// Returns the product, rounded half to even: a length by a length is an area, a current by a voltage a power, and so on.
    ///
    /// # Errors
    /// [`ArithmeticError`] for dimensions that don't multiply, and for overflow.
    pub fn mul(self, other: Quantity) -> Result<Quantity, ArithmeticError> {
        let (dimension, power) = self.dimension().product_scaled(other.dimension()).ok_or_else(|| {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            ArithmeticError::new(format!("can't multiply {a} by {b}"))
        })?;
        let product = i128::from(self.amount()) * i128::from(other.amount());
        fit(dimension, decimal::divide(product, 10_i128.pow(power)))
    }

    /// Returns the quotient, rounded half to even: two amounts of one dimension give a number, a power by a voltage a current, and so on.
    ///
    /// # Errors
    /// [`ArithmeticError`] for dimensions that don't divide, for division by zero, and for overflow.
    pub fn div(self, other: Quantity) -> Result<Quantity, ArithmeticError> {
        let (dimension, power) = self.dimension().quotient_scaled(other.dimension()).ok_or_else(|| {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            ArithmeticError::new(format!("can't divide {a} by {b}"))
        })?;
        fit(dimension, self.quotient(other, power)?)
    }

    /// Returns what share of `whole` this is, as a percentage.
    ///
    /// # Errors
    /// [`ArithmeticError`] for unlike dimensions, for a share of nothing, and for overflow.
    pub fn share_of(self, whole: Quantity) -> Result<Quantity, ArithmeticError> {
        self.div_alike(whole)?;
        fit(Dimension::Ratio, self.quotient(whole, 9)?)
    }

    /// Returns how many of `part` it takes to cover this: the exact quotient, rounded up.
    ///
    /// # Errors
    /// [`ArithmeticError`] for unlike dimensions, and for division by zero.
    pub fn parts_up(self, part: Quantity) -> Result<i64, ArithmeticError> {
        self.div_alike(part)?;
        let (a, b) = (i128::from(self.amount()), i128::from(part.amount()));
        let whole = a.div_euclid(b) + i128::from(b > 0 && a.rem_euclid(b) != 0);
        i64::try_from(whole).map_err(|_| ArithmeticError::too_large())
    }

    /// Returns how many of `part` go into this whole: the exact quotient, rounded down.
    ///
    /// # Errors
    /// [`ArithmeticError`] for unlike dimensions, and for division by zero.
    pub fn parts_down(self, part: Quantity) -> Result<i64, ArithmeticError> {
        self.div_alike(part)?;
        let (a, b) = (i128::from(self.amount()), i128::from(part.amount()));
        let whole = a.div_euclid(b) - i128::from(b < 0 && a.rem_euclid(b) != 0);
        i64::try_from(whole).map_err(|_| ArithmeticError::too_large())
    }

    /// Returns the amount with the other sign.
    ///
    /// # Errors
    /// [`ArithmeticError`] for a day or a conductor size, which have none.
    pub fn neg(self) -> Result<Quantity, ArithmeticError> {
        if matches!(self.dimension(), Dimension::Date | Dimension::Conductor) {
            return Err(ArithmeticError::new(format!("{} has no sign", self.dimension().with_article())));
        }
        fit(self.dimension(), -i128::from(self.amount()))
    }

    /// Returns the order of two amounts of one dimension. Conductor sizes order by cross-section.
    ///
    /// # Errors
    /// [`ArithmeticError`] for unlike dimensions.
    pub fn compare(self, other: Quantity) -> Result<Ordering, ArithmeticError> {
        if self.dimension() != other.dimension() {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            return Err(ArithmeticError::new(format!("can't compare {a} with {b}")));
        }
        Ok(self.amount().cmp(&other.amount()))
    }

    /// Checks that both measure the same thing, in a way that divides, and that the other is not zero.
    fn div_alike(self, other: Quantity) -> Result<(), ArithmeticError> {
        if self.dimension() != other.dimension() || self.dimension().quotient(other.dimension()).is_none() {
            let (a, b) = (self.dimension().with_article(), other.dimension().with_article());
            return Err(ArithmeticError::new(format!("can't divide {a} by {b}")));
        }
        if other.amount() == 0 {
            return Err(ArithmeticError::new("can't divide by zero"));
        }
        Ok(())
    }

    fn quotient(self, other: Quantity, power: u32) -> Result<i128, ArithmeticError> {
        let (mut top, mut bottom) = (i128::from(self.amount()) * 10_i128.pow(power), i128::from(other.amount()));
        if bottom == 0 {
            return Err(ArithmeticError::new("can't divide by zero"));
        }
        if bottom < 0 {
            (top, bottom) = (-top, -bottom);
        }
        Ok(decimal::divide(top, bottom))
    }
}

fn whole_days(time: Quantity) -> Result<i64, ArithmeticError> {
    match time.amount() % DAY {
        0 => Ok(time.amount() / DAY),
        _ => Err(ArithmeticError::new("only whole days can be added to a date or taken from it")),
    }
}
