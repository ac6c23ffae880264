//! One job under two codes: what fails, passes or stays open under one and not under the other, and which entry or rule made
//! the difference.
//!
//! Both inspections must come from one inspector and hold their met checks. Findings are told apart by rule and item; a rule that has
//! another id there, or another rule in its place, is taken for the same one.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;
use super::finding::{Finding, Outcome, SetBy, Weight};
use super::inspector::Inspected;
use crate::book::{Book, Difference, EntryChange, EntryDifference, RuleDifference, RuleName, Step};
use crate::calc::{self, Library};
use crate::script::Bound;

/// What the other code brings about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turn {
    /// It fails, and did not.
    Fails,
    /// It is to be measured, and was not.
    Opens,
    /// It does not fail any more.
    Passes,
    /// It need not be measured any more.
    Settles,
    /// It fails as before, and weighs otherwise.
    Weighs,
}

impl Turn {
    /// All turns with the words of machine-readable results.
    pub const ALL: [(Turn, &'static str); 5] = [
        (Turn::Fails, "newly_fails"),
        (Turn::Opens, "newly_open"),
        (Turn::Passes, "newly_passes"),
        (Turn::Settles, "no_longer_open"),
        (Turn::Weighs, "weighs_otherwise"),
    ];

    /// Returns the word.
    pub fn word(self) -> &'static str {
        Turn::ALL[self as usize].1
    }
}

/// One rule on one item that comes out otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// What has come about.
    pub turn: Turn,
    /// Id of the rule under the other code, or under the first where the other has none.
    pub rule: String,
    /// Name of the item's kind.
    pub kind: &'static str,
    /// Its id.
    pub item: String,
    /// The worst finding under the first code; none where no rule had anything to say.
    pub before: Option<Finding>,
    /// The same under the other code.
    pub after: Option<Finding>,
    /// What made the difference. Empty where nothing that the rule reads differs by itself.
    pub because: Vec<Because>,
}

/// What made a difference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Because {
    /// An entry that the rule reads, or a calculation behind it.
    Entry(EntryDifference),
    /// The rule itself.
    Rule(RuleDifference),
}

/// One job under two codes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compared {
    /// What comes out otherwise, by turn, then by rule and item.
    pub changes: Vec<Changed>,
    /// Rules on items that fail under both.
    pub fail_under_both: usize,
}

impl Compared {
    /// Returns the changes of one sort.
    pub fn of(&self, turn: Turn) -> impl Iterator<Item = &Changed> {
        self.changes.iter().filter(move |change| change.turn == turn)
    }
}

/// Compares two inspections of one job under two codes.
pub fn compare_codes(before: &Inspected, after: &Inspected, library: &Library) -> Compared {
    let difference = Book::diff(&before.code.book, &after.code.book);
    let sides = Sides { before, after, library, difference: &difference, read: BTreeMap::new() };
    sides.compare()
}

/// Rule and item.
type Place = (String, String);

struct Sides<'a> {
    before: &'a Inspected,
    after: &'a Inspected,
    library: &'a Library,
    difference: &'a Difference,
    /// Entries that each rule reads, by its id.
    read: BTreeMap<String, BTreeSet<String>>,
}

impl Sides<'_> {
    fn compare(mut self) -> Compared {
        let (before, after) = (self.before, self.after);
        let there = |rule: &str| counterpart(&after.code, rule).to_owned();
        let first = worst(&before.report.findings, |rule| there(rule));
        let second = worst(&after.report.findings, str::to_owned);
        let mut compared = Compared::default();
        let places: BTreeSet<&Place> = first.keys().chain(second.keys()).collect();
        for place in places {
            let sides = (first.get(place).copied(), second.get(place).copied());
            if let (Some(Outcome::Correction), Some(Outcome::Correction)) = (outcome(sides.0), outcome(sides.1)) {
                compared.fail_under_both += 1;
            }
            let (Some(turn), Some(told)) = (turn(sides), sides.1.or(sides.0)) else { continue };
            compared.changes.push(Changed {
                turn,
                rule: told.rule.clone(),
                kind: told.kind,
                item: place.1.clone(),
                before: sides.0.cloned(),
                after: sides.1.cloned(),
                because: self.causes(place, sides),
            });
        }
        compared.changes.sort_by(|a, b| (a.turn, &a.rule, &a.item).cmp(&(b.turn, &b.rule, &b.item)));
        compared
    }

    /// Returns what made the difference to a rule on an item.
    fn causes(&mut self, place: &Place, sides: (Option<&Finding>, Option<&Finding>)) -> Vec<Because> {
        let mut ids: BTreeSet<&str> = [sides.0, sides.1].into_iter().flatten().map(|one| one.rule.as_str()).collect();
        ids.insert(&place.0);
        let rules: Vec<&RuleDifference> =
            self.difference.rules.iter().filter(|rule| ids.contains(rule.id.as_str())).collect();
        let both = self.before.code.present(&place.0).is_some() && self.after.code.present(&place.0).is_some();
        let mut causes: Vec<Because> = rules.into_iter().cloned().map(Because::Rule).collect();
        if causes.is_empty() || both {
            let read: BTreeSet<String> = ids.iter().flat_map(|id| self.reads(id).clone()).collect();
            let differs: Vec<&EntryDifference> =
                self.difference.entries.iter().filter(|entry| read.contains(&entry.key)).collect();
            let set_by: Vec<&SetBy> =
                [sides.0, sides.1].into_iter().flatten().flat_map(|finding| &finding.set_by).collect();
            let limits: Vec<&EntryDifference> =
                differs.iter().copied().filter(|entry| is_behind(entry, &set_by)).collect();
            let told = if limits.is_empty() { differs } else { limits };
            causes.extend(told.into_iter().cloned().map(Because::Entry));
        }
        causes
    }

    /// Returns the entries that a rule reads under either code, itself and through calculations on this job.
    fn reads(&mut self, id: &str) -> &BTreeSet<String> {
        let sides = [self.before, self.after];
        let library = self.library;
        self.read.entry(id.to_owned()).or_insert_with(|| {
            let mut read = BTreeSet::new();
            for side in sides {
                let code = &side.code;
                let Some(rule) = code.rules.iter().find(|rule| rule.in_force.source.id == id) else { continue };
                // Compiled it is wherever the job has items for it.
                let Some(rule) = rule.bound().map(Bound::rule) else { continue };
                let own = rule.entries().filter_map(|(entry, _)| code.book.entry(entry));
                read.extend(own.map(|entry| entry.key.clone()));
                let fields = rule.fields().iter().copied();
                read.append(&mut calc::entries_asked(&side.job, &*code.book, library, fields));
            }
            read
        })
    }
}

/// Returns the id under which a rule, or what stands in its place, is in force in another code; its own where it is not.
fn counterpart<'c>(code: &'c Code, id: &'c str) -> &'c str {
    match code.book.rule_named(id) {
        Some(RuleName::Current(rule) | RuleName::Renamed(rule)) => &rule.source.id,
        Some(RuleName::Omitted(gone)) => gone.replaced_by.as_deref().unwrap_or(id),
        None => id,
    }
}

/// Returns the worst finding of each rule on each item.
fn worst(findings: &[Finding], name: impl Fn(&str) -> String) -> BTreeMap<Place, &Finding> {
    let mut worst: BTreeMap<Place, &Finding> = BTreeMap::new();
    for finding in findings {
        let known = worst.entry((name(&finding.rule), finding.item.clone())).or_insert(finding);
        if finding.outcome < known.outcome {
            *known = finding;
        }
    }
    worst
}

fn outcome(finding: Option<&Finding>) -> Option<Outcome> {
    finding.map(|finding| finding.outcome)
}

fn turn((before, after): (Option<&Finding>, Option<&Finding>)) -> Option<Turn> {
    let weight = |finding: Option<&Finding>| finding.map(|finding| finding.weight);
    match (outcome(before), outcome(after)) {
        (Some(Outcome::Correction), Some(Outcome::Correction)) => {
            (weight(before) != weight(after)).then_some(Turn::Weighs)
        }
        (_, Some(Outcome::Correction)) => Some(Turn::Fails),
        (Some(Outcome::ToMeasure), Some(Outcome::ToMeasure)) => None,
        (_, Some(Outcome::ToMeasure)) => Some(Turn::Opens),
        (Some(Outcome::Correction), _) => Some(Turn::Passes),
        (Some(Outcome::ToMeasure), _) => Some(Turn::Settles),
        _ => None,
    }
}

/// Returns whether one of the steps behind a limit belongs to an entry. The line of a row is not that of its table, so that a
/// table is known by who set it and with which citation.
fn is_behind(entry: &EntryDifference, set_by: &[&SetBy]) -> bool {
    let rows = matches!(entry.what, EntryChange::Rows(_));
    let same = |step: &Step, set: &SetBy| {
        step.span == set.span || (rows && step.ruleset == set.ruleset && step.cites == set.cite)
    };
    entry.before.iter().chain(&entry.after).any(|step| set_by.iter().any(|set| same(step, set)))
}

/// Returns the heaviest weight of the newly failing, if there is any.
pub fn heaviest_new(compared: &Compared) -> Option<Weight> {
    compared.of(Turn::Fails).filter_map(|change| change.after.as_ref()).map(|finding| finding.weight).min()
}
