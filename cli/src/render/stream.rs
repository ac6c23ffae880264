//! Lists of JSON that are written as their members come, so that a batch holds no more than it is working on.
//!
//! Byte for byte it is what the list printed as a whole would be, as a value of the outermost object.

use std::io::{self, Write};

use serde::Serialize;

/// Returns a member of the list as it is printed inside of it.
pub(crate) fn member(value: &impl Serialize) -> String {
    let mut text = Inside(Vec::with_capacity(64 * 1024));
    match serde_json::to_writer_pretty(&mut text, value) {
        Ok(()) => String::from_utf8(text.0).unwrap_or_default(),
        Err(_) => String::new(),
    }
}

/// Indents what is written into it as the member of a list of the outermost object.
struct Inside(Vec<u8>);

impl Write for Inside {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.write_all(bytes)?;
        Ok(bytes.len())
    }

    fn write_all(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.extend_from_slice(bytes);
        // A text in JSON holds no line break: each one is between two values, and ends what is written in one go.
        if bytes.last() == Some(&b'\n') {
            self.0.extend_from_slice(b"    ");
        }
        Ok(())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Returns what comes before a member.
pub(crate) fn before(first: bool) -> &'static str {
    if first { "\n    " } else { ",\n    " }
}

/// Returns the end of a list.
pub(crate) fn end(empty: bool) -> &'static str {
    if empty { "]" } else { "\n  ]" }
}

#[cfg(test)]
mod tests {
    use super::{before, end, member};

    #[test]
    fn members_that_come_one_by_one_make_the_list_as_it_is_printed_whole() {
        let all = [serde_json::json!({ "a": [1, { "b": "x\ny" }], "c": [] }), serde_json::json!("z")];
        for some in [&all[..0], &all[..1], &all[..]] {
            let mut text = String::from("{\n  \"list\": [");
            for (at, value) in some.iter().enumerate() {
                text.push_str(before(at == 0));
                text.push_str(&member(value));
            }
            text = text + end(some.is_empty()) + "\n}";
            assert_eq!(text, serde_json::to_string_pretty(&serde_json::json!({ "list": some })).unwrap());
        }
    }
}
