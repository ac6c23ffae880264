//! Where a cursor stands in a TOML text that may be half written: the table around it, the key of its line, and the value.
//!
//! A parser gives up where somebody is typing; this walks the letters up to the cursor and begins afresh at every header.

use std::ops::Range;

/// Where a cursor stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Cursor {
    /// The keys of the header above, then those of the inline tables that are open.
    pub(super) table: Vec<String>,
    /// The key whose value the cursor is in; none where a key is being written.
    pub(super) key: Option<String>,
    /// The word under the cursor: a key, or a value without its quotes.
    pub(super) word: Range<usize>,
    /// Whether the word stands in quotes.
    pub(super) quoted: bool,
    /// Whether the cursor is in a header, `[…]` or `[[…]]`.
    pub(super) header: bool,
}

#[derive(Clone, Debug)]
enum Around {
    Table(String),
    List(String),
}

/// Returns where a byte of a text stands.
pub(super) fn at(text: &str, offset: usize) -> Cursor {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    let start = text.get(..offset).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    let mut header = Vec::new();
    let mut in_header = false;
    let mut around: Vec<Around> = Vec::new();
    let mut key = None;
    let mut line_start = 0;
    while line_start <= start {
        let line = text.get(line_start..).and_then(|rest| rest.split('\n').next()).unwrap_or("");
        let trimmed = line.trim();
        if let Some(named) = header_of(trimmed) {
            (header, key) = (named, None);
            around.clear();
            in_header = line_start == start;
        } else {
            let end = if line_start == start { offset - start } else { line.len() };
            scan(line.get(..end).unwrap_or(line), &mut around, &mut key);
        }
        line_start += line.len() + 1;
    }
    let open = around.iter().filter_map(|one| match one {
        Around::Table(key) if !key.is_empty() => Some(key.as_str()),
        _ => None,
    });
    let parts = |dotted: &str| dotted.split('.').map(|part| part.trim().to_owned()).collect::<Vec<_>>();
    let mut table: Vec<String> = header.into_iter().chain(open.flat_map(parts)).collect();
    if key.is_none()
        && let Some(Around::List(of)) = around.last()
    {
        key = Some(of.clone());
    }
    let (word, quoted) = word(text, start, offset);
    // Of a dotted key, all but the last part names tables.
    let dotted = match &key {
        Some(key) => key.clone(),
        None if quoted || in_header => String::new(),
        None => before_word(text, start, word.start).to_owned(),
    };
    let mut dotted = parts(&dotted);
    let last = dotted.pop().unwrap_or_default();
    table.extend(dotted.into_iter().filter(|part| !part.is_empty()));
    Cursor { table, key: key.map(|_| last), word, quoted, header: in_header }
}

/// Returns the dotted key that is being written before a word.
fn before_word(text: &str, start: usize, word: usize) -> &str {
    let before = text.get(start..word).unwrap_or("");
    let part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.');
    if before.ends_with('.') { before.get(before.trim_end_matches(part).len()..).unwrap_or("") } else { "" }
}

/// Returns the keys of a header.
fn header_of(line: &str) -> Option<Vec<String>> {
    let line = line.split('#').next()?.trim();
    let inner = line.strip_prefix("[[").and_then(|rest| rest.strip_suffix("]]"));
    let inner = inner.or_else(|| line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')))?;
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.' | ' ');
    let fits = !inner.is_empty() && inner.starts_with(|c: char| c.is_ascii_alphabetic()) && inner.chars().all(plain);
    fits.then(|| inner.split('.').map(|part| part.trim().to_owned()).collect())
}

/// Follows a line, or its beginning, through keys, quotes and brackets.
fn scan(line: &str, around: &mut Vec<Around>, key: &mut Option<String>) {
    if around.is_empty() {
        *key = None;
    }
    let mut word = String::new();
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '#' => break,
            '"' | '\'' => {
                while let Some(inner) = letters.next() {
                    match inner {
                        '\\' if letter == '"' => _ = letters.next(),
                        inner if inner == letter => break,
                        _ => {}
                    }
                }
            }
            '=' => {
                *key = Some(word.trim().to_owned());
                word.clear();
            }
            '{' => around.push(Around::Table(key.take().or_else(|| list_key(around)).unwrap_or_default())),
            '[' => around.push(Around::List(key.take().or_else(|| list_key(around)).unwrap_or_default())),
            '}' | ']' => {
                around.pop();
                *key = None;
                word.clear();
            }
            ',' => {
                *key = None;
                word.clear();
            }
            other => word.push(other),
        }
    }
}

fn list_key(around: &[Around]) -> Option<String> {
    match around.last() {
        Some(Around::List(key)) => Some(key.clone()),
        _ => None,
    }
}

/// Returns the word around a byte of a line, and whether it stands in quotes.
fn word(text: &str, start: usize, offset: usize) -> (Range<usize>, bool) {
    let line = text.get(start..).and_then(|rest| rest.split('\n').next()).unwrap_or("");
    let at = offset - start;
    let mut open = None;
    for (byte, letter) in line.char_indices() {
        match (letter, open) {
            ('"', None) => open = Some(byte + 1),
            ('"', Some(from)) => {
                if (from..=byte).contains(&at) {
                    return (start + from..start + byte, true);
                }
                open = None;
            }
            _ => {}
        }
    }
    if let Some(from) = open.filter(|from| *from <= at) {
        return (start + from..offset, true);
    }
    let part = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
    let before = line.get(..at).unwrap_or("");
    let behind = line.get(at..).unwrap_or("");
    let from = before
        .rfind(|c| !part(c))
        .map_or(0, |at| at + before.get(at..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8));
    let to = at + behind.find(|c| !part(c)).unwrap_or(behind.len());
    (start + from..start + to, false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> (String, Option<String>, String, bool) {
        let offset = text.find('^').unwrap_or(text.len());
        let text = text.replacen('^', "", 1);
        let cursor = at(&text, offset);
        (cursor.table.join("."), cursor.key, text[cursor.word].to_owned(), cursor.quoted)
    }

    #[test]
    fn table_key_and_word_are_known_while_somebody_types() {
        let key = |key: &str| Some(key.to_owned());
        assert_eq!(of("[[box]]\nro^"), ("box".into(), None, "ro".into(), false));
        assert_eq!(of("[[box]]\nroom = \"ki^"), ("box".into(), key("room"), "ki".into(), true));
        assert_eq!(of("[[box]]\nroom = \"ki^tchen\" # x"), ("box".into(), key("room"), "kitchen".into(), true));
        assert_eq!(of("[[cable]]\nto = { at = \"B1\", fi^"), ("cable.to".into(), None, "fi".into(), false));
        assert_eq!(of("[[device]]\ncontrols = [\"L1\", \"^"), ("device".into(), key("controls"), "".into(), true));
        assert_eq!(of("x = [\n[[room.wall]]\nna^me = 1"), ("room.wall".into(), None, "name".into(), false));
        assert_eq!(of("[site]\nname = \"a { b\"\nst^"), ("site".into(), None, "st".into(), false));
        assert_eq!(of("a = \"½\"\nb = ½^"), (String::new(), key("b"), "½".into(), false));
        assert_eq!(of("site.na^me = 1"), ("site".into(), None, "name".into(), false));
        assert_eq!(of("site.name = \"x^"), ("site".into(), key("name"), "x".into(), true));
        assert_eq!(of("[[trial]]\njob.box = [{ id = \"B1\", to^"), ("trial.job.box".into(), None, "to".into(), false));
        assert_eq!(of("[nm.sec^ured]"), ("nm.secured".into(), None, "secured".into(), false));
    }

    proptest::proptest! {
        #[test]
        fn no_text_and_no_place_is_too_much(text in "[a-z=\\[\\]{}\"'#.,½ \n]{0,60}", offset in 0usize..80) {
            let cursor = at(&text, offset);
            proptest::prop_assert!(text.get(cursor.word).is_some());
        }
    }
}
