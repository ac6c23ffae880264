//! Help, places and completion in the manifest and the code of a ruleset.

use lsp_types::{CompletionItem, CompletionItemKind};
use storystick_engine::book::{Checked, RulesetKind, Shelf, Value};
use storystick_engine::source::{Files, Span};

use super::answers::{Asked, offer, over};
use super::by_schema::Table;
use super::cursor::{self, Cursor};
use super::known::{self, Known};

/// What a cursor in a ruleset's TOML is at.
struct Here {
    cursor: Cursor,
    table: Table,
    /// The entry that is written or amended.
    entry: Option<String>,
}

fn here(text: &str, offset: usize, manifest: bool) -> Here {
    let cursor = cursor::at(text, offset);
    let table = match cursor.table.first().map(String::as_str) {
        Some("amends") => Table::Amendment,
        Some("adopts") if manifest => Table::Adoption,
        _ if manifest => Table::Manifest,
        _ => Table::Entry,
    };
    let entry = match table {
        Table::Amendment => value_beside(text, offset, "entry"),
        // Rows are a table inside the entry.
        Table::Entry => Some(cursor.table.iter().filter(|part| *part != "rows").cloned().collect::<Vec<_>>().join(".")),
        _ => None,
    };
    Here { cursor, table, entry: entry.filter(|entry| !entry.is_empty()) }
}

/// Returns the text of a key in the table around a byte.
pub(super) fn value_beside(text: &str, offset: usize, key: &str) -> Option<String> {
    let is_header = |line: &str| line.trim_start().starts_with('[');
    let end = text.get(offset..)?.find('\n').map_or(text.len(), |at| offset + at);
    let before: Vec<&str> = text.get(..end)?.lines().collect();
    let from = before.iter().rposition(|line| is_header(line)).map_or(0, |at| at + 1);
    let behind = text.get(end..)?.lines().take_while(|line| !is_header(line));
    let mut lines = before.get(from..)?.iter().copied().chain(behind);
    lines.find_map(|line| {
        let rest = line.trim_start().strip_prefix(key)?.trim_start().strip_prefix('=')?;
        rest.trim_start().strip_prefix('"')?.split('"').next().map(str::to_owned)
    })
}

/// Returns what stands behind the place: the entry in force and who set it, a rule, a ruleset; and what the key means.
pub(super) fn hover(asked: &Asked<'_>, manifest: bool) -> Option<String> {
    let here = here(asked.text, asked.offset, manifest);
    let word = asked.text.get(here.cursor.word.clone()).unwrap_or("");
    let name = here.cursor.key.as_deref().unwrap_or(word);
    let mut parts: Vec<String> = Vec::new();
    match (here.table, name) {
        (Table::Amendment, "omit" | "reweigh") if here.cursor.key.is_some() => {
            parts.extend(asked.known.and_then(|known| known::rule(known, word)));
        }
        (Table::Amendment, "exception") if here.cursor.key.is_some() => {
            let rule = value_beside(asked.text, asked.offset, "omit");
            parts.extend(rule.zip(asked.known).and_then(|(rule, known)| known::rule(known, &rule)));
        }
        (Table::Manifest | Table::Adoption, "within" | "follows" | "ruleset") if here.cursor.key.is_some() => {
            parts.extend(ruleset(asked.shelf, word));
        }
        (Table::Amendment, "edition") if here.cursor.key.is_some() => parts.extend(ruleset(asked.shelf, word)),
        (_, "checked") if here.cursor.key.is_some() => parts.extend(Checked::of(word).map(checked)),
        _ => {
            let entry = here.entry.as_ref();
            parts.extend(entry.zip(asked.known).and_then(|(entry, known)| known::entry(known, entry)));
        }
    }
    let meaning = here.table.key(name).filter(|_| !here.cursor.header).map(|(meaning, _)| meaning);
    parts.extend(meaning.filter(|meaning| !meaning.is_empty()).map(|meaning| format!("**{name}**: {meaning}")));
    (!parts.is_empty()).then(|| parts.join("\n\n---\n\n"))
}

fn checked(checked: Checked) -> String {
    let means = match checked {
        Checked::LawText => "the words of the law, rule or standard were read",
        Checked::OfficialPage => "a page of the authority states it",
        Checked::Secondary => "somebody else states it: prints as not verified",
        Checked::Memory => "nothing was read: prints as not verified",
    };
    format!("**{}**: {means}", checked.word())
}

/// Returns what a ruleset is, in Markdown.
pub(super) fn ruleset(shelf: &Shelf, id: &str) -> Option<String> {
    let ruleset = shelf.ruleset(id)?;
    let reviewed = ruleset.reviewed.map_or_else(|| String::from("not reviewed"), |day| format!("reviewed {day}"));
    let draft = ruleset.draft.as_ref().map_or_else(String::new, |why| format!("\n\nDRAFT: {why}"));
    Some(format!("**{}** · {} · {}, {reviewed}\n\n{}{draft}", id, ruleset.kind.word(), ruleset.title, ruleset.source))
}

/// Returns the lines behind a place, with the files that they are in.
pub(super) fn definition(asked: &Asked<'_>, manifest: bool) -> Vec<(Span, Files)> {
    let here = here(asked.text, asked.offset, manifest);
    let word = asked.text.get(here.cursor.word.clone()).unwrap_or("");
    let key = here.cursor.key.as_deref();
    if here.table != Table::Entry
        && here.cursor.quoted
        && let Some(ruleset) = asked.shelf.ruleset(word)
    {
        return vec![(ruleset.span, asked.shelf.files().clone())];
    }
    let Some(known) = asked.known else { return Vec::new() };
    let spans = match (here.table, key) {
        (Table::Amendment, Some("omit" | "reweigh")) => known.rule(word).map(|rule| rule.id_span).into_iter().collect(),
        (Table::Amendment, Some("exception")) => {
            let rule = value_beside(asked.text, asked.offset, "omit");
            rule.and_then(|rule| known.rule(&rule)).map(|rule| rule.id_span).into_iter().collect()
        }
        _ => here.entry.map(|entry| known.entry_places(&entry)).unwrap_or_default(),
    };
    // Whoever stands in the amendment wants to see what it amends: the line itself comes last.
    let (own, others): (Vec<Span>, Vec<Span>) = spans.into_iter().partition(|span| {
        known.files.file_of(*span).is_some_and(|file| asked.path == std::path::Path::new(file.name()))
    });
    others.into_iter().chain(own).map(|span| (span, known.files.clone())).collect()
}

/// Returns what may be written at a place: keys, words, entries, rules, rulesets, the value in force.
pub(super) fn completion(asked: &Asked<'_>, manifest: bool) -> Vec<CompletionItem> {
    let here = here(asked.text, asked.offset, manifest);
    if here.cursor.header || line_begins_with_bracket(asked.text, asked.offset) {
        let tables: &[(&str, &str)] = if manifest {
            &[("adopts", "An edition that is adopted."), ("amends", "Something that holds otherwise here.")]
        } else {
            &[("amends", "Something that holds otherwise here.")]
        };
        return tables.iter().map(|(name, about)| offer(name, CompletionItemKind::STRUCT, about)).collect();
    }
    let Some(key) = here.cursor.key.as_deref() else {
        let keys = here.table.keys().into_iter();
        return keys.map(|(key, about)| offer(key, CompletionItemKind::PROPERTY, about)).collect();
    };
    let kinds: Option<&[RulesetKind]> = match (here.table, key) {
        (Table::Manifest, "within") => Some(&[RulesetKind::Jurisdiction]),
        (Table::Manifest, "follows") | (Table::Amendment, "edition") => Some(&[RulesetKind::Edition]),
        (Table::Adoption, "ruleset") => Some(&[RulesetKind::Edition, RulesetKind::Accessibility]),
        _ => None,
    };
    if let Some(kinds) = kinds {
        return rulesets(asked, &here.cursor, kinds);
    }
    let known = || asked.known;
    match (here.table, key) {
        (Table::Amendment, "entry") => known().map_or_else(Vec::new, |known| entries(known, asked, &here.cursor)),
        (Table::Amendment, "omit" | "reweigh") => {
            known().map_or_else(Vec::new, |known| rules(known, asked, &here.cursor, |_| true))
        }
        (Table::Amendment, "exception") => {
            let rule = value_beside(asked.text, asked.offset, "omit");
            let names = rule.zip(asked.known).map_or_else(Vec::new, |(rule, known)| known.exceptions(&rule));
            names.iter().map(|name| quoted(asked, &here.cursor, name, CompletionItemKind::REFERENCE, "")).collect()
        }
        (Table::Amendment, "row" | "remove") => held(asked, &here),
        (Table::Amendment, "value") => {
            let shown = known().zip(here.entry.as_ref()).and_then(|(known, entry)| {
                let shown = known.book.shown(known.book.get(entry)?);
                Some((shown.value?, entry.clone()))
            });
            let about = |entry: String| format!("{entry} as it is in force");
            shown
                .map(|(value, entry)| quoted(asked, &here.cursor, &value, CompletionItemKind::VALUE, &about(entry)))
                .into_iter()
                .collect()
        }
        _ => {
            let (about, words) = here.table.key(key).unwrap_or_default();
            let words = words.into_iter();
            words.map(|word| quoted(asked, &here.cursor, word, CompletionItemKind::ENUM_MEMBER, about)).collect()
        }
    }
}

fn line_begins_with_bracket(text: &str, offset: usize) -> bool {
    let line = text.get(..offset).and_then(|before| before.rsplit('\n').next()).unwrap_or("").trim_start();
    let inner = line.trim_start_matches('[');
    inner.len() < line.len() && inner.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '.'))
}

/// Returns the offer of a text, in quotes unless the cursor stands in some.
pub(super) fn quoted(
    asked: &Asked<'_>,
    cursor: &Cursor,
    text: &str,
    kind: CompletionItemKind,
    about: &str,
) -> CompletionItem {
    let mut item = offer(text, kind, about);
    let written = if cursor.quoted { text.to_owned() } else { format!("\"{text}\"") };
    item.text_edit = Some(over(asked.text, cursor.word.clone(), &written));
    item.filter_text = Some(written);
    item
}

fn entries(known: &Known, asked: &Asked<'_>, cursor: &Cursor) -> Vec<CompletionItem> {
    let all = known.book.all_entries().map(|entry| {
        let shown = known.book.shown(entry);
        quoted(asked, cursor, &entry.key, CompletionItemKind::CONSTANT, &shown.value.unwrap_or(shown.holds))
    });
    all.collect()
}

/// Returns the rules of a code, those of the ruleset in hand first.
pub(super) fn rules(
    known: &Known,
    asked: &Asked<'_>,
    cursor: &Cursor,
    wanted: impl Fn(&str) -> bool,
) -> Vec<CompletionItem> {
    let in_force = known.book.rules.iter().rev().filter(|rule| wanted(&rule.source.ruleset));
    let offers = in_force.map(|rule| {
        let about = format!("{}, {}", rule.source.ruleset, rule.source.cites);
        quoted(asked, cursor, &rule.source.id, CompletionItemKind::REFERENCE, &about)
    });
    offers.collect()
}

/// Returns the ids of rulesets of some kinds.
pub(super) fn rulesets(asked: &Asked<'_>, cursor: &Cursor, kinds: &[RulesetKind]) -> Vec<CompletionItem> {
    let known = asked.shelf.ids().filter_map(|id| asked.shelf.ruleset(id));
    let of_kind = known.filter(|ruleset| kinds.contains(&ruleset.kind));
    of_kind.map(|ruleset| quoted(asked, cursor, &ruleset.id, CompletionItemKind::MODULE, &ruleset.title)).collect()
}

/// Returns the rows or members of the entry that is amended.
fn held(asked: &Asked<'_>, here: &Here) -> Vec<CompletionItem> {
    let Some((known, entry)) = asked.known.zip(here.entry.as_ref()) else { return Vec::new() };
    let Some(entry) = known.book.get(entry) else { return Vec::new() };
    if matches!(entry.value, Value::Scalar(_)) {
        return Vec::new();
    }
    let shown = known.book.shown(entry);
    let rows = shown.rows.iter().map(|row| match &row.key {
        Some(key) => quoted(asked, &here.cursor, key, CompletionItemKind::FIELD, &row.value),
        None => quoted(asked, &here.cursor, &row.value, CompletionItemKind::FIELD, ""),
    });
    rows.collect()
}
