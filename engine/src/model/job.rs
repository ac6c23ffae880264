//! A job: its items, and the cells of all their fields in one pool.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{Cell, FieldId, Filled, ItemIndex, KindId, LinkState, ListRange, Schema, Symbol, Symbols, Type};
use crate::quantity::Quantity;
use crate::source::{Files, Span};

/// One item of a job.
#[derive(Clone, Copy, Debug)]
pub struct Item {
    /// Its kind.
    pub kind: KindId,
    /// Its id, unique in the job.
    pub id: Symbol,
    /// The place of its header or of the inline table: what to point at when a value is missing.
    pub header: Span,
    first_cell: u32,
}

/// A loaded job. Every item has a cell for every field of its kind, missing or not.
#[derive(Clone, Debug)]
pub struct Job {
    /// The files: those of the rulesets, then the job's own.
    pub files: Files,
    /// The kinds and fields that the job was read by.
    pub schema: Arc<Schema>,
    /// The texts behind the symbols.
    pub symbols: Symbols,
    items: Vec<Item>,
    cells: Vec<Cell>,
    lists: Vec<Cell>,
    /// The item of each id, by the number of the id's symbol; [`ItemIndex::NONE`] for all other texts.
    by_id: Vec<ItemIndex>,
    by_kind: Vec<Vec<ItemIndex>>,
    /// What was planned where a measured value now stands in the cell.
    plans: BTreeMap<(ItemIndex, FieldId), Cell>,
    /// For each kind, the links by which lists of other items find it, and the items that have them not recorded.
    unplaced: Vec<Vec<Vec<ItemIndex>>>,
    /// Whether each item is existing work; empty where none is.
    existing: Vec<bool>,
    /// Fields of items that say nothing, filled from what they belong to.
    taken: Vec<(ItemIndex, FieldId)>,
}

impl Job {
    /// Returns the number of items.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Returns whether the job has no item at all.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Returns an item.
    ///
    /// # Panics
    /// Never for an index of this job.
    pub fn item(&self, item: ItemIndex) -> &Item {
        &self.items[item.0 as usize]
    }

    /// Returns an item's id.
    pub fn id(&self, item: ItemIndex) -> &str {
        self.symbols.text(self.item(item).id)
    }

    /// Returns the items of a kind in file order.
    pub fn of_kind(&self, kind: KindId) -> &[ItemIndex] {
        self.by_kind.get(kind.0 as usize).map_or(&[], Vec::as_slice)
    }

    /// Returns the item with an id.
    pub fn find(&self, id: &str) -> Option<ItemIndex> {
        self.with_id(self.symbols.find(id)?)
    }

    fn with_id(&self, id: Symbol) -> Option<ItemIndex> {
        self.by_id.get(id.0 as usize).copied().filter(|&item| item != ItemIndex::NONE)
    }

    /// Returns all items with their numbers.
    pub fn items(&self) -> impl Iterator<Item = (ItemIndex, &Item)> {
        self.items.iter().enumerate().map(|(at, item)| (ItemIndex(at as u32), item))
    }

    /// Returns the position of a field's cell in the pool of this job; one behind its end for no item.
    pub fn cell_at(&self, item: ItemIndex, field: FieldId) -> usize {
        match self.items.get(item.0 as usize) {
            Some(item) => item.first_cell as usize + field.0 as usize,
            None => usize::MAX,
        }
    }

    /// Returns a field's cell.
    pub fn cell(&self, item: ItemIndex, field: FieldId) -> Cell {
        self.cells.get(self.cell_at(item, field)).copied().unwrap_or(Cell::MISSING)
    }

    /// Returns all cells; an item's cells are consecutive, in the order of its kind's fields.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Returns the cells of a list.
    pub fn list(&self, list: ListRange) -> &[Cell] {
        self.lists.get(list.start as usize..(list.start + list.len) as usize).unwrap_or(&[])
    }

    /// Returns the pool of all lists.
    pub fn lists(&self) -> &[Cell] {
        &self.lists
    }

    /// Returns what was planned, where a measured value stands in the field now.
    pub fn plan(&self, item: ItemIndex, field: FieldId) -> Option<Cell> {
        self.plans.get(&(item, field)).copied()
    }

    /// Returns a recorded quantity.
    pub fn quantity(&self, item: ItemIndex, field: FieldId) -> Option<Quantity> {
        let cell = self.cell(item, field);
        match self.schema.field_spec(self.item(item).kind, field).ty {
            Type::Quantity(dimension) if !cell.is_missing() => Some(cell.to_quantity(dimension)),
            _ => None,
        }
    }

    /// Returns a recorded yes or no.
    pub fn flag(&self, item: ItemIndex, field: FieldId) -> Option<bool> {
        let cell = self.cell(item, field);
        (!cell.is_missing()).then(|| cell.to_flag())
    }

    /// Returns a recorded text or word.
    pub fn text(&self, item: ItemIndex, field: FieldId) -> Option<&str> {
        let cell = self.cell(item, field);
        (!cell.is_missing()).then(|| self.symbols.text(cell.to_symbol()))
    }

    /// Returns the item a field refers to; nothing where it refers to none, or where nobody has recorded to which.
    pub fn link(&self, item: ItemIndex, field: FieldId) -> Option<ItemIndex> {
        self.cell(item, field).linked()
    }

    /// Returns where a link leads: to an item, nowhere, or nobody has recorded it.
    pub fn link_state(&self, item: ItemIndex, field: FieldId) -> LinkState {
        self.cell(item, field).to_link()
    }

    /// Returns the items of a kind whose link nobody has recorded, where other items have lists of what refers to them by it: any of these
    /// may belong into such a list as well. An item whose link is none belongs into none.
    #[inline]
    pub fn unplaced(&self, kind: KindId, link: FieldId) -> &[ItemIndex] {
        let links = self.unplaced.get(usize::from(kind.0)).map_or(&[][..], Vec::as_slice);
        links.get(usize::from(link.0)).map_or(&[], Vec::as_slice)
    }

    /// Returns whether an item is existing work, by what is written of it or of what it belongs to.
    pub fn is_existing(&self, item: ItemIndex) -> bool {
        self.existing.get(item.0 as usize).copied().unwrap_or(false)
    }

    /// Returns whether anything in the job is existing work.
    pub fn has_existing(&self) -> bool {
        !self.existing.is_empty()
    }

    /// Returns the fields about existing work that items leave out, and that are filled from what they belong to.
    pub fn taken(&self) -> &[(ItemIndex, FieldId)] {
        &self.taken
    }

    /// Returns the items a list field refers to; an unrecorded list is empty.
    pub fn links(&self, item: ItemIndex, field: FieldId) -> impl Iterator<Item = ItemIndex> + '_ {
        let cell = self.cell(item, field);
        let cells = if cell.is_missing() { &[] } else { self.list(cell.to_list()) };
        cells.iter().map(|cell| cell.to_item())
    }

    /// Returns what a field of an item is called in full: `box B12, top`.
    pub fn path(&self, item: ItemIndex, field: FieldId) -> String {
        let kind = self.schema.spec(self.item(item).kind);
        format!("{} {}, {}", kind.word, self.id(item), self.schema.field_spec(self.item(item).kind, field).name)
    }
}

/// Builds a [`Job`]; the reader of job files and generated jobs of tests and benchmarks use it alike.
#[derive(Debug)]
pub struct JobBuilder {
    job: Job,
}

impl JobBuilder {
    /// Returns an empty job over a schema, standing on shared files and symbols.
    pub fn new(schema: Arc<Schema>, files: Files, symbols: Symbols) -> JobBuilder {
        let by_kind = schema.kinds().map(|_| Vec::new()).collect();
        JobBuilder {
            job: Job {
                files,
                schema,
                symbols,
                items: Vec::new(),
                cells: Vec::new(),
                lists: Vec::new(),
                by_id: Vec::new(),
                by_kind,
                plans: BTreeMap::new(),
                unplaced: Vec::new(),
                existing: Vec::new(),
                taken: Vec::new(),
            },
        }
    }

    /// Adds an item with all its cells missing. Returns the item that already has the id, if there is one.
    ///
    /// # Errors
    /// The number of the item that has the id.
    pub fn add(&mut self, kind: KindId, id: &str, header: Span) -> Result<ItemIndex, ItemIndex> {
        let symbol = self.job.symbols.intern(id);
        if let Some(other) = self.job.with_id(symbol) {
            return Err(other);
        }
        let item = ItemIndex(self.job.items.len() as u32);
        let first_cell = self.job.cells.len() as u32;
        let fields = self.job.schema.spec(kind).fields.len();
        self.job.items.push(Item { kind, id: symbol, header, first_cell });
        self.job.cells.resize(self.job.cells.len() + fields, Cell::MISSING);
        let at = symbol.0 as usize;
        if at >= self.job.by_id.len() {
            self.job.by_id.resize(at + 1, ItemIndex::NONE);
        }
        if let Some(slot) = self.job.by_id.get_mut(at) {
            *slot = item;
        }
        if let Some(list) = self.job.by_kind.get_mut(kind.0 as usize) {
            list.push(item);
        }
        Ok(item)
    }

    /// Sets a field.
    pub fn set(&mut self, item: ItemIndex, field: FieldId, cell: Cell) {
        let at = self.job.cell_at(item, field);
        if let Some(slot) = self.job.cells.get_mut(at) {
            *slot = cell;
        }
    }

    /// Puts a measured value in place of a planned one, and keeps the plan.
    pub fn measure(&mut self, item: ItemIndex, field: FieldId, cell: Cell) {
        let planned = self.job.cell(item, field);
        if !planned.is_missing() {
            self.job.plans.insert((item, field), planned);
        }
        self.set(item, field, cell);
    }

    /// Takes a planned value out of a field because a measured one says the same thing in another way, and keeps the plan:
    /// a measured top edge stands in place of a planned centre.
    pub fn set_aside(&mut self, item: ItemIndex, field: FieldId) {
        self.measure(item, field, Cell::MISSING);
    }

    /// Says of each item, by its number, whether it is existing work, and which fields about that are filled from elsewhere.
    pub(crate) fn existing(&mut self, existing: Vec<bool>, taken: Vec<(ItemIndex, FieldId)>) {
        (self.job.existing, self.job.taken) = (existing, taken);
    }

    /// Stores a list and returns its range.
    pub fn list(&mut self, cells: &[Cell]) -> ListRange {
        let start = self.job.lists.len() as u32;
        self.job.lists.extend_from_slice(cells);
        ListRange { start, len: cells.len() as u32 }
    }

    /// Returns the job as it stands.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Returns the number of a text, adding it if it is new.
    pub fn intern(&mut self, text: &str) -> Symbol {
        self.job.symbols.intern(text)
    }

    /// Returns the finished job.
    pub fn finish(mut self) -> Job {
        self.job.unplaced = unplaced(&self.job);
        self.job
    }
}

/// Gathers the items whose place nobody has recorded, by kind and by link, for every link that some list goes by. A kind whose items are
/// all placed has no rows.
fn unplaced(job: &Job) -> Vec<Vec<Vec<ItemIndex>>> {
    let mut unplaced: Vec<Vec<Vec<ItemIndex>>> = job.schema.kinds().map(|_| Vec::new()).collect();
    for field in job.schema.kinds().flat_map(|(_, spec)| &spec.fields) {
        let Filled::Inverse { kind, via } = field.filled else { continue };
        let Some(kind) = job.schema.kind(kind) else { continue };
        let Some(link) = job.schema.field(kind, via) else { continue };
        let Some(links) = unplaced.get_mut(usize::from(kind.0)) else { continue };
        let at = usize::from(link.0);
        if links.get(at).is_some_and(|known| !known.is_empty()) {
            continue;
        }
        let open: Vec<ItemIndex> =
            job.of_kind(kind).iter().copied().filter(|&item| job.cell(item, link).is_missing()).collect();
        if !open.is_empty() {
            if links.len() <= at {
                links.resize_with(at + 1, Vec::new);
            }
            if let Some(row) = links.get_mut(at) {
                *row = open;
            }
        }
    }
    unplaced
}
