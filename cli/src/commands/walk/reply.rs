//! What a person types at the prompt of a walk.

use storystick_engine::model::{Meant, meant};
use storystick_engine::problem::did_you_mean;
use storystick_engine::quantity::{Dimension, UnitSystem, parse};

use super::questions::{Wants, unit};
use crate::record::Written;

/// What was typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reply {
    /// A reading or a yes or no.
    Value(Written),
    /// Looked at: as it must be or not, and what was seen.
    Seen(bool, Option<String>),
    /// Leave it open and go on.
    Skip,
    /// The question before once more.
    Back,
    /// Stop.
    Quit,
    /// What can be typed here.
    Help,
}

/// Reads an answer.
///
/// # Errors
/// Why it is no answer to this question, and what would be one.
pub(super) fn read(line: &str, wants: &Wants, units: UnitSystem) -> Result<Reply, String> {
    let text = line.trim();
    match text.to_ascii_lowercase().as_str() {
        "" => return Err(String::from("nothing typed: `skip` leaves it open, `?` tells what can be typed")),
        "skip" | "s" => return Ok(Reply::Skip),
        "back" | "b" => return Ok(Reply::Back),
        "quit" | "q" => return Ok(Reply::Quit),
        "?" | "help" => return Ok(Reply::Help),
        _ => {}
    }
    match wants {
        Wants::Look => look(text),
        Wants::Flag => match yes_or_no(text) {
            Some(flag) => Ok(Reply::Value(Written::Flag(flag))),
            None => Err(format!("`{text}` is neither `yes` nor `no`")),
        },
        Wants::Word(words) => word(text, words).map(|word| Reply::Value(Written::Text(word))),
        Wants::Amount(dimension) => amount(text, *dimension, units).map(Reply::Value),
        Wants::Amounts(dimension) => list(text, |part| match amount(part, *dimension, units)? {
            Written::Text(text) => Ok(text),
            other => Ok(other.to_string()),
        }),
        Wants::Text => Ok(Reply::Value(Written::Text(text.to_owned()))),
        Wants::Texts => list(text, |part| Ok(part.to_owned())),
    }
}

fn list(text: &str, one: impl Fn(&str) -> Result<String, String>) -> Result<Reply, String> {
    let parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
    parts.map(one).collect::<Result<Vec<String>, String>>().map(|list| Reply::Value(Written::List(list)))
}

/// Reads `ok` or `no` with what was seen behind it: `no cracked at the door`.
fn look(text: &str) -> Result<Reply, String> {
    let (first, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let note = Some(rest.trim()).filter(|note| !note.is_empty()).map(str::to_owned);
    match yes_or_no(first.trim_end_matches([',', ':'])) {
        Some(ok) => Ok(Reply::Seen(ok, note)),
        None => Err(format!("`{text}` says neither `ok` nor `no`; what was seen may follow, as in `no, cracked`")),
    }
}

fn yes_or_no(text: &str) -> Option<bool> {
    match text.to_ascii_lowercase().as_str() {
        "ok" | "yes" | "y" | "true" => Some(true),
        "no" | "n" | "false" => Some(false),
        _ => None,
    }
}

fn word(text: &str, words: &'static [&'static str]) -> Result<String, String> {
    let flat = text.replace([' ', '-'], "_");
    match meant(text, words) {
        Meant::One(word) => return Ok(word.to_owned()),
        Meant::Several(several) => return Err(format!("`{text}` may mean {}", several.join(" or "))),
        Meant::Nothing => {}
    }
    let hint = did_you_mean(&flat, words.iter().copied()).map_or_else(String::new, |hint| format!("; {hint}"));
    Err(format!("`{text}` is none of {}{hint}", words.join(", ")))
}

fn amount(text: &str, dimension: Dimension, units: UnitSystem) -> Result<Written, String> {
    if yes_or_no(text).is_some() {
        return Err(format!("`{text}` tells no {}: measure it, or `skip`", dimension.name()));
    }
    if dimension == Dimension::Date {
        return crate::args::date(text).map(Written::Day);
    }
    let bare = text.starts_with(|first: char| first.is_ascii_digit() || first == '-' || first == '.')
        && text.chars().all(|letter| letter.is_ascii_digit() || matches!(letter, ' ' | '/' | '.' | '-'));
    let whole = match unit(dimension, units) {
        Some(unit) if bare => format!("{text} {unit}"),
        None if bare && dimension == Dimension::Temperature => {
            return Err(format!("`{text}` may be either scale: write `{text} C` or `{text} F`"));
        }
        _ => text.to_owned(),
    };
    if dimension == Dimension::Number
        && let Ok(number) = whole.parse()
    {
        return Ok(Written::Number(number));
    }
    parse(&whole, dimension).map(|_| Written::Text(whole)).map_err(|error| match error.help {
        Some(help) => format!("{}; {help}", error.message),
        None => error.message,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(line: &str, wants: &Wants) -> Result<Written, String> {
        match read(line, wants, UnitSystem::Customary)? {
            Reply::Value(value) => Ok(value),
            other => Err(format!("{other:?}")),
        }
    }

    #[test]
    fn a_bare_number_takes_the_unit_of_the_job() {
        let length = Wants::Amount(Dimension::Length);
        assert_eq!(value("11", &length), Ok(Written::Text("11 in".into())));
        assert_eq!(value(" 11 1/2 ", &length), Ok(Written::Text("11 1/2 in".into())));
        assert_eq!(value("2 ft", &length), Ok(Written::Text("2 ft".into())));
        let metric = read("300", &length, UnitSystem::Metric);
        assert_eq!(metric, Ok(Reply::Value(Written::Text("300 mm".into()))));
        assert_eq!(value("12", &Wants::Amount(Dimension::Conductor)), Ok(Written::Text("12 AWG".into())));
        assert_eq!(value("3", &Wants::Amount(Dimension::Number)), Ok(Written::Number(3)));
    }

    #[test]
    fn what_is_no_answer_says_what_would_be() {
        assert!(value("11 A", &Wants::Amount(Dimension::Length)).unwrap_err().contains("expected a length"));
        assert!(value("ok", &Wants::Amount(Dimension::Length)).unwrap_err().contains("measure it"));
        assert!(value("40", &Wants::Amount(Dimension::Temperature)).unwrap_err().contains("40 C"));
        assert!(value("finishd", &Wants::Word(&["set", "finished"])).unwrap_err().contains("finished"));
        assert!(value("perhaps", &Wants::Flag).is_err());
        assert!(read("hm", &Wants::Look, UnitSystem::Customary).is_err());
    }

    #[test]
    fn what_was_seen_may_follow_the_verdict() {
        let reply = read("no, cracked at the door", &Wants::Look, UnitSystem::Customary);
        assert_eq!(reply, Ok(Reply::Seen(false, Some("cracked at the door".into()))));
        assert_eq!(read("OK", &Wants::Look, UnitSystem::Customary), Ok(Reply::Seen(true, None)));
    }
}
