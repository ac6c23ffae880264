//! Defaults: values that hold for all items of a kind, of the job, of a room or of a shop.

use toml::de::{DeTable, DeValue};

use super::document::{At, Key, Part, Parts};
use super::loader::Loader;
use super::noted::{Defaults, Entry, Form, Levels, Link, OfKind, Value};
use super::shape::KeyRole;
use super::words::{a, said, short, suggestion};
use crate::model::{Cell, Default, FieldId, FieldSpec, Filled, ItemIndex, KindId, KindSpec, Symbol, Type, is_doubtful};
use crate::problem::Problem;
use crate::quantity::Quantity;
use crate::source::{File, Span};

/// Optional keys of the site that decide which code is in force: they are read before any default.
const DECIDING: &[&str] = &["application_date", "purchase_date", "manufacture_date", "edition", "shop", "accessible"];

/// Returns whether a field belongs to the one job and is no habit of a shop or a room.
pub(crate) fn belongs_to_the_job(kind: &KindSpec, field: &FieldSpec) -> bool {
    let required = matches!(field.filled, Filled::Written { required: true, .. });
    kind.name == "site" && (required || DECIDING.contains(&field.name))
}

impl<'a> Loader<'a> {
    /// Reads the defaults of the job and of the shop.
    pub(super) fn read_defaults(&mut self, parts: &[Part<'a>], shop: Option<Part<'a>>) {
        for part in parts.iter().rev() {
            if let Some(value) = part.table.get("defaults") {
                let defaults = self.defaults_table(part.at(value), false);
                self.levels.general.extend(defaults);
            }
        }
        if let Some(shop) = shop {
            let defaults = self.defaults_of(shop.table, shop.file, false);
            self.levels.general.push(defaults);
        }
    }

    /// Reads `[room.defaults]`.
    pub(super) fn read_room_defaults(&mut self, room: ItemIndex, parts: &Parts<'a>) {
        let tables: Vec<At<'a>> =
            parts.iter().rev().filter_map(|part| part.table.get("defaults").map(|value| part.at(value))).collect();
        let read: Vec<Defaults<'a>> = tables.into_iter().filter_map(|at| self.defaults_table(at, true)).collect();
        if !read.is_empty() {
            self.levels.rooms.insert(room, read);
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
            if shape.one_of.contains(&field)
                && let Some((other, span)) = one_of.replace((key.text, at.span()))
            {
                let whose = a(self.shape.schema.spec(kind));
                let message = format!("the default of {whose} has both `{other}` and `{}`", key.text);
                let problem = Problem::new(at.span(), message).label("says it a second time");
                self.problem(problem.mark(span, "first said here").help("keep one of them"));
                continue;
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
                if belongs_to_the_job(spec, self.shape.schema.field_spec(kind, field)) {
                    let help = String::from("write it under `[site]`");
                    return refuse(
                        format!("`{}` belongs to the one job and can't have a default", key.text),
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
        let formats: Vec<Vec<(FieldId, Cell)>> =
            self.shape.schema.kinds().map(|(kind, _)| kind).map(|kind| self.format_defaults(kind)).collect();
        let levels = std::mem::take(&mut self.levels);
        for at in 0..self.origins.len() as u32 {
            let item = ItemIndex(at);
            let formats = formats.get(self.kind_of(item).0 as usize).map_or(&[][..], Vec::as_slice);
            self.fill_item(item, &levels, formats);
        }
        self.levels = levels;
        self.fill_rooms();
    }

    fn fill_item(&mut self, item: ItemIndex, levels: &Levels<'a>, formats: &[(FieldId, Cell)]) {
        let kind = self.kind_of(item);
        // Boxes come before the devices in them: their rooms are known by now, even from a default.
        if let Some(field) = self.shape.kind(kind).room
            && self.room_of(item).is_none()
            && let Some(value) = self.default_value(item, field, levels)
        {
            self.fill(item, field, value);
        }
        let room = self.room_of(item);
        let word = self.selector_word(item, room, levels);
        for entry in levels.of(room, kind).flat_map(|of_kind| of_kind.entries(word)) {
            self.fill(item, entry.field, &entry.value);
        }
        for &(field, cell) in formats {
            if self.cell(item, field).is_missing() && !self.is_doubtful(item, field) {
                self.builder.set(item, field, cell);
            }
        }
    }

    /// Returns whether something else that is known of an item makes the default of a field doubtful.
    fn is_doubtful(&self, item: ItemIndex, field: FieldId) -> bool {
        match self.shape.schema.field_spec(self.kind_of(item), field).default {
            Default::FlagUnless(_, doubts) => is_doubtful(doubts, self.builder.job(), item),
            _ => false,
        }
    }

    /// Puts a default into a field that nothing has filled yet.
    fn fill(&mut self, item: ItemIndex, field: FieldId, value: &Value<'a>) {
        let is_open = |field: FieldId| self.cell(item, field).is_missing() && !self.faulty.contains(&(item, field));
        let group = &self.shape.kind(self.kind_of(item)).one_of;
        let open = if group.contains(&field) { group.iter().all(|&field| is_open(field)) } else { is_open(field) };
        if !open {
            return;
        }
        match value.clone() {
            Value::Names { names, span, cell } => {
                if let Some(cell) = cell {
                    self.builder.set(item, field, cell);
                }
                self.resolve(&Link { item, field, names, span });
            }
            value => self.store(item, field, value),
        }
    }

    /// Returns the word that picks an item's defaults: its own, or one that is itself a default.
    fn selector_word(&self, item: ItemIndex, room: Option<ItemIndex>, levels: &Levels<'a>) -> Option<Symbol> {
        let kind = self.kind_of(item);
        let field = self.shape.kind(kind).selector?;
        let cell = self.cell(item, field);
        if !cell.is_missing() {
            return Some(cell.to_symbol());
        }
        let found = levels.of(room, kind).flat_map(|of_kind| &of_kind.all).find(|entry| entry.field == field);
        if let Some(Entry { value: Value::Cell(cell), .. }) = found {
            return Some(cell.to_symbol());
        }
        match self.shape.schema.field_spec(kind, field).default {
            Default::Word(word) => self.builder.job().symbols.find(word),
            _ => None,
        }
    }

    /// Returns the default of the job or the shop for a field of an item.
    fn default_value<'l>(&self, item: ItemIndex, field: FieldId, levels: &'l Levels<'a>) -> Option<&'l Value<'a>> {
        let word = self.selector_word(item, None, levels);
        let mut entries = levels.of(None, self.kind_of(item)).flat_map(|of_kind| of_kind.entries(word));
        entries.find(|entry| entry.field == field).map(|entry| &entry.value)
    }

    /// Returns the default of the job or the shop for a field of an item, where it is a plain value.
    pub(super) fn default_cell(&self, item: ItemIndex, field: FieldId) -> Option<Cell> {
        match self.default_value(item, field, &self.levels) {
            Some(Value::Cell(cell)) => Some(*cell),
            _ => None,
        }
    }

    fn format_defaults(&mut self, kind: KindId) -> Vec<(FieldId, Cell)> {
        let mut cells = Vec::new();
        for (at, field) in self.shape.schema.spec(kind).fields.iter().enumerate() {
            let span = Span::DEFAULT;
            let cell = match field.default {
                // What belongs to what is not known yet.
                Default::None | Default::Owner => continue,
                Default::Flag(value) | Default::FlagUnless(value, _) => Cell::flag(value, span),
                Default::Word(word) => Cell::text(self.builder.intern(word), span),
                Default::Number(number) => Cell::quantity(Quantity::number(number), span),
                Default::Amount(amount) => Cell::raw(amount, span),
                Default::Empty => Cell::list(self.builder.list(&[]), span),
                Default::NoItem => Cell::no_item(span),
            };
            cells.push((FieldId(at as u16), cell));
        }
        cells
    }
}
