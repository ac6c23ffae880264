//! What can never come out otherwise: a scope that no item is in, an exception that lets everything go, a check that cannot fail, two
//! limits that leave nothing between them. Such a line is a slip, and is told when the rule is loaded.

use super::super::plan::{Bound, Compare, Expr, Keep, List, Quantifier, Quantify, Relation, SlotSource, Statement};
use super::super::types::Ty;
use super::Lowering;
use crate::book::Value;
use crate::problem::Problem;
use crate::source::Span;

/// Something that a scope says of one field.
#[derive(Clone, Debug, PartialEq)]
struct Atom {
    /// The field, as the lowered rule has it.
    of: String,
    says: Says,
}

/// What is said of a field.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Says {
    /// It is this.
    Is(i64),
    /// It is not this.
    IsNot(i64),
    /// It is at least this.
    AtLeast(i64),
    /// It is at most this.
    AtMost(i64),
}

impl Says {
    /// Returns whether no value is as both say.
    fn excludes(self, other: Says) -> bool {
        match (self, other) {
            (Says::Is(a), Says::Is(b)) => a != b,
            (Says::Is(a), Says::IsNot(b)) | (Says::IsNot(b), Says::Is(a)) => a == b,
            (Says::Is(a), Says::AtLeast(b)) | (Says::AtLeast(b), Says::Is(a)) => a < b,
            (Says::Is(a), Says::AtMost(b)) | (Says::AtMost(b), Says::Is(a)) => a > b,
            (Says::AtLeast(a), Says::AtMost(b)) | (Says::AtMost(b), Says::AtLeast(a)) => a > b,
            _ => false,
        }
    }
}

impl Lowering<'_> {
    /// Tells what can never come out otherwise.
    pub(super) fn tell_never(&mut self, body: &[Statement]) {
        let scope = std::mem::take(&mut self.scope);
        let mut known: Vec<(Atom, Span)> = Vec::new();
        for (condition, span) in &scope {
            for atom in self.atoms(condition) {
                if let Some((_, first)) =
                    known.iter().find(|(one, _)| one.of == atom.of && one.says.excludes(atom.says))
                {
                    let first = *first;
                    let mut problem =
                        Problem::new(*span, "no item is ever in this scope").label("contradicts the scope");
                    if first != *span {
                        problem = problem.mark(first, "this excludes it");
                    }
                    self.report(problem.help("one of the two must go, or the rule concerns nothing"));
                    break;
                }
                known.push((atom, *span));
            }
        }
        for statement in body {
            self.never_in(statement, &known);
        }
    }

    fn never_in(&mut self, statement: &Statement, scope: &[(Atom, Span)]) {
        match statement {
            Statement::Except { check, condition, .. } => {
                let atoms = self.atoms(condition);
                let all = !atoms.is_empty() && atoms.iter().all(|atom| scope.iter().any(|(known, _)| known == atom));
                if all && !matches!(condition, Expr::Or(_)) {
                    let span = self.span_of(*check);
                    self.report(
                        Problem::new(span, "this exception lets everything go that the rule concerns")
                            .help("the scope says the same already"),
                    );
                }
                if let Some(never) = self.excluded(condition, scope) {
                    let span = self.span_of(*check);
                    self.report(
                        Problem::new(span, "this exception can never hold")
                            .mark(never, "the scope excludes it")
                            .help("leave it out, or widen the scope"),
                    );
                }
            }
            Statement::Need { check, condition } => {
                let atoms = self.atoms(condition);
                let all = !atoms.is_empty() && atoms.iter().all(|atom| scope.iter().any(|(known, _)| known == atom));
                if self.holds_always(condition) || (all && !matches!(condition, Expr::Or(_))) {
                    let span = self.span_of(*check);
                    self.report(
                        Problem::new(span, "this check can never fail")
                            .help("the scope says the same already, or it holds whatever the job says"),
                    );
                } else if let Some(never) = self.excluded(condition, scope) {
                    let span = self.span_of(*check);
                    self.report(Problem::new(span, "this check can never be met").mark(never, "the scope excludes it"));
                }
            }
            Statement::Keep(keep) => self.never_kept(keep),
            Statement::If { then, otherwise, .. } => {
                for inner in then.iter().chain(otherwise) {
                    self.never_in(inner, &[]);
                }
            }
            _ => {}
        }
    }

    fn never_kept(&mut self, keep: &Keep) {
        let span = self.span_of(keep.check);
        if let (Bound::Between, Some(upper)) = (keep.bound, &keep.upper)
            && let (Some(low), Some(high)) = (self.value_of(&keep.limit), self.value_of(upper))
            && low > high
        {
            self.report(
                Problem::new(span, "no value is between these two: the first is the greater one")
                    .help("write the lower limit first: `keep … between LOW and HIGH`"),
            );
        }
        let same = key(&keep.found).is_some_and(|found| key(&keep.limit) == Some(found));
        let counts = matches!(keep.bound, Bound::AtLeast)
            && is_count(&keep.found)
            && self.value_of(&keep.limit).is_some_and(|limit| limit <= 0);
        if (same && keep.upper.is_none()) || counts {
            self.report(
                Problem::new(span, "this check can never fail")
                    .help("compare two different things; a number of things is never below nothing"),
            );
        }
    }

    /// Returns whether a condition holds whatever the job says.
    fn holds_always(&self, condition: &Expr) -> bool {
        match condition {
            Expr::Or(parts) => {
                parts.iter().any(|part| self.holds_always(part))
                    || parts.iter().enumerate().any(|(at, part)| {
                        parts.iter().skip(at + 1).any(|other| match (part, other) {
                            (Expr::Not(inner), other) | (other, Expr::Not(inner)) => {
                                key(inner).is_some_and(|inner| key(other) == Some(inner))
                            }
                            _ => false,
                        })
                    })
            }
            Expr::And(parts) => parts.iter().all(|part| self.holds_always(part)),
            Expr::Compare(compare) => {
                let same = key(&compare.left).is_some_and(|left| key(&compare.right) == Some(left));
                let fits =
                    matches!(compare.relation, Relation::Equal | Relation::LessOrEqual | Relation::GreaterOrEqual);
                let counts = compare.relation == Relation::GreaterOrEqual
                    && is_count(&compare.left)
                    && self.value_of(&compare.right).is_some_and(|limit| limit <= 0);
                (same && fits) || counts
            }
            Expr::Slot(_) => self.literal_of(condition).is_some_and(|bits| bits != 0),
            _ => false,
        }
    }

    /// Returns the place of what excludes a condition, if the scope does.
    fn excluded(&self, condition: &Expr, scope: &[(Atom, Span)]) -> Option<Span> {
        if matches!(condition, Expr::Or(_)) {
            return None;
        }
        self.atoms(condition).iter().find_map(|atom| {
            let against = scope.iter().find(|(known, _)| known.of == atom.of && known.says.excludes(atom.says));
            against.map(|(_, span)| *span)
        })
    }

    fn span_of(&self, check: u8) -> Span {
        self.checks.get(usize::from(check)).map_or(Span::NONE, |check| check.span)
    }

    /// Takes a condition apart into what it says of single fields, with words and yes or no written out in it. Entries of the
    /// code are left aside: a place may change them.
    fn atoms(&self, condition: &Expr) -> Vec<Atom> {
        let one = |of: &Expr, says: Says| key(of).map(|of| Atom { of, says });
        match condition {
            Expr::And(parts) => parts.iter().flat_map(|part| self.atoms(part)).collect(),
            Expr::Not(inner) => one(inner, Says::Is(0)).into_iter().collect(),
            Expr::Compare(compare) => {
                let Compare { relation, left, right } = &**compare;
                let Some(value) = self.literal_of(right) else { return Vec::new() };
                let says = match relation {
                    Relation::Equal => Says::Is(value),
                    Relation::Unequal => Says::IsNot(value),
                    Relation::LessOrEqual => Says::AtMost(value),
                    Relation::GreaterOrEqual => Says::AtLeast(value),
                    Relation::Less => Says::AtMost(value.saturating_sub(1)),
                    Relation::Greater => Says::AtLeast(value.saturating_add(1)),
                };
                one(left, says).into_iter().collect()
            }
            flag => one(flag, Says::Is(1)).into_iter().collect(),
        }
    }

    /// Returns a value that stands in the rule itself.
    fn literal_of(&self, expr: &Expr) -> Option<i64> {
        let Expr::Slot(at) = expr else { return None };
        match &self.slots.get(usize::from(*at))?.source {
            SlotSource::Literal(bits) => Some(*bits),
            SlotSource::Text(_, symbol) => Some(i64::from(symbol.0)),
            SlotSource::Entry(_) | SlotSource::Exception(_) => None,
        }
    }

    /// Returns a value that stands in the rule or in the code in force.
    fn value_of(&self, expr: &Expr) -> Option<i64> {
        let Expr::Slot(at) = expr else { return None };
        let slot = self.slots.get(usize::from(*at))?;
        match &slot.source {
            SlotSource::Entry(id) => match &self.ground.book.entry(*id)?.value {
                Value::Scalar(scalar) if matches!(slot.ty, Ty::Quantity(_)) => Some(scalar.bits()),
                _ => None,
            },
            _ => self.literal_of(expr),
        }
    }
}

/// Returns whether an expression is a number of things.
fn is_count(expr: &Expr) -> bool {
    matches!(expr, Expr::Quantifier(quantifier)
        if matches!(**quantifier, Quantifier { what: Quantify::Count | Quantify::Distinct, .. }))
}

/// Returns what two readings of one field have in common; none for anything else.
fn key(expr: &Expr) -> Option<String> {
    match expr {
        Expr::Field(_) | Expr::Linked(..) | Expr::Path(_) => Some(format!("{expr:?}")),
        Expr::Presumed(presumed) => Some(format!("{:?}", presumed.of)),
        Expr::Within(within) => match (&within.list, key(&within.value)) {
            (List::Value(Expr::Path(list)), Some(value)) => Some(format!("{value} in {list:?}")),
            _ => None,
        },
        _ => None,
    }
}
