//! What an inspection found, as plain data. Terminal, JSON, SARIF, JUnit and HTML are conversions of it.

use super::Assumed;
use crate::book::{Checked, EntryId};
pub use crate::book::{CodeInForce, RulesetInForce, SetBy, Weight};
use crate::model::{FieldId, ItemIndex, KindId, Stage};
use crate::problem::Problem;
use crate::quantity::Quantity;
use crate::script::{Shown, Verb, Working};
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
    /// An exception of the rule lets the item go.
    Excepted,
    /// It is as it must be.
    Met,
}

impl Outcome {
    /// Returns the outcome of a word in machine-readable results.
    pub fn of(word: &str) -> Option<Outcome> {
        [Outcome::Correction, Outcome::ToMeasure, Outcome::Permitted, Outcome::Excepted, Outcome::Met]
            .into_iter()
            .find(|outcome| outcome.word() == word)
    }

    /// Returns the outcome's word in machine-readable results.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Correction => "correction",
            Outcome::ToMeasure => "to_measure",
            Outcome::Permitted => "permitted",
            Outcome::Excepted => "excepted",
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
    /// The item that lacks it, by its number in the job.
    pub index: ItemIndex,
    /// The field, by its number in the item's kind.
    pub field_id: FieldId,
    /// Id of the item.
    pub item: String,
    /// Name of the field.
    pub field: String,
    /// Whether the value itself is compared with the limit, so that no calculation stands between.
    pub compared: bool,
    /// Where the item begins.
    pub span: Span,
}

/// A value behind a limit that nobody has compared with the text of the code.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unverified {
    /// Name of the entry.
    pub key: String,
    /// How it was come by.
    pub checked: Checked,
}

/// A signed answer to what only eyes can decide.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Whether it was found right.
    pub ok: bool,
    /// Who looked.
    pub by: String,
    /// The day, as `2023-12-31`.
    pub on: String,
    /// A remark.
    pub note: Option<String>,
    /// Its place in the job file.
    pub span: Span,
}

/// A value of the job by its item and, where one is meant, its field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Path {
    /// The item.
    pub item: ItemIndex,
    /// The field.
    pub field: Option<FieldId>,
}

/// The exception of a rule that an item falls under.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excepted {
    /// The section that makes the exception.
    pub section: String,
    /// Its name, by which a place can take it out; the section where it has no other.
    pub name: String,
}

/// A value that a rule took for granted because nobody has recorded it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Presumed {
    /// The item.
    pub item: ItemIndex,
    /// The field.
    pub field: FieldId,
    /// What was presumed.
    pub value: Shown,
    /// Why: a source, or `common practice, no source`.
    pub because: String,
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
    /// Name of the item's kind: `cable_end`.
    pub kind: &'static str,
    /// The item's id.
    pub item: String,
    /// Name of the room the item is in, if it is in one.
    pub room: Option<String>,
    /// Citation of the rule.
    pub cite: String,
    /// What the rule asks for: the first sentence of its guide text.
    pub says: String,
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
    /// What only eyes can decide.
    pub look: Option<String>,
    /// Who has looked.
    pub answer: Option<Answer>,
    /// What to do, in the trade's words.
    pub fix: Option<String>,
    /// The value in the job file to look at; for a missing one, the item's header.
    pub at: Span,
    /// The same by item and field.
    pub path: Path,
    /// The line of the rule that recorded the outcome.
    pub rule_at: Span,
    /// Who set the limit, latest first; empty when no entry of the code was involved.
    pub set_by: Vec<SetBy>,
    /// Values that would decide it.
    pub missing: Vec<Missing>,
    /// Values that the finding rests on and nobody has verified.
    pub unverified: Vec<Unverified>,
    /// The special permission that covers it, or that lapsed.
    pub permit: Option<Permit>,
    /// The exception that the item falls under, for [`Outcome::Excepted`].
    pub excepted: Option<Excepted>,
    /// Values that were presumed.
    pub presumed: Vec<Presumed>,
    /// Items of the same kind that it is as much about: the partners of a pair.
    pub partners: Vec<ItemIndex>,
    /// Partners whose own finding of the same check is left out, because it would say the same the other way round.
    pub also: Vec<ItemIndex>,
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
    /// Items that an exception lets go, once for each rule.
    pub excepted: usize,
    /// Checks whose verdict rests on something that the rule presumes, whatever the verdict is.
    pub presumed: usize,
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
    /// Items of its kind that it left alone, existing work among them.
    pub left_alone: usize,
}

/// Existing work of one kind, and the rules that are not for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftAsItIs {
    /// Name of the kind.
    pub kind: &'static str,
    /// Whether the items are parts of others, such as the walls of a room.
    pub is_part: bool,
    /// The items, in the order of the job; at least one.
    pub items: Vec<ItemIndex>,
    /// Ids of the rules of this kind that are for new work alone, in order.
    pub rules: Vec<String>,
    /// Ids of the rules of this kind that only count faults which are recorded, in order.
    pub faults_only: Vec<String>,
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
    /// Findings in their one total order (file, place, rule, item, check). Met ones are left out unless asked for.
    pub findings: Vec<Finding>,
    /// What the job format takes for granted and rules read, where the job file says nothing.
    pub assumed: Vec<Assumed>,
    /// Existing work, which is out of the scope of rules for new work, by kind.
    pub existing: Vec<LeftAsItIs>,
    /// Rules that met no item.
    pub not_applicable: Vec<NotApplicable>,
    /// Things to know: a permission that matched nothing, a pin that does not hold.
    pub notices: Vec<Problem>,
    /// Rules that faulted, each at its line.
    pub faults: Vec<Problem>,
}
