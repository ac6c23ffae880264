//! Adds fields to items that a job file has. Not one byte that is there is touched: what is new goes in between.

use std::fmt::Write as _;
use std::ops::Range;

use storystick_engine::layout::Proposed;
use toml_edit::{Document, InlineTable, Item, Table, Value};

use super::value;

/// Fields for an item that stands at a place of the text.
#[derive(Debug)]
pub(crate) struct Addition<'a> {
    /// Where its header or its table in braces begins.
    pub(crate) at: usize,
    /// The fields.
    pub(crate) item: &'a Proposed,
}

/// Something that goes in between.
struct Insertion {
    at: usize,
    text: String,
}

/// Returns the text of a job file with fields added to its items, each under a comment that says why.
///
/// # Errors
/// When the text is no TOML, or an item is not where it was said to be.
pub(crate) fn filled(text: &str, additions: &[Addition<'_>]) -> Result<String, String> {
    let document = Document::parse(text).map_err(|error| error.to_string())?;
    let with = |commented: bool| -> Result<String, String> {
        let mut all = Vec::new();
        for addition in additions {
            let found = in_table(document.as_table(), addition.at)
                .ok_or_else(|| format!("`{}` is not where it was read", addition.item.id))?;
            insert(text, &found, addition, commented, &mut all);
        }
        Ok(spliced(text, all))
    };
    let out = with(true)?;
    // Where a comment can't stand, the field alone goes in.
    if Document::parse(out.as_str()).is_ok() { Ok(out) } else { with(false) }
}

fn spliced(text: &str, mut all: Vec<Insertion>) -> String {
    // Those for one place keep their order.
    all.sort_by_key(|insertion| insertion.at);
    let mut out = String::with_capacity(text.len() + 64 * all.len());
    let mut from = 0;
    for insertion in all {
        out.push_str(text.get(from..insertion.at).unwrap_or_default());
        out.push_str(&insertion.text);
        from = insertion.at;
    }
    out.push_str(text.get(from..).unwrap_or_default());
    out
}

/// A table of the text.
enum Found<'t> {
    Headed(&'t Table),
    InBraces(&'t InlineTable),
}

fn begins(span: Option<Range<usize>>, at: usize) -> bool {
    span.is_some_and(|span| span.start == at)
}

fn in_table(table: &Table, at: usize) -> Option<Found<'_>> {
    table.iter().find_map(|(_, item)| match item {
        Item::Table(table) if begins(table.span(), at) => Some(Found::Headed(table)),
        Item::Table(table) => in_table(table, at),
        Item::ArrayOfTables(tables) => tables
            .iter()
            .find_map(|table| if begins(table.span(), at) { Some(Found::Headed(table)) } else { in_table(table, at) }),
        Item::Value(value) => in_value(value, at),
        Item::None => None,
    })
}

fn in_value(value: &Value, at: usize) -> Option<Found<'_>> {
    match value {
        Value::InlineTable(table) if begins(table.span(), at) => Some(Found::InBraces(table)),
        Value::InlineTable(table) => table.iter().find_map(|(_, value)| in_value(value, at)),
        Value::Array(array) => array.iter().find_map(|value| in_value(value, at)),
        _ => None,
    }
}

/// Returns where the last value of a table under a header ends; tables with headers of their own are none of its values.
fn last_value(table: &Table) -> Option<usize> {
    let ends = table.iter().filter_map(|(_, item)| match item {
        Item::Value(value) => value.span().map(|span| span.end),
        Item::Table(inner) if inner.is_dotted() => last_value(inner),
        _ => None,
    });
    ends.max()
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1)
}

fn indent_of(text: &str, at: usize) -> &str {
    let line = text.get(line_start(text, at)..).unwrap_or_default();
    line.get(..line.len() - line.trim_start_matches([' ', '\t']).len()).unwrap_or_default()
}

fn insert(text: &str, found: &Found<'_>, addition: &Addition<'_>, commented: bool, all: &mut Vec<Insertion>) {
    let comment = addition.item.mark().replace(['\n', '\r'], " ");
    match found {
        Found::Headed(table) => {
            let last = last_value(table).unwrap_or(addition.at);
            let indent = indent_of(text, last);
            let end = text.get(last..).and_then(|rest| rest.find('\n')).map(|newline| last + newline + 1);
            let mut new = String::new();
            if end.is_none() {
                new.push('\n');
            }
            if commented {
                let _ = writeln!(new, "{indent}{comment}");
            }
            for field in &addition.item.fields {
                let _ = writeln!(new, "{indent}{} = {}", field.key, value(&field.value));
            }
            all.push(Insertion { at: end.unwrap_or(text.len()), text: new });
        }
        Found::InBraces(table) => {
            let fields: Vec<String> =
                addition.item.fields.iter().map(|field| format!("{} = {}", field.key, value(&field.value))).collect();
            let fields = fields.join(", ");
            let last = table.iter().filter_map(|(_, value)| value.span()).map(|span| span.end).max();
            let (at, new) = match last {
                None => (addition.at + 1, format!(" {fields} ")),
                Some(end) => {
                    let rest = text.get(end..).unwrap_or_default();
                    let blank = rest.len() - rest.trim_start().len();
                    // A comma behind the last value stays the last thing.
                    if rest.trim_start().starts_with(',') {
                        (end + blank + 1, format!(" {fields},"))
                    } else {
                        (end, format!(", {fields}"))
                    }
                }
            };
            let start = line_start(text, addition.at);
            let above = format!("{}{comment}\n", indent_of(text, addition.at));
            if commented && !all.iter().any(|known| known.at == start && known.text == above) {
                all.push(Insertion { at: start, text: above });
            }
            all.push(Insertion { at, text: new });
        }
    }
}

#[cfg(test)]
mod tests {
    use storystick_engine::layout::Written;
    use storystick_engine::source::Span;

    use super::*;

    fn to(id: &str, key: &'static str, value: Written) -> Proposed {
        Proposed::onto("opening", id, Span::NONE, "lit").cited(Some(String::from("1.2"))).with(key, value)
    }

    fn at(text: &str, what: &str, item: &Proposed) -> String {
        filled(text, &[Addition { at: text.find(what).unwrap(), item }]).unwrap()
    }

    #[test]
    fn a_field_goes_into_braces_and_under_a_header() {
        let item = to("a", "lit_by", Written::text("L1"));
        let text =
            "[[room]]\nid = 'a' # mine\nopening = [\n  { wall = 'n', at = '1 ft' }, # left\n  { wall = 's' },\n]\n";
        let out = at(text, "{ wall = 'n'", &item);
        let line = "  # proposed: lit (1.2)\n  { wall = 'n', at = '1 ft', lit_by = \"L1\" }, # left\n";
        assert!(out.contains(line), "{out}");
        assert_eq!(out.replace("  # proposed: lit (1.2)\n", "").replace(", lit_by = \"L1\"", ""), text);
        let text = "[[appliance]] # first\n  id = 'a' # mine\n\n[[appliance]]\nid = 'b'";
        let out = at(text, "[[appliance]] # first", &item);
        assert!(
            out.starts_with("[[appliance]] # first\n  id = 'a' # mine\n  # proposed: lit (1.2)\n  lit_by = \"L1\"\n\n"),
            "{out}"
        );
        let out = at(text, "[[appliance]]\nid = 'b'", &item);
        assert!(out.ends_with("id = 'b'\n# proposed: lit (1.2)\nlit_by = \"L1\"\n"), "{out}");
    }

    #[test]
    fn odd_forms_stay_readable() {
        let item = to("a", "lit_by", Written::text("L1"));
        for (text, what) in [
            ("opening = [{},{a=1}]\n", "{}"),
            ("opening = [{a=1,},{b=1}]\n", "{a=1"),
            ("x = [{ a = [\n {b = 1},\n] }]\n", "{b = 1}"),
            ("[[appliance]]\n[appliance.more]\na = 1\n", "[[appliance]]"),
            ("[[appliance]]\nfrom.at = 'B1' # it\n[other]\n", "[[appliance]]"),
            ("x = [\"\"\"a\n\"\"\", {b = 1}]\n", "{b = 1}"),
            ("[[appliance]]\r\nid = 'a'\r\n\r\n[other]\r\n", "[[appliance]]"),
        ] {
            let out = at(text, what, &item);
            let read: toml::Table = out.parse().unwrap_or_else(|error| panic!("{error}: {out}"));
            assert!(!read.is_empty() && out.matches("lit_by").count() == 1, "{out}");
        }
    }
}
