//! Values of expressions.

use super::native::{Call, Datum, MOST_PARAMETERS};
use super::plan::{Arithmetic, Expr, List, NativeCall, Quantifier, Quantify, RowOf, Sign, Within};
use super::run::{Runner, of_cell};
use super::value::{State, Val};
use crate::model::{Cell, ItemIndex, Symbol, Type};
use crate::quantity::Quantity;
use crate::source::Span;

/// Base units of a number in 1.
const ONE: i64 = Quantity::number(1).amount();

impl<'a> Runner<'a> {
    /// Returns the value of an expression. What needs no look behind a pointer is done where it is asked for.
    #[inline(always)]
    pub(super) fn value(&mut self, expr: &Expr) -> Val {
        match expr {
            Expr::Field(field) => self.field(*field),
            Expr::Slot(slot) => self.slot(*slot),
            Expr::Local(local) => self.get(*local),
            other => self.node(other),
        }
    }

    fn node(&mut self, expr: &Expr) -> Val {
        match expr {
            Expr::Field(field) => self.field(*field),
            Expr::Slot(slot) => self.slot(*slot),
            Expr::Local(local) => self.get(*local),
            Expr::Path(path) => self.path(path),
            Expr::Item(root) => self.root(*root),
            Expr::Compare(compare) => {
                let (left, right) = (self.value(&compare.left), self.value(&compare.right));
                let state = left.state.max(right.state);
                Val { bits: i64::from(compare.relation.holds(left.bits, right.bits)), state }
            }
            Expr::And(operands) => self.all(operands),
            Expr::Or(operands) => self.any(operands),
            Expr::Not(operand) => {
                let value = self.value(operand);
                Val { bits: i64::from(value.bits == 0), state: value.state }
            }
            Expr::Arithmetic(arithmetic) => self.arithmetic(arithmetic),
            Expr::Negative(marked) => {
                let value = self.value(&marked.of);
                if value.is_known() { Val::reckoned(value.bits.checked_neg()) } else { value }
            }
            Expr::Extreme(extreme) => self.extreme(extreme.greatest, &extreme.of),
            Expr::Known(of) => {
                let value = self.value(of);
                if value.state == State::Fault { value } else { Val::flag(value.is_known()) }
            }
            Expr::Within(within) => self.within(within),
            Expr::Row(row) => self.row(row),
            Expr::Quantifier(quantifier) => self.quantifier(quantifier),
            Expr::Native(call) => self.native(call),
        }
    }

    /// Returns whether all hold: no as soon as one does not, and not known while one is not known and none is no.
    fn all(&mut self, operands: &[Expr]) -> Val {
        let mut so_far = Val::flag(true);
        for operand in operands {
            let value = self.value(operand);
            if value.state == State::Fault || value.fails() {
                return value;
            }
            so_far.state = so_far.state.max(value.state);
        }
        so_far
    }

    /// Returns whether any holds: yes as soon as one does, and not known while one is not known and none is yes.
    fn any(&mut self, operands: &[Expr]) -> Val {
        let mut so_far = Val::flag(false);
        for operand in operands {
            let value = self.value(operand);
            if value.state == State::Fault || value.holds() {
                return value;
            }
            so_far.state = so_far.state.max(value.state);
        }
        so_far
    }

    fn arithmetic(&mut self, arithmetic: &Arithmetic) -> Val {
        let (left, right) = (self.value(&arithmetic.left), self.value(&arithmetic.right));
        match left.state.max(right.state) {
            State::Known => reckon(arithmetic, left.bits, right.bits).map_or(Val::FAULT, Val::known),
            state => Val { bits: 0, state },
        }
    }

    fn extreme(&mut self, greatest: bool, of: &[Expr]) -> Val {
        let mut best: Option<i64> = None;
        let mut state = State::Known;
        for expr in of {
            let value = self.value(expr);
            if value.state == State::Fault {
                return value;
            }
            state = state.max(value.state);
            best = Some(
                best.map_or(value.bits, |best| if greatest { best.max(value.bits) } else { best.min(value.bits) }),
            );
        }
        Val { bits: best.unwrap_or(0), state }
    }

    /// Returns whether a value is in a list.
    pub(super) fn within(&mut self, within: &Within) -> Val {
        match &within.list {
            List::Entry(at) => {
                if !matches!(self.slots.lists.get(usize::from(*at)), Some(Some(_))) {
                    return Val::FAULT;
                }
                let value = self.value(&within.value);
                if !value.is_known() {
                    return value;
                }
                let members = self.slots.lists.get(usize::from(*at)).and_then(Option::as_deref);
                Val::flag(members.is_some_and(|members| members.contains(&value.bits)))
            }
            List::Value(list) => {
                let list = self.value(list);
                let value = self.value(&within.value);
                match list.state.max(value.state) {
                    State::Known => is_member(self.members(list), value.bits),
                    state => Val { bits: 0, state },
                }
            }
        }
    }

    /// Returns the members of a list field.
    pub(super) fn members(&self, list: Val) -> &'a [Cell] {
        self.facts.list(Cell::raw(list.bits, Span::NONE).to_list())
    }

    fn row(&mut self, row: &RowOf) -> Val {
        if !matches!(self.slots.tables.get(usize::from(row.table)), Some(Some(_))) {
            return Val::FAULT;
        }
        let key = self.value(&row.key);
        if !key.is_known() {
            return key;
        }
        let table = self.slots.tables.get(usize::from(row.table)).and_then(Option::as_ref);
        let found = table.and_then(|table| Some(table.value(table.find(key.bits)?)));
        found.map_or(Val::FAULT, Val::known)
    }

    fn quantifier(&mut self, quantifier: &Quantifier) -> Val {
        let mut tally = Tally::new(quantifier.what);
        match &quantifier.list {
            List::Entry(at) => {
                let number = match self.slots.lists.get(usize::from(*at)) {
                    Some(Some(members)) => members.len(),
                    _ => return Val::FAULT,
                };
                for index in 0..number {
                    let members = self.slots.lists.get(usize::from(*at)).and_then(Option::as_deref);
                    let bits = members.and_then(|members| members.get(index)).copied();
                    if let Some(done) = self.member(quantifier, bits.map_or(Val::FAULT, Val::known), &mut tally) {
                        return done;
                    }
                }
            }
            List::Value(list) => {
                let list = self.value(list);
                if !list.is_known() {
                    return list;
                }
                for cell in self.members(list) {
                    if let Some(done) = self.member(quantifier, of_cell(*cell), &mut tally) {
                        return done;
                    }
                }
            }
        }
        tally.result()
    }

    /// Looks at one member. Returns the quantifier's value as soon as it is settled.
    fn member(&mut self, quantifier: &Quantifier, member: Val, tally: &mut Tally) -> Option<Val> {
        self.set(quantifier.local, member);
        let condition = match &quantifier.condition {
            Some(condition) => self.value(condition),
            None => Val::flag(true),
        };
        if let Some(done) = tally.condition(condition) {
            return Some(done);
        }
        match &quantifier.of {
            Some(of) if condition.holds() => {
                let value = self.value(of);
                tally.amount(value)
            }
            _ => None,
        }
    }

    fn native(&mut self, call: &NativeCall) -> Val {
        let natives = self.natives;
        let Some(native) = natives.get(call.function) else { return Val::FAULT };
        let mut arguments = [Datum::Flag(false); MOST_PARAMETERS];
        let mut state = State::Known;
        for ((argument, slot), ty) in call.arguments.iter().zip(&mut arguments).zip(&native.parameters) {
            let value = self.value(argument);
            if value.state == State::Fault {
                return value;
            }
            state = state.max(value.state);
            *slot = datum(value.bits, ty);
        }
        if state != State::Known {
            return Val::UNKNOWN;
        }
        let arguments = arguments.get(..call.arguments.len()).unwrap_or(&[]);
        match native.call(Call { arguments, facts: self.facts, book: self.book }) {
            Ok(Some(given)) => Val::known(given.bits()),
            Ok(None) => Val::UNKNOWN,
            Err(_) => Val::FAULT,
        }
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

/// Returns whether a value is among the members of a list field.
pub(super) fn is_member(members: &[Cell], bits: i64) -> Val {
    let mut state = State::Known;
    for member in members {
        match member.is_missing() {
            true => state = State::Unknown,
            false if member.bits() == bits => return Val::flag(true),
            false => {}
        }
    }
    Val { bits: 0, state }
}

/// Puts two known amounts together; `None` where the result does not fit or there is none.
#[inline(always)]
pub(super) fn reckon(arithmetic: &Arithmetic, left: i64, right: i64) -> Option<i64> {
    let (a, b) = arithmetic.dimensions;
    match arithmetic.sign {
        Sign::Plus if a == b => left.checked_add(right),
        Sign::Minus if a == b && a != crate::quantity::Dimension::Date => left.checked_sub(right),
        sign => {
            let (left, right) = (Quantity::new(a, left), Quantity::new(b, right));
            let result = match sign {
                Sign::Plus => left.add(right),
                Sign::Minus => left.sub(right),
                Sign::Times => left.mul(right),
                Sign::Over => left.div(right),
            };
            result.ok().map(Quantity::amount)
        }
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
