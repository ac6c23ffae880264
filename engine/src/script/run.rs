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
    /// Out of scope, excepted or with a fault.
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
        let mut machine = Machine::new(slots, values, plan.locals, book, facts);
        machine.presumes = !plan.presumptions.is_empty();
        Runner { program, machine, row: Row::default() }
    }

    /// Holds one item against the rule.
    pub fn run(&mut self, item: ItemIndex, recorder: &mut impl Recorder) {
        one(&self.program.steps, item, &mut self.machine, recorder);
    }

    /// Holds each of several items against the rule, telling the recorder before each.
    pub fn run_all(&mut self, items: &[ItemIndex], recorder: &mut impl Recorder) {
        let steps = &self.program.steps;
        // What rests on a presumption is said check by check.
        let presumes = self.machine.presumes;
        if let Some(way) = OneWay::of(steps).filter(|_| !presumes) {
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
    machine.begin(item);
    let mut done = 0;
    if block(steps, machine, recorder, &mut done) == Flow::Unknown {
        unknown::finish(steps, machine, done, recorder);
    }
}

/// Runs a block; `done` counts the checks recorded.
fn block(steps: &[Step], machine: &mut Machine<'_>, recorder: &mut impl Recorder, done: &mut u8) -> Flow {
    for step in steps {
        match step {
            Step::Check { check, judge } => judged(*check, judge.one(machine), machine, recorder, done),
            Step::Applies { condition, next, presumed } => {
                let (condition, rests) = machine.resting(condition);
                match condition.state {
                    State::Known | State::Undefined if condition.bits == 0 => {
                        if let Some(exception) = presumed.filter(|_| rests) {
                            judged(exception, (Verdict::Excepted, 0), machine, recorder, done);
                        }
                        return Flow::Ended;
                    }
                    State::Known | State::Undefined => {}
                    State::Unknown => return Flow::Unknown,
                    State::Fault => return fault(*next, machine, recorder, done),
                }
            }
            Step::Except { check, in_force, condition } => {
                if machine.slot(*in_force).bits == 0 {
                    continue;
                }
                let condition = condition(machine);
                match condition.state {
                    State::Known | State::Undefined if condition.bits != 0 => {
                        judged(*check, (Verdict::Excepted, 0), machine, recorder, done);
                        return Flow::Ended;
                    }
                    State::Known | State::Undefined => {}
                    State::Unknown => return Flow::Unknown,
                    State::Fault => return fault(*check, machine, recorder, done),
                }
            }
            Step::If { condition, then, otherwise, next } => {
                let condition = condition(machine);
                let chosen = match condition.state {
                    State::Known | State::Undefined if condition.bits != 0 => then,
                    State::Known | State::Undefined => otherwise,
                    State::Unknown => return Flow::Unknown,
                    State::Fault => return fault(*next, machine, recorder, done),
                };
                if let [Step::Check { check, judge }] = &chosen[..] {
                    judged(*check, judge.one(machine), machine, recorder, done);
                } else if !chosen.is_empty() {
                    match block(chosen, machine, recorder, done) {
                        Flow::On => {}
                        ended => return ended,
                    }
                }
            }
            Step::Let { local, value, next } => {
                let (value, rests) = machine.resting(value);
                machine.presumed_by_name = rests;
                if value.state == State::Fault {
                    return fault(*next, machine, recorder, done);
                }
                machine.set(*local, value);
            }
        }
    }
    Flow::On
}

/// Records a verdict; of what is not there nothing is recorded.
#[inline(always)]
fn judged(
    check: u8,
    (verdict, margin): (Verdict, i64),
    machine: &Machine<'_>,
    recorder: &mut impl Recorder,
    done: &mut u8,
) {
    if verdict == Verdict::Absent {
        return;
    }
    recorder.record(check, verdict, margin);
    if machine.presumed {
        recorder.presumed();
    }
    *done += 1;
}

#[cold]
fn fault(check: u8, machine: &Machine<'_>, recorder: &mut impl Recorder, done: &mut u8) -> Flow {
    judged(check, (Verdict::Fault, 0), machine, recorder, done);
    Flow::Ended
}
