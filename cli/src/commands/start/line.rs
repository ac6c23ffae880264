//! Answers as lines, and what is said of a wrong one.

use storystick_engine::model::{KindSpec, Type};
use storystick_engine::problem::Problem;
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

/// Returns what is wrong with an answer, and what to do.
pub(super) fn wrong(line: &Line<'_>, message: String, help: impl Into<String>) -> Box<Problem> {
    Box::new(Problem::new(line.at, message).label("this answer").help(help))
}
