//! What an inspection found, as plain data. Terminal, JSON, SARIF, JUnit and HTML are conversions of it.

pub use crate::book::{CodeInForce, RulesetInForce, SetBy, Weight};
use crate::book::EntryId;
use crate::model::{FieldId, ItemIndex, KindId, Stage};
use crate::problem::Problem;
use crate::quantity::Quantity;
use crate::script::{Verb, Working};
use crate::source::Span;

/// The outcome of one check of one item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// It is not as it must be.
    Correction,
    /// The job file does not record what would decide it.
    ToMeasure,
    /// It is not as it must be, and a written special permission covers it.
    Permitted,
    /// It is as it must be.
    Met,
}

impl Outcome {
    /// Returns the outcome of a word in machine-readable results.
    pub fn of(word: &str) -> Option<Outcome> {
        [Outcome::Correction, Outcome::ToMeasure, Outcome::Permitted, Outcome::Met]
            .into_iter()
            .find(|outcome| outcome.word() == word)
    }

    /// Returns the outcome's word in machine-readable results.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Correction => "correction",
            Outcome::ToMeasure => "to_measure",
            Outcome::Permitted => "permitted",
            Outcome::Met => "met",
        }
    }
}

/// Something that a check has read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Read {
    /// A field of an item of the job, links included.
    Field {
        /// The item's kind.
        kind: KindId,
        /// The item.
        item: ItemIndex,
        /// The field.
        field: FieldId,
    },
    /// An entry of the code, and the row of a table by its position.
    Entry {
        /// The entry; [`Book::entry`](crate::book::Book::entry) has its name.
        entry: EntryId,
        /// The row.
        row: Option<usize>,
    },
}

/// A value that the job file does not record.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// The item that lacks it.
    pub item: String,
    /// The field.
    pub field: String,
    /// What the value itself is held to, where no calculation stands between: `at most 12 in`.
    pub limit: Option<String>,
    /// Where the item begins.
    pub span: Span,
}

/// A special permission that covers a finding, or did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Permit {
    /// Who granted it.
    pub granted_by: String,
    /// Why.
    pub reason: String,
    /// Last day on which it holds, as `2023-12-31`.
    pub until: String,
    /// Whether that day is past.
    pub lapsed: bool,
    /// Its place in the job file.
    pub span: Span,
}

/// One check of one item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Id of the rule.
    pub rule: String,
    /// Ruleset that the rule comes from.
    pub ruleset: String,
    /// Outcome.
    pub outcome: Outcome,
    /// Weight of the rule where the job stands.
    pub weight: Weight,
    /// Stage of the rule.
    pub stage: Stage,
    /// The item's number in the job.
    pub index: ItemIndex,
    /// The item's kind word: `box`.
    pub kind: String,
    /// The item's id.
    pub item: String,
    /// Name of the room the item is in, if it is in one.
    pub room: Option<String>,
    /// Citation of the rule.
    pub cite: String,
    /// Number of the check in its rule.
    pub check: u8,
    /// How the check compares.
    pub verb: Verb,
    /// What was found and how it was reckoned; for a `need`, its condition.
    pub found: Option<Working>,
    /// What it was held against: one limit, the two of `between`, or a list.
    pub allowed: Vec<Working>,
    /// By how much it is met (positive) or missed (negative).
    pub margin: Option<Quantity>,
    /// Fields and entries that the check and the conditions before it have read.
    pub reads: Vec<Read>,
    /// What was found, in the job's units.
    pub found_text: Option<String>,
    /// What is allowed: `at most 12 in`.
    pub allowed_text: Option<String>,
    /// By how much it is met (positive) or missed (negative), in the job's units.
    pub margin_text: Option<String>,
    /// One sentence: what is wrong, or what is still to measure, or what was met.
    pub message: String,
    /// What to do, in the trade's words.
    pub fix: Option<String>,
    /// The value in the job file to look at; for a missing one, the item's header.
    pub at: Span,
    /// The key path of that value: `cable C7, from, first_support`.
    pub path: String,
    /// The line of the rule that recorded the outcome.
    pub rule_at: Span,
    /// Who set the limit, latest first; empty when no entry of the code was involved.
    pub set_by: Vec<SetBy>,
    /// Values that would decide it.
    pub missing: Vec<Missing>,
    /// Why the finding rests on something that nobody has verified.
    pub unverified: Option<String>,
    /// The special permission that covers it, or that lapsed.
    pub permit: Option<Permit>,
}

/// How many checks had which outcome.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Checks met.
    pub met: usize,
    /// Failed checks of rules that weigh a correction.
    pub correction: usize,
    /// Failed checks of rules that weigh a caution.
    pub caution: usize,
    /// Failed checks of rules that weigh a note.
    pub note: usize,
    /// Checks that a missing value leaves open.
    pub to_measure: usize,
    /// Failed checks that a special permission covers.
    pub permitted: usize,
}

/// A rule that met no item, so that nothing looks checked that was not.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotApplicable {
    /// Id of the rule.
    pub rule: String,
    /// Its ruleset.
    pub ruleset: String,
    /// Its citation.
    pub cite: String,
    /// Items of its kind that it looked at and left alone.
    pub left_alone: usize,
}

/// Everything an inspection says of one job.
#[derive(Clone, Debug)]
pub struct Report {
    /// Name of the job.
    pub job: String,
    /// Its file.
    pub file: String,
    /// The code it was held against.
    pub code: CodeInForce,
    /// Stage up to which rules were run.
    pub stage: Stage,
    /// Counts.
    pub tally: Tally,
    /// Findings in their one total order (file, place, rule, item, message). Met ones are left out unless asked for.
    pub findings: Vec<Finding>,
    /// Rules that met no item.
    pub not_applicable: Vec<NotApplicable>,
    /// Things to know: a permission that matched nothing, a pin that does not hold.
    pub notices: Vec<Problem>,
    /// Rules that faulted, each at its line.
    pub faults: Vec<Problem>,
}
