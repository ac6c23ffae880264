//! Messages on the wire: a header with a length, then that many bytes of JSON.

use std::io::{BufRead, Read, Write};
use std::sync::mpsc::Sender;

use lsp_server::Message;
use serde_json::json;

/// More than any text that somebody edits; a length beyond it is a mistake.
const LONGEST: usize = 256 << 20;

/// What came from the client.
#[derive(Debug)]
pub(super) enum Incoming {
    /// A message.
    Message(Message),
    /// Bytes that are none, and why.
    Broken(String),
}

/// Reads messages until the input ends. What can't be read is passed on as such, and the next message is looked for.
pub(super) fn read_all(input: &mut impl BufRead, send: &Sender<Incoming>) {
    while let Some(next) = read(input) {
        if send.send(next).is_err() {
            return;
        }
    }
}

fn read(input: &mut impl BufRead) -> Option<Incoming> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        if input.by_ref().take(8192).read_until(b'\n', &mut line).ok()? == 0 {
            return None;
        }
        let text = String::from_utf8_lossy(&line);
        let text = text.trim();
        if text.is_empty() {
            match length {
                Some(_) => break,
                None => continue,
            }
        }
        if let Some((name, value)) = text.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse::<usize>().ok().filter(|length| *length <= LONGEST);
            if length.is_none() {
                return Some(Incoming::Broken(String::from("the length of the message can't be read")));
            }
        }
    }
    let mut body = vec![0; length?];
    input.read_exact(&mut body).ok()?;
    Some(match serde_json::from_slice(&body) {
        Ok(message) => Incoming::Message(message),
        Err(error) => Incoming::Broken(format!("the message can't be read: {error}")),
    })
}

/// Writes a message. A client that is gone ends the input as well, so that a failure needs no answer.
pub(super) fn write(message: &Message) {
    let mut out = std::io::stdout().lock();
    let _ = message.write(&mut out);
    let _ = out.flush();
}

/// Tells the client that what it sent is no message; nobody knows which request it was.
pub(super) fn complain(why: &str) {
    let code = lsp_server::ErrorCode::ParseError as i32;
    let body = json!({ "jsonrpc": "2.0", "id": null, "error": { "code": code, "message": why } }).to_string();
    let mut out = std::io::stdout().lock();
    let _ = write!(out, "Content-Length: {}\r\n\r\n{body}", body.len());
    let _ = out.flush();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_message_is_passed_by() {
        let good = r#"{"jsonrpc":"2.0","method":"exit"}"#;
        let text = format!(
            "\r\nContent-Length: 3\r\n\r\n{{]}}Content-Length: x\r\n\r\nnoise: 1\r\nContent-Length: {}\r\n\r\n{good}",
            good.len()
        );
        let (send, got) = std::sync::mpsc::channel();
        read_all(&mut text.as_bytes(), &send);
        drop(send);
        let kinds: Vec<bool> = got.iter().map(|one| matches!(one, Incoming::Message(_))).collect();
        assert_eq!(kinds, [false, false, true]);
    }
}
