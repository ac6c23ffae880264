//! Writes the make-up of a box into a job file, over what stood there of it.

use toml_edit::{DocumentMut, Item, Table, Value};

/// The keys of a box that its make-up is written under.
const KEYS: [&str; 3] = ["splice", "landing", "cap"];

/// Returns the text of a job file in which a box has the make-up that `keys` writes (TOML with the keys `splice`, `landing` and
/// `cap`); nothing where the file has no box of that id, or where one of both is no TOML.
pub(crate) fn made_up(text: &str, id: &str, keys: &str) -> Option<String> {
    let mut document: DocumentMut = text.parse().ok()?;
    // On one line each: a box in braces has no room for more.
    let keys: DocumentMut = keys.replace("[\n  ", "[").replace(",\n  ", ", ").replace(",\n]", "]").parse().ok()?;
    let named = |item: Option<&Item>| item.and_then(Item::as_str) == Some(id);
    match document.get_mut("box")? {
        Item::ArrayOfTables(tables) => {
            let table = tables.iter_mut().find(|table| named(table.get("id")))?;
            put(table, &keys);
        }
        Item::Value(Value::Array(list)) => {
            let of = |value: Option<&Value>| value.and_then(Value::as_str) == Some(id);
            let table = list.iter_mut().filter_map(Value::as_inline_table_mut).find(|table| of(table.get("id")))?;
            for key in KEYS {
                table.remove(key);
                if let Some(value) = keys.get(key).and_then(Item::as_value) {
                    let mut value = value.clone();
                    value.decor_mut().clear();
                    table.insert(key, value);
                }
            }
            table.fmt();
        }
        _ => return None,
    }
    Some(document.to_string())
}

fn put(table: &mut Table, keys: &DocumentMut) {
    for key in KEYS {
        table.remove(key);
        if let Some(value) = keys.get(key) {
            table.insert(key, value.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEYS: &str = "splice = [\n  { joins = [\"C1/to.black\", \"R1.brass\"] },\n  { joins = [\"C1/to.bare\", \"R1.green\"] },\n]\n";

    #[test]
    fn a_box_of_its_own_gets_the_keys_at_its_end_and_the_rest_stays() {
        let text = "format = 1 # mine\n\n[[box]]\nid = \"B1\" # first\n\n[[box]]\nid = \"B2\"\ncap = [{ conductor = \"C9/to.red\" }]\n";
        let out = made_up(text, "B2", KEYS).unwrap();
        assert!(
            out.starts_with("format = 1 # mine\n\n[[box]]\nid = \"B1\" # first\n\n[[box]]\nid = \"B2\"\n"),
            "{out}"
        );
        assert!(
            out.contains("splice = [{ joins = [\"C1/to.black\", \"R1.brass\"] }, {") && !out.contains("C9"),
            "{out}"
        );
        assert_eq!(made_up(text, "B3", KEYS), None);
    }

    #[test]
    fn a_box_in_braces_stays_on_its_line() {
        let text = "box = [\n  { id = \"B1\", volume = \"18 in3\" }, # first\n  { id = \"B2\" },\n]\n";
        let out = made_up(text, "B1", KEYS).unwrap();
        assert_eq!(out.lines().count(), text.lines().count(), "{out}");
        assert!(out.contains("volume = \"18 in3\", splice = [") && out.contains("# first"), "{out}");
        out.parse::<toml::Table>().unwrap();
    }
}
