//! Lengths as a tape is read: `4'-6 1/2"`, `4 ft 6 in`, `13/16 in`.

use super::decimal::{self, Decimal, Scaled};
use super::error::{QuantityError, no_fractions, shown, too_large};
use super::{Dimension, Quantity, units};

/// Reads what follows the first number of a length: its unit, and inches after feet. Returns `None` where it is no unit of length.
pub(super) fn read(number: Decimal, rest: &str, text: &str) -> Option<Result<Quantity, QuantityError>> {
    let (word, after) = split_unit(rest);
    let unit = units::find(word, Some(Dimension::Length))?;
    if number.is_fraction && !unit.has_fractions() {
        return Some(Err(no_fractions(text, unit)));
    }
    let first = exact(number, unit.num, text);
    if after.is_empty() {
        return Some(first.map(|nm| Quantity::new(Dimension::Length, nm)));
    }
    let inches = after.strip_prefix('-').unwrap_or(after).trim_start();
    if unit.name != "ft" || !inches.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return None;
    }
    let sum = first.and_then(|feet_nm| inches_after(number, feet_nm, inches, text));
    // `120 ft2` is no length: a digit right behind the letters begins the inches only if they are inches.
    let attached = rest.len() == word.len() + after.len() && rest.starts_with(|c: char| c.is_ascii_alphabetic());
    (sum.is_ok() || !attached || !after.starts_with(|c: char| c.is_ascii_digit())).then_some(sum)
}

fn inches_after(feet: Decimal, feet_nm: i64, inches: &str, text: &str) -> Result<Quantity, QuantityError> {
    let wrong = || {
        QuantityError::new(
            format!("expected inches after the feet of `{}`", shown(text)),
            "write feet and inches as `4 ft 6 1/2 in` or `4'-6 1/2\"`",
        )
    };
    let (inches, rest) = decimal::unsigned(inches).map_err(|_| wrong())?;
    let (unit, rest) = split_unit(rest.trim_start());
    let is_inch = units::find(unit, Some(Dimension::Length)).is_some_and(|unit| unit.name == "in");
    if !is_inch || !rest.is_empty() || feet.is_fraction || feet.bottom != 1 {
        return Err(wrong());
    }
    if inches.top >= inches.bottom * 12 {
        return Err(QuantityError::new(
            format!("the inches after the feet of `{}` make a foot or more", shown(text)),
            "write less than 12 in after the feet, or inches alone",
        ));
    }
    let inches = Decimal { negative: feet.negative, ..inches };
    let inches_nm = exact(inches, units::named("in").num, text)?;
    let sum = feet_nm.checked_add(inches_nm).ok_or_else(|| too_large(text))?;
    Ok(Quantity::new(Dimension::Length, sum))
}

/// Splits a unit of length off: one mark, or letters with a dot.
fn split_unit(text: &str) -> (&str, &str) {
    let end = match text.as_bytes().first() {
        Some(b'"' | b'\'') => 1,
        _ => text.bytes().position(|b| !b.is_ascii_alphabetic() && b != b'.').unwrap_or(text.len()),
    };
    let (unit, rest) = text.split_at(end);
    (unit, rest.trim_start())
}

/// Scales to nanometres and refuses to round: a length that is compared with a limit must be the one that was written.
fn exact(number: Decimal, num: i128, text: &str) -> Result<i64, QuantityError> {
    match number.scale(num, 1, 0) {
        Scaled::Exact(nm) => Ok(nm),
        Scaled::TooLarge => Err(too_large(text)),
        Scaled::Rounded(_) => Err(QuantityError::new(
            format!("`{}` is no whole number of nanometres and can't be kept exactly", shown(text)),
            "write a fraction of the tape such as `21/64 in`, or fewer decimals",
        )),
    }
}
