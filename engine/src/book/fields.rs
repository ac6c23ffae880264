//! Reads the tables of a ruleset's TOML files: every key and value with its place, every error kept.

use jiff::civil::Date;
use toml::de::{DeTable, DeValue};

use crate::problem::{Problem, did_you_mean};
use crate::source::{File, Span};
use crate::toml_help;

/// A value of a TOML file with its place.
pub(super) type Spanned<T> = toml::Spanned<T>;

/// A name or text with the place where it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The text.
    pub text: String,
    /// Where.
    pub span: Span,
}

/// Parses a TOML file. One that is not sound gives all its syntax errors and nothing else: what would be read from the
/// rest would mostly be wrong for the same reason.
pub(super) fn parse<'a>(file: &'a File, problems: &mut Vec<Problem>) -> Option<DeTable<'a>> {
    let (table, errors) = DeTable::parse_recoverable(file.text());
    let sound = errors.is_empty();
    let mut told: Vec<usize> = Vec::new();
    for error in errors {
        let at = error.span().unwrap_or(0..0);
        // What else is wrong with a line follows from the first.
        let line = file.text().get(..at.start).map_or(0, |before| before.matches('\n').count());
        if told.contains(&line) {
            continue;
        }
        told.push(line);
        let text = error.message();
        let mut chars = text.chars();
        let message: String = chars.next().map(|first| first.to_lowercase().collect()).unwrap_or_default();
        let start = at.start;
        let problem = Problem::new(place(file, at), format!("{message}{}", chars.as_str()))
            .label("the file can't be read from here");
        problems.push(with_help(problem, toml_help::help(text, file.text(), start)));
    }
    sound.then(|| table.into_inner())
}

/// Returns the first line that says something: what to point at when a whole file is to blame.
pub(super) fn first_line(file: &File) -> Span {
    let text = file.text();
    let start = text.len() - text.trim_start().len();
    let line = text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("");
    file.span(start..start + line.trim_end().len())
}

/// Returns the place of a range that the parser gave, which may end past the text.
fn place(file: &File, range: std::ops::Range<usize>) -> Span {
    let end = range.end.min(file.text().len());
    file.span(range.start.min(end)..end)
}

/// Returns the day of a TOML date that has no time.
pub(super) fn day(value: &DeValue<'_>) -> Option<Date> {
    let written = value.as_datetime()?;
    match (written.date, written.time, written.offset) {
        (Some(date), None, None) => Date::new(date.year as i16, date.month as i8, date.day as i8).ok(),
        _ => None,
    }
}

/// Returns what kind of value was found, for messages.
pub(super) fn found(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "this is a text",
        DeValue::Integer(_) | DeValue::Float(_) => "this is a number",
        DeValue::Boolean(_) => "this is true or false",
        DeValue::Datetime(_) => "this is a date or time",
        DeValue::Array(_) => "this is a list",
        DeValue::Table(_) => "this is a table",
    }
}

/// One table of a file, read key by key.
pub(super) struct Fields<'a, 'p> {
    /// The file.
    pub(super) file: &'a File,
    /// The table.
    pub(super) table: &'a DeTable<'a>,
    /// What to point at when a key is missing.
    pub(super) header: Span,
    /// What the table is called in messages: `the manifest`, `` entry `nm.secured_from_box` ``.
    pub(super) what: String,
    /// Where errors go.
    pub(super) problems: &'p mut Vec<Problem>,
}

impl<'a, 'p> Fields<'a, 'p> {
    /// Returns a reader of a table and reports the keys that it can't have.
    pub(super) fn new(
        file: &'a File,
        table: &'a DeTable<'a>,
        header: Span,
        what: impl Into<String>,
        known: &[&str],
        problems: &'p mut Vec<Problem>,
    ) -> Fields<'a, 'p> {
        let what = what.into();
        for (key, _) in in_file_order(table) {
            let name: &str = key.get_ref();
            if !known.contains(&name) {
                let problem =
                    Problem::new(file.span(key.span()), format!("{what} has no `{name}`")).label("unknown key");
                problems.push(with_help(problem, did_you_mean(name, known.iter().copied())));
            }
        }
        Fields { file, table, header, what, problems }
    }

    /// Returns whether a key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Returns a value with its place.
    pub(super) fn value(&self, key: &str) -> Option<(&'a Spanned<DeValue<'a>>, Span)> {
        let value = self.table.get(key)?;
        Some((value, self.file.span(value.span())))
    }

    /// Returns the place of a key.
    pub(super) fn key_span(&self, key: &str) -> Span {
        self.table.get_key_value(key).map_or(self.header, |(key, _)| self.file.span(key.span()))
    }

    /// Reports that a value is not of the right kind.
    pub(super) fn wrong(&mut self, key: &str, value: &Spanned<DeValue<'_>>, must: &str) {
        let span = self.file.span(value.span());
        self.problems
            .push(Problem::new(span, format!("`{key}` of {} must be {must}", self.what)).label(found(value.get_ref())));
    }

    /// Reports a missing key.
    pub(super) fn missing(&mut self, key: &str, help: impl Into<String>) {
        self.problems
            .push(Problem::new(self.header, format!("{} has no `{key}`", self.what)).label("missing").help(help));
    }

    /// Returns a text, if it is there.
    pub(super) fn text(&mut self, key: &str) -> Option<Written> {
        let (value, span) = self.value(key)?;
        match value.get_ref().as_str().map(str::trim) {
            Some("") => {
                self.problems
                    .push(Problem::new(span, format!("`{key}` of {} is empty", self.what)).label("nothing written"));
                None
            }
            Some(text) => Some(Written { text: text.to_owned(), span }),
            None => {
                self.wrong(key, value, "a text in quotes");
                let single = !matches!(value.get_ref(), DeValue::Array(_) | DeValue::Table(_));
                let written = self.file.text().get(value.span()).filter(|_| single);
                if let (Some(written), Some(problem)) = (written, self.problems.last_mut()) {
                    problem.help = Some(format!("write `{key} = \"{written}\"`"));
                }
                None
            }
        }
    }

    /// Returns a text that must be there.
    pub(super) fn need_text(&mut self, key: &str, help: &str) -> Option<Written> {
        if !self.has(key) {
            self.missing(key, help);
        }
        self.text(key)
    }

    /// Returns a day, if it is there.
    pub(super) fn date(&mut self, key: &str) -> Option<(Date, Span)> {
        let (value, span) = self.value(key)?;
        match day(value.get_ref()) {
            Some(date) => Some((date, span)),
            None => {
                self.wrong(key, value, "a day without quotes, such as 2022-01-01");
                None
            }
        }
    }

    /// Returns one of a few words, if it is there.
    pub(super) fn word<T>(&mut self, key: &str, of: impl Fn(&str) -> Option<T>, words: &[&str]) -> Option<T> {
        let written = self.text(key)?;
        let word = of(&written.text);
        if word.is_none() {
            self.unknown_word(key, &written, words);
        }
        word
    }

    /// Reports a word that is none of those that fit.
    pub(super) fn unknown_word(&mut self, key: &str, written: &Written, words: &[&str]) {
        let message = format!("`{key}` of {} can't be `{}`", self.what, written.text);
        let problem = Problem::new(written.span, message).label("unknown word");
        self.problems.push(with_help(problem, did_you_mean(&written.text, words.iter().copied())));
    }

    /// Returns one text or a list of texts.
    pub(super) fn texts(&mut self, key: &str) -> Vec<Written> {
        let Some((value, span)) = self.value(key) else { return Vec::new() };
        match value.get_ref() {
            DeValue::String(text) => vec![Written { text: text.trim().to_owned(), span }],
            DeValue::Array(array) => {
                let mut texts = Vec::new();
                for item in array.iter() {
                    match item.get_ref().as_str() {
                        Some(text) => {
                            texts.push(Written { text: text.trim().to_owned(), span: self.file.span(item.span()) });
                        }
                        None => self.wrong(key, item, "a text in quotes or a list of them"),
                    }
                }
                texts
            }
            _ => {
                self.wrong(key, value, "a text in quotes or a list of them");
                Vec::new()
            }
        }
    }

    /// Returns the tables of an array of tables, each with what to point at.
    pub(super) fn tables(&mut self, key: &str) -> Vec<(&'a DeTable<'a>, Span)> {
        let Some((value, _)) = self.value(key) else { return Vec::new() };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(key, value, &format!("written as [[{key}]]"));
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in array.iter() {
            match item.get_ref().as_table() {
                Some(table) => tables.push((table, self.file.span(item.span()))),
                None => self.wrong(key, item, &format!("written as [[{key}]]")),
            }
        }
        tables
    }

    /// Returns the days `from` and `until`, which must stand in this order.
    pub(super) fn period(&mut self) -> (Option<Date>, Option<Date>) {
        let (from, until) = (self.date("from"), self.date("until"));
        if let (Some((from, from_span)), Some((until, span))) = (from, until)
            && until < from
        {
            let message = format!("{} ends on {until}, before it begins on {from}", self.what);
            let problem = Problem::new(span, message).label("last day").mark(from_span, "first day");
            self.problems.push(problem);
        }
        (from.map(|(day, _)| day), until.map(|(day, _)| day))
    }
}

/// Returns the keys and values of a table in the order in which they were written.
pub(super) fn in_file_order<'a>(
    table: &'a DeTable<'a>,
) -> Vec<(&'a Spanned<std::borrow::Cow<'a, str>>, &'a Spanned<DeValue<'a>>)> {
    let mut all: Vec<_> = table.iter().collect();
    all.sort_by_key(|(key, _)| key.span().start);
    all
}

/// Adds help where there is some.
pub(super) fn with_help(problem: Problem, help: Option<String>) -> Problem {
    match help {
        Some(help) => problem.help(help),
        None => problem,
    }
}
