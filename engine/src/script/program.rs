//! A plan turned into closures that can be run without looking at it again.
//!
//! Each closure is made for the exact shape of its operands, so that the common ones (a field against a slot) have nothing
//! to decide while they run and no call inside.

use super::detail::Verdict;
use super::machine::Machine;
use super::native::Natives;
use super::plan::{Bound, Expr, Keep, Plan, Statement};
use super::reckon::value;
use super::source::{Source, Visit, VisitTwo, visit, visit_two};
use super::value::{Val, judge};

/// An expression, ready to run.
pub(super) type Eval = Box<dyn Fn(&mut Machine<'_>) -> Val + Send + Sync>;

/// A check, ready to run.
pub(super) type Judge = Box<dyn Fn(&mut Machine<'_>) -> (Verdict, i64) + Send + Sync>;

/// A statement, ready to run.
pub(super) enum Step {
    /// `keep`, `need`, `look`
    Check {
        /// Number of the check.
        check: u8,
        /// Gives verdict and margin.
        judge: Judge,
    },
    /// `if … { skip; }`
    SkipIf {
        /// The condition.
        condition: Eval,
        /// The check to which a fault is put down.
        next: u8,
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
    /// `skip`
    Skip,
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
            Step::Check { check: *check, judge: Box::new(move |m| (is_in(m).verdict(), 0)) }
        }
        Statement::Need { check, condition } => {
            let condition = value(condition, natives);
            Step::Check { check: *check, judge: Box::new(move |m| (condition(m).verdict(), 0)) }
        }
        Statement::Look { check } => Step::Check { check: *check, judge: Box::new(|_| (Verdict::Open, 0)) },
        Statement::Let { local, value: of, next } => {
            Step::Let { local: *local, value: value(of, natives), next: *next }
        }
        Statement::If { condition, then, otherwise, next } => {
            let condition = value(condition, natives);
            match (&then[..], &otherwise[..]) {
                ([Statement::Skip], []) => Step::SkipIf { condition, next: *next },
                _ => Step::If {
                    condition,
                    then: steps(then, natives),
                    otherwise: steps(otherwise, natives),
                    next: *next,
                },
            }
        }
        Statement::Skip => Step::Skip,
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
                Box::new(move |m| {
                    let found = found.get(m);
                    let limit = limit.get(m);
                    judge::one(Bound::$name, found, limit)
                })
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
            return Box::new(move |m| {
                let found = found.get(m);
                judge::between(found, m.slot(lower), m.slot(upper))
            });
        }
        let (lower, upper) = (value(&self.keep.limit, self.natives), value(self.upper, self.natives));
        Box::new(move |m| {
            let found = found.get(m);
            let lower = lower(m);
            let upper = upper(m);
            judge::between(found, lower, upper)
        })
    }
}
