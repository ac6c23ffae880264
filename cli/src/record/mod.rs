//! Writes into a job file what was measured and seen on site. Comments, order and layout of the file stay as they are.

use jiff::civil::Date;
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value};

/// A value as a job file writes it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Written {
    /// A text, such as `11 in`.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// A whole number.
    Number(i64),
    /// A day.
    Day(Date),
    /// Several texts.
    List(Vec<String>),
}

impl Written {
    fn value(&self) -> Value {
        match self {
            Written::Text(text) => text.as_str().into(),
            Written::Flag(flag) => (*flag).into(),
            Written::Number(number) => (*number).into(),
            Written::Day(day) => self::day(*day),
            Written::List(list) => Value::Array(list.iter().map(String::as_str).collect::<Array>()),
        }
    }
}

impl std::fmt::Display for Written {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Written::Text(text) => f.write_str(text),
            Written::Flag(flag) => f.write_str(if *flag { "yes" } else { "no" }),
            Written::Number(number) => write!(f, "{number}"),
            Written::Day(day) => write!(f, "{day}"),
            Written::List(list) => f.write_str(&list.join(", ")),
        }
    }
}

/// A reading of a field, taken on a day.
#[derive(Debug)]
pub(crate) struct Measured<'a> {
    /// Id of the item.
    pub(crate) item: &'a str,
    /// Its field.
    pub(crate) field: &'a str,
    /// The reading.
    pub(crate) value: &'a Written,
    /// Who took it.
    pub(crate) by: &'a str,
    /// When.
    pub(crate) on: Date,
}

/// A signed answer to what only eyes can decide.
#[derive(Debug)]
pub(crate) struct Seen<'a> {
    /// The rule that asks.
    pub(crate) rule: &'a str,
    /// Id of the item.
    pub(crate) item: &'a str,
    /// Whether it is as it must be.
    pub(crate) ok: bool,
    /// Who looked.
    pub(crate) by: &'a str,
    /// When.
    pub(crate) on: Date,
    /// What was seen.
    pub(crate) note: Option<&'a str>,
}

/// Returns the text of a job file with a reading in it. An earlier `[[measure]]` of the same field is written over.
///
/// # Errors
/// What the user should read: the text is no TOML, or `measure` in it is no list.
pub(crate) fn measured(text: &str, one: &Measured<'_>) -> Result<String, String> {
    let entries = [
        ("item", one.item.into()),
        ("field", one.field.into()),
        ("value", one.value.value()),
        ("by", one.by.into()),
        ("on", day(one.on)),
    ];
    put(text, "measure", &["item", "field"], &entries, &[])
}

/// Returns the text of a job file with a signed answer in it. An earlier answer for the same rule and item is written over.
///
/// # Errors
/// What the user should read: the text is no TOML, or `answer` in it is no list.
pub(crate) fn seen(text: &str, one: &Seen<'_>) -> Result<String, String> {
    let mut entries: Vec<(&str, Value)> = vec![
        ("rule", one.rule.into()),
        ("item", one.item.into()),
        ("ok", one.ok.into()),
        ("by", one.by.into()),
        ("on", day(one.on)),
    ];
    if let Some(note) = one.note {
        entries.push(("note", note.into()));
    }
    put(text, "answer", &["rule", "item"], &entries, if one.note.is_none() { &["note"] } else { &[] })
}

fn day(on: Date) -> Value {
    let text = on.to_string();
    text.parse::<toml_edit::Datetime>().map_or_else(|_| Value::from(text), Value::from)
}

/// The mark that some editors put before a text.
const MARK: char = '\u{feff}';

/// Puts a table into a list of the document, and leaves a text that was written elsewhere with its line ends and its mark.
fn put(text: &str, list: &str, keys: &[&str], entries: &[(&str, Value)], gone: &[&str]) -> Result<String, String> {
    let next = set(text, list, keys, entries, gone)?;
    let lines = text.matches('\n').count();
    let next = match lines > 0 && text.matches("\r\n").count() == lines {
        true => next.replace("\r\n", "\n").replace('\n', "\r\n"),
        false => next,
    };
    Ok(if text.starts_with(MARK) && !next.starts_with(MARK) { format!("{MARK}{next}") } else { next })
}

/// Puts a table into a list of the document: over the last one that has the same `keys`, or at the end.
fn set(text: &str, list: &str, keys: &[&str], entries: &[(&str, Value)], gone: &[&str]) -> Result<String, String> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    let item = document.entry(list).or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    let same = |known: &dyn Fn(&str) -> Option<String>| {
        keys.iter().all(|key| {
            let wanted = entries.iter().find(|(name, _)| name == key).and_then(|(_, value)| value.as_str());
            wanted.is_some() && known(key).as_deref() == wanted
        })
    };
    let of = |item: Option<&Item>| item.and_then(Item::as_str).map(str::to_owned);
    match item {
        Item::ArrayOfTables(tables) => {
            let at = tables.iter().enumerate().filter(|(_, table)| same(&|key| of(table.get(key)))).last();
            let at = at.map(|(at, _)| at);
            match at.and_then(|at| tables.get_mut(at)) {
                Some(table) => fill(table, entries, gone),
                None => {
                    let mut table = Table::new();
                    table.decor_mut().set_prefix("\n");
                    fill(&mut table, entries, &[]);
                    tables.push(table);
                }
            }
        }
        Item::Value(Value::Array(array)) => {
            let of = |value: Option<&Value>| value.and_then(Value::as_str).map(str::to_owned);
            let last = array
                .iter_mut()
                .filter_map(Value::as_inline_table_mut)
                .filter(|table| same(&|key| of(table.get(key))))
                .last();
            match last {
                Some(table) => fill(table, entries, gone),
                None => add_inline(array, entries),
            }
        }
        _ => return Err(format!("`{list}` is written as a single value; make it a list of tables, `[[{list}]]`")),
    }
    Ok(document.to_string())
}

fn fill(table: &mut dyn toml_edit::TableLike, entries: &[(&str, Value)], gone: &[&str]) {
    for (name, value) in entries {
        // A comment behind the value stays.
        let mut value = value.clone();
        if let Some(old) = table.get(name).and_then(Item::as_value) {
            *value.decor_mut() = old.decor().clone();
        }
        table.insert(name, Item::Value(value));
    }
    for name in gone {
        table.remove(name);
    }
}

fn add_inline(array: &mut Array, entries: &[(&str, Value)]) {
    let mut table = InlineTable::new();
    for (name, value) in entries {
        table.insert(*name, value.clone());
    }
    let mut value = Value::InlineTable(table);
    // On a line of its own where the others stand so.
    let before = array.iter().last().and_then(|last| last.decor().prefix()).and_then(|prefix| prefix.as_str());
    value.decor_mut().set_prefix(before.unwrap_or(if array.is_empty() { "" } else { " " }).to_owned());
    array.push_formatted(value);
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOB: &str = "# my job\nformat = 1 # yes\nbox = [ { id = \"B1\" }, ] # odd layout\n\n# the last word\n";

    fn reading(text: &str, field: &str, value: &str) -> String {
        let value = Written::Text(value.to_owned());
        let on = jiff::civil::date(2023, 6, 1);
        measured(text, &Measured { item: "B1", field, value: &value, by: "R. Ames", on }).unwrap()
    }

    #[test]
    fn everything_that_stood_there_stays() {
        let text = reading(JOB, "set_back", "1/8 in");
        assert_eq!(
            text,
            "# my job\nformat = 1 # yes\nbox = [ { id = \"B1\" }, ] # odd layout\n\n[[measure]]\nitem = \"B1\"\n\
             field = \"set_back\"\nvalue = \"1/8 in\"\nby = \"R. Ames\"\non = 2023-06-01\n\n# the last word\n"
        );
    }

    #[test]
    fn a_second_reading_of_a_field_is_written_over_the_first() {
        let text = reading(&reading(JOB, "set_back", "1/8 in").replace("1/8 in\"", "1/8 in\" # hm"), "gap", "0 in");
        let again = reading(&text, "set_back", "1/4 in");
        assert_eq!(again, text.replace("1/8 in\" # hm", "1/4 in\" # hm"));
    }

    #[test]
    fn a_list_written_in_line_is_gone_on_with() {
        let text = "measure = [\n  { item = \"B9\", field = \"gap\", value = \"0 in\" },\n]\n";
        let added = reading(text, "gap", "1/8 in");
        assert!(added.contains("},\n  { item = \"B1\", field = \"gap\", value = \"1/8 in\""), "{added}");
        assert_eq!(reading(&added, "gap", "1/4 in"), added.replace("1/8", "1/4"));
    }

    #[test]
    fn a_signed_answer_loses_its_note_with_the_next_one() {
        let on = jiff::civil::date(2023, 6, 1);
        let one = |text: &str, ok, note| {
            seen(text, &Seen { rule: "boxes-plumb", item: "shed", ok, by: "R. Ames", on, note }).unwrap()
        };
        let no = one(JOB, false, Some("box at the door"));
        assert!(no.contains("ok = false") && no.contains("note = \"box at the door\""), "{no}");
        let yes = one(&no, true, None);
        assert!(yes.contains("ok = true") && !yes.contains("note"), "{yes}");
    }

    #[test]
    fn a_single_value_in_place_of_the_list_is_told() {
        let value = Written::Flag(true);
        let one = Measured { item: "B1", field: "secured", value: &value, by: "", on: jiff::civil::date(2023, 6, 1) };
        assert!(measured("measure = 3\n", &one).unwrap_err().contains("[[measure]]"));
    }
}
