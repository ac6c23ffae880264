//! What an editor asks of a place: help, where it comes from, what may be written.

use lsp_types::{CompletionItem, CompletionItemKind, Position};
use serde_json::{Value, json};

use super::desk::{Desk, Sort};
use super::{in_jobs, in_rules, positions};

/// Answers a request about a place; nothing where the request names none.
pub(super) fn of(desk: &mut Desk<'_>, method: &str, params: &Value) -> Option<Value> {
    let uri = params.pointer("/textDocument/uri")?.as_str()?;
    let at: Position = serde_json::from_value(params.get("position")?.clone()).ok()?;
    let Some(open) = desk.open.get(uri) else { return Some(Value::Null) };
    let (text, sort) = (open.text.clone(), open.sort.clone());
    let offset = positions::offset(&text, at);
    let is_rule = open.path.extension().is_some_and(|end| end == "rhai");
    let answer = match (sort, method) {
        (Sort::Job, "textDocument/hover") => in_jobs::hover(open, offset).map(hover),
        (Sort::Job, "textDocument/definition") => json(in_jobs::definition(open, offset)),
        (Sort::Job, _) => json(in_jobs::completion(open, offset)),
        (Sort::Book { id, .. }, method) if is_rule => {
            let inspector = desk.inspector().ok()?;
            match method {
                "textDocument/hover" => in_rules::hover(inspector, &id, &text, offset).map(hover),
                "textDocument/definition" => json(in_rules::definition(inspector, &id, &text, offset)),
                _ => json(in_rules::completion(inspector, &id, &text, offset)),
            }
        }
        _ => None,
    };
    Some(answer.unwrap_or(Value::Null))
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
