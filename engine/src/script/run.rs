//! Runs a lowered rule on items.
//!
//! Values are 64 bits and a state; nothing is allocated while all that conditions ask for is recorded. A condition that is not
//! known is left to [`unknown`](super::unknown).

use std::borrow::Cow;

use super::bind::Slots;
use super::detail::{Recorder, Verdict};
use super::native::Natives;
use super::plan::{Bound, Keep, Path, Plan, Root, Statement};
use super::unknown;
use super::value::{State, Val, judge};
use crate::book::Book;
use crate::facts::Facts;
use crate::model::{Cell, FieldId, ItemIndex, Job, kinds};

/// A rule on the facts of a job and a book: it looks at one item after the other.
#[derive(Debug)]
pub struct Runner<'a> {
    pub(super) plan: &'a Plan,
    pub(super) natives: &'a Natives,
    pub(super) slots: Cow<'a, Slots>,
    pub(super) book: &'a Book,
    pub(super) facts: &'a Facts<'a>,
    pub(super) job: &'a Job,
    pub(super) site: Option<ItemIndex>,
    pub(super) item: ItemIndex,
    /// The item's cells and all behind them.
    pub(super) here: &'a [Cell],
    pub(super) locals: Vec<Val>,
}

/// How a block ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Flow {
    /// At its end.
    On,
    /// With `skip` or a fault.
    Ended,
    /// At a condition that is not known.
    Unknown,
}

impl<'a> Runner<'a> {
    pub(super) fn new(
        plan: &'a Plan,
        natives: &'a Natives,
        slots: Cow<'a, Slots>,
        book: &'a Book,
        facts: &'a Facts<'a>,
    ) -> Runner<'a> {
        let job = facts.job();
        let mut slots = slots;
        if !Slots::agree(plan, &job.symbols) {
            slots.to_mut().renumber(plan, &job.symbols);
        }
        let site = job.schema.kind(kinds::site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
        Runner {
            plan,
            natives,
            slots,
            book,
            facts,
            job,
            site,
            item: ItemIndex(0),
            here: &[],
            locals: vec![Val::UNKNOWN; plan.locals],
        }
    }

    /// Holds one item against the rule.
    pub fn run(&mut self, item: ItemIndex, recorder: &mut impl Recorder) {
        self.turn_to(item);
        let plan = self.plan;
        let mut done = 0;
        if self.block(&plan.body, recorder, &mut done) == Flow::Unknown {
            unknown::finish(self, done, recorder);
        }
    }

    /// Holds each of several items against the rule, telling the recorder before each.
    pub fn run_all(&mut self, items: &[ItemIndex], recorder: &mut impl Recorder) {
        for &item in items {
            recorder.item(item);
            self.run(item, recorder);
        }
    }

    /// Makes an item the one that is looked at.
    #[inline(always)]
    pub(super) fn turn_to(&mut self, item: ItemIndex) {
        self.item = item;
        let first = self.job.cell_at(item, FieldId(0));
        self.here = self.facts.cells().get(first..).unwrap_or(&[]);
    }

    /// Runs a block; `done` counts the checks recorded.
    fn block(&mut self, block: &'a [Statement], recorder: &mut impl Recorder, done: &mut u8) -> Flow {
        for statement in block {
            match statement {
                Statement::Keep(keep) => {
                    let (verdict, margin) = self.keep(keep);
                    recorder.record(keep.check, verdict, margin);
                    *done += 1;
                }
                Statement::Need { check, condition } => {
                    let verdict = self.value(condition).verdict();
                    recorder.record(*check, verdict, 0);
                    *done += 1;
                }
                Statement::If { condition, then, otherwise, next } => {
                    let condition = self.value(condition);
                    let chosen = match condition.state {
                        State::Known if condition.bits != 0 => then,
                        State::Known => otherwise,
                        State::Unknown => return Flow::Unknown,
                        State::Fault => return self.fault(*next, recorder, done),
                    };
                    match self.block(chosen, recorder, done) {
                        Flow::On => {}
                        ended => return ended,
                    }
                }
                Statement::Skip => return Flow::Ended,
                Statement::Let { local, value, next } => {
                    let value = self.value(value);
                    if value.state == State::Fault {
                        return self.fault(*next, recorder, done);
                    }
                    self.set(*local, value);
                }
                Statement::OneOf { check, within } => {
                    let verdict = self.within(within).verdict();
                    recorder.record(*check, verdict, 0);
                    *done += 1;
                }
                Statement::Look { check } => {
                    recorder.record(*check, Verdict::Open, 0);
                    *done += 1;
                }
            }
        }
        Flow::On
    }

    #[cold]
    fn fault(&mut self, check: u8, recorder: &mut impl Recorder, done: &mut u8) -> Flow {
        recorder.record(check, Verdict::Fault, 0);
        *done += 1;
        Flow::Ended
    }

    /// Returns the verdict and margin of a `keep`.
    #[inline(always)]
    pub(super) fn keep(&mut self, keep: &Keep) -> (Verdict, i64) {
        let found = self.value(&keep.found);
        let limit = self.value(&keep.limit);
        match (&keep.upper, keep.bound) {
            (Some(upper), Bound::Between) => {
                let upper = self.value(upper);
                judge::between(found, limit, upper)
            }
            (_, bound) => judge::one(bound, found, limit),
        }
    }

    #[inline(always)]
    pub(super) fn set(&mut self, local: u8, value: Val) {
        if let Some(slot) = self.locals.get_mut(usize::from(local)) {
            *slot = value;
        }
    }

    #[inline(always)]
    pub(super) fn get(&self, local: u8) -> Val {
        self.locals.get(usize::from(local)).copied().unwrap_or(Val::FAULT)
    }

    #[inline(always)]
    pub(super) fn slot(&self, slot: u16) -> Val {
        self.slots.values.get(usize::from(slot)).copied().unwrap_or(Val::FAULT)
    }

    /// Returns a field of the item that is looked at.
    #[inline(always)]
    pub(super) fn field(&self, field: FieldId) -> Val {
        self.here.get(usize::from(field.0)).map_or(Val::UNKNOWN, |cell| of_cell(*cell))
    }

    #[inline(always)]
    pub(super) fn cell(&self, item: ItemIndex, field: FieldId) -> Cell {
        self.facts.cells().get(self.job.cell_at(item, field)).copied().unwrap_or(Cell::MISSING)
    }

    /// Returns the item that a path starts from.
    #[inline(always)]
    pub(super) fn root(&self, root: Root) -> Val {
        match root {
            Root::Item => Val::known(i64::from(self.item.0)),
            Root::Site => self.site.map_or(Val::UNKNOWN, |site| Val::known(i64::from(site.0))),
            Root::Local(local) => self.get(local),
        }
    }

    /// Returns a field through links.
    #[inline]
    pub(super) fn path(&self, path: &Path) -> Val {
        let root = self.root(path.root);
        if !root.is_known() {
            return root;
        }
        let mut item = ItemIndex(root.bits as u32);
        for &link in &path.links {
            let cell = self.cell(item, link);
            if cell.is_missing() {
                return Val::UNKNOWN;
            }
            item = cell.to_item();
        }
        let cell = self.cell(item, path.field);
        match cell.is_missing() {
            false => Val::known(cell.bits()),
            // The bits of an empty list are zero.
            true if path.empty_if_missing => Val::known(0),
            true => Val::UNKNOWN,
        }
    }
}

#[inline(always)]
pub(super) fn of_cell(cell: Cell) -> Val {
    Val { bits: cell.bits(), state: if cell.is_missing() { State::Unknown } else { State::Known } }
}
