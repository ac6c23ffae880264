//! Places as an editor counts them, and files as it names them.
//!
//! An editor counts lines from nothing and, in a line, the 16-bit units of UTF-16.

use std::path::{Path, PathBuf};

use lsp_types::{Position, Range};
use storystick_engine::source::{File, Span};

/// Returns the byte of a position; past the end of its line it is the end of the line.
pub(super) fn offset(text: &str, at: Position) -> usize {
    let mut start = 0;
    for _ in 0..at.line {
        match text.get(start..).and_then(|rest| rest.find('\n')) {
            Some(end) => start += end + 1,
            None => return text.len(),
        }
    }
    let line = text.get(start..).unwrap_or("").split('\n').next().unwrap_or("").trim_end_matches('\r');
    let mut units = 0;
    for (byte, letter) in line.char_indices() {
        if units >= at.character as usize {
            return start + byte;
        }
        units += letter.len_utf16();
    }
    start + line.len()
}

/// Returns the position of a byte of a file.
fn position(file: &File, byte: u32) -> Position {
    let line = file.line_of(byte);
    let before = file.text().get(file.line_start(line) as usize..byte as usize).unwrap_or("");
    Position::new(line as u32, before.encode_utf16().count() as u32)
}

/// Returns the range of a span of a file.
pub(super) fn range(file: &File, span: Span) -> Range {
    let start = span.start().saturating_sub(file.base());
    Range::new(position(file, start), position(file, start + span.len()))
}

/// Returns the range of bytes of a text.
pub(super) fn range_in(text: &str, bytes: std::ops::Range<usize>) -> Range {
    Range::new(position_in(text, bytes.start), position_in(text, bytes.end))
}

/// Returns the position of a byte of a text.
pub(super) fn position_in(text: &str, byte: usize) -> Position {
    let before = text.get(..byte).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let column = before.get(start..).unwrap_or("").encode_utf16().count();
    Position::new(before.matches('\n').count() as u32, column as u32)
}

/// Returns the file of a `file:` address.
pub(super) fn path_of(uri: &str) -> Option<PathBuf> {
    let rest = uri.strip_prefix("file://")?;
    // The name of a machine, mostly left out.
    let path = rest.get(rest.find('/')?..)?;
    let mut bytes = Vec::new();
    let mut letters = path.bytes();
    while let Some(letter) = letters.next() {
        if letter == b'%' {
            let pair = [letters.next()?, letters.next()?];
            bytes.push(u8::from_str_radix(std::str::from_utf8(&pair).ok()?, 16).ok()?);
        } else {
            bytes.push(letter);
        }
    }
    let path = String::from_utf8(bytes).ok()?;
    // `/C:/jobs` on Windows.
    let drive = path.get(1..).filter(|rest| cfg!(windows) && rest.as_bytes().get(1) == Some(&b':'));
    Some(PathBuf::from(drive.unwrap_or(&path)))
}

/// Returns the address of a file.
pub(super) fn uri_of(path: &Path) -> String {
    let text = path.to_string_lossy().replace('\\', "/");
    let mut uri = String::from(if text.starts_with('/') { "file://" } else { "file:///" });
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' | b'~' => uri.push(char::from(byte)),
            other => uri.push_str(&format!("%{other:02X}")),
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use super::*;
    use storystick_engine::source::Files;

    #[test]
    fn positions_count_units_of_utf_16() {
        let text = "a\r\n½𝄞x\n";
        let mut files = Files::new();
        let file = files.add("a", text).unwrap_or_else(|_| unreachable!());
        let at = text.find('x').unwrap_or(0);
        let there = range(&file, file.span(at..at + 1));
        assert_eq!((there.start, there.end), (Position::new(1, 3), Position::new(1, 4)));
        assert_eq!(offset(text, there.start), at);
        assert_eq!(offset(text, Position::new(0, 99)), 1, "before the line's end");
        assert_eq!(offset(text, Position::new(9, 0)), text.len());
    }

    #[test]
    fn an_address_goes_there_and_back() {
        let path = Path::new("/jobs/7 Alder Row/½.toml");
        assert_eq!(uri_of(path), "file:///jobs/7%20Alder%20Row/%C2%BD.toml");
        assert_eq!(path_of(&uri_of(path)).as_deref(), Some(path));
        assert_eq!(path_of("untitled:1"), None);
        assert_eq!(path_of("file:///a%zz"), None);
    }
}
