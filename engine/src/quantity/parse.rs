//! Reading quantities as people write them.

use std::borrow::Cow;

use super::decimal::{self, Decimal, NoNumber, Scaled};
use super::units::{self, Unit};
use super::{Conductor, Dimension, Quantity, date, length};
use crate::problem::nearest;

/// Why a text is no quantity of the wanted dimension.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl QuantityError {
    pub(super) fn new(message: impl Into<String>, help: impl Into<String>) -> QuantityError {
        QuantityError { message: message.into(), help: Some(help.into()) }
    }
}

impl std::fmt::Display for QuantityError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for QuantityError {}

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
        Dimension::Date => date::parse(&plain).unwrap_or_else(|| Err(other_than(&plain, want))),
        Dimension::Conductor => Conductor::read(&plain)
            .map(|read| read.map(Conductor::to_quantity))
            .unwrap_or_else(|| Err(other_than(&plain, want))),
        _ => measured(&plain, Some(want)).map_err(|miss| match miss {
            Miss::NoNumber(why) => no_number(&plain, why, want),
            Miss::Unit(unit) => wrong_unit(&plain, unit, want),
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
    if let Some(date) = date::parse(&plain) {
        return date.ok();
    }
    if let Some(conductor) = Conductor::read(&plain) {
        return conductor.ok().map(Conductor::to_quantity);
    }
    measured(&plain, None).ok()
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
        match c {
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅓' => out.push_str(" 1/3"),
            '⅔' => out.push_str(" 2/3"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            '⁄' => out.push('/'),
            '″' | '”' => out.push('"'),
            '′' | '’' => out.push('\''),
            '−' | '–' => out.push('-'),
            '·' | '⋅' => out.push('-'),
            '°' => out.push_str("deg"),
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
    Some(Cow::Owned(out.trim_start().to_owned()))
}

/// Returns a text as far as a message can show it.
pub(super) fn shown(text: &str) -> String {
    let line: String = text.trim().chars().map(|c| if c.is_control() { ' ' } else { c }).take(41).collect();
    match line.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", line.get(..end).unwrap_or("")),
        None => line,
    }
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

/// Reads a number with its unit.
fn measured(text: &str, want: Option<Dimension>) -> Result<Quantity, Miss<'_>> {
    let (negative, rest) = decimal::sign(text);
    let (number, rest) = decimal::unsigned(rest).map_err(Miss::NoNumber)?;
    let number = Decimal { negative, ..number };
    let rest = rest.trim();
    if rest.is_empty() {
        return bare(number, text, want.unwrap_or(Dimension::Number)).map_err(Miss::Other);
    }
    if want.is_none_or(|dimension| dimension == Dimension::Length)
        && let Some(length) = length::read(number, rest, text)
    {
        return length.map_err(Miss::Other);
    }
    let unit = units::find(rest, want).ok_or(Miss::Unit(rest))?;
    scaled(number, unit, text).map_err(Miss::Other)
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
    if number.is_fraction {
        return Err(QuantityError::new(
            format!("`{}` is a fraction, which only lengths have", shown(text)),
            format!("write a decimal, such as `1.5 {}`", unit.name),
        ));
    }
    match number.scale(unit.num, unit.den, unit.offset) {
        Scaled::Exact(amount) => Ok(Quantity::new(unit.dimension, amount)),
        // An amount that somebody wrote must not vanish.
        Scaled::Rounded(0) if unit.offset == 0 => Err(too_small(text)),
        Scaled::Rounded(amount) => Ok(Quantity::new(unit.dimension, amount)),
        Scaled::TooLarge => Err(too_large(text)),
    }
}

pub(super) fn too_large(text: &str) -> QuantityError {
    QuantityError::new(format!("`{}` is too large", shown(text)), "check the number and its unit")
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
        return QuantityError::new(
            format!("`{}` has a comma in its number", shown(text)),
            "write thousands without a separator and decimals with a point, such as `1500` and `2.5`",
        );
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
