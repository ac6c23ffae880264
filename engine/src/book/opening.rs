//! Opens rulesets: reads the files of one when a book needs it, once.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::code_file::{self, WrittenEntry};
use super::contents::Contents;
use super::fields;
use super::manifest::RulesetKind;
use super::references;
use super::rule_files;
use super::rules::rule_twice;
use super::shelf::Shelf;
use super::sources::RuleSource;
use super::{days, defines, exceptions};
use crate::problem::Problem;

impl Shelf {
    /// Opens a ruleset: its code, amendments, rule headers and defaults.
    ///
    /// # Errors
    /// Everything that is wrong with its manifest and its files.
    pub fn open(&mut self, id: &str) -> Result<Arc<Contents>, Vec<Problem>> {
        let Some(at) = self.index(id) else {
            return Err(vec![references::unknown(self, &crate::source::Span::NONE, "ruleset", id, |_| true)]);
        };
        let contents = self.open_at(at);
        let mut problems = self.problems_of(&[at]);
        problems.extend_from_slice(&contents.problems);
        if problems.is_empty() { Ok(contents) } else { Err(problems) }
    }

    /// Opens a ruleset by its position, its errors kept inside.
    pub(super) fn open_at(&mut self, at: usize) -> Arc<Contents> {
        if let Some(Some(contents)) = self.contents.get(at) {
            return Arc::clone(contents);
        }
        let contents = Arc::new(open(self, at));
        if let Some(slot) = self.contents.get_mut(at) {
            *slot = Some(Arc::clone(&contents));
        }
        contents
    }
}

/// Opens all files of a ruleset but its manifest, which is open already.
fn open(shelf: &mut Shelf, at: usize) -> Contents {
    let Some(ruleset) = shelf.rulesets.get(at) else { return Contents::default() };
    let (files, defaults) = (Arc::clone(&ruleset.files), ruleset.defaults());
    let (id, amends) = (ruleset.id.clone(), ruleset.amends.clone());
    let mut contents = Contents { amends, ..Contents::default() };
    for file in &files.code {
        let mut read = code_file::read(file, &defaults, &mut shelf.symbols, &mut contents.problems);
        contents.entries.append(&mut read.entries);
        contents.amends.append(&mut read.amends);
    }
    for file in &files.rules {
        let found = rule_files::scan(file, &id, &shelf.schema, &mut contents.problems);
        contents.rules.extend(found.rules.into_iter().map(Arc::new));
        contents.defines.extend(found.defines.into_iter().map(Arc::new));
        contents.exceptions.extend(found.exceptions.into_iter().map(Arc::new));
    }
    if let Some(file) = &files.defaults {
        fields::parse(file, &mut contents.problems);
        contents.defaults = Some(Arc::clone(file));
    }
    contents.ids = contents.entries.iter().map(|entry| shelf.names.id(&entry.key)).collect();
    check_entries(&mut contents);
    check_rules(&mut contents);
    defines::check_twice(&contents.defines, &mut contents.problems);
    exceptions::check_twice(&contents.exceptions, &mut contents.problems);
    contents.turns = contents.rules.iter().flat_map(|rule| rule.turns.iter().copied()).collect();
    contents.turns.sort_unstable();
    contents.turns.dedup();
    check_editions(shelf, &mut contents);
    contents
}

/// Reports entries that one ruleset sets twice for one day, and those that are of another shape at another time.
fn check_entries(contents: &mut Contents) {
    let mut by_key: Vec<&WrittenEntry> = contents.entries.iter().collect();
    by_key.sort_by(|a, b| a.key.cmp(&b.key));
    for (at, again) in by_key.iter().enumerate() {
        let before = by_key.get(..at).unwrap_or_default().iter().rev().take_while(|first| first.key == again.key);
        for first in before {
            let period = |entry: &WrittenEntry| (entry.from, entry.until);
            let dated = period(first) != (None, None) || period(again) != (None, None);
            let problem = if days::together(period(first), period(again)) {
                let what = if dated { "has two values at once" } else { "is set twice in this ruleset" };
                Problem::new(again.span, format!("entry `{}` {what}", again.key)).label("again").help(
                    "values that follow each other are written as `[[…]]`, each with the days on which it holds: `from`, `until`",
                )
            } else if again.value.shape() != first.value.shape() {
                let message =
                    format!("entry `{}` is {} here and {} before", again.key, again.value.shape(), first.value.shape());
                Problem::new(again.span, message)
                    .label("another kind of value")
                    .help("an entry is of one kind at all times: give one of them another name")
            } else {
                continue;
            };
            contents.problems.push(problem.mark(first.span, "first here"));
            break;
        }
    }
}

/// Reports rule ids that one ruleset uses twice.
fn check_rules(contents: &mut Contents) {
    let mut seen: BTreeMap<&str, &RuleSource> = BTreeMap::new();
    for rule in &contents.rules {
        if let Some(first) = seen.get(rule.id.as_str()) {
            contents.problems.push(rule_twice(rule, first));
        } else {
            seen.insert(&rule.id, rule);
        }
    }
}

/// Reports amendments for editions that are not there.
fn check_editions(shelf: &Shelf, contents: &mut Contents) {
    let named = contents.amends.iter().flat_map(|amendment| &amendment.editions);
    let unknown: Vec<Problem> = named
        .filter(|written| shelf.ruleset(&written.text).is_none_or(|other| other.kind != RulesetKind::Edition))
        .map(|written| {
            references::unknown(shelf, &written.span, "edition", &written.text, |kind| kind == RulesetKind::Edition)
        })
        .collect();
    contents.problems.extend(unknown);
}
