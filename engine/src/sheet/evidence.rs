//! What was checked and met, rule by rule, with the item that came closest to its limit.

use std::collections::BTreeMap;

use super::Desk;
use crate::inspection::finding::{Finding, Outcome};
use crate::quantity::{Quantity, parse_any};

/// A rule that items meet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MetRule {
    /// Its id.
    pub rule: String,
    /// Its citation.
    pub cite: String,
    /// Checks met.
    pub count: usize,
    /// The item with the least margin, where the rule compares a value with a limit.
    pub closest: Option<Closest>,
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

/// Returns the rules that items meet, by id. The inspection must have kept the met checks.
pub fn met_rules(desk: &Desk<'_>) -> Vec<MetRule> {
    let mut rules: BTreeMap<&str, (MetRule, i64)> = BTreeMap::new();
    for finding in desk.report.findings.iter().filter(|finding| finding.outcome == Outcome::Met) {
        let (rule, least) = rules.entry(&finding.rule).or_insert_with(|| {
            let rule = MetRule { rule: finding.rule.clone(), cite: finding.cite.clone(), count: 0, closest: None };
            (rule, i64::MAX)
        });
        rule.count += 1;
        if let Some((closest, margin)) = closest(finding)
            && margin < *least
        {
            *least = margin;
            rule.closest = Some(closest);
        }
    }
    rules.into_values().map(|(rule, _)| rule).collect()
}

fn closest(finding: &Finding) -> Option<(Closest, i64)> {
    let margin = finding.margin_text.clone()?;
    let amount = parse_any(&margin).map(Quantity::amount)?;
    let closest = Closest {
        item: finding.item.clone(),
        found: finding.found_text.clone()?,
        allowed: finding.allowed_text.clone()?,
        margin,
    };
    Some((closest, amount))
}
