//! Entries as a ruleset writes them: the tables of `code/*.toml`.

use jiff::civil::Date;
use toml::de::{DeTable, DeValue};

use super::amendment::{Amendment, NewValue};
use super::amendment_reader::{self, Types};
use super::fields::{Fields, found, in_file_order, parse, with_help};
use super::origins::{Defaults, Evidence, evidence};
use super::reserved::is_reserved;
use super::value::{Matching, Scalar, ScalarType};
use crate::model::Symbols;
use crate::problem::{Problem, did_you_mean};
use crate::quantity::Dimension;
use crate::source::{File, Span};

/// An entry as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenEntry {
    /// Its name: `nm.secured_from_box`.
    pub key: String,
    /// The place of its name.
    pub span: Span,
    /// Its value.
    pub value: NewValue,
    /// What the keys of a table are called.
    pub key_label: Option<String>,
    /// Which row of a table a value finds.
    pub matching: Matching,
    /// First day in force, of the date that the place counts; none where it always was.
    pub from: Option<Date>,
    /// Last day in force.
    pub until: Option<Date>,
    pub(super) evidence: Evidence,
}

impl WrittenEntry {
    /// Returns the citation.
    pub fn cites(&self) -> &str {
        &self.evidence.cites
    }

    /// Returns where the value was read.
    pub fn source(&self) -> &str {
        &self.evidence.source
    }

    /// Returns how the value was checked.
    pub fn checked(&self) -> super::Checked {
        self.evidence.checked
    }

    /// Returns the remark of the ruleset's author.
    pub fn note(&self) -> Option<&str> {
        self.evidence.note.as_deref()
    }
}

/// The keys that make a table an entry.
const VALUE_KEYS: [&str; 3] = ["value", "list", "rows"];

const KEYS: &[&str] = &[
    "value", "list", "rows", "match", "key", "cites", "source", "checked", "note", "type", "key_type", "from", "until",
];

/// What a file of code holds.
#[derive(Debug, Default)]
pub(super) struct CodeFile {
    pub(super) entries: Vec<WrittenEntry>,
    pub(super) amends: Vec<Amendment>,
}

/// Reads a file of code, in the order in which it is written.
pub(super) fn read(file: &File, defaults: &Defaults, symbols: &mut Symbols, problems: &mut Vec<Problem>) -> CodeFile {
    let Some(table) = parse(file, problems) else { return CodeFile::default() };
    let mut walk = Walk { file, defaults, symbols, problems, out: CodeFile::default() };
    for (key, value) in in_file_order(&table) {
        let (name, span) = (key.get_ref().as_ref(), file.span(key.span()));
        if name == "amends" {
            walk.amendments(&table);
        } else {
            walk.member(name, span, value.get_ref());
        }
    }
    walk.out
}

struct Walk<'a, 'w> {
    file: &'a File,
    defaults: &'w Defaults,
    symbols: &'w mut Symbols,
    problems: &'w mut Vec<Problem>,
    out: CodeFile,
}

impl<'a> Walk<'a, '_> {
    fn amendments<'t>(&mut self, table: &'t DeTable<'t>)
    where
        'a: 't,
    {
        let file: &'t File = self.file;
        let mut fields =
            Fields { file, table, header: Span::NONE, what: String::from("this file"), problems: self.problems };
        for (table, header) in fields.tables("amends") {
            let read = amendment_reader::read(file, table, header, self.defaults, self.symbols, self.problems);
            self.out.amends.extend(read);
        }
    }

    /// Reads what stands under one name: an entry, or a group of them.
    fn member<'t>(&mut self, key: &str, span: Span, value: &'t DeValue<'t>)
    where
        'a: 't,
    {
        self.check_name(key, span);
        if let Some(values) = one_after_another(value) {
            for (table, range) in values {
                self.entry(key, self.file.span(range), table);
            }
            return;
        }
        let Some(table) = value.as_table() else {
            let problem = Problem::new(span, format!("`{key}` stands outside of an entry"));
            self.problems.push(
                problem
                    .label(found(value))
                    .help(format!("an entry is a table: write [{key}] with `value`, `list` or `rows`, and `cites`")),
            );
            return;
        };
        let holds = |value: &DeValue<'_>| value.is_table() || one_after_another(value).is_some();
        let group = table.iter().all(|(_, value)| holds(value.get_ref())) && !table.contains_key("rows");
        if !group {
            self.entry(key, span, table);
        } else if table.is_empty() {
            let problem = Problem::new(span, format!("`{key}` holds no entry")).label("empty");
            self.problems.push(problem.help("an entry has `value`, `list` or `rows`, and `cites`"));
        } else {
            for (name, value) in in_file_order(table) {
                self.member(&format!("{key}.{}", name.get_ref()), self.file.span(name.span()), value.get_ref());
            }
        }
    }

    fn entry<'t>(&mut self, key: &str, span: Span, table: &'t DeTable<'t>)
    where
        'a: 't,
    {
        let before = self.problems.len();
        let file: &'t File = self.file;
        // A group's own values would look like an entry that has entries inside.
        let inner = in_file_order(table).into_iter().find(|(name, value)| {
            !KEYS.contains(&name.get_ref().as_ref())
                && value.get_ref().as_table().is_some_and(|inner| VALUE_KEYS.iter().any(|key| inner.contains_key(*key)))
        });
        if let Some((name, _)) = inner {
            let problem = Problem::new(file.span(name.span()), format!("entry `{key}` can't hold another entry"));
            self.problems
                .push(problem.label("an entry inside an entry").mark(span, "this is an entry by its own keys"));
            return;
        }
        let mut fields = Fields::new(file, table, span, format!("entry `{key}`"), KEYS, self.problems);
        let types = Types { value: scalar_type(&mut fields, "type"), key: scalar_type(&mut fields, "key_type") };
        let value = amendment_reader::new_value(&mut fields, Some(types), self.symbols);
        let key_label = fields.text("key").map(|written| written.text);
        if let (Some(NewValue::Scalar(_) | NewValue::List(..)), true) = (&value, fields.has("key")) {
            let problem = Problem::new(fields.key_span("key"), "only a table has keys").label("does not belong here");
            fields.problems.push(problem.help("`key` says what the keys of `rows` are"));
        }
        let matching = matching(&mut fields, value.as_ref());
        if let Some(NewValue::Rows(rows, span)) = &value
            && rows.is_empty()
            && fields.problems.len() == before
        {
            let problem = Problem::new(*span, format!("entry `{key}` has no rows")).label("empty");
            fields.problems.push(problem.help("write `rows = { \"14 AWG\" = \"15 A\" }`"));
        }
        let evidence = evidence(&mut fields, self.defaults);
        let (from, until) = fields.period();
        if let (Some(value), Some(evidence)) = (value, evidence)
            && self.problems.len() == before
        {
            self.out.entries.push(WrittenEntry {
                key: key.to_owned(),
                span,
                value,
                key_label,
                matching,
                from,
                until,
                evidence,
            });
        }
    }

    /// Rules name an entry as `code.a.b`, so that its parts must be words of the rule language.
    fn check_name(&mut self, key: &str, span: Span) {
        let last = key.rsplit('.').next().unwrap_or(key);
        let fits = last.starts_with(|c: char| c.is_ascii_lowercase())
            && last.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        if !fits {
            let problem = Problem::new(span, format!("`{last}` can't be part of an entry's name"));
            self.problems.push(
                problem
                    .label("not a plain word")
                    .help("write small letters, digits and `_`, beginning with a letter, such as `secured_from_box`"),
            );
        } else if is_reserved(last) {
            let problem = Problem::new(span, format!("`{last}` can't be part of an entry's name"));
            self.problems.push(problem.label("a word of the rule language").help(format!(
                "rules could not read `code.{key}`; write another word, such as `{last}_allowed` or `{last}_value`"
            )));
        }
    }
}

/// Returns the values of an entry that is written as `[[a.b]]`, one for each time, each with its place.
fn one_after_another<'t>(value: &'t DeValue<'t>) -> Option<Vec<(&'t DeTable<'t>, std::ops::Range<usize>)>> {
    let values = value.as_array()?;
    let tables: Option<Vec<_>> = values.iter().map(|one| Some((one.get_ref().as_table()?, one.span()))).collect();
    tables.filter(|tables| !tables.is_empty())
}

/// Reads how a table finds its rows. Only amounts have a least and a greatest.
fn matching(fields: &mut Fields<'_, '_>, value: Option<&NewValue>) -> Matching {
    let words = Matching::ALL.map(|(_, word)| word);
    let Some(matching) = fields.word("match", Matching::of, &words) else { return Matching::Exact };
    let Some(value) = value else { return matching };
    let NewValue::Rows(rows, _) = value else {
        let problem = Problem::new(fields.key_span("match"), "only a table has rows to match");
        fields.problems.push(
            problem
                .label("does not belong here")
                .help("`match` says which of the `rows` a value between two keys finds"),
        );
        return matching;
    };
    let no_amount = rows.iter().map(|(key, _)| key).find(|key| !matches!(key.scalar, Scalar::Quantity(_)));
    if let (Some(key), true) = (no_amount, matching != Matching::Exact) {
        let message = format!("`match = \"{}\"` needs keys that are amounts", matching.word());
        fields.problems.push(
            Problem::new(fields.value("match").map_or(fields.header, |(_, span)| span), message)
                .label("not for this table")
                .mark(key.span, format!("this key is a {}", key.scalar.ty().name()))
                .help("leave `match` out: a word is found as it is written"),
        );
    }
    matching
}

/// Reads what an entry says of the type of its values or keys: the name of a dimension, `text` or `yes or no`.
fn scalar_type(fields: &mut Fields<'_, '_>, key: &str) -> Option<ScalarType> {
    let written = fields.text(key)?;
    let quantities = Dimension::all().map(ScalarType::Quantity);
    let all: Vec<ScalarType> = quantities.chain([ScalarType::Text, ScalarType::Flag]).collect();
    let found = all.iter().find(|ty| ty.name() == written.text).copied();
    if found.is_none() {
        let names: Vec<&str> = all.iter().map(|ty| ty.name()).collect();
        let problem = Problem::new(written.span, format!("there is no type `{}`", written.text)).label("unknown word");
        let help = did_you_mean(&written.text, names.iter().copied())
            .or_else(|| Some(format!("the types are {}", names.join(", "))));
        fields.problems.push(with_help(problem, help));
    }
    found
}
