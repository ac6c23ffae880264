//! The checks of a rule: its `except`, `keep`, `need` and `look` statements.

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
    /// `except "…" where CONDITION`: not a requirement but a way out of the rule, with its own section.
    Except,
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
            Verb::Except => "except",
        }
    }
}

/// Name of the exception under which an item comes that is out of a rule's scope only by what the rule presumes.
pub const PRESUMED_OUT: &str = "out of scope as presumed";

/// An exception of a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exception {
    /// The section that makes it.
    pub section: String,
    /// The name by which a place omits it: the section, unless the rule gives another.
    pub name: String,
    /// First day on which it holds, where it is dated.
    pub from: Option<jiff::civil::Date>,
    /// Last day on which it holds, where it is dated.
    pub until: Option<jiff::civil::Date>,
    /// Id of the ruleset that added it to a rule of another; none for the rule's own.
    pub added_by: Option<String>,
}

/// What a rule has to do with existing work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ExistingWork {
    /// Nothing: it is for new work alone.
    #[default]
    LeftOut,
    /// What is recorded and wrong is wrong in existing work too; nothing that is not recorded is asked of it.
    Faults,
    /// It holds for existing work as it does for new work.
    Included,
}

/// What a rule says, statement by statement, for those who print it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outline {
    /// `presume …`, by its number.
    Presume(usize),
    /// `let NAME = …;`, with the place of the value.
    Let(String, Span),
    /// `includes existing work` or `includes faults of existing work`.
    Includes(ExistingWork),
    /// `applies where …`, with the place of the condition.
    Applies(Span),
    /// `if …`, with the place of the condition; what follows, up to `else` or its end, is said of where it holds.
    If(Span),
    /// `else`: where that condition does not hold.
    Else,
    /// The end of what stands under an `if`.
    EndIf,
    /// An exception, by its number among the checks, with the place of the condition.
    Except(u8, Span),
    /// A check, by its number.
    Check(u8),
}

/// An `except`, `keep`, `need` or `look` of a rule.
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
    /// What it is, for [`Verb::Except`].
    pub exception: Option<Exception>,
    /// What is held against the limit: a quantity of this dimension, or anything else.
    pub dimension: Option<Dimension>,
    /// Type of what is found.
    pub(super) found: Ty,
}
