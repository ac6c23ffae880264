//! How findings and papers name the code in force and those who set it.

use crate::source::Span;

/// How much a rule weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Must be put right.
    Correction,
    /// Should be looked at.
    Caution,
    /// Good to know.
    Note,
}

impl Weight {
    /// All weights with their words.
    pub const ALL: [(Weight, &'static str); 3] =
        [(Weight::Correction, "correction"), (Weight::Caution, "caution"), (Weight::Note, "note")];

    /// Returns the word of a weight.
    pub fn word(self) -> &'static str {
        Weight::ALL[self as usize].1
    }

    /// Returns the weight of a word.
    pub fn of(word: &str) -> Option<Weight> {
        Weight::ALL.iter().find(|(_, name)| *name == word).map(|&(weight, _)| weight)
    }
}

/// One step in the chain of who set a value of the code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetBy {
    /// Id of the ruleset: `us/model-2020`.
    pub ruleset: String,
    /// Its title: `model code 2020`.
    pub title: String,
    /// The line of the ruleset that sets it.
    pub span: Span,
    /// Citation of the requirement.
    pub cite: String,
    /// The value it set, in trade form.
    pub value: String,
    /// First day in force, as `2022-01-01`, where the ruleset states one.
    pub in_force: Option<String>,
    /// How the value was checked: `law_text`, `official_page`, `secondary`, `memory`.
    pub checked: String,
}

/// A ruleset that was in force for a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RulesetInForce {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// `edition`, `jurisdiction`, `accessibility` or `shop`.
    pub kind: String,
    /// Its version.
    pub version: String,
    /// Hash of its content.
    pub content: String,
    /// When it was last reviewed.
    pub reviewed: String,
    /// Whether it is a draft, and why.
    pub draft: Option<String>,
}

/// The code that a job was held against.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct CodeInForce {
    /// Ruleset of the place.
    pub jurisdiction: String,
    /// Ruleset of the edition.
    pub edition: String,
    /// Permit date, as `2023-05-10`.
    pub permit_date: String,
    /// All layers, from the edition up to the shop.
    pub rulesets: Vec<RulesetInForce>,
}
