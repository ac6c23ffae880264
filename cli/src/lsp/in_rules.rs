//! Help, places and completion in rule files.

use lsp_types::{CompletionItem, CompletionItemKind};
use storystick_engine::model::{KindId, Schema, Type};
use storystick_engine::source::{Files, Span};

use super::answers::{Asked, offer};
use super::in_jobs::held;
use super::known;

/// Returns what an entry is and who set it, or what a field is.
pub(super) fn hover(asked: &Asked<'_>) -> Option<String> {
    let (text, offset) = (asked.text, asked.offset);
    let chain = chain_around(text, offset);
    if let Some(key) = chain.strip_prefix("code.") {
        return known::entry(asked.known?, key);
    }
    let (before, name) = chain.rsplit_once('.')?;
    let schema = asked.shelf.schema();
    let kind = kind_of_chain(schema, text, offset, before)?;
    let field = schema.field_spec(kind, schema.field(kind, name)?);
    Some(format!("**{name}** ({})\n\n{}", held(&field.ty), field.doc))
}

/// Returns the line that set an entry last, and the lines before it.
pub(super) fn definition(asked: &Asked<'_>) -> Vec<(Span, Files)> {
    let chain = chain_around(asked.text, asked.offset);
    let Some((key, known)) = chain.strip_prefix("code.").zip(asked.known) else { return Vec::new() };
    known.entry_places(key).into_iter().map(|span| (span, known.files.clone())).collect()
}

/// Returns the entries behind `code.`, the fields behind an item, or the words of the language.
pub(super) fn completion(asked: &Asked<'_>) -> Vec<CompletionItem> {
    let (text, offset) = (asked.text, asked.offset);
    let chain = chain_before(text, offset);
    if let Some(begun) = chain.strip_prefix("code.") {
        let Some(known) = asked.known else { return Vec::new() };
        // An editor completes the last part of a name: what stands before it is there already.
        let prefix = begun.rsplit_once('.').map_or(String::new(), |(prefix, _)| format!("{prefix}."));
        let mut offers: Vec<CompletionItem> = Vec::new();
        for entry in known.book.all_entries() {
            if let Some(rest) = entry.key.strip_prefix(&prefix) {
                let shown = known.book.shown(entry);
                let detail = shown.value.unwrap_or(shown.holds);
                offers.push(offer(rest, CompletionItemKind::CONSTANT, &detail));
            }
        }
        return offers;
    }
    let schema = asked.shelf.schema();
    if let Some((before, _)) = chain.rsplit_once('.') {
        let Some(kind) = kind_of_chain(schema, text, offset, before) else { return Vec::new() };
        let fields = schema.spec(kind).fields.iter();
        return fields.map(|field| offer(field.name, CompletionItemKind::FIELD, field.doc)).collect();
    }
    let words = [
        "keep", "need", "look", "skip", "let", "if", "else", "at_most", "at_least", "between", "equal_to", "one_of",
        "any", "every", "count", "sum", "least", "most", "where", "of", "in", "known", "min", "max", "code", "site",
    ];
    let mut offers: Vec<CompletionItem> = words.map(|word| offer(word, CompletionItemKind::KEYWORD, "")).into();
    let kind = rule_kind(schema, text, offset);
    offers.extend(kind.map(|kind| offer(schema.spec(kind).word, CompletionItemKind::VARIABLE, schema.spec(kind).doc)));
    offers
}

fn is_part(letter: char) -> bool {
    letter.is_ascii_alphanumeric() || letter == '_' || letter == '.'
}

/// Returns the dotted name that ends at a byte.
fn chain_before(text: &str, offset: usize) -> &str {
    let before = text.get(..offset).unwrap_or("");
    before.get(before.trim_end_matches(is_part).len()..).unwrap_or("")
}

/// Returns the dotted name around a byte. An entry's name is one thing; of a chain of fields it ends with the part under the byte.
fn chain_around(text: &str, offset: usize) -> String {
    let behind = text.get(offset..).unwrap_or("");
    let rest = behind.get(..behind.find(|c| !is_part(c)).unwrap_or(behind.len())).unwrap_or("");
    let before = chain_before(text, offset);
    let whole = format!("{before}{rest}");
    if whole.starts_with("code.") { whole } else { format!("{before}{}", rest.split('.').next().unwrap_or(rest)) }
}

/// Returns the kind of items that the rule around a byte looks at.
fn rule_kind(schema: &Schema, text: &str, offset: usize) -> Option<KindId> {
    let before = text.get(..offset)?;
    let header = before.get(before.rfind("rule \"")?..)?;
    let mut words = header.split_whitespace();
    words.find(|word| *word == "on")?;
    schema.kind(words.next()?)
}

/// Returns the kind of the item that a chain of links leads to.
fn kind_of_chain(schema: &Schema, text: &str, offset: usize, chain: &str) -> Option<KindId> {
    kind_of(schema, text, offset, chain, 0)
}

fn kind_of(schema: &Schema, text: &str, offset: usize, chain: &str, depth: usize) -> Option<KindId> {
    let mut parts = chain.split('.');
    let first = parts.next()?;
    let mut kind = start(schema, text, offset, first, depth)?;
    for part in parts {
        kind = leads_to(schema, &schema.field_spec(kind, schema.field(kind, part)?).ty)?;
    }
    Some(kind)
}

fn leads_to(schema: &Schema, ty: &Type) -> Option<KindId> {
    match ty {
        Type::Item(kind) => schema.kind(kind),
        Type::List(member) => leads_to(schema, member),
        _ => None,
    }
}

/// Returns the kind of what a name stands for: the item of the rule, the site, a quantifier's own name, or a `let`.
fn start(schema: &Schema, text: &str, offset: usize, name: &str, depth: usize) -> Option<KindId> {
    if name == "site" {
        return schema.kind("site");
    }
    let of_rule = rule_kind(schema, text, offset);
    if of_rule.is_some_and(|kind| schema.spec(kind).word == name) {
        return of_rule;
    }
    if depth > 8 {
        return None;
    }
    let before = text.get(..offset)?;
    let rule = before.rfind("rule \"").unwrap_or(0);
    let words: Vec<&str> =
        before.get(rule..)?.split(|c: char| !is_part(c) && c != '=').filter(|word| !word.is_empty()).collect();
    // `any d in room.devices`, `let box = end.box`; the latest one stands.
    let at = words
        .windows(3)
        .rposition(|three| three.first() == Some(&name) && matches!(three.get(1), Some(&"in" | &"=")))?;
    let chain = words.get(at + 2)?;
    kind_of(schema, text, offset, chain, depth + 1)
}
