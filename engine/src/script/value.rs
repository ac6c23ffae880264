//! A value on the way through a rule: 64 bits and whether they are known.

use super::detail::Verdict;

/// How far a value is known. The order matters: of two operands the greater state is the result's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub(super) enum State {
    /// Its bits are the value.
    Known,
    /// There is no such thing, and that is recorded or plain: a field of a link that is none, the least of an empty list. Its bits say
    /// what a check makes of it (see [`Val::NOTHING`]); as a yes or no they are the answer.
    Undefined,
    /// Something it is made from is not recorded.
    Unknown,
    /// It can't be made: division by zero, no such row.
    Fault,
}

/// A value: amount, flag, text, item or list as in a [`Cell`](crate::model::Cell). Its type is known from the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Val {
    pub(super) bits: i64,
    pub(super) state: State,
}

impl Val {
    pub(super) const UNKNOWN: Val = Val { bits: 0, state: State::Unknown };
    pub(super) const FAULT: Val = Val { bits: 0, state: State::Fault };
    /// There is nothing that could have the value: a check of it says nothing, a comparison does not hold.
    pub(super) const NOTHING: Val = Val { bits: 0, state: State::Undefined };
    /// The least or most of an empty list whose author says `or met`: a check of it is met, a comparison holds.
    pub(super) const OR_MET: Val = Val { bits: 1, state: State::Undefined };
    /// The same with `or fail`: a check of it fails, a comparison does not hold.
    pub(super) const OR_FAIL: Val = Val { bits: 2, state: State::Undefined };

    #[inline(always)]
    pub(super) const fn known(bits: i64) -> Val {
        Val { bits, state: State::Known }
    }

    #[inline(always)]
    pub(super) const fn flag(value: bool) -> Val {
        Val::known(value as i64)
    }

    #[inline(always)]
    pub(super) fn is_known(self) -> bool {
        self.state == State::Known
    }

    /// Returns whether it is a yes or no that is settled: recorded, or a no because there is nothing to have it.
    #[inline(always)]
    pub(super) fn is_settled(self) -> bool {
        self.state <= State::Undefined
    }

    /// Returns whether it is settled as yes.
    #[inline(always)]
    pub(super) fn holds(self) -> bool {
        self.state <= State::Undefined && self.bits != 0
    }

    /// Returns whether it is settled as no.
    #[inline(always)]
    pub(super) fn fails(self) -> bool {
        self.state <= State::Undefined && self.bits == 0
    }

    /// Returns a yes or no as one that is known: what is not there is a no, and nothing more hangs on its not being there.
    #[inline(always)]
    pub(super) fn settled(self) -> Val {
        let state = if self.state == State::Undefined { State::Known } else { self.state };
        Val { bits: self.bits, state }
    }

    /// Returns what comes of two operands that are not both known: the less certain one, undefined before unknown before faulty.
    #[inline(always)]
    pub(super) fn of_both(left: Val, right: Val) -> Val {
        if right.state > left.state { Val { bits: right.bits, ..right } } else { left }
    }

    /// Returns what a comparison comes to whose operands are not both known.
    #[inline(always)]
    pub(super) fn uncompared(left: Val, right: Val, unequal: bool) -> Val {
        let Val { bits, state } = Val::of_both(left, right);
        let held = i64::from(unequal || bits == Val::OR_MET.bits);
        if state == State::Undefined { Val::known(held) } else { Val { bits: 0, state } }
    }

    /// Returns an amount that a reckoning gave, or a fault where it did not fit.
    #[inline(always)]
    pub(super) fn reckoned(amount: Option<i64>) -> Val {
        match amount {
            Some(amount) => Val::known(amount),
            None => Val::FAULT,
        }
    }

    /// Returns the verdict on a condition.
    #[inline(always)]
    pub(super) fn verdict(self) -> Verdict {
        match self.state {
            State::Known | State::Undefined if self.bits != 0 => Verdict::Met,
            State::Known | State::Undefined => Verdict::Failed,
            State::Unknown => Verdict::Open,
            State::Fault => Verdict::Fault,
        }
    }
}

/// Returns the verdict and margin of a `keep`, from the three states of its sides and the amounts.
pub(super) mod judge {
    use super::super::plan::Bound;
    use super::{State, Val, Verdict};

    /// Returns the verdict on something that is not there.
    #[cold]
    pub(in super::super) fn without(value: Val) -> Verdict {
        match value {
            Val::OR_MET => Verdict::Met,
            Val::OR_FAIL => Verdict::Failed,
            _ => Verdict::Absent,
        }
    }

    /// Judges two sides that are not both known. It stands apart so that the usual way has no table of jumps.
    #[cold]
    #[inline(never)]
    fn unjudged(found: Val, limit: Val) -> (Verdict, i64) {
        match found.state.max(limit.state) {
            State::Undefined => (without(Val::of_both(found, limit)), 0),
            State::Known | State::Unknown => (Verdict::Open, 0),
            State::Fault => (Verdict::Fault, 0),
        }
    }

    /// Judges `at_most`, `at_least`, `equal_to`.
    #[inline(always)]
    pub(in super::super) fn one(bound: Bound, found: Val, limit: Val) -> (Verdict, i64) {
        if !(found.is_known() && limit.is_known()) {
            return unjudged(found, limit);
        }
        let margin = match bound {
            Bound::AtMost => limit.bits.saturating_sub(found.bits),
            Bound::AtLeast | Bound::Between => found.bits.saturating_sub(limit.bits),
            Bound::EqualAmount => {
                let difference = limit.bits.saturating_sub(found.bits);
                if difference > 0 { -difference } else { difference }
            }
            Bound::Same => return (if found.bits == limit.bits { Verdict::Met } else { Verdict::Failed }, 0),
        };
        (if margin < 0 { Verdict::Failed } else { Verdict::Met }, margin)
    }

    /// Judges `between`: one limit that is missed decides, whether or not the other one is known.
    #[inline(always)]
    pub(in super::super) fn between(found: Val, lower: Val, upper: Val) -> (Verdict, i64) {
        match found.state.max(lower.state).max(upper.state) {
            State::Fault => return (Verdict::Fault, 0),
            State::Undefined => return (without(Val::of_both(Val::of_both(found, lower), upper)), 0),
            _ => {}
        }
        let (above, from_lower) = one(Bound::AtLeast, found, lower);
        let (below, from_upper) = one(Bound::AtMost, found, upper);
        match (above, below) {
            (Verdict::Open, Verdict::Failed) => (Verdict::Failed, from_upper),
            (Verdict::Failed, Verdict::Open) => (Verdict::Failed, from_lower),
            (Verdict::Open, _) | (_, Verdict::Open) => (Verdict::Open, 0),
            _ => {
                let margin = from_lower.min(from_upper);
                (if margin < 0 { Verdict::Failed } else { Verdict::Met }, margin)
            }
        }
    }
}
