//! Words, makes and names of keys: pieces of the text that are written over where they stand.

use std::ops::Range;

use storystick_engine::job::NEWEST_FORMAT;
use storystick_engine::model::{FieldId, KindId, Meant, Nest, Schema, Type, meant};
use storystick_engine::quantity::CableMake;
use toml_edit::{Document, Item, TableLike, Value};

use super::{Note, Row, Updated, is_known, line_of};

/// The key of a cable that is not a word and is still spelled in several ways.
const MAKE: &str = "make";

/// Pieces of a text to write over, found by walking through it.
struct Walk<'a> {
    text: &'a str,
    schema: &'a Schema,
    rows: &'a [Row],
    pieces: Vec<(Range<usize>, String)>,
    changes: Vec<Note>,
    left: Vec<Note>,
}

/// Returns a job file with its words, makes and keys as the newest format has them.
pub(super) fn spliced(text: &str, schema: &Schema, rows: &[Row]) -> Result<Updated, String> {
    let document = Document::parse(text).map_err(|error| error.to_string())?;
    let mut walk = Walk { text, schema, rows, pieces: Vec::new(), changes: Vec::new(), left: Vec::new() };
    walk.format(document.as_table())?;
    for (kind, spec) in schema.kinds() {
        if let Nest::Single(key) | Nest::Top(key) = spec.nest
            && let Some(item) = document.as_table().get(key)
        {
            walk.items(kind, item);
        }
        if let Some(defaults) = document.as_table().get("defaults").and_then(|all| all.get(spec.name)) {
            walk.items(kind, defaults);
        }
    }
    let Walk { mut pieces, changes, left, .. } = walk;
    pieces.sort_by_key(|(range, _)| range.start);
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (range, new) in pieces {
        out.push_str(&text[at..range.start]);
        out.push_str(&new);
        at = range.end;
    }
    out.push_str(&text[at..]);
    Ok(Updated { text: out, changes, left })
}

impl Walk<'_> {
    fn format(&mut self, top: &dyn TableLike) -> Result<(), String> {
        let what = format!("format {NEWEST_FORMAT}");
        let Some(item) = top.get("format") else {
            // A mark that some editors put before a text stays the first thing in it.
            let start = if self.text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
            self.change(start..start, format!("format = {NEWEST_FORMAT}\n"), what);
            return Ok(());
        };
        match item.as_integer() {
            Some(NEWEST_FORMAT) => {}
            Some(old) if is_known(old) => {
                if let Some(range) = item.span() {
                    self.change(range, NEWEST_FORMAT.to_string(), what);
                }
            }
            Some(other) => return Err(format!("job files of format {other} are not known here")),
            None => return Err(String::from("`format` wants a whole number")),
        }
        Ok(())
    }

    fn change(&mut self, range: Range<usize>, new: String, what: String) {
        self.changes.push(Note { line: line_of(self.text, range.start), what });
        self.pieces.push((range, new));
    }

    fn leave(&mut self, range: &Range<usize>, what: String) {
        self.left.push(Note { line: line_of(self.text, range.start), what });
    }

    /// Goes through what stands under a key of a kind: one table, several, or a list of them.
    fn items(&mut self, kind: KindId, item: &Item) {
        if let Some(table) = item.as_table_like() {
            return self.table(kind, table);
        }
        if let Some(tables) = item.as_array_of_tables() {
            tables.iter().for_each(|table| self.table(kind, table));
        }
        if let Some(list) = item.as_array() {
            list.iter().filter_map(Value::as_inline_table).for_each(|table| self.table(kind, table));
        }
    }

    fn table(&mut self, kind: KindId, table: &dyn TableLike) {
        let schema = self.schema;
        let spec = schema.spec(kind);
        for (name, item) in table.iter() {
            self.key(spec.name, name, table);
            match schema.field(kind, name) {
                Some(field) => self.value(kind, field, item),
                None if name == MAKE => {}
                None => {
                    let inner = schema.kinds().find(|(_, inner)| match inner.nest {
                        Nest::Inside { parent, keys, .. } => parent == spec.name && keys.contains(&name),
                        _ => false,
                    });
                    if let Some((inner, _)) = inner {
                        self.items(inner, item);
                    }
                }
            }
        }
    }

    /// Writes a key over that goes by another name.
    fn key(&mut self, kind: &str, name: &str, table: &dyn TableLike) {
        let row = self.rows.iter().find_map(|row| match *row {
            Row::Renamed { kind: of, from, to } if of == kind && from == name => Some(to),
            _ => None,
        });
        let (Some(to), Some(range)) = (row, table.key(name).and_then(toml_edit::Key::span)) else { return };
        if table.contains_key(to) {
            let id = table.get("id").and_then(Item::as_str).map_or_else(String::new, |id| format!(" `{id}`"));
            return self.leave(&range, format!("{kind}{id}: has both `{name}` and `{to}`, which is the same field"));
        }
        self.change(range, to.to_owned(), format!("{kind}: `{name}` is `{to}`"));
    }

    fn value(&mut self, kind: KindId, field: FieldId, item: &Item) {
        let spec = self.schema.spec(kind);
        let field = self.schema.field_spec(kind, field);
        let of = format!("{} {}", spec.name, field.name);
        let words = match &field.ty {
            Type::Word(words) => *words,
            Type::List(inner) => match **inner {
                Type::Word(words) => words,
                _ => return,
            },
            Type::Text if field.name == MAKE => return self.make(&of, item),
            // An item inside another may stand under the name of the list of such items.
            Type::Item(_) => return,
            _ => return,
        };
        if let Some(text) = item.as_str() {
            self.word(&of, text, words, item.span());
        }
        for one in item.as_array().into_iter().flat_map(toml_edit::Array::iter) {
            if let Some(text) = one.as_str() {
                self.word(&of, text, words, one.span());
            }
        }
    }

    fn word(&mut self, of: &str, written: &str, words: &'static [&'static str], at: Option<Range<usize>>) {
        let Some(range) = at else { return };
        match meant(written, words) {
            Meant::One(word) if word == written => {}
            Meant::One(word) => self.text_over(range, of, written, word),
            Meant::Several(several) => {
                let several: Vec<String> = several.iter().map(|word| format!("`{word}`")).collect();
                self.leave(&range, format!("{of}: `{written}` may be {}", several.join(" or ")));
            }
            Meant::Nothing => self.leave(&range, format!("{of}: `{written}` is no word of it")),
        }
    }

    fn make(&mut self, of: &str, item: &Item) {
        let (Some(written), Some(range)) = (item.as_str(), item.span()) else { return };
        match CableMake::parse(written) {
            Ok(make) if make.to_string() == written => {}
            Ok(make) => self.text_over(range, of, written, &make.to_string()),
            Err(_) => self.leave(&range, format!("{of}: `{written}` is no make of cable")),
        }
    }

    /// Writes a text over, in the quotes that it has.
    fn text_over(&mut self, range: Range<usize>, of: &str, written: &str, new: &str) {
        let quote = if self.text[range.clone()].starts_with('\'') { '\'' } else { '"' };
        self.change(range, format!("{quote}{new}{quote}"), format!("{of}: `{written}` is `{new}`"));
    }
}
