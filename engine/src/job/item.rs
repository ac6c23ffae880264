//! Reading items: their tables, ids, fields, and the items nested in them.

use std::collections::HashMap;

use toml::de::{DeTable, DeValue};

use super::NONE;
use super::document::{At, Key, Part, Parts};
use super::loader::{Loader, Origin};
use super::noted::Form;
use super::shape::{KeyRole, Nested};
use super::value;
use super::words::{a, short, suggestion};
use crate::model::kinds::cable_end;
use crate::model::{Cell, Filled, IdRule, ItemIndex, KindId, Nest};
use crate::problem::{Problem, Topic};
use crate::source::{File, Span};

/// What describes one item: tables, or a text that stands for one of its keys.
struct Body<'a> {
    parts: Parts<'a>,
    short: Option<(&'static str, At<'a>)>,
    header: Span,
}

/// Where an item stands.
#[derive(Clone, Copy)]
struct Standing {
    parent: Option<ItemIndex>,
    key: &'static str,
    /// Its number in its list, from 1.
    number: Option<usize>,
}

impl<'a> Loader<'a> {
    /// Reads the only item of a kind, such as `[site]`.
    pub(super) fn read_single(&mut self, kind: KindId, key: &'static str, parts: &[Part<'a>]) {
        let mut tables = Parts::default();
        let mut header = Span::NONE;
        let mut is_written = false;
        for part in parts {
            let Some(value) = part.table.get(key) else { continue };
            is_written = true;
            let at = part.at(value);
            match value.get_ref() {
                DeValue::Table(table) => tables.push(part.inside(table, at.span())),
                _ => self.problem(wants_table(key, at, &format!("write `[{key}]`"))),
            }
            header = if header.is_none() { at.span() } else { header };
        }
        if !is_written {
            header = parts.last().map_or(Span::NONE, |part| part.header);
            let required = self.required_names(kind);
            let problem = Problem::new(header, format!("there is no `[{key}]`"))
                .label(format!("no `[{key}]`"))
                .about(Topic::JobHead);
            self.consequence(problem.help(format!("add `[{key}]` with {}", required.join(", "))));
        }
        let standing = Standing { parent: None, key, number: None };
        let is_table = tables.iter().next().is_some();
        let item = self.read_item(kind, Body { parts: tables, short: None, header }, standing);
        if !is_table {
            // Said once above.
            self.faulty.extend(self.shape.kind(kind).required.iter().map(|&field| (item, field)));
        }
    }

    fn required_names(&self, kind: KindId) -> Vec<String> {
        let fields = self.shape.schema.spec(kind).fields.iter().zip(&self.shape.kind(kind).fields);
        fields.filter(|(_, shape)| shape.required).map(|(field, _)| format!("`{}`", field.name)).collect()
    }

    /// Reads all items of a kind that stands at the top, such as `[[box]]`.
    pub(super) fn read_all(&mut self, kind: KindId, key: &'static str, parts: &[Part<'a>]) {
        let mut items: Vec<Parts<'a>> = Vec::new();
        let mut by_id: HashMap<&'a str, usize> = HashMap::new();
        for part in parts {
            let Some(value) = part.table.get(key) else { continue };
            let first = items.len();
            for table in self.tables(key, &format!("[[{key}]]"), part.at(value)) {
                // A later part may lay more over an item of an earlier one.
                match id_of(&table).and_then(|id| by_id.get(id)).and_then(|&at| items.get_mut(at)) {
                    Some(earlier) => earlier.push(table),
                    None => items.push(Parts::one(table)),
                }
            }
            if parts.len() > 1 {
                for (at, item) in items.iter().enumerate().skip(first) {
                    if let Some(id) = item.iter().next().as_ref().and_then(id_of) {
                        by_id.entry(id).or_insert(at);
                    }
                }
            }
        }
        for (at, parts) in items.into_iter().enumerate() {
            let header = parts.iter().next().map_or(Span::NONE, |part| part.header);
            let standing = Standing { parent: None, key, number: Some(at + 1) };
            self.read_item(kind, Body { parts, short: None, header }, standing);
        }
    }

    /// Returns the tables of a list of tables. A single table or anything else is a problem.
    fn tables(&mut self, key: &str, header: &str, at: At<'a>) -> Vec<Part<'a>> {
        let help = format!("write each as a table of its own under `{header}`");
        match at.value.get_ref() {
            DeValue::Array(array) => {
                let mut tables = Vec::with_capacity(array.len());
                for value in array.iter() {
                    let at = At { value, file: at.file };
                    match value.get_ref() {
                        DeValue::Table(table) => tables.push(part(table, at.file, at.span())),
                        _ => self.problem(wants_table(key, at, &help)),
                    }
                }
                tables
            }
            DeValue::Table(table) => {
                let problem = Problem::new(at.span(), format!("`{key}` is a list of tables")).label("one table");
                self.problem(problem.help(format!("write `{header}`, with two brackets on either side")));
                vec![part(table, at.file, at.span())]
            }
            _ => {
                let problem = Problem::new(at.span(), format!("`{key}` wants a list of tables, not {}", at.what()));
                self.problem(problem.label(at.what()).help(help));
                Vec::new()
            }
        }
    }

    fn read_item(&mut self, kind: KindId, body: Body<'a>, standing: Standing) -> ItemIndex {
        let shape = self.shape.kind(kind);
        let item = self.add_item(kind, &body, standing);
        if let (Some(field), Some(parent)) = (shape.parent, standing.parent) {
            self.builder.set(item, field, Cell::item(parent, body.header));
        }
        if let Some(field) = shape.side {
            let side = self.builder.intern(standing.key);
            self.builder.set(item, field, Cell::text(side, body.header));
        }
        if let Some((key, at)) = body.short {
            self.read_key(item, kind, Key { text: key, span: at.span() }, at);
        }
        for (key, at) in body.parts.entries() {
            self.read_key(item, kind, key, at);
        }
        self.check_one_of(item, kind);
        for nested in &shape.nested {
            self.read_nested(item, kind, nested, &body.parts);
        }
        if self.shape.room == Some(kind) {
            self.read_room_defaults(item, &body.parts);
            let has_walls = shape
                .nested
                .iter()
                .any(|nested| Some(nested.kind) == self.shape.wall && body.parts.get(nested.key).is_some());
            if !has_walls {
                self.make_walls(item);
            }
        }
        item
    }

    fn add_item(&mut self, kind: KindId, body: &Body<'a>, standing: Standing) -> ItemIndex {
        let spec = self.shape.schema.spec(kind);
        let written = match spec.id {
            IdRule::Only => None,
            IdRule::Required | IdRule::Made => body.parts.get("id"),
        };
        let id = written.and_then(|at| self.noted(own_id("id", at)).map(|id| (id, at.span())));
        let parent = standing.parent;
        let named = self.shape.kind(kind).name.and_then(|_| body.parts.get("name"));
        // Inside another item the name is what references say.
        if let Some(at) = named.filter(|at| parent.is_some() && at.text() == Some(NONE)) {
            self.problem(no_id("name", at));
        }
        let name = named.and_then(|at| at.text());
        let name = name.filter(|name| !name.is_empty() && !name.contains(char::is_control));
        if let Some((id, span)) = id {
            let item = self.add(kind, id, body.header, Origin { id: span, parent });
            if let (Some(parent), Some(name)) = (parent, name) {
                self.aliases.insert((parent, name), item);
            }
            return item;
        }
        let made = match (spec.id, parent, standing.number) {
            (IdRule::Only, ..) => String::from(spec.name),
            (_, Some(parent), number) => match (name, number) {
                (Some(name), _) => format!("{}/{name}", self.builder.job().id(parent)),
                (None, Some(number)) => format!("{}/{}-{number}", self.builder.job().id(parent), standing.key),
                (None, None) => format!("{}/{}", self.builder.job().id(parent), standing.key),
            },
            (_, None, number) => format!("{}-{}", spec.name, number.unwrap_or(1)),
        };
        let named = self.shape.kind(kind).name.and_then(|_| body.parts.get("name")).map(|at| at.span());
        let origin = Origin { id: named.filter(|_| parent.is_some()).unwrap_or(body.header), parent };
        if spec.id != IdRule::Required {
            return self.add(kind, &made, body.header, origin);
        }
        if written.is_none() {
            let problem = Problem::new(body.header, format!("{} has no `id`", a(spec))).label("no `id`");
            self.consequence(problem.help("add an `id` that nothing else in the job has, such as `id = \"B1\"`"));
        }
        // Read on, to tell of everything else that is wrong.
        self.add(kind, &format!("{made}\0"), body.header, origin)
    }

    /// Adds an item. A second bearer of an id is a problem, and is read on under an id that nobody can write.
    pub(super) fn add(&mut self, kind: KindId, id: &str, header: Span, origin: Origin) -> ItemIndex {
        let added = self.builder.add(kind, id, header).or_else(|other| {
            let first = self.origins.get(other.0 as usize).map_or(Span::NONE, |origin| origin.id);
            let problem =
                Problem::new(origin.id, format!("id `{}` is given twice", short(self.id(other)))).label("second time");
            let problem = problem.mark(first, format!("first: {}", self.called(other)));
            self.problem(problem.help("every id stands for one thing in the whole job; give one of them another"));
            self.builder.add(kind, &format!("{id}\0{}", self.origins.len()), header)
        });
        // Two items can't both be number so-and-so, so that the second id is always free.
        let item = added.unwrap_or_else(|other| other);
        self.origins.push(origin);
        item
    }

    fn read_key(&mut self, item: ItemIndex, kind: KindId, key: Key<'a>, at: At<'a>) {
        match self.shape.kind(kind).keys.get(key.text) {
            Some(KeyRole::Id | KeyRole::Nested(_) | KeyRole::Defaults) => {}
            Some(&KeyRole::Field(field)) => {
                if self.is_measured_value(kind, field) {
                    self.read_measured_value(item, field, at);
                    return;
                }
                match self.value(kind, field, at, Form::Plain) {
                    Some(value) => self.store(item, field, value),
                    None => {
                        self.faulty.insert((item, field));
                    }
                }
            }
            None => {
                let problem = self.unknown_key(kind, key, &self.called(item));
                self.problem(problem);
            }
        }
    }

    /// Says what is wrong with a key that can't be written.
    pub(super) fn unknown_key(&self, kind: KindId, key: Key<'_>, whose: &str) -> Problem {
        let spec = self.shape.schema.spec(kind);
        let name = short(key.text);
        if let Some(field) =
            self.shape.schema.field(kind, key.text).map(|field| self.shape.schema.field_spec(kind, field))
        {
            let (message, help) = match &field.filled {
                Filled::Derived => (format!("`{name}` of {} is computed", a(spec)), String::from("leave it out")),
                Filled::By(by) => (format!("`{name}` of {} is taken from `{by}`", a(spec)), format!("write `{by}`")),
                Filled::Inverse { kind, via: "" } => {
                    (format!("`{name}` lists every {kind}"), String::from("leave it out"))
                }
                Filled::Inverse { kind, via } => {
                    let key = self.key_of(kind, via);
                    (
                        format!("`{name}` of {} is gathered from the job", a(spec)),
                        format!("write `{key}` in each {}", kind.replace('_', " ")),
                    )
                }
                Filled::Through(chains) => {
                    let first = chains.first().and_then(|chain| chain.split('.').next()).unwrap_or_default();
                    (
                        format!("`{name}` of {} is gathered from the job", a(spec)),
                        format!("write `{}`", self.key_of(spec.name, first)),
                    )
                }
                Filled::Nesting => (
                    format!("`{name}` of {} is known from where its table stands", a(spec)),
                    String::from("leave it out"),
                ),
                Filled::Written { .. } | Filled::Key { .. } => {
                    (format!("`{name}` can't be written here"), String::from("leave it out"))
                }
            };
            return Problem::new(key.span, message).label("not written").help(help);
        }
        let problem = Problem::new(key.span, format!("unknown key `{name}` in {whose}"))
            .label("unknown key")
            .about(Topic::JobWord);
        if self.shape.top(key.text).is_some() || key.text == "format" {
            // A key behind a header belongs to that header's table.
            return problem.help(format!("`{name}` stands at the top of the file, before the first `[table]`"));
        }
        match suggestion(key.text, self.shape.kind(kind).names.iter().copied()) {
            Some(help) => problem.help(help),
            None => problem.help(format!("what {} can have is listed in the job-file schema", a(spec))),
        }
    }

    /// Returns the key under which a field of a kind is written.
    fn key_of(&self, kind: &str, field: &'static str) -> &'static str {
        let schema = self.shape.schema;
        let field_spec = schema.kind(kind).and_then(|kind| Some(schema.field_spec(kind, schema.field(kind, field)?)));
        match field_spec.map(|field| &field.filled) {
            Some(Filled::By(key)) => key,
            _ => field,
        }
    }

    fn check_one_of(&mut self, item: ItemIndex, kind: KindId) {
        let shape = self.shape;
        let spec = shape.schema.spec(kind);
        let mut written: Vec<_> =
            shape.kind(kind).one_of.iter().map(|&field| (self.cell(item, field).span(), field)).collect();
        written.retain(|(span, _)| span.is_some());
        written.sort_unstable();
        let [(first, first_field), (second, second_field), ..] = written[..] else { return };
        let name = |field| shape.schema.field_spec(kind, field).name;
        let all: Vec<String> = shape.kind(kind).one_of.iter().map(|&field| format!("`{}`", name(field))).collect();
        let message = format!("{} has both `{}` and `{}`", self.called(item), name(first_field), name(second_field));
        let problem = Problem::new(second, message).label("says it a second time").mark(first, "first said here");
        self.problem(problem.help(format!("keep one of {} of {}", all.join(", "), a(spec))));
    }

    fn read_nested(&mut self, item: ItemIndex, kind: KindId, nested: &Nested, parts: &Parts<'a>) {
        let outer = self.shape.schema.spec(kind).name;
        if nested.many {
            let Some(at) = parts.get(nested.key) else { return };
            let tables = self.tables(nested.key, &format!("[[{outer}.{}]]", nested.key), at);
            for (number, part) in tables.into_iter().enumerate() {
                let standing = Standing { parent: Some(item), key: nested.key, number: Some(number + 1) };
                let body = Body { header: part.header, parts: Parts::one(part), short: None };
                self.read_item(nested.kind, body, standing);
            }
            return;
        }
        let mut body: Option<Body<'a>> = None;
        for outer_part in parts.iter() {
            let Some(value) = outer_part.table.get(nested.key) else { continue };
            let at = outer_part.at(value);
            match (value.get_ref(), nested.short) {
                (DeValue::Table(table), _) => {
                    let table = part(table, at.file, at.span());
                    body.get_or_insert_with(|| Body { parts: Parts::default(), short: None, header: at.span() })
                        .parts
                        .push(table);
                }
                (DeValue::String(_), Some(short)) => {
                    body = Some(Body { parts: Parts::default(), short: Some((short, at)), header: at.span() });
                }
                (_, short) => {
                    let help = match short {
                        Some(short) => format!(
                            "write `{} = \"…\"` for its `{short}`, or a table `{{ {short} = \"…\" }}`",
                            nested.key
                        ),
                        None => format!("write `[{outer}.{}]`", nested.key),
                    };
                    self.problem(wants_table(nested.key, at, &help));
                }
            }
        }
        let standing = Standing { parent: Some(item), key: nested.key, number: None };
        match body {
            Some(body) => {
                self.read_item(nested.kind, body, standing);
            }
            // A cable has two ends whether both are written or not: nobody has recorded where this one is.
            None if self.whole_file && self.shape.schema.spec(nested.kind).name == cable_end::NAME => {
                let header = self.builder.job().item(item).header;
                let end = self.read_item(nested.kind, Body { parts: Parts::default(), short: None, header }, standing);
                self.faulty.extend(self.shape.kind(nested.kind).required.iter().map(|&field| (end, field)));
            }
            None => {}
        }
    }

    /// Looks for keys at the top that no job has.
    pub(super) fn check_top_keys(&mut self, parts: &[Part<'a>]) {
        for part in parts {
            for (key, value) in part.table.iter() {
                let name = key.get_ref().as_ref();
                if self.shape.top(name).is_none() && name != "format" && name != "defaults" {
                    let key = Key { text: name, span: part.file.span(key.span()) };
                    let problem = self.unknown_top_key(key, value.get_ref());
                    self.problem(problem);
                }
            }
        }
    }

    fn unknown_top_key(&self, key: Key<'_>, value: &DeValue<'_>) -> Problem {
        let name = short(key.text);
        for (_, spec) in self.shape.schema.kinds() {
            if let Nest::Inside { parent, keys, many, .. } = spec.nest
                && (spec.name == key.text || keys.contains(&key.text))
            {
                let inner =
                    keys.iter().copied().find(|inner| *inner == key.text).or(keys.first().copied()).unwrap_or("");
                let header = if many { format!("[[{parent}.{inner}]]") } else { format!("[{parent}.{inner}]") };
                let problem = Problem::new(key.span, format!("{} stands inside its {parent}", a(spec)))
                    .label(format!("outside any {parent}"));
                return problem.help(format!("write `{header}` below the {parent} it belongs to"));
            }
        }
        let is_table = matches!(value, DeValue::Table(_) | DeValue::Array(_));
        let what = if is_table { "table" } else { "key" };
        let problem = Problem::new(key.span, format!("unknown {what} `{name}`"))
            .label(format!("unknown {what}"))
            .about(Topic::JobWord);
        if let Some(site) = self.shape.top("site")
            && !is_table
            && self.shape.kind(site).keys.contains_key(key.text)
        {
            return problem.help(format!("write `{name}` under `[site]`"));
        }
        match suggestion(key.text, self.shape.top_keys()) {
            Some(help) => problem.help(help),
            None => problem.help(format!("known here: {}", self.shape.top_keys().collect::<Vec<_>>().join(", "))),
        }
    }
}

fn part<'a>(table: &'a DeTable<'a>, file: &'a File, header: Span) -> Part<'a> {
    Part { table, file, header, faults: &[] }
}

fn id_of<'a>(part: &Part<'a>) -> Option<&'a str> {
    part.table.get("id").and_then(|id| part.at(id).text())
}

/// Reads an item's own id.
fn own_id<'a>(key: &str, at: At<'a>) -> Result<&'a str, Problem> {
    value::id_text(key, at).and_then(|id| if id == NONE { Err(no_id(key, at)) } else { Ok(id) })
}

fn no_id(key: &str, at: At<'_>) -> Problem {
    Problem::new(at.span(), format!("`{NONE}` can't be the {key} of anything"))
        .label("means that there is nothing")
        .help(format!("`{NONE}` in a reference says that there is no such item; give this one another {key}"))
}

fn wants_table(key: &str, at: At<'_>, help: &str) -> Problem {
    Problem::new(at.span(), format!("`{key}` wants a table, not {}", at.what())).label(at.what()).help(help)
}
