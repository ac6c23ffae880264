//! What is known of the ruleset that somebody writes: the code that it is part of, as it was when it could last be read. A text is
//! broken most of the time that somebody types in it.

use std::collections::BTreeSet;
use std::sync::Arc;

use storystick_engine::book::{Book, Matching, RuleName, RuleSource, Setting};
use storystick_engine::inspection::Inspector;
use storystick_engine::source::{Files, Span};

use crate::commands::guide::newest;

/// What is known of a ruleset.
#[derive(Debug)]
pub(super) struct Known {
    /// The latest code that it is part of.
    pub(super) book: Arc<Book>,
    /// The files that the places of the book are in.
    pub(super) files: Files,
}

impl Known {
    /// Returns what is known of a ruleset as it is now; where it can't be read, of the place or edition that it stands on.
    pub(super) fn now(inspector: &mut Inspector, id: &str) -> Option<(Known, bool)> {
        let own = newest(inspector, id);
        let whole = own.is_some();
        let book = own.or_else(|| {
            let ruleset = inspector.shelf().ruleset(id)?;
            let below = ruleset.within.as_ref().or(ruleset.follows.as_ref());
            let below = below.or_else(|| ruleset.adopts.last().map(|adoption| &adoption.ruleset));
            let below = below.map(|below| below.text.clone())?;
            newest(inspector, &below)
        })?;
        Some((Known { book, files: inspector.shelf().files().clone() }, whole))
    }

    /// Returns a rule by its present or an earlier id, whether it is in force or not.
    pub(super) fn rule(&self, id: &str) -> Option<&RuleSource> {
        Some(match self.book.rule_named(id)? {
            RuleName::Current(rule) | RuleName::Renamed(rule) => &rule.source,
            RuleName::Omitted(rule) => &rule.source,
        })
    }

    /// Returns the names of a rule's exceptions: those that its text gives, and those that rulesets above it add.
    pub(super) fn exceptions(&self, id: &str) -> Vec<String> {
        let Some(source) = self.rule(id) else { return Vec::new() };
        let text = self.files.text(source.body);
        let quoted = |behind: &str| behind.trim_start().strip_prefix('"')?.split('"').next().map(str::to_owned);
        let own = text.match_indices("except ").filter_map(|(at, word)| {
            let behind = text.get(at + word.len()..)?;
            let named = behind.split(';').next()?.split_once(" named ");
            named.and_then(|(_, name)| quoted(name)).or_else(|| quoted(behind))
        });
        let added = match self.book.rule_named(id) {
            Some(RuleName::Current(rule) | RuleName::Renamed(rule)) => rule.exceptions.as_slice(),
            _ => &[],
        };
        own.chain(added.iter().map(|added| added.source.name.text.clone())).collect()
    }

    /// Returns the places of an entry: who set it last first.
    pub(super) fn entry_places(&self, key: &str) -> Vec<Span> {
        let chain: &[Setting] = self.book.get(key).map(|entry| entry.chain.as_slice()).unwrap_or_default();
        chain.iter().rev().map(|set| set.span).collect()
    }

    /// Returns the ids of the rulesets that the code is made of.
    pub(super) fn layers(&self) -> BTreeSet<String> {
        self.book.layers.iter().map(|layer| layer.id.clone()).collect()
    }
}

/// Returns what an entry is, who set it, where that was read and how it was checked, in Markdown.
pub(super) fn entry(known: &Known, key: &str) -> Option<String> {
    let shown = known.book.shown(known.book.get(key)?);
    let value = shown.value.as_ref().map_or_else(|| shown.holds.clone(), Clone::clone);
    let mut text = format!("**{}** = {value}\n", shown.key);
    for row in shown.rows.iter().take(24) {
        let reach = shown.matching.map_or("", Matching::before_key);
        let key = row.key.as_ref().map_or_else(String::new, |key| format!("{reach}{key}: "));
        text.push_str(&format!("\n- {key}{}", row.value));
    }
    if shown.rows.len() > 24 {
        text.push_str(&format!("\n- and {} more", shown.rows.len() - 24));
    }
    for step in &shown.chain {
        let doubt = if step.checked.is_verified() { "" } else { ", NOT VERIFIED" };
        let since = step.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
        text.push_str(&format!(
            "\n\n{}: {} ({}{since}; {}{doubt})\n\n{}",
            step.title,
            step.value,
            step.cites,
            step.checked.word(),
            step.source
        ));
        text.push_str(&step.note.as_ref().map_or_else(String::new, |note| format!("; {note}")));
    }
    Some(text)
}

/// Returns what a rule asks, in Markdown.
pub(super) fn rule(known: &Known, id: &str) -> Option<String> {
    let named = known.book.rule_named(id)?;
    let source = known.rule(id)?;
    let state = match named {
        RuleName::Current(rule) | RuleName::Renamed(rule) => format!("weighs {}", rule.weight.word()),
        RuleName::Omitted(_) => String::from("not in force"),
    };
    let stage = source.stage.word().replace('_', " ");
    let head = format!("**{}** · {} · {} · from {stage} on; {state}", source.id, source.ruleset, source.cites);
    Some(format!("{head}\n\n{}", source.doc))
}
