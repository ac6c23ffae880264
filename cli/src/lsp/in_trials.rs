//! Help, places and completion in the trials of a ruleset.

use lsp_types::{CompletionItem, CompletionItemKind};
use storystick_engine::book::RulesetKind;
use storystick_engine::source::{Files, Span};

use super::answers::{Asked, offer};
use super::by_schema::Table;
use super::cursor::{self, Cursor};
use super::in_book::{quoted, rules, ruleset, rulesets};
use super::{in_jobs, known};

/// What a cursor in a trial file is at.
enum Here {
    /// A key of the file or of a trial.
    Trial(Cursor, Table),
    /// A table of a small job, as a job file would have it.
    Job(Cursor),
}

fn here(text: &str, offset: usize) -> Here {
    let mut cursor = cursor::at(text, offset);
    let words: Vec<&str> = cursor.table.iter().map(String::as_str).collect();
    match words.as_slice() {
        // `trial.job.box`, `base.NAME.box`: what stands before is no part of the job.
        ["trial", "job", ..] | ["base", _, ..] => {
            cursor.table.drain(..2);
            Here::Job(cursor)
        }
        ["trial", ..] => Here::Trial(cursor, Table::Trial),
        _ => Here::Trial(cursor, Table::TrialFile),
    }
}

/// Returns what a rule asks that a trial names, what a ruleset is, or what a key means.
pub(super) fn hover(asked: &Asked<'_>) -> Option<String> {
    let (cursor, table) = match here(asked.text, asked.offset) {
        Here::Job(cursor) => return in_jobs::help(asked.shelf.schema(), asked.text, &cursor),
        Here::Trial(cursor, table) => (cursor, table),
    };
    let word = asked.text.get(cursor.word.clone()).unwrap_or("");
    let name = cursor.key.as_deref().unwrap_or(word);
    let value = match cursor.key.as_deref() {
        Some("rule") => asked.known.and_then(|known| known::rule(known, word)),
        Some("place") => ruleset(asked.shelf, word),
        _ => None,
    };
    let meaning = table.key(name).filter(|_| !cursor.header).map(|(meaning, _)| format!("**{name}**: {meaning}"));
    let parts: Vec<String> = value.into_iter().chain(meaning).collect();
    (!parts.is_empty()).then(|| parts.join("\n\n---\n\n"))
}

/// Returns the rule that a trial is of, the base that it stands on, or the ruleset that it names.
pub(super) fn definition(asked: &Asked<'_>) -> Vec<(Span, Files)> {
    let Here::Trial(cursor, _) = here(asked.text, asked.offset) else { return Vec::new() };
    let word = asked.text.get(cursor.word.clone()).unwrap_or("");
    match cursor.key.as_deref() {
        Some("rule") => {
            let rule = asked.known.and_then(|known| Some((known.rule(word)?.id_span, known.files.clone())));
            rule.into_iter().collect()
        }
        Some("place") => {
            let place = asked.shelf.ruleset(word);
            place.map(|ruleset| (ruleset.span, asked.shelf.files().clone())).into_iter().collect()
        }
        Some("base") => base(asked, word).into_iter().collect(),
        _ => Vec::new(),
    }
}

/// Returns the header of a base of this file.
fn base(asked: &Asked<'_>, name: &str) -> Option<(Span, Files)> {
    let mut at = 0;
    for line in asked.text.split_inclusive('\n') {
        let inner = line.trim().trim_matches(['[', ']']);
        let mut parts = inner.split('.').map(str::trim);
        if line.trim_start().starts_with('[') && parts.next() == Some("base") && parts.next() == Some(name) {
            let mut files = Files::new();
            let file = files.add(asked.path.to_string_lossy(), asked.text).ok()?;
            return Some((file.span(at..at + line.trim_end().len()), files));
        }
        at += line.len();
    }
    None
}

/// Returns what may be written at a place.
pub(super) fn completion(asked: &Asked<'_>) -> Vec<CompletionItem> {
    let (cursor, table) = match here(asked.text, asked.offset) {
        Here::Job(cursor) => {
            let ids = |kinds: &[&str]| in_jobs::ids_of_lines(asked.text, kinds);
            return in_jobs::offers(asked.shelf.schema(), &cursor, &ids);
        }
        Here::Trial(cursor, table) => (cursor, table),
    };
    let Some(key) = cursor.key.as_deref() else {
        let keys = table.keys().into_iter();
        return keys.map(|(key, about)| offer(key, CompletionItemKind::PROPERTY, about)).collect();
    };
    match key {
        "rule" => asked.known.map_or_else(Vec::new, |known| {
            // Its own rules; where it has none, those that it amends.
            let own = rules(known, asked, &cursor, |ruleset| ruleset == asked.id);
            if own.is_empty() { rules(known, asked, &cursor, |_| true) } else { own }
        }),
        "place" => rulesets(asked, &cursor, &[RulesetKind::Jurisdiction, RulesetKind::Edition]),
        "base" => {
            let headers =
                asked.text.lines().filter_map(|line| line.trim().trim_matches(['[', ']']).strip_prefix("base."));
            let mut names: Vec<&str> = headers.filter_map(|rest| rest.split('.').next()).collect();
            names.dedup();
            names
                .iter()
                .map(|name| quoted(asked, &cursor, name, CompletionItemKind::REFERENCE, "a base of this file"))
                .collect()
        }
        "item" => in_jobs::ids_of_lines(asked.text, &[]),
        _ => {
            let (about, words) = table.key(key).unwrap_or_default();
            words.into_iter().map(|word| quoted(asked, &cursor, word, CompletionItemKind::ENUM_MEMBER, about)).collect()
        }
    }
}
