//! What every paper is made from, with the look-ups that they share.

use crate::book::Book;
use crate::calc::{Ctx, Library};
use crate::inspection::finding::Report;
use crate::model::kinds::{room, site};
use crate::model::{Cell, FieldId, ItemIndex, Job};
use crate::quantity::{Quantity, UnitSystem};

use super::figure::Figure;
use crate::told::Words;

/// A job, the code it was held against, and what was found: the table at which papers are written.
#[derive(Debug)]
pub struct Desk<'a> {
    /// The job.
    pub job: &'a Job,
    /// The code in force.
    pub book: &'a Book,
    /// What the inspection found. For the evidence on papers it must have kept the met checks.
    pub report: &'a Report,
    /// Units of the papers.
    pub units: UnitSystem,
    pub(super) ctx: Ctx<'a>,
    library: &'a Library,
}

/// Where a thing is that is in no room.
pub(super) const WHOLE: &str = "whole dwelling";

impl<'a> Desk<'a> {
    /// Returns the desk of an inspected job.
    pub fn new(job: &'a Job, book: &'a Book, report: &'a Report, library: &'a Library) -> Desk<'a> {
        let site = job.schema.kind(site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
        let units = match site.and_then(|site| job.text(site, site::UNITS)) {
            Some("metric") => UnitSystem::Metric,
            _ => UnitSystem::Customary,
        };
        Desk { job, book, report, units, ctx: Ctx::new(job, book), library }
    }

    /// Returns the words for findings.
    pub fn words(&self) -> Words<'a> {
        Words::new(self.job, self.book)
    }

    /// Returns the site.
    pub fn site(&self) -> Option<ItemIndex> {
        self.ctx.site()
    }

    /// Returns the items of a kind, in the order of the file.
    pub fn items(&self, kind: &str) -> &'a [ItemIndex] {
        self.job.schema.kind(kind).map_or(&[], |kind| self.job.of_kind(kind))
    }

    /// Returns whether an item is of a kind.
    pub fn is(&self, item: ItemIndex, kind: &str) -> bool {
        self.job.schema.spec(self.job.item(item).kind).name == kind
    }

    /// Returns a quantity in the units of the papers.
    pub fn print(&self, quantity: Quantity) -> String {
        quantity.print(self.units)
    }

    /// Returns a room's name: as written, or its id begun with a capital and without hyphens.
    pub fn room_name(&self, item: ItemIndex) -> String {
        self.job.text(item, room::NAME_).map_or_else(|| spoken(self.job.id(item)), str::to_owned)
    }

    /// Returns the name of the room an item is in.
    pub fn place_name(&self, item: ItemIndex) -> String {
        self.room_of(item).map_or_else(|| WHOLE.to_owned(), |room| self.room_name(room))
    }

    /// Returns the room an item is in, through its own field `room` or that of what it belongs to.
    pub fn room_of(&self, item: ItemIndex) -> Option<ItemIndex> {
        let mut at = item;
        // Nesting is three deep at most; the bound keeps a wrong schema from turning in circles.
        for _ in 0..5 {
            let kind = self.job.item(at).kind;
            if self.job.schema.spec(kind).name == room::NAME {
                return Some(at);
            }
            at = ["room", "box", "wall", "counter", "cable", "luminaire", "appliance", "panel"].iter().find_map(
                |name| {
                    let field = self.job.schema.field(kind, name)?;
                    self.job.link(at, field)
                },
            )?;
        }
        None
    }

    /// Returns a derived field's cell.
    pub fn derived(&self, item: ItemIndex, field: FieldId) -> Option<Cell> {
        self.library.derive(&self.ctx, item, field).map(|derived| derived.cell).filter(|cell| !cell.is_missing())
    }

    /// Returns a derived yes or no.
    pub fn is_derived(&self, item: ItemIndex, field: FieldId) -> Option<bool> {
        self.derived(item, field).map(Cell::to_flag)
    }

    /// Returns a figure of the code or the shop in force.
    pub fn figure(&self, key: &str) -> Figure {
        Figure::of(self.book, key)
    }

    /// Returns a whole number that a field holds.
    pub fn count(&self, item: ItemIndex, field: FieldId) -> Option<i64> {
        self.job.quantity(item, field).and_then(Quantity::whole)
    }
}

/// Returns an id as a name: `main-bedroom` as `Main bedroom`.
pub(super) fn spoken(id: &str) -> String {
    let flat = id.replace(['-', '_'], " ");
    let mut letters = flat.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Returns a word of the job format as people say it: `small_appliance` as `small appliance`.
pub(super) fn words(word: &str) -> String {
    word.replace('_', " ")
}
