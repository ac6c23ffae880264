//! Statements and quantifiers, as Rhai calls them.

use std::sync::{Arc, Mutex};

use rhai::{Dynamic, Engine, EvalAltResult, EvalContext, Expression, Position};

use super::super::check::{Check, Verb};
use super::super::detail::{Detail, Verdict, margin};
use super::super::syntax;
use super::logic::{contains, input};
use super::sight::{Given, Seen, Sight, What, fault};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::Quantity;

/// A check that one way has reached.
#[derive(Clone, Debug)]
pub(super) struct OneFound {
    pub(super) detail: Detail,
    /// By how much it is met or missed, in base units.
    pub(super) amount: i64,
    /// Whether it stands for the fault of a `let` or `if` before it.
    pub(super) before: bool,
    /// What the unknown conditions on the way here would need.
    pub(super) on_the_way: Vec<(ItemIndex, FieldId)>,
}

/// One way through a rule.
#[derive(Clone, Debug)]
pub(super) struct Course {
    checks: Arc<[Check]>,
    /// The items that are still to run, where there are several.
    items: Vec<ItemIndex>,
    /// The one that runs, and what is to be known of each: verdicts and margins, nothing more.
    brief: Option<(ItemIndex, Vec<Brief>)>,
    pub(super) decisions: Vec<bool>,
    asked: usize,
    on_the_way: Vec<(ItemIndex, FieldId)>,
    pub(super) found: Vec<OneFound>,
}

impl Course {
    pub(super) fn new(checks: Arc<[Check]>) -> Course {
        Course {
            checks,
            items: Vec::new(),
            brief: None,
            decisions: Vec::new(),
            asked: 0,
            on_the_way: Vec::new(),
            found: Vec::new(),
        }
    }

    /// Begins to run several items.
    pub(super) fn begin(&mut self, items: &[ItemIndex]) {
        self.items = items.to_vec();
        self.decisions.clear();
        self.brief = Some((ItemIndex(0), Vec::with_capacity(items.len())));
    }

    /// Ends that, and returns what was recorded.
    pub(super) fn end(&mut self) -> Vec<Brief> {
        self.brief.take().map(|(_, records)| records).unwrap_or_default()
    }

    /// Begins an item of several.
    fn turn_to(&mut self, item: ItemIndex) {
        self.decisions.clear();
        self.asked = 0;
        self.on_the_way.clear();
        if let Some((at, _)) = &mut self.brief {
            *at = item;
        }
    }

    /// Ends an item of several. What one way found says nothing when there are others.
    fn leave(&mut self) {
        if let Some((item, records)) = &mut self.brief
            && !self.decisions.is_empty()
        {
            records.truncate(records.iter().rposition(|(of, _)| of != item).map_or(0, |last| last + 1));
            records.push((*item, None));
        }
    }

    pub(super) fn restart(&mut self, decisions: &[bool]) {
        self.decisions = decisions.to_vec();
        self.asked = 0;
        self.on_the_way.clear();
        self.found.clear();
    }

    /// Decides a condition that is not known.
    fn decide(&mut self, condition: &Seen) -> bool {
        self.on_the_way.extend_from_slice(&condition.missing);
        if self.asked == self.decisions.len() {
            self.decisions.push(true);
        }
        self.asked += 1;
        self.decisions.get(self.asked - 1).copied().unwrap_or(true)
    }

    fn record(
        &mut self,
        at: i64,
        verdict: Verdict,
        amount: i64,
        found: Option<&Seen>,
        allowed: &[Seen],
        why: Option<String>,
    ) {
        let Some(check) = usize::try_from(at).ok().and_then(|at| self.checks.get(at)) else { return };
        if let Some((item, records)) = &mut self.brief {
            return records.push((*item, Some((at as u8, verdict, amount))));
        }
        let mut missing: Vec<(ItemIndex, FieldId)> = Vec::new();
        for seen in found.into_iter().chain(allowed) {
            missing.extend_from_slice(&seen.missing);
        }
        missing.sort_unstable();
        missing.dedup();
        let has_margin = matches!(verdict, Verdict::Met | Verdict::Failed)
            && !matches!(check.verb, Verb::Need | Verb::Look | Verb::OneOf);
        let dimension = match found.map(|found| &found.what) {
            Some(What::Zero) => check.dimension,
            _ => found.and_then(Seen::amount).map(Quantity::dimension),
        };
        let detail = Detail {
            check: at as u8,
            verdict,
            verb: check.verb,
            found: found.map(Seen::operand),
            allowed: allowed.iter().map(Seen::operand).collect(),
            margin: if has_margin { margin(amount, dimension) } else { None },
            missing: if verdict == Verdict::Open { missing } else { Vec::new() },
            fix: check.fix.clone(),
            look: check.look.clone(),
            presumed: Vec::new(),
            fault: why.map(|why| Problem::new(check.span, why)),
            span: check.span,
        };
        let on_the_way = self.on_the_way.clone();
        self.found.push(OneFound { detail, amount, before: false, on_the_way });
    }
}

/// What is recorded of an item where only verdicts are wanted: a check with its verdict and margin; nothing where more than one
/// way leads through the rule.
pub(super) type Brief = (ItemIndex, Option<(u8, Verdict, i64)>);

type Shared = Arc<Mutex<Course>>;

fn with<T>(course: &Shared, act: impl FnOnce(&mut Course) -> T) -> Result<T, Box<EvalAltResult>> {
    course.lock().map(|mut course| act(&mut course)).map_err(|_| fault("a check failed"))
}

/// Returns what ends a rule for an item.
fn ended() -> Box<EvalAltResult> {
    EvalAltResult::Return(Dynamic::UNIT, Position::NONE).into()
}

/// Returns the message of a fault; other errors end the run.
fn why(error: Box<EvalAltResult>) -> Result<String, Box<EvalAltResult>> {
    match error.unwrap_inner() {
        EvalAltResult::ErrorRuntime(message, _) => Ok(message.to_string()),
        _ => Err(error),
    }
}

/// Registers the statements and quantifiers.
pub(super) fn register(engine: &mut Engine, sight: &Arc<Sight>, checks: &Arc<[Check]>, course: &Shared) {
    for (word, parser) in syntax::GRAMMAR {
        let (sight, checks, course) = (Arc::clone(sight), Arc::clone(checks), Arc::clone(course));
        engine.register_custom_syntax_with_state_raw(
            word,
            move |so_far, ahead, _| parser(so_far, ahead),
            true,
            move |context, inputs, state| match word {
                "keep" | "need" | "look" => check(word, context, inputs, state, &sight, &checks, &course),
                "skip" => Err(ended()),
                _ => quantifier(word, context, inputs, state, &sight).map(Dynamic::from),
            },
        );
    }
    let (own, kept) = (Arc::clone(sight), Arc::clone(course));
    engine.register_custom_syntax_with_state_raw(
        "kept",
        |_, _, _| Ok(None),
        false,
        move |context, inputs, state| match input(context, inputs.first(), &own) {
            Ok(seen) => Ok(Dynamic::from(seen)),
            Err(error) => Err(faulty(error, state, &kept)),
        },
    );
    let (own, chosen) = (Arc::clone(sight), Arc::clone(course));
    engine.register_custom_syntax_with_state_raw(
        "choose",
        |_, _, _| Ok(None),
        false,
        move |context, inputs, state| {
            let condition = input(context, inputs.first(), &own).map_err(|error| faulty(error, state, &chosen))?;
            let holds = match condition.flag() {
                Some(flag) => flag,
                None => with(&chosen, |course| course.decide(&condition))?,
            };
            let branch = inputs.get(if holds { 1 } else { 2 }).ok_or_else(|| fault("no branch"))?;
            context.eval_expression_tree(branch).map(|_| Dynamic::UNIT)
        },
    );
}

/// Registers what runs a rule once for each of several items, under the word of their kind.
pub(super) fn register_each(engine: &mut Engine, course: &Shared, word: &str) {
    let (course, word) = (Arc::clone(course), word.to_owned());
    engine.register_custom_syntax_with_state_raw(
        "each_item",
        |_, _, _| Ok(None),
        true,
        move |context, inputs, _| {
            let rule = inputs.first().ok_or_else(|| fault("no rule"))?;
            let items = with(&course, |course| std::mem::take(&mut course.items))?;
            let base = context.scope().len();
            for item in items {
                with(&course, |course| {
                    course.leave();
                    course.turn_to(item);
                })?;
                context.scope_mut().push(word.as_str(), Seen::item(item));
                let run = context.eval_expression_tree(rule);
                context.scope_mut().rewind(base);
                match run {
                    Ok(_) => {}
                    Err(error) if matches!(*error, EvalAltResult::Return(..)) => {}
                    Err(error) => return Err(error),
                }
            }
            with(&course, Course::leave)?;
            Ok(Dynamic::UNIT)
        },
    );
}

/// Puts the fault of a `let` or `if` down to the next check and ends the rule.
fn faulty(error: Box<EvalAltResult>, state: &Dynamic, course: &Shared) -> Box<EvalAltResult> {
    let message = match why(error) {
        Ok(message) => message,
        Err(error) => return error,
    };
    let at = state.as_int().unwrap_or(0);
    let recorded = with(course, |course| {
        course.record(at, Verdict::Fault, 0, None, &[], Some(message));
        if let Some(found) = course.found.last_mut() {
            found.before = true;
        }
    });
    recorded.err().unwrap_or_else(ended)
}

fn check(
    word: &str,
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    inputs: &[Expression<'_>],
    state: &Dynamic,
    sight: &Sight,
    checks: &[Check],
    course: &Shared,
) -> Result<Dynamic, Box<EvalAltResult>> {
    let at = state.as_int().unwrap_or(0);
    if word == "look" {
        with(course, |course| course.record(at, Verdict::Open, 0, None, &[], None))?;
        return Ok(Dynamic::UNIT);
    }
    let verb = usize::try_from(at).ok().and_then(|at| checks.get(at)).map(|check| check.verb);
    let sides = match verb {
        Some(Verb::Between) => 3,
        Some(Verb::Need) => 1,
        _ => 2,
    };
    let mut operands: [Seen; 3] = std::array::from_fn(|_| Seen::of(What::Unknown));
    for (side, operand) in operands.iter_mut().enumerate().take(sides) {
        match input(context, inputs.get(side), sight) {
            Ok(seen) => *operand = seen,
            Err(error) => {
                let message = why(error)?;
                with(course, |course| course.record(at, Verdict::Fault, 0, None, &[], Some(message)))?;
                return Ok(Dynamic::UNIT);
            }
        }
    }
    let operands = operands.get(..sides).unwrap_or_default();
    let (verdict, amount) = judged(verb, operands);
    let allowed = operands.get(1..).unwrap_or_default();
    with(course, |course| course.record(at, verdict, amount, operands.first(), allowed, None))?;
    Ok(Dynamic::UNIT)
}

fn decided(holds: bool) -> Verdict {
    if holds { Verdict::Met } else { Verdict::Failed }
}

fn judged(verb: Option<Verb>, operands: &[Seen]) -> (Verdict, i64) {
    let amount = |at: usize| operands.get(at).and_then(Seen::amount).map(|amount| i128::from(amount.amount()));
    let fit = |margin: i128| i64::try_from(margin).unwrap_or(if margin < 0 { i64::MIN } else { i64::MAX });
    match (verb, operands) {
        (Some(Verb::Need), [condition]) => (condition.flag().map_or(Verdict::Open, decided), 0),
        (Some(Verb::OneOf), [found, list]) => match contains(list, found) {
            What::Flag(flag) => (decided(flag), 0),
            _ => (Verdict::Open, 0),
        },
        (Some(Verb::Between), _) => {
            let Some(found) = amount(0) else { return (Verdict::Open, 0) };
            let (from_lower, from_upper) = (amount(1).map(|lower| found - lower), amount(2).map(|upper| upper - found));
            match (from_lower, from_upper) {
                (Some(a), Some(b)) => (decided(a.min(b) >= 0), fit(a.min(b))),
                (Some(a), None) | (None, Some(a)) if a < 0 => (Verdict::Failed, fit(a)),
                _ => (Verdict::Open, 0),
            }
        }
        (Some(verb), [found, limit]) => match (amount(0), amount(1)) {
            _ if found.is_unknown() || limit.is_unknown() => (Verdict::Open, 0),
            (Some(found), Some(limit)) => {
                let margin = match verb {
                    Verb::AtMost => limit - found,
                    Verb::AtLeast => found - limit,
                    _ => -(limit - found).abs(),
                };
                (decided(margin >= 0), fit(margin))
            }
            _ => (decided(found.what == limit.what), 0),
        },
        _ => (Verdict::Open, 0),
    }
}

fn quantifier(
    word: &str,
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    inputs: &[Expression<'_>],
    state: &Dynamic,
    sight: &Sight,
) -> Given {
    let name = inputs.first().and_then(|name| name.get_string_value()).ok_or_else(|| fault("no name"))?.to_owned();
    let list = input(context, inputs.get(1), sight)?;
    let members = match &list.what {
        What::List(members) => members.clone(),
        _ => return Ok(list),
    };
    let has_condition = state.as_bool().unwrap_or(false);
    let (condition_at, of_at) = if has_condition { (Some(2), 3) } else { (None, 2) };
    let base = context.scope().len();
    let mut from: Vec<Seen> = vec![list.clone()];
    let mut unknown = false;
    let mut count = 0_i64;
    let mut amounts: Vec<Seen> = Vec::new();
    let mut total: Option<Quantity> = None;
    for member in members {
        context.scope_mut().push(name.clone(), member);
        let condition = match condition_at {
            Some(at) => input(context, inputs.get(at), sight),
            None => Ok(Seen::of(What::Flag(true))),
        };
        let amount = match &condition {
            Ok(condition) if condition.flag() == Some(true) && of_at < inputs.len() => {
                Some(input(context, inputs.get(of_at), sight))
            }
            _ => None,
        };
        context.scope_mut().rewind(base);
        let condition = condition?;
        match (word, condition.flag()) {
            ("any", Some(true)) | ("every", Some(false)) => return Ok(condition),
            (_, Some(true)) => count += 1,
            (_, None) => {
                unknown = true;
                from.push(Seen { sources: Vec::new(), ..condition });
            }
            _ => {}
        }
        let Some(amount) = amount.transpose()? else { continue };
        match amount.amount() {
            Some(one) => {
                let sum = match total {
                    Some(total) if word == "sum" => total.add(one).map_err(|error| fault(error.message))?,
                    _ => one,
                };
                total = Some(sum);
                amounts.push(amount);
            }
            None => {
                unknown = true;
                let sources = if word == "sum" { amount.sources.clone() } else { Vec::new() };
                from.push(Seen { sources, ..amount });
            }
        }
    }
    result(word, unknown, count, total, &from, &amounts)
}

fn result(word: &str, unknown: bool, count: i64, total: Option<Quantity>, from: &[Seen], amounts: &[Seen]) -> Given {
    let all: Vec<&Seen> = from.iter().collect();
    let what = match (unknown, word) {
        (true, _) => What::Unknown,
        (_, "any") => What::Flag(false),
        (_, "every") => What::Flag(true),
        (_, "count") => What::Amount(Quantity::number(count)),
        (_, "sum") => total.map_or(What::Zero, What::Amount),
        _ => {
            let by_amount = |seen: &&Seen| seen.amount().map(Quantity::amount);
            let first_best = match word {
                "least" => amounts.iter().min_by_key(by_amount),
                // Of equal ones the first, as `min_by_key` has it.
                _ => amounts.iter().rev().max_by_key(by_amount),
            };
            return Ok(first_best.cloned().unwrap_or_else(|| Seen::joined(What::Unknown, &all)));
        }
    };
    let mut made = Seen::joined(what, &all);
    if word == "sum" {
        for source in amounts.iter().flat_map(|amount| &amount.sources) {
            if !made.sources.contains(source) {
                made.sources.push(*source);
            }
        }
    }
    Ok(made)
}
