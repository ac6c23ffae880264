//! Help, places and completion in job files.

use std::collections::BTreeSet;

use lsp_types::{CompletionItem, CompletionItemKind};
use storystick_engine::inspection::finding::{Finding, Outcome};
use storystick_engine::model::{FieldSpec, Filled, KindId, Nest, Schema, Type};
use storystick_engine::source::{Files, Span};

use super::answers::offer;
use super::carried::carried;
use super::cursor::{self, Cursor};
use super::desk::Open;
use super::job_files::told;

/// Returns help on a value that has findings, or on a field.
pub(super) fn hover(schema: &Schema, open: &Open, offset: usize) -> Option<String> {
    let words = open.inspected.as_ref().map(|inspected| inspected.words());
    let mut parts: Vec<String> =
        words.iter().flat_map(|words| findings(open, offset).into_iter().map(|finding| told(words, finding))).collect();
    parts.extend(help(schema, &open.text, &cursor::at(&open.text, offset)));
    (!parts.is_empty()).then(|| parts.join("\n\n---\n\n"))
}

/// Returns what the field or the kind of item at a place is.
pub(super) fn help(schema: &Schema, text: &str, cursor: &Cursor) -> Option<String> {
    let word = text.get(cursor.word.clone()).unwrap_or("");
    let name = cursor.key.as_deref().unwrap_or(word);
    if let Some(kind) = kind_of(schema, &cursor.table) {
        let field = schema.field(kind, name).map(|field| schema.field_spec(kind, field));
        field.map(|field| format!("**{name}** ({})\n\n{}", held(&field.ty), field.doc))
    } else if let [single] = cursor.table.as_slice()
        && let Some(kind) = schema.kind(single)
    {
        Some(schema.spec(kind).doc.to_owned())
    } else {
        None
    }
}

/// Returns the item that a word names, and the lines of the rulesets that a value is held against.
pub(super) fn definition(open: &Open, offset: usize) -> Vec<(Span, Files)> {
    let Some(inspected) = &open.inspected else { return Vec::new() };
    let (job, files) = (&inspected.job, &inspected.job.files);
    let mut spans: Vec<Span> = Vec::new();
    let cursor = cursor::at(&open.text, offset);
    if cursor.quoted && cursor.key.as_deref() != Some("id") {
        spans.extend(open.text.get(cursor.word).and_then(|id| job.find(id)).map(|item| job.item(item).header));
    }
    for finding in findings(open, offset) {
        let set = finding.set_by.first().map(|set| set.span);
        spans.push(set.filter(|span| span.is_some()).unwrap_or(finding.rule_at));
    }
    spans.into_iter().map(|span| (span, files.clone())).collect()
}

/// Returns the findings about the value at a byte of the text, as it was when the job could last be inspected.
fn findings(open: &Open, offset: usize) -> Vec<&Finding> {
    let Some(inspected) = &open.inspected else { return Vec::new() };
    let Some(file) = inspected.job.files.iter().last() else { return Vec::new() };
    // While the job has mistakes, its last findings are carried to where their lines stand by now.
    let Some(offset) = carried(&open.text, file.text(), offset) else { return Vec::new() };
    let at = file.base() as usize + offset;
    let on = |span: Span| (span.start() as usize..=span.end() as usize).contains(&at) && !file.text().is_empty();
    let all = inspected.report.findings.iter();
    all.filter(|finding| finding.outcome != Outcome::Met && finding.at.is_some() && on(finding.at)).collect()
}

/// Returns what may be written at a place: keys, words, ids.
pub(super) fn completion(schema: &Schema, open: &Open, offset: usize) -> Vec<CompletionItem> {
    offers(schema, &cursor::at(&open.text, offset), &|kinds| ids(open, kinds))
}

/// The ids of items of some kinds.
pub(super) type Ids<'i> = dyn Fn(&[&str]) -> Vec<CompletionItem> + 'i;

/// Returns what may be written at a place of a job.
pub(super) fn offers(schema: &Schema, cursor: &Cursor, ids: &Ids<'_>) -> Vec<CompletionItem> {
    match &cursor.key {
        None => keys(schema, cursor),
        Some(key) => match kind_of(schema, &cursor.table).and_then(|kind| Some((kind, schema.field(kind, key)?))) {
            Some((kind, field)) => values(schema, kind, schema.field_spec(kind, field), ids),
            None => Vec::new(),
        },
    }
}

fn keys(schema: &Schema, cursor: &Cursor) -> Vec<CompletionItem> {
    let Some(kind) = kind_of(schema, &cursor.table) else {
        let tables = schema.kinds().filter_map(|(_, spec)| match spec.nest {
            Nest::Single(key) | Nest::Top(key) => Some(offer(key, CompletionItemKind::STRUCT, spec.doc)),
            Nest::Inside { .. } => None,
        });
        return tables.collect();
    };
    let spec = schema.spec(kind);
    let written = |field: &&FieldSpec| matches!(field.filled, Filled::Written { .. } | Filled::Key { .. });
    let mut keys: Vec<CompletionItem> = Vec::new();
    if !cursor.table.iter().any(|key| key == "defaults") {
        keys.push(offer("id", CompletionItemKind::PROPERTY, "Its id, unique in the job."));
    }
    keys.extend(
        spec.fields.iter().filter(written).map(|field| offer(field.name, CompletionItemKind::PROPERTY, field.doc)),
    );
    for (_, inner) in schema.kinds() {
        if let Nest::Inside { parent, keys: under, .. } = inner.nest
            && parent == spec.name
        {
            keys.extend(under.iter().map(|key| offer(key, CompletionItemKind::STRUCT, inner.doc)));
        }
    }
    keys
}

fn values(schema: &Schema, kind: KindId, field: &FieldSpec, ids: &Ids<'_>) -> Vec<CompletionItem> {
    let ty = match &field.ty {
        Type::List(member) => member,
        ty => ty,
    };
    match ty {
        Type::Word(words) => words.iter().map(|word| offer(word, CompletionItemKind::ENUM_MEMBER, field.doc)).collect(),
        Type::Flag => ["true", "false"].map(|word| offer(word, CompletionItemKind::KEYWORD, field.doc)).into(),
        Type::Item(of) => ids(&[of]),
        _ if matches!(field.filled, Filled::Key { .. }) => {
            // The items of every kind that this key may name.
            let named = schema.spec(kind).fields.iter().filter(|other| other.filled == Filled::By(field.name));
            let kinds: Vec<&str> = named
                .filter_map(|other| match &other.ty {
                    Type::Item(of) => Some(*of),
                    Type::List(member) => match **member {
                        Type::Item(of) => Some(of),
                        _ => None,
                    },
                    _ => None,
                })
                .collect();
            ids(&kinds)
        }
        _ => Vec::new(),
    }
}

/// Returns the ids of items of some kinds, from the job as it could last be read, or from its lines.
fn ids(open: &Open, kinds: &[&str]) -> Vec<CompletionItem> {
    let mut found: BTreeSet<(String, String)> = written(&open.text, kinds);
    if let Some(inspected) = &open.inspected {
        let job = &inspected.job;
        for name in kinds {
            let of_kind = job.schema.kind(name).map(|kind| job.of_kind(kind)).unwrap_or_default();
            found.extend(of_kind.iter().map(|item| (job.id(*item).to_owned(), (*name).to_owned())));
        }
    }
    found.iter().map(|(id, kind)| offer(id, CompletionItemKind::REFERENCE, kind)).collect()
}

/// Returns the ids that the lines of a text give to items of some kinds, or of any where none is named.
pub(super) fn ids_of_lines(text: &str, kinds: &[&str]) -> Vec<CompletionItem> {
    written(text, kinds).iter().map(|(id, kind)| offer(id, CompletionItemKind::REFERENCE, kind)).collect()
}

fn written(text: &str, kinds: &[&str]) -> BTreeSet<(String, String)> {
    let mut found = BTreeSet::new();
    let mut table = String::new();
    for line in text.lines().map(str::trim) {
        let opens = line.split_once('=').filter(|(_, rest)| rest.trim_start().starts_with(['[', '{']));
        if line.starts_with('[') {
            line.trim_matches(['[', ']']).rsplit('.').next().unwrap_or_default().clone_into(&mut table);
        } else if let Some((key, _)) = opens {
            // `box = [`, `job.box = [{ … }]`
            key.trim().rsplit('.').next().unwrap_or_default().clone_into(&mut table);
        }
        if !kinds.is_empty() && !kinds.contains(&table.as_str()) {
            continue;
        }
        for (at, _) in line.match_indices("id") {
            let alone =
                line.get(..at).is_some_and(|before| !before.ends_with(|c: char| c.is_alphanumeric() || c == '_'));
            let value = line.get(at + 2..).and_then(|rest| rest.trim_start().strip_prefix('='));
            if let (true, Some(id)) =
                (alone, value.and_then(|value| value.trim_start().strip_prefix('"')?.split('"').next()))
            {
                found.insert((id.to_owned(), table.clone()));
            }
        }
    }
    found
}

/// Returns the kind of item that a table describes, or is the default of.
fn kind_of(schema: &Schema, table: &[String]) -> Option<KindId> {
    let (first, rest) = table.split_first()?;
    if first == "defaults" {
        return schema.kind(rest.first()?);
    }
    let top = schema.kinds().find(|(_, spec)| matches!(spec.nest, Nest::Single(key) | Nest::Top(key) if key == first));
    let mut kind = top?.0;
    for (at, key) in rest.iter().enumerate() {
        if key == "defaults" {
            return schema.kind(rest.get(at + 1)?);
        }
        let around = schema.spec(kind).name;
        let inner = schema.kinds().find(|(_, spec)| {
            matches!(spec.nest, Nest::Inside { parent, keys, .. } if parent == around && keys.contains(&key.as_str()))
        });
        kind = inner?.0;
    }
    Some(kind)
}

/// Returns what a field holds, in words.
pub(super) fn held(ty: &Type) -> String {
    match ty {
        Type::Flag => String::from("true or false"),
        Type::Text => String::from("text"),
        Type::Word(words) => words.join(", "),
        Type::Quantity(dimension) => dimension.name().to_owned(),
        Type::Item(kind) => format!("id of a {}", kind.replace('_', " ")),
        Type::List(member) => format!("list: {}", held(member)),
    }
}
