//! What an editor asks of a place: help, where it comes from, what may be written.

use std::path::Path;
use std::sync::Arc;

use lsp_types::{CompletionItem, CompletionItemKind, CompletionTextEdit, Position, TextEdit};
use serde_json::{Value, json};
use storystick_engine::book::Shelf;
use storystick_engine::model::Schema;
use storystick_engine::source::{Files, Span};

use super::desk::{Desk, Sort};
use super::known::Known;
use super::{in_book, in_jobs, in_rules, in_trials, positions};

/// A place in a text of a ruleset that something is asked about.
pub(super) struct Asked<'a> {
    /// The text as it is open.
    pub(super) text: &'a str,
    /// The byte.
    pub(super) offset: usize,
    /// The file.
    pub(super) path: &'a Path,
    /// The ruleset.
    pub(super) id: &'a str,
    /// Every ruleset.
    pub(super) shelf: &'a Shelf,
    /// The code that the ruleset is part of.
    pub(super) known: Option<&'a Known>,
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wish {
    Hover,
    Definition,
    Completion,
}

/// Answers a request about a place; nothing where the request names none.
pub(super) fn of(desk: &mut Desk<'_>, method: &str, params: &Value) -> Option<Value> {
    let uri = params.pointer("/textDocument/uri")?.as_str()?;
    let at: Position = serde_json::from_value(params.get("position")?.clone()).ok()?;
    let wish = match method {
        "textDocument/hover" => Wish::Hover,
        "textDocument/definition" => Wish::Definition,
        _ => Wish::Completion,
    };
    let Some(open) = desk.open.get(uri) else { return Some(Value::Null) };
    let offset = positions::offset(&open.text, at);
    let answer = match open.sort.clone() {
        Sort::Job => match wish {
            Wish::Hover => in_jobs::hover(&kinds(desk), open, offset).map(hover),
            Wish::Definition => places(desk, in_jobs::definition(open, offset)),
            Wish::Completion => json(in_jobs::completion(&kinds(desk), open, offset)),
        },
        Sort::Book { id, .. } => in_ruleset(desk, uri, &id, offset, wish),
        Sort::Other => None,
    };
    Some(answer.unwrap_or(Value::Null))
}

/// Returns the table of kinds, with what the rulesets declare.
fn kinds(desk: &Desk<'_>) -> Arc<Schema> {
    desk.built().map_or_else(|| Arc::new(Schema::dwelling()), |inspector| Arc::clone(inspector.shelf().schema()))
}

fn in_ruleset(desk: &mut Desk<'_>, uri: &str, id: &str, offset: usize, wish: Wish) -> Option<Value> {
    desk.learn(id);
    desk.inspector().ok()?;
    let (text, path) = desk.open.get(uri).map(|open| (open.text.clone(), open.path.clone()))?;
    let asked = Asked { text: &text, offset, path: &path, id, shelf: desk.built()?.shelf(), known: desk.known.get(id) };
    let is_rule = path.extension().is_some_and(|end| end == "rhai");
    let is_trial = path.parent().and_then(Path::file_name).is_some_and(|folder| folder == "trials");
    let manifest = path.file_name().is_some_and(|name| name == "ruleset.toml");
    match wish {
        Wish::Hover if is_rule => in_rules::hover(&asked).map(hover),
        Wish::Hover if is_trial => in_trials::hover(&asked).map(hover),
        Wish::Hover => in_book::hover(&asked, manifest).map(hover),
        Wish::Definition => {
            let found = match () {
                () if is_rule => in_rules::definition(&asked),
                () if is_trial => in_trials::definition(&asked),
                () => in_book::definition(&asked, manifest),
            };
            places(desk, found)
        }
        Wish::Completion if is_rule => json(in_rules::completion(&asked)),
        Wish::Completion if is_trial => json(in_trials::completion(&asked)),
        Wish::Completion => json(in_book::completion(&asked, manifest)),
    }
}

fn places(desk: &Desk<'_>, spans: Vec<(Span, Files)>) -> Option<Value> {
    let mut places: Vec<lsp_types::Location> = Vec::new();
    for place in spans.iter().filter_map(|(span, files)| desk.location(files, *span)) {
        if !places.contains(&place) {
            places.push(place);
        }
    }
    json(places)
}

fn json(answer: impl serde::Serialize) -> Option<Value> {
    serde_json::to_value(answer).ok()
}

fn hover(text: String) -> Value {
    json!({ "contents": { "kind": "markdown", "value": text } })
}

/// Returns an offer of a word.
pub(super) fn offer(label: &str, kind: CompletionItemKind, detail: &str) -> CompletionItem {
    let detail = Some(detail.to_owned()).filter(|detail| !detail.is_empty());
    CompletionItem { label: label.to_owned(), kind: Some(kind), detail, ..CompletionItem::default() }
}

/// Returns the edit that puts a text over a range of bytes: an editor's own idea of a word ends at a dot.
pub(super) fn over(text: &str, range: std::ops::Range<usize>, new: &str) -> CompletionTextEdit {
    CompletionTextEdit::Edit(TextEdit { range: positions::range_in(text, range), new_text: new.to_owned() })
}
