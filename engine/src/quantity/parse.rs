//! Reading quantities as people write them.

use std::borrow::Cow;

use super::decimal::{self, Decimal, NoNumber, Scaled};
use super::error::{QuantityError, comma, no_fractions, shown, too_large};
use super::units::{self, Unit};
use super::{Conductor, Dimension, Quantity, date, length};
use crate::problem::nearest;

/// Longest text that is looked at: no quantity needs more, and nobody wants a longer one in a message.
const LONGEST: usize = 64;

/// Reads a quantity of a known dimension, such as `4 ft 6 in`, `20 A`, `12 AWG` or `2023-05-10`.
///
/// Lengths must be whole nanometres; other dimensions are rounded half to even to their base unit.
///
/// # Errors
/// [`QuantityError`] when the text is no quantity, measures something else, has no unit where one is due, would lose
/// something (lengths), or does not fit.
pub fn parse(text: &str, want: Dimension) -> Result<Quantity, QuantityError> {
    let plain = plain(text).ok_or_else(|| not_a(text, want))?;
    match want {
        Dimension::Date => date::read(&plain, text).unwrap_or_else(|| Err(other_than(text, want))),
        Dimension::Conductor => Conductor::read(&plain, text)
            .map(|read| read.map(Conductor::to_quantity))
            .unwrap_or_else(|| Err(other_than(text, want))),
        _ => measured(&plain, text, Some(want)).map_err(|miss| match miss {
            // `4/0 AWG` is a number only to those who know gauges.
            Miss::NoNumber(why) => match parse_any(text) {
                Some(found) => mixed(text, found.dimension(), want),
                None => no_number(text, why, want),
            },
            Miss::Unit(unit) => wrong_unit(text, unit, want),
            Miss::Other(error) => error,
        }),
    }
}

/// Reads a quantity whose dimension its unit decides, or returns `None` for any other text.
///
/// A plain decimal is a number, `mm2` is a conductor size (write `sq mm`, `cm2` or `in2` for an area), and a fraction without
/// a unit is no quantity: `1/2` may well be a trade size.
pub fn parse_any(text: &str) -> Option<Quantity> {
    let plain = plain(text)?;
    if let Some(date) = date::read(&plain, text) {
        return date.ok();
    }
    if let Some(conductor) = Conductor::read(&plain, text) {
        return conductor.ok().map(Conductor::to_quantity);
    }
    measured(&plain, text, None).ok()
}

/// Makes the signs of typography plain: `4½″` becomes `4 1/2"`. Returns `None` for texts too long to be a quantity.
pub(super) fn plain(text: &str) -> Option<Cow<'_, str>> {
    let text = text.trim();
    if text.len() > LONGEST {
        return None;
    }
    if text.is_ascii() {
        return Some(Cow::Borrowed(text));
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if let Some(fraction) = fraction(c) {
            if out.ends_with(|c: char| c.is_ascii_digit()) {
                out.push(' ');
            }
            out.push_str(fraction);
            continue;
        }
        match c {
            '⁄' => out.push('/'),
            '″' | '”' => out.push('"'),
            '′' | '’' => out.push('\''),
            '−' | '–' => out.push('-'),
            '·' | '⋅' => out.push('-'),
            '°' | 'º' => out.push_str("deg"),
            // Greek omega and the ohm sign; Greek mu and the micro sign.
            'Ω' | '\u{2126}' => out.push_str("ohm"),
            'μ' | 'µ' => out.push('u'),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => out.push(' '),
            // Powers belong to units: `5²` must not become 52.
            '²' if out.ends_with(|c: char| c.is_ascii_alphabetic()) => out.push('2'),
            '³' if out.ends_with(|c: char| c.is_ascii_alphabetic()) => out.push('3'),
            other => out.push(other),
        }
    }
    Some(Cow::Owned(out))
}

fn fraction(c: char) -> Option<&'static str> {
    Some(match c {
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        _ => return None,
    })
}

/// Why [`measured`] found nothing, before anybody has decided to say so.
enum Miss<'a> {
    /// There is no number in front.
    NoNumber(NoNumber),
    /// What follows the number is no unit of the wanted dimension.
    Unit(&'a str),
    /// Anything else, with its message.
    Other(QuantityError),
}

/// Reads a number with its unit; `written` is what the messages show.
fn measured<'a>(plain: &'a str, written: &str, want: Option<Dimension>) -> Result<Quantity, Miss<'a>> {
    let (negative, rest) = decimal::sign(plain);
    let (number, rest) = decimal::unsigned(rest).map_err(Miss::NoNumber)?;
    let number = Decimal { negative, ..number };
    let rest = rest.trim();
    if rest.is_empty() {
        return bare(number, written, want.unwrap_or(Dimension::Number)).map_err(Miss::Other);
    }
    if want.is_none_or(|dimension| dimension == Dimension::Length)
        && let Some(length) = length::read(number, rest, written)
    {
        return length.map_err(Miss::Other);
    }
    let unit = units::find(rest, want).ok_or(Miss::Unit(rest))?;
    scaled(number, unit, written).map_err(Miss::Other)
}

/// Handles a number without a unit: right for a count, and for nothing else.
fn bare(number: Decimal, text: &str, want: Dimension) -> Result<Quantity, QuantityError> {
    if want != Dimension::Number {
        return Err(QuantityError::new(format!("`{}` has no unit", shown(text)), want.units_help()));
    }
    if number.is_fraction {
        return Err(QuantityError::new(
            format!("`{}` is a fraction where a plain number is due", shown(text)),
            Dimension::Number.units_help(),
        ));
    }
    match number.scale(i128::from(super::ONE), 1, 0) {
        Scaled::Exact(amount) | Scaled::Rounded(amount) if amount != 0 || number.top == 0 => {
            Ok(Quantity::new(Dimension::Number, amount))
        }
        Scaled::TooLarge => Err(too_large(text)),
        _ => Err(too_small(text)),
    }
}

fn scaled(number: Decimal, unit: &Unit, text: &str) -> Result<Quantity, QuantityError> {
    if number.is_fraction && !unit.has_fractions() {
        return Err(no_fractions(text, unit));
    }
    match number.scale(unit.num, unit.den, unit.offset) {
        Scaled::Exact(amount) => Ok(Quantity::new(unit.dimension, amount)),
        // An amount that somebody wrote must not vanish.
        Scaled::Rounded(0) if unit.offset == 0 => Err(too_small(text)),
        Scaled::Rounded(amount) => Ok(Quantity::new(unit.dimension, amount)),
        Scaled::TooLarge => Err(too_large(text)),
    }
}

fn too_small(text: &str) -> QuantityError {
    QuantityError::new(
        format!("`{}` is too small to be told from nothing", shown(text)),
        "check the number and its unit",
    )
}

fn no_number(text: &str, why: NoNumber, want: Dimension) -> QuantityError {
    match why {
        NoNumber::Absent => not_a(text, want),
        NoNumber::TooManyDigits => {
            QuantityError::new(format!("`{}` has more digits than can be kept", shown(text)), "write fewer digits")
        }
        NoNumber::OverZero => {
            QuantityError::new(format!("`{}` is a fraction over zero", shown(text)), want.units_help())
        }
        NoNumber::Improper => QuantityError::new(
            format!("the fraction beside the whole number of `{}` is one or more", shown(text)),
            "write a fraction below one there, such as `1 1/2 in`",
        ),
    }
}

/// Returns the error for a text that is no quantity at all.
fn not_a(text: &str, want: Dimension) -> QuantityError {
    let (expected, examples) = (want.with_article(), want.examples());
    let shown = shown(text);
    if shown.is_empty() {
        return QuantityError::new(format!("expected {expected} such as {examples}, found nothing"), want.units_help());
    }
    QuantityError::new(format!("expected {expected} such as {examples}, found `{shown}`"), want.units_help())
}

/// Returns the error for a text that is no date or conductor size: it says what it is instead, if it is anything.
fn other_than(text: &str, want: Dimension) -> QuantityError {
    match parse_any(text) {
        Some(found) if found.dimension() == Dimension::Number => {
            QuantityError::new(format!("`{}` has no unit", shown(text)), want.units_help())
        }
        Some(found) => mixed(text, found.dimension(), want),
        None => not_a(text, want),
    }
}

fn mixed(text: &str, found: Dimension, want: Dimension) -> QuantityError {
    QuantityError::new(
        format!(
            "expected {} such as {}, found {} `{}`",
            want.with_article(),
            want.examples(),
            found.with_article(),
            shown(text)
        ),
        want.units_help(),
    )
}

fn wrong_unit(text: &str, unit: &str, want: Dimension) -> QuantityError {
    if let Some(found) = parse_any(text) {
        return mixed(text, found.dimension(), want);
    }
    if let Some(other) = units::find(unit, None)
        && other.dimension != want
    {
        return mixed(text, other.dimension, want);
    }
    if unit.starts_with(',') {
        return comma(text);
    }
    if !unit.starts_with(char::is_alphabetic) {
        return not_a(text, want);
    }
    let known = units::UNITS.iter().filter(|unit| unit.dimension == want).map(|unit| unit.name);
    let help = match nearest(unit, known) {
        Some(name) => format!("did you mean `{name}`? {}", want.units_help()),
        None => want.units_help().to_owned(),
    };
    QuantityError::new(format!("unknown unit `{}` of `{}`", shown(unit), shown(text)), help)
}
