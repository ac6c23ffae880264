//! The days on which something changes in a ruleset.

use jiff::civil::Date;

use super::contents::Contents;
use super::days::turns;
use super::references;
use super::shelf::Shelf;

impl Shelf {
    /// Returns the days on which something changes in a ruleset or what it stands on: starts of adoptions, amendments,
    /// entries, rules and exceptions, and the days after their ends; sorted. On the first ones a place may not yet have an edition in force.
    pub fn days_of_change(&mut self, id: &str) -> Vec<Date> {
        let mut days: Vec<Date> = self.changes(id).into_iter().map(|(day, _)| day).collect();
        days.extend(self.changes_below(id));
        days.sort_unstable();
        days.dedup();
        days
    }

    /// Returns the days on which what a ruleset has adopted changes of itself, while it is adopted.
    fn changes_below(&mut self, id: &str) -> Vec<Date> {
        let Some(at) = self.index(id) else { return Vec::new() };
        let mut days = Vec::new();
        for at in references::with_parents(self, at) {
            let adopts = self.rulesets.get(at).map(|ruleset| ruleset.adopts.clone()).unwrap_or_default();
            for adoption in adopts {
                let Some(below) = self.index(&adoption.ruleset.text) else { continue };
                for at in references::with_parents(self, below) {
                    let contents = self.open_at(at);
                    let meanwhile = |day: &Date| *day > adoption.from && adoption.until.is_none_or(|last| *day <= last);
                    days.extend(turns_of(&contents).filter(meanwhile));
                }
            }
        }
        days
    }

    /// Returns the day on which the newest adoption or amendment of a ruleset starts or an amendment has ended, the days of its rules among them, or the day of
    /// its last review where it states no day: the day on which its own trials take place.
    pub fn newest_start(&mut self, id: &str) -> Option<Date> {
        let starts = self.changes(id).into_iter().filter(|(_, change)| *change != Turn::AdoptionEnds);
        starts.map(|(day, _)| day).next_back().or_else(|| self.ruleset(id)?.reviewed)
    }

    fn changes(&mut self, id: &str) -> Vec<(Date, Turn)> {
        let Some(at) = self.index(id) else { return Vec::new() };
        let after = |last: Option<Date>| last.and_then(|day| day.tomorrow().ok());
        let mut days = Vec::new();
        for at in references::with_parents(self, at) {
            let contents = self.open_at(at);
            let Some(ruleset) = self.rulesets.get(at) else { continue };
            days.extend(ruleset.from.map(|day| (day, Turn::Other)));
            for adoption in &ruleset.adopts {
                days.push((adoption.from, Turn::Other));
                days.extend(adoption.choice_from.map(|day| (day, Turn::Other)));
                days.extend(after(adoption.choice_until).map(|day| (day, Turn::Other)));
                days.extend(after(adoption.until).map(|day| (day, Turn::AdoptionEnds)));
            }
            days.extend(turns_of(&contents).map(|day| (day, Turn::Other)));
        }
        days.sort_unstable();
        days.dedup_by_key(|(day, _)| *day);
        days
    }
}

/// Returns the days on which something that a ruleset says begins, or has ended.
fn turns_of(contents: &Contents) -> impl Iterator<Item = Date> {
    let amends = contents.amends.iter().map(|amendment| (amendment.from, amendment.until));
    let rules = contents.rules.iter().map(|rule| (rule.from, rule.until));
    let exceptions = contents.exceptions.iter().map(|added| (added.from, added.until));
    let entries = contents.entries.iter().map(|entry| (entry.from, entry.until));
    let periods = amends.chain(rules).chain(exceptions).chain(entries);
    periods.flat_map(|(from, until)| turns(from, until)).chain(contents.turns.iter().copied())
}

/// What changes on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    /// Something begins, or an amendment has ended.
    Other,
    /// An adoption has ended, and nothing may be in force.
    AdoptionEnds,
}
