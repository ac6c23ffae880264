//! The sentences of findings.

use super::compose::Scene;
use super::finding::{Missing, Outcome, SetBy};
use super::settle::Answer;
use crate::book::{Book, EntryId, RuleSource};
use crate::calc;
use crate::model::{FieldId, Filled, ItemIndex, Job};
use crate::quantity::UnitSystem;
use crate::script::{Detail, Operand, OperandSource, Verb};

/// What sentences are made with.
pub(super) struct Words<'a> {
    pub(super) job: &'a Job,
    pub(super) book: &'a Book,
    pub(super) units: UnitSystem,
}

impl Words<'_> {
    /// Returns a value in trade form.
    pub(super) fn operand(&self, operand: &Operand) -> String {
        operand.value.print(self.units, &self.job.symbols)
    }

    /// Returns what is allowed: `at most 12 in`.
    pub(super) fn allowed(&self, detail: &Detail) -> Option<String> {
        let values: Vec<String> = detail.allowed.iter().map(|operand| self.operand(operand)).collect();
        let first = values.first()?;
        Some(match detail.verb {
            Verb::AtMost => format!("at most {first}"),
            Verb::AtLeast => format!("at least {first}"),
            Verb::Between => format!("between {first} and {}", values.get(1).unwrap_or(first)),
            Verb::EqualTo => first.clone(),
            Verb::OneOf => format!("one of {first}"),
            Verb::Need | Verb::Look => return None,
        })
    }

    /// Returns the one sentence of a finding.
    pub(super) fn message(
        &self,
        outcome: Outcome,
        source: &RuleSource,
        detail: &Detail,
        missing: &[Missing],
        answer: Option<&Answer>,
    ) -> String {
        if let Some(look) = &detail.look {
            return match answer {
                Some(answer) => {
                    let note = answer.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
                    format!("{look} — {} by {} on {}{note}", if answer.ok { "found right" } else { "found wrong" }, answer.by, answer.on)
                }
                None => format!("look: {look}"),
            };
        }
        if outcome == Outcome::ToMeasure {
            let names: Vec<String> = missing.iter().map(|m| format!("{} of {}", spoken(&m.field), m.item)).collect();
            let limit = self.allowed(detail).map_or_else(String::new, |limit| format!(" ({limit})"));
            return match names.is_empty() {
                true => format!("not recorded{limit}: {}", first_sentence(&source.doc)),
                false => format!("not recorded: {}{limit}", names.join(", ")),
            };
        }
        let (Some(found), Some(allowed)) = (&detail.found, self.allowed(detail)) else {
            return first_sentence(&source.doc);
        };
        let what = self.subject(found);
        let found = self.operand(found);
        let asks = match detail.verb {
            Verb::EqualTo => format!("must be {allowed}"),
            Verb::OneOf => format!("must be {allowed}"),
            _ => format!("{allowed} is asked for"),
        };
        format!("{what} is {found}, {asks}")
    }

    /// Returns what a found value is called: the field it was read from, or the calculation.
    fn subject(&self, operand: &Operand) -> String {
        let mut names: Vec<String> = Vec::new();
        for source in &operand.sources {
            if let OperandSource::Field(item, field) = *source {
                let name = spoken(self.job.schema.field_spec(self.job.item(item).kind, field).name);
                if !names.contains(&name) {
                    names.push(name);
                }
            }
        }
        match names.as_slice() {
            [] => String::from("the value"),
            [one] => one.clone(),
            [first, .., last] => format!("the figure from {first} and {last}"),
        }
    }

    /// Returns who set the limits, latest first.
    pub(super) fn set_by(&self, detail: &Detail) -> Vec<SetBy> {
        let mut list = Vec::new();
        for (entry, row) in entries(detail) {
            for step in self.book.set_by(entry, row, self.units, &self.job.symbols) {
                if !list.contains(&step) {
                    list.push(step);
                }
            }
        }
        list
    }

    /// Says which values behind a finding nobody has verified.
    pub(super) fn unverified(&self, detail: &Detail) -> Option<String> {
        let mut doubts = Vec::new();
        for (entry, row) in entries(detail) {
            if let Some(doubt) = self.book.unverified(entry, row)
                && !doubts.contains(&doubt)
            {
                doubts.push(doubt);
            }
        }
        (!doubts.is_empty()).then(|| doubts.join("; "))
    }
}

/// Returns the entries of the code behind a check: those of the limit first, then those of the value.
fn entries(detail: &Detail) -> Vec<(EntryId, Option<usize>)> {
    let mut list = Vec::new();
    for source in detail.allowed.iter().chain(&detail.found).flat_map(|operand| &operand.sources) {
        if let OperandSource::Entry(entry, row) = *source
            && !list.contains(&(entry, row))
        {
            list.push((entry, row));
        }
    }
    list
}

/// Names what is unrecorded; behind a computed field that is what its calculation lacks.
pub(super) fn missing(scene: &Scene<'_>, fields: &[(ItemIndex, FieldId)]) -> Vec<Missing> {
    let job = scene.job;
    let mut list: Vec<Missing> = Vec::new();
    let mut push = |item: ItemIndex, field: FieldId| {
        let one = Missing {
            item: job.id(item).to_owned(),
            field: job.schema.field_spec(job.item(item).kind, field).name.to_owned(),
            span: job.item(item).header,
        };
        if !list.contains(&one) {
            list.push(one);
        }
    };
    for &(item, field) in fields {
        let derived = job.schema.field_spec(job.item(item).kind, field).filled == Filled::Derived;
        let deeper = if derived { calc::lacks(job, &scene.code.book, scene.library, item, field) } else { Vec::new() };
        if deeper.is_empty() {
            push(item, field);
        }
        for (item, field) in deeper {
            push(item, field);
        }
    }
    list
}

/// Returns a name as people say it: `first_support` as `first support`.
pub(super) fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

/// Returns the first sentence of a rule's guide text, begun small and without its full stop.
pub(super) fn first_sentence(doc: &str) -> String {
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

#[cfg(test)]
mod tests {
    use super::first_sentence;

    #[test]
    fn the_first_sentence_begins_small_unless_it_is_an_abbreviation() {
        assert_eq!(first_sentence("A staple close to the box. It keeps…"), "a staple close to the box");
        assert_eq!(first_sentence("GFCI protection by 210.8\nholds."), "GFCI protection by 210.8 holds");
        assert_eq!(first_sentence(""), "");
    }
}
