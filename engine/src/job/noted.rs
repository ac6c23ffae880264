//! What is read of a job file and waits until all of it is read: values, references, measurements, defaults.

use std::collections::BTreeMap;

use super::document::At;
use crate::model::{Cell, FieldId, ItemIndex, KindId, Symbol};
use crate::source::Span;

/// A value that has been read, ready to be put into any item.
#[derive(Clone)]
pub(super) enum Value<'a> {
    /// It stands for itself.
    Cell(Cell),
    /// A cable make: the make itself, its size, its number of conductors.
    Make { make: Cell, size: Cell, conductors: Cell },
    /// It names items, to be looked up when all are known. `cell` is the key's own value, where it has one.
    Names { names: Names<'a>, span: Span, cell: Option<Cell> },
}

/// Ids as they are written, each with its place.
#[derive(Clone)]
pub(super) enum Names<'a> {
    /// In a field for one item.
    One((&'a str, Span)),
    /// In a list.
    List(Vec<(&'a str, Span)>),
    /// The word [`NONE`](super::NONE), at this place: there is no such item.
    Nothing(Span),
}

impl<'a> Names<'a> {
    /// Returns the ids.
    pub(super) fn all(&self) -> &[(&'a str, Span)] {
        match self {
            Names::One(name) => std::slice::from_ref(name),
            Names::List(names) => names,
            Names::Nothing(_) => &[],
        }
    }
}

/// How a value was written down.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// In an item's table, by the type of the field.
    Plain,
    /// As the value of a `[[measure]]`, where numbers and yes or no may also stand in quotes.
    Measured,
}

/// Ids written in a field of an item.
#[derive(Clone)]
pub(super) struct Link<'a> {
    pub(super) item: ItemIndex,
    pub(super) field: FieldId,
    pub(super) names: Names<'a>,
    pub(super) span: Span,
}

/// A `[[measure]]` and its value as it is written.
pub(super) struct Measure<'a> {
    pub(super) item: ItemIndex,
    pub(super) value: At<'a>,
}

/// The defaults of one `[defaults]` table, by kind.
#[derive(Default)]
pub(super) struct Defaults<'a> {
    pub(super) kinds: Vec<Option<OfKind<'a>>>,
}

impl<'a> Defaults<'a> {
    pub(super) fn of(&self, kind: KindId) -> Option<&OfKind<'a>> {
        self.kinds.get(kind.0 as usize)?.as_ref()
    }
}

/// All defaults of a job, those that stand over the others first.
#[derive(Default)]
pub(super) struct Levels<'a> {
    /// Of the job and the shop.
    pub(super) general: Vec<Defaults<'a>>,
    /// Of rooms.
    pub(super) rooms: BTreeMap<ItemIndex, Vec<Defaults<'a>>>,
}

impl<'a> Levels<'a> {
    /// Returns the defaults of a kind in a room.
    pub(super) fn of(&self, room: Option<ItemIndex>, kind: KindId) -> impl Iterator<Item = &OfKind<'a>> {
        let room = room.and_then(|room| self.rooms.get(&room));
        room.into_iter().flatten().chain(&self.general).filter_map(move |defaults| defaults.of(kind))
    }
}

/// Defaults of a kind: for all its items, and for those with a certain word in the field that selects.
#[derive(Default)]
pub(super) struct OfKind<'a> {
    pub(super) all: Vec<Entry<'a>>,
    pub(super) by_word: Vec<(Symbol, Vec<Entry<'a>>)>,
}

impl<'a> OfKind<'a> {
    /// Returns what holds for an item: that for its word stands over that for all.
    pub(super) fn entries(&self, word: Option<Symbol>) -> impl Iterator<Item = &Entry<'a>> {
        let own = self.by_word.iter().filter(move |(of, _)| Some(*of) == word).flat_map(|(_, entries)| entries);
        own.chain(&self.all)
    }
}

/// A field with its default.
#[derive(Clone)]
pub(super) struct Entry<'a> {
    pub(super) field: FieldId,
    pub(super) value: Value<'a>,
}
