//! Conditions put together with `&&` and `||`.
//!
//! Most of their operands compare a field or local value with a literal or entry: those are part of the closure, and cost no call.

use super::machine::Machine;
use super::native::Natives;
use super::plan::{Expr, Relation};
use super::program::Eval;
use super::reckon::value;
use super::source::{OfItem, OfLinked, OfLocal, OfSlot, Source, Visit, visit};
use super::value::{State, Val};

/// All: no as soon as one is no, and not known while one is not known and none is no. Any: the other way round.
pub(super) fn all_or_any(operands: &[Expr], natives: &Natives, all: bool) -> Eval {
    if let [left, right] = operands {
        return match all {
            true => operand(left, natives, First { right, natives, join: All }),
            false => operand(left, natives, First { right, natives, join: Any }),
        };
    }
    let operands: Vec<Eval> = operands.iter().map(|operand| value(operand, natives)).collect();
    Box::new(move |m| {
        let mut so_far = Val::flag(all);
        for operand in &operands {
            let value = operand(m);
            if value.state == State::Fault || (value.is_settled() && (value.bits != 0) != all) {
                return value.settled();
            }
            if value.state == State::Unknown {
                so_far.state = State::Unknown;
            }
        }
        so_far
    })
}

/// How two conditions become one.
trait Join: Send + Sync + 'static {
    /// Returns whether the left one leaves all to the right one.
    fn goes_on(left: Val) -> bool;

    /// Returns what comes of two known ones.
    fn both(left: i64, right: i64) -> i64;
}

struct All;
struct Any;

impl Join for All {
    #[inline(always)]
    fn goes_on(left: Val) -> bool {
        left.holds()
    }

    #[inline(always)]
    fn both(left: i64, right: i64) -> i64 {
        left & right
    }
}

impl Join for Any {
    #[inline(always)]
    fn goes_on(left: Val) -> bool {
        left.fails()
    }

    #[inline(always)]
    fn both(left: i64, right: i64) -> i64 {
        left | right
    }
}

#[inline(always)]
fn joined<J: Join, B: Source>(m: &mut Machine<'_>, left: &impl Source, right: &B) -> Val {
    let left = left.get(m);
    if B::CHEAP {
        // To look at both costs less than a branch that is taken now and then.
        let right = right.get(m);
        if left.state == State::Known && right.state == State::Known {
            return Val::known(J::both(left.bits, right.bits));
        }
    }
    if J::goes_on(left) {
        return right.get(m).settled();
    }
    if left.state != State::Unknown {
        return left.settled();
    }
    let right = right.get(m);
    if J::goes_on(right) { left } else { right.settled() }
}

/// A comparison with a literal or entry.
struct Held<A> {
    of: A,
    slot: OfSlot,
    /// Whether it holds for less, the same, more: one bit each.
    holds: u8,
}

impl<A> Held<A> {
    fn new(of: A, relation: Relation, slot: u16) -> Held<A> {
        let bits = [(-1, 1), (0, 2), (1, 4)];
        let holds = bits.iter().filter(|(left, _)| relation.holds(*left, 0)).map(|(_, bit)| bit).sum();
        Held { of, slot: OfSlot(slot), holds }
    }
}

impl<A: Source> Source for Held<A> {
    const CHEAP: bool = true;

    #[inline(always)]
    fn get(&self, m: &mut Machine<'_>) -> Val {
        let left = self.of.get(m);
        let right = self.slot.get(m);
        let more = left.bits.cmp(&right.bits) as i8 + 1;
        let held = i64::from(self.holds >> more & 1);
        if left.is_known() && right.is_known() {
            return Val::known(held);
        }
        // Unequal alone holds both below and above.
        Val::uncompared(left, right, self.holds == 0b101)
    }
}

/// Makes something of an operand: of a comparison with a slot as it is, of anything else as [`visit`] does.
fn operand<V: Visit>(expr: &Expr, natives: &Natives, visitor: V) -> V::Made {
    if let Expr::Compare(compare) = expr
        && let Expr::Slot(slot) = compare.right
    {
        match compare.left {
            Expr::Field(field) => return visitor.make(Held::new(OfItem(field), compare.relation, slot)),
            Expr::Linked(link, field) => return visitor.make(Held::new(OfLinked(link, field), compare.relation, slot)),
            Expr::Local(local) => return visitor.make(Held::new(OfLocal(local), compare.relation, slot)),
            _ => {}
        }
    }
    visit(expr, natives, visitor)
}

/// Takes the left operand and turns to the right one.
struct First<'e, J> {
    right: &'e Expr,
    natives: &'e Natives,
    join: J,
}

impl<J: Join> Visit for First<'_, J> {
    type Made = Eval;

    fn make<A: Source>(self, left: A) -> Eval {
        operand(self.right, self.natives, Second { left, _join: self.join })
    }
}

struct Second<A, J> {
    left: A,
    _join: J,
}

impl<A: Source, J: Join> Visit for Second<A, J> {
    type Made = Eval;

    fn make<B: Source>(self, right: B) -> Eval {
        let left = self.left;
        Box::new(move |m| joined::<J, B>(m, &left, &right))
    }
}
