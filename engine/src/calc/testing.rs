//! Jobs and codes for the tests of calculations.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::code::{Clause, Code, Datum, Match};
use crate::model::{
    Cell, Default, FieldId, Filled, ItemIndex, Job, JobBuilder, KindId, Schema, Symbols, Type, is_doubtful,
};
use crate::quantity::{CableMake, Quantity, parse, parse_any};
use crate::source::{Files, Span};

/// A code made of text in the form of the code files.
#[derive(Debug, std::default::Default)]
pub(crate) struct Tables {
    entries: BTreeMap<String, Entry>,
}

#[derive(Debug)]
struct Entry {
    cites: String,
    value: Value,
}

#[derive(Debug)]
enum Value {
    One(Word),
    List(Vec<Word>),
    Rows(Vec<(Word, Word)>),
}

#[derive(Clone, Debug, PartialEq)]
enum Word {
    Quantity(Quantity),
    Flag(bool),
    Text(String),
}

impl Word {
    fn of(value: &toml::Value) -> Word {
        match value {
            toml::Value::String(text) => Word::text(text),
            toml::Value::Integer(n) => Word::Quantity(Quantity::number(*n)),
            toml::Value::Float(x) => Word::text(&x.to_string()),
            toml::Value::Boolean(flag) => Word::Flag(*flag),
            other => panic!("no value of the code: {other}"),
        }
    }

    fn text(text: &str) -> Word {
        parse_any(text).map_or_else(|| Word::Text(text.into()), Word::Quantity)
    }

    fn datum(&self) -> Datum<'_> {
        match self {
            Word::Quantity(quantity) => Datum::Quantity(*quantity),
            Word::Flag(flag) => Datum::Flag(*flag),
            Word::Text(text) => Datum::Text(text),
        }
    }

    fn key(&self) -> (i64, &str) {
        match self {
            Word::Quantity(quantity) => (quantity.amount(), ""),
            Word::Flag(flag) => (i64::from(*flag), ""),
            Word::Text(text) => (0, text),
        }
    }
}

impl Tables {
    /// Returns a code of these texts; later ones replace entries of earlier ones.
    pub(crate) fn of(texts: &[&str]) -> Tables {
        let mut tables = Tables::default();
        for text in texts {
            let table: toml::Table = text.parse().unwrap();
            tables.read("", &table);
        }
        tables
    }

    /// Returns the shipped code files of the model code of 2020 that calculations read.
    pub(crate) fn shipped() -> Tables {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../rulesets/us/model-2020/code");
        let mut names: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        names.sort();
        let texts: Vec<String> = names.iter().map(|name| std::fs::read_to_string(name).unwrap()).collect();
        Tables::of(&texts.iter().map(String::as_str).collect::<Vec<_>>())
    }

    /// Returns the same code with entries replaced.
    pub(crate) fn with(mut self, text: &str) -> Tables {
        self.read("", &text.parse().unwrap());
        self
    }

    /// Returns the same code without an entry.
    pub(crate) fn without(mut self, key: &str) -> Tables {
        assert!(self.entries.remove(key).is_some(), "{key}");
        self
    }

    fn read(&mut self, prefix: &str, table: &toml::Table) {
        let cites = table.get("cites").and_then(toml::Value::as_str).unwrap_or("").to_string();
        let value = if let Some(value) = table.get("value") {
            Value::One(Word::of(value))
        } else if let Some(toml::Value::Array(list)) = table.get("list") {
            Value::List(list.iter().map(Word::of).collect())
        } else if let Some(toml::Value::Table(rows)) = table.get("rows") {
            let mut rows: Vec<_> = rows.iter().map(|(key, value)| (Word::text(key), Word::of(value))).collect();
            rows.sort_by(|a, b| a.0.key().cmp(&b.0.key()));
            Value::Rows(rows)
        } else {
            for (name, inner) in table {
                if let toml::Value::Table(inner) = inner {
                    self.read(&if prefix.is_empty() { name.clone() } else { format!("{prefix}.{name}") }, inner);
                }
            }
            return;
        };
        self.entries.insert(prefix.to_string(), Entry { cites, value });
    }
}

impl Code for Tables {
    fn scalar(&self, key: &str) -> Option<Clause<'_>> {
        let entry = self.entries.get(key)?;
        let Value::One(word) = &entry.value else { return None };
        Some(Clause { datum: word.datum(), cite: &entry.cites, span: Span::NONE })
    }

    fn list(&self, key: &str) -> Option<Vec<Clause<'_>>> {
        let entry = self.entries.get(key)?;
        let Value::List(list) = &entry.value else { return None };
        Some(list.iter().map(|word| Clause { datum: word.datum(), cite: &entry.cites, span: Span::NONE }).collect())
    }

    fn row(&self, key: &str, at: Datum<'_>, how: Match) -> Option<Option<Clause<'_>>> {
        let entry = self.entries.get(key)?;
        let Value::Rows(rows) = &entry.value else { return None };
        let row = match at {
            Datum::Quantity(at) => {
                let alike = rows.iter().filter_map(|(key, value)| match key {
                    Word::Quantity(key) if key.dimension() == at.dimension() => Some((key.amount(), value)),
                    _ => None,
                });
                match how {
                    Match::Exact => alike.into_iter().find(|(key, _)| *key == at.amount()),
                    Match::AtOrAbove => alike.into_iter().find(|(key, _)| *key >= at.amount()),
                    Match::AtOrBelow => alike.into_iter().rfind(|(key, _)| *key <= at.amount()),
                }
                .map(|(_, value)| value)
            }
            Datum::Text(at) => rows.iter().find(|(key, _)| *key == Word::Text(at.into())).map(|(_, value)| value),
            Datum::Flag(_) => None,
        };
        Some(row.map(|value| Clause { datum: value.datum(), cite: &entry.cites, span: Span::NONE }))
    }

    fn rows(&self, key: &str) -> Option<Vec<(Datum<'_>, Clause<'_>)>> {
        let entry = self.entries.get(key)?;
        let Value::Rows(rows) = &entry.value else { return None };
        Some(
            rows.iter()
                .map(|(key, value)| {
                    (key.datum(), Clause { datum: value.datum(), cite: &entry.cites, span: Span::NONE })
                })
                .collect(),
        )
    }
}

/// Builds small jobs: items by kind and id, fields by name and text.
#[derive(Debug)]
pub(crate) struct Fixture {
    builder: JobBuilder,
    next: u32,
}

impl Fixture {
    /// Returns a job with a site alone.
    pub(crate) fn new() -> Fixture {
        let builder = JobBuilder::new(Arc::new(Schema::dwelling()), Files::new(), Symbols::new());
        let mut fixture = Fixture { builder, next: 10 };
        fixture.item("site", "site", &[]);
        fixture
    }

    fn span(&mut self) -> Span {
        self.next += 10;
        Span::new(self.next, 5)
    }

    /// Adds an item.
    pub(crate) fn item(&mut self, kind: &str, id: &str, fields: &[(&str, &str)]) -> ItemIndex {
        let header = self.span();
        let kind = self.builder.job().schema.kind(kind).unwrap();
        let item = self.builder.add(kind, id, header).unwrap();
        let defaults: Vec<_> = self.builder.job().schema.spec(kind).fields.iter().map(|field| field.default).collect();
        for (at, default) in defaults.into_iter().enumerate() {
            let bits = match default {
                Default::None | Default::FlagUnless(..) => continue,
                Default::Flag(flag) => i64::from(flag),
                Default::Word(word) => i64::from(self.builder.intern(word).0),
                Default::Number(n) => Quantity::number(n).amount(),
                Default::Amount(amount) => amount,
                Default::Empty | Default::Owner => 0,
                Default::NoItem => i64::from(ItemIndex::NONE.0),
            };
            self.builder.set(item, FieldId(at as u16), Cell::raw(bits, Span::DEFAULT));
        }
        for (name, text) in fields {
            self.set(item, name, text);
        }
        let fields = self.builder.job().schema.spec(kind).fields.clone();
        for (at, field) in fields.iter().enumerate() {
            let id = FieldId(at as u16);
            if let Default::FlagUnless(flag, doubts) = field.default
                && self.builder.job().cell(item, id).is_missing()
                && !is_doubtful(doubts, self.builder.job(), item)
            {
                self.builder.set(item, id, Cell::flag(flag, Span::DEFAULT));
            }
        }
        item
    }

    /// Sets a field of an item.
    pub(crate) fn set(&mut self, item: ItemIndex, name: &str, text: &str) {
        let span = self.span();
        let kind = self.builder.job().item(item).kind;
        if name == "make" {
            let make = CableMake::parse(text).unwrap();
            self.put(item, kind, "size", Cell::quantity(make.size.to_quantity(), span));
            self.put(item, kind, "conductors", Cell::quantity(Quantity::number(make.conductors.into()), span));
            return;
        }
        if name == "at" && self.builder.job().schema.spec(kind).name == "cable_end" {
            let target = self.builder.job().find(text).unwrap_or_else(|| panic!("no item {text}"));
            let name = self.builder.job().schema.spec(self.builder.job().item(target).kind).name;
            for other in ["box", "panel", "luminaire", "appliance"] {
                let cell = if other == name { Cell::item(target, span) } else { Cell::no_item(span) };
                self.put(item, kind, other, cell);
            }
            return;
        }
        let schema = Arc::clone(&self.builder.job().schema);
        let field = schema.field(kind, name).unwrap_or_else(|| panic!("no field {name}"));
        let cell = self.value(&schema.field_spec(kind, field).ty, text, span);
        self.builder.set(item, field, cell);
    }

    /// Returns the item with an id.
    pub(crate) fn find(&self, id: &str) -> ItemIndex {
        self.builder.job().find(id).unwrap_or_else(|| panic!("no item {id}"))
    }

    fn value(&mut self, ty: &Type, text: &str, span: Span) -> Cell {
        match ty {
            Type::Flag => Cell::flag(text == "true", span),
            Type::Text | Type::Word(_) => Cell::text(self.builder.intern(text), span),
            Type::Quantity(dimension) => Cell::quantity(parse(text, *dimension).unwrap(), span),
            Type::Item(_) if text == "none" => Cell::no_item(span),
            Type::Item(_) => {
                Cell::item(self.builder.job().find(text).unwrap_or_else(|| panic!("no item {text}")), span)
            }
            Type::List(inner) => {
                let cells: Vec<Cell> = text.split(", ").map(|part| self.value(inner, part, span)).collect();
                let list = self.builder.list(&cells);
                Cell::list(list, span)
            }
        }
    }

    fn put(&mut self, item: ItemIndex, kind: KindId, name: &str, cell: Cell) {
        let field = self.builder.job().schema.field(kind, name).unwrap();
        self.builder.set(item, field, cell);
    }

    /// Adds a rectangular room with walls `ID/north`, `/east`, `/south`, `/west`.
    pub(crate) fn room(&mut self, id: &str, kind: &str, length: &str, width: &str) -> ItemIndex {
        let room = self.item("room", id, &[("kind", kind), ("length", length), ("width", width)]);
        for (name, size) in [("north", length), ("east", width), ("south", length), ("west", width)] {
            self.item("wall", &format!("{id}/{name}"), &[("room", id), ("length", size)]);
        }
        room
    }

    /// Adds a cable between two boxes or panels.
    pub(crate) fn cable(&mut self, id: &str, make: &str, from: &str, to: &str, fields: &[(&str, &str)]) -> ItemIndex {
        let cable = self.item("cable", id, &[("make", make)]);
        for (name, text) in fields {
            self.set(cable, name, text);
        }
        for (side, at) in [("from", from), ("to", to)] {
            self.item("cable_end", &format!("{id}/{side}"), &[("cable", id), ("side", side), ("at", at)]);
        }
        cable
    }

    /// Returns the job with its inverse lists.
    pub(crate) fn job(mut self) -> Job {
        let schema = Arc::clone(&self.builder.job().schema);
        let mut lists = Vec::new();
        for (kind, spec) in schema.kinds() {
            for (at, field) in spec.fields.iter().enumerate() {
                let Filled::Inverse { kind: of, via } = field.filled else { continue };
                let of = schema.kind(of).unwrap();
                for &item in self.builder.job().of_kind(kind) {
                    let job = self.builder.job();
                    let refers = |other: &&ItemIndex| {
                        let Some(via) = schema.field(of, via) else { return true };
                        let cell = job.cell(**other, via);
                        match schema.field_spec(of, via).ty {
                            Type::List(_) => job.links(**other, via).any(|to| to == item),
                            _ => cell.linked() == Some(item),
                        }
                    };
                    let span = job.item(item).header;
                    let cells: Vec<Cell> =
                        job.of_kind(of).iter().filter(refers).map(|&other| Cell::item(other, span)).collect();
                    lists.push((item, FieldId(at as u16), cells, span));
                }
            }
        }
        for (item, field, cells, span) in lists {
            let range = self.builder.list(&cells);
            self.builder.set(item, field, Cell::list(range, span));
        }
        self.builder.finish()
    }
}
