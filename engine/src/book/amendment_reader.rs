//! Reads amendments as a ruleset writes them: `[[amends]]` in its manifest or in a file of its code.

use toml::de::{DeTable, DeValue};

use super::amendment::{Amendment, Change, NewValue};
use super::fields::{Fields, in_file_order};
use super::literal::Literal;
use super::origins::{Defaults, evidence};
use super::value::ScalarType;
use crate::book::Weight;
use crate::model::Symbols;
use crate::problem::Problem;
use crate::source::{File, Span};

const KEYS: &[&str] = &[
    "entry",
    "value",
    "list",
    "rows",
    "row",
    "add",
    "remove",
    "omit",
    "exception",
    "reweigh",
    "weight",
    "cites",
    "source",
    "checked",
    "note",
    "from",
    "until",
    "edition",
];

/// The ways in which an amendment may say what it changes.
const SHAPES: &str = "an amendment has `entry` with `value`, `list`, `rows`, `row` and `value`, `add` or `remove`; \
                      or `omit`, with `exception` where only that is taken out; or `reweigh` with `weight`";

/// Reads one `[[amends]]`.
pub(super) fn read<'a>(
    file: &'a File,
    table: &'a DeTable<'a>,
    header: Span,
    defaults: &Defaults,
    symbols: &mut Symbols,
    problems: &mut Vec<Problem>,
) -> Option<Amendment> {
    let before = problems.len();
    let mut fields = Fields::new(file, table, header, "this amendment", KEYS, problems);
    let change = change(&mut fields, symbols);
    let evidence = evidence(&mut fields, defaults);
    let (from, until) = fields.period();
    let editions = fields.texts("edition");
    let (change, evidence) = (change?, evidence?);
    (problems.len() == before).then_some(Amendment { change, evidence, from, until, editions, span: header })
}

fn change(fields: &mut Fields<'_, '_>, symbols: &mut Symbols) -> Option<Change> {
    let subjects: Vec<&str> = ["entry", "omit", "reweigh"].into_iter().filter(|key| fields.has(key)).collect();
    match subjects.as_slice() {
        ["entry"] => {
            only(fields, "entry", &["value", "list", "rows", "row", "add", "remove"]);
            entry_change(fields, symbols)
        }
        ["omit"] => {
            only(fields, "omit", &["exception"]);
            let rule = fields.text("omit");
            if fields.has("exception") {
                let exception = fields.text("exception");
                return Some(Change::OmitException { rule: rule?, exception: exception? });
            }
            Some(Change::Omit { rule: rule? })
        }
        [_] => {
            only(fields, "reweigh", &["weight"]);
            let rule = fields.text("reweigh");
            if !fields.has("weight") {
                fields.missing("weight", "write `weight = \"correction\"`, `\"caution\"` or `\"note\"`");
            }
            let words = Weight::ALL.map(|(_, word)| word);
            let weight = fields.word("weight", Weight::of, &words);
            Some(Change::Reweigh { rule: rule?, weight: weight? })
        }
        [] => {
            let problem = Problem::new(fields.header, "this amendment does not say what it changes");
            fields.problems.push(problem.label("no `entry`, `omit` or `reweigh`").help(SHAPES));
            None
        }
        [_, second, ..] => {
            let span = fields.key_span(second);
            let problem = Problem::new(span, "an amendment changes one thing").label("a second thing");
            fields.problems.push(problem.help("write one [[amends]] for each"));
            None
        }
    }
}

/// Reports keys that say what is changed but do not go with `subject`.
fn only(fields: &mut Fields<'_, '_>, subject: &str, with: &[&str]) {
    for key in ["value", "list", "rows", "row", "add", "remove", "weight", "exception"] {
        if fields.has(key) && !with.contains(&key) {
            let problem = Problem::new(fields.key_span(key), format!("`{key}` does not go with `{subject}`"));
            fields.problems.push(problem.label("too much").help(SHAPES));
        }
    }
}

fn entry_change(fields: &mut Fields<'_, '_>, symbols: &mut Symbols) -> Option<Change> {
    let entry = fields.text("entry");
    let has = |key: &str| fields.has(key);
    if has("row") {
        only(fields, "row", &["row", "value"]);
        let key = row_key(fields, symbols);
        if !fields.has("value") {
            fields.missing("value", "write the row's new value as `value`");
        }
        let value = literal(fields, "value", symbols);
        return Some(Change::Row { entry: entry?, key: key?, value: value? });
    }
    if has("add") || has("remove") {
        only(fields, "add", &["add", "remove"]);
        let (add, add_rows) = match fields.value("add").map(|(value, _)| value.get_ref()) {
            Some(DeValue::Table(_)) => (Vec::new(), rows(fields, "add", symbols)),
            Some(_) => (list(fields, "add", symbols), Vec::new()),
            None => (Vec::new(), Vec::new()),
        };
        let remove = list(fields, "remove", symbols);
        if add.is_empty() && add_rows.is_empty() && remove.is_empty() {
            let span = fields.key_span(if fields.has("add") { "add" } else { "remove" });
            fields.problems.push(Problem::new(span, "this amendment changes nothing").label("nothing listed"));
            return None;
        }
        return Some(Change::Members { entry: entry?, add, add_rows, remove });
    }
    let value = new_value(fields, None, symbols);
    Some(Change::Entry { entry: entry?, value: value? })
}

fn row_key(fields: &mut Fields<'_, '_>, symbols: &mut Symbols) -> Option<Literal> {
    literal(fields, "row", symbols)
}

/// Reads one value under a key.
fn literal(fields: &mut Fields<'_, '_>, key: &str, symbols: &mut Symbols) -> Option<Literal> {
    let (value, _) = fields.value(key)?;
    keep(Literal::read(fields.file, value, None, symbols), fields.problems)
}

fn keep<T>(result: Result<T, Problem>, problems: &mut Vec<Problem>) -> Option<T> {
    result.map_err(|problem| problems.push(problem)).ok()
}

/// What a ruleset may say of the type of an entry's keys and values, where the way they are written leaves it open.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Types {
    pub(super) key: Option<ScalarType>,
    pub(super) value: Option<ScalarType>,
}

/// Reads `value`, `list` or `rows`, of which there must be exactly one.
pub(super) fn new_value(fields: &mut Fields<'_, '_>, types: Option<Types>, symbols: &mut Symbols) -> Option<NewValue> {
    let types = types.unwrap_or_default();
    let shapes: Vec<&str> = ["value", "list", "rows"].into_iter().filter(|key| fields.has(key)).collect();
    match shapes.as_slice() {
        ["value"] => {
            let (value, _) = fields.value("value")?;
            keep(Literal::read(fields.file, value, types.value, symbols), fields.problems).map(NewValue::Scalar)
        }
        ["list"] => {
            let span = fields.key_span("list");
            Some(NewValue::List(list_of(fields, "list", types, symbols), span))
        }
        [_] => {
            let span = fields.key_span("rows");
            let rows = rows_of(fields, "rows", types, symbols);
            Some(NewValue::Rows(rows, span))
        }
        [] => {
            let message = format!("{} has no `value`, `list` or `rows`", fields.what);
            let problem = Problem::new(fields.header, message).label("nothing is set");
            fields.problems.push(
                problem.help("write `value = \"12 in\"`, `list = [\"kitchen\"]` or `rows = { \"14 AWG\" = \"15 A\" }`"),
            );
            None
        }
        [_, second, ..] => {
            let message = format!("{} holds one of `value`, `list` and `rows`", fields.what);
            let problem = Problem::new(fields.key_span(second), message).label("a second one");
            fields.problems.push(problem);
            None
        }
    }
}

fn list(fields: &mut Fields<'_, '_>, key: &str, symbols: &mut Symbols) -> Vec<Literal> {
    list_of(fields, key, Types::default(), symbols)
}

fn rows(fields: &mut Fields<'_, '_>, key: &str, symbols: &mut Symbols) -> Vec<(Literal, Literal)> {
    rows_of(fields, key, Types::default(), symbols)
}

fn list_of(fields: &mut Fields<'_, '_>, key: &str, types: Types, symbols: &mut Symbols) -> Vec<Literal> {
    let Some((value, _)) = fields.value(key) else { return Vec::new() };
    let Some(array) = value.get_ref().as_array() else {
        fields.wrong(key, value, "a list in [ ]");
        return Vec::new();
    };
    let mut members: Vec<Literal> = Vec::new();
    for item in array.iter() {
        let Some(member) = keep(Literal::read(fields.file, item, types.value, symbols), fields.problems) else {
            continue;
        };
        match members.iter().find(|earlier| earlier.scalar == member.scalar) {
            Some(earlier) => fields.problems.push(
                Problem::new(member.span, format!("`{}` is listed twice", member.text))
                    .label("again")
                    .mark(earlier.span, "first here"),
            ),
            None => members.push(member),
        }
    }
    alike(members.iter(), fields.problems);
    members
}

fn rows_of(fields: &mut Fields<'_, '_>, key: &str, types: Types, symbols: &mut Symbols) -> Vec<(Literal, Literal)> {
    let Some((value, _)) = fields.value(key) else { return Vec::new() };
    let Some(table) = value.get_ref().as_table() else {
        fields.wrong(key, value, "a table in { }");
        return Vec::new();
    };
    let mut rows: Vec<(Literal, Literal)> = Vec::new();
    for (row, value) in in_file_order(table) {
        let span = fields.file.span(row.span());
        let key = keep(Literal::of_text(row.get_ref().trim(), span, types.key, symbols), fields.problems);
        let value = keep(Literal::read(fields.file, value, types.value, symbols), fields.problems);
        let (Some(key), Some(value)) = (key, value) else { continue };
        match rows.iter().find(|(earlier, _)| earlier.scalar == key.scalar) {
            // TOML refuses the same letters twice; this is `1 ft` beside `12 in`.
            Some((earlier, _)) => fields.problems.push(
                Problem::new(key.span, format!("`{}` is the same row as `{}`", key.text, earlier.text))
                    .label("again")
                    .mark(earlier.span, "first here"),
            ),
            None => rows.push((key, value)),
        }
    }
    alike(rows.iter().map(|(key, _)| key), fields.problems);
    alike(rows.iter().map(|(_, value)| value), fields.problems);
    rows
}

/// Reports members that are not of the first one's type.
fn alike<'l>(mut literals: impl Iterator<Item = &'l Literal>, problems: &mut Vec<Problem>) {
    let Some(first) = literals.next() else { return };
    for other in literals.filter(|other| other.scalar.ty() != first.scalar.ty()) {
        let (this, that) = (other.scalar.ty().name(), first.scalar.ty().name());
        problems.push(
            Problem::new(other.span, format!("this is a {this} where the first one is a {that}"))
                .label("another kind of value")
                .mark(first.span, format!("a {that}"))
                .help("all of one list or column are of one kind: look for a slip in the unit, or say which with `type` or `key_type`"),
        );
    }
}
