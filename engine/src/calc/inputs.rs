//! What computations ask of a job: a recorded value, or which field nobody recorded.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use crate::model::{FieldId, ItemIndex, Type};
use crate::source::Span;

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
