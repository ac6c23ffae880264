//! Collects the rules in force, layer by layer: new ones, replaced ones, omitted and reweighed ones.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::amendment::{Amendment, Change};
use super::days;
use super::entry::Setting;
use super::exceptions::{self, ExceptionInForce};
use super::fields::{Written, with_help};
use super::layer::{Place, setting};
use super::sources::{ExceptionSource, RuleSource};
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
    /// Exceptions that rulesets above it have added, lowest layer first.
    pub exceptions: Vec<ExceptionInForce>,
    /// Exceptions of its own text that rulesets above it take out, by name or section, each with who does. Only the rule's
    /// compiler can tell whether the rule has them: the span of the setting is the place to point at where not.
    pub omitted_exceptions: Vec<(String, Setting)>,
    /// Exceptions that a ruleset has added and one above it takes out again, each with who does.
    pub withdrawn: Vec<(ExceptionInForce, Setting)>,
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
    /// Whether nobody left it out: its own days do not include the day that counts.
    pub of_other_days: bool,
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
    /// Exceptions of other days: what is said of them is no slip.
    pub(super) exceptions_off: Vec<Arc<ExceptionSource>>,
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

    /// Adds a ruleset's own rules; one that replaces another takes it out. A rule of other days is noted and does nothing.
    pub(super) fn add_layer(&mut self, place: Place<'_>, problems: &mut Vec<Problem>) {
        for (at, rule) in place.contents.rules.iter().enumerate() {
            let step = Setting {
                ruleset: place.layer,
                span: rule.id_span,
                cites: rule.cites.clone(),
                source: place.ruleset.source.clone(),
                checked: place.ruleset.checked_rule(rule),
                from: rule.from,
                value: String::from(rule.weight.word()),
                note: None,
            };
            let mut chain = Vec::new();
            let off = place.in_force.rules_off.contains(&at);
            if let (Some(replaced), false) = (&rule.replaces, off) {
                chain = self.replace(place, rule, replaced, &step, problems);
            }
            if let Some(problem) = self.taken(rule, off) {
                problems.push(problem);
                continue;
            }
            if off {
                self.note_other_days(place, rule, step);
                continue;
            }
            self.names.insert(rule.id.clone(), NameOf::Rule(self.rules.len()));
            self.was(rule, problems);
            chain.push(step);
            self.rules.push(Some(RuleInForce {
                source: Arc::clone(rule),
                layer: place.layer,
                weight: rule.weight,
                chain,
                exceptions: Vec::new(),
                omitted_exceptions: Vec::new(),
                withdrawn: Vec::new(),
            }));
        }
    }

    /// Returns the problem of a rule whose id another one has. A rule may go on under the id of the rule that it replaces,
    /// which is still in force while this one is `off`.
    fn taken(&self, rule: &RuleSource, off: bool) -> Option<Problem> {
        let replaces_it = rule.replaces.as_ref().is_some_and(|replaced| replaced.text == rule.id);
        match self.names.get(&rule.id)? {
            NameOf::Rule(_) if off && replaces_it => None,
            NameOf::Rule(at) => self.rules.get(*at)?.as_ref().map(|first| rule_twice(rule, &first.source)),
            NameOf::Omitted(_) if replaces_it => None,
            NameOf::Omitted(at) => self.omitted.get(*at).map(|first| rule_twice(rule, &first.source)),
            NameOf::Was(now) => Some(self.id_was_used(rule.id_span, &rule.id, now)),
        }
    }

    /// Notes a rule that is in force on other days.
    fn note_other_days(&mut self, place: Place<'_>, rule: &Arc<RuleSource>, step: Setting) {
        let by = Setting { value: format!("in force {}", days::in_words(rule.from, rule.until)), ..step };
        for id in [&rule.id].into_iter().chain(rule.was.iter().map(|old| &old.text)) {
            if !self.names.contains_key(id) {
                self.names.insert(id.clone(), NameOf::Omitted(self.omitted.len()));
            }
        }
        let source = Arc::clone(rule);
        self.omitted.push(OmittedRule { source, layer: place.layer, by, replaced_by: None, of_other_days: true });
    }

    /// Returns the weight that a rule in force has so far.
    pub(super) fn weight(&self, id: &str) -> Option<Weight> {
        let id = match self.names.get(id)? {
            NameOf::Was(now) => self.names.get(now)?,
            other => other,
        };
        match id {
            NameOf::Rule(at) => self.rules.get(*at)?.as_ref().map(|rule| rule.weight),
            NameOf::Omitted(_) | NameOf::Was(_) => None,
        }
    }

    pub(super) fn rule_mut(&mut self, at: usize) -> Option<&mut RuleInForce> {
        self.rules.get_mut(at)?.as_mut()
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
        let own = place.contents.rules.iter().position(|own| own.id == replaced.text && own.id != rule.id);
        if let Some(own) = own {
            // One rule of a ruleset may follow another on a day.
            if !place.in_force.rules_off.contains(&own) {
                problems.push(
                    Problem::new(replaced.span, format!("rule `{}` stands in the same ruleset", replaced.text))
                        .label("nothing to replace")
                        .help("take the replaced rule out of the ruleset, or end it with `until` on the day before this one begins"),
                );
            }
            return Vec::new();
        }
        let Some((id, at)) = self.find(replaced, problems) else { return Vec::new() };
        let by = Setting { span: replaced.span, value: format!("replaced by {}", rule.id), ..step.clone() };
        self.take_out(&id, at, by, Some(rule.id.clone())).map(|gone| gone.chain).unwrap_or_default()
    }

    fn take_out(&mut self, id: &str, at: usize, by: Setting, replaced_by: Option<String>) -> Option<RuleInForce> {
        let gone = self.rules.get_mut(at)?.take()?;
        self.names.insert(id.to_owned(), NameOf::Omitted(self.omitted.len()));
        let source = Arc::clone(&gone.source);
        self.omitted.push(OmittedRule { source, layer: gone.layer, by, replaced_by, of_other_days: false });
        Some(gone)
    }

    /// Finds a rule in force by its id or an earlier one; reports one that is not there. A rule of other days is no error:
    /// what is said of it holds on its own days.
    pub(super) fn find(&self, written: &Written, problems: &mut Vec<Problem>) -> Option<(String, usize)> {
        let mut id = written.text.as_str();
        if let Some(NameOf::Was(now)) = self.names.get(id) {
            id = now;
        }
        match self.names.get(id) {
            Some(NameOf::Rule(at)) => Some((id.to_owned(), *at)),
            Some(NameOf::Omitted(at)) if self.omitted.get(*at).is_some_and(|gone| gone.of_other_days) => None,
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

    /// Omits or reweighs a rule, or takes an exception out of it.
    pub(super) fn amend(
        &mut self,
        place: Place<'_>,
        amendment: &Amendment,
        written: &Written,
        problems: &mut Vec<Problem>,
        notices: &mut Vec<Problem>,
    ) {
        let Some((id, at)) = self.find(written, problems) else { return };
        exceptions::renamed(written, &id, notices);
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
            Change::OmitException { .. } => self.omit_exception(place, amendment, at, problems),
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
