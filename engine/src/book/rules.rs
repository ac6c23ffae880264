//! Collects the rules in force, layer by layer: new ones, replaced ones, omitted and reweighed ones.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::amendment::{Amendment, Change};
use super::entry::Setting;
use super::fields::{Written, with_help};
use super::layer::{Place, setting};
use super::rule_files::RuleSource;
use crate::book::Weight;
use crate::problem::{Problem, Topic, did_you_mean};
use crate::source::Span;

/// A rule of the code in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleInForce {
    /// The rule.
    pub source: Arc<RuleSource>,
    /// Its layer: a position in [`Book::layers`](super::Book).
    pub layer: usize,
    /// Its weight here.
    pub weight: Weight,
    /// Who set it: the ruleset of the rule whose place it takes, its own, and those that reweighed it.
    pub chain: Vec<Setting>,
}

/// A rule of some layer that is not in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OmittedRule {
    /// The rule.
    pub source: Arc<RuleSource>,
    /// Its layer.
    pub layer: usize,
    /// Who left it out, with the citation.
    pub by: Setting,
    /// The rule that stands in its place, if one does.
    pub replaced_by: Option<String>,
}

/// What an id stands for in a book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NameOf {
    /// A rule in force, by its position.
    Rule(usize),
    /// An earlier id of the rule with this id.
    Was(String),
    /// A rule that is not in force, by its position.
    Omitted(usize),
}

/// The rules of a book that is being made.
#[derive(Default)]
pub(super) struct Rules {
    rules: Vec<Option<RuleInForce>>,
    omitted: Vec<OmittedRule>,
    names: BTreeMap<String, NameOf>,
    alone: bool,
}

/// The rules of a finished book.
pub(super) struct Finished {
    pub(super) in_force: Vec<RuleInForce>,
    pub(super) omitted: Vec<OmittedRule>,
    pub(super) names: BTreeMap<String, NameOf>,
}

impl Rules {
    pub(super) fn new(alone: bool) -> Rules {
        Rules { alone, ..Rules::default() }
    }

    /// Adds a ruleset's own rules; one that replaces another takes it out.
    pub(super) fn add_layer(&mut self, place: Place<'_>, problems: &mut Vec<Problem>) {
        for rule in &place.contents.rules {
            let step = Setting {
                ruleset: place.layer,
                span: rule.id_span,
                cites: rule.cites.clone(),
                source: place.ruleset.source.clone(),
                checked: place.ruleset.checked_rule(rule),
                from: None,
                value: String::from(rule.weight.word()),
                note: None,
            };
            let mut chain = Vec::new();
            if let Some(replaced) = &rule.replaces {
                chain = self.replace(place, rule, replaced, &step, problems);
            }
            match self.names.get(&rule.id) {
                Some(NameOf::Rule(at)) => {
                    if let Some(Some(first)) = self.rules.get(*at) {
                        problems.push(rule_twice(rule, &first.source));
                    }
                    continue;
                }
                // A rule may go on under the id of the rule that it replaces.
                Some(NameOf::Omitted(at)) if rule.replaces.as_ref().is_none_or(|replaced| replaced.text != rule.id) => {
                    if let Some(first) = self.omitted.get(*at) {
                        problems.push(rule_twice(rule, &first.source));
                    }
                    continue;
                }
                Some(NameOf::Was(now)) => {
                    problems.push(self.id_was_used(rule.id_span, &rule.id, now));
                    continue;
                }
                Some(NameOf::Omitted(_)) | None => {}
            }
            self.names.insert(rule.id.clone(), NameOf::Rule(self.rules.len()));
            self.was(rule, problems);
            chain.push(step);
            self.rules.push(Some(RuleInForce {
                source: Arc::clone(rule),
                layer: place.layer,
                weight: rule.weight,
                chain,
            }));
        }
    }

    /// Notes the earlier ids of a rule.
    fn was(&mut self, rule: &RuleSource, problems: &mut Vec<Problem>) {
        for old in &rule.was {
            match self.names.get(&old.text) {
                None => {
                    self.names.insert(old.text.clone(), NameOf::Was(rule.id.clone()));
                }
                // The renamed rule may say so as well in the edition that it was taken from.
                Some(NameOf::Was(now)) if *now == rule.id => {}
                Some(NameOf::Was(now)) => problems.push(self.id_was_used(old.span, &old.text, now)),
                // A rule that was replaced under a new id.
                Some(NameOf::Omitted(at))
                    if self.omitted.get(*at).is_some_and(|gone| gone.replaced_by.as_ref() == Some(&rule.id)) =>
                {
                    self.names.insert(old.text.clone(), NameOf::Was(rule.id.clone()));
                }
                Some(NameOf::Rule(_) | NameOf::Omitted(_)) => {
                    let mut problem = Problem::new(old.span, format!("`{}` is the id of another rule", old.text))
                        .label("not an earlier id of this one")
                        .help("an id stands for one rule for ever; to take that rule's place, write `replaces`");
                    if let Some(other) = self.source(&old.text) {
                        problem = problem.mark(other.id_span, "that rule");
                    }
                    problems.push(problem);
                }
            }
        }
    }

    fn id_was_used(&self, span: Span, id: &str, now: &str) -> Problem {
        let problem = Problem::new(span, format!("`{id}` is an earlier id of rule `{now}`"))
            .label("taken for ever")
            .help("give this rule another id");
        match self.source(now) {
            Some(other) => problem.mark(other.id_span, "that rule"),
            None => problem,
        }
    }

    fn source(&self, id: &str) -> Option<&Arc<RuleSource>> {
        match self.names.get(id)? {
            NameOf::Rule(at) => self.rules.get(*at)?.as_ref().map(|rule| &rule.source),
            NameOf::Omitted(at) => self.omitted.get(*at).map(|gone| &gone.source),
            NameOf::Was(now) => match self.names.get(now)? {
                NameOf::Rule(at) => self.rules.get(*at)?.as_ref().map(|rule| &rule.source),
                _ => None,
            },
        }
    }

    /// Takes the replaced rule out and returns its chain.
    fn replace(
        &mut self,
        place: Place<'_>,
        rule: &RuleSource,
        replaced: &Written,
        step: &Setting,
        problems: &mut Vec<Problem>,
    ) -> Vec<Setting> {
        let Some((id, at)) = self.find(replaced, problems) else { return Vec::new() };
        let own = self.rules.get(at).and_then(Option::as_ref).is_some_and(|rule| rule.layer == place.layer);
        if own {
            problems.push(
                Problem::new(replaced.span, format!("rule `{id}` stands in the same ruleset"))
                    .label("nothing to replace")
                    .help("take the replaced rule out of the ruleset"),
            );
            return Vec::new();
        }
        let by = Setting { span: replaced.span, value: format!("replaced by {}", rule.id), ..step.clone() };
        self.take_out(&id, at, by, Some(rule.id.clone())).map(|gone| gone.chain).unwrap_or_default()
    }

    fn take_out(&mut self, id: &str, at: usize, by: Setting, replaced_by: Option<String>) -> Option<RuleInForce> {
        let gone = self.rules.get_mut(at)?.take()?;
        self.names.insert(id.to_owned(), NameOf::Omitted(self.omitted.len()));
        self.omitted.push(OmittedRule { source: Arc::clone(&gone.source), layer: gone.layer, by, replaced_by });
        Some(gone)
    }

    /// Finds a rule in force by its id or an earlier one; reports one that is not there.
    fn find(&self, written: &Written, problems: &mut Vec<Problem>) -> Option<(String, usize)> {
        let mut id = written.text.as_str();
        if let Some(NameOf::Was(now)) = self.names.get(id) {
            id = now;
        }
        match self.names.get(id) {
            Some(NameOf::Rule(at)) => Some((id.to_owned(), *at)),
            Some(NameOf::Omitted(at)) => {
                let mut problem =
                    Problem::new(written.span, format!("rule `{id}` is no longer in force")).label("already gone");
                if let Some(gone) = self.omitted.get(*at) {
                    problem = problem.mark(gone.by.span, gone.by.value.clone());
                }
                problems.push(problem);
                None
            }
            Some(NameOf::Was(_)) | None => {
                if !self.alone {
                    let known: Vec<&str> = self.rules.iter().flatten().map(|rule| rule.source.id.as_str()).collect();
                    let problem = Problem::new(written.span, format!("there is no rule `{id}` below this ruleset"))
                        .label("unknown rule")
                        .about(Topic::Rule);
                    problems.push(with_help(problem, did_you_mean(id, known.iter().copied())));
                }
                None
            }
        }
    }

    /// Omits or reweighs a rule.
    pub(super) fn amend(
        &mut self,
        place: Place<'_>,
        amendment: &Amendment,
        written: &Written,
        problems: &mut Vec<Problem>,
        notices: &mut Vec<Problem>,
    ) {
        let Some((id, at)) = self.find(written, problems) else { return };
        if id != written.text {
            let message = format!("rule `{}` is called `{id}` now", written.text);
            notices.push(
                Problem::new(written.span, message).notice().label("an earlier id").help(format!("write `{id}`")),
            );
        }
        let Some(Some(rule)) = self.rules.get_mut(at) else { return };
        if rule.layer == place.layer && !amendment.is_limited() {
            problems.push(
                Problem::new(written.span, format!("rule `{id}` stands in this same ruleset"))
                    .label("amended without a day or an edition")
                    .mark(rule.source.id_span, "the rule")
                    .help("change the rule itself, or say from when or until when the amendment holds"),
            );
            return;
        }
        let step = setting(place, &amendment.evidence, written.span, amendment.change.text(), amendment.from);
        match &amendment.change {
            Change::Reweigh { weight, .. } => {
                rule.weight = *weight;
                rule.chain.push(step);
            }
            _ => {
                self.take_out(&id, at, step, None);
            }
        }
    }

    /// Returns the rules in force: lowest layer first, in the order of files and lines.
    pub(super) fn finish(mut self) -> Finished {
        let mut in_force = Vec::new();
        let mut moved: Vec<usize> = Vec::new();
        for rule in self.rules {
            moved.push(in_force.len());
            in_force.extend(rule);
        }
        for name in self.names.values_mut() {
            if let NameOf::Rule(at) = name {
                *at = moved.get(*at).copied().unwrap_or_default();
            }
        }
        Finished { in_force, omitted: self.omitted, names: self.names }
    }
}

/// Returns the problem of two rules with one id.
pub(super) fn rule_twice(rule: &RuleSource, first: &RuleSource) -> Problem {
    Problem::new(rule.id_span, format!("rule `{}` is there twice", rule.id))
        .label("again")
        .mark(first.id_span, "first here")
        .help("an id stands for one rule in all rulesets; to take the place of the first one, write `replaces` in the header")
}
