//! The trials of a ruleset as examples to read: what each shows, without running any.

use super::read::{Expected, trials};
use crate::book::Ruleset;
use crate::job::Document;
use crate::source::Span;

/// A trial as an example.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// Id of the rule that it shows.
    pub rule: String,
    /// What it shows, in a few words.
    pub name: String,
    /// What comes of it.
    pub expected: Expected,
    /// What is found, where the trial says so.
    pub found: Option<String>,
    /// Its place.
    pub span: Span,
}

/// Returns the trials of a ruleset, in the order of files and lines. Trials that can't be read are left out; running them tells why.
pub fn examples(ruleset: &Ruleset) -> Vec<Example> {
    let mut all = Vec::new();
    for file in ruleset.trials() {
        let document = Document::parse(file);
        all.extend(trials(file, &document).0.into_iter().map(|trial| Example {
            rule: trial.rule.0,
            name: trial.name,
            expected: trial.expect.0,
            found: trial.found.map(|(found, _)| found),
            span: trial.rule.1,
        }));
    }
    all
}
