//! Conditions that are not known: every way is gone, and what all ways agree on holds.
//!
//! A rule can't change a value, so a check gives the same verdict on every way that reaches it. What can differ is whether it
//! is reached at all, and what else happens on the way. So one pass is enough: behind a condition that is not known it goes
//! through both branches, and keeps, as a set, what the ways that lead here have seen so far.
//!
//! In the end, if the verdict is the same on every way (all met, all failed, all out of scope), it is the verdict. Where some ways are
//! met and all others excepted, the requirement is met whether or not the exception holds. Otherwise the checks that only some
//! ways reach are open.

use super::detail::{Recorder, Verdict};
use super::machine::Machine;
use super::program::Step;
use super::value::{State, Val};

/// What a way has seen so far, as a set of the five that there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Seen(u8);

impl Seen {
    /// No way.
    const NO_WAY: Seen = Seen(0);
    /// Nothing yet.
    const NOTHING: Seen = Seen(1);
    /// Met checks only.
    const MET: Seen = Seen(2);
    /// A failed check.
    const FAILED: Seen = Seen(4);
    /// No failed check, but one that is open or faulty.
    const OTHER: Seen = Seen(8);
    /// An exception.
    const EXCEPTED: Seen = Seen(16);

    fn or(self, other: Seen) -> Seen {
        Seen(self.0 | other.0)
    }

    fn has(self, other: Seen) -> bool {
        self.0 & other.0 != 0
    }

    /// Returns whether it is nothing else than some of these.
    fn within(self, these: Seen) -> bool {
        self.0 & !these.0 == 0
    }

    fn after(self, verdict: Verdict) -> Seen {
        if self == Seen::NO_WAY {
            return self;
        }
        let keep = |which: Seen| Seen(self.0 & which.0);
        match verdict {
            Verdict::Failed => Seen::FAILED,
            Verdict::Excepted => Seen::EXCEPTED,
            Verdict::Absent => self,
            Verdict::Met if self.has(Seen::NOTHING) => keep(Seen::FAILED.or(Seen::OTHER)).or(Seen::MET),
            Verdict::Met => self,
            Verdict::Open | Verdict::Fault => {
                let failed = keep(Seen::FAILED);
                if self == failed { failed } else { failed.or(Seen::OTHER) }
            }
        }
    }
}

/// A check that some way has reached.
#[derive(Clone, Debug)]
pub(super) struct Reached<T> {
    /// Its number.
    pub(super) check: u8,
    /// What can be said of it.
    pub(super) verdict: Verdict,
    /// Whether the verdict had to be taken back, because only some ways reach the check.
    pub(super) reopened: bool,
    /// What else is known of it.
    pub(super) what: T,
    varies: bool,
}

/// All ways through a rule.
#[derive(Debug)]
pub(super) struct Ways<T> {
    reached: Vec<Reached<T>>,
    on: Seen,
    ended: Seen,
    forks: usize,
}

impl<T> Ways<T> {
    pub(super) fn new() -> Ways<T> {
        Ways { reached: Vec::new(), on: Seen::NOTHING, ended: Seen::NO_WAY, forks: 0 }
    }

    /// Returns whether any way is still going on.
    pub(super) fn go_on(&self) -> bool {
        self.on != Seen::NO_WAY
    }

    /// Takes the verdict of a check that the ways going on have reached.
    pub(super) fn check(&mut self, check: u8, verdict: Verdict, what: T) {
        if verdict == Verdict::Absent {
            return;
        }
        let varies = self.forks > 0 || self.ended != Seen::NO_WAY;
        self.reached.push(Reached { check, verdict, reopened: false, what, varies });
        self.on = self.on.after(verdict);
    }

    /// Ends the ways going on: out of the rule's scope, or by an exception with its number among the checks.
    pub(super) fn leave(&mut self, exception: Option<u8>, what: T) {
        if let Some(check) = exception {
            self.check(check, Verdict::Excepted, what);
        }
        self.end();
    }

    /// Ends the ways going on.
    pub(super) fn end(&mut self) {
        self.ended = self.ended.or(self.on);
        self.on = Seen::NO_WAY;
    }

    /// Begins the first branch behind a condition that is not known. Returns the ways that lead here.
    pub(super) fn fork(&mut self) -> Seen {
        self.forks += 1;
        self.on
    }

    /// Begins the second branch with the ways that lead to the fork. Returns those that go on behind the first.
    pub(super) fn other(&mut self, before: Seen) -> Seen {
        std::mem::replace(&mut self.on, before)
    }

    /// Ends the second branch: the ways of both go on together.
    pub(super) fn join(&mut self, first: Seen) {
        self.forks -= 1;
        self.on = self.on.or(first);
    }

    /// Returns the checks with what can be said of them, in the order of the rule, each once.
    pub(super) fn settle(self) -> Vec<Reached<T>> {
        let all = self.on.or(self.ended);
        let mut reached = self.reached;
        if all.within(Seen::NOTHING.or(Seen::EXCEPTED)) {
            // Excepted if it is in scope at all: by the exception that is certain, or by the last one, which takes what those before it
            // may leave.
            let certain = reached.iter().position(|check| !check.varies).unwrap_or(reached.len().saturating_sub(1));
            reached = reached.into_iter().skip(certain).take(1).collect();
            return reached;
        }
        reached.retain(|check| check.verdict != Verdict::Excepted);
        if all.within(Seen::MET.or(Seen::EXCEPTED)) {
            return reached;
        }
        if all == Seen::FAILED {
            // Every way fails. A check that every way reaches says so; failing that, the first one that fails does.
            let mut said = reached.iter().any(|check| !check.varies && check.verdict == Verdict::Failed);
            let certain = said;
            reached.retain_mut(|check| match (check.varies, check.verdict) {
                (true, Verdict::Failed) if !certain => !std::mem::replace(&mut said, true),
                (true, _) => {
                    check.reopen();
                    true
                }
                (false, _) => true,
            });
        } else {
            reached.iter_mut().filter(|check| check.varies).for_each(Reached::reopen);
        }
        // A fault of a `let` is put down to the next check, which another way may have reached itself.
        reached.dedup_by(|next, first| {
            let same = next.check == first.check;
            if same && next.verdict > first.verdict {
                std::mem::swap(next, first);
            }
            same
        });
        reached
    }
}

impl<T> Reached<T> {
    fn reopen(&mut self) {
        self.reopened = true;
        self.verdict = Verdict::Open;
    }
}

/// Runs a rule once more, now along all ways, and records what the first run, which got `done` checks far, could not.
#[cold]
pub(super) fn finish(steps: &[Step], machine: &mut Machine<'_>, done: u8, recorder: &mut impl Recorder) {
    let mut ways = Ways::new();
    machine.presumed = false;
    explore(steps, machine, &mut ways);
    for reached in ways.settle().into_iter().skip(usize::from(done)) {
        let (margin, presumed) = reached.what;
        recorder.record(reached.check, reached.verdict, if reached.reopened { 0 } else { margin });
        if presumed {
            recorder.presumed();
        }
    }
}

/// The margin of a check, and whether its verdict rests on a presumption.
type What = (i64, bool);

fn explore(steps: &[Step], machine: &mut Machine<'_>, ways: &mut Ways<What>) {
    for step in steps {
        if !ways.go_on() {
            return;
        }
        match step {
            Step::Check { check, judge } => {
                let (verdict, margin) = judge.one(machine);
                ways.check(*check, verdict, (margin, machine.presumed));
            }
            Step::Let { local, value, next } => {
                let (value, rests) = machine.resting(value);
                machine.presumed_by_name = rests;
                machine.set(*local, value);
                if value.state == State::Fault {
                    ways.check(*next, Verdict::Fault, (0, machine.presumed));
                    ways.end();
                }
            }
            Step::Applies { condition, next, presumed } => {
                let (condition, rests) = machine.resting(condition);
                leave(negated(condition), *next, presumed.filter(|_| rests), machine, ways);
            }
            Step::Except { check, in_force, condition } => {
                if machine.slot(*in_force).bits != 0 {
                    let condition = condition(machine);
                    leave(condition, *check, Some(*check), machine, ways);
                }
            }
            Step::If { condition, then, otherwise, next } => {
                branch(condition(machine), then, otherwise, *next, machine, ways);
            }
        }
    }
}

fn branch(
    condition: Val,
    then: &[Step],
    otherwise: &[Step],
    next: u8,
    machine: &mut Machine<'_>,
    ways: &mut Ways<What>,
) {
    match condition.state {
        State::Known | State::Undefined if condition.bits != 0 => explore(then, machine, ways),
        State::Known | State::Undefined => explore(otherwise, machine, ways),
        State::Unknown => {
            // A verdict rests on what was presumed on the ways that lead to it, and on no others.
            let (before, presumed) = (ways.fork(), machine.presumed);
            explore(then, machine, ways);
            let behind_first = ways.go_on() && machine.presumed;
            let first = ways.other(before);
            machine.presumed = presumed;
            explore(otherwise, machine, ways);
            let behind_second = ways.go_on() && machine.presumed;
            machine.presumed = presumed || behind_first || behind_second;
            ways.join(first);
        }
        State::Fault => {
            ways.check(next, Verdict::Fault, (0, machine.presumed));
            ways.end();
        }
    }
}

/// Returns the opposite of a condition.
pub(super) fn negated(condition: Val) -> Val {
    Val { bits: i64::from(condition.bits == 0), ..condition }.settled()
}

/// Ends the ways on which a condition holds: out of scope, or by an exception.
fn leave(condition: Val, next: u8, exception: Option<u8>, machine: &Machine<'_>, ways: &mut Ways<What>) {
    let what = (0, machine.presumed);
    match condition.state {
        State::Known | State::Undefined if condition.bits != 0 => ways.leave(exception, what),
        State::Known | State::Undefined => {}
        State::Unknown => {
            let before = ways.fork();
            ways.leave(exception, what);
            let first = ways.other(before);
            ways.join(first);
        }
        State::Fault => {
            ways.check(next, Verdict::Fault, what);
            ways.end();
        }
    }
}
