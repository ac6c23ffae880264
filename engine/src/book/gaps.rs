//! Entries that are not in force on the day that counts although something in force reads them.

use jiff::civil::Date;

use super::days;
use super::entries::Entries;
use super::rule_lexer::{Lexer, Token};
use crate::problem::Problem;
use crate::source::{Files, Span};

/// Something in force that may read entries: a rule, a shared condition, an exception.
pub(super) struct Reader {
    /// What it is called: ``rule `nm-secured-at-box` ``.
    pub(super) called: String,
    /// Where its name is written.
    pub(super) name: Span,
    /// Its block.
    pub(super) body: Span,
}

/// An entry of other days.
#[derive(Clone, Debug)]
pub(super) struct Off {
    /// Where it is written.
    pub(super) span: Span,
    /// The layer that sets it on its days.
    pub(super) layer: usize,
    pub(super) from: Option<Date>,
    pub(super) until: Option<Date>,
}

/// Reports each entry that is not in force and is read, at its line, with the first reader. `day` gives the day that counts
/// for a layer.
pub(super) fn check(
    entries: &Entries<'_>,
    readers: impl Iterator<Item = Reader>,
    files: &Files,
    day: impl Fn(usize) -> Date,
    problems: &mut Vec<Problem>,
) {
    let mut missing: Vec<(&str, &Off)> = entries.missing().collect();
    if missing.is_empty() {
        return;
    }
    for reader in readers {
        let text = files.text(reader.body);
        missing.retain(|(key, off)| {
            let reads = text.contains(key) && names(text).any(|name| name == *key);
            if reads {
                let on = day(off.layer);
                let message = format!("entry `{key}` is not in force on {on}, and {} reads it", reader.called);
                problems.push(
                    Problem::new(off.span, message)
                        .label(format!("in force {}", days::in_words(off.from, off.until)))
                        .mark(reader.name, "reads it")
                        .help("let a value follow or come before it, or give the rule the same days in its header"),
                );
            }
            !reads
        });
    }
}

/// Returns the names behind `code.` in a block, comments and texts left out.
fn names(block: &str) -> impl Iterator<Item = String> {
    let mut lexer = Lexer::new(block);
    std::iter::from_fn(move || {
        loop {
            match lexer.token().0 {
                Token::End => return None,
                Token::Word("code") => {}
                _ => continue,
            }
            let mut name = String::new();
            loop {
                let mut ahead = lexer;
                let (dot, at) = ahead.token();
                if dot != Token::Other || !block.get(at..).is_some_and(|rest| rest.starts_with('.')) {
                    break;
                }
                let Token::Word(part) = ahead.token().0 else { break };
                if !name.is_empty() {
                    name.push('.');
                }
                name.push_str(part);
                lexer = ahead;
            }
            return Some(name);
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_read_where_they_are_named_outside_texts_and_comments() {
        let block = r#"{ keep a at_most code.nm.hole + code.a.b[x.c]; // code.not.this
            look "code.not.that"; let code = decode.x; need code . wide . open; }"#;
        let found: Vec<String> = names(block).collect();
        assert_eq!(found, ["nm.hole", "a.b", "", "wide.open"]);
    }
}
