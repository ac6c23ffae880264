//! Conditions that are not known: every way is gone, and what all ways agree on holds.
//!
//! A rule can't change a value, so a check gives the same verdict on every way that reaches it. What can differ is whether it
//! is reached at all, and what else happens on the way. So one pass is enough: behind a condition that is not known it goes
//! through both branches, and keeps, as a set, what the ways that lead here have seen so far.
//!
//! In the end, if the verdict is the same on every way (all met, all failed, or all skipped), it is the verdict. Otherwise
//! the checks that only some ways reach are open.

use super::detail::{Recorder, Verdict};
use super::machine::Machine;
use super::program::Step;
use super::value::{State, Val};

/// What a way has seen so far, as a set of the four that there are.
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

    fn or(self, other: Seen) -> Seen {
        Seen(self.0 | other.0)
    }

    fn has(self, other: Seen) -> bool {
        self.0 & other.0 != 0
    }

    fn after(self, verdict: Verdict) -> Seen {
        if self == Seen::NO_WAY {
            return self;
        }
        let keep = |which: Seen| Seen(self.0 & which.0);
        match verdict {
            Verdict::Failed => Seen::FAILED,
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
        let varies = self.forks > 0 || self.ended != Seen::NO_WAY;
        self.reached.push(Reached { check, verdict, reopened: false, what, varies });
        self.on = self.on.after(verdict);
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
        } else if all != Seen::MET {
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
    explore(steps, machine, &mut ways);
    for reached in ways.settle().into_iter().skip(usize::from(done)) {
        let margin = if reached.reopened { 0 } else { reached.what };
        recorder.record(reached.check, reached.verdict, margin);
    }
}

fn explore(steps: &[Step], machine: &mut Machine<'_>, ways: &mut Ways<i64>) {
    for step in steps {
        if !ways.go_on() {
            return;
        }
        match step {
            Step::Check { check, judge } => {
                let (verdict, margin) = judge.one(machine);
                ways.check(*check, verdict, margin);
            }
            Step::Skip => ways.end(),
            Step::Let { local, value, next } => {
                let value = value(machine);
                machine.set(*local, value);
                if value.state == State::Fault {
                    ways.check(*next, Verdict::Fault, 0);
                    ways.end();
                }
            }
            Step::SkipIf { condition, next } => branch(condition(machine), &[Step::Skip], &[], *next, machine, ways),
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
    ways: &mut Ways<i64>,
) {
    match condition.state {
        State::Known if condition.bits != 0 => explore(then, machine, ways),
        State::Known => explore(otherwise, machine, ways),
        State::Unknown => {
            let before = ways.fork();
            explore(then, machine, ways);
            let first = ways.other(before);
            explore(otherwise, machine, ways);
            ways.join(first);
        }
        State::Fault => {
            ways.check(next, Verdict::Fault, 0);
            ways.end();
        }
    }
}
