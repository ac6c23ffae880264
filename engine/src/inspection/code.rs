//! The code of one place and date, compiled.

use std::sync::Arc;

use crate::book::{Book, RuleInForce, RuleName};
use crate::model::{Stage, Symbols};
use crate::problem::Problem;
use crate::script::Bound;
use crate::source::Files;

/// A rule in force, compiled and bound to its book.
#[derive(Debug)]
pub(super) struct Compiled {
    pub(super) in_force: RuleInForce,
    pub(super) bound: Bound,
}

/// The code of one place and date up to one stage, ready to run on any number of jobs.
#[derive(Debug)]
pub struct Code {
    /// The book in force.
    pub book: Arc<Book>,
    /// The latest stage whose rules are in it.
    pub stage: Stage,
    /// Rules that did not compile, with what is wrong: faults of every job that they would have been run on.
    pub faults: Vec<(String, Problem)>,
    pub(super) rules: Vec<Compiled>,
    pub(super) files: Files,
    pub(super) symbols: Arc<Symbols>,
}

impl Code {
    /// Returns the files of the rulesets.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// Returns whether a name that somebody wrote, which may be an earlier id, stands for the rule with this id.
    pub(super) fn names(&self, written: &str, id: &str) -> bool {
        written == id || self.present(written) == Some(id)
    }

    /// Returns the present id of a rule in force that somebody wrote by its present or an earlier id.
    pub fn present(&self, written: &str) -> Option<&str> {
        present(&self.book, written)
    }
}

/// Returns the present id of a rule in force.
pub(super) fn present<'b>(book: &'b Book, written: &str) -> Option<&'b str> {
    match book.rule_named(written)? {
        RuleName::Current(rule) | RuleName::Renamed(rule) => Some(&rule.source.id),
        RuleName::Omitted(_) => None,
    }
}
