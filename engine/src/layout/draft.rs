//! What a proposal is made on: the job, the code in force, the choices so far, and the items proposed up to now.

use std::collections::BTreeSet;

use super::Unproposed;
use super::choices::Choices;
use super::item::{Proposed, Written};
use super::only::Only;
use crate::calc::{Code, Ctx, Datum, Outline, outline};
use crate::model::kinds::{room, site};
use crate::model::{FieldId, ItemIndex, Job};
use crate::quantity::{Dimension, Quantity, UnitSystem};

/// A branch circuit that outlets can go on.
#[derive(Clone, Debug)]
pub(super) struct Feed {
    pub(super) id: String,
    pub(super) serves: String,
    /// Receptacles and luminaires on it.
    pub(super) outlets: usize,
    /// Rating of its breaker, if known.
    pub(super) rating: Option<Quantity>,
    /// What its conductors carry at least, where the nameplate of an appliance says so instead of the breaker.
    pub(super) carries: Option<Quantity>,
}

/// The state of a proposal.
pub(super) struct Draft<'a> {
    pub(super) ctx: Ctx<'a>,
    pub(super) job: &'a Job,
    pub(super) book: &'a dyn Code,
    pub(super) choices: &'a Choices,
    pub(super) only: &'a Only,
    pub(super) units: UnitSystem,
    pub(super) items: Vec<Proposed>,
    pub(super) feeds: Vec<Feed>,
    /// Switch boxes proposed beside doors, with the action of the switch.
    pub(super) switch_boxes: Vec<(ItemIndex, String, &'static str)>,
    /// Boxes of proposed lights outside, with the door that each lights.
    pub(super) outside: Vec<(String, ItemIndex)>,
    /// Breaker positions of proposed circuits.
    pub(super) positions: BTreeSet<i64>,
    /// What can't be proposed, and why.
    pub(super) unproposed: Vec<Unproposed>,
    taken: BTreeSet<String>,
    /// Rooms that are not existing work: nothing is proposed for the others.
    new_rooms: Vec<ItemIndex>,
}

impl<'a> Draft<'a> {
    pub(super) fn new(job: &'a Job, book: &'a dyn Code, choices: &'a Choices, only: &'a Only) -> Draft<'a> {
        let ctx = Ctx::figures(job, book);
        let metric = ctx.site().is_some_and(|site| job.text(site, site::UNITS) == Some("metric"));
        let units = if metric { UnitSystem::Metric } else { UnitSystem::Customary };
        let mut draft = Draft {
            ctx,
            job,
            book,
            choices,
            only,
            units,
            items: Vec::new(),
            feeds: Vec::new(),
            switch_boxes: Vec::new(),
            outside: Vec::new(),
            positions: BTreeSet::new(),
            unproposed: Vec::new(),
            taken: BTreeSet::new(),
            new_rooms: Vec::new(),
        };
        draft.new_rooms = draft.all_rooms().iter().copied().filter(|&room| !job.is_existing(room)).collect();
        draft.feeds = draft.written_feeds();
        draft
    }

    /// Returns the items of a kind.
    pub(super) fn of(&self, kind: &str) -> &'a [ItemIndex] {
        self.job.schema.kind(kind).map_or(&[], |kind| self.job.of_kind(kind))
    }

    /// Returns a quantity of the code, if it has the entry.
    pub(super) fn value(&self, key: &str, dimension: Dimension) -> Option<Quantity> {
        self.book.quantity_if(key, dimension).ok().flatten().map(|known| known.quantity)
    }

    /// Returns the first of some entries that the code has.
    pub(super) fn first_value(&self, keys: &[&str], dimension: Dimension) -> Option<Quantity> {
        keys.iter().find_map(|key| self.value(key, dimension))
    }

    /// Returns a count of the code.
    pub(super) fn count(&self, keys: &[&str]) -> Option<usize> {
        let number = self.first_value(keys, Dimension::Number)?.amount() / 1_000_000_000;
        usize::try_from(number).ok()
    }

    /// Returns whether a list of the code holds a word; no where there is no such list.
    pub(super) fn lists(&self, key: &str, word: &str) -> bool {
        self.book.has_word(key, word).unwrap_or(false)
    }

    /// Returns whether the code has such a list.
    pub(super) fn has_list(&self, key: &str) -> bool {
        self.book.list(key).is_some()
    }

    /// Returns whether the code has such a table.
    pub(super) fn has_table(&self, key: &str) -> bool {
        self.book.rows(key).is_some()
    }

    /// Returns the citation of an entry.
    pub(super) fn cite(&self, key: &str) -> Option<String> {
        let scalar = self.book.scalar(key).map(|clause| clause.cite.to_owned());
        scalar.or_else(|| self.book.list(key)?.first().map(|clause| clause.cite.to_owned()))
    }

    /// Returns the least or the largest quantity in a list of the code.
    pub(super) fn in_list(&self, key: &str, dimension: Dimension, largest: bool) -> Option<Quantity> {
        let all = self.book.list(key)?.into_iter().filter_map(|clause| match clause.datum {
            Datum::Quantity(quantity) if quantity.dimension() == dimension => Some(quantity),
            _ => None,
        });
        if largest { all.max_by_key(|q| q.amount()) } else { all.min_by_key(|q| q.amount()) }
    }

    /// Returns a quantity in trade form; lengths to what a tape shows.
    pub(super) fn shown(&self, quantity: Quantity) -> String {
        quantity.exact(self.units)
    }

    /// Returns a length in trade form.
    pub(super) fn length(&self, nanometres: i64) -> Written {
        Written::Text(self.shown(Quantity::new(Dimension::Length, nanometres)))
    }

    /// Returns the step in which places are tried: an inch, or a centimetre.
    pub(super) fn step(&self) -> i64 {
        match self.units {
            UnitSystem::Metric => 10_000_000,
            UnitSystem::Customary => 25_400_000,
        }
    }

    /// Returns a length, from as many inches or as the metric trade rounds them, for what is common practice and in no code.
    pub(super) fn practice(&self, inches: i64, millimetres: i64) -> i64 {
        match self.units {
            UnitSystem::Metric => millimetres * 1_000_000,
            UnitSystem::Customary => inches * 25_400_000,
        }
    }

    pub(super) fn room_kind(&self, room: ItemIndex) -> &'a str {
        self.job.text(room, room::KIND).unwrap_or_default()
    }

    /// Returns what a room is called.
    pub(super) fn room_name(&self, room: ItemIndex) -> String {
        self.job.text(room, room::NAME_).unwrap_or_else(|| self.job.id(room)).to_owned()
    }

    /// Returns the rooms in which something may be proposed: those that the job does not leave as they are.
    pub(super) fn rooms(&self) -> Vec<ItemIndex> {
        self.new_rooms.clone()
    }

    pub(super) fn all_rooms(&self) -> &'a [ItemIndex] {
        self.of(room::NAME)
    }

    pub(super) fn outline(&self, room: ItemIndex) -> Option<Outline> {
        outline(&self.ctx, room).ok()
    }

    pub(super) fn amount(&self, item: ItemIndex, field: FieldId) -> Option<i64> {
        self.job.quantity(item, field).map(Quantity::amount)
    }

    /// Returns a free id: the first of `stem-1`, `stem-2`, ….
    pub(super) fn fresh(&mut self, stem: &str) -> String {
        let mut number = 1_usize;
        loop {
            let id = format!("{stem}-{number}");
            let free = self.is_free(&id) && ["R", "S1", "L", "A"].iter().all(|end| self.is_free(&format!("{id}{end}")));
            if free {
                self.taken.insert(id.clone());
                return id;
            }
            number += 1;
        }
    }

    /// Takes an id if it is free.
    pub(super) fn take(&mut self, id: &str) -> bool {
        self.is_free(id) && self.taken.insert(id.to_owned())
    }

    fn is_free(&self, id: &str) -> bool {
        self.job.find(id).is_none() && !self.taken.contains(id)
    }

    pub(super) fn push(&mut self, item: Proposed) {
        self.items.push(item);
    }
}
