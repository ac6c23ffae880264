//! Adds items to a job file, and fields to its items, and leaves what is there as it is.

mod fill;

pub(crate) use fill::{Addition, filled};

mod make_up;
pub(crate) mod update;

use std::fmt::Write as _;

use storystick_engine::layout::{Proposed, Written};
use toml_edit::{Array, DocumentMut, InlineTable, Item, Value};

pub(crate) use make_up::made_up;

/// Returns the text of a job file with items added, each under a comment that says why.
///
/// A kind that the file writes as `[[kind]]`, or not at all, goes to the end of the file as such; where the file has a list of tables
/// in braces, the items join it.
///
/// # Errors
/// When the text is no TOML.
pub(crate) fn added(text: &str, items: &[&Proposed]) -> Result<String, String> {
    let document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    let in_braces = |kind: &str| matches!(document.get(kind), Some(Item::Value(Value::Array(_))));
    let (listed, appended): (Vec<&Proposed>, Vec<&Proposed>) = items.iter().partition(|item| in_braces(item.kind));
    let mut out = if listed.is_empty() { text.to_owned() } else { joined(document.clone(), &listed) };
    if !appended.is_empty() && !out.is_empty() && !out.ends_with('\n') {
        out.push('\n');
    }
    let mut quiet = false;
    for item in appended {
        // A device says nothing of its own: it comes right under its box.
        if item.why.is_empty() {
            quiet = true;
        }
        if !quiet || !item.why.is_empty() || item.cite.is_some() {
            out.push('\n');
            quiet = false;
        }
        if !item.why.is_empty() || item.cite.is_some() {
            let _ = writeln!(out, "{}", mark(item));
        }
        out.push_str(&table(item));
    }
    Ok(out)
}

fn mark(item: &Proposed) -> String {
    if item.why.is_empty() {
        return format!("# proposed with its box ({})", item.cite.as_deref().unwrap_or_default());
    }
    item.mark().replace(['\n', '\r'], " ")
}

/// Returns an item as a table of its own.
fn table(item: &Proposed) -> String {
    let mut out = format!("[[{}]]\nid = {}\n", item.kind, Value::from(item.id.as_str()));
    for field in &item.fields {
        let _ = writeln!(out, "{} = {}", field.key, value(&field.value));
    }
    out
}

fn value(written: &Written) -> Value {
    match written {
        Written::Text(text) => Value::from(text.as_str()),
        Written::Number(number) => Value::from(*number),
        Written::Flag(flag) => Value::from(*flag),
        Written::List(list) => Value::Array(list.iter().map(value).collect::<Array>()),
        Written::Table(fields) => {
            let mut table = InlineTable::new();
            for (key, field) in fields {
                table.insert(key, value(field));
            }
            Value::InlineTable(table)
        }
    }
}

/// Adds items to the lists in braces of a file.
fn joined(mut document: DocumentMut, items: &[&Proposed]) -> String {
    for item in items {
        let Some(Item::Value(Value::Array(list))) = document.get_mut(item.kind) else { continue };
        let mut table = InlineTable::new();
        table.insert("id", Value::from(item.id.as_str()));
        for field in &item.fields {
            table.insert(field.key, value(&field.value));
        }
        let comment =
            if item.why.is_empty() && item.cite.is_none() { String::new() } else { format!("  {}\n", mark(item)) };
        // What stands between the last item and the bracket, a comment perhaps, stays before the new one.
        let before = list.trailing().as_str().unwrap_or_default().to_owned();
        let had_comma = list.trailing_comma() || list.is_empty();
        let before = if before.ends_with('\n') { before } else { format!("{before}\n") };
        if !had_comma {
            list.set_trailing("");
        }
        table.decor_mut().set_prefix(format!("{before}{comment}  "));
        list.push_formatted(Value::InlineTable(table));
        list.set_trailing("\n");
        list.set_trailing_comma(true);
    }
    document.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item() -> Proposed {
        Proposed::new("box", "B2", "for the light").cited(Some(String::from("1.2"))).text("room", "hall")
    }

    #[test]
    fn items_go_to_the_end_and_what_was_written_stays() {
        let text = "format = 1 # mine\n\n[[box]]\nid=\"B1\"   # odd   spaces\n";
        let out = added(text, &[&item()]).unwrap();
        assert_eq!(out, format!("{text}\n# proposed: for the light (1.2)\n[[box]]\nid = \"B2\"\nroom = \"hall\"\n"));
    }

    #[test]
    fn items_join_a_list_in_braces() {
        let text = "box = [\n  { id = \"B1\" }, # first\n]\nformat = 1\n";
        let out = added(text, &[&item()]).unwrap();
        assert!(out.starts_with("box = [\n  { id = \"B1\" }, # first\n  # proposed: for the light (1.2)\n  { id = \"B2\", room = \"hall\" },\n]\n"), "{out}");
        assert!(out.ends_with("format = 1\n"));
    }
}
