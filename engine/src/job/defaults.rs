//! Defaults: values that hold for all items of a kind, of the job, of a room or of a shop.

use toml::de::{DeTable, DeValue};

use super::document::{At, Key, Part, Parts};
use super::links::Link;
use super::loader::Loader;
use super::shape::KeyRole;
use super::value::{Form, Value};
use super::words::{a, said, short, suggestion};
use crate::model::{Cell, Default, FieldId, ItemIndex, KindId, Symbol, Type};
use crate::problem::Problem;
use crate::quantity::Quantity;
use crate::source::{File, Span};

/// The defaults of one `[defaults]` table, by kind.
#[derive(Default)]
pub(super) struct Defaults<'a> {
    kinds: Vec<Option<OfKind<'a>>>,
}

/// Defaults of a kind: for all its items, and for those with a certain word in the field that selects.
#[derive(Default)]
struct OfKind<'a> {
    all: Vec<Entry<'a>>,
    by_word: Vec<(Symbol, Vec<Entry<'a>>)>,
}

#[derive(Clone)]
struct Entry<'a> {
    field: FieldId,
    value: Value<'a>,
}

/// Keys of the site that decide which code is in force: they are read before any default.
const DECIDING: &[&str] = &[
    "permit_date",
    "application_date",
    "purchase_date",
    "manufacture_date",
    "jurisdiction",
    "edition",
    "shop",
    "accessible",
];

impl<'a> Loader<'a> {
    /// Reads the defaults of the job and of the shop.
    pub(super) fn read_defaults(&mut self, parts: &[Part<'a>], shop: Option<Part<'a>>) {
        for part in parts.iter().rev() {
            if let Some(value) = part.table.get("defaults") {
                let defaults = self.defaults_table(part.at(value), false);
                self.defaults.extend(defaults);
            }
        }
        if let Some(shop) = shop {
            let defaults = self.defaults_of(shop.table, shop.file, false);
            self.defaults.push(defaults);
        }
    }

    /// Reads `[room.defaults]`.
    pub(super) fn read_room_defaults(&mut self, room: ItemIndex, parts: &Parts<'a>) {
        let tables: Vec<At<'a>> =
            parts.iter().rev().filter_map(|part| part.table.get("defaults").map(|value| part.at(value))).collect();
        let read: Vec<Defaults<'a>> = tables.into_iter().filter_map(|at| self.defaults_table(at, true)).collect();
        if !read.is_empty() {
            self.room_defaults.insert(room, read);
        }
    }

    fn defaults_table(&mut self, at: At<'a>, in_room: bool) -> Option<Defaults<'a>> {
        match at.value.get_ref() {
            DeValue::Table(table) => Some(self.defaults_of(table, at.file, in_room)),
            _ => {
                let problem =
                    Problem::new(at.span(), format!("`defaults` wants a table, not {}", at.what())).label(at.what());
                self.problem(problem.help("write one table for each kind: `[defaults.box]`"));
                None
            }
        }
    }

    fn defaults_of(&mut self, table: &'a DeTable<'a>, file: &'a File, in_room: bool) -> Defaults<'a> {
        let schema = self.shape.schema;
        let mut defaults = Defaults { kinds: Vec::new() };
        defaults.kinds.resize_with(schema.kinds().count(), || None);
        for (key, value) in table.iter() {
            let at = At { value, file };
            let key = Key { text: key.get_ref(), span: file.span(key.span()) };
            let Some(kind) = schema.kind(key.text) else {
                let names = schema.kinds().map(|(_, spec)| spec.name).collect::<Vec<_>>();
                let problem =
                    Problem::new(key.span, format!("there is no kind `{}` to have defaults", short(key.text)))
                        .label("unknown kind");
                let help = suggestion(key.text, names.iter().copied())
                    .unwrap_or_else(|| format!("kinds are: {}", names.join(", ")));
                self.problem(problem.help(help));
                continue;
            };
            let spec = schema.spec(kind);
            if in_room && !self.shape.kind(kind).in_room {
                let problem =
                    Problem::new(key.span, format!("{} is not in a room", a(spec))).label("no default of a room");
                self.problem(problem.help(format!("write it for the whole job, under `[defaults.{}]`", spec.name)));
                continue;
            }
            let DeValue::Table(inner) = value.get_ref() else {
                let problem =
                    Problem::new(at.span(), format!("the defaults of {} want a table, not {}", a(spec), at.what()))
                        .label(at.what());
                self.problem(problem.help(format!("write `[defaults.{}]`", spec.name)));
                continue;
            };
            let of_kind = self.defaults_of_kind(kind, inner, file, in_room);
            if let Some(slot) = defaults.kinds.get_mut(kind.0 as usize) {
                *slot = Some(of_kind);
            }
        }
        defaults
    }

    fn defaults_of_kind(&mut self, kind: KindId, table: &'a DeTable<'a>, file: &'a File, in_room: bool) -> OfKind<'a> {
        let mut of_kind = OfKind { all: self.entries(kind, table, file, in_room, None), by_word: Vec::new() };
        let schema = self.shape.schema;
        let spec = schema.spec(kind);
        for (key, value) in table.iter() {
            let DeValue::Table(inner) = value.get_ref() else { continue };
            let key = Key { text: key.get_ref(), span: file.span(key.span()) };
            let selector = self.shape.kind(kind).selector;
            let words = selector.map(|field| schema.field_spec(kind, field)).and_then(|field| match field.ty {
                Type::Word(words) => Some((field.name, words)),
                _ => None,
            });
            match words {
                Some((_, words)) if words.contains(&key.text) => {
                    let entries = self.entries(kind, inner, file, in_room, selector);
                    of_kind.by_word.push((self.builder.intern(key.text), entries));
                }
                Some((name, words)) => {
                    let message = format!("`{}` is no `{name}` of {}", short(key.text), a(spec));
                    let help = suggestion(key.text, words.iter().copied())
                        .unwrap_or_else(|| format!("known here: {}", words.join(", ")));
                    self.problem(Problem::new(key.span, message).label("unknown word").help(help));
                }
                None => {
                    let problem = Problem::new(
                        key.span,
                        format!("there are no sorts of {} to have defaults of their own", said(spec)),
                    )
                    .label("a table");
                    self.problem(problem.help(format!("write the fields straight under `[defaults.{}]`", spec.name)));
                }
            }
        }
        of_kind
    }

    fn entries(
        &mut self,
        kind: KindId,
        table: &'a DeTable<'a>,
        file: &'a File,
        in_room: bool,
        word_of: Option<FieldId>,
    ) -> Vec<Entry<'a>> {
        let shape = self.shape.kind(kind);
        let mut entries = Vec::new();
        let mut one_of: Option<(&str, Span)> = None;
        for (key, value) in table.iter() {
            if matches!(value.get_ref(), DeValue::Table(_)) && word_of.is_none() {
                continue;
            }
            let at = At { value, file };
            let key = Key { text: key.get_ref(), span: file.span(key.span()) };
            let Some(field) = self.noted(self.default_field(kind, key, in_room, word_of)) else { continue };
            if shape.one_of.contains(&field) {
                if let Some((other, span)) = one_of.replace((key.text, at.span())) {
                    let problem = Problem::new(
                        at.span(),
                        format!(
                            "the default of {} has both `{other}` and `{}`",
                            a(self.shape.schema.spec(kind)),
                            key.text
                        ),
                    );
                    self.problem(
                        problem.label("says it a second time").mark(span, "first said here").help("keep one of them"),
                    );
                    continue;
                }
            }
            if let Some(value) = self.value(kind, field, at, Form::Plain) {
                entries.push(Entry { field, value });
            }
        }
        entries
    }

    /// Returns the field that a default may fill, or what is wrong with its key.
    fn default_field(
        &self,
        kind: KindId,
        key: Key<'_>,
        in_room: bool,
        word_of: Option<FieldId>,
    ) -> Result<FieldId, Problem> {
        let spec = self.shape.schema.spec(kind);
        let shape = self.shape.kind(kind);
        let refuse =
            |message: String, label: &str, help: String| Err(Problem::new(key.span, message).label(label).help(help));
        match shape.keys.get(key.text) {
            Some(&KeyRole::Field(field)) => {
                if self.shape.field(kind, field).as_built {
                    return refuse(
                        format!("`{}` of {} is seen or measured on site and can't have a default", key.text, a(spec)),
                        "as built",
                        String::from(
                            "a default is no evidence: measure it, and write it in the item or in a `[[measure]]`",
                        ),
                    );
                }
                if spec.name == "site" && DECIDING.contains(&key.text) {
                    let help = String::from("write it under `[site]`");
                    return refuse(
                        format!("`{}` decides which code is in force and can't have a default", key.text),
                        "no default",
                        help,
                    );
                }
                if word_of == Some(field) || (in_room && shape.room == Some(field)) {
                    let help = String::from("leave it out");
                    return refuse(
                        format!("`{}` is already said by where these defaults stand", key.text),
                        "said twice",
                        help,
                    );
                }
                Ok(field)
            }
            Some(KeyRole::Id | KeyRole::Nested(_) | KeyRole::Defaults) => refuse(
                format!("`{}` of {} can't have a default", key.text, a(spec)),
                "no default",
                String::from("write it in each item"),
            ),
            None => Err(self.unknown_key(kind, key, &format!("the defaults of {}", a(spec)))),
        }
    }

    /// Fills what items leave out: from their room, the job, the shop, and last from the job format itself.
    pub(super) fn apply_defaults(&mut self) {
        for at in 0..self.origins.len() as u32 {
            self.fill_item(ItemIndex(at));
        }
        self.fill_rooms();
    }

    fn fill_item(&mut self, item: ItemIndex) {
        let kind = self.kind_of(item);
        // Boxes come before the devices in them: their rooms are known by now, even from a default.
        if let Some(field) = self.shape.kind(kind).room
            && self.room_of(item).is_none()
            && let Some(value) = self.default_value(item, field)
        {
            self.fill(item, field, value);
        }
        let word = self.selector_word(item);
        let room = self.room_of(item).and_then(|room| self.room_defaults.get(&room));
        let mut entries = Vec::new();
        for of_kind in room.into_iter().flatten().chain(&self.defaults).filter_map(|defaults| defaults.of(kind)) {
            entries.extend(of_kind.entries(word).cloned());
        }
        for entry in entries {
            self.fill(item, entry.field, entry.value);
        }
        let schema = self.shape.schema;
        for (at, field) in schema.spec(kind).fields.iter().enumerate() {
            let id = FieldId(at as u16);
            if field.default != Default::None && self.cell(item, id).is_missing() {
                let cell = self.format_default(field.default);
                self.builder.set(item, id, cell);
            }
        }
    }

    /// Puts a default into a field that nothing has filled yet.
    fn fill(&mut self, item: ItemIndex, field: FieldId, value: Value<'a>) {
        let is_open = |field: FieldId| self.cell(item, field).is_missing() && !self.faulty.contains(&(item, field));
        let group = &self.shape.kind(self.kind_of(item)).one_of;
        let open = if group.contains(&field) { group.iter().all(|&field| is_open(field)) } else { is_open(field) };
        if !open {
            return;
        }
        match value {
            Value::Names { names, span, list, cell } => {
                if let Some(cell) = cell {
                    self.builder.set(item, field, cell);
                }
                self.resolve(&Link { item, field, names, span, list });
            }
            value => self.store(item, field, value),
        }
    }

    /// Returns the word that picks an item's defaults: its own, or one that is itself a default.
    fn selector_word(&self, item: ItemIndex) -> Option<Symbol> {
        let field = self.shape.kind(self.kind_of(item)).selector?;
        let cell = self.cell(item, field);
        if !cell.is_missing() {
            return Some(cell.to_symbol());
        }
        let kind = self.kind_of(item);
        let room = self.room_of(item).and_then(|room| self.room_defaults.get(&room));
        let all = room.into_iter().flatten().chain(&self.defaults).filter_map(|defaults| defaults.of(kind));
        let found = all.flat_map(|of_kind| &of_kind.all).find(|entry| entry.field == field);
        if let Some(Entry { value: Value::Cell(cell), .. }) = found {
            return Some(cell.to_symbol());
        }
        match self.shape.schema.field_spec(kind, field).default {
            Default::Word(word) => self.builder.job().symbols.find(word),
            _ => None,
        }
    }

    /// Returns the default of the job or the shop for a field of an item.
    pub(super) fn default_value(&self, item: ItemIndex, field: FieldId) -> Option<Value<'a>> {
        let kind = self.kind_of(item);
        let word = self.selector_word(item);
        let all = self.defaults.iter().filter_map(|defaults| defaults.of(kind));
        all.flat_map(|of_kind| of_kind.entries(word))
            .find(|entry| entry.field == field)
            .map(|entry| entry.value.clone())
    }

    fn format_default(&mut self, default: Default) -> Cell {
        let span = Span::DEFAULT;
        match default {
            Default::None => Cell::MISSING,
            Default::Flag(value) => Cell::flag(value, span),
            Default::Word(word) => Cell::text(self.builder.intern(word), span),
            Default::Number(number) => Cell::quantity(Quantity::number(number), span),
            Default::Amount(amount) => Cell::raw(amount, span),
            Default::Empty => Cell::list(self.builder.list(&[]), span),
        }
    }
}

impl<'a> Defaults<'a> {
    fn of(&self, kind: KindId) -> Option<&OfKind<'a>> {
        self.kinds.get(kind.0 as usize)?.as_ref()
    }
}

impl<'a> OfKind<'a> {
    /// Returns what holds for an item: that for its word stands over that for all.
    fn entries(&self, word: Option<Symbol>) -> impl Iterator<Item = &Entry<'a>> {
        let own = self.by_word.iter().filter(move |(of, _)| Some(*of) == word).flat_map(|(_, entries)| entries);
        own.chain(&self.all)
    }
}
