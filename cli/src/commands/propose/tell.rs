//! What is told of a proposal: what it adds, what it can't, and which corrections are the user's to decide.

use std::collections::BTreeSet;

use storystick_engine::inspection::finding::{Finding, Outcome as Verdict, Weight};

use super::rounds::Outcome;
use crate::render::wrap::indented;

/// Most lines of a list; `inspect` shows the rest.
const MOST: usize = 12;

/// Returns the summary of a proposal that is written to a file.
pub(super) fn summary(outcome: &Outcome, to: &str, columns: usize) -> String {
    let (onto, new): (Vec<_>, Vec<_>) = outcome.items.iter().partition(|item| item.onto.is_some());
    let mut told = Vec::new();
    if !new.is_empty() {
        told.push(format!("proposed {}", kinds(new.iter().map(|item| item.kind))));
    }
    if !onto.is_empty() {
        told.push(format!("filled in {}", kinds(onto.iter().map(|item| item.kind))));
    }
    let mut out = if told.is_empty() {
        String::from("nothing to propose: every room, circuit and cable is there\n")
    } else {
        indented(&format!("{} in {to}", told.join("; ")), columns, 0, "  ")
    };
    out.push_str(&left(outcome, to, columns));
    if !told.is_empty() {
        out.push_str(&format!("next: storystick inspect {to}\n"));
    }
    out
}

/// Returns what a proposal leaves to the user: what it can't propose, and the corrections that remain.
pub(super) fn left(outcome: &Outcome, to: &str, columns: usize) -> String {
    let mut out = String::new();
    if !outcome.unproposed.is_empty() {
        out.push_str("\nnot proposed\n");
        for one in &outcome.unproposed {
            out.push_str(&indented(&format!("{} {}: {}", one.kind, one.item, one.why), columns, 2, "  "));
            if let Some(fix) = &one.fix {
                out.push_str(&indented(&format!("→ {fix}"), columns, 4, "  "));
            }
        }
    }
    let ours: BTreeSet<&str> =
        outcome.items.iter().filter(|item| item.onto.is_none()).map(|item| item.id.as_str()).collect();
    let is_ours = |finding: &&Finding| ours.contains(finding.item.split('/').next().unwrap_or_default());
    let (own, yours): (Vec<&Finding>, Vec<&Finding>) = remaining(outcome).partition(is_ours);
    for (head, found) in [
        ("yours to decide, for a proposal changes nothing that is written", yours),
        ("left in what is proposed, for want of a choice that puts it right", own),
    ] {
        out.push_str(&list(head, &found, outcome, to, columns));
    }
    if !out.is_empty() {
        out.push('\n');
    }
    out
}

/// Returns the corrections that remain.
pub(super) fn remaining(outcome: &Outcome) -> impl Iterator<Item = &Finding> {
    let findings = outcome.inspected.report.findings.iter();
    findings.filter(|finding| finding.outcome == Verdict::Correction && finding.weight == Weight::Correction)
}

fn list(head: &str, found: &[&Finding], outcome: &Outcome, to: &str, columns: usize) -> String {
    if found.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}", indented(head, columns, 0, ""));
    let words = outcome.inspected.words();
    for finding in found.iter().take(MOST) {
        let line =
            outcome.inspected.job.files.place(finding.at).map_or_else(String::new, |at| format!(" line {}", at.line));
        let text = format!("{},{line}: {} ({})", words.item(finding.index), words.message(finding), finding.cite);
        out.push_str(&indented(&text, columns, 2, "  "));
        if let Some(fix) = &finding.fix {
            out.push_str(&indented(&format!("→ {fix}"), columns, 4, "  "));
        }
    }
    if let Some(more) = found.len().checked_sub(MOST).filter(|more| *more > 0) {
        out.push_str(&indented(&format!("and {more} more: `storystick inspect {to}` tells them"), columns, 2, "  "));
    }
    out
}

fn kinds<'k>(items: impl Iterator<Item = &'k str>) -> String {
    let mut by_kind: Vec<(&str, usize)> = Vec::new();
    for kind in items {
        match by_kind.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, number)) => *number += 1,
            None => by_kind.push((kind, 1)),
        }
    }
    let told: Vec<String> = by_kind.iter().map(|(kind, number)| count(*number, kind)).collect();
    told.join(", ")
}

fn count(number: usize, kind: &str) -> String {
    match (number, kind) {
        (1, _) => format!("1 {kind}"),
        (_, "box") => format!("{number} boxes"),
        _ => format!("{number} {kind}s"),
    }
}
