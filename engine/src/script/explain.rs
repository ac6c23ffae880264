//! Looks at one item once more and tells everything about each check: what was found, what is allowed, where both come from,
//! what is missing, what is wrong.
//!
//! It says of every check what the [`Runner`](super::Runner) says; tests hold the two against each other.

use super::check::{Check, Verb};
use super::detail::{Detail, Operand, OperandSource, Shown, Verdict, margin};
use super::machine::Machine;
use super::native::Natives;
use super::plan::{Expr, Keep, Plan, Statement, Within};
use super::reads::ReadLog;
use super::trace::{Trace, Tracer, merge};
use super::types::Ty;
use super::unknown::{Ways, negated};
use super::value::{State, Val, judge};
use super::working::{Working, Workings};
use crate::model::{FieldId, ItemIndex};

type Missing = Vec<(ItemIndex, FieldId)>;

/// A check on its way to a [`Detail`].
#[derive(Clone, Debug)]
pub(super) struct Found {
    detail: Detail,
    /// What the conditions on the way here would need.
    on_the_way: Missing,
    workings: Workings,
}

/// Goes through a rule and gathers details.
pub(super) struct Explainer<'r, 'a> {
    tracer: Tracer<'r, 'a>,
    checks: &'r [Check],
    ways: Ways<Found>,
    on_the_way: Missing,
    /// What the conditions on the way here have read.
    conditions: Vec<OperandSource>,
}

/// Tells everything about the checks of one item.
pub(super) fn explain(
    machine: &mut Machine<'_>,
    plan: &Plan,
    natives: &Natives,
    checks: &[Check],
    item: ItemIndex,
) -> Vec<(Detail, Workings)> {
    machine.begin(item);
    let locals = vec![Trace::of(Val::UNKNOWN); plan.locals];
    let mut explainer = Explainer {
        tracer: Tracer {
            machine,
            plan,
            natives,
            locals,
            workings: vec![None; plan.locals],
            presumed: Vec::new(),
            reads: ReadLog::new(plan.locals),
        },
        checks,
        ways: Ways::new(),
        on_the_way: Vec::new(),
        conditions: Vec::new(),
    };
    explainer.block(&plan.body);
    let reached = explainer.ways.settle();
    reached
        .into_iter()
        .map(|reached| {
            let Found { mut detail, on_the_way, mut workings } = reached.what;
            if reached.reopened {
                if detail.fault.is_some() {
                    // What can't be told is no evidence for anything.
                    detail.found = None;
                    detail.allowed.clear();
                    (workings.found, workings.allowed) = (None, Vec::new());
                }
                detail.verdict = Verdict::Open;
                detail.margin = None;
                detail.fault = None;
                merge(&mut detail.missing, &on_the_way);
            }
            detail.missing.sort_unstable();
            (detail, workings)
        })
        .collect()
}

impl<'r, 'a> Explainer<'r, 'a> {
    fn block(&mut self, block: &[Statement]) {
        for statement in block {
            if !self.ways.go_on() {
                return;
            }
            match statement {
                Statement::Keep(keep) => self.keep(keep),
                Statement::OneOf { check, within } => self.one_of(*check, within),
                Statement::Need { check, condition } => {
                    let trace = self.tracer.trace(condition);
                    let verdict = trace.val.verdict();
                    let found = Some(self.working(condition));
                    let workings = Workings { found, ..Workings::default() };
                    self.check(*check, verdict, 0, Some((trace, Ty::Flag)), Vec::new(), workings);
                }
                Statement::Look { check } => {
                    self.check(*check, Verdict::Open, 0, None, Vec::new(), Workings::default());
                }
                Statement::Applies { condition, next, presumed } => {
                    let before = std::mem::replace(&mut self.tracer.machine.presumed, false);
                    let mut condition = self.tracer.trace(condition);
                    let reads = self.tracer.reads.take();
                    merge(&mut self.conditions, &reads);
                    condition.val = negated(condition.val);
                    let rests = self.tracer.machine.presumed || self.tracer.machine.presumed_by_name;
                    self.tracer.machine.presumed |= before;
                    self.leave(condition, *next, presumed.filter(|_| rests), None);
                }
                Statement::Except { check, in_force, condition } => {
                    if self.tracer.machine.slot(*in_force).bits != 0 {
                        let trace = self.tracer.trace(condition);
                        let working = self.working(condition);
                        self.leave(trace, *check, Some(*check), Some(working));
                        let reads = self.tracer.reads.take();
                        merge(&mut self.conditions, &reads);
                    }
                }
                Statement::Let { local, value, next } => {
                    let before = std::mem::replace(&mut self.tracer.machine.presumed, false);
                    let trace = self.tracer.trace(value);
                    self.tracer.machine.presumed_by_name |= self.tracer.machine.presumed;
                    self.tracer.machine.presumed |= before;
                    self.without_presuming(|tracer| tracer.keep_working(*local, value));
                    self.tracer.reads.end_let(*local);
                    self.tracer.machine.set(*local, trace.val);
                    if trace.val.state == State::Fault {
                        self.fault(*next, trace);
                    } else if let Some(slot) = self.tracer.locals.get_mut(usize::from(*local)) {
                        *slot = trace;
                    }
                }
                Statement::If { condition, then, otherwise, next } => {
                    let condition = self.tracer.trace(condition);
                    let reads = self.tracer.reads.take();
                    merge(&mut self.conditions, &reads);
                    match condition.val.state {
                        State::Known | State::Undefined if condition.val.bits != 0 => self.block(then),
                        State::Known | State::Undefined => self.block(otherwise),
                        State::Unknown => self.fork(&condition.missing, then, otherwise),
                        State::Fault => self.fault(*next, condition),
                    }
                }
            }
        }
    }

    /// Returns how an expression comes to its value.
    fn working(&mut self, of: &Expr) -> Working {
        self.without_presuming(|tracer| tracer.working(of))
    }

    /// Looks once more at what has been looked at: it may go further than the verdict did, which does not rest on what is presumed
    /// there.
    fn without_presuming<T>(&mut self, look: impl FnOnce(&mut Tracer<'r, 'a>) -> T) -> T {
        let presumed = self.tracer.presumed.clone();
        let looked = look(&mut self.tracer);
        self.tracer.presumed = presumed;
        looked
    }

    /// Ends the ways on which a condition holds: out of scope, or by an exception.
    fn leave(&mut self, condition: Trace, next: u8, exception: Option<u8>, working: Option<Working>) {
        match condition.val.state {
            State::Known | State::Undefined if condition.val.bits != 0 => self.out(exception, condition, working),
            State::Known | State::Undefined => {}
            State::Unknown => {
                merge(&mut self.on_the_way, &condition.missing);
                let before = self.ways.fork();
                self.out(exception, condition, working);
                let first = self.ways.other(before);
                self.ways.join(first);
            }
            State::Fault => self.fault(next, condition),
        }
    }

    fn out(&mut self, exception: Option<u8>, condition: Trace, found: Option<Working>) {
        if let Some(check) = exception {
            let workings = Workings { found, ..Workings::default() };
            self.check(check, Verdict::Excepted, 0, Some((condition, Ty::Flag)), Vec::new(), workings);
        }
        self.ways.end();
    }

    fn fork(&mut self, missing: &Missing, then: &[Statement], otherwise: &[Statement]) {
        merge(&mut self.on_the_way, missing);
        let behind = self.on_the_way.clone();
        let mut after = behind.clone();
        // A verdict rests on what was presumed on the ways that lead to it, and on no others.
        let presumed = self.tracer.presumed.clone();
        let mut presumed_after = presumed.clone();
        let before = self.ways.fork();
        self.block(then);
        if self.ways.go_on() {
            merge(&mut after, &self.on_the_way);
            merge(&mut presumed_after, &self.tracer.presumed);
        }
        let first = self.ways.other(before);
        self.on_the_way = behind;
        self.tracer.presumed = presumed;
        self.block(otherwise);
        if self.ways.go_on() {
            merge(&mut after, &self.on_the_way);
            merge(&mut presumed_after, &self.tracer.presumed);
        }
        self.ways.join(first);
        self.on_the_way = after;
        self.tracer.presumed = presumed_after;
    }

    fn fault(&mut self, check: u8, trace: Trace) {
        self.check(check, Verdict::Fault, 0, Some((trace, Ty::Wrong)), Vec::new(), Workings::default());
        self.ways.end();
    }

    fn keep(&mut self, keep: &Keep) {
        let found = self.tracer.trace(&keep.found);
        let limit = self.tracer.trace(&keep.limit);
        let upper = keep.upper.as_ref().map(|upper| self.tracer.trace(upper));
        let (verdict, margin) = match &upper {
            Some(upper) => judge::between(found.val, limit.val, upper.val),
            None => judge::one(keep.bound, found.val, limit.val),
        };
        let ty = self.checks.get(usize::from(keep.check)).map_or(Ty::Wrong, |check| check.found.clone());
        let allowed = [Some(limit), upper].into_iter().flatten().map(|trace| (trace, ty.clone())).collect();
        let limits = [Some(&keep.limit), keep.upper.as_ref()].into_iter().flatten();
        let workings = Workings {
            found: Some(self.working(&keep.found)),
            allowed: limits.map(|limit| self.working(limit)).collect(),
            reads: Vec::new(),
        };
        self.check(keep.check, verdict, margin, Some((found, ty)), allowed, workings);
    }

    fn one_of(&mut self, check: u8, within: &Within) {
        let found = self.tracer.trace(&within.value);
        let (list, is_in) = self.tracer.is_in(within, &found);
        let is_there = found.val != Val::NOTHING && list.val != Val::NOTHING;
        let verdict = match is_in.verdict() {
            Verdict::Failed if !is_there => Verdict::Absent,
            verdict => verdict,
        };
        let ty = self.checks.get(usize::from(check)).map_or(Ty::Wrong, |check| check.found.clone());
        let allowed = vec![(list, Ty::List(Box::new(ty.clone())))];
        let workings = Workings {
            found: Some(self.working(&within.value)),
            allowed: vec![self.without_presuming(|tracer| tracer.working_of_list(&within.list, &ty))],
            reads: Vec::new(),
        };
        self.check(check, verdict, 0, Some((found, ty)), allowed, workings);
    }

    fn check(
        &mut self,
        at: u8,
        verdict: Verdict,
        amount: i64,
        found: Option<(Trace, Ty)>,
        allowed: Vec<(Trace, Ty)>,
        mut workings: Workings,
    ) {
        let Some(check) = self.checks.get(usize::from(at)) else { return };
        let (check, fix, look) = (check.clone(), check.fix.clone(), check.look.clone());
        let mut missing = Vec::new();
        let mut fault = None;
        for (trace, _) in found.iter().chain(&allowed) {
            merge(&mut missing, &trace.missing);
            fault = fault.or_else(|| trace.fault.clone());
        }
        let decided = matches!(verdict, Verdict::Met | Verdict::Failed);
        let measured = matches!(check.verb, Verb::AtMost | Verb::AtLeast | Verb::Between | Verb::EqualTo);
        // The least or most of nothing is met or fails as the rule says, by no margin.
        let there = found.iter().chain(&allowed).all(|(trace, _)| trace.val.state != State::Undefined);
        let has_margin = decided && measured && there;
        let detail = Detail {
            check: at,
            verdict,
            verb: check.verb,
            margin: if has_margin { margin(amount, check.dimension) } else { None },
            missing: if verdict == Verdict::Open { missing } else { Vec::new() },
            found: found.filter(|(_, ty)| *ty != Ty::Wrong).map(|(trace, ty)| self.operand(trace, &ty)),
            allowed: allowed.into_iter().map(|(trace, ty)| self.operand(trace, &ty)).collect(),
            fix,
            look,
            presumed: self.tracer.presumed.clone(),
            fault: if verdict == Verdict::Fault { fault } else { None },
            span: check.span,
        };
        let on_the_way = self.on_the_way.clone();
        workings.reads = self.tracer.reads.take();
        merge(&mut workings.reads, &self.conditions);
        workings.reads.sort_unstable();
        self.ways.check(at, verdict, Found { detail, on_the_way, workings });
    }

    fn operand(&self, trace: Trace, ty: &Ty) -> Operand {
        let value = match (&trace.members, trace.val.state) {
            (Some(members), State::Known) => {
                let member = match ty {
                    Ty::List(member) => member,
                    other => other,
                };
                Shown::List(members.iter().map(|&bits| Shown::of(bits, member, self.tracer.machine.facts)).collect())
            }
            (None, State::Known) => Shown::of(trace.val.bits, ty, self.tracer.machine.facts),
            _ => Shown::Unknown,
        };
        Operand { value, sources: trace.sources }
    }
}
