//! Exceptions that rulesets add to rules below them, and exceptions that they take out.

use std::sync::Arc;

use super::amendment::{Amendment, Change};
use super::days::together;
use super::entry::{Checked, Setting};
use super::fields::Written;
use super::layer::{Place, setting};
use super::rules::{RuleInForce, Rules};
use super::sources::{ExceptionSource, RuleSource};
use crate::problem::Problem;

/// An exception that a ruleset adds to a rule in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExceptionInForce {
    /// The exception.
    pub source: Arc<ExceptionSource>,
    /// Its layer: a position in [`Book::layers`](super::Book).
    pub layer: usize,
    /// Who added it.
    pub setting: Setting,
}

impl Rules {
    /// Adds the exceptions of a ruleset to the rules below it. Those of other days are left out.
    pub(super) fn add_exceptions(&mut self, place: Place<'_>, problems: &mut Vec<Problem>, notices: &mut Vec<Problem>) {
        for (at, source) in place.contents.exceptions.iter().enumerate() {
            if !place.in_force.exceptions.contains(&at) {
                self.exceptions_off.push(Arc::clone(source));
                continue;
            }
            let Some((id, at)) = self.find(&source.rule, problems) else { continue };
            renamed(&source.rule, &id, notices);
            let Some(rule) = self.rule_mut(at) else { continue };
            if rule.layer == place.layer {
                problems.push(own_rule(source, &rule.source));
                continue;
            }
            if let Some(first) = rule.exceptions.iter().find(|other| other.source.name.text == source.name.text) {
                problems.push(
                    Problem::new(
                        source.name.span,
                        format!("rule `{id}` has an exception `{}` already", source.name.text),
                    )
                    .label("added again")
                    .mark(first.source.name.span, "there already")
                    .help(format!(
                        "give this one another name, or take that one out with [[amends]] `omit = \"{id}\"` and `exception = \"{}\"`",
                        source.name.text
                    )),
                );
                continue;
            }
            let setting = Setting {
                ruleset: place.layer,
                span: source.name.span,
                cites: source.cites.clone(),
                source: place.ruleset.source.clone(),
                checked: source.checked.or(place.ruleset.defaults().checked).unwrap_or(Checked::Memory),
                from: source.from,
                value: format!("except {}", source.name.text),
                note: None,
            };
            rule.exceptions.push(ExceptionInForce { source: Arc::clone(source), layer: place.layer, setting });
        }
    }

    /// Takes an exception out of a rule: one that a ruleset below has added, or else one that the rule's own text must have.
    pub(super) fn omit_exception(
        &mut self,
        place: Place<'_>,
        amendment: &Amendment,
        rule_at: usize,
        problems: &mut Vec<Problem>,
    ) {
        let Change::OmitException { rule: written, exception } = &amendment.change else { return };
        let other_days =
            self.exceptions_off.iter().any(|added| added.rule.text == written.text && added.is_named(&exception.text));
        let Some(rule) = self.rule_mut(rule_at) else { return };
        let text = amendment.change.text();
        let step = setting(place, &amendment.evidence, exception.span, text, amendment.from);
        let (gone, left): (Vec<_>, Vec<_>) =
            std::mem::take(&mut rule.exceptions).into_iter().partition(|added| added.source.is_named(&exception.text));
        rule.exceptions = left;
        if gone.is_empty() {
            let own = place
                .contents
                .exceptions
                .iter()
                .find(|own| own.rule.text == written.text && own.is_named(&exception.text));
            if let Some(own) = own {
                problems.push(
                    Problem::new(exception.span, format!("exception `{}` stands in this same ruleset", exception.text))
                        .label("nothing to take out below")
                        .mark(own.name.span, "the exception")
                        .help("take it out of the rule file, or give it `from` and `until` in its header"),
                );
                return;
            }
            if other_days {
                return;
            }
            if let Some((_, first)) = rule.omitted_exceptions.iter().find(|(name, _)| *name == exception.text) {
                problems.push(
                    Problem::new(exception.span, format!("exception `{}` is out already", exception.text))
                        .label("taken out again")
                        .mark(first.span, "taken out here"),
                );
                return;
            }
            rule.omitted_exceptions.push((exception.text.clone(), step));
        } else {
            rule.withdrawn.extend(gone.into_iter().map(|added| (added, step.clone())));
        }
    }
}

/// Notes that a rule was named by an earlier id.
pub(super) fn renamed(written: &Written, id: &str, notices: &mut Vec<Problem>) {
    if id != written.text {
        let message = format!("rule `{}` is called `{id}` now", written.text);
        notices.push(Problem::new(written.span, message).notice().label("an earlier id").help(format!("write `{id}`")));
    }
}

fn own_rule(exception: &ExceptionSource, rule: &RuleSource) -> Problem {
    let message = format!("rule `{}` stands in this same ruleset", rule.id);
    Problem::new(exception.rule.span, message)
        .label("an exception from outside")
        .mark(rule.id_span, "the rule")
        .help(format!("write it into the rule: `except \"{}\" where …;`", exception.cites))
}

/// Reports exceptions that one ruleset adds twice to one rule.
pub(super) fn check_twice(exceptions: &[Arc<ExceptionSource>], problems: &mut Vec<Problem>) {
    for (at, exception) in exceptions.iter().enumerate() {
        let same = |first: &&Arc<ExceptionSource>| {
            first.name.text == exception.name.text
                && first.rule.text == exception.rule.text
                && together((first.from, first.until), (exception.from, exception.until))
        };
        if let Some(first) = exceptions.iter().take(at).find(same) {
            problems.push(
                Problem::new(
                    exception.name.span,
                    format!("exception `{}` to rule `{}` is there twice", exception.name.text, exception.rule.text),
                )
                .label("again")
                .mark(first.name.span, "first here")
                .help("give it another name, or days with `from` and `until` so that one follows the other"),
            );
        }
    }
}

/// Returns the names of exceptions that hold for `after` and not for `before`, and of those that hold for `before` only, as far
/// as rulesets above the rule add them or take them out. One of another text is both.
pub(super) fn between(before: &RuleInForce, after: &RuleInForce) -> (Vec<String>, Vec<String>) {
    let lacks = |rule: &RuleInForce, added: &ExceptionInForce| {
        !rule.exceptions.iter().any(|other| {
            other.source.name.text == added.source.name.text && other.source.content == added.source.content
        })
    };
    let holds = |one: &RuleInForce, other: &RuleInForce| -> Vec<String> {
        let own = one.exceptions.iter().filter(|added| lacks(other, added)).map(|added| added.source.name.text.clone());
        let out = other.omitted_exceptions.iter().map(|(name, _)| name);
        let kept = out.filter(|name| !one.omitted_exceptions.iter().any(|(own, _)| own == *name)).cloned();
        own.chain(kept).collect()
    };
    (holds(after, before), holds(before, after))
}
