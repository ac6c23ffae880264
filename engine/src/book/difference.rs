//! Two codes held against each other, entry by entry and rule by rule.

use std::collections::BTreeMap;

use super::entry::Entry;
use super::exceptions;
use super::in_force::Book;
use super::rules::RuleInForce;
use super::shown::Step;
use super::value::{Member, Row, Value};
use crate::book::Weight;

/// What one code has otherwise than another.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    /// Entries, in alphabetical order.
    pub entries: Vec<EntryDifference>,
    /// Rules, in the order of their ids.
    pub rules: Vec<RuleDifference>,
}

impl Difference {
    /// Returns whether both codes say the same.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty() && self.rules.is_empty()
    }
}

/// An entry that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EntryDifference {
    /// Its name.
    pub key: String,
    /// How.
    pub what: EntryChange,
    /// Who set it on the first side, first setter first; empty where it is not there.
    pub before: Vec<Step>,
    /// Who set it on the second side.
    pub after: Vec<Step>,
}

/// How an entry differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EntryChange {
    /// Only the second code has it.
    Added,
    /// Only the first code has it.
    Removed,
    /// Another value.
    Value {
        /// On the first side.
        before: String,
        /// On the second side.
        after: String,
    },
    /// Other members of a list.
    Members {
        /// Members that only the second code has.
        added: Vec<String>,
        /// Members that only the first code has.
        removed: Vec<String>,
    },
    /// Other rows of a table.
    Rows(Vec<RowDifference>),
    /// Another type of entry: both are written out.
    Kind {
        /// On the first side.
        before: String,
        /// On the second side.
        after: String,
    },
}

/// A row of a table that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowDifference {
    /// Its key.
    pub key: String,
    /// Its value on the first side, if it is there.
    pub before: Option<String>,
    /// Its value on the second side, if it is there.
    pub after: Option<String>,
}

/// A rule that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleDifference {
    /// Its id.
    pub id: String,
    /// How.
    pub what: RuleChange,
    /// Who set it on the first side.
    pub before: Vec<Step>,
    /// Who set it, or who left it out, on the second side.
    pub after: Vec<Step>,
}

/// How a rule differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RuleChange {
    /// Only the second code has it.
    Added,
    /// Only the first code has it.
    Removed,
    /// It says something else.
    Rewritten,
    /// It has other exceptions from the rulesets above it.
    Exceptions {
        /// Exceptions that only hold on the second side.
        added: Vec<String>,
        /// Exceptions that only hold on the first side.
        removed: Vec<String>,
    },
    /// It weighs otherwise.
    Reweighed {
        /// On the first side.
        before: Weight,
        /// On the second side.
        after: Weight,
    },
}

impl Book {
    /// Returns what `after` has otherwise than `before`. Both must come from one shelf.
    pub fn diff(before: &Book, after: &Book) -> Difference {
        Difference { entries: entries(before, after), rules: rules(before, after) }
    }
}

/// Pairs what two sides have under the same names, in the order of the names.
fn pairs<'k, T>(
    before: impl Iterator<Item = (&'k str, T)>,
    after: impl Iterator<Item = (&'k str, T)>,
) -> BTreeMap<&'k str, (Option<T>, Option<T>)> {
    let mut pairs: BTreeMap<&str, (Option<T>, Option<T>)> = BTreeMap::new();
    for (key, one) in before {
        pairs.insert(key, (Some(one), None));
    }
    for (key, one) in after {
        pairs.entry(key).or_insert((None, None)).1 = Some(one);
    }
    pairs
}

fn entries(before: &Book, after: &Book) -> Vec<EntryDifference> {
    let pairs = pairs(
        before.all_entries().map(|entry| (entry.key.as_str(), entry)),
        after.all_entries().map(|entry| (entry.key.as_str(), entry)),
    );
    let mut out = Vec::new();
    for (key, sides) in pairs {
        let what = match sides {
            (Some(a), Some(b)) => match change(a, b) {
                Some(what) => what,
                None => continue,
            },
            (None, _) => EntryChange::Added,
            (_, None) => EntryChange::Removed,
        };
        let before = sides.0.map(|entry| before.steps(&entry.chain)).unwrap_or_default();
        let after = sides.1.map(|entry| after.steps(&entry.chain)).unwrap_or_default();
        out.push(EntryDifference { key: key.to_owned(), what, before, after });
    }
    out
}

/// Returns how two entries of one name differ, if they do.
fn change(before: &Entry, after: &Entry) -> Option<EntryChange> {
    match (&before.value, &after.value) {
        (Value::Scalar(a), Value::Scalar(b)) if a == b => None,
        (Value::Scalar(_), Value::Scalar(_)) => Some(EntryChange::Value { before: whole(before), after: whole(after) }),
        (Value::List(a), Value::List(b)) => {
            let only = |a: &[Member], b: &[Member]| -> Vec<String> {
                let lacks = |member: &&Member| !b.iter().any(|other| other.value == member.value);
                a.iter().filter(lacks).map(|member| member.text.clone()).collect()
            };
            let (added, removed) = (only(b, a), only(a, b));
            (!added.is_empty() || !removed.is_empty()).then_some(EntryChange::Members { added, removed })
        }
        (Value::Table(a), Value::Table(b)) if a.matching() != b.matching() => {
            Some(EntryChange::Kind { before: whole(before), after: whole(after) })
        }
        (Value::Table(a), Value::Table(b)) => {
            let row = |row: &Row, before: Option<&Row>, after: Option<&Row>| RowDifference {
                key: row.key_text.clone(),
                before: before.map(|row| row.text.clone()),
                after: after.map(|row| row.text.clone()),
            };
            let mut rows = Vec::new();
            for one in a.rows() {
                match b.row(one.key) {
                    Some(other) if other.value == one.value => {}
                    other => rows.push(row(one, Some(one), other)),
                }
            }
            let new = b.rows().iter().filter(|other| a.row(other.key).is_none());
            rows.extend(new.map(|other| row(other, None, Some(other))));
            (!rows.is_empty()).then_some(EntryChange::Rows(rows))
        }
        _ => Some(EntryChange::Kind { before: whole(before), after: whole(after) }),
    }
}

/// Returns a whole value in one line.
fn whole(entry: &Entry) -> String {
    let parts: Vec<String> = match &entry.value {
        Value::Scalar(_) => return entry.latest().map(|setting| setting.value.clone()).unwrap_or_default(),
        Value::List(members) => members.iter().map(|member| member.text.clone()).collect(),
        Value::Table(table) => {
            let reach = table.matching().before_key();
            table.rows().iter().map(|row| format!("{reach}{} = {}", row.key_text, row.text)).collect()
        }
    };
    parts.join(", ")
}

fn rules(before: &Book, after: &Book) -> Vec<RuleDifference> {
    let pairs = pairs(
        before.rules.iter().map(|rule| (rule.source.id.as_str(), rule)),
        after.rules.iter().map(|rule| (rule.source.id.as_str(), rule)),
    );
    let mut out = Vec::new();
    for (id, sides) in pairs {
        let whats = match sides {
            (Some(a), Some(b)) if a.source.content != b.source.content => vec![RuleChange::Rewritten],
            (Some(a), Some(b)) => otherwise(a, b),
            (None, _) => vec![RuleChange::Added],
            (_, None) => vec![RuleChange::Removed],
        };
        out.extend(whats.into_iter().map(|what| RuleDifference {
            id: id.to_owned(),
            what,
            before: steps(before, id, sides.0),
            after: steps(after, id, sides.1),
        }));
    }
    out
}

/// Returns how two rules of one text differ by what rulesets above them say.
fn otherwise(before: &RuleInForce, after: &RuleInForce) -> Vec<RuleChange> {
    let mut whats = Vec::new();
    if before.weight != after.weight {
        whats.push(RuleChange::Reweighed { before: before.weight, after: after.weight });
    }
    let (added, removed) = exceptions::between(before, after);
    if !added.is_empty() || !removed.is_empty() {
        whats.push(RuleChange::Exceptions { added, removed });
    }
    whats
}

/// Returns who set a rule, or who left it out.
fn steps(book: &Book, id: &str, rule: Option<&RuleInForce>) -> Vec<Step> {
    match (rule, book.rule_named(id)) {
        (Some(rule), _) => book.steps(&rule.chain),
        (None, Some(super::RuleName::Omitted(gone))) => book.steps(std::slice::from_ref(&gone.by)),
        (None, _) => Vec::new(),
    }
}
