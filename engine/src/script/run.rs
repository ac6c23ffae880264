//! Runs a rule on items.
//!
//! Values are 64 bits and a state; nothing is allocated while all that conditions ask for is recorded. A condition that is not
//! known is left to [`unknown`](super::unknown).

use super::bind::Slots;
use super::detail::{Recorder, Verdict};
use super::machine::Machine;
use super::one_way::{OneWay, Row};
use super::plan::Plan;
use super::program::{Program, Step};
use super::unknown;
use super::value::State;
use crate::book::Book;
use crate::facts::Facts;
use crate::model::ItemIndex;

/// A rule on the facts of a job and a book: it looks at one item after the other.
#[derive(Debug)]
pub struct Runner<'a> {
    program: &'a Program,
    machine: Machine<'a>,
    row: Row,
}

/// So many items are held against all rules before the next are fetched: their cells stay in the processor's cache meanwhile.
pub(super) const TOGETHER: usize = 512;

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
        plan: &Plan,
        program: &'a Program,
        slots: &'a Slots,
        book: &'a Book,
        facts: &'a Facts<'a>,
    ) -> Self {
        let values = slots.values_in(plan, &facts.job().symbols);
        Runner { program, machine: Machine::new(slots, values, plan.locals, book, facts), row: Row::default() }
    }

    /// Holds one item against the rule.
    pub fn run(&mut self, item: ItemIndex, recorder: &mut impl Recorder) {
        one(&self.program.steps, item, &mut self.machine, recorder);
    }

    /// Holds each of several items against the rule, telling the recorder before each.
    pub fn run_all(&mut self, items: &[ItemIndex], recorder: &mut impl Recorder) {
        let steps = &self.program.steps;
        if let Some(way) = OneWay::of(steps) {
            for some in items.chunks(TOGETHER) {
                self.row.run(way, some, &mut self.machine, recorder, |machine, item, recorder| {
                    recorder.item(item);
                    one(steps, item, machine, recorder);
                });
            }
            return;
        }
        for &item in items {
            recorder.item(item);
            self.run(item, recorder);
        }
    }
}

/// Holds one item against the steps of a rule.
fn one(steps: &[Step], item: ItemIndex, machine: &mut Machine<'_>, recorder: &mut impl Recorder) {
    machine.turn_to(item);
    let mut done = 0;
    if block(steps, machine, recorder, &mut done) == Flow::Unknown {
        unknown::finish(steps, machine, done, recorder);
    }
}

/// Runs a block; `done` counts the checks recorded.
fn block(steps: &[Step], machine: &mut Machine<'_>, recorder: &mut impl Recorder, done: &mut u8) -> Flow {
    for step in steps {
        match step {
            Step::Check { check, judge } => {
                let (verdict, margin) = judge.one(machine);
                recorder.record(*check, verdict, margin);
                *done += 1;
            }
            Step::SkipIf { condition, next } => {
                let condition = condition(machine);
                match condition.state {
                    State::Known if condition.bits != 0 => return Flow::Ended,
                    State::Known => {}
                    State::Unknown => return Flow::Unknown,
                    State::Fault => return fault(*next, recorder, done),
                }
            }
            Step::If { condition, then, otherwise, next } => {
                let condition = condition(machine);
                let chosen = match condition.state {
                    State::Known if condition.bits != 0 => then,
                    State::Known => otherwise,
                    State::Unknown => return Flow::Unknown,
                    State::Fault => return fault(*next, recorder, done),
                };
                if let [Step::Check { check, judge }] = &chosen[..] {
                    let (verdict, margin) = judge.one(machine);
                    recorder.record(*check, verdict, margin);
                    *done += 1;
                } else if !chosen.is_empty() {
                    match block(chosen, machine, recorder, done) {
                        Flow::On => {}
                        ended => return ended,
                    }
                }
            }
            Step::Let { local, value, next } => {
                let value = value(machine);
                if value.state == State::Fault {
                    return fault(*next, recorder, done);
                }
                machine.set(*local, value);
            }
            Step::Skip => return Flow::Ended,
        }
    }
    Flow::On
}

#[cold]
fn fault(check: u8, recorder: &mut impl Recorder, done: &mut u8) -> Flow {
    recorder.record(check, Verdict::Fault, 0);
    *done += 1;
    Flow::Ended
}
