//! The one sentence of a finding.

use super::Words;
use super::names::{listed, spoken};
use crate::inspection::finding::{Finding, Missing, Outcome};
use crate::model::ItemIndex;
use crate::script::{Shown, Step};

/// Items that a sentence names; of more it says how many there are.
const MOST_NAMED: usize = 4;

impl Words<'_> {
    /// Returns the one sentence of a finding: the fact first, then the limit.
    pub fn message(&self, finding: &Finding) -> String {
        if let Some(look) = &finding.look {
            return match &finding.answer {
                Some(answer) => {
                    let note = answer.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
                    let verdict = if answer.ok { "found right" } else { "found wrong" };
                    format!("{look} — {verdict} by {} on {}{note}", answer.by, answer.on)
                }
                None => format!("look: {look}"),
            };
        }
        if let Some(excepted) = finding.excepted.as_ref().filter(|_| finding.outcome == Outcome::Excepted) {
            return format!("exception {}", self.exception(excepted));
        }
        if finding.outcome == Outcome::ToMeasure {
            let names: Vec<String> = finding.missing.iter().map(|missing| self.lacking(finding, missing)).collect();
            return match names.is_empty() {
                true => format!("nothing to compare: {}", finding.says),
                false => format!("not recorded: {}", names.join(", ")),
            };
        }
        let named = self.named(finding);
        match (self.what(finding), self.must(finding)) {
            (Some(what), Some(must)) => format!("{what}{named}; {must}"),
            _ => format!("{}{named}", finding.says),
        }
    }

    fn lacking(&self, finding: &Finding, missing: &Missing) -> String {
        let limit = self.limit(finding, missing).map_or_else(String::new, |limit| format!(" ({limit})"));
        format!("{} of {}{limit}", spoken(&missing.field), missing.item)
    }

    /// Returns the other items that a finding is about, in brackets: the partner of a pair, the members that break a rule.
    fn named(&self, finding: &Finding) -> String {
        let items: Vec<ItemIndex> = match (finding.partners.is_empty(), &finding.found) {
            (false, _) => finding.partners.clone(),
            (true, Some(found)) if found.value == Shown::Flag(false) => {
                found.deciding_members().into_iter().filter(|item| *item != finding.index).collect()
            }
            _ => Vec::new(),
        };
        // The least or greatest value names its own member.
        let told = matches!(finding.found.as_ref().map(|found| &found.step), Some(Step::Members { .. }))
            && finding.allowed.iter().any(|limit| limit.value != Shown::Unknown)
            && finding.partners.is_empty();
        if items.is_empty() || told {
            return String::new();
        }
        let names: Vec<String> = items.iter().map(|item| self.item(*item)).collect();
        format!(" ({})", listed(&names, MOST_NAMED))
    }
}

/// Returns the first sentence of a rule's guide text, begun small and without its full stop.
pub fn first_sentence(doc: &str) -> String {
    let flat = doc.split_whitespace().collect::<Vec<_>>().join(" ");
    let end = flat.find(". ").unwrap_or(flat.len());
    let sentence = flat.get(..end).unwrap_or(&flat).trim_end_matches('.');
    let mut letters = sentence.chars();
    match (letters.next(), letters.clone().next()) {
        // An abbreviation such as GFCI keeps its capitals.
        (Some(first), Some(second)) if !second.is_uppercase() => first.to_lowercase().chain(letters).collect(),
        _ => sentence.to_owned(),
    }
}
