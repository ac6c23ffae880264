//! Days.

use jiff::civil::Date;

use super::error::{QuantityError, shown};
use super::{Dimension, Quantity};

const SECONDS_OF_DAY: i64 = 86_400;

/// The day from which days are counted.
const START: Date = Date::constant(1970, 1, 1);

impl Quantity {
    /// Returns a day.
    pub fn date(date: Date) -> Quantity {
        Quantity::new(Dimension::Date, date.duration_since(START).as_secs() / SECONDS_OF_DAY)
    }

    /// Returns the day of a [`Dimension::Date`], or `None` for another dimension or a day past the year 9999.
    pub fn to_date(self) -> Option<Date> {
        if self.dimension() != Dimension::Date {
            return None;
        }
        let seconds = self.amount().checked_mul(SECONDS_OF_DAY)?;
        START.checked_add(jiff::SignedDuration::from_secs(seconds)).ok()
    }
}

/// Reads `2023-05-10`. Returns `None` for a text that does not look like a date; `written` is what the messages show.
pub(super) fn read(text: &str, written: &str) -> Option<Result<Quantity, QuantityError>> {
    let slashes = text.bytes().filter(|&b| b == b'/').count() == 2;
    if slashes && text.bytes().all(|b| b.is_ascii_digit() || b == b'/') {
        return Some(Err(QuantityError::new(
            format!("`{}` does not say which number is the month", shown(written)),
            Dimension::Date.units_help(),
        )));
    }
    let mut parts = text.split('-');
    let mut part = |width: usize| {
        let digits = parts.next()?;
        let fits = digits.len() == width && digits.bytes().all(|b| b.is_ascii_digit());
        fits.then(|| digits.parse::<i16>().ok()).flatten()
    };
    let (year, month, day) = (part(4)?, part(2)?, part(2)?);
    if parts.next().is_some() {
        return None;
    }
    // Two digits fit.
    let date = Date::new(year, month as i8, day as i8);
    Some(
        date.map(Quantity::date).map_err(|_| {
            QuantityError::new(format!("there is no day `{}`", shown(written)), Dimension::Date.units_help())
        }),
    )
}
