//! The book: one code in force for a place, its dates and a shop, each entry with the chain of who set it.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use jiff::civil::Date;

use super::ask::{AskSpans, DateKind};
use super::days;
use super::defines::DefineInForce;
use super::entry::{Checked, Entry, EntryId, Setting};
use super::manifest::RulesetKind;
use super::rules::{NameOf, OmittedRule, RuleInForce};
use super::stack::InForce;
use super::text::Origin;
use super::tightened::Tightened;
use crate::book::{CodeInForce, RulesetInForce, SetBy};
use crate::model::KindId;
use crate::problem::Problem;
use crate::source::{File, Span};

/// A ruleset in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What it is.
    pub kind: RulesetKind,
    /// Its version.
    pub version: String,
    /// Hash of its content.
    pub content: String,
    /// When it was last reviewed.
    pub reviewed: Option<Date>,
    /// Why it is a draft, if it is one.
    pub draft: Option<String>,
    /// Its source.
    pub source: String,
    /// Where the ruleset of the same id comes from that this one stands in front of.
    pub stands_before: Option<Origin>,
    /// The day that counts for the days which its rules name inside their blocks: the first one since the last of those, so
    /// that one book serves all days between two changes. [`Date::MIN`] where none has come.
    pub day: Date,
    /// Who adopted it; none for places, shops and editions that are followed or stand by themselves.
    pub adopted: Option<Adopted>,
    /// The line of its id.
    pub span: Span,
}

/// The adoption that put a ruleset in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adopted {
    /// Id of the place that adopted.
    pub by: String,
    /// First day in force.
    pub from: Date,
    /// The dates that count there: the first of them that the job records.
    pub counts: Vec<DateKind>,
    /// Citation.
    pub cites: String,
    /// Where the adoption was read.
    pub source: String,
    /// How it was checked; nobody has vouched for it where this is none.
    pub checked: Option<Checked>,
    /// The line that adopts.
    pub span: Span,
}

/// The code in force.
#[derive(Clone, Debug)]
pub struct Book {
    /// Ruleset of the place.
    pub jurisdiction: String,
    /// Ruleset of the edition; empty when a ruleset stands alone.
    pub edition: String,
    /// The day that counts for the rules of the place, as [`Layer::day`] has it: for rules of another layer see [`Book::holds`].
    pub day: Date,
    /// Rulesets in force, low to high: edition with what it follows, accessibility, places outermost first, shop.
    pub layers: Vec<Layer>,
    /// Rules in force: those of the lowest layer first, in the order of their files and lines.
    pub rules: Vec<RuleInForce>,
    /// Rules of some layer that are not in force.
    pub omitted: Vec<OmittedRule>,
    /// Shared conditions in force, in the order of their kinds and names.
    pub defines: Vec<DefineInForce>,
    /// What places have changed that may only tighten: the rules that read it decide whether they do.
    pub tightened: Vec<Tightened>,
    pub(super) entries: Vec<Option<Entry>>,
    /// Sorted by name.
    pub(super) keys: Vec<(String, EntryId)>,
    /// The same, to look one up.
    pub(super) by_key: HashMap<String, EntryId, ahash::RandomState>,
    pub(super) names: BTreeMap<String, NameOf>,
    pub(super) defaults: Option<Arc<File>>,
    pub(super) notices: Vec<Problem>,
    pub(super) accessibility_missing: bool,
    pub(super) stack: StackKey,
}

/// What tells one book from another: the layers, how they came in, and what of them is in force.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct StackKey {
    pub(super) layers: Vec<(usize, Option<Span>, InForce)>,
    pub(super) jurisdiction: usize,
    pub(super) alone: bool,
    pub(super) accessibility_missing: bool,
}

/// What the id of a rule stands for.
#[derive(Clone, Copy, Debug)]
pub enum RuleName<'b> {
    /// A rule in force.
    Current(&'b RuleInForce),
    /// An earlier id of a rule in force.
    Renamed(&'b RuleInForce),
    /// A rule that is not in force here.
    Omitted(&'b OmittedRule),
}

impl Book {
    /// Returns the number of an entry in force.
    pub fn id(&self, key: &str) -> Option<EntryId> {
        self.by_key.get(key).copied()
    }

    /// Returns an entry by its number.
    pub fn entry(&self, id: EntryId) -> Option<&Entry> {
        self.entries.get(id.0 as usize)?.as_ref()
    }

    /// Returns an entry by its name.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entry(self.id(key)?)
    }

    /// Returns the names of all entries in force with their numbers, in alphabetical order.
    pub fn keys(&self) -> impl Iterator<Item = (&str, EntryId)> + Clone {
        self.keys.iter().map(|(key, id)| (key.as_str(), *id))
    }

    /// Returns all entries in force, in alphabetical order.
    pub fn all_entries(&self) -> impl Iterator<Item = &Entry> {
        self.keys.iter().filter_map(|(_, id)| self.entry(*id))
    }

    /// Returns what the id of a rule stands for here.
    pub fn rule_named(&self, id: &str) -> Option<RuleName<'_>> {
        match self.names.get(id)? {
            NameOf::Rule(at) => self.rules.get(*at).map(RuleName::Current),
            NameOf::Omitted(at) => self.omitted.get(*at).map(RuleName::Omitted),
            NameOf::Was(now) => match self.names.get(now)? {
                NameOf::Rule(at) => self.rules.get(*at).map(RuleName::Renamed),
                NameOf::Omitted(at) => self.omitted.get(*at).map(RuleName::Omitted),
                NameOf::Was(_) => None,
            },
        }
    }

    /// Returns the ids of all rules in force and of those that are not, earlier ids included, sorted.
    pub fn rule_ids(&self) -> impl Iterator<Item = &str> + Clone {
        self.names.keys().map(String::as_str)
    }

    /// Returns the shared condition of a name that items of a kind have.
    pub fn define(&self, kind: KindId, name: &str) -> Option<&DefineInForce> {
        let key = |define: &DefineInForce| (define.source.kind, name.cmp(define.source.name.as_str()).reverse());
        let at = self.defines.binary_search_by(|define| key(define).cmp(&(kind, std::cmp::Ordering::Equal))).ok()?;
        self.defines.get(at)
    }

    /// Returns whether what a rule of a layer says for some days holds on the day that counts there.
    pub fn holds(&self, layer: usize, from: Option<Date>, until: Option<Date>) -> bool {
        self.layers.get(layer).is_some_and(|layer| days::hold(from, until, layer.day))
    }

    /// Returns the file of the shop's defaults for job files. Its syntax is sound.
    pub fn defaults(&self) -> Option<&Arc<File>> {
        self.defaults.as_ref()
    }

    /// Returns things to know about the rulesets; `at` tells where the job says what was asked.
    pub fn notices(&self, at: &AskSpans) -> Vec<Problem> {
        let mut notices = self.notices.clone();
        if self.accessibility_missing {
            let message =
                format!("nothing in `{}` adopts accessibility requirements, so none are checked", self.jurisdiction);
            notices.push(
                Problem::new(if at.accessible.is_some() { at.accessible } else { at.jurisdiction }, message)
                    .notice()
                    .label("asked for here")
                    .help("the place or one around it adopts them with `when = \"accessible\"`"),
            );
        }
        notices
    }

    /// Returns the code in force as findings and papers name it.
    pub fn code_in_force(&self, permit_date: Date) -> CodeInForce {
        let ruleset = |layer: &Layer| RulesetInForce {
            id: layer.id.clone(),
            title: layer.title.clone(),
            kind: layer.kind.word().to_owned(),
            version: layer.version.clone(),
            content: layer.content.clone(),
            reviewed: layer.reviewed.map(|day| day.to_string()).unwrap_or_default(),
            draft: layer.draft.clone(),
        };
        CodeInForce {
            jurisdiction: self.jurisdiction.clone(),
            edition: self.edition.clone(),
            permit_date: permit_date.to_string(),
            rulesets: self.layers.iter().map(ruleset).collect(),
        }
    }

    /// Returns one step of a chain as findings show it.
    pub fn set_by(&self, setting: &Setting) -> SetBy {
        let layer = self.layers.get(setting.ruleset);
        SetBy {
            ruleset: layer.map(|layer| layer.id.clone()).unwrap_or_default(),
            title: layer.map(|layer| layer.title.clone()).unwrap_or_default(),
            span: setting.span,
            cite: setting.cites.clone(),
            value: setting.value.clone(),
            in_force: setting.from.map(|day| day.to_string()),
            checked: setting.checked.word().to_owned(),
        }
    }

    /// Returns a chain as findings show it, latest first.
    pub fn set_by_all(&self, chain: &[Setting]) -> Vec<SetBy> {
        chain.iter().rev().map(|setting| self.set_by(setting)).collect()
    }

    /// Returns a chain in one line: `12 in (model code 2020, 334.30) → 8 in (Harlow County, Ord. 21-14 §3, in force 2022-01-01)`.
    pub fn chain_line(&self, chain: &[Setting]) -> String {
        let step = |setting: &Setting| {
            let title = self.layers.get(setting.ruleset).map_or("", |layer| layer.title.as_str());
            let since = setting.from.map(|day| format!(", in force {day}")).unwrap_or_default();
            format!("{} ({title}, {}{since})", setting.value, setting.cites)
        };
        chain.iter().map(step).collect::<Vec<_>>().join(" → ")
    }
}
