//! Rules with one way to one check, which most are: nothing is asked of them but whether an item comes through to the check.

use super::detail::{Recorder, Verdict};
use super::machine::Machine;
use super::program::{Eval, Judge, Step};
use super::value::State;
use crate::model::ItemIndex;

/// The only way of a rule to its only check.
#[derive(Clone, Copy)]
pub(super) struct OneWay<'a> {
    before: &'a [Step],
    /// What the check hangs on.
    condition: Option<&'a Eval>,
    check: u8,
    judge: &'a Judge,
}

/// How far an item comes.
enum Come {
    /// To the check.
    Through,
    /// It is out of the rule's scope.
    Out,
    /// This exception lets it go.
    Excepted(u8),
    /// Something on the way is not known, or can't be reckoned.
    Unsure,
}

impl<'a> OneWay<'a> {
    /// Returns the way of steps that have no more than one.
    pub(super) fn of(steps: &'a [Step]) -> Option<OneWay<'a>> {
        let (last, before) = steps.split_last()?;
        let (condition, last) = match last {
            Step::If { condition, then, otherwise, .. } => match (&then[..], &otherwise[..]) {
                ([only], []) => (Some(condition), only),
                _ => return None,
            },
            last => (None, last),
        };
        let Step::Check { check, judge } = last else { return None };
        let straight =
            before.iter().all(|step| matches!(step, Step::Let { .. } | Step::Applies { .. } | Step::Except { .. }));
        straight.then_some(OneWay { before, condition, check: *check, judge })
    }

    #[inline(always)]
    fn come(&self, machine: &mut Machine<'_>) -> Come {
        for step in self.before {
            match step {
                Step::Let { local, value, .. } => {
                    let value = value(machine);
                    if value.state == State::Fault {
                        return Come::Unsure;
                    }
                    machine.set(*local, value);
                }
                Step::Applies { condition, .. } => {
                    let condition = condition(machine);
                    if !condition.is_settled() {
                        return Come::Unsure;
                    }
                    if condition.bits == 0 {
                        return Come::Out;
                    }
                }
                Step::Except { check, in_force, condition } => {
                    if machine.slot(*in_force).bits == 0 {
                        continue;
                    }
                    let condition = condition(machine);
                    if !condition.is_settled() {
                        return Come::Unsure;
                    }
                    if condition.bits != 0 {
                        return Come::Excepted(*check);
                    }
                }
                _ => return Come::Unsure,
            }
        }
        let Some(condition) = self.condition else { return Come::Through };
        let condition = condition(machine);
        match condition.state {
            State::Known | State::Undefined if condition.bits != 0 => Come::Through,
            State::Known | State::Undefined => Come::Out,
            _ => Come::Unsure,
        }
    }
}

/// Items that came to the check, with verdicts and margins, on their way to a recorder.
#[derive(Debug, Default)]
pub(super) struct Row {
    items: Vec<ItemIndex>,
    given: Vec<(Verdict, i64)>,
}

impl Row {
    /// Holds items against a rule. `unsure` takes the items for which the way is not certain, each in its turn.
    pub(super) fn run<R: Recorder>(
        &mut self,
        way: OneWay<'_>,
        items: &[ItemIndex],
        machine: &mut Machine<'_>,
        recorder: &mut R,
        mut unsure: impl FnMut(&mut Machine<'_>, ItemIndex, &mut R),
    ) {
        if way.before.is_empty() && way.condition.is_none() {
            self.given.clear();
            way.judge.each(machine, items, &mut self.given);
            if way.judge.is_always_there() || self.given.iter().all(|(verdict, _)| *verdict != Verdict::Absent) {
                return recorder.row(way.check, items, &self.given);
            }
            let there = items.iter().zip(&self.given).filter(|(_, (verdict, _))| *verdict != Verdict::Absent);
            self.items.extend(there.map(|(item, _)| *item));
            self.given.retain(|(verdict, _)| *verdict != Verdict::Absent);
            return self.tell(way.check, recorder);
        }
        for &item in items {
            machine.turn_to(item);
            match way.come(machine) {
                Come::Through => {
                    let judged = way.judge.one(machine);
                    // Of what is not there nothing is recorded.
                    if judged.0 != Verdict::Absent {
                        self.items.push(item);
                        self.given.push(judged);
                    }
                }
                Come::Out => {}
                Come::Excepted(check) => {
                    self.tell(way.check, recorder);
                    recorder.item(item);
                    recorder.record(check, Verdict::Excepted, 0);
                }
                Come::Unsure => {
                    self.tell(way.check, recorder);
                    unsure(machine, item, recorder);
                }
            }
        }
        self.tell(way.check, recorder);
    }

    fn tell(&mut self, check: u8, recorder: &mut impl Recorder) {
        if !self.items.is_empty() {
            recorder.row(check, &self.items, &self.given);
        }
        self.items.clear();
        self.given.clear();
    }
}
