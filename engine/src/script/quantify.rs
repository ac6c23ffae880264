//! Turns quantifiers and calls of native functions into closures.

use std::sync::Arc;

use super::machine::{Machine, NONE, of_cell};
use super::native::{Call, Datum, MOST_PARAMETERS, Native, Natives};
use super::plan::{List, NativeCall, Otherwise, Quantifier, Quantify};
use super::program::Eval;
use super::reckon::value;
use super::source::{Source, Visit, visit};
use super::value::{State, Val};
use crate::model::{FieldId, ItemIndex, KindId, Symbol, Type};
use crate::quantity::Quantity;

/// Base units of a number in 1.
const ONE: i64 = Quantity::number(1).amount();

/// A quantifier, ready to run.
struct Looking {
    what: Quantify,
    local: u8,
    condition: Option<Eval>,
    of: Option<Eval>,
    placed_by: Option<(KindId, FieldId)>,
    /// What it gives where it has no member to go by.
    otherwise: Option<Fallback>,
}

/// What a quantifier gives where it has no member to go by, ready to run.
enum Fallback {
    Fixed(Val),
    Value(Eval),
}

impl Fallback {
    fn of(otherwise: &Otherwise, natives: &Natives) -> Fallback {
        match otherwise {
            Otherwise::Fail => Fallback::Fixed(Val::OR_FAIL),
            Otherwise::Met => Fallback::Fixed(Val::OR_MET),
            Otherwise::Value(expr) => Fallback::Value(value(expr, natives)),
        }
    }
}

/// Turns a quantifier into a closure.
pub(super) fn quantifier(quantifier: &Quantifier, natives: &Natives) -> Eval {
    if let (Quantify::Any | Quantify::Every, List::Value(list), Some(condition)) =
        (quantifier.what, &quantifier.list, &quantifier.condition)
    {
        let list = value(list, natives);
        let settled_by = quantifier.what == Quantify::Any;
        let (local, placed_by) = (quantifier.local, quantifier.placed_by);
        return visit(condition, natives, AnyOrEvery { list, local, settled_by, placed_by });
    }
    let looking = Looking {
        what: quantifier.what,
        local: quantifier.local,
        condition: quantifier.condition.as_ref().map(|condition| value(condition, natives)),
        of: quantifier.of.as_ref().map(|of| value(of, natives)),
        placed_by: quantifier.placed_by,
        otherwise: quantifier.otherwise.as_ref().map(|otherwise| Fallback::of(otherwise, natives)),
    };
    match &quantifier.list {
        List::Entry(list) => {
            let list = *list;
            Box::new(move |m| match m.entry_list(list) {
                Some(members) => looking.at(m, members.iter().map(|&bits| Val::known(bits)), Val::known(0)),
                None => Val::FAULT,
            })
        }
        List::Value(list) => {
            let list = value(list, natives);
            Box::new(move |m| {
                let list = list(m);
                let members = match list.state {
                    State::Known => m.members(list),
                    // Where there is nothing that could have a list, the list is empty.
                    State::Undefined => &[],
                    _ => return list,
                };
                looking.at(m, members.iter().map(|cell| of_cell(*cell)), list)
            })
        }
    }
}

/// The commonest quantifiers: `any` is settled by a member of which the condition holds, `every` by one of which it does not.
struct AnyOrEvery {
    list: Eval,
    local: u8,
    settled_by: bool,
    placed_by: Option<(KindId, FieldId)>,
}

impl Visit for AnyOrEvery {
    type Made = Eval;

    fn make<A: Source>(self, condition: A) -> Eval {
        Box::new(move |m| {
            let list = (self.list)(m);
            let members = match list.state {
                State::Known => m.members(list),
                State::Undefined => &[],
                _ => return list,
            };
            let mut result = Val::flag(!self.settled_by);
            for cell in members {
                let condition = condition.of_member(m, self.local, of_cell(*cell));
                match condition.state {
                    State::Known | State::Undefined if (condition.bits != 0) == self.settled_by => {
                        return condition.settled();
                    }
                    State::Known | State::Undefined => {}
                    State::Unknown => result = Val::UNKNOWN,
                    State::Fault => return condition,
                }
            }
            for &item in perhaps(m, self.placed_by, list) {
                let condition = condition.of_member(m, self.local, Val::known(i64::from(item.0)));
                if !condition.is_settled() || (condition.bits != 0) == self.settled_by {
                    return Val::UNKNOWN;
                }
            }
            result
        })
    }
}

impl Looking {
    /// Looks at each member in turn, until the value is settled.
    fn at(&self, machine: &mut Machine<'_>, members: impl Iterator<Item = Val>, list: Val) -> Val {
        let mut tally = Tally::new(self.what, self.otherwise.is_some());
        for member in members {
            machine.set(self.local, member);
            let condition = self.condition.as_ref().map_or(Val::flag(true), |condition| condition(machine));
            if let Some(settled) = tally.condition(condition) {
                return settled;
            }
            if let (Some(of), true) = (&self.of, condition.holds())
                && let Some(settled) = tally.amount(of(machine))
            {
                return settled;
            }
        }
        for &item in perhaps(machine, self.placed_by, list) {
            machine.set(self.local, Val::known(i64::from(item.0)));
            let condition = self.condition.as_ref().map_or(Val::flag(true), |condition| condition(machine));
            if tally.would_change(condition) {
                return Val::UNKNOWN;
            }
        }
        match (tally.result(), &self.otherwise) {
            (Val::NOTHING, Some(Fallback::Fixed(value))) => *value,
            (Val::NOTHING, Some(Fallback::Value(value))) => value(machine),
            (result, _) => result,
        }
    }
}

/// Returns the items that may belong into a list as well: those whose place nobody has recorded.
#[inline(always)]
pub(super) fn perhaps<'a>(machine: &Machine<'a>, placed_by: Option<(KindId, FieldId)>, list: Val) -> &'a [ItemIndex] {
    match placed_by {
        Some((kind, field)) if list.is_known() => machine.facts.unplaced(kind, field),
        _ => &[],
    }
}

/// What a quantifier has gathered so far.
pub(super) struct Tally {
    what: Quantify,
    /// The count or sum, or the best so far.
    amount: Option<i64>,
    /// The different values so far.
    different: Vec<i64>,
    /// Whether there was a member to go by.
    any: bool,
    /// Whether the rule says what holds where there is none.
    says: bool,
    unknown: bool,
}

impl Tally {
    /// Begins; `says` is whether the rule says what holds where there is no member.
    pub(super) fn new(what: Quantify, says: bool) -> Tally {
        let amount = matches!(what, Quantify::Count | Quantify::Sum).then_some(0);
        Tally { what, amount, different: Vec::new(), any: false, says, unknown: false }
    }

    /// Takes whether the condition holds of a member. Returns the quantifier's value once it is settled.
    pub(super) fn condition(&mut self, condition: Val) -> Option<Val> {
        match (condition.state, self.what) {
            (State::Fault, _) => return Some(condition),
            (State::Unknown, _) => self.unknown = true,
            (_, Quantify::Any) if condition.bits != 0 => return Some(condition.settled()),
            (_, Quantify::Every) if condition.bits == 0 => return Some(condition.settled()),
            (_, Quantify::Count) if condition.bits != 0 => {
                self.amount = self.amount.and_then(|amount| amount.checked_add(ONE));
            }
            (State::Known | State::Undefined, _) => {}
        }
        None
    }

    /// Returns whether a further member, of which the condition is this, could make a difference.
    pub(super) fn would_change(&self, condition: Val) -> bool {
        match self.what {
            Quantify::Every => !condition.holds(),
            _ => !condition.fails(),
        }
    }

    /// Takes the amount of a member of which the condition holds.
    pub(super) fn amount(&mut self, value: Val) -> Option<Val> {
        match value.state {
            State::Fault => return Some(value),
            State::Unknown => self.unknown = true,
            // What is not there has no amount.
            State::Undefined => {}
            State::Known if self.what == Quantify::Distinct => {
                self.any = true;
                if !self.different.contains(&value.bits) && value.bits != NONE {
                    self.different.push(value.bits);
                }
            }
            State::Known => {
                self.any = true;
                self.amount = match (self.what, self.amount) {
                    (Quantify::Sum, Some(sum)) => match sum.checked_add(value.bits) {
                        Some(sum) => Some(sum),
                        None => return Some(Val::FAULT),
                    },
                    (Quantify::Least, Some(best)) => Some(best.min(value.bits)),
                    (Quantify::Most, Some(best)) => Some(best.max(value.bits)),
                    (_, _) => Some(value.bits),
                };
            }
        }
        None
    }

    /// Returns the count, the sum or the best so far.
    pub(super) fn so_far(&self) -> Option<i64> {
        self.amount
    }

    /// Returns the value after the last member.
    pub(super) fn result(&self) -> Val {
        match (self.unknown, self.what, self.amount) {
            (true, ..) => Val::UNKNOWN,
            (_, Quantify::Any, _) => Val::flag(false),
            (_, Quantify::Every, _) => Val::flag(true),
            (_, Quantify::Least | Quantify::Most, None) => Val::NOTHING,
            (_, Quantify::Sum, _) if !self.any && self.says => Val::NOTHING,
            (_, Quantify::Distinct, _) => {
                Val::reckoned(i64::try_from(self.different.len()).ok().and_then(|n| n.checked_mul(ONE)))
            }
            (_, _, amount) => Val::reckoned(amount),
        }
    }
}

/// Turns a call of a native function into a closure.
pub(super) fn native(call: &NativeCall, natives: &Natives) -> Eval {
    let Some(native) = natives.get(call.function) else { return Box::new(|_| Val::FAULT) };
    let native = Arc::clone(native);
    let arguments: Vec<Eval> = call.arguments.iter().map(|argument| value(argument, natives)).collect();
    match arguments.len() {
        0 | 1 => Box::new(move |m| called::<1>(m, &native, &arguments)),
        2 => Box::new(move |m| called::<2>(m, &native, &arguments)),
        _ => Box::new(move |m| called::<MOST_PARAMETERS>(m, &native, &arguments)),
    }
}

/// Calls a function with at most `ROOM` arguments.
fn called<const ROOM: usize>(machine: &mut Machine<'_>, native: &Native, arguments: &[Eval]) -> Val {
    let mut given = [Datum::Flag(false); ROOM];
    let mut state = State::Known;
    for ((argument, slot), ty) in arguments.iter().zip(&mut given).zip(&native.parameters) {
        let value = argument(machine);
        if value.state == State::Fault {
            return value;
        }
        state = state.max(value.state);
        *slot = datum(value.bits, ty);
    }
    match state {
        State::Known => {}
        State::Undefined => return Val::NOTHING,
        _ => return Val::UNKNOWN,
    }
    let given = given.get(..arguments.len()).unwrap_or(&[]);
    match native.call(Call { arguments: given, facts: machine.facts, book: machine.book }) {
        Ok(Some(given)) => Val::known(given.bits()),
        Ok(None) => Val::UNKNOWN,
        Err(_) => Val::FAULT,
    }
}

/// Returns bits as what a native function takes.
pub(super) fn datum(bits: i64, ty: &Type) -> Datum {
    match ty {
        Type::Quantity(dimension) => Datum::Quantity(Quantity::new(*dimension, bits)),
        Type::Flag => Datum::Flag(bits != 0),
        Type::Item(_) => Datum::Item(ItemIndex(bits as u32)),
        Type::Text | Type::Word(_) | Type::List(_) => Datum::Text(Symbol(bits as u32)),
    }
}
