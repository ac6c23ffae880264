//! Turns expressions into closures, and reckons with known amounts.

use std::cmp::Ordering;

use super::condition::all_or_any;
use super::machine::Machine;
use super::native::Natives;
use super::plan::{Arithmetic, Expr, List, Path, Relation, Root, Short, Sign, Within};
use super::program::Eval;
use super::quantify;
use super::source::{Source, Visit, VisitTwo, member, visit, visit_two};
use super::value::{State, Val};
use crate::model::Cell;
use crate::quantity::{ArithmeticError, Quantity};

/// Turns an expression into a closure.
pub(super) fn value(expr: &Expr, natives: &Natives) -> Eval {
    match expr {
        Expr::Field(field) => {
            let field = *field;
            Box::new(move |m| m.field(field))
        }
        Expr::Linked(link, field) => {
            let (link, field) = (*link, *field);
            Box::new(move |m| m.linked(link, field))
        }
        Expr::Slot(slot) => {
            let slot = *slot;
            Box::new(move |m| m.slot(slot))
        }
        Expr::Local(local) => {
            let local = *local;
            Box::new(move |m| m.local(local))
        }
        Expr::Path(path) => path_of(path),
        Expr::Item(root) => {
            let root = *root;
            Box::new(move |m| m.root(root))
        }
        Expr::Compare(compare) => {
            let (left, right) = (&compare.left, &compare.right);
            match compare.relation {
                Relation::Equal => visit_two(left, right, natives, Equal),
                Relation::Unequal => visit_two(left, right, natives, Unequal),
                Relation::Less => visit_two(left, right, natives, Less),
                Relation::LessOrEqual => visit_two(left, right, natives, LessOrEqual),
                Relation::Greater => visit_two(left, right, natives, Greater),
                Relation::GreaterOrEqual => visit_two(left, right, natives, GreaterOrEqual),
            }
        }
        Expr::And(operands) => all_or_any(operands, natives, true),
        Expr::Or(operands) => all_or_any(operands, natives, false),
        Expr::Not(operand) => visit(operand, natives, Not),
        Expr::Arithmetic(arithmetic) => arithmetic_of(arithmetic, natives),
        Expr::Negative(marked) => {
            let of = value(&marked.of, natives);
            Box::new(move |m| {
                let value = of(m);
                if value.is_known() { Val::reckoned(value.bits.checked_neg()) } else { value }
            })
        }
        Expr::Extreme(extreme) => {
            let of: Vec<Eval> = extreme.of.iter().map(|expr| value(expr, natives)).collect();
            match extreme.greatest {
                true => Box::new(move |m| fold(m, &of, i64::max)),
                false => Box::new(move |m| fold(m, &of, i64::min)),
            }
        }
        Expr::Within(within) => within_of(within, natives),
        Expr::Row(row) => {
            let (table, key) = (row.table, value(&row.key, natives));
            Box::new(move |m| {
                let Some(Some(rows)) = m.slots.tables.get(usize::from(table)) else { return Val::FAULT };
                let key = key(m);
                if !key.is_known() {
                    return key;
                }
                rows.find(key.bits).map_or(Val::FAULT, |at| Val::known(rows.value(at)))
            })
        }
        Expr::Quantifier(quantifier) => quantify::quantifier(quantifier, natives),
        Expr::Native(call) => quantify::native(call, natives),
        Expr::Presumed(presumed) => {
            let presumed = presumed.clone();
            Box::new(move |m| m.presumed(&presumed))
        }
        Expr::Choose(choose) => {
            let condition = value(&choose.condition, natives);
            let (then, otherwise) = (value(&choose.then, natives), value(&choose.otherwise, natives));
            Box::new(move |m| {
                let condition = condition(m);
                match condition.state {
                    State::Known | State::Undefined if condition.bits != 0 => then(m),
                    State::Known | State::Undefined => otherwise(m),
                    State::Unknown => either(then(m), otherwise(m)),
                    State::Fault => condition,
                }
            })
        }
        Expr::Bind(bind) => {
            let (local, of, body) = (bind.local, value(&bind.value, natives), value(&bind.body, natives));
            Box::new(move |m| {
                let of = of(m);
                m.set(local, of);
                body(m)
            })
        }
    }
}

/// Turns a path into a closure; the short ones into one that has no links to count.
fn path_of(path: &Path) -> Eval {
    let field = path.field;
    if let Some((local, field)) = member(path) {
        return Box::new(move |m| m.of_local(local, field));
    }
    match (path.root, &path.links[..], path.empty_if_missing) {
        (Root::Item, &[], true) => Box::new(move |m| m.own_list(field)),
        (Root::Item, &[link], true) => Box::new(move |m| m.linked_list(link, field)),
        (Root::Item, &[first, second], false) => Box::new(move |m| m.twice_linked(first, second, field)),
        _ => {
            let path = path.clone();
            Box::new(move |m| m.path(&path))
        }
    }
}

/// Returns the value of two that a condition nobody knows chooses from.
pub(super) fn either(then: Val, otherwise: Val) -> Val {
    match (then.state, otherwise.state) {
        (State::Fault, _) | (_, State::Fault) => Val::FAULT,
        _ if then == otherwise => then,
        _ => Val::UNKNOWN,
    }
}

/// A closure for each relation, so that the relation is no question while it runs.
macro_rules! relations {
    ($($name:ident)+) => { $(
        struct $name;

        impl VisitTwo for $name {
            type Made = Eval;

            fn make<A: Source, B: Source>(self, left: A, right: B) -> Eval {
                Box::new(move |m| {
                    let left = left.get(m);
                    let right = right.get(m);
                    if left.state.max(right.state) != State::Known {
                        return Val::uncompared(left, right, matches!(Relation::$name, Relation::Unequal));
                    }
                    Val::flag(Relation::$name.holds(left.bits, right.bits))
                })
            }
        }
    )+ };
}

relations!(Equal Unequal Less LessOrEqual Greater GreaterOrEqual);

struct Not;

impl Visit for Not {
    type Made = Eval;

    fn make<A: Source>(self, operand: A) -> Eval {
        Box::new(move |m| {
            let value = operand.get(m);
            Val { bits: i64::from(value.bits == 0), state: value.state }.settled()
        })
    }
}

fn fold(machine: &mut Machine<'_>, of: &[Eval], choose: fn(i64, i64) -> i64) -> Val {
    let mut best: Option<i64> = None;
    let mut less = Val::known(0);
    for operand in of {
        let value = operand(machine);
        if value.state == State::Fault {
            return value;
        }
        if value.state != State::Known {
            less = if value.state > less.state { value } else { less };
            continue;
        }
        best = Some(best.map_or(value.bits, |best| choose(best, value.bits)));
    }
    if less.state == State::Known { Val::known(best.unwrap_or(0)) } else { less }
}

fn within_of(within: &Within, natives: &Natives) -> Eval {
    match &within.list {
        List::Entry(list) => visit(&within.value, natives, InEntry(*list)),
        List::Value(list) => {
            let (list, of) = (value(list, natives), value(&within.value, natives));
            Box::new(move |m| {
                let list = list(m);
                let value = of(m);
                match list.state.max(value.state) {
                    State::Known => is_member(m.members(list), value.bits),
                    _ => Val::uncompared(list, value, false),
                }
            })
        }
    }
}

struct InEntry(u16);

impl Visit for InEntry {
    type Made = Eval;

    fn make<A: Source>(self, of: A) -> Eval {
        Box::new(move |m| {
            let Some(members) = m.entry_list(self.0) else { return Val::FAULT };
            let value = of.get(m);
            match value.state {
                State::Known => Val::flag(members.contains(&value.bits)),
                State::Undefined => Val::uncompared(value, value, false),
                _ => value,
            }
        })
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

fn arithmetic_of(arithmetic: &Arithmetic, natives: &Natives) -> Eval {
    let (left, right) = (&arithmetic.left, &arithmetic.right);
    match arithmetic.short {
        Short::Add => visit_two(left, right, natives, Add),
        Short::Subtract => visit_two(left, right, natives, Subtract),
        Short::ScaleLeft { by, over } => {
            visit(left, natives, Scale { by, over, at_length: Wide::of(arithmetic, natives) })
        }
        Short::ScaleRight { by, over } => {
            visit(right, natives, Scale { by, over, at_length: Wide::of(arithmetic, natives) })
        }
        Short::ByEntry(factor) => visit(left, natives, ByEntry { factor, at_length: Wide::of(arithmetic, natives) }),
        Short::EntryBy(factor) => visit(right, natives, ByEntry { factor, at_length: Wide::of(arithmetic, natives) }),
        Short::No => {
            let wide = Wide::of(arithmetic, natives);
            Box::new(move |m| wide.get(m))
        }
    }
}

struct Add;
struct Subtract;

impl VisitTwo for Add {
    type Made = Eval;

    fn make<A: Source, B: Source>(self, left: A, right: B) -> Eval {
        Box::new(move |m| both_known(m, &left, &right, i64::checked_add))
    }
}

impl VisitTwo for Subtract {
    type Made = Eval;

    fn make<A: Source, B: Source>(self, left: A, right: B) -> Eval {
        Box::new(move |m| both_known(m, &left, &right, i64::checked_sub))
    }
}

#[inline(always)]
fn both_known(
    m: &mut Machine<'_>,
    left: &impl Source,
    right: &impl Source,
    put: impl Fn(i64, i64) -> Option<i64>,
) -> Val {
    let left = left.get(m);
    let right = right.get(m);
    match left.state.max(right.state) {
        State::Known => Val::reckoned(put(left.bits, right.bits)),
        _ => Val::of_both(left, right),
    }
}

/// An amount by a fraction that is known when the rule is loaded; one that does not fit goes the long way.
struct Scale {
    by: i64,
    over: i64,
    at_length: Wide,
}

impl Visit for Scale {
    type Made = Eval;

    fn make<A: Source>(self, amount: A) -> Eval {
        Box::new(move |m| {
            let amount = amount.get(m);
            match amount.state {
                State::Known => match scale(amount.bits, self.by, self.over) {
                    Some(scaled) => Val::known(scaled),
                    None => self.at_length.get(m),
                },
                _ => amount,
            }
        })
    }
}

/// Returns `amount * by / over`, rounded half to even, where the product fits.
#[inline(always)]
pub(super) fn scale(amount: i64, by: i64, over: i64) -> Option<i64> {
    let product = amount.checked_mul(by)?;
    let (whole, rest) = (product.checked_div_euclid(over)?, product.checked_rem_euclid(over)?);
    match rest.cmp(&(over - rest)) {
        Ordering::Less => Some(whole),
        Ordering::Greater => whole.checked_add(1),
        Ordering::Equal => whole.checked_add(whole & 1),
    }
}

/// Returns a fraction in lowest terms. The denominator must be greater than zero.
pub(super) fn in_lowest_terms(top: i64, bottom: i64) -> (i64, i64) {
    let (mut a, mut b) = (top.unsigned_abs(), bottom.unsigned_abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let divisor = i64::try_from(a).unwrap_or(1).max(1);
    (top / divisor, bottom / divisor)
}

/// An amount by a factor of the book; one that does not fit, or is not known, goes the long way.
struct ByEntry {
    factor: u16,
    at_length: Wide,
}

impl Visit for ByEntry {
    type Made = Eval;

    fn make<A: Source>(self, amount: A) -> Eval {
        Box::new(move |m| {
            let amount = amount.get(m);
            match m.slots.factor(self.factor) {
                Some((by, over)) if amount.is_known() => match scale(amount.bits, by, over) {
                    Some(scaled) => Val::known(scaled),
                    None => self.at_length.get(m),
                },
                _ => self.at_length.get(m),
            }
        })
    }
}

/// Arithmetic on quantities, with room for every product.
struct Wide {
    left: Eval,
    right: Eval,
    arithmetic: Arithmetic,
}

impl Wide {
    fn of(arithmetic: &Arithmetic, natives: &Natives) -> Wide {
        Wide {
            left: value(&arithmetic.left, natives),
            right: value(&arithmetic.right, natives),
            arithmetic: arithmetic.clone(),
        }
    }

    fn get(&self, m: &mut Machine<'_>) -> Val {
        both_known(m, &self.left, &self.right, |left, right| {
            wide(&self.arithmetic, left, right).ok().map(Quantity::amount)
        })
    }
}

/// Puts two known amounts together as quantities.
pub(super) fn wide(arithmetic: &Arithmetic, left: i64, right: i64) -> Result<Quantity, ArithmeticError> {
    let (a, b) = arithmetic.dimensions;
    let (left, right) = (Quantity::new(a, left), Quantity::new(b, right));
    match arithmetic.sign {
        Sign::Plus => left.add(right),
        Sign::Minus => left.sub(right),
        Sign::Times => left.mul(right),
        Sign::Over => left.div(right),
        Sign::Apart => left.sub(right).and_then(|apart| if apart.amount() < 0 { apart.neg() } else { Ok(apart) }),
    }
}
