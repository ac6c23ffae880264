//! What stands on every paper: job, place, edition, amendments, review dates, what nobody has verified, and the cautions.

use std::collections::BTreeSet;

use super::Desk;
use crate::book::RulesetKind;
use crate::inspection::finding::{CodeInForce, RulesetInForce};
use crate::model::Stage;
use crate::model::kinds::site;
use crate::quantity::UnitSystem;

/// Says on every paper what the program does not do.
pub const NOTICE: &str = "Prepared to help a qualified person plan and check the work; it approves nothing. \
    The local code and the authority having jurisdiction decide.";

/// The usual cautions, on every paper.
pub const CAUTIONS: &[&str] = &[
    "Before hands go into a box or panel: find every source, switch it off, lock and tag it out.",
    "Verify absence of voltage at the point of work, conductor to conductor and conductor to ground, with a tester proved on \
     a known live source before and after.",
    "A box may hold more than one circuit. After any doubt or interruption, start again.",
];

/// A value that stands otherwise than in the edition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amendment {
    /// The entry or rule.
    pub key: String,
    /// The chain of who set it, in one line.
    pub chain: String,
}

/// A value behind the findings that nobody has compared with the law.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unverified {
    /// Title of the ruleset that set it.
    pub title: String,
    /// Its citation.
    pub cite: String,
    /// The value.
    pub value: String,
    /// How it was checked: `secondary` or `memory`.
    pub checked: String,
}

/// The head of a paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Masthead {
    /// Name of the job.
    pub job: String,
    /// Its file.
    pub file: String,
    /// Title of the place's ruleset.
    pub place: String,
    /// Title of the edition.
    pub edition: String,
    /// The code in force.
    pub code: CodeInForce,
    /// Stage up to which rules were run.
    pub stage: Stage,
    /// Kind of dwelling, in words.
    pub dwelling: String,
    /// Units of the papers.
    pub units: UnitSystem,
    /// What places and shop set otherwise than the edition.
    pub amendments: Vec<Amendment>,
    /// Values behind the findings that nobody has verified.
    pub unverified: Vec<Unverified>,
}

impl Masthead {
    /// Returns the head of the papers of a job.
    pub fn of(desk: &Desk<'_>) -> Masthead {
        let code = desk.report.code.clone();
        let title = |id: &str| code.rulesets.iter().find(|layer| layer.id == id).map(|layer| layer.title.clone());
        let dwelling = desk.site().and_then(|site| desk.job.text(site, site::DWELLING)).unwrap_or("one_family");
        Masthead {
            job: desk.report.job.clone(),
            file: desk.report.file.clone(),
            place: title(&code.jurisdiction).unwrap_or_else(|| code.jurisdiction.clone()),
            edition: title(&code.edition).unwrap_or_else(|| code.edition.clone()),
            stage: desk.report.stage,
            dwelling: super::desk::words(dwelling),
            units: desk.units,
            amendments: amendments(desk),
            unverified: unverified(desk),
            code,
        }
    }

    /// Returns the rulesets that are drafts, with the reason.
    pub fn drafts(&self) -> impl Iterator<Item = (&RulesetInForce, &str)> {
        self.code.rulesets.iter().filter_map(|layer| Some((layer, layer.draft.as_deref()?)))
    }
}

/// Lists the entries and rules that a place set otherwise than the layers below it, and the rules it took out of force.
fn amendments(desk: &Desk<'_>) -> Vec<Amendment> {
    let book = desk.book;
    let of_place = |at: usize| book.layers.get(at).is_some_and(|layer| layer.kind == RulesetKind::Jurisdiction);
    let mut list: Vec<Amendment> = book
        .all_entries()
        .filter(|entry| entry.chain.len() > 1 && entry.chain.iter().any(|setting| of_place(setting.ruleset)))
        .map(|entry| Amendment { key: entry.key.clone(), chain: book.chain_line(&entry.chain) })
        .collect();
    for rule in book.rules.iter().filter(|rule| rule.chain.iter().any(|setting| of_place(setting.ruleset))) {
        list.push(Amendment { key: rule.source.id.clone(), chain: book.chain_line(&rule.chain) });
    }
    for rule in book.omitted.iter().filter(|rule| of_place(rule.by.ruleset)) {
        let chain = book.chain_line(std::slice::from_ref(&rule.by));
        list.push(Amendment { key: rule.source.id.clone(), chain: format!("not in force: {chain}") });
    }
    list.dedup();
    list
}

/// Gathers the limits behind all findings whose last setter nobody has compared with the law.
fn unverified(desk: &Desk<'_>) -> Vec<Unverified> {
    let mut seen: BTreeSet<Unverified> = BTreeSet::new();
    for set in desk.report.findings.iter().filter_map(|finding| finding.set_by.first()) {
        if matches!(set.checked.as_str(), "secondary" | "memory") {
            seen.insert(Unverified {
                title: set.title.clone(),
                cite: set.cite.clone(),
                value: set.value.clone(),
                checked: set.checked.clone(),
            });
        }
    }
    seen.into_iter().collect()
}
