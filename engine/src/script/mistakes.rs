//! What the parser found wrong, in the words of the rule language.

use rhai::{LexError, ParseError, ParseErrorType};

use super::place::Places;
use super::syntax;
use crate::problem::Problem;

/// Returns a parse error as a problem at its place.
pub(super) fn of_parser(error: &ParseError, places: &Places<'_>) -> Problem {
    if let ParseErrorType::AssignmentToInvalidLHS(_) = &*error.0
        && let Some(span) = places.lone_equals(error.1)
    {
        return Problem::new(span, "a single `=` does not compare").help("write `==`");
    }
    let span = places.token(error.1);
    let found = places.token_text(error.1);
    let (message, help) = match &*error.0 {
        _ if found.len() > syntax::TEXT => too_long(),
        ParseErrorType::Reserved(word) => foreign(word),
        ParseErrorType::BadInput(LexError::ImproperSymbol(word, _)) if syntax::is_shut(word) => foreign(word),
        ParseErrorType::BadInput(LexError::ImproperSymbol(_, says)) if says.starts_with("expected ") => {
            (says.clone(), None)
        }
        ParseErrorType::BadInput(LexError::ImproperSymbol(word, _)) if word == "=" => {
            (String::from("a single `=` does not compare"), Some("write `==`"))
        }
        ParseErrorType::BadInput(LexError::ImproperSymbol(word, _)) if !word.is_empty() => no_operator(word),
        ParseErrorType::BadInput(LexError::UnterminatedString) => {
            (String::from("the text does not end on its line"), Some("close it with `\"`"))
        }
        ParseErrorType::LiteralTooLarge(..) | ParseErrorType::BadInput(LexError::StringTooLong(_)) => too_long(),
        ParseErrorType::ExprTooDeep => (
            String::from("this is nested too deep"),
            Some("give parts of it a name with `let`, or make several rules of it"),
        ),
        ParseErrorType::MissingToken(due, _) if due == ";" => {
            let message = format!("expected `;`, found {}", shown(found));
            let help = slip(found, &message).unwrap_or("a statement ends with `;`");
            (message, Some(help))
        }
        ParseErrorType::MissingToken(due, _) => (format!("expected `{due}`, found {}", shown(found)), None),
        ParseErrorType::MissingSymbol(says) if says.contains("string") => {
            (format!("expected a text in double quotes, found {}", shown(found)), None)
        }
        ParseErrorType::PropertyExpected => (format!("expected the name of a field, found {}", shown(found)), None),
        ParseErrorType::VariableExpected => (format!("expected a name, found {}", shown(found)), None),
        ParseErrorType::UnexpectedEOF => (String::from("the rule ends too early"), Some("is a `}` or a `)` missing?")),
        ParseErrorType::BadInput(LexError::MalformedNumber(_)) => (
            format!("{} is no number", shown(found)),
            Some("write `12` or `1.25`; an amount with its unit is written `qty(\"12 in\")`"),
        ),
        ParseErrorType::MismatchedType(..) => (
            String::from("a condition is due here"),
            Some("compare it, such as `room.kind == \"kitchen\"`; `==` compares, a single `=` does not"),
        ),
        ParseErrorType::UnknownOperator(operator) => no_operator(operator),
        _ => (format!("{} can't stand here", shown(found)), None),
    };
    let problem = Problem::new(span, message.clone());
    match help.or_else(|| slip(found, &message)) {
        Some(help) => problem.help(help),
        None => problem,
    }
}

/// Returns what helps against a slip of somebody who writes as one speaks, or as other languages have it.
fn slip(found: &str, message: &str) -> Option<&'static str> {
    if message.starts_with("expected `at_most`") {
        return Some("one word with `_`: `keep A at_least B` is `>=`, `at_most` is `<=`, `equal_to` is `==`");
    }
    Some(match found {
        "and" => "write `&&` for and",
        "or" => "write `||` for or",
        "is" | "not" => "write `==` for is, `!=` for is not, `!(…)` for not",
        "then" => "write `{ … }` behind the condition",
        "=>" => "write `>=` for at least",
        "=<" => "write `<=` for at most",
        "'" => "a text stands in double quotes: `\"receptacle\"`",
        "else" => {
            "`else` follows its `keep` or `need` without a `;`, and an amount with its unit is an entry of the code"
        }
        _ if found.starts_with('"') && message.starts_with("expected a text") => {
            "close the text with a second `\"` on its line"
        }
        _ => return None,
    })
}

fn foreign(word: &str) -> (String, Option<&'static str>) {
    (
        format!("`{word}` is not part of the rule language"),
        Some(
            "a rule has `let`, `if`, `keep`, `need`, `look` and `skip`, and looks at lists with `any`, `every`, `count`, `sum`, `least` and `most`",
        ),
    )
}

fn no_operator(symbol: &str) -> (String, Option<&'static str>) {
    (
        format!("`{symbol}` is not part of the rule language"),
        Some("there are `+ - * /`, `== != < <= > >=`, `&& || !` and `in`"),
    )
}

fn too_long() -> (String, Option<&'static str>) {
    (format!("the text or name is longer than {} bytes", syntax::TEXT), Some("make it shorter"))
}

/// Returns what was found, as far as a message can show it.
fn shown(found: &str) -> String {
    match found.char_indices().nth(40) {
        _ if found.is_empty() => String::from("the end of the rule"),
        Some((end, _)) => format!("`{}…`", found.get(..end).unwrap_or("")),
        None => format!("`{found}`"),
    }
}
