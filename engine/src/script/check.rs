//! The checks of a rule: its `keep`, `need` and `look` statements.

use super::types::Ty;
use crate::quantity::Dimension;
use crate::source::Span;

/// How a check asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verb {
    /// `keep A at_most B`
    AtMost,
    /// `keep A at_least B`
    AtLeast,
    /// `keep A between B and C`
    Between,
    /// `keep A equal_to B`
    EqualTo,
    /// `keep A one_of LIST`
    OneOf,
    /// `need CONDITION`
    Need,
    /// `look "…"`
    Look,
}

impl Verb {
    /// Returns the verb as rules write it.
    pub fn word(self) -> &'static str {
        match self {
            Verb::AtMost => "at_most",
            Verb::AtLeast => "at_least",
            Verb::Between => "between",
            Verb::EqualTo => "equal_to",
            Verb::OneOf => "one_of",
            Verb::Need => "need",
            Verb::Look => "look",
        }
    }
}

/// A `keep`, `need` or `look` of a rule.
#[derive(Clone, Debug)]
pub struct Check {
    /// How it asks.
    pub verb: Verb,
    /// The place of the statement.
    pub span: Span,
    /// What to do when it is not so, in the trade's words.
    pub fix: Option<String>,
    /// What to look at, for [`Verb::Look`].
    pub look: Option<String>,
    /// What is held against the limit: a quantity of this dimension, or anything else.
    pub dimension: Option<Dimension>,
    /// Type of what is found.
    pub(super) found: Ty,
}
