//! The table of kinds and fields, for people and for programs.

use std::fmt::Write as _;

use serde_json::{Value, json};
use storystick_engine::field_table::{FieldLine, KindTable, Source};

use super::wrap::{indented, wrap};

/// Returns the tables of kinds as text.
pub(crate) fn text(tables: &[KindTable], columns: usize) -> String {
    let mut out = String::new();
    for (at, table) in tables.iter().enumerate() {
        if at > 0 {
            out.push('\n');
        }
        one(&mut out, table, columns);
    }
    out
}

fn one(out: &mut String, table: &KindTable, columns: usize) {
    out.push_str(&wrap(&format!("{}: {}", table.kind, table.meaning), columns, "  "));
    let written = table.written.join(" or ");
    let listed =
        if table.listed.is_empty() { String::new() } else { format!("; in the lists {}", table.listed.join(", ")) };
    out.push_str(&indented(&format!("written {written}; rules on it say `{}`{listed}", table.word), columns, 2, ""));
    for field in &table.fields {
        let _ = writeln!(out, "  {}", field.name);
        out.push_str(&indented(&about(field), columns, 6, ""));
        let by = match field.declared_by.as_slice() {
            [] => String::new(),
            by => format!(" Declared by {}.", by.join(", ")),
        };
        out.push_str(&indented(&format!("{}{by}", field.meaning), columns, 6, ""));
    }
}

/// Returns what a field holds, who fills it, and what it means that nothing is written, in one line.
fn about(field: &FieldLine) -> String {
    let mut about = match field.words.as_slice() {
        [] => field.holds.clone(),
        words => format!("{}: {}", field.holds, words.join(", ")),
    };
    if let Some(example) = field.example {
        let _ = write!(about, ", such as {example}");
    }
    let _ = write!(about, "; {}", field.source.words());
    if let Some(absent) = &field.absent {
        let _ = write!(about, "; not written: {absent}");
    }
    about
}

/// Returns the tables of kinds for programs.
pub(crate) fn json(tables: &[KindTable]) -> Value {
    let kinds: Vec<Value> = tables
        .iter()
        .map(|table| {
            json!({
                "kind": table.kind, "word": table.word, "meaning": table.meaning, "written": table.written,
                "listed": table.listed, "fields": table.fields.iter().map(field).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({ "schema": 1, "kinds": kinds })
}

fn field(field: &FieldLine) -> Value {
    let source = match field.source {
        Source::Required => "required",
        Source::Written => "written",
        Source::AsBuilt => "as_built",
        Source::WrittenAs(_) => "by_key",
        Source::Lists => "list",
        Source::Nesting => "nesting",
        Source::Computed => "computed",
    };
    json!({
        "name": field.name, "meaning": field.meaning, "holds": field.holds, "words": field.words, "example": field.example,
        "leads_to": field.leads_to, "source": source, "key": if let Source::WrittenAs(key) = field.source { Some(key) } else { None },
        "not_written": field.absent, "declared_by": field.declared_by,
    })
}
