//! One value as a ruleset writes it: a quantity in trade form, a number, yes or no, a day, or a word.

use toml::de::DeValue;

use super::fields::{Spanned, day, found};
use super::value::{Scalar, ScalarType};
use crate::model::Symbols;
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity, QuantityError, parse, parse_any};
use crate::source::{File, Span};

/// A written value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Literal {
    /// What it says by itself.
    pub scalar: Scalar,
    /// As it was written, without quotes.
    pub text: String,
    /// Where.
    pub span: Span,
    /// Whether it stood in quotes, so that another reading may be asked for.
    quoted: bool,
}

impl Literal {
    /// Reads a value; `want` is what the ruleset says it is, where it says so.
    pub(super) fn read(
        file: &File,
        value: &Spanned<DeValue<'_>>,
        want: Option<ScalarType>,
        symbols: &mut Symbols,
    ) -> Result<Literal, Problem> {
        let span = file.span(value.span());
        let new = |scalar, text: &str, quoted| Literal { scalar, text: text.to_owned(), span, quoted };
        let literal = match value.get_ref() {
            DeValue::String(text) => return Literal::of_text(text.trim(), span, want, symbols),
            DeValue::Integer(number) if number.radix() == 10 => {
                new(bare_number(number.as_str(), span)?, number.as_str(), false)
            }
            DeValue::Float(number) => new(bare_number(number.as_str(), span)?, number.as_str(), false),
            DeValue::Boolean(flag) => new(Scalar::Flag(*flag), if *flag { "yes" } else { "no" }, false),
            other => match day(other) {
                Some(date) => new(Scalar::Quantity(Quantity::date(date)), &date.to_string(), false),
                None => {
                    return Err(Problem::new(span, "this can't be a value of the code")
                        .label(found(other))
                        .help("write a text in quotes, a plain number, true or false, or a day such as 2022-01-01"));
                }
            },
        };
        match want {
            Some(want) => literal.reread(want, symbols),
            None => Ok(literal),
        }
    }

    /// Reads a value that stood in quotes, or the key of a row.
    pub(super) fn of_text(
        text: &str,
        span: Span,
        want: Option<ScalarType>,
        symbols: &mut Symbols,
    ) -> Result<Literal, Problem> {
        let new = |scalar| Literal { scalar, text: text.to_owned(), span, quoted: true };
        if text.is_empty() {
            return Err(Problem::new(span, "this value is empty").label("nothing written"));
        }
        match want {
            None => {}
            Some(ScalarType::Quantity(dimension)) => {
                return parse(text, dimension)
                    .map(|quantity| new(Scalar::Quantity(quantity)))
                    .map_err(|error| refused(span, &error));
            }
            Some(ScalarType::Text) => return Ok(new(Scalar::Text(symbols.intern(text)))),
            Some(ScalarType::Flag) => {
                return Err(Problem::new(span, "this must be true or false")
                    .label("a text here")
                    .help("write it without quotes"));
            }
        }
        match parse_any(text) {
            Some(quantity) => Ok(new(Scalar::Quantity(quantity))),
            None if looks_like_a_quantity(text) => Err(Problem::new(span, format!("`{text}` is no quantity"))
                .label("the unit is not known")
                .help("write a number with a unit of the trade, such as `12 in`, `20 A` or `14 AWG`; a word begins with a letter")),
            None => Ok(new(Scalar::Text(symbols.intern(text)))),
        }
    }

    /// Returns the same value read as `want`: `2.5 mm2` is a conductor size or an area, as the entry has it.
    pub(super) fn reread(self, want: ScalarType, symbols: &mut Symbols) -> Result<Literal, Problem> {
        if self.scalar.ty() == want {
            return Ok(self);
        }
        if self.quoted {
            return Literal::of_text(&self.text, self.span, Some(want), symbols);
        }
        let problem = Problem::new(self.span, format!("this must be {}", with_article(want)))
            .label(format!("{} here", with_article(self.scalar.ty())));
        Err(match want {
            ScalarType::Quantity(dimension) => problem.help(dimension.units_help()),
            ScalarType::Text => problem.help("write it in quotes"),
            ScalarType::Flag => problem,
        })
    }
}

fn bare_number(text: &str, span: Span) -> Result<Scalar, Problem> {
    parse(text, Dimension::Number).map(Scalar::Quantity).map_err(|error| refused(span, &error))
}

fn refused(span: Span, error: &QuantityError) -> Problem {
    let problem = Problem::new(span, error.message.clone());
    match &error.help {
        Some(help) => problem.help(help.clone()),
        None => problem,
    }
}

fn with_article(ty: ScalarType) -> &'static str {
    match ty {
        ScalarType::Quantity(dimension) => dimension.with_article(),
        ScalarType::Flag => "true or false",
        ScalarType::Text => "a text",
    }
}

/// Returns whether a text that is no quantity was probably meant to be one: a number, then letters: `12 inn`.
///
/// Such a text would otherwise pass as a word, and the slip would show far from its line. `5-15R` or `2x4` are words.
fn looks_like_a_quantity(text: &str) -> bool {
    let rest = text.trim_start_matches(['+', '-']);
    let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    if digits == 0 {
        return false;
    }
    let rest = rest.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | ' ' | ','));
    // `1/2` and `7` may be trade sizes.
    !rest.is_empty() && rest.chars().all(|c| c.is_alphabetic() || matches!(c, '"' | '\'' | '%' | '°' | ' ' | '²' | '³'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_unit_is_no_word() {
        for slip in ["12 inn", "12inn", "1/2 inhc", "20 ampers", "-3 x"] {
            assert!(looks_like_a_quantity(slip), "{slip}");
        }
        for word in ["bathroom", "5-15R", "2x4", "type 4X", "NM", "", "12/2-G", "1/2", "7"] {
            assert!(!looks_like_a_quantity(word), "{word}");
        }
    }
}
