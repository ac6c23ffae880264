//! References of items to each other, and the rooms that follow from them.

use super::loader::Loader;
use super::noted::{Link, Names};
use super::shape::Taker;
use super::words::{a, or, said, short, suggestion};
use crate::model::{Cell, FieldId, ItemIndex, KindId};
use crate::problem::Problem;
use crate::source::Span;

impl<'a> Loader<'a> {
    /// Looks up all written references, and finds the rooms of items that do not state theirs.
    pub(super) fn resolve_links(&mut self) {
        // Names local to a room need the room, which may itself be known from a reference.
        let links = std::mem::take(&mut self.links);
        let (known, local): (Vec<_>, Vec<_>) = links.into_iter().partition(|link| self.is_exact(link));
        known.iter().for_each(|link| self.resolve(link));
        self.fill_rooms();
        local.iter().for_each(|link| self.resolve(link));
        self.fill_rooms();
    }

    fn is_exact(&self, link: &Link<'a>) -> bool {
        let takers = self.takers(link.item, link.field);
        let fits = |item: ItemIndex| takers.iter().any(|taker| taker.kind == self.kind_of(item));
        link.names.all().iter().all(|(name, _)| self.builder.job().find(name).is_some_and(fits))
    }

    /// Looks up the references of one field.
    pub(super) fn resolve(&mut self, link: &Link<'a>) {
        let takers = self.takers(link.item, link.field);
        let names = match &link.names {
            Names::One((name, span)) => {
                if let Some(target) = self.target(name, *span, takers, link) {
                    let kind = self.kind_of(target);
                    // What is at a panel is at no box: the fields for other kinds are none.
                    for taker in takers {
                        let cell = if taker.kind == kind { Cell::item(target, *span) } else { Cell::no_item(*span) };
                        self.builder.set(link.item, taker.field, cell);
                    }
                }
                return;
            }
            Names::List(names) => names,
            Names::Nothing(span) => {
                takers.iter().for_each(|taker| self.builder.set(link.item, taker.field, Cell::no_item(*span)));
                return;
            }
        };
        let mut found = Vec::with_capacity(names.len());
        for &(name, span) in names {
            found.extend(self.target(name, span, takers, link).map(|item| (item, span)));
        }
        // Every list behind the key is recorded, be it empty: nothing else of that kind was named.
        for taker in takers {
            let of_kind = found.iter().filter(|(target, _)| self.kind_of(*target) == taker.kind);
            let cells: Vec<Cell> = of_kind.map(|&(target, span)| Cell::item(target, span)).collect();
            let list = self.builder.list(&cells);
            self.builder.set(link.item, taker.field, Cell::list(list, link.span));
        }
    }

    fn target(&mut self, name: &str, span: Span, takers: &[Taker], link: &Link<'a>) -> Option<ItemIndex> {
        match self.find(name, span, takers, link.item) {
            Ok(item) => Some(item),
            Err(problem) => {
                self.faulty.insert((link.item, link.field));
                self.consequence(problem);
                None
            }
        }
    }

    /// Returns the fields that a written reference may fill.
    fn takers(&self, item: ItemIndex, field: FieldId) -> &'a [Taker] {
        &self.shape.field(self.kind_of(item), field).takers
    }

    /// Returns the item that a name means where `from` says it: the item with that id, or one so named in the room or item around.
    fn find(&mut self, name: &str, span: Span, takers: &[Taker], from: ItemIndex) -> Result<ItemIndex, Problem> {
        let fits = |loader: &Loader<'a>, item: ItemIndex| takers.iter().any(|taker| taker.kind == loader.kind_of(item));
        let exact = self.builder.job().find(name);
        if let Some(item) = exact.filter(|&item| fits(self, item)) {
            return Ok(item);
        }
        let mut scope = self.room_of(from);
        let mut around = self.origin(from).and_then(|origin| origin.parent);
        while let Some(outer) = scope.or(around) {
            if let Some(item) = self.find_in(outer, name).filter(|&item| fits(self, item)) {
                return Ok(item);
            }
            if scope.take().is_none() {
                around = self.origin(outer).and_then(|origin| origin.parent);
            }
        }
        let wanted: Vec<KindId> = takers.iter().map(|taker| taker.kind).collect();
        match exact {
            Some(other) => Err(self.wrong_kind(name, span, other, &wanted)),
            None => Err(self.dangling(name, span, &wanted, from)),
        }
    }

    fn find_in(&self, outer: ItemIndex, name: &str) -> Option<ItemIndex> {
        let job = self.builder.job();
        let named = self.aliases.get(&(outer, name)).copied();
        named.or_else(|| job.find(&format!("{}/{name}", job.id(outer))))
    }

    fn origin(&self, item: ItemIndex) -> Option<super::loader::Origin> {
        self.origins.get(item.0 as usize).copied()
    }

    /// Says that an id belongs to an item of another kind.
    pub(super) fn wrong_kind(&self, name: &str, span: Span, other: ItemIndex, wanted: &[KindId]) -> Problem {
        let spec = |kind: &KindId| self.shape.schema.spec(*kind);
        let due: Vec<String> = wanted.iter().map(|kind| a(spec(kind))).collect();
        let is = a(spec(&self.kind_of(other)));
        let at = self.origin(other).map_or(Span::NONE, |origin| origin.id);
        let problem =
            Problem::new(span, format!("`{}` is {is}, not {}", short(name), or(&due))).label(format!("names {is}"));
        problem.mark(at, format!("{is}, defined here")).help(format!("write the id of {}", or(&due)))
    }

    /// Says that nothing has an id, and what may have been meant.
    pub(super) fn dangling(&mut self, name: &str, span: Span, wanted: &[KindId], from: ItemIndex) -> Problem {
        let kinds: Vec<String> = wanted.iter().map(|&kind| said(self.shape.schema.spec(kind))).collect();
        let what = if kinds.is_empty() || kinds.len() > 3 { String::from("item") } else { or(&kinds) };
        let problem = Problem::new(span, format!("there is no {what} `{}`", short(name))).label("nothing has this id");
        match self.nearest_id(name, wanted, from) {
            Some(help) => problem.help(help),
            None => problem.help("write the id of an item that is in the job"),
        }
    }

    fn nearest_id(&mut self, name: &str, wanted: &[KindId], from: ItemIndex) -> Option<String> {
        let job = self.builder.job();
        let mut kinds: Vec<KindId> = wanted.to_vec();
        if kinds.is_empty() {
            kinds = self.shape.schema.kinds().map(|(kind, _)| kind).collect();
        }
        let room = self.room_of(from);
        let mut known = Vec::new();
        for item in kinds.iter().flat_map(|&kind| job.of_kind(kind)).copied() {
            if known.len() >= self.comparisons {
                return None;
            }
            let id = job.id(item);
            // An id that is only made up for an item without one is no help.
            if id.contains('\0') {
                continue;
            }
            // What lies in the same room is said by its name there.
            let local = room
                .filter(|_| self.origin(item).is_some_and(|origin| origin.parent == room))
                .and_then(|room| id.strip_prefix(job.id(room))?.strip_prefix('/'));
            known.extend([local.unwrap_or(id)].into_iter().filter(|id| id.len() <= 64));
        }
        let help = suggestion(name, known.iter().copied());
        let compared = known.len();
        self.comparisons -= compared;
        help
    }

    /// Returns the room an item is in, as far as it is known by now.
    pub(super) fn room_of(&self, item: ItemIndex) -> Option<ItemIndex> {
        self.room_cell(item).and_then(Cell::linked)
    }

    /// Returns an item's room, and where it is written.
    fn room_cell(&self, item: ItemIndex) -> Option<Cell> {
        let kind = self.kind_of(item);
        if self.shape.room == Some(kind) {
            return Some(Cell::item(item, self.builder.job().item(item).header));
        }
        let shape = self.shape.kind(kind);
        let written = |field: FieldId| Some(self.cell(item, field)).filter(|cell| !cell.is_missing());
        if let Some(room) = shape.room.and_then(written) {
            return Some(room);
        }
        shape.room_by.iter().find_map(|&field| {
            let by = written(field)?;
            let holder = by.linked()?;
            // A box, a wall, a counter: each knows its room without going through its own kind again.
            let around = (self.kind_of(holder) != kind).then(|| self.room_of(holder))??;
            Some(Cell::item(around, by.span()))
        })
    }

    /// Fills the `room` of items whose box, wall or counter tells it.
    pub(super) fn fill_rooms(&mut self) {
        for at in 0..self.origins.len() as u32 {
            let item = ItemIndex(at);
            let Some(field) = self.shape.kind(self.kind_of(item)).room else { continue };
            if self.cell(item, field).is_missing()
                && let Some(room) = self.room_cell(item)
            {
                self.builder.set(item, field, room);
            }
        }
    }

    /// Fills the circuits of a job with a single panel, and holds rooms and walls against each other.
    pub(super) fn check_places(&mut self) {
        self.fill_panels();
        let Some(wall_kind) = self.shape.wall else { return };
        for at in 0..self.origins.len() as u32 {
            let item = ItemIndex(at);
            let kind = self.kind_of(item);
            let shape = self.shape.kind(kind);
            let (Some(room_field), Some(wall_field)) = (shape.room, shape.wall) else { continue };
            let (room, wall) = (self.cell(item, room_field), self.cell(item, wall_field));
            let (Some(own_room), Some(own_wall)) = (room.linked(), wall.linked()) else { continue };
            if kind == wall_kind {
                continue;
            }
            let other = self.room_of(own_wall);
            if other.is_some_and(|other| other != own_room) {
                let message = format!("{} is in {}, but its wall is not", self.called(item), self.called(own_room));
                let problem = Problem::new(wall.span(), message).label(self.called(own_wall));
                let problem = problem.mark(room.span(), "its room");
                self.consequence(problem.help("name a wall of that room, or another room"));
            }
        }
    }

    fn fill_panels(&mut self) {
        let schema = self.shape.schema;
        let (Some(circuit), Some(panel)) = (schema.kind("circuit"), schema.kind("panel")) else { return };
        let &[only] = self.builder.job().of_kind(panel) else { return };
        let Some(field) = schema.field(circuit, "panel") else { return };
        let span = self.builder.job().item(only).header;
        for item in self.builder.job().of_kind(circuit).to_vec() {
            if self.cell(item, field).is_missing() && !self.faulty.contains(&(item, field)) {
                self.builder.set(item, field, Cell::item(only, span));
            }
        }
    }
}
