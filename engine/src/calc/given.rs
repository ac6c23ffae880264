//! Inputs of computations: recorded values with their places, and why one is not to be had.

use super::arith::ONE;
use super::derive::Ctx;
use crate::model::{Cell, FieldId, ItemIndex, Type};
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

impl<'a> Ctx<'a> {
    /// Returns a recorded quantity with its place.
    ///
    /// # Errors
    /// The field, when nobody recorded it.
    pub fn need(&self, item: ItemIndex, field: FieldId) -> Result<Traced, Gap> {
        self.given(item, field).ok_or_else(|| Gap::field(item, field))
    }

    /// Returns a quantity with its place, if it is recorded.
    pub fn given(&self, item: ItemIndex, field: FieldId) -> Option<Traced> {
        let cell = self.job.cell(item, field);
        match self.job.schema.field_spec(self.job.item(item).kind, field).ty {
            Type::Quantity(dimension) if !cell.is_missing() => {
                Some(Traced { quantity: cell.to_quantity(dimension), span: cell.span() })
            }
            _ => None,
        }
    }

    /// Returns a recorded yes or no.
    ///
    /// # Errors
    /// The field, when nobody recorded it.
    pub fn need_flag(&self, item: ItemIndex, field: FieldId) -> Result<bool, Gap> {
        self.job.flag(item, field).ok_or_else(|| Gap::field(item, field))
    }

    /// Returns a recorded word.
    ///
    /// # Errors
    /// The field, when nobody recorded it.
    pub fn need_text(&self, item: ItemIndex, field: FieldId) -> Result<&'a str, Gap> {
        self.job.text(item, field).ok_or_else(|| Gap::field(item, field))
    }

    /// Returns the item that a field refers to.
    ///
    /// # Errors
    /// The field, when nobody recorded it.
    pub fn need_link(&self, item: ItemIndex, field: FieldId) -> Result<ItemIndex, Gap> {
        self.job.link(item, field).ok_or_else(|| Gap::field(item, field))
    }

    /// Returns where a field is written, or the header of the item.
    pub fn place(&self, item: ItemIndex, field: FieldId) -> Span {
        let span = self.job.cell(item, field).span();
        if span.is_some() { span } else { self.job.item(item).header }
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
