//! What a running rule sees: the item, the job's cells, the slots that the book has filled, and its own local values.

use super::bind::Slots;
use super::plan::{Path, Presumed, Root, Stand};
use super::program::Eval;
use super::value::{State, Val};
use crate::book::Book;
use crate::facts::Facts;
use crate::model::{Cell, FieldId, ItemIndex, Job, kinds};
use crate::source::Span;

/// What a running rule sees.
#[derive(Debug)]
pub(super) struct Machine<'a> {
    pub(super) facts: &'a Facts<'a>,
    pub(super) job: &'a Job,
    pub(super) book: &'a Book,
    /// Lists and tables of the book.
    pub(super) slots: &'a Slots,
    pub(super) item: ItemIndex,
    site: Option<ItemIndex>,
    cells: &'a [Cell],
    /// The item's cells and all behind them.
    here: &'a [Cell],
    /// Literals and single entries.
    values: Vec<Val>,
    locals: Vec<Val>,
    /// Whether the rule presumes anything at all.
    pub(super) presumes: bool,
    /// Whether something that the rule presumes has been used for the item that is looked at.
    pub(super) presumed: bool,
    /// Whether a `let` of the rule has used something of the sort: what reads its name rests on it.
    pub(super) presumed_by_name: bool,
}

impl<'a> Machine<'a> {
    pub(super) fn new(
        slots: &'a Slots,
        values: Vec<Val>,
        locals: usize,
        book: &'a Book,
        facts: &'a Facts<'a>,
    ) -> Machine<'a> {
        let job = facts.job();
        let site = job.schema.kind(kinds::site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
        Machine {
            facts,
            job,
            book,
            slots,
            item: ItemIndex(0),
            site,
            cells: facts.cells(),
            here: &[],
            values,
            locals: vec![Val::UNKNOWN; locals],
            presumes: true,
            presumed: false,
            presumed_by_name: false,
        }
    }

    /// Makes an item the one that is looked at, with nothing presumed of it yet.
    pub(super) fn begin(&mut self, item: ItemIndex) {
        self.turn_to(item);
        self.presumed = false;
        self.presumed_by_name = false;
    }

    /// Makes an item the one that is looked at, in a rule that presumes nothing.
    #[inline(always)]
    pub(super) fn turn_to(&mut self, item: ItemIndex) {
        self.item = item;
        let first = self.job.cell_at(item, FieldId(0));
        self.here = self.cells.get(first..).unwrap_or(&[]);
    }

    #[inline(always)]
    pub(super) fn set(&mut self, local: u8, value: Val) {
        if let Some(slot) = self.locals.get_mut(usize::from(local)) {
            *slot = value;
        }
    }

    #[inline(always)]
    pub(super) fn local(&self, local: u8) -> Val {
        self.locals.get(usize::from(local)).copied().unwrap_or(Val::FAULT)
    }

    #[inline(always)]
    pub(super) fn slot(&self, slot: u16) -> Val {
        self.values.get(usize::from(slot)).copied().unwrap_or(Val::FAULT)
    }

    /// Returns a field of the item that is looked at.
    #[inline(always)]
    pub(super) fn field(&self, field: FieldId) -> Val {
        self.here.get(usize::from(field.0)).map_or(Val::UNKNOWN, |cell| of_cell(*cell))
    }

    /// Returns a field through one link of the item that is looked at.
    #[inline(always)]
    pub(super) fn linked(&self, link: FieldId, field: FieldId) -> Val {
        match self.here.get(usize::from(link.0)) {
            Some(cell) if leads_on(*cell) => of_cell(self.cell(cell.to_item(), field)),
            Some(cell) => no_item(*cell),
            None => Val::UNKNOWN,
        }
    }

    /// Returns a list of the item that is looked at. One that nobody has recorded is empty: nothing refers to the item.
    #[inline(always)]
    pub(super) fn own_list(&self, field: FieldId) -> Val {
        self.here.get(usize::from(field.0)).map_or(Val::UNKNOWN, |cell| of_list(*cell))
    }

    /// Returns a list of the item at the end of one link, in the same way.
    #[inline(always)]
    pub(super) fn linked_list(&self, link: FieldId, field: FieldId) -> Val {
        match self.here.get(usize::from(link.0)) {
            Some(cell) if leads_on(*cell) => of_list(self.cell(cell.to_item(), field)),
            Some(cell) => no_item(*cell),
            None => Val::UNKNOWN,
        }
    }

    /// Returns a field of the item that a local value names.
    #[inline(always)]
    pub(super) fn of_local(&self, local: u8, field: FieldId) -> Val {
        self.of_value(self.local(local), field)
    }

    /// Returns a field of the item that a value names.
    #[inline(always)]
    pub(super) fn of_value(&self, item: Val, field: FieldId) -> Val {
        match item.state {
            State::Known if item.bits != NONE => of_cell(self.cell(ItemIndex(item.bits as u32), field)),
            State::Known => Val::NOTHING,
            _ => item,
        }
    }

    /// Returns a field through two links of the item that is looked at.
    #[inline(always)]
    pub(super) fn twice_linked(&self, first: FieldId, second: FieldId, field: FieldId) -> Val {
        let link = self.linked(first, second);
        match link.state {
            State::Known if link.bits != NONE => of_cell(self.cell(ItemIndex(link.bits as u32), field)),
            State::Known => Val::NOTHING,
            _ => link,
        }
    }

    /// Returns any field of any item.
    #[inline(always)]
    pub(super) fn cell(&self, item: ItemIndex, field: FieldId) -> Cell {
        self.cells.get(self.job.cell_at(item, field)).copied().unwrap_or(Cell::MISSING)
    }

    /// Returns the item that a path starts from.
    #[inline(always)]
    pub(super) fn root(&self, root: Root) -> Val {
        match root {
            Root::Item => Val::known(i64::from(self.item.0)),
            Root::Site => self.site.map_or(Val::UNKNOWN, |site| Val::known(i64::from(site.0))),
            Root::Local(local) => self.local(local),
        }
    }

    /// Returns a field through links.
    pub(super) fn path(&self, path: &Path) -> Val {
        let item = match self.owner(path) {
            Ok(item) => item,
            Err(none) => return none,
        };
        let cell = self.cell(item, path.field);
        if path.empty_if_missing { of_list(cell) } else { of_cell(cell) }
    }

    /// Returns the item whose field a path ends at.
    ///
    /// # Errors
    /// The value that stands for the field where there is no such item or it is not known.
    pub(super) fn owner(&self, path: &Path) -> Result<ItemIndex, Val> {
        let root = self.root(path.root);
        match root.state {
            State::Known if root.bits == NONE => return Err(Val::NOTHING),
            State::Known => {}
            _ => return Err(root),
        }
        self.follow(ItemIndex(root.bits as u32), &path.links)
    }

    /// Follows links from an item.
    pub(super) fn follow(&self, mut item: ItemIndex, links: &[FieldId]) -> Result<ItemIndex, Val> {
        for &link in links {
            let cell = self.cell(item, link);
            if !leads_on(cell) {
                return Err(no_item(cell));
            }
            item = cell.to_item();
        }
        Ok(item)
    }

    /// Returns a field, or what the rule presumes where it is not recorded.
    pub(super) fn presumed(&mut self, presumed: &Presumed) -> Val {
        let item = match self.owner(&presumed.of) {
            Ok(item) => item,
            Err(none) => return none,
        };
        let cell = self.cell(item, presumed.of.field);
        if !cell.is_missing() {
            return of_cell(cell);
        }
        let value = self.stand_in(item, &presumed.value);
        // Where what stands in is not recorded either, nothing is presumed.
        self.presumed |= value.is_settled();
        value
    }

    /// Returns a value, and whether it rests on something that the rule presumes.
    #[inline(always)]
    pub(super) fn resting(&mut self, of: &Eval) -> (Val, bool) {
        if !self.presumes {
            return (of(self), false);
        }
        let before = std::mem::replace(&mut self.presumed, false);
        let value = of(self);
        let rests = self.presumed || self.presumed_by_name;
        self.presumed |= before;
        (value, rests)
    }

    /// Returns what a rule presumes of a field of an item.
    pub(super) fn stand_in(&self, item: ItemIndex, value: &Stand) -> Val {
        match value {
            Stand::Slot(slot) => self.slot(*slot),
            Stand::Field(links, field, in_turn) => match (self.follow(item, links), in_turn) {
                (Ok(item), Some(in_turn)) if self.cell(item, *field).is_missing() => self.stand_in(item, &in_turn.1),
                (Ok(item), _) => of_cell(self.cell(item, *field)),
                (Err(none), _) => none,
            },
        }
    }

    /// Returns the members of a list field.
    pub(super) fn members(&self, list: Val) -> &'a [Cell] {
        self.facts.list(Cell::raw(list.bits, Span::NONE).to_list())
    }

    /// Returns the members of a list of the book, if it is in force.
    #[inline]
    pub(super) fn entry_list(&self, list: u16) -> Option<&'a [i64]> {
        self.slots.lists.get(usize::from(list))?.as_deref()
    }
}

/// The bits of a link that is recorded as leading nowhere.
pub(super) const NONE: i64 = u32::MAX as i64;

/// Returns whether a link's cell leads to an item.
#[inline(always)]
fn leads_on(cell: Cell) -> bool {
    !cell.is_missing() && cell.bits() != NONE
}

/// Returns the value of what a link that leads to no item would lead to.
#[inline(always)]
fn no_item(cell: Cell) -> Val {
    Val { bits: 0, state: if cell.is_missing() { State::Unknown } else { State::Undefined } }
}

/// Returns the value of a cell that holds a list of what refers to an item.
#[inline(always)]
fn of_list(cell: Cell) -> Val {
    // The bits of an empty list are zero.
    Val::known(if cell.is_missing() { 0 } else { cell.bits() })
}

/// Returns a cell's value.
#[inline(always)]
pub(super) fn of_cell(cell: Cell) -> Val {
    Val { bits: cell.bits(), state: if cell.is_missing() { State::Unknown } else { State::Known } }
}
