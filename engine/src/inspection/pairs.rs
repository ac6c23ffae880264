//! Pairs: a rule between two items of one kind finds the same thing from both sides, and it is told once.

use std::collections::{BTreeMap, BTreeSet};

use super::compose;
use super::finding::{Finding, Outcome, Report};
use crate::model::{ItemIndex, Job};
use crate::script::{Over, Shown, Step, Workings};

/// Returns the items of the item's own kind that decided a check by being members of a list that it looked at.
pub(super) fn partners(job: &Job, item: ItemIndex, workings: &Workings) -> Vec<ItemIndex> {
    let kind = job.item(item).kind;
    let found = workings.found.iter().flat_map(|found| found.deciding_members());
    let mut partners: Vec<ItemIndex> = found.filter(|other| *other != item && job.item(*other).kind == kind).collect();
    partners.sort_unstable();
    partners.dedup();
    partners
}

/// Returns whether the partners alone decided the check: nothing else of the item's own was at stake.
fn is_between(finding: &Finding) -> bool {
    let Some(found) = &finding.found else { return false };
    match &found.step {
        Step::Members { over, .. } => *over != Over::Sum,
        // `!(any …)`
        Step::Of { parts, .. } => match parts.as_slice() {
            [one] => matches!(one.step, Step::Members { .. }),
            _ => false,
        },
        _ => false,
    }
}

/// What two findings of one pair have in common.
fn same(a: &Finding, b: &Finding) -> bool {
    let value = |one: &Finding| one.found.as_ref().map(|found| found.value.clone()).unwrap_or(Shown::Unknown);
    (a.outcome, a.weight, a.check) == (b.outcome, b.weight, b.check) && value(a) == value(b)
}

/// Leaves out each finding that says of a pair what an earlier one has said from the other side.
pub(super) fn tell_once(report: &mut Report) {
    let mut by_place: BTreeMap<(String, u8, ItemIndex), usize> = BTreeMap::new();
    for (at, finding) in report.findings.iter().enumerate() {
        if finding.outcome == Outcome::Correction && !finding.partners.is_empty() && is_between(finding) {
            by_place.insert((finding.rule.clone(), finding.check, finding.index), at);
        }
    }
    if by_place.is_empty() {
        return;
    }
    let mut left_out = vec![false; report.findings.len()];
    let mut also: Vec<(usize, ItemIndex)> = Vec::new();
    let mut named: Vec<(usize, Vec<ItemIndex>)> = Vec::new();
    let places: BTreeSet<usize> = by_place.values().copied().collect();
    for at in places {
        let Some(finding) = report.findings.get(at) else { continue };
        let told_by = |partner: &ItemIndex| {
            let other = *by_place.get(&(finding.rule.clone(), finding.check, *partner))?;
            let earlier = report.findings.get(other).filter(|_| other < at)?;
            (earlier.partners.contains(&finding.index) && same(earlier, finding)).then_some(other)
        };
        let told: Vec<Option<usize>> = finding.partners.iter().map(told_by).collect();
        let whole = told.iter().all(Option::is_some);
        if let Some(first) = told.iter().flatten().min().filter(|_| whole) {
            also.push((*first, finding.index));
            if let Some(slot) = left_out.get_mut(at) {
                *slot = true;
            }
        } else {
            let new = finding.partners.iter().zip(&told).filter(|(_, told)| told.is_none());
            named.push((at, new.map(|(partner, _)| *partner).collect()));
        }
    }
    for (at, item) in also {
        if let Some(finding) = report.findings.get_mut(at) {
            finding.also.push(item);
        }
    }
    for (at, partners) in named {
        if let Some(finding) = report.findings.get_mut(at) {
            finding.partners = partners;
        }
    }
    let mut gone = left_out.iter();
    let mut kept = Vec::with_capacity(report.findings.len());
    for finding in std::mem::take(&mut report.findings) {
        if gone.next() == Some(&true) {
            compose::uncount(&mut report.tally, &finding);
        } else {
            kept.push(finding);
        }
    }
    report.findings = kept;
}
