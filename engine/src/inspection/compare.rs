//! Two inspections of one job: what is new, what is cleared, what is still open.
//!
//! Findings are told apart by rule and item, never by line, so that a job file may be rearranged between two inspections. A rule
//! that has been renamed since is known by its earlier id.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;
use super::finding::{Finding, Outcome, Report, Weight};
use super::options::Options;
use crate::model::{Job, Stage};

/// One open finding of an earlier inspection, as its result names it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Earlier {
    /// Id that the rule had then.
    pub rule: String,
    /// Id of the item.
    pub item: String,
    /// The outcome then.
    pub outcome: Outcome,
    /// The weight then.
    pub weight: Weight,
    /// The stage of the rule then.
    pub stage: Stage,
    /// What was said then.
    pub message: String,
}

/// How an earlier finding stands now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Now {
    /// It is as it must be.
    Met,
    /// A special permission covers it.
    Permitted,
    /// An exception of the rule lets the item go.
    Excepted,
    /// The item is out of the rule's scope.
    NotApplicable,
    /// The job has no such item any more.
    ItemGone,
    /// The rule is not in force any more, or there is none of this name.
    RuleGone,
    /// It is not recorded any more.
    ToMeasure,
    /// It is as it was.
    Open,
}

impl Now {
    /// Returns the word of machine-readable results.
    pub fn word(self) -> &'static str {
        match self {
            Now::Met => "met",
            Now::Permitted => "permitted",
            Now::Excepted => "excepted",
            Now::NotApplicable => "not_applicable",
            Now::ItemGone => "item_gone",
            Now::RuleGone => "rule_gone",
            Now::ToMeasure => "to_measure",
            Now::Open => "open",
        }
    }
}

/// An earlier finding and how it stands now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Since {
    /// The finding as it was.
    pub earlier: Earlier,
    /// How it stands.
    pub now: Now,
}

/// What has changed between two inspections.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// Rule and item of findings that have to be put right and did not have to before, in the order of the report.
    pub new: Vec<(String, String)>,
    /// What had to be put right and has not to any more.
    pub cleared: Vec<Since>,
    /// What had to be put right and still has to, or can't be told any more.
    pub still_open: Vec<Since>,
    /// Earlier findings that this inspection did not look at: it stops at an earlier stage, or was narrowed.
    pub not_looked_at: Vec<Earlier>,
    /// What was to be measured before and is decided now.
    pub measured: usize,
    /// What is to be measured now and was not before.
    pub to_measure: usize,
}

type Place = (String, String);

/// Compares a report with an earlier inspection of the same job. The report must hold its met checks.
pub fn compare(earlier: &[Earlier], report: &Report, job: &Job, code: &Code, options: &Options) -> Comparison {
    let mut now: BTreeMap<Place, Vec<&Finding>> = BTreeMap::new();
    for finding in &report.findings {
        now.entry((finding.rule.clone(), finding.item.clone())).or_default().push(finding);
        // A pair is told once, and stands for both.
        for &partner in &finding.also {
            now.entry((finding.rule.clone(), job.id(partner).to_owned())).or_default().push(finding);
        }
    }
    let mut result = Comparison::default();
    let mut waited: BTreeSet<Place> = BTreeSet::new();
    let mut seen: BTreeSet<Place> = BTreeSet::new();
    for one in earlier {
        let rule = code.present(&one.rule).unwrap_or(&one.rule).to_owned();
        let place = (rule, one.item.clone());
        if one.outcome == Outcome::ToMeasure {
            waited.insert(place);
            continue;
        }
        if one.outcome != Outcome::Correction || !seen.insert(place.clone()) {
            continue;
        }
        if !looked_at(one, &place.0, code, report, options) {
            result.not_looked_at.push(one.clone());
            continue;
        }
        let now = standing(&place, &now, job, code);
        let since = Since { earlier: one.clone(), now };
        match now {
            Now::Open | Now::ToMeasure => result.still_open.push(since),
            _ => result.cleared.push(since),
        }
    }
    let mut told: BTreeSet<Place> = BTreeSet::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction) {
        let place = (finding.rule.clone(), finding.item.clone());
        if !seen.contains(&place) && told.insert(place.clone()) {
            result.new.push(place);
        }
    }
    let open = |place: &Place| now.get(place).is_some_and(|all| worst(all) == Some(Outcome::ToMeasure));
    let decided = |place: &Place| now.get(place).and_then(|all| worst(all)).is_some_and(|w| w != Outcome::ToMeasure);
    result.measured = waited.iter().filter(|place| decided(place)).count();
    result.to_measure = now.keys().filter(|place| open(place) && !waited.contains(place)).count();
    result
}

/// Returns whether this inspection would have told of an earlier finding at all.
fn looked_at(one: &Earlier, rule: &str, code: &Code, report: &Report, options: &Options) -> bool {
    let chosen = options.rules.is_empty() || options.rules.iter().any(|written| code.names(written, rule));
    let item = options.items.is_empty() || options.items.contains(&one.item);
    chosen && item && one.stage <= report.stage && one.weight <= options.lightest
}

fn standing(place: &Place, now: &BTreeMap<Place, Vec<&Finding>>, job: &Job, code: &Code) -> Now {
    match now.get(place).and_then(|all| worst(all)) {
        Some(Outcome::Correction) => Now::Open,
        Some(Outcome::ToMeasure) => Now::ToMeasure,
        Some(Outcome::Permitted) => Now::Permitted,
        Some(Outcome::Excepted) => Now::Excepted,
        Some(Outcome::Met) => Now::Met,
        None if job.find(&place.1).is_none() => Now::ItemGone,
        None if code.present(&place.0).is_none() => Now::RuleGone,
        None => Now::NotApplicable,
    }
}

/// Returns the worst outcome of the checks of one rule on one item.
fn worst(all: &[&Finding]) -> Option<Outcome> {
    all.iter().map(|finding| finding.outcome).min()
}
