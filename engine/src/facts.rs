//! The facts that rules look at: the cells of a job with the derived ones filled in.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::model::{Cell, FieldId, ItemIndex, Job, KindId, ListRange};
use crate::problem::Problem;

/// A copy of a job's cells in which derived fields are filled, and why those that are not filled are not.
#[derive(Clone, Debug)]
pub struct Facts<'a> {
    job: &'a Job,
    cells: Cow<'a, [Cell]>,
    lists: Vec<Cell>,
    missing: BTreeMap<(ItemIndex, FieldId), Vec<(ItemIndex, FieldId)>>,
    faults: Vec<(ItemIndex, FieldId, Problem)>,
    notices: Vec<Problem>,
}

impl<'a> Facts<'a> {
    /// Returns the facts of a job as it was read, with no derived field filled.
    pub fn new(job: &'a Job) -> Facts<'a> {
        Facts {
            job,
            cells: Cow::Owned(job.cells().to_vec()),
            lists: Vec::new(),
            missing: BTreeMap::new(),
            faults: Vec::new(),
            notices: Vec::new(),
        }
    }

    /// Returns facts whose cells have been filled before, in the order of [`Job::cells`]; they are copied when one is changed.
    #[cfg(any(test, feature = "reference"))]
    pub(crate) fn of_cells(job: &'a Job, cells: &'a [Cell]) -> Facts<'a> {
        Facts {
            job,
            cells: Cow::Borrowed(cells),
            lists: Vec::new(),
            missing: BTreeMap::new(),
            faults: Vec::new(),
            notices: Vec::new(),
        }
    }

    /// Returns the items of a kind whose link nobody has recorded, where other items have lists of what refers to them by it
    /// (see [`Job::unplaced`]).
    #[inline]
    pub fn unplaced(&self, kind: KindId, link: FieldId) -> &'a [ItemIndex] {
        self.job.unplaced(kind, link)
    }

    /// Returns the job.
    pub fn job(&self) -> &'a Job {
        self.job
    }

    /// Returns a field's cell, derived or not.
    pub fn cell(&self, item: ItemIndex, field: FieldId) -> Cell {
        self.cells.get(self.job.cell_at(item, field)).copied().unwrap_or(Cell::MISSING)
    }

    /// Returns all cells, in the order of [`Job::cells`].
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Stores a list for a derived field and returns its range: they go on where those of the job end.
    pub fn add_list(&mut self, members: &[Cell]) -> ListRange {
        let start = (self.job.lists().len() + self.lists.len()) as u32;
        self.lists.extend_from_slice(members);
        ListRange { start, len: members.len() as u32 }
    }

    /// Returns the members of a list, of the job or of a derived field.
    pub fn list(&self, list: ListRange) -> &[Cell] {
        match (list.start as usize).checked_sub(self.job.lists().len()) {
            Some(start) if list.len > 0 => self.lists.get(start..start + list.len as usize).unwrap_or(&[]),
            _ => self.job.list(list),
        }
    }

    /// Fills a derived field.
    pub fn set(&mut self, item: ItemIndex, field: FieldId, cell: Cell) {
        let at = self.job.cell_at(item, field);
        if let Some(slot) = self.cells.to_mut().get_mut(at) {
            *slot = cell;
        }
    }

    /// Records which unrecorded fields keep a derived one from being known.
    pub fn set_missing(&mut self, item: ItemIndex, field: FieldId, fields: Vec<(ItemIndex, FieldId)>) {
        self.missing.insert((item, field), fields);
    }

    /// Records that a derived field could not be computed, because of the job file or the code in force.
    pub fn set_fault(&mut self, item: ItemIndex, field: FieldId, fault: Problem) {
        self.faults.push((item, field, fault));
    }

    /// Returns the written fields that would decide a derived one, where it is not known.
    pub fn missing_for(&self, item: ItemIndex, field: FieldId) -> &[(ItemIndex, FieldId)] {
        self.missing.get(&(item, field)).map_or(&[], Vec::as_slice)
    }

    /// Adds what somebody should know who reads the derived fields: wiring that can't be derived, say.
    pub fn add_notices(&mut self, notices: Vec<Problem>) {
        self.notices.extend(notices);
    }

    /// Returns what somebody should know who reads the derived fields.
    pub fn notices(&self) -> &[Problem] {
        &self.notices
    }

    /// Returns what is wrong with derived fields that could not be computed, in the order of the items.
    pub fn faults(&self) -> impl Iterator<Item = &(ItemIndex, FieldId, Problem)> {
        self.faults.iter()
    }

    /// Returns why a derived field could not be computed.
    pub fn fault_of(&self, item: ItemIndex, field: FieldId) -> Option<&Problem> {
        self.faults.iter().find(|(i, f, _)| (*i, *f) == (item, field)).map(|(_, _, problem)| problem)
    }
}
