//! Trial files as written.

use std::collections::BTreeMap;

use jiff::civil::Date;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::inspection::finding::Outcome;
use crate::job::{Document, Part};
use crate::problem::{self, Problem};
use crate::source::{File, Span};

/// What a trial expects of its rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Expected {
    /// A check came out this way, and none worse.
    Outcome(Outcome),
    /// The rule left every item alone.
    NotApplicable,
}

impl Expected {
    const ALL: [(&'static str, Expected); 6] = [
        ("met", Expected::Outcome(Outcome::Met)),
        ("correction", Expected::Outcome(Outcome::Correction)),
        ("to_measure", Expected::Outcome(Outcome::ToMeasure)),
        ("permitted", Expected::Outcome(Outcome::Permitted)),
        ("not_applicable", Expected::NotApplicable),
        ("excepted", Expected::Outcome(Outcome::Excepted)),
    ];

    /// Returns the word of an outcome in trials.
    pub fn word(self) -> &'static str {
        match self {
            Expected::Outcome(outcome) => outcome.word(),
            Expected::NotApplicable => "not_applicable",
        }
    }
}

/// One trial.
#[derive(Clone, Debug)]
pub struct Trial<'a> {
    /// Id of the rule.
    pub rule: (String, Span),
    /// What it shows.
    pub name: String,
    /// Outcome expected, with its place.
    pub expect: (Expected, Span),
    /// The exception that is to free the item, by its section or name; any where none is named.
    pub by: Option<(String, Span)>,
    /// Only this item counts.
    pub item: Option<(String, Span)>,
    /// What must be found, in trade form.
    pub found: Option<(String, Span)>,
    /// Run in this place instead of the ruleset alone.
    pub place: Option<String>,
    /// Permit date.
    pub permit_date: Option<Date>,
    /// The base it stands on, then its own tables.
    pub parts: Vec<Part<'a>>,
}

impl Trial<'_> {
    /// Returns the trial without what its job is made of, for those who hold the job already.
    pub(super) fn without_parts(self) -> Trial<'static> {
        let Trial { rule, name, expect, by, item, found, place, permit_date, parts: _ } = self;
        Trial { rule, name, expect, by, item, found, place, permit_date, parts: Vec::new() }
    }
}

const KEYS: &[&str] = &["rule", "name", "base", "expect", "by", "item", "found", "place", "permit_date", "job"];

/// Reads the trials of a file. All that is wrong with it is reported together.
pub(super) fn trials<'a>(file: &'a File, document: &'a Document<'a>) -> (Vec<Trial<'a>>, Vec<Problem>) {
    let mut reader = Reader { file, problems: document.problems().to_vec(), bases: BTreeMap::new() };
    let table = document.table();
    for key in table.keys() {
        if !matches!(key.get_ref().as_ref(), "base" | "trial") {
            let mut problem = Problem::new(file.span(key.span()), format!("a trial file has no `{}`", key.get_ref()));
            problem.help = problem::did_you_mean(key.get_ref(), ["base", "trial"]);
            reader.problems.push(problem);
        }
    }
    if let Some(DeValue::Table(bases)) = table.get("base").map(Spanned::get_ref) {
        for (name, value) in bases {
            if let DeValue::Table(base) = value.get_ref() {
                reader.bases.insert(name.get_ref().as_ref(), part(file, base, value));
            }
        }
    }
    let mut trials = Vec::new();
    if let Some(DeValue::Array(list)) = table.get("trial").map(Spanned::get_ref) {
        for value in list {
            if let DeValue::Table(table) = value.get_ref() {
                trials.extend(reader.trial(table, file.span(value.span())));
            }
        }
    }
    (trials, reader.problems)
}

fn part<'a>(file: &'a File, table: &'a DeTable<'a>, value: &Spanned<DeValue<'_>>) -> Part<'a> {
    Part { table, file, header: file.span(value.span()), faults: &[] }
}

struct Reader<'a> {
    file: &'a File,
    problems: Vec<Problem>,
    bases: BTreeMap<&'a str, Part<'a>>,
}

impl<'a> Reader<'a> {
    fn trial(&mut self, table: &'a DeTable<'a>, header: Span) -> Option<Trial<'a>> {
        for key in table.keys() {
            if !KEYS.contains(&key.get_ref().as_ref()) {
                let span = self.file.span(key.span());
                let mut problem = Problem::new(span, format!("a trial has no `{}`", key.get_ref()));
                problem.help = problem::did_you_mean(key.get_ref(), KEYS.iter().copied());
                self.problems.push(problem);
            }
        }
        let rule = self.required(table, "rule", header);
        let word = self.required(table, "expect", header);
        let expect = word.and_then(|(word, span)| self.expected(&word, span));
        let mut parts = Vec::new();
        if let Some((name, span)) = self.text(table, "base") {
            match self.bases.get(name.as_str()) {
                Some(base) => parts.push(*base),
                None => {
                    let mut problem = Problem::new(span, format!("this file has no base `{name}`"));
                    problem.help = problem::did_you_mean(&name, self.bases.keys().copied());
                    self.problems.push(problem);
                }
            }
        }
        if let Some(value) = table.get("job")
            && let DeValue::Table(job) = value.get_ref()
        {
            parts.push(part(self.file, job, value));
        }
        let by = self.text(table, "by");
        if let (Some((_, span)), Some((expected, _))) = (&by, &expect)
            && *expected != Expected::Outcome(Outcome::Excepted)
        {
            let problem = Problem::new(*span, "only what is excepted is excepted by something");
            self.problems.push(problem.help("write `expect = \"excepted\"`, or leave `by` out"));
        }
        Some(Trial {
            by,
            name: self.text(table, "name").map(|(name, _)| name).unwrap_or_default(),
            item: self.text(table, "item"),
            found: self.text(table, "found"),
            place: self.text(table, "place").map(|(place, _)| place),
            permit_date: self.date(table, "permit_date"),
            rule: rule?,
            expect: expect?,
            parts,
        })
    }

    fn expected(&mut self, word: &str, span: Span) -> Option<(Expected, Span)> {
        if let Some((_, expected)) = Expected::ALL.iter().find(|(known, _)| *known == word) {
            return Some((*expected, span));
        }
        let mut problem = Problem::new(span, format!("`{word}` is no outcome"));
        problem.help = problem::did_you_mean(word, Expected::ALL.iter().map(|(known, _)| *known));
        self.problems.push(problem);
        None
    }

    fn required(&mut self, table: &DeTable<'_>, key: &str, header: Span) -> Option<(String, Span)> {
        if table.get(key).is_none() {
            self.problems.push(Problem::new(header, format!("this trial has no `{key}`")).label(format!("no `{key}`")));
        }
        self.text(table, key)
    }

    fn text(&mut self, table: &DeTable<'_>, key: &str) -> Option<(String, Span)> {
        let value = table.get(key)?;
        let span = self.file.span(value.span());
        match value.get_ref() {
            DeValue::String(text) => Some((text.as_ref().to_owned(), span)),
            _ => {
                self.problems
                    .push(Problem::new(span, format!("`{key}` of a trial is a text")).help("put it in quotes"));
                None
            }
        }
    }

    fn date(&mut self, table: &DeTable<'_>, key: &str) -> Option<Date> {
        let value = table.get(key)?;
        let span = self.file.span(value.span());
        let date = match value.get_ref() {
            DeValue::Datetime(date) => date.to_string().parse().ok(),
            _ => None,
        };
        if date.is_none() {
            self.problems
                .push(Problem::new(span, format!("`{key}` of a trial is a date")).help("write it as 2023-05-10"));
        }
        date
    }
}
