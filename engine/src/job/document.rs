//! A TOML text with the places of its keys and values, and the pieces of it that make up a job.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::problem::Problem;
use crate::source::{File, Span};
use crate::toml_help;

/// A parsed TOML text. It has a table even where the text is faulty: what could be read, with every syntax error beside it.
#[derive(Debug)]
pub struct Document<'a> {
    file: &'a File,
    table: Spanned<DeTable<'a>>,
    problems: Vec<Problem>,
}

impl<'a> Document<'a> {
    /// Parses the text of a file.
    pub fn parse(file: &'a File) -> Document<'a> {
        let (table, errors) = DeTable::parse_recoverable(file.text());
        let problems = errors.iter().map(|error| syntax_problem(file, error)).collect();
        Document { file, table, problems }
    }

    /// Parses a file up to its first list of tables (`[[box]]`), behind which the site cannot stand, if what comes before is sound by
    /// itself. The places in it are those of the whole file.
    pub(crate) fn head(file: &'a File) -> Option<Document<'a>> {
        let text = file.text();
        let end = if text.starts_with("[[") { 0 } else { text.find("\n[[").map_or(text.len(), |at| at + 1) };
        let (table, errors) = DeTable::parse_recoverable(text.get(..end)?);
        errors.is_empty().then_some(Document { file, table, problems: Vec::new() })
    }

    /// Returns the syntax errors.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Returns the top table.
    pub fn table(&self) -> &DeTable<'a> {
        self.table.get_ref()
    }

    /// Returns the whole text as one part of a job.
    pub fn part(&self) -> Part<'_> {
        Part { table: self.table.get_ref(), file: self.file, header: self.file.span(0..0), faults: &self.problems }
    }
}

/// A table that describes a job or a piece of one. A job file is one part; a trial lays its own table over a base.
#[derive(Clone, Copy, Debug)]
pub struct Part<'a> {
    /// The table: `site`, `room`, `box` … are its keys.
    pub table: &'a DeTable<'a>,
    /// The file whose bytes the table's places count.
    pub file: &'a File,
    /// What to point at where the table lacks something.
    pub header: Span,
    /// Syntax errors of the file, if any. They go into the result of the load; what may only follow from them is left out.
    pub faults: &'a [Problem],
}

impl<'a> Part<'a> {
    /// Returns a value of the part's file, with its place.
    pub(super) fn at(self, value: &'a Spanned<DeValue<'a>>) -> At<'a> {
        At { value, file: self.file }
    }

    /// Returns a table inside this one as a part of its own.
    pub(super) fn inside(self, table: &'a DeTable<'a>, header: Span) -> Part<'a> {
        Part { table, file: self.file, header, faults: &[] }
    }
}

/// A value and the file it stands in.
#[derive(Clone, Copy)]
pub(super) struct At<'a> {
    pub(super) value: &'a Spanned<DeValue<'a>>,
    pub(super) file: &'a File,
}

impl<'a> At<'a> {
    /// Returns the place of the whole value, quotes and all; of a table with a header, the header.
    pub(super) fn span(self) -> Span {
        self.file.span(self.value.span())
    }

    /// Returns the value of a text.
    pub(super) fn text(self) -> Option<&'a str> {
        match self.value.get_ref() {
            DeValue::String(text) => Some(text.as_ref()),
            _ => None,
        }
    }

    /// Returns the place of some bytes of a text value. With escapes in between it is the whole value.
    pub(super) fn within(self, range: std::ops::Range<usize>) -> Span {
        let whole = self.value.span();
        let raw = self.file.text().get(whole.clone()).unwrap_or("");
        let plain = self.text().filter(|text| raw.get(1..raw.len().saturating_sub(1)) == Some(text));
        match plain {
            Some(text) if range.start < range.end && text.get(range.clone()).is_some() => {
                let start = whole.start + 1;
                self.file.span(start + range.start..start + range.end)
            }
            _ => self.file.span(whole),
        }
    }

    /// Returns the value as it stands in the file.
    pub(super) fn raw(self) -> &'a str {
        self.file.text().get(self.value.span()).unwrap_or("")
    }

    /// Returns what the value is, in plain words.
    pub(super) fn what(self) -> &'static str {
        match self.value.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "yes or no",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        }
    }
}

/// The tables that together describe one thing. A key of a later one stands over the same key of an earlier one.
#[derive(Clone, Default)]
pub(super) struct Parts<'a> {
    first: Option<Part<'a>>,
    more: Vec<Part<'a>>,
}

impl<'a> Parts<'a> {
    /// Returns the parts of a thing described by one table.
    pub(super) fn one(part: Part<'a>) -> Parts<'a> {
        Parts { first: Some(part), more: Vec::new() }
    }

    /// Lays another table over those already there.
    pub(super) fn push(&mut self, part: Part<'a>) {
        match self.first {
            None => self.first = Some(part),
            Some(_) => self.more.push(part),
        }
    }

    /// Returns the tables, earliest first.
    pub(super) fn iter(&self) -> impl DoubleEndedIterator<Item = Part<'a>> + '_ {
        self.first.iter().chain(&self.more).copied()
    }

    /// Returns the value of a key: that of the latest table that has it.
    pub(super) fn get(&self, key: &str) -> Option<At<'a>> {
        self.iter().rev().find_map(|part| part.table.get(key).map(|value| part.at(value)))
    }

    /// Returns the keys with the values that stand, each key once.
    pub(super) fn entries(&self) -> impl Iterator<Item = (Key<'a>, At<'a>)> + '_ {
        let all = self.first.iter().chain(&self.more).copied().enumerate();
        all.flat_map(move |(at, part)| {
            let over = self.more.get(at..).unwrap_or(&[]);
            part.table
                .iter()
                .filter(move |(key, _)| !over.iter().any(|later| later.table.contains_key(key.get_ref().as_ref())))
                .map(move |(key, value)| {
                    (Key { text: key.get_ref(), span: part.file.span(key.span()) }, part.at(value))
                })
        })
    }
}

/// A key and its place.
#[derive(Clone, Copy)]
pub(super) struct Key<'a> {
    pub(super) text: &'a str,
    pub(super) span: Span,
}

/// Says a syntax error in our own form: no final period, and what to do for the slips people make with units.
fn syntax_problem(file: &File, error: &toml::de::Error) -> Problem {
    let text = file.text();
    let range = error.span().unwrap_or(0..0);
    // An error "at the end" has an empty range; a character is easier to see than a gap.
    let range = if range.is_empty() { widen(text, range.start) } else { range };
    let start = range.start;
    let problem = Problem::new(file.span(range), error.message().to_owned());
    if text.get(start..).is_some_and(|rest| rest.starts_with(toml_help::CURLY)) {
        return helped(problem, toml_help::help(error.message(), text, start));
    }
    match error.message() {
        message if message.starts_with("string values must be quoted") || message.starts_with("missing opening quote") => {
            problem.label("no quotes").help("put text and amounts with a unit in quotes: `\"48 in\"`, or `'4 ft 6 1/2\"'` where inches are marked by a quote")
        }
        "duplicate key" => problem.label("again").help("write each key and each `[table]` once; a list of tables is written `[[box]]`"),
        message => helped(problem, toml_help::help(message, text, start)),
    }
}

fn helped(problem: Problem, help: Option<String>) -> Problem {
    match help {
        Some(help) => problem.help(help),
        None => problem,
    }
}

fn widen(text: &str, at: usize) -> std::ops::Range<usize> {
    match text.get(at..).and_then(|rest| rest.chars().next()) {
        Some(next) if next != '\n' && next != '\r' => at..at + next.len_utf8(),
        _ => at.min(text.len())..at.min(text.len()),
    }
}
