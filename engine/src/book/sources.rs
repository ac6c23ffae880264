//! What stands in the rule files of a ruleset, as the headers describe it, with the places of the texts.

use jiff::civil::Date;

use super::entry::Checked;
use super::fields::Written;
use crate::book::Weight;
use crate::model::{KindId, Stage};
use crate::source::Span;

/// A rule as its header describes it, with the place of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleSource {
    /// Its id: `nm-secured-at-box`.
    pub id: String,
    /// Where the id is written.
    pub id_span: Span,
    /// The kind of item it looks at.
    pub kind: KindId,
    /// The stage from which on it can be checked.
    pub stage: Stage,
    /// Citation.
    pub cites: String,
    /// How the requirement was checked, where the header says so; otherwise as its ruleset says.
    pub checked: Option<Checked>,
    /// Its weight, before any amendment.
    pub weight: Weight,
    /// First day in force, of the date that the place counts; none where it always was.
    pub from: Option<Date>,
    /// Last day in force.
    pub until: Option<Date>,
    /// Its earlier ids.
    pub was: Vec<Written>,
    /// The rule whose place it takes.
    pub replaces: Option<Written>,
    /// What is asked and why: the `///` lines above it.
    pub doc: String,
    /// The whole `rule … { … }`.
    pub text: Span,
    /// Its block, from `{` to `}`.
    pub body: Span,
    /// Id of its ruleset.
    pub ruleset: String,
    /// A number that differs when the text does.
    pub(super) content: u64,
    /// Days on which something changes inside its block.
    pub(super) turns: Vec<Date>,
}

/// A shared condition: `define NAME on KIND cites "…" { … }`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DefineSource {
    /// Its name, which is read like a field of the kind.
    pub name: String,
    /// Where the name is written.
    pub name_span: Span,
    /// The kind of item that it says something of.
    pub kind: KindId,
    /// Citation.
    pub cites: String,
    /// How it was checked, where the header says so; otherwise as its ruleset says.
    pub checked: Option<Checked>,
    /// What it means: the `///` lines above it. Never empty.
    pub doc: String,
    /// The whole `define … { … }`.
    pub text: Span,
    /// Its block, from `{` to `}`.
    pub body: Span,
    /// Id of its ruleset.
    pub ruleset: String,
    /// A number that differs when the text does.
    pub(super) content: u64,
}

impl DefineSource {
    /// Returns a number that differs when the text does, within one run.
    pub fn content(&self) -> u64 {
        self.content
    }
}

/// An exception that a ruleset adds to a rule below it: `exception "NAME" to "RULE-ID" cites "…" { … }`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExceptionSource {
    /// Its name.
    pub name: Written,
    /// The rule.
    pub rule: Written,
    /// Citation.
    pub cites: String,
    /// How it was checked, where the header says so; otherwise as its ruleset says.
    pub checked: Option<Checked>,
    /// First day in force, of the date that the place counts; none where it always was.
    pub from: Option<Date>,
    /// Last day in force.
    pub until: Option<Date>,
    /// What is excepted and why: the `///` lines above it. Never empty.
    pub doc: String,
    /// The whole `exception … { … }`.
    pub text: Span,
    /// Its block, from `{` to `}`.
    pub body: Span,
    /// Id of its ruleset.
    pub ruleset: String,
    /// A number that differs when the text does.
    pub(super) content: u64,
}

impl ExceptionSource {
    /// Returns a number that differs when the text does, within one run.
    pub fn content(&self) -> u64 {
        self.content
    }

    /// Returns whether an amendment that names an exception means this one: by its name or its section.
    pub fn is_named(&self, name: &str) -> bool {
        self.name.text == name || self.cites == name
    }
}

impl RuleSource {
    /// Returns a number that differs when the text does, within one run.
    pub fn content(&self) -> u64 {
        self.content
    }
}
