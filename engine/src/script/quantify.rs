//! Turns quantifiers and calls of native functions into closures.

use std::sync::Arc;

use super::machine::{Machine, of_cell};
use super::native::{Call, Datum, MOST_PARAMETERS, Native, Natives};
use super::plan::{List, NativeCall, Quantifier, Quantify};
use super::program::Eval;
use super::reckon::value;
use super::source::{Source, Visit, visit};
use super::value::{State, Val};
use crate::model::{ItemIndex, Symbol, Type};
use crate::quantity::Quantity;

/// Base units of a number in 1.
const ONE: i64 = Quantity::number(1).amount();

/// A quantifier, ready to run.
struct Looking {
    what: Quantify,
    local: u8,
    condition: Option<Eval>,
    of: Option<Eval>,
}

/// Turns a quantifier into a closure.
pub(super) fn quantifier(quantifier: &Quantifier, natives: &Natives) -> Eval {
    if let (Quantify::Any | Quantify::Every, List::Value(list), Some(condition)) =
        (quantifier.what, &quantifier.list, &quantifier.condition)
    {
        let list = value(list, natives);
        let settled_by = quantifier.what == Quantify::Any;
        return visit(condition, natives, AnyOrEvery { list, local: quantifier.local, settled_by });
    }
    let looking = Looking {
        what: quantifier.what,
        local: quantifier.local,
        condition: quantifier.condition.as_ref().map(|condition| value(condition, natives)),
        of: quantifier.of.as_ref().map(|of| value(of, natives)),
    };
    match &quantifier.list {
        List::Entry(list) => {
            let list = *list;
            Box::new(move |m| match m.entry_list(list) {
                Some(members) => looking.at(m, members.iter().map(|&bits| Val::known(bits))),
                None => Val::FAULT,
            })
        }
        List::Value(list) => {
            let list = value(list, natives);
            Box::new(move |m| {
                let list = list(m);
                if !list.is_known() {
                    return list;
                }
                let members = m.members(list);
                looking.at(m, members.iter().map(|cell| of_cell(*cell)))
            })
        }
    }
}

/// The commonest quantifiers: `any` is settled by a member of which the condition holds, `every` by one of which it does not.
struct AnyOrEvery {
    list: Eval,
    local: u8,
    settled_by: bool,
}

impl Visit for AnyOrEvery {
    type Made = Eval;

    fn make<A: Source>(self, condition: A) -> Eval {
        Box::new(move |m| {
            let list = (self.list)(m);
            if !list.is_known() {
                return list;
            }
            let mut result = Val::flag(!self.settled_by);
            for cell in m.members(list) {
                m.set(self.local, of_cell(*cell));
                let condition = condition.get(m);
                match condition.state {
                    State::Known if (condition.bits != 0) == self.settled_by => return condition,
                    State::Known => {}
                    State::Unknown => result = Val::UNKNOWN,
                    State::Fault => return condition,
                }
            }
            result
        })
    }
}

impl Looking {
    /// Looks at each member in turn, until the value is settled.
    fn at(&self, machine: &mut Machine<'_>, members: impl Iterator<Item = Val>) -> Val {
        let mut tally = Tally::new(self.what);
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
        tally.result()
    }
}

/// What a quantifier has gathered so far.
pub(super) struct Tally {
    what: Quantify,
    /// The count or sum, or the best so far.
    amount: Option<i64>,
    unknown: bool,
}

impl Tally {
    pub(super) fn new(what: Quantify) -> Tally {
        let amount = matches!(what, Quantify::Count | Quantify::Sum).then_some(0);
        Tally { what, amount, unknown: false }
    }

    /// Takes whether the condition holds of a member. Returns the quantifier's value once it is settled.
    pub(super) fn condition(&mut self, condition: Val) -> Option<Val> {
        match (condition.state, self.what) {
            (State::Fault, _) => return Some(condition),
            (State::Unknown, _) => self.unknown = true,
            (State::Known, Quantify::Any) if condition.bits != 0 => return Some(condition),
            (State::Known, Quantify::Every) if condition.bits == 0 => return Some(condition),
            (State::Known, Quantify::Count) if condition.bits != 0 => {
                self.amount = self.amount.and_then(|amount| amount.checked_add(ONE));
            }
            (State::Known, _) => {}
        }
        None
    }

    /// Takes the amount of a member of which the condition holds.
    pub(super) fn amount(&mut self, value: Val) -> Option<Val> {
        match value.state {
            State::Fault => return Some(value),
            State::Unknown => self.unknown = true,
            State::Known => {
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
            (_, Quantify::Least | Quantify::Most, None) => Val::UNKNOWN,
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
    if state != State::Known {
        return Val::UNKNOWN;
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
