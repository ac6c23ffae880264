//! Statements and quantifiers, as Rhai calls them.

use std::sync::{Arc, Mutex};

use rhai::{Dynamic, Engine, EvalAltResult, EvalContext, Expression, Position};

use super::super::check::{Check, PRESUMED_OUT, Verb};
use super::super::detail::{Detail, Verdict, margin};
use super::super::syntax;
use super::logic::{contains, input};
use super::rewrite::{OF, OR, WHERE, told};
use super::sight::{Fate, Given, Resting, Seen, Sight, What, fault};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::Quantity;

/// A check that one way has reached.
#[derive(Clone, Debug)]
pub(super) struct OneFound {
    pub(super) detail: Detail,
    /// By how much it is met or missed, in base units.
    pub(super) amount: i64,
    /// Where in the rule the statement stands that recorded it: a fault of a `let` or `if` is put down to the check behind.
    pub(super) position: u32,
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
    /// What has been presumed so far.
    presumed: Vec<Resting>,
    /// Whether something has been presumed since this was last set back.
    rests: bool,
    /// Whether a `let` has presumed something.
    named: bool,
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
            presumed: Vec::new(),
            rests: false,
            named: false,
            found: Vec::new(),
        }
    }

    /// Notes that something has been presumed.
    fn presume(&mut self, what: Resting) {
        self.rests = true;
        if !self.presumed.contains(&what) {
            self.presumed.push(what);
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
        self.presumed.clear();
        self.named = false;
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
        self.presumed.clear();
        self.named = false;
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
        (position, at): (u32, i64),
        verdict: Verdict,
        amount: i64,
        found: Option<&Seen>,
        allowed: &[Seen],
        why: Option<String>,
    ) {
        if verdict == Verdict::Absent {
            return;
        }
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
        let there = found.into_iter().chain(allowed).all(|seen| seen.fate().is_none());
        let has_margin = there
            && matches!(verdict, Verdict::Met | Verdict::Failed)
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
            presumed: self.presumed.clone(),
            fault: why.map(|why| Problem::new(check.span, why)),
            span: check.span,
        };
        let on_the_way = self.on_the_way.clone();
        self.found.push(OneFound { detail, amount, position, on_the_way });
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
                "applies" => applies(context, inputs, state, &sight, &checks, &course),
                "except" => except(context, inputs, state, &sight, &checks, &course),
                "presume" | "includes" | syntax::FORMER => Ok(Dynamic::UNIT),
                _ => quantifier(word, context, inputs, state, &sight).map(Dynamic::from),
            },
        );
    }
    let (own, kept) = (Arc::clone(sight), Arc::clone(course));
    engine.register_custom_syntax_with_state_raw(
        "kept",
        |_, _, _| Ok(None),
        false,
        move |context, inputs, state| {
            with(&kept, |course| course.rests = false)?;
            let value = input(context, inputs.first(), &own);
            with(&kept, |course| course.named |= course.rests)?;
            value.map(Dynamic::from).map_err(|error| faulty(error, state, &kept))
        },
    );
    let (own, presuming) = (Arc::clone(sight), Arc::clone(course));
    engine.register_custom_syntax_with_state_raw(
        "perhaps",
        |_, _, _| Ok(None),
        false,
        move |context, inputs, _| {
            let read = context.eval_expression_tree(inputs.first().ok_or_else(|| fault("no field"))?)?;
            let Some(seen) = read.read_lock::<Seen>() else { return Err(fault("a field of another sort")) };
            match own.presumed(&seen)? {
                Some((stands_in, what)) => {
                    with(&presuming, |course| what.into_iter().for_each(|one| course.presume(one)))?;
                    Ok(Dynamic::from(stands_in))
                }
                None => Ok(Dynamic::from(seen.clone())),
            }
        },
    );
    let own = Arc::clone(sight);
    engine.register_custom_syntax_with_state_raw(
        "either",
        |_, _, _| Ok(None),
        false,
        move |context, inputs, _| either(context, inputs, &own).map(Dynamic::from),
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
    let recorded = with(course, |course| course.record(told(state), Verdict::Fault, 0, None, &[], Some(message)));
    recorded.err().unwrap_or_else(ended)
}

/// Ends the rule for an item that is out of its scope; one that is so only by what is presumed is excepted.
fn applies(
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    inputs: &[Expression<'_>],
    state: &Dynamic,
    sight: &Sight,
    checks: &[Check],
    course: &Shared,
) -> Result<Dynamic, Box<EvalAltResult>> {
    with(course, |course| course.rests = false)?;
    let condition = input(context, inputs.first(), sight).map_err(|error| faulty(error, state, course))?;
    let out = Seen { what: condition.opposite(), ..condition };
    let by_presumption = |check: &Check| check.exception.as_ref().is_some_and(|own| own.name == PRESUMED_OUT);
    let number = checks.iter().rposition(by_presumption);
    let rests = with(course, |course| course.rests || course.named)?;
    leave(out, (told(state).0, number.filter(|_| rests)), course)
}

/// Ends the rule for an item that comes under an exception in force.
fn except(
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    inputs: &[Expression<'_>],
    state: &Dynamic,
    sight: &Sight,
    checks: &[Check],
    course: &Shared,
) -> Result<Dynamic, Box<EvalAltResult>> {
    let (position, check) = told(state);
    let check = usize::try_from(check).unwrap_or(0);
    let exception = checks.get(check).and_then(|check| check.exception.as_ref());
    if !exception.is_some_and(|exception| sight.is_in_force(exception)) {
        return Ok(Dynamic::UNIT);
    }
    let condition = input(context, inputs.last(), sight).map_err(|error| faulty(error, state, course))?;
    leave(condition, (position, Some(check)), course)
}

/// Ends the rule where a condition holds; where it is not known, on one of two ways.
fn leave(
    condition: Seen,
    (position, exception): (u32, Option<usize>),
    course: &Shared,
) -> Result<Dynamic, Box<EvalAltResult>> {
    let holds = match condition.flag() {
        Some(flag) => flag,
        None => with(course, |course| course.decide(&condition))?,
    };
    if !holds {
        return Ok(Dynamic::UNIT);
    }
    if let Some(at) = exception {
        let at = (position, at as i64);
        with(course, |course| course.record(at, Verdict::Excepted, 0, Some(&condition), &[], None))?;
    }
    Err(ended())
}

/// Returns one of two values; both where nobody knows which, if they are the same.
fn either(context: &mut EvalContext<'_, '_, '_, '_, '_, '_>, inputs: &[Expression<'_>], sight: &Sight) -> Given {
    let condition = input(context, inputs.first(), sight)?;
    match condition.flag() {
        Some(true) => input(context, inputs.get(1), sight),
        Some(false) => input(context, inputs.get(2), sight),
        None => {
            let (then, otherwise) = (input(context, inputs.get(1), sight)?, input(context, inputs.get(2), sight)?);
            let same = match (then.amount(), otherwise.amount()) {
                (Some(a), Some(b)) => a.amount() == b.amount(),
                _ => then.what == otherwise.what,
            };
            let what = if same { then.what.clone() } else { What::Unknown };
            let blamed = Seen { sources: Vec::new(), ..condition };
            Ok(Seen::joined(what, &[&then, &otherwise, &blamed]))
        }
    }
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
    let place = told(state);
    let at = place.1;
    if word == "look" {
        with(course, |course| course.record(place, Verdict::Open, 0, None, &[], None))?;
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
                with(course, |course| course.record(place, Verdict::Fault, 0, None, &[], Some(message)))?;
                return Ok(Dynamic::UNIT);
            }
        }
    }
    let operands = operands.get(..sides).unwrap_or_default();
    let (verdict, amount) = judged(verb, operands);
    let allowed = operands.get(1..).unwrap_or_default();
    with(course, |course| course.record(place, verdict, amount, operands.first(), allowed, None))?;
    Ok(Dynamic::UNIT)
}

fn decided(holds: bool) -> Verdict {
    if holds { Verdict::Met } else { Verdict::Failed }
}

fn judged(verb: Option<Verb>, operands: &[Seen]) -> (Verdict, i64) {
    match (verb, operands) {
        (Some(Verb::Need), [condition]) => (condition.flag().map_or(Verdict::Open, decided), 0),
        (Some(Verb::OneOf), [found, list]) => match (Seen::wanting(&[list, found]), contains(list, found)) {
            (Some(What::Undefined(fate)), _) => (without(fate), 0),
            (_, What::Flag(flag)) => (decided(flag), 0),
            _ => (Verdict::Open, 0),
        },
        (Some(Verb::Between), [found, lower, upper]) => match Seen::wanting(&[found, lower, upper]) {
            Some(What::Undefined(fate)) => (without(fate), 0),
            _ => match (held(Verb::AtLeast, found, lower), held(Verb::AtMost, found, upper)) {
                ((Verdict::Open, _), (Verdict::Failed, by)) | ((Verdict::Failed, by), (Verdict::Open, _)) => {
                    (Verdict::Failed, by)
                }
                ((Verdict::Open, _), _) | (_, (Verdict::Open, _)) => (Verdict::Open, 0),
                ((_, above), (_, below)) => (decided(above.min(below) >= 0), above.min(below)),
            },
        },
        (Some(verb), [found, limit]) => held(verb, found, limit),
        _ => (Verdict::Open, 0),
    }
}

/// Holds a value against one limit.
fn held(verb: Verb, found: &Seen, limit: &Seen) -> (Verdict, i64) {
    match Seen::wanting(&[found, limit]) {
        Some(What::Undefined(fate)) => return (without(fate), 0),
        Some(_) => return (Verdict::Open, 0),
        None => {}
    }
    let amount = |seen: &Seen| seen.amount().map(|amount| i128::from(amount.amount()));
    let (Some(found_is), Some(limit_is)) = (amount(found), amount(limit)) else {
        return (decided(found.what == limit.what), 0);
    };
    let margin = match verb {
        Verb::AtMost => limit_is - found_is,
        Verb::AtLeast => found_is - limit_is,
        _ => -(limit_is - found_is).abs(),
    };
    (decided(margin >= 0), i64::try_from(margin).unwrap_or(if margin < 0 { i64::MIN } else { i64::MAX }))
}

/// Returns the verdict on something that is not there.
fn without(fate: Fate) -> Verdict {
    match fate {
        Fate::Absent => Verdict::Absent,
        Fate::Met => Verdict::Met,
        Fate::Fail => Verdict::Failed,
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
        // Where there is nothing that could have a list, the list is empty.
        What::Undefined(_) => Vec::new(),
        _ => return Ok(list),
    };
    let parts = state.as_int().unwrap_or(0);
    let condition_at = (parts & WHERE != 0).then_some(2);
    let of_at = (parts & OF != 0).then_some(if condition_at.is_some() { 3 } else { 2 });
    let or_at = (parts & OR != 0).then(|| inputs.len() - 1);
    let base = context.scope().len();
    let mut gathered = Gathered { from: vec![list.clone()], ..Gathered::default() };
    for member in members {
        context.scope_mut().push(name.clone(), member);
        let condition = condition_of(context, inputs, condition_at, sight);
        let amount = match (&condition, of_at) {
            (Ok(condition), Some(at)) if condition.flag() == Some(true) => Some(input(context, inputs.get(at), sight)),
            _ => None,
        };
        context.scope_mut().rewind(base);
        let condition = condition?;
        match (word, condition.flag()) {
            ("any", Some(flag @ true)) | ("every", Some(flag @ false)) => {
                return Ok(Seen { what: What::Flag(flag), ..condition });
            }
            (_, Some(true)) => gathered.count += 1,
            (_, None) => {
                gathered.unknown = true;
                gathered.from.push(Seen { sources: Vec::new(), ..condition });
            }
            _ => {}
        }
        if let Some(amount) = amount.transpose()? {
            gathered.add(word, amount)?;
        }
    }
    for item in sight.unplaced(&list) {
        context.scope_mut().push(name.clone(), Seen::item(item));
        let condition = condition_of(context, inputs, condition_at, sight);
        context.scope_mut().rewind(base);
        // One that belongs into the list would change nothing where it fulfils `every`, or fails the condition of another.
        let idle = condition.is_ok_and(|condition| condition.flag() == Some(word == "every"));
        if let (false, Some((_, field))) = (idle, list.placed_by) {
            gathered.unknown = true;
            gathered.from.push(Seen { missing: vec![(item, field)], ..Seen::of(What::Unknown) });
            break;
        }
    }
    let made = gathered.result(word, or_at.is_some());
    match (or_at, made.fate()) {
        (Some(at), Some(_)) => {
            let otherwise = input(context, inputs.get(at), sight)?;
            Ok(match otherwise.what {
                // `or fail` and `or met` rest on the list alone.
                What::Undefined(_) if otherwise.is_said() => Seen { what: otherwise.what, ..made },
                _ => otherwise,
            })
        }
        _ => Ok(made),
    }
}

fn condition_of(
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    inputs: &[Expression<'_>],
    at: Option<usize>,
    sight: &Sight,
) -> Given {
    match at {
        Some(at) => input(context, inputs.get(at), sight),
        None => Ok(Seen::of(What::Flag(true))),
    }
}

/// What a quantifier has gathered from the members of its list.
#[derive(Default)]
struct Gathered {
    /// What the result rests on, and what is missing.
    from: Vec<Seen>,
    unknown: bool,
    count: i64,
    /// The known amounts.
    amounts: Vec<Seen>,
    /// What is not there.
    absent: Vec<Seen>,
    total: Option<Quantity>,
}

impl Gathered {
    /// Takes the amount of a member of which the condition holds.
    fn add(&mut self, word: &str, amount: Seen) -> Result<(), Box<EvalAltResult>> {
        if amount.is_unknown() {
            self.unknown = true;
            let sources = if rests_on_all(word) { amount.sources.clone() } else { Vec::new() };
            self.from.push(Seen { sources, ..amount });
            return Ok(());
        }
        if amount.fate().is_some() {
            self.absent.push(amount);
            return Ok(());
        }
        if let (Some(one), true) = (amount.amount(), word == "sum") {
            let sum = match self.total {
                Some(total) => total.add(one).map_err(|error| fault(error.message))?,
                None => one,
            };
            self.total = Some(sum);
        }
        self.amounts.push(amount);
        Ok(())
    }

    fn result(&self, word: &str, says: bool) -> Seen {
        let all: Vec<&Seen> = self.from.iter().collect();
        let nothing = What::Undefined(Fate::Absent);
        let what = match (self.unknown, word) {
            (true, _) => What::Unknown,
            (_, "any") => What::Flag(false),
            (_, "every") => What::Flag(true),
            (_, "count") => What::Amount(Quantity::number(self.count)),
            (_, "sum") if says && self.amounts.is_empty() => nothing,
            (_, "sum") => self.total.map_or(What::Zero, What::Amount),
            (_, "distinct") => {
                let mut different: Vec<&What> = Vec::new();
                for amount in self.amounts.iter().filter(|amount| amount.what != What::None) {
                    if !different.contains(&&amount.what) {
                        different.push(&amount.what);
                    }
                }
                What::Amount(Quantity::number(different.len() as i64))
            }
            _ => {
                let by_amount = |seen: &&Seen| seen.amount().map(Quantity::amount);
                let first_best = match word {
                    "least" | "nearest" => self.amounts.iter().min_by_key(by_amount),
                    // Of equal ones the first, as `min_by_key` has it.
                    _ => self.amounts.iter().rev().max_by_key(by_amount),
                };
                return first_best.cloned().unwrap_or_else(|| Seen::joined(nothing, &all));
            }
        };
        let mut made = Seen::joined(what, &all);
        if rests_on_all(word) {
            for source in self.amounts.iter().chain(&self.absent).flat_map(|amount| &amount.sources) {
                if !made.sources.contains(source) {
                    made.sources.push(*source);
                }
            }
        }
        made
    }
}

/// Returns whether the value of a quantifier rests on every member that it counts in.
fn rests_on_all(word: &str) -> bool {
    matches!(word, "sum" | "distinct")
}
