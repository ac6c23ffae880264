//! What computations ask of a job: a recorded value, or which field nobody recorded.

use super::derive::Ctx;
use super::given::{Gap, Traced};
use crate::model::{FieldId, Filled, ItemIndex, Type};
use crate::source::Span;

/// How many items without a recorded place one gap names: once these are recorded the next come up.
const MOST_NAMED: usize = 16;

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

    /// Fails with the gap of items that may belong into a list as well: those of a kind whose link nobody has recorded, as far as they
    /// could be meant.
    ///
    /// # Errors
    /// The fields under which their links are written.
    pub fn all_placed(&self, kind: &str, link: FieldId, could: impl Fn(ItemIndex) -> bool) -> Result<(), Gap> {
        let Some(kind) = self.job.schema.kind(kind) else { return Ok(()) };
        let open = self.job.unplaced(kind, link).iter().filter(|&&item| could(item));
        let fields: Vec<_> = open.take(MOST_NAMED).map(|&item| (item, self.written_as(item, link))).collect();
        if fields.is_empty() { Ok(()) } else { Err(Gap::Missing(fields)) }
    }

    /// Returns the field under which the value of a field is written: `at` for the `box` of a cable end.
    pub fn written_as(&self, item: ItemIndex, field: FieldId) -> FieldId {
        let kind = self.job.item(item).kind;
        match self.job.schema.field_spec(kind, field).filled {
            Filled::By(key) => self.job.schema.field(kind, key).unwrap_or(field),
            _ => field,
        }
    }

    /// Returns where a field is written, or the header of the item.
    pub fn place(&self, item: ItemIndex, field: FieldId) -> Span {
        let span = self.job.cell(item, field).span();
        if span.is_some() { span } else { self.job.item(item).header }
    }
}
