//! What a check found: the short form that every run records, and the whole of it for one item.

use super::check::Verb;
use super::types::Ty;
use crate::book::EntryId;
use crate::facts::Facts;
use crate::model::{Cell, FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// How a check of one item came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// It is as it must be.
    Met,
    /// An exception of the rule lets the item go.
    Excepted,
    /// It hangs on something that nobody has recorded.
    Open,
    /// It is not as it must be.
    Failed,
    /// It can't be told, because of the code or the rule itself.
    Fault,
    /// What it speaks of is recorded as not being there: nothing is said of it. Never recorded.
    Absent,
}

/// Takes the verdicts of a run.
pub trait Recorder {
    /// Called by [`run_together`](super::run_together) before a rule, by its number, is held against so many items in a row.
    fn rule(&mut self, _rule: u16, _items: usize) {}

    /// Called by [`run_together`](super::run_together) when all rules have been held against some of the items: what was
    /// recorded of them is complete, and may be used and let go.
    fn pause(&mut self) {}

    /// Called before an item is looked at.
    fn item(&mut self, _item: ItemIndex) {}

    /// Takes a verdict. Checks of one item come in the order of the rule, each at most once; an item without any is out of the rule's scope.
    ///
    /// `margin` is in base units of the check's dimension (see [`Check`](super::Check)); negative by as much as it is missed,
    /// and zero where there is none to speak of.
    fn record(&mut self, check: u8, verdict: Verdict, margin: i64);

    /// Says that the verdict recorded last rests on something that the rule presumes.
    fn presumed(&mut self) {}

    /// Takes the verdicts and margins of one check on items in a row: what [`Recorder::item`] and [`Recorder::record`] would be told of
    /// one after the other. Of what is not there nothing is told.
    fn row(&mut self, check: u8, items: &[ItemIndex], given: &[(Verdict, i64)]) {
        for (&item, &(verdict, margin)) in items.iter().zip(given) {
            self.item(item);
            self.record(check, verdict, margin);
        }
    }
}

impl Recorder for Vec<(u8, Verdict, i64)> {
    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.push((check, verdict, margin));
    }
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OperandSource {
    /// A field of an item; its cell has the place in the job file.
    Field(ItemIndex, FieldId),
    /// An entry of the code, and the row of a table by its position.
    Entry(EntryId, Option<usize>),
    /// A literal of the rule.
    Literal(Span),
    /// What the rule presumes of a field that is not recorded: the number of the presumption, the item and the field.
    Presumed(u8, ItemIndex, FieldId),
}

/// A value as it can be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Nobody has recorded it.
    Unknown,
    /// An amount.
    Quantity(Quantity),
    /// Yes or no.
    Flag(bool),
    /// A text or word.
    Text(String),
    /// An item.
    Item(ItemIndex),
    /// A list.
    List(Vec<Shown>),
}

impl Shown {
    /// Returns the value of some bits of a type.
    pub(super) fn of(bits: i64, ty: &Ty, facts: &Facts<'_>) -> Shown {
        match ty {
            Ty::Flag => Shown::Flag(bits != 0),
            Ty::Said(_) | Ty::Text | Ty::Word(_) => {
                Shown::Text(facts.job().symbols.text(Cell::raw(bits, Span::NONE).to_symbol()).to_owned())
            }
            Ty::Quantity(dimension) => Shown::Quantity(Quantity::new(*dimension, bits)),
            Ty::Item(_) if bits == super::machine::NONE => Shown::Text(String::from("none")),
            Ty::Item(_) => Shown::Item(Cell::raw(bits, Span::NONE).to_item()),
            Ty::List(member) => {
                let cells = facts.list(Cell::raw(bits, Span::NONE).to_list());
                Shown::List(cells.iter().map(|cell| Shown::of(cell.bits(), member, facts)).collect())
            }
            Ty::Nothing | Ty::Wrong => Shown::Unknown,
        }
    }
}

/// One side of a check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Operand {
    /// The value.
    pub value: Shown,
    /// All that it was made from, in the order in which the rule names it.
    pub sources: Vec<OperandSource>,
}

/// One check of one item in full.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Detail {
    /// Number of the check in its rule.
    pub check: u8,
    /// How it came out.
    pub verdict: Verdict,
    /// How it asks.
    pub verb: Verb,
    /// What was found; for a `need`, whether its condition holds, with all it rests on.
    pub found: Option<Operand>,
    /// What it was held against: the limit, the two limits of `between`, or the list.
    pub allowed: Vec<Operand>,
    /// By how much it is met, or missed when negative. None for words and flags, for conductor sizes, and while it is open.
    pub margin: Option<Quantity>,
    /// What nobody has recorded and would decide it, sorted. Empty for a `look`.
    pub missing: Vec<(ItemIndex, FieldId)>,
    /// What to do when it is not so.
    pub fix: Option<String>,
    /// What to look at.
    pub look: Option<String>,
    /// What was presumed on the way to the verdict: the number of the presumption, the item and the field.
    pub presumed: Vec<(u8, ItemIndex, FieldId)>,
    /// Why it can't be told, for [`Verdict::Fault`]; points at the expression.
    pub fault: Option<Problem>,
    /// The place of the statement in its ruleset.
    pub span: Span,
}

/// Returns the margin of an amount of a dimension as a quantity, where it means something.
pub(super) fn margin(amount: i64, dimension: Option<Dimension>) -> Option<Quantity> {
    match dimension? {
        Dimension::Conductor => None,
        Dimension::Date => Some(Quantity::new(Dimension::Time, amount.saturating_mul(86_400_000))),
        dimension => Some(Quantity::new(dimension, amount)),
    }
}
