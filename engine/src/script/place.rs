//! Turns Rhai's lines and columns in one rule's text back into places in the ruleset file.

use rhai::Position;

use crate::source::Span;

/// The text of one rule and where it stands.
#[derive(Debug)]
pub(super) struct Places<'a> {
    text: &'a str,
    base: u32,
    lines: Vec<u32>,
}

impl<'a> Places<'a> {
    /// Returns the places of a rule whose text stands at `span`.
    pub(super) fn new(text: &'a str, span: Span) -> Places<'a> {
        let mut lines = vec![0];
        lines.extend(text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n').map(|(at, _)| at as u32 + 1));
        Places { text, base: span.start(), lines }
    }

    /// Returns the byte of the rule's text that a position means; its end for no position.
    pub(super) fn offset(&self, position: Position) -> usize {
        let (Some(line), Some(column)) = (position.line(), position.position()) else {
            return if position.line().is_some() { self.line(position) } else { self.text.len() };
        };
        let start = self.lines.get(line.saturating_sub(1)).map_or(self.text.len(), |&start| start as usize);
        let rest = self.text.get(start..).unwrap_or("");
        // Rhai counts characters, from one.
        start + rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(at, _)| at)
    }

    fn line(&self, position: Position) -> usize {
        let line = position.line().unwrap_or(1).saturating_sub(1);
        self.lines.get(line).map_or(self.text.len(), |&start| start as usize)
    }

    /// Returns the place of the token at a position.
    pub(super) fn token(&self, position: Position) -> Span {
        let start = self.offset(position);
        self.span(start, start + token_length(self.text.get(start..).unwrap_or("")))
    }

    /// Returns the text of the token at a position.
    pub(super) fn token_text(&self, position: Position) -> &'a str {
        let rest = self.text.get(self.offset(position)..).unwrap_or("");
        rest.get(..token_length(rest)).unwrap_or("")
    }

    /// Returns the place of the token at a position and the one behind it: a sign and its number.
    pub(super) fn two_tokens(&self, position: Position) -> Span {
        let start = self.offset(position);
        let first = token_length(self.text.get(start..).unwrap_or(""));
        let rest = self.text.get(start + first..).unwrap_or("");
        let gap = rest.len() - rest.trim_start().len();
        self.span(start, start + first + gap + token_length(rest.trim_start()))
    }

    /// Returns the place of the first `=` from a position on that stands alone.
    pub(super) fn lone_equals(&self, from: Position) -> Option<Span> {
        let start = self.offset(from);
        let bytes = self.text.as_bytes();
        let alone = |at: usize| {
            let beside = |other: Option<&u8>| other.is_some_and(|byte| matches!(byte, b'=' | b'!' | b'<' | b'>'));
            bytes.get(at) == Some(&b'=') && !beside(bytes.get(at + 1)) && !(at > 0 && beside(bytes.get(at - 1)))
        };
        (start..bytes.len()).find(|&at| alone(at)).map(|at| self.span(at, at + 1))
    }

    /// Returns the text at a place of this rule.
    pub(super) fn text(&self, span: Span) -> &'a str {
        let start = span.start().saturating_sub(self.base) as usize;
        self.text.get(start..start + span.len() as usize).unwrap_or("")
    }

    /// Returns the place from the start of one place to the next closing bracket behind another, both included.
    pub(super) fn until(&self, start: Span, from: Span, closing: char) -> Span {
        let after = from.end().saturating_sub(self.base) as usize;
        let rest = self.text.get(after..).unwrap_or("");
        let end = rest.find(closing).map_or(after, |at| after + at + closing.len_utf8());
        self.span(start.start().saturating_sub(self.base) as usize, end)
    }

    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.base + start as u32, (end - start) as u32)
    }
}

/// Returns the smallest place that holds two others.
pub(super) fn join(a: Span, b: Span) -> Span {
    match (a.is_some(), b.is_some()) {
        (true, true) => {
            let start = a.start().min(b.start());
            Span::new(start, a.end().max(b.end()) - start)
        }
        (true, false) => a,
        (false, _) => b,
    }
}

/// Returns the length in bytes of the token at the start of a text.
pub(super) fn token_length(text: &str) -> usize {
    let Some(first) = text.chars().next() else { return 0 };
    let name = |c: char| c.is_alphanumeric() || c == '_';
    if first.is_alphabetic() || first == '_' {
        return text.find(|c| !name(c)).unwrap_or(text.len());
    }
    if first.is_ascii_digit() {
        // The dot of `1.25` belongs to the number, that of `1.x` does not.
        let mut last = '0';
        let mut chars = text.char_indices().peekable();
        while let Some((at, c)) = chars.next() {
            let digit_follows = chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
            let goes_on =
                name(c) || (c == '.' && digit_follows) || (matches!(c, '+' | '-') && matches!(last, 'e' | 'E'));
            if !goes_on {
                return at;
            }
            last = c;
        }
        return text.len();
    }
    if matches!(first, '"' | '`') {
        let mut escaped = false;
        for (at, c) in text.char_indices().skip(1) {
            match c {
                _ if escaped => escaped = false,
                '\\' if first == '"' => escaped = true,
                '\n' if first == '"' => return at,
                _ if c == first => return at + 1,
                _ => {}
            }
        }
        return text.len();
    }
    if text.starts_with("===") || text.starts_with("!==") {
        return 3;
    }
    let two = ["==", "!=", "<=", ">=", "&&", "||", "=>", "??", "+=", "-=", "*=", "/=", "::", "..", "!i"];
    match text.get(..2) {
        Some("!i") => text.get(..3).filter(|&word| word == "!in").map_or(1, str::len),
        Some(pair) if two.contains(&pair) => 2,
        _ => first.len_utf8(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Files;

    #[test]
    fn positions_count_characters_and_become_bytes_of_the_file() {
        let mut files = Files::new();
        files.add("other", "x\n").unwrap();
        let file = files.add("a.rhai", "// ½ first\r\nrule \"½ in\" on box\n").unwrap();
        let start = file.text().find("rule").unwrap();
        let span = file.span(start..file.text().len());
        let places = Places::new(files.text(span), span);
        assert_eq!(files.text(places.token(Position::new(1, 1))), "rule");
        assert_eq!(files.text(places.token(Position::new(1, 6))), "\"½ in\"");
        assert_eq!(files.text(places.token(Position::new(1, 16))), "box");
        assert_eq!(files.text(places.token(Position::NONE)), "");
    }

    #[test]
    fn a_token_ends_where_it_ends() {
        let cases = [
            ("wiring_method != 1", "wiring_method"),
            ("1.25 * x", "1.25"),
            ("1.x", "1"),
            ("1e-3+2", "1e-3"),
            (r#""say \"no\"" else"#, r#""say \"no\"""#),
            ("\"open\nnext", "\"open"),
            ("!= 3", "!="),
            ("!in x", "!in"),
            ("!is_at", "!"),
            ("½", "½"),
        ];
        for (text, token) in cases {
            assert_eq!(&text[..token_length(text)], token, "{text}");
        }
    }
}
