//! Answers as lines, and what is said of a wrong one.

use storystick_engine::model::{KindSpec, Meant, Type, meant};
use storystick_engine::problem::{Problem, did_you_mean};
use storystick_engine::source::{File, Span};

/// One answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'a> {
    pub(super) key: &'a str,
    pub(super) rest: &'a str,
    /// The rest, or the key where there is none.
    pub(super) at: Span,
}

/// Returns the answers of a file; empty lines and comments are none.
pub(super) fn lines(file: &File) -> Vec<Line<'_>> {
    let text = file.text();
    let mut start = 0;
    let mut found = Vec::new();
    for whole in text.split_inclusive('\n') {
        let line = whole.trim();
        if !line.is_empty() && !line.starts_with('#') {
            let from = start + (whole.len() - whole.trim_start().len());
            let (key, rest) = line.split_once(char::is_whitespace).map_or((line, ""), |(key, rest)| (key, rest.trim()));
            let range = if rest.is_empty() {
                from..from + key.len()
            } else {
                from + line.len() - rest.len()..from + line.len()
            };
            found.push(Line { key, rest, at: file.span(range) });
        }
        start += whole.len();
    }
    found
}

/// Returns the words that a field of a kind takes.
pub(super) fn words(spec: &KindSpec, field: &str) -> &'static [&'static str] {
    match spec.fields.iter().find(|found| found.name == field).map(|found| &found.ty) {
        Some(Type::Word(words)) => words,
        _ => &[],
    }
}

/// Most words that a name of the trade has: `garage door opener`.
const LONGEST: usize = 3;

/// Returns the kind that an answer begins with, however people say it, and the rest of the answer.
pub(super) fn kind<'t>(
    line: &Line<'_>,
    text: &'t str,
    of: &str,
    kinds: &'static [&'static str],
) -> Result<(String, &'t str), Box<Problem>> {
    let mut ends: Vec<usize> = Vec::new();
    let mut at = 0;
    for part in text.split_whitespace().take(LONGEST) {
        at += text.get(at..).and_then(|rest| rest.find(part)).unwrap_or(0) + part.len();
        ends.push(at);
    }
    for end in ends.iter().rev() {
        let (said, rest) = text.split_at(*end);
        match meant(said.trim(), kinds) {
            Meant::One(kind) => return Ok((kind.to_owned(), rest)),
            Meant::Several(several) => {
                let help = format!("write one of: {}", several.join(", "));
                return Err(wrong(line, format!("`{}` may mean several things here", said.trim()), help));
            }
            Meant::Nothing => {}
        }
    }
    let said = text.split_whitespace().next().unwrap_or_default().replace('-', "_");
    let all = format!("kinds of {of}: {}", kinds.join(", "));
    let help = did_you_mean(&said, kinds.iter().copied()).map_or(all.clone(), |near| format!("{near}; {all}"));
    Err(wrong(line, format!("there is no kind of {of} `{said}`"), help))
}

/// Returns what is wrong with an answer, and what to do.
pub(super) fn wrong(line: &Line<'_>, message: String, help: impl Into<String>) -> Box<Problem> {
    Box::new(Problem::new(line.at, message).label("this answer").help(help))
}
