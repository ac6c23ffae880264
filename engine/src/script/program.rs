//! A plan turned into closures that can be run without looking at it again.
//!
//! Each closure is made for the exact shape of its operands, so that the common ones (a field against a slot) have nothing
//! to decide while they run and no call inside.

use super::detail::Verdict;
use super::machine::Machine;
use super::native::Natives;
use super::plan::{Bound, Expr, Keep, List, Plan, Statement};
use super::reckon::value;
use super::source::{Source, Visit, VisitTwo, visit, visit_two};
use super::value::{Val, judge};
use crate::model::ItemIndex;

/// An expression, ready to run.
pub(super) type Eval = Box<dyn Fn(&mut Machine<'_>) -> Val + Send + Sync>;

/// A check, ready to run.
pub(super) type Judge = Box<dyn Judging>;

/// Gives verdicts and margins.
pub(super) trait Judging: Send + Sync {
    /// Judges the item that is looked at.
    fn one(&self, machine: &mut Machine<'_>) -> (Verdict, i64);

    /// Judges items one after the other: a whole loop costs one call.
    fn each(&self, machine: &mut Machine<'_>, items: &[ItemIndex], given: &mut Vec<(Verdict, i64)>);

    /// Returns whether what it judges is always there, so that no verdict is [`Verdict::Absent`].
    fn is_always_there(&self) -> bool {
        false
    }
}

impl<F> Judging for F
where
    F: Fn(&mut Machine<'_>) -> (Verdict, i64) + Send + Sync,
{
    #[inline]
    fn one(&self, machine: &mut Machine<'_>) -> (Verdict, i64) {
        self(machine)
    }

    fn each(&self, machine: &mut Machine<'_>, items: &[ItemIndex], given: &mut Vec<(Verdict, i64)>) {
        given.extend(items.iter().map(|&item| {
            machine.turn_to(item);
            self(machine)
        }));
    }
}

/// Returns a check that judges by a closure.
pub(super) fn judge_by<F>(judge: F) -> Judge
where
    F: Fn(&mut Machine<'_>) -> (Verdict, i64) + Send + Sync + 'static,
{
    Box::new(judge)
}

/// A statement, ready to run.
pub(super) enum Step {
    /// `keep`, `need`, `look`
    Check {
        /// Number of the check.
        check: u8,
        /// Gives verdict and margin.
        judge: Judge,
    },
    /// `applies where …`
    Applies {
        /// The condition.
        condition: Eval,
        /// The check to which a fault is put down.
        next: u8,
        /// The exception for what is out of scope only by what the rule presumes.
        presumed: Option<u8>,
    },
    /// `except … where …`
    Except {
        /// Its number among the checks.
        check: u8,
        /// The slot that says whether it is in force.
        in_force: u16,
        /// The condition.
        condition: Eval,
    },
    /// `if`
    If {
        /// The condition.
        condition: Eval,
        /// What is done when it holds.
        then: Box<[Step]>,
        /// What is done when it does not.
        otherwise: Box<[Step]>,
        /// The check to which a fault is put down.
        next: u8,
    },
    /// `let`
    Let {
        /// Where the value is kept.
        local: u8,
        /// The value.
        value: Eval,
        /// The check to which a fault is put down.
        next: u8,
    },
}

/// A rule, ready to run.
pub(super) struct Program {
    pub(super) steps: Box<[Step]>,
}

impl std::fmt::Debug for Program {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} steps", self.steps.len())
    }
}

impl Program {
    /// Makes a plan ready to run.
    pub(super) fn of(plan: &Plan, natives: &Natives) -> Program {
        Program { steps: steps(&plan.body, natives) }
    }
}

fn steps(block: &[Statement], natives: &Natives) -> Box<[Step]> {
    block.iter().map(|statement| step(statement, natives)).collect()
}

fn step(statement: &Statement, natives: &Natives) -> Step {
    match statement {
        Statement::Keep(keep) => Step::Check { check: keep.check, judge: keep_judge(keep, natives) },
        Statement::OneOf { check, within } => {
            let is_in = value(&Expr::Within(Box::new(within.clone())), natives);
            let of = value(&within.value, natives);
            let list = match &within.list {
                List::Value(list) => Some(value(list, natives)),
                List::Entry(_) => None,
            };
            let judge = judge_by(move |m| match is_in(m).verdict() {
                // Not in the list, or is there nothing that could be?
                Verdict::Failed if of(m) == Val::NOTHING => (Verdict::Absent, 0),
                Verdict::Failed if list.as_ref().is_some_and(|list| list(m) == Val::NOTHING) => (Verdict::Absent, 0),
                verdict => (verdict, 0),
            });
            Step::Check { check: *check, judge }
        }
        Statement::Need { check, condition } => Step::Check { check: *check, judge: visit(condition, natives, Needed) },
        Statement::Look { check } => Step::Check { check: *check, judge: judge_by(|_| (Verdict::Open, 0)) },
        Statement::Let { local, value: of, next } => {
            Step::Let { local: *local, value: value(of, natives), next: *next }
        }
        Statement::If { condition, then, otherwise, next } => {
            let condition = value(condition, natives);
            Step::If { condition, then: steps(then, natives), otherwise: steps(otherwise, natives), next: *next }
        }
        Statement::Applies { condition, next, presumed } => {
            Step::Applies { condition: value(condition, natives), next: *next, presumed: *presumed }
        }
        Statement::Except { check, in_force, condition } => {
            Step::Except { check: *check, in_force: *in_force, condition: value(condition, natives) }
        }
    }
}

/// A condition that must hold.
struct Needed;

impl Visit for Needed {
    type Made = Judge;

    fn make<A: Source>(self, condition: A) -> Judge {
        struct Held<A>(A);

        impl<A: Source> Judging for Held<A> {
            #[inline]
            fn one(&self, m: &mut Machine<'_>) -> (Verdict, i64) {
                (self.0.get(m).verdict(), 0)
            }

            fn each(&self, m: &mut Machine<'_>, items: &[ItemIndex], given: &mut Vec<(Verdict, i64)>) {
                given.extend(items.iter().map(|&item| {
                    m.turn_to(item);
                    self.one(m)
                }));
            }

            // What is not there is a no.
            fn is_always_there(&self) -> bool {
                true
            }
        }

        Box::new(Held(condition))
    }
}

fn keep_judge(keep: &Keep, natives: &Natives) -> Judge {
    match (&keep.upper, keep.bound) {
        (Some(upper), _) => visit(&keep.found, natives, BetweenLimits { keep, upper, natives }),
        (None, Bound::AtMost) => visit_two(&keep.found, &keep.limit, natives, AtMost),
        (None, Bound::AtLeast | Bound::Between) => visit_two(&keep.found, &keep.limit, natives, AtLeast),
        (None, Bound::EqualAmount) => visit_two(&keep.found, &keep.limit, natives, EqualAmount),
        (None, Bound::Same) => visit_two(&keep.found, &keep.limit, natives, Same),
    }
}

/// A `keep` with one limit for each verb, so that the verb is no question while it runs.
macro_rules! one_limit {
    ($($name:ident)+) => { $(
        struct $name;

        impl VisitTwo for $name {
            type Made = Judge;

            fn make<A: Source, B: Source>(self, found: A, limit: B) -> Judge {
                struct Held<A, B>(A, B);

                impl<A: Source, B: Source> Judging for Held<A, B> {
                    #[inline]
                    fn one(&self, m: &mut Machine<'_>) -> (Verdict, i64) {
                        let found = self.0.get(m);
                        let limit = self.1.get(m);
                        judge::one(Bound::$name, found, limit)
                    }

                    fn each(&self, m: &mut Machine<'_>, items: &[ItemIndex], given: &mut Vec<(Verdict, i64)>) {
                        if B::FIXED {
                            let limit = self.1.get(m);
                            given.extend(items.iter().map(|&item| {
                                m.turn_to(item);
                                judge::one(Bound::$name, self.0.get(m), limit)
                            }));
                        } else {
                            given.extend(items.iter().map(|&item| {
                                m.turn_to(item);
                                self.one(m)
                            }));
                        }
                    }

                    fn is_always_there(&self) -> bool {
                        A::ALWAYS_THERE && B::ALWAYS_THERE
                    }
                }

                Box::new(Held(found, limit))
            }
        }
    )+ };
}

one_limit!(AtMost AtLeast EqualAmount Same);

struct BetweenLimits<'a> {
    keep: &'a Keep,
    upper: &'a Expr,
    natives: &'a Natives,
}

impl Visit for BetweenLimits<'_> {
    type Made = Judge;

    fn make<A: Source>(self, found: A) -> Judge {
        if let (Expr::Slot(lower), Expr::Slot(upper)) = (&self.keep.limit, self.upper) {
            let (lower, upper) = (*lower, *upper);
            return judge_by(move |m| {
                let found = found.get(m);
                judge::between(found, m.slot(lower), m.slot(upper))
            });
        }
        let (lower, upper) = (value(&self.keep.limit, self.natives), value(self.upper, self.natives));
        judge_by(move |m| {
            let found = found.get(m);
            let lower = lower(m);
            let upper = upper(m);
            judge::between(found, lower, upper)
        })
    }
}
