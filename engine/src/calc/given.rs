//! Recorded values with their places, and why one is not to be had.

use super::arith::ONE;
use crate::model::{Cell, FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity, UnitSystem};
use crate::source::Span;

/// An amount and where it was written, or where the value it follows from was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Traced {
    /// The amount.
    pub quantity: Quantity,
    /// The place; [`Span::NONE`] for a figure that stands nowhere.
    pub span: Span,
}

impl Traced {
    /// Returns an amount with its place.
    pub const fn new(dimension: Dimension, amount: i64, span: Span) -> Traced {
        Traced { quantity: Quantity::new(dimension, amount), span }
    }

    /// Returns the amount in base units.
    pub const fn amount(self) -> i64 {
        self.quantity.amount()
    }

    /// Returns the amount moved by some base units, at the same place.
    #[must_use]
    pub const fn plus(self, amount: i64) -> Traced {
        Traced::new(self.quantity.dimension(), self.quantity.amount().saturating_add(amount), self.span)
    }

    /// Returns it as a cell; a figure that stands nowhere points at `fallback`.
    pub fn cell(self, fallback: Span) -> Cell {
        Cell::quantity(self.quantity, if self.span == Span::NONE { fallback } else { self.span })
    }
}

/// Why a value can't be computed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Gap {
    /// Nobody recorded these fields; they would decide it.
    Missing(Vec<(ItemIndex, FieldId)>),
    /// The job file or the code in force is at fault.
    Fault(Box<Problem>),
}

impl Gap {
    /// Returns the gap that one unrecorded field leaves.
    pub fn field(item: ItemIndex, field: FieldId) -> Gap {
        Gap::Missing(vec![(item, field)])
    }

    /// Returns the gap of both together: a fault wins over unrecorded fields, which add up.
    #[must_use]
    pub fn and(self, other: Gap) -> Gap {
        match (self, other) {
            (Gap::Missing(mut a), Gap::Missing(b)) => {
                for field in b {
                    if !a.contains(&field) {
                        a.push(field);
                    }
                }
                Gap::Missing(a)
            }
            (fault @ Gap::Fault(_), _) | (_, fault) => fault,
        }
    }
}

impl From<Problem> for Gap {
    fn from(problem: Problem) -> Gap {
        Gap::Fault(Box::new(problem))
    }
}

/// Gathers all gaps of several inputs, so that one look at the job names every field that is still to be recorded.
#[derive(Debug, Default)]
pub(super) struct Gaps(Option<Gap>);

impl Gaps {
    /// Keeps the gap of a failed input and returns the value of a good one.
    pub(super) fn keep<T>(&mut self, input: Result<T, Gap>) -> Option<T> {
        match input {
            Ok(value) => Some(value),
            Err(gap) => {
                self.add(gap);
                None
            }
        }
    }

    /// Adds a gap.
    pub(super) fn add(&mut self, gap: Gap) {
        self.0 = Some(match self.0.take() {
            Some(before) => before.and(gap),
            None => gap,
        });
    }

    /// Fails if there was any gap.
    pub(super) fn none(self) -> Result<(), Gap> {
        self.0.map_or(Ok(()), Err)
    }
}

/// Returns a recorded count as a whole number.
///
/// # Errors
/// When it is no whole number, or not from `least` to `most`.
pub(super) fn count_of(number: Traced, least: i64, most: i64) -> Result<i64, Problem> {
    let count = number.amount() / ONE;
    if number.amount() % ONE != 0 || !(least..=most).contains(&count) {
        return Err(
            Problem::new(number.span, format!("expected a whole number from {least} to {most}")).label("this number")
        );
    }
    Ok(count)
}

/// Returns a quantity in trade form, for messages.
pub(super) fn shown(quantity: Quantity) -> String {
    quantity.print(UnitSystem::Customary)
}
