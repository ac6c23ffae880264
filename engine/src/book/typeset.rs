//! Finds what word processors and web pages put in the place of plain characters: curly quotes, long dashes, spaces that are none.
//! A rule that holds one outside its texts and comments is told just that, and not what else follows from it.

use super::rule_lexer::{CURLY, Lexer};
use crate::problem::Problem;
use crate::source::File;

/// Goes on to the next thing of a rule file and returns the first such character of each line before it.
pub(super) fn up_to_next(file: &File, lexer: &mut Lexer<'_>) -> Vec<Problem> {
    let from = lexer.at();
    lexer.skip_to_next();
    let text = file.text().get(from..lexer.at()).unwrap_or("");
    let mut found = Vec::new();
    let mut start = from;
    for line in text.split_inclusive('\n') {
        if let Some((at, c)) = first(line) {
            let span = file.span(start + at..start + at + c.len_utf8());
            let (message, help) = match c {
                _ if CURLY.contains(&c) => (
                    format!("`{c}` is no quote of the rule language"),
                    "write the straight quote `\"` before and behind a text; a word processor makes curly ones of it",
                ),
                '–' | '—' | '−' => (format!("`{c}` is no minus or hyphen"), "write a plain `-`"),
                _ => (
                    String::from("this blank is no plain space"),
                    "delete it and press the space bar; such blanks come along when text is copied",
                ),
            };
            found.push(Problem::new(span, message).label("here").help(help));
        }
        start += line.len();
    }
    found
}

/// Returns the first character of a line that is not plain, outside texts and comments.
fn first(line: &str) -> Option<(usize, char)> {
    let is_odd = |c: char| CURLY.contains(&c) || matches!(c, '–' | '—' | '−') || (c.is_whitespace() && !c.is_ascii());
    let mut inside = None;
    let mut chars = line.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        match (c, inside) {
            ('"', None) => inside = Some(at),
            ('"', Some(_)) => inside = None,
            ('\\', Some(_)) => {
                chars.next();
            }
            ('/', None) if chars.peek().is_some_and(|(_, next)| *next == '/') => return None,
            (c, None) if is_odd(c) => return Some((at, c)),
            _ => {}
        }
    }
    // A text that its line does not close may have been meant to end at a curly quote.
    let open = inside?;
    let rest = line.get(open..)?;
    rest.char_indices().find(|(_, c)| CURLY.contains(c)).map(|(at, c)| (open + at, c))
}
