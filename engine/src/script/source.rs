//! Where a closure gets an operand from, known when it is made.

use super::machine::Machine;
use super::native::Natives;
use super::plan::{Expr, Path, Root};
use super::program::Eval;
use super::reckon::value;
use super::value::Val;
use crate::model::FieldId;

/// Where an operand comes from.
pub(super) trait Source: Send + Sync + 'static {
    /// Whether it costs no call, cannot fail and is a flag of one bit.
    const CHEAP: bool = false;

    /// Whether it is the same for every item.
    const FIXED: bool = false;

    /// Whether there always is something that could have the value: no link leads to it that may lead nowhere.
    const ALWAYS_THERE: bool = false;

    /// Returns the operand.
    fn get(&self, machine: &mut Machine<'_>) -> Val;

    /// Returns the operand of a member of a list, which a quantifier puts into a local value.
    #[inline(always)]
    fn of_member(&self, machine: &mut Machine<'_>, local: u8, member: Val) -> Val {
        machine.set(local, member);
        self.get(machine)
    }
}

/// A field of the item.
pub(super) struct OfItem(pub(super) FieldId);

/// A field through one link.
pub(super) struct OfLinked(pub(super) FieldId, pub(super) FieldId);

/// A field of the item that a local value names: what quantifiers ask of each member.
struct OfMember(u8, FieldId);

/// A literal or entry.
pub(super) struct OfSlot(pub(super) u16);

/// A local value.
pub(super) struct OfLocal(pub(super) u8);

impl Source for OfItem {
    const ALWAYS_THERE: bool = true;

    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        machine.field(self.0)
    }
}

impl Source for OfLinked {
    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        machine.linked(self.0, self.1)
    }
}

impl Source for OfMember {
    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        machine.of_local(self.0, self.1)
    }

    #[inline(always)]
    fn of_member(&self, machine: &mut Machine<'_>, local: u8, member: Val) -> Val {
        if local == self.0 {
            // The member's own field: nobody else reads the local value.
            return machine.of_value(member, self.1);
        }
        machine.set(local, member);
        self.get(machine)
    }
}

impl Source for OfSlot {
    const FIXED: bool = true;
    const ALWAYS_THERE: bool = true;

    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        machine.slot(self.0)
    }
}

impl Source for OfLocal {
    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        machine.local(self.0)
    }
}

impl Source for Eval {
    #[inline(always)]
    fn get(&self, machine: &mut Machine<'_>) -> Val {
        self(machine)
    }
}

/// Makes something of one operand, whatever its source.
pub(super) trait Visit {
    /// What is made.
    type Made;

    /// Makes it.
    fn make<A: Source>(self, operand: A) -> Self::Made;
}

/// Makes something of two operands, whatever their sources.
pub(super) trait VisitTwo {
    /// What is made.
    type Made;

    /// Makes it.
    fn make<A: Source, B: Source>(self, left: A, right: B) -> Self::Made;
}

/// Makes something of an expression.
pub(super) fn visit<V: Visit>(operand: &Expr, natives: &Natives, visitor: V) -> V::Made {
    match operand {
        Expr::Field(field) => visitor.make(OfItem(*field)),
        Expr::Linked(link, field) => visitor.make(OfLinked(*link, *field)),
        Expr::Local(local) => visitor.make(OfLocal(*local)),
        Expr::Path(path) => match member(path) {
            Some((local, field)) => visitor.make(OfMember(local, field)),
            None => visitor.make(value(operand, natives)),
        },
        other => visitor.make(value(other, natives)),
    }
}

/// Returns local value and field of a path that is no more than that.
pub(super) fn member(path: &Path) -> Option<(u8, FieldId)> {
    match (path.root, &path.links[..], path.empty_if_missing) {
        (Root::Local(local), [], false) => Some((local, path.field)),
        _ => None,
    }
}

/// Makes something of two expressions. Only the usual pairs have closures of their own.
pub(super) fn visit_two<V: VisitTwo>(left: &Expr, right: &Expr, natives: &Natives, visitor: V) -> V::Made {
    match (left, right) {
        (Expr::Field(field), right) => with_right(OfItem(*field), right, natives, visitor),
        (Expr::Linked(link, field), right) => with_right(OfLinked(*link, *field), right, natives, visitor),
        (Expr::Local(local), right) => with_right(OfLocal(*local), right, natives, visitor),
        (Expr::Path(path), right) => match member(path) {
            Some((local, field)) => with_right(OfMember(local, field), right, natives, visitor),
            None => with_right(value(left, natives), right, natives, visitor),
        },
        (left, right) => with_right(value(left, natives), right, natives, visitor),
    }
}

fn with_right<A: Source, V: VisitTwo>(left: A, right: &Expr, natives: &Natives, visitor: V) -> V::Made {
    match right {
        Expr::Slot(slot) => visitor.make(left, OfSlot(*slot)),
        Expr::Field(field) => visitor.make(left, OfItem(*field)),
        other => visitor.make(left, value(other, natives)),
    }
}
