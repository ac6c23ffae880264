//! What the book says of one entry or rule, ready to be printed.

use super::defines::DefineInForce;
use super::entry::{Checked, Entry, Setting};
use super::in_force::{Book, RuleName};
use super::value::{Matching, Value};
use crate::problem::nearest;
use crate::source::Span;

/// One step of a chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// Id of the ruleset.
    pub ruleset: String,
    /// Its title.
    pub title: String,
    /// What it set.
    pub value: String,
    /// Citation.
    pub cites: String,
    /// Where the value was read.
    pub source: String,
    /// How it was checked.
    pub checked: Checked,
    /// First day in force, as `2022-01-01`, where the ruleset states one.
    pub in_force: Option<String>,
    /// A remark of the ruleset's author.
    pub note: Option<String>,
    /// The line.
    pub span: Span,
}

/// A row of a table or a member of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShownRow {
    /// The key; none for a member of a list.
    pub key: Option<String>,
    /// The value.
    pub value: String,
    /// Who set it, first setter first.
    pub chain: Vec<Step>,
}

/// What the book says of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The entry's name.
    pub key: String,
    /// What it holds: `one value (length)`.
    pub holds: String,
    /// The value of a scalar.
    pub value: Option<String>,
    /// What the keys of a table are called.
    pub key_label: Option<String>,
    /// Which row of a table a value finds; none where the entry is no table.
    pub matching: Option<Matching>,
    /// Rows of a table or members of a list.
    pub rows: Vec<ShownRow>,
    /// Who set the entry, first setter first.
    pub chain: Vec<Step>,
    /// The chain in one line.
    pub line: String,
}

/// What the book has under a name.
#[derive(Clone, Debug)]
pub enum Found<'b> {
    /// An entry.
    Entry(Box<Shown>),
    /// Entries whose names begin with it: `nm`.
    Group(Vec<&'b str>),
    /// A rule.
    Rule(RuleName<'b>),
    /// Shared conditions of this name, one for each kind that has it.
    Defines(Vec<&'b DefineInForce>),
    /// Nothing, with the nearest name.
    Nothing(Option<&'b str>),
}

impl Book {
    /// Returns a chain ready to be printed, first setter first.
    pub fn steps(&self, chain: &[Setting]) -> Vec<Step> {
        let step = |setting: &Setting| {
            let layer = self.layers.get(setting.ruleset);
            Step {
                ruleset: layer.map(|layer| layer.id.clone()).unwrap_or_default(),
                title: layer.map(|layer| layer.title.clone()).unwrap_or_default(),
                value: setting.value.clone(),
                cites: setting.cites.clone(),
                source: setting.source.clone(),
                checked: setting.checked,
                in_force: setting.from.map(|day| day.to_string()),
                note: setting.note.clone(),
                span: setting.span,
            }
        };
        chain.iter().map(step).collect()
    }

    /// Returns what the book says of an entry.
    pub fn shown(&self, entry: &Entry) -> Shown {
        let (value, rows) = match &entry.value {
            Value::Scalar(_) => (entry.latest().map(|setting| setting.value.clone()), Vec::new()),
            Value::List(members) => {
                let row = |member| (self.steps(&entry.member_chain(member)), member);
                let rows = members.iter().map(row);
                let rows = rows.map(|(chain, member)| ShownRow { key: None, value: member.text.clone(), chain });
                (None, rows.collect())
            }
            Value::Table(table) => {
                let row = |row: &super::value::Row| ShownRow {
                    key: Some(row.key_text.clone()),
                    value: row.text.clone(),
                    chain: self.steps(&entry.row_chain(row)),
                };
                (None, table.rows().iter().map(row).collect())
            }
        };
        let matching = match &entry.value {
            Value::Table(table) => Some(table.matching()),
            Value::Scalar(_) | Value::List(_) => None,
        };
        Shown {
            key: entry.key.clone(),
            holds: match matching {
                Some(Matching::UpTo) => format!("{}; each row reaches up to its key", entry.ty.described()),
                Some(Matching::From) => format!("{}; each row reaches from its key on", entry.ty.described()),
                Some(Matching::Exact) | None => entry.ty.described(),
            },
            matching,
            value,
            key_label: entry.key_label.clone(),
            rows,
            chain: self.steps(&entry.chain),
            line: self.chain_line(&entry.chain),
        }
    }

    /// Returns what the book has under a name: an entry, a group of entries, a rule, shared conditions, or the nearest of them.
    pub fn show(&self, name: &str) -> Found<'_> {
        if let Some(entry) = self.get(name) {
            return Found::Entry(Box::new(self.shown(entry)));
        }
        if let Some(rule) = self.rule_named(name) {
            return Found::Rule(rule);
        }
        let defines: Vec<&DefineInForce> = self.defines.iter().filter(|define| define.source.name == name).collect();
        if !defines.is_empty() {
            return Found::Defines(defines);
        }
        let prefix = format!("{}.", name.trim_end_matches('.'));
        let group: Vec<&str> = self.keys().map(|(key, _)| key).filter(|key| key.starts_with(&prefix)).collect();
        if group.is_empty() {
            let defines = self.defines.iter().map(|define| define.source.name.as_str());
            Found::Nothing(nearest(name, self.keys().map(|(key, _)| key).chain(self.rule_ids()).chain(defines)))
        } else {
            Found::Group(group)
        }
    }
}
