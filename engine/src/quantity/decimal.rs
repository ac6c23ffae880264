//! Exact decimals and fractions: reading them, scaling them to base units, and writing amounts as decimals.

/// A written number: `top / bottom`, with its sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    pub(super) negative: bool,
    pub(super) top: i128,
    /// Never zero. A power of ten for decimals.
    pub(super) bottom: i128,
    /// Written with a fraction bar.
    pub(super) is_fraction: bool,
}

/// Why there is no number at the start of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoNumber {
    /// The text begins with something else.
    Absent,
    /// More digits than any quantity has.
    TooManyDigits,
    /// A fraction over nothing.
    OverZero,
    /// `1 3/2`: the fraction beside a whole number is no part of one.
    Improper,
}

/// Digits of a mantissa: enough for every amount with all its decimals.
const MOST_DIGITS: usize = 20;

/// Splits the sign off. The minus of typography has been made `-` before.
pub(super) fn sign(text: &str) -> (bool, &str) {
    match text.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text),
    }
}

fn digits(text: &str) -> (&str, &str) {
    let end = text.bytes().position(|b| !b.is_ascii_digit()).unwrap_or(text.len());
    text.split_at(end)
}

fn integer(digits: &str) -> Result<i128, NoNumber> {
    let digits = digits.trim_start_matches('0');
    if digits.len() > MOST_DIGITS {
        return Err(NoNumber::TooManyDigits);
    }
    Ok(digits.bytes().fold(0, |sum, b| sum * 10 + i128::from(b - b'0')))
}

/// Reads `12`, `0.5`, `.5`, `13/16`, `1 1/2` or `1-1/2` at the start of a text without a sign; returns what follows too.
pub(super) fn unsigned(text: &str) -> Result<(Decimal, &str), NoNumber> {
    let (whole, rest) = digits(text);
    if let Some(after) = rest.strip_prefix('.') {
        let (places, rest) = digits(after);
        if places.is_empty() {
            return Err(NoNumber::Absent);
        }
        let places = places.trim_end_matches('0');
        let whole = whole.trim_start_matches('0');
        if whole.len() + places.len() > MOST_DIGITS {
            return Err(NoNumber::TooManyDigits);
        }
        let bottom = 10_i128.pow(places.len() as u32);
        let top = integer(whole)? * bottom + integer(places)?;
        return Ok((Decimal { negative: false, top, bottom, is_fraction: false }, rest));
    }
    if whole.is_empty() {
        return Err(NoNumber::Absent);
    }
    if let Some((bottom, rest)) = over(rest)? {
        return Ok((Decimal { negative: false, top: integer(whole)?, bottom, is_fraction: true }, rest));
    }
    let whole = integer(whole)?;
    let gap = rest.trim_start();
    let (part, after) = digits(gap.strip_prefix('-').unwrap_or(gap).trim_start());
    if !part.is_empty()
        && let Some((bottom, rest)) = over(after)?
    {
        let part = integer(part)?;
        if part >= bottom {
            return Err(NoNumber::Improper);
        }
        let top = whole.checked_mul(bottom).ok_or(NoNumber::TooManyDigits)? + part;
        return Ok((Decimal { negative: false, top, bottom, is_fraction: true }, rest));
    }
    Ok((Decimal { negative: false, top: whole, bottom: 1, is_fraction: false }, rest))
}

/// Reads `/16`.
fn over(text: &str) -> Result<Option<(i128, &str)>, NoNumber> {
    let Some(after) = text.strip_prefix('/') else { return Ok(None) };
    let (bottom, rest) = digits(after);
    if bottom.is_empty() {
        return Ok(None);
    }
    match integer(bottom)? {
        0 => Err(NoNumber::OverZero),
        // A fraction's bottom stays small, so that no product with it overflows.
        bottom if bottom > 1_000_000 => Err(NoNumber::TooManyDigits),
        bottom => Ok(Some((bottom, rest))),
    }
}

/// What comes of scaling a written number to base units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scaled {
    /// A whole number of base units.
    Exact(i64),
    /// Rounded half to even.
    Rounded(i64),
    /// Does not fit.
    TooLarge,
}

impl Decimal {
    /// Returns `self * num / den - offset / den` in base units; `num` and `den` are positive.
    pub(super) fn scale(self, num: i128, den: i128, offset: i128) -> Scaled {
        let scaled = || {
            let top = if self.negative { self.top.checked_neg()? } else { self.top };
            let top = top.checked_mul(num)?.checked_sub(offset.checked_mul(self.bottom)?)?;
            let bottom = self.bottom.checked_mul(den)?;
            let amount = i64::try_from(divide(top, bottom)).ok()?;
            Some(if top % bottom == 0 { Scaled::Exact(amount) } else { Scaled::Rounded(amount) })
        };
        scaled().unwrap_or(Scaled::TooLarge)
    }
}

/// Returns `top / bottom` rounded half to even; `bottom` is positive.
pub(super) fn divide(top: i128, bottom: i128) -> i128 {
    let whole = top.div_euclid(bottom);
    let rest = top.rem_euclid(bottom);
    match rest.cmp(&(bottom - rest)) {
        std::cmp::Ordering::Less => whole,
        std::cmp::Ordering::Greater => whole + 1,
        std::cmp::Ordering::Equal => whole + (whole & 1),
    }
}

/// Writes `amount * den / num` with at most `places` decimals, rounded half to even, without trailing zeros.
/// Returns `None` where even that many digits do not fit.
pub(super) fn write(amount: i64, num: i128, den: i128, places: u32) -> Option<String> {
    let power = 10_i128.checked_pow(places)?;
    let scaled = divide(i128::from(amount).checked_mul(den)?.checked_mul(power)?, num);
    Some(write_scaled(scaled, places))
}

/// Writes `scaled / 10^places` without trailing zeros.
fn write_scaled(scaled: i128, places: u32) -> String {
    let sign = if scaled < 0 { "-" } else { "" };
    let digits = scaled.unsigned_abs().to_string();
    let width = places as usize + 1;
    let digits = format!("{digits:0>width$}");
    let (whole, part) = digits.split_at(digits.len() - places as usize);
    let part = part.trim_end_matches('0');
    if part.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") }
}
