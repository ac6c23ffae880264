//! Keys that became an item of their own.

use toml_edit::{Document, DocumentMut, Item, TableLike, Value};

use super::{Note, Row, Updated, line_of};

/// What one item gives away.
struct Given {
    /// Line of the item.
    line: usize,
    id: Option<String>,
    /// Keys as they were.
    keys: Vec<&'static str>,
    /// Keys as they are, with their values.
    values: Vec<(&'static str, Value)>,
}

/// Returns a job file in which keys have moved into items of their own, by the rows that say so.
pub(super) fn moved(text: &str, rows: &[Row]) -> Result<Updated, String> {
    let mut out = Updated { text: text.to_owned(), changes: Vec::new(), left: Vec::new() };
    for row in rows {
        if let Row::Moved { kind, keys, into, link } = *row {
            one(&mut out, kind, keys, into, link)?;
        }
    }
    Ok(out)
}

fn one(
    out: &mut Updated,
    kind: &str,
    keys: &'static [(&'static str, &'static str)],
    into: &str,
    link: &str,
) -> Result<(), String> {
    let text = out.text.clone();
    let document = Document::parse(text.as_str()).map_err(|error| error.to_string())?;
    let mut given = Vec::new();
    each(document.as_table().get(kind), &mut |table| {
        let has: Vec<_> = keys.iter().filter(|(old, _)| table.contains_key(old)).collect();
        if has.is_empty() {
            return;
        }
        let at = table.get("id").and_then(Item::span).map_or(0, |range| range.start);
        given.push(Given {
            line: line_of(&text, at),
            id: table.get("id").and_then(Item::as_str).map(str::to_owned),
            keys: has.iter().map(|(old, _)| *old).collect(),
            values: has
                .iter()
                .filter_map(|(old, new)| Some((*new, plain(table.get(old).and_then(Item::as_value)?))))
                .collect(),
        });
    });
    if given.is_empty() {
        return Ok(());
    }
    if document.as_table().get(into).is_some_and(|list| list.as_array().is_some()) {
        let stay = |one: &Given| Note {
            line: one.line,
            what: format!(
                "{kind}: its {} stay, because `{into}` is a list in braces; move them there",
                one.keys.join(", ")
            ),
        };
        out.left.extend(given.iter().map(stay));
        return Ok(());
    }
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    let movable: Vec<String> = given.iter().filter_map(|one| one.id.clone()).collect();
    each_mut(document.as_table_mut().get_mut(kind), &mut |table| {
        let id = table.get("id").and_then(Item::as_str).unwrap_or_default();
        if movable.iter().any(|it| it == id) {
            for (old, _) in keys {
                table.remove(old);
            }
        }
    });
    let mut next = document.to_string();
    for one in given {
        let names = one.keys.join(", ");
        let Some(id) = one.id else {
            out.left.push(Note { line: one.line, what: format!("{kind} without an `id`: its {names} stay") });
            continue;
        };
        let new = format!("{into}-{id}");
        if !next.is_empty() && !next.ends_with('\n') {
            next.push('\n');
        }
        next.push_str(&format!(
            "\n[[{into}]]\nid = {}\n{link} = {}\n",
            Value::from(new.as_str()),
            Value::from(id.as_str())
        ));
        for (key, value) in &one.values {
            next.push_str(&format!("{key} = {value}\n"));
        }
        out.changes
            .push(Note { line: one.line, what: format!("{kind} `{id}`: its {names} stand in {into} `{new}` now") });
    }
    out.text = next;
    Ok(())
}

/// Returns a value without the blanks and comments round it.
fn plain(value: &Value) -> Value {
    let mut value = value.clone();
    value.decor_mut().clear();
    value
}

fn each(item: Option<&Item>, with: &mut dyn FnMut(&dyn TableLike)) {
    let Some(item) = item else { return };
    for table in item.as_array_of_tables().into_iter().flat_map(|tables| tables.iter()) {
        with(table);
    }
    for table in item.as_array().into_iter().flat_map(|list| list.iter()).filter_map(Value::as_inline_table) {
        with(table);
    }
}

fn each_mut(item: Option<&mut Item>, with: &mut dyn FnMut(&mut dyn TableLike)) {
    match item {
        Some(Item::ArrayOfTables(tables)) => tables.iter_mut().for_each(|table| with(table)),
        Some(Item::Value(Value::Array(list))) => {
            list.iter_mut().filter_map(Value::as_inline_table_mut).for_each(|table| with(table));
        }
        _ => {}
    }
}
