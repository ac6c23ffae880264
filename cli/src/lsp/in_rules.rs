//! Help, places and completion in rule files.

use lsp_types::{CompletionItem, CompletionItemKind};
use storystick_engine::model::{KindId, Schema, Type};
use storystick_engine::source::{Files, Span};

use super::answers::{Asked, offer};
use super::in_jobs::held;
use super::known;

/// The rule, shared condition or exception around a byte.
struct Here<'a> {
    schema: &'a Schema,
    text: &'a str,
    offset: usize,
    /// Where it begins.
    begins: usize,
    /// The kind of items that it looks at.
    kind: Option<KindId>,
}

impl<'a> Here<'a> {
    fn of(asked: &'a Asked<'_>) -> Here<'a> {
        let (schema, text, offset) = (&**asked.shelf.schema(), asked.text, asked.offset);
        let before = text.get(..offset).unwrap_or("");
        let last = ["rule \"", "define ", "exception \""].into_iter().filter_map(|word| {
            let at = before.rfind(&format!("\n{word}")).map(|at| at + 1);
            at.or_else(|| before.starts_with(word).then_some(0)).map(|at| (at, word))
        });
        let Some((begins, word)) = last.max() else { return Here { schema, text, offset, begins: 0, kind: None } };
        let header = text.get(begins..).unwrap_or("");
        let mut words = header.split_whitespace();
        let kind = if word == "exception \"" {
            // The item is that of the rule.
            words.find(|word| *word == "to");
            let id = words.next().map(|id| id.trim_matches('"'));
            id.zip(asked.known).and_then(|(id, known)| known.rule(id)).map(|rule| rule.kind)
        } else {
            words.find(|word| *word == "on");
            words.next().and_then(|kind| schema.kind(kind))
        };
        Here { schema, text, offset, begins, kind }
    }
}

/// Returns what an entry is and who set it, or what a field, a shared condition or a rule is.
pub(super) fn hover(asked: &Asked<'_>) -> Option<String> {
    let (text, offset) = (asked.text, asked.offset);
    if let Some(rule) = quoted_around(text, offset).zip(asked.known).and_then(|(id, known)| known::rule(known, id)) {
        return Some(rule);
    }
    let chain = chain_around(text, offset);
    if let Some(key) = chain.strip_prefix("code.") {
        return known::entry(asked.known?, key);
    }
    let (before, name) = chain.rsplit_once('.')?;
    let here = Here::of(asked);
    let kind = kind_of_chain(&here, before)?;
    if let Some(define) = asked.known.and_then(|known| known.book.define(kind, name)) {
        let source = &define.source;
        return Some(format!("**{name}** · {} · {}\n\n{}", source.ruleset, source.cites, source.doc));
    }
    let field = here.schema.field_spec(kind, here.schema.field(kind, name)?);
    Some(format!("**{name}** ({})\n\n{}", held(&field.ty), field.doc))
}

/// Returns the line that set an entry last, and the lines before it; the line of a shared condition or of a rule.
pub(super) fn definition(asked: &Asked<'_>) -> Vec<(Span, Files)> {
    let Some(known) = asked.known else { return Vec::new() };
    let with_files = |span: Span| (span, known.files.clone());
    if let Some(rule) = quoted_around(asked.text, asked.offset).and_then(|id| known.rule(id)) {
        return vec![with_files(rule.id_span)];
    }
    let chain = chain_around(asked.text, asked.offset);
    if let Some(key) = chain.strip_prefix("code.") {
        return known.entry_places(key).into_iter().map(with_files).collect();
    }
    let Some((before, name)) = chain.rsplit_once('.') else { return Vec::new() };
    let kind = kind_of_chain(&Here::of(asked), before);
    let define = kind.and_then(|kind| known.book.define(kind, name));
    define.map(|define| with_files(define.source.name_span)).into_iter().collect()
}

/// The words with which statements and expressions are written.
const WORDS: [&str; 49] = [
    "presume",
    "is",
    "because",
    "applies",
    "includes",
    "faults",
    "existing",
    "work",
    "except",
    "named",
    "from",
    "until",
    "where",
    "keep",
    "need",
    "look",
    "let",
    "if",
    "else",
    "at_most",
    "at_least",
    "between",
    "and",
    "equal_to",
    "one_of",
    "any",
    "every",
    "count",
    "sum",
    "least",
    "most",
    "nearest",
    "farthest",
    "distinct",
    "of",
    "in",
    "or",
    "fail",
    "met",
    "none",
    "true",
    "false",
    "min",
    "max",
    "distance",
    "code",
    "site",
    "define",
    "exception",
];

/// Returns the entries behind `code.`, the fields and shared conditions behind an item, the rules in quotes, or the words of
/// the language.
pub(super) fn completion(asked: &Asked<'_>) -> Vec<CompletionItem> {
    let (text, offset) = (asked.text, asked.offset);
    if let Some(before) = in_header_quotes(text, offset) {
        let Some(known) = asked.known.filter(|_| matches!(before, "to" | "replaces")) else { return Vec::new() };
        let rules = known.book.rules.iter().rev();
        return rules.map(|rule| offer(&rule.source.id, CompletionItemKind::REFERENCE, &rule.source.cites)).collect();
    }
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
    let here = Here::of(asked);
    let schema = here.schema;
    if let Some((before, _)) = chain.rsplit_once('.') {
        let Some(kind) = kind_of_chain(&here, before) else { return Vec::new() };
        let fields = schema.spec(kind).fields.iter();
        let fields = fields.map(|field| offer(field.name, CompletionItemKind::FIELD, field.doc));
        let defines = asked.known.into_iter().flat_map(|known| &known.book.defines);
        let defines = defines.filter(|define| define.source.kind == kind);
        let defines =
            defines.map(|define| offer(&define.source.name, CompletionItemKind::FUNCTION, &define.source.doc));
        return fields.chain(defines).collect();
    }
    let mut offers: Vec<CompletionItem> = WORDS.map(|word| offer(word, CompletionItemKind::KEYWORD, "")).into();
    let kind = here.kind;
    offers.extend(kind.map(|kind| offer(schema.spec(kind).word, CompletionItemKind::VARIABLE, schema.spec(kind).doc)));
    offers
}

/// Returns the text in quotes around a byte of a line.
fn quoted_around(text: &str, offset: usize) -> Option<&str> {
    let start = text.get(..offset)?.rfind('\n').map_or(0, |at| at + 1);
    let before = text.get(start..offset)?;
    (before.matches('"').count() % 2 == 1).then_some(())?;
    let from = start + before.rfind('"')? + 1;
    text.get(from..)?.split(['"', '\n']).next()
}

/// Returns the word before the quotes that a byte stands in, where that is a clause of a header.
fn in_header_quotes(text: &str, offset: usize) -> Option<&str> {
    let start = text.get(..offset)?.rfind('\n').map_or(0, |at| at + 1);
    let before = text.get(start..offset)?;
    let header = ["rule \"", "exception \""].iter().any(|word| before.trim_start().starts_with(word));
    (header && before.matches('"').count() % 2 == 1).then_some(())?;
    before.get(..before.rfind('"')?)?.split_whitespace().next_back()
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

/// Returns the kind of the item that a chain of links leads to.
fn kind_of_chain(here: &Here<'_>, chain: &str) -> Option<KindId> {
    kind_of(here, chain, 0)
}

fn kind_of(here: &Here<'_>, chain: &str, depth: usize) -> Option<KindId> {
    let mut parts = chain.split('.');
    let first = parts.next()?;
    let mut kind = start(here, first, depth)?;
    for part in parts {
        kind = leads_to(here.schema, &here.schema.field_spec(kind, here.schema.field(kind, part)?).ty)?;
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
fn start(here: &Here<'_>, name: &str, depth: usize) -> Option<KindId> {
    if name == "site" {
        return here.schema.kind("site");
    }
    if here.kind.is_some_and(|kind| here.schema.spec(kind).word == name) {
        return here.kind;
    }
    if depth > 8 {
        return None;
    }
    let rule = here.text.get(here.begins..here.offset)?;
    let words: Vec<&str> = rule.split(|c: char| !is_part(c) && c != '=').filter(|word| !word.is_empty()).collect();
    // `any d in room.devices`, `let box = end.box`; the latest one stands.
    let at = words
        .windows(3)
        .rposition(|three| three.first() == Some(&name) && matches!(three.get(1), Some(&"in" | &"=")))?;
    let chain = words.get(at + 2)?;
    kind_of(here, chain, depth + 1)
}
