//! What was checked and met, rule by rule, with the item that came closest to its limit.

use std::collections::{BTreeMap, BTreeSet};

use super::Desk;
use crate::inspection::finding::{Finding, Outcome};
use crate::model::ItemIndex;
use crate::quantity::Dimension;
use crate::told::Words;

/// A rule that items meet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MetRule {
    /// Its id.
    pub rule: String,
    /// Its citation.
    pub cite: String,
    /// Checks met.
    pub count: usize,
    /// Values that were presumed in some of them, in words, each with the number of items of which it was; empty where none were.
    pub presumed: Vec<(String, usize)>,
    /// The item with the least margin, where the rule compares a value with a limit: one for each dimension that it compares.
    pub closest: Vec<Closest>,
}

/// The item that came closest to a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closest {
    /// Its id.
    pub item: String,
    /// What was found.
    pub found: String,
    /// What is allowed.
    pub allowed: String,
    /// By how much it is met.
    pub margin: String,
}

/// A rule whose exception takes items out of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExceptedRule {
    /// Its id.
    pub rule: String,
    /// Its citation.
    pub cite: String,
    /// The section that makes the exception.
    pub section: String,
    /// Name of the exception.
    pub name: String,
    /// Ids of the items.
    pub items: Vec<String>,
}

/// A rule on its way, with the least margin of each dimension and the item that has it.
struct Gathered<'a> {
    rule: MetRule,
    closest: BTreeMap<Dimension, (i64, &'a Finding)>,
    presumed: BTreeMap<String, BTreeSet<ItemIndex>>,
}

/// Returns the rules that items meet, by id. The inspection must have kept the met checks.
pub fn met_rules(desk: &Desk<'_>) -> Vec<MetRule> {
    let words = Words::new(desk.job, desk.book);
    let mut rules: BTreeMap<&str, Gathered<'_>> = BTreeMap::new();
    for finding in desk.report.findings.iter().filter(|finding| finding.outcome == Outcome::Met) {
        let gathered = rules.entry(&finding.rule).or_insert_with(|| {
            let (rule, cite) = (finding.rule.clone(), finding.cite.clone());
            let rule = MetRule { rule, cite, count: 0, presumed: Vec::new(), closest: Vec::new() };
            Gathered { rule, closest: BTreeMap::new(), presumed: BTreeMap::new() }
        });
        gathered.rule.count += 1;
        for presumed in &finding.presumed {
            gathered.presumed.entry(words.presumed_of_any(presumed)).or_default().insert(presumed.item);
        }
        if let Some(margin) = finding.margin {
            let least = gathered.closest.entry(margin.dimension()).or_insert((i64::MAX, finding));
            if margin.amount() < least.0 {
                *least = (margin.amount(), finding);
            }
        }
    }
    let told = |gathered: Gathered<'_>| {
        let closest = gathered.closest.into_values().filter_map(|(_, finding)| closest(&words, finding)).collect();
        let presumed = gathered.presumed.into_iter().map(|(told, items)| (told, items.len())).collect();
        MetRule { closest, presumed, ..gathered.rule }
    };
    rules.into_values().map(told).collect()
}

fn closest(words: &Words<'_>, finding: &Finding) -> Option<Closest> {
    Some(Closest {
        item: finding.item.clone(),
        found: words.found(finding)?,
        allowed: words.allowed(finding)?,
        margin: words.margin(finding)?,
    })
}

/// Returns the exceptions that take items out of rules, by rule and name.
pub fn excepted_rules(desk: &Desk<'_>) -> Vec<ExceptedRule> {
    let mut rules: BTreeMap<(&str, &str), ExceptedRule> = BTreeMap::new();
    for finding in &desk.report.findings {
        let Some(excepted) = finding.excepted.as_ref().filter(|_| finding.outcome == Outcome::Excepted) else {
            continue;
        };
        let rule = rules.entry((&finding.rule, &excepted.name)).or_insert_with(|| ExceptedRule {
            rule: finding.rule.clone(),
            cite: finding.cite.clone(),
            section: excepted.section.clone(),
            name: excepted.name.clone(),
            items: Vec::new(),
        });
        rule.items.push(finding.item.clone());
    }
    rules.into_values().collect()
}
