//! `lsp`: serves an editor over standard input and output.
//!
//! One thread reads messages, one answers them. What is typed while an answer is being worked out is taken together, so that
//! findings are always those of the latest text. Nothing that a client sends ends the server but `exit` and the end of its input.

mod answers;
mod book_files;
mod by_schema;
mod carried;
mod cursor;
mod desk;
mod in_book;
mod in_jobs;
mod in_rules;
mod in_trials;
mod job_files;
mod known;
mod positions;
mod shipped;
mod wire;

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use lsp_server::{ErrorCode, Message, Notification, Request, Response};
use serde_json::{Value, json};

use crate::Status;
use crate::args::Common;
use desk::Desk;
use wire::Incoming;

/// Serves until the client leaves.
pub(crate) fn serve(common: &Common) -> Status {
    let (send, messages) = channel();
    let reader = std::thread::Builder::new().spawn(move || wire::read_all(&mut std::io::stdin().lock(), &send));
    if reader.is_err() {
        return Status::Fault;
    }
    Server { desk: Desk::new(common), phase: Phase::Asleep }.run(&messages)
}

/// How far the conversation has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// Before `initialize`.
    Asleep,
    /// At work.
    Awake,
    /// After `shutdown`.
    Done,
}

struct Server<'a> {
    desk: Desk<'a>,
    phase: Phase,
}

impl Server<'_> {
    fn run(&mut self, messages: &Receiver<Incoming>) -> Status {
        let mut come: VecDeque<Incoming> = VecDeque::new();
        loop {
            // Findings wait until nothing more has come.
            let next = match come.pop_front().map_or_else(|| messages.try_recv(), Ok) {
                Ok(next) => next,
                Err(TryRecvError::Empty) => {
                    let mut quiet = || {
                        come.extend(messages.try_iter());
                        come.is_empty()
                    };
                    if let Some(shown) = self.desk.work(&mut quiet) {
                        shown.iter().for_each(|(uri, said)| publish(uri, said));
                        continue;
                    }
                    match come.pop_front().map_or_else(|| messages.recv(), Ok) {
                        Ok(next) => next,
                        Err(_) => return self.leave(),
                    }
                }
                Err(TryRecvError::Disconnected) => return self.leave(),
            };
            match next {
                Incoming::Broken(why) => wire::complain(&why),
                Incoming::Message(Message::Request(request)) => wire::write(&Message::Response(self.answer(request))),
                Incoming::Message(Message::Notification(note)) if note.method == "exit" => return self.leave(),
                Incoming::Message(Message::Notification(note)) => self.take(&note),
                Incoming::Message(Message::Response(_)) => {}
            }
        }
    }

    fn leave(&self) -> Status {
        if self.phase == Phase::Done { Status::Clean } else { Status::Corrections }
    }

    fn answer(&mut self, request: Request) -> Response {
        let Request { id, method, params } = request;
        let refused = |code: ErrorCode, why: &str| Response::new_err(id.clone(), code as i32, why.to_owned());
        match (self.phase, method.as_str()) {
            (Phase::Asleep, "initialize") => {
                self.phase = Phase::Awake;
                Response::new_ok(id, abilities())
            }
            (Phase::Asleep, _) => refused(ErrorCode::ServerNotInitialized, "`initialize` comes first"),
            (Phase::Done, _) => refused(ErrorCode::InvalidRequest, "the server was shut down"),
            (_, "initialize") => refused(ErrorCode::InvalidRequest, "the server is initialized already"),
            (_, "shutdown") => {
                self.phase = Phase::Done;
                Response::new_ok(id, Value::Null)
            }
            (_, "textDocument/hover" | "textDocument/definition" | "textDocument/completion") => {
                match answers::of(&mut self.desk, &method, &params) {
                    Some(answer) => Response::new_ok(id, answer),
                    None => refused(ErrorCode::InvalidParams, "a document and a position are needed"),
                }
            }
            _ => refused(ErrorCode::MethodNotFound, &format!("nothing is known of `{method}`")),
        }
    }

    fn take(&mut self, note: &Notification) {
        let text = |path: &str| note.params.pointer(path).and_then(Value::as_str);
        let Some(uri) = text("/textDocument/uri") else { return };
        match note.method.as_str() {
            "textDocument/didOpen" => self.desk.put(uri, text("/textDocument/text").unwrap_or_default()),
            "textDocument/didChange" => {
                let changes = note.params.pointer("/contentChanges").and_then(Value::as_array);
                // The whole text comes each time; the last one stands.
                let last = changes.and_then(|changes| changes.last()).and_then(|change| change.get("text")?.as_str());
                if let Some(text) = last {
                    self.desk.change(uri, text);
                }
            }
            "textDocument/didSave" => self.desk.saved(uri),
            "textDocument/didClose" => self.desk.close(uri),
            _ => {}
        }
    }
}

fn publish(uri: &str, diagnostics: &[lsp_types::Diagnostic]) {
    let params = json!({ "uri": uri, "diagnostics": diagnostics });
    let method = String::from("textDocument/publishDiagnostics");
    wire::write(&Message::Notification(Notification::new(method, params)));
}

fn abilities() -> Value {
    json!({
        "capabilities": {
            "positionEncoding": "utf-16",
            "textDocumentSync": { "openClose": true, "change": 1, "save": true },
            "hoverProvider": true,
            "definitionProvider": true,
            "completionProvider": { "triggerCharacters": [".", "\"", "=", " "] },
        },
        "serverInfo": { "name": "storystick", "version": env!("CARGO_PKG_VERSION") },
    })
}
