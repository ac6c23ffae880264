//! The value of one field of one item, and where it was written.

use super::Symbol;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// An item, by its number in a job.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord, Default)]
pub struct ItemIndex(pub u32);

impl ItemIndex {
    /// The number of no item: what a link holds that is recorded as leading nowhere.
    pub const NONE: ItemIndex = ItemIndex(u32::MAX);
}

/// Where a link leads.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LinkState {
    /// To this item.
    To(ItemIndex),
    /// Nowhere, and that is recorded: a receptacle that is for no appliance, the box of a cable end that is at a panel.
    None,
    /// Nobody has recorded where.
    NotRecorded,
}

/// A run of cells in a job's list pool.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ListRange {
    /// First cell.
    pub start: u32,
    /// Number of cells.
    pub len: u32,
}

/// A value in 16 bytes: the bits mean what the field's [`Type`](super::Type) says, the span is where it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    bits: i64,
    span: Span,
}

impl Cell {
    /// A value that nobody has recorded.
    pub const MISSING: Cell = Cell { bits: 0, span: Span::NONE };

    /// Returns a cell of raw bits.
    pub const fn raw(bits: i64, span: Span) -> Cell {
        Cell { bits, span }
    }

    /// Returns a cell that holds an amount of a quantity whose dimension the field knows.
    pub const fn quantity(quantity: Quantity, span: Span) -> Cell {
        Cell { bits: quantity.amount(), span }
    }

    /// Returns a yes/no cell.
    pub const fn flag(value: bool, span: Span) -> Cell {
        Cell { bits: value as i64, span }
    }

    /// Returns a text cell.
    pub const fn text(symbol: Symbol, span: Span) -> Cell {
        Cell { bits: symbol.0 as i64, span }
    }

    /// Returns a cell that refers to another item.
    pub const fn item(item: ItemIndex, span: Span) -> Cell {
        Cell { bits: item.0 as i64, span }
    }

    /// Returns the cell of a link that is recorded as leading nowhere.
    pub const fn no_item(span: Span) -> Cell {
        Cell::item(ItemIndex::NONE, span)
    }

    /// Returns a cell that holds a list.
    pub const fn list(list: ListRange, span: Span) -> Cell {
        Cell { bits: ((list.start as i64) << 32) | list.len as i64, span }
    }

    /// Returns the raw bits.
    pub const fn bits(self) -> i64 {
        self.bits
    }

    /// Returns where the value was written.
    pub const fn span(self) -> Span {
        self.span
    }

    /// Returns whether nobody has recorded the value.
    pub fn is_missing(self) -> bool {
        self.span == Span::NONE
    }

    /// Returns whether the value is the job format's own default and stands in no file.
    pub fn is_default(self) -> bool {
        self.span == Span::DEFAULT
    }

    /// Returns whether it is the cell of a link that is recorded as leading nowhere. Only a link's cell may be asked: the same bits
    /// are an ordinary amount.
    pub fn is_none_item(self) -> bool {
        self.bits == i64::from(ItemIndex::NONE.0) && !self.is_missing()
    }

    /// Returns where the cell of a link leads.
    pub fn to_link(self) -> LinkState {
        match self.to_item() {
            _ if self.is_missing() => LinkState::NotRecorded,
            ItemIndex::NONE => LinkState::None,
            item => LinkState::To(item),
        }
    }

    /// Returns the item that the cell of a link leads to, if there is one and it is recorded.
    pub fn linked(self) -> Option<ItemIndex> {
        match self.to_link() {
            LinkState::To(item) => Some(item),
            LinkState::None | LinkState::NotRecorded => None,
        }
    }

    /// Returns the bits as a quantity.
    pub const fn to_quantity(self, dimension: Dimension) -> Quantity {
        Quantity::new(dimension, self.bits)
    }

    /// Returns the bits as yes or no.
    pub const fn to_flag(self) -> bool {
        self.bits != 0
    }

    /// Returns the bits as a text.
    pub const fn to_symbol(self) -> Symbol {
        Symbol(self.bits as u32)
    }

    /// Returns the bits as an item; [`ItemIndex::NONE`] for a link that leads nowhere.
    pub const fn to_item(self) -> ItemIndex {
        ItemIndex(self.bits as u32)
    }

    /// Returns the bits as a list.
    pub const fn to_list(self) -> ListRange {
        ListRange { start: (self.bits >> 32) as u32, len: self.bits as u32 }
    }
}
