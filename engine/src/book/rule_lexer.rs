//! Finds its way through the text of a rule file without parsing it: comments, strings and braces.
//!
//! Rules are written in Rhai's syntax. Everything that decides here is ASCII, so that working on bytes never splits a character.

/// Marks that word processors put in the place of `"`.
pub(super) const CURLY: [char; 6] = ['“', '”', '„', '‟', '‘', '’'];

/// A walk through a text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lexer<'t> {
    text: &'t str,
    at: usize,
}

/// A piece of a rule's header.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Token<'t> {
    /// A word: letters, digits, `_`.
    Word(&'t str),
    /// A string, its escapes resolved.
    Text(String),
    /// A string that its line does not close.
    OpenText,
    /// `,`
    Comma,
    /// `{`
    Open,
    /// Any other character.
    Other,
    /// The end of the file.
    End,
}

/// What stands between two rules, defines or exceptions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Between<'t> {
    /// A line of guide text, without `///`.
    Guide(&'t str),
    /// Something else than a comment begins.
    Code,
    /// The end of the file.
    End,
}

/// How a block ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BlockEnd {
    /// With its `}`.
    Closed,
    /// The line of the next rule, define or exception began at this byte.
    Next(usize),
    /// The file ended.
    FileEnd,
}

impl<'t> Lexer<'t> {
    /// Begins at the start of a text, behind the mark of its encoding where some editor wrote one.
    pub(super) fn new(text: &'t str) -> Lexer<'t> {
        Lexer { text, at: if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 } }
    }

    /// Returns the byte that comes next.
    pub(super) fn at(&self) -> usize {
        self.at
    }

    /// Goes to the line that begins at a byte, or to the lines of guide text right above it.
    pub(super) fn go_to_with_guide(&mut self, line: usize) {
        let mut at = line.min(self.text.len());
        while let Some(before) = self.text.get(..at) {
            let above = before.trim_end_matches([' ', '\t']);
            let Some(lines) = above.strip_suffix('\n') else { break };
            let start = lines.rfind('\n').map_or(0, |end| end + 1);
            if !lines.get(start..).is_some_and(|line| line.trim_start().starts_with("///")) {
                break;
            }
            at = start;
        }
        self.go_to(at);
    }

    /// Goes to a byte.
    fn go_to(&mut self, at: usize) {
        self.at = at.min(self.text.len());
    }

    fn byte(&self, ahead: usize) -> Option<u8> {
        self.text.as_bytes().get(self.at + ahead).copied()
    }

    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn line(&self) -> &'t str {
        let rest = self.rest();
        let line = rest.find('\n').map_or(rest, |end| rest.get(..end).unwrap_or(rest));
        line.strip_suffix('\r').unwrap_or(line)
    }

    /// Skips to the next line of guide text, or to the next thing that is no comment.
    pub(super) fn between(&mut self) -> Between<'t> {
        loop {
            self.skip_spaces();
            let rest = self.rest();
            if rest.is_empty() {
                return Between::End;
            }
            if rest.starts_with("///") && !rest.starts_with("////") {
                let line = self.line();
                self.at += line.len();
                let text = line.get(3..).unwrap_or("");
                return Between::Guide(text.strip_prefix(' ').unwrap_or(text).trim_end());
            }
            if !self.skip_comment() {
                return Between::Code;
            }
        }
    }

    fn skip_spaces(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    /// Skips a comment that begins here, if one does. Block comments nest.
    fn skip_comment(&mut self) -> bool {
        let rest = self.rest();
        if rest.starts_with("//") {
            self.at += self.line().len();
            return true;
        }
        if !rest.starts_with("/*") {
            return false;
        }
        let mut depth = 0usize;
        while let Some(byte) = self.byte(0) {
            match (byte, self.byte(1)) {
                (b'/', Some(b'*')) => {
                    depth += 1;
                    self.at += 2;
                }
                (b'*', Some(b'/')) => {
                    depth -= 1;
                    self.at += 2;
                    if depth == 0 {
                        return true;
                    }
                }
                _ => self.at += 1,
            }
        }
        true
    }

    /// Returns the next piece of a header and where it begins.
    pub(super) fn token(&mut self) -> (Token<'t>, usize) {
        loop {
            self.skip_spaces();
            if !self.skip_comment() {
                break;
            }
        }
        let start = self.at;
        let rest = self.rest();
        let Some(first) = rest.chars().next() else { return (Token::End, start) };
        let token = match first {
            '"' => return (self.text_token(), start),
            ',' => Token::Comma,
            '{' => Token::Open,
            _ if is_word(first) => {
                let len = rest.find(|c: char| !is_word(c)).unwrap_or(rest.len());
                self.at += len;
                return (Token::Word(rest.get(..len).unwrap_or("")), start);
            }
            _ => Token::Other,
        };
        self.at += first.len_utf8();
        (token, start)
    }

    /// Skips what is joined to a word by hyphens: the rest of `2023-01-31`.
    pub(super) fn skip_joined(&mut self) {
        let rest = self.rest();
        self.at += rest.find(|c: char| !is_word(c) && c != '-').unwrap_or(rest.len());
    }

    fn text_token(&mut self) -> Token<'t> {
        self.at += 1;
        let mut text = String::new();
        let mut chars = self.rest().char_indices();
        while let Some((at, c)) = chars.next() {
            match c {
                '"' => {
                    self.at += at + 1;
                    return Token::Text(text);
                }
                '\n' => {
                    self.at += at;
                    return Token::OpenText;
                }
                '\\' => match chars.next() {
                    Some((_, 'n')) => text.push('\n'),
                    Some((_, 't')) => text.push('\t'),
                    Some((_, other)) => text.push(other),
                    None => break,
                },
                other => text.push(other),
            }
        }
        self.at = self.text.len();
        Token::OpenText
    }

    /// Skips to the end of a block whose `{` has just been passed. A line that begins like a rule, define or
    /// exception ends it too: none holds another, so the block was not closed.
    pub(super) fn skip_block(&mut self) -> BlockEnd {
        // Depths of the blocks of code under way; a text in back-ticks opens a new one at each `${`.
        let mut depths = vec![1usize];
        loop {
            // Most bytes of a block say nothing about where it ends.
            let rest = self.text.as_bytes().get(self.at..).unwrap_or_default();
            let Some(plain) = rest.iter().position(|&byte| TELLING[usize::from(byte)]) else {
                self.at = self.text.len();
                break;
            };
            self.at += plain;
            let Some(byte) = self.byte(0) else { break };
            if self.skip_comment() {
                continue;
            }
            match byte {
                b'{' => *depths.last_mut().unwrap_or(&mut 0) += 1,
                b'}' => {
                    if let Some(depth) = depths.last_mut() {
                        *depth -= 1;
                        if *depth == 0 {
                            depths.pop();
                            if depths.is_empty() {
                                self.at += 1;
                                return BlockEnd::Closed;
                            }
                            self.at += 1;
                            self.skip_back_tick(&mut depths);
                            continue;
                        }
                    }
                }
                b'"' => {
                    self.text_token();
                    continue;
                }
                b'#' if self.skip_raw_text() => continue,
                b'\'' if self.skip_character() => continue,
                b'`' => {
                    self.at += 1;
                    self.skip_back_tick(&mut depths);
                    continue;
                }
                b'\n' if self.rest().get(1..).is_some_and(begins_something) => return BlockEnd::Next(self.at + 1),
                _ => {}
            }
            self.at += 1;
        }
        BlockEnd::FileEnd
    }

    /// Skips a text in back-ticks up to its end, or into the code of its next `${`.
    fn skip_back_tick(&mut self, depths: &mut Vec<usize>) {
        while let Some(byte) = self.byte(0) {
            match (byte, self.byte(1)) {
                (b'`', _) => {
                    self.at += 1;
                    return;
                }
                (b'$', Some(b'{')) => {
                    self.at += 2;
                    depths.push(1);
                    return;
                }
                (b'\n', _) if self.rest().get(1..).is_some_and(begins_something) => return,
                _ => self.at += 1,
            }
        }
    }

    /// Skips a text such as `#"…"#`, if one begins here.
    fn skip_raw_text(&mut self) -> bool {
        let rest = self.rest();
        let hashes = rest.len() - rest.trim_start_matches('#').len();
        if rest.as_bytes().get(hashes) != Some(&b'"') {
            return false;
        }
        let end = format!("\"{}", "#".repeat(hashes));
        let inside = self.at + hashes + 1;
        let close = self.text.get(inside..).and_then(|rest| rest.find(&end));
        self.at = close.map_or(self.text.len(), |close| inside + close + end.len());
        true
    }

    /// Skips a character such as `'{'`, if one begins here.
    fn skip_character(&mut self) -> bool {
        let mut chars = self.rest().char_indices().skip(1);
        let mut inner = chars.next();
        if let Some((_, '\\')) = inner {
            inner = chars.next();
        }
        match (inner, chars.next()) {
            (Some((_, c)), Some((at, '\''))) if c != '\n' => {
                self.at += at + 1;
                true
            }
            _ => false,
        }
    }

    /// Skips to the next line that begins a rule, define or exception or its guide text, or to the end.
    pub(super) fn skip_to_next(&mut self) {
        loop {
            self.at += self.line().len();
            let rest = self.rest();
            if rest.is_empty() {
                return;
            }
            self.at += rest.find('\n').map_or(rest.len(), |end| end + 1);
            if begins_something(self.rest()) || self.rest().trim_start_matches([' ', '\t']).starts_with("///") {
                return;
            }
        }
    }
}

/// The bytes that may begin or end something in a block.
const TELLING: [bool; 256] = {
    let mut telling = [false; 256];
    let bytes = b"{}\"#'`\n/";
    let mut at = 0;
    while at < bytes.len() {
        telling[bytes[at] as usize] = true;
        at += 1;
    }
    telling
};

/// Returns whether a line begins with the header of a rule, define or exception.
fn begins_something(text: &str) -> bool {
    let line = text.trim_start_matches([' ', '\t']);
    let after = |word: &str| line.strip_prefix(word).filter(|rest| rest.starts_with([' ', '\t'])).map(str::trim_start);
    let quote = |rest: &str| rest.starts_with(|c| c == '"' || CURLY.contains(&c));
    after("rule").is_some_and(quote)
        || after("exception").is_some_and(quote)
        || after("define").is_some_and(|rest| rest.starts_with(char::is_alphabetic))
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(text: &str) -> (BlockEnd, &str) {
        let mut lexer = Lexer::new(text);
        let end = lexer.skip_block();
        (end, &text[lexer.at()..])
    }

    #[test]
    fn braces_in_texts_and_comments_do_not_count() {
        for inside in [
            "a { b } c",
            "\"}\" 'x' '}' '\\'' '{'",
            "\"a \\\" }\"",
            "// }\n /* } /* } */ } */",
            "`} ${ if x { \"}\" } else { `}` } } }`",
            "#\"}\"# ##\"}\"# }\"##",
            "#{ a: 1 }",
            "let o'clock = 1; '",
            "`${`${1}`}`",
        ] {
            let text = format!("{inside} }} rest");
            assert_eq!(block(&text), (BlockEnd::Closed, " rest"), "{inside}");
        }
    }

    #[test]
    fn a_block_that_is_not_closed_ends_at_the_next_rule() {
        let text = " if x { \n  keep a;\nrule \"next\" on box {}";
        let (end, _) = block(text);
        assert_eq!(end, BlockEnd::Next(text.find("rule").unwrap()));
        assert_eq!(block("{ \"").0, BlockEnd::FileEnd);
        assert_eq!(block("\n ruler \"x\" }").0, BlockEnd::Closed);
    }
}
