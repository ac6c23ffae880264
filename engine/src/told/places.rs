//! Where a finding points: the key path of its value, and a label under each value that went in.

use super::Words;
use crate::inspection::finding::Finding;
use crate::model::{FieldId, ItemIndex};
use crate::script::{Shown, Step, Verb, Working};
use crate::source::Span;

/// Labels that one finding gets: a sum over twenty devices shows the first of them.
const MOST_LABELS: usize = 8;

impl Words<'_> {
    /// Returns the key path of the value to look at: `end C7/from, first_support`.
    pub fn path(&self, finding: &Finding) -> String {
        match finding.path.field {
            Some(field) => self.job().path(finding.path.item, field),
            None => format!("{} {}", self.kind(finding.path.item), self.job().id(finding.path.item)),
        }
    }

    /// Returns the places to point at with their words, the first of them the value to look at. Under a written value stands what
    /// is written there, never what was made of it.
    pub fn labels(&self, finding: &Finding) -> Vec<(Span, String)> {
        if !finding.missing.is_empty() {
            return vec![(finding.at, String::from("not recorded here"))];
        }
        let mut written = self.written_values(finding);
        if written.is_empty() {
            let here = self.found(finding).unwrap_or_else(|| String::from("here"));
            return vec![(finding.at, here)];
        }
        if let Some(first) = written.iter().position(|(span, ..)| *span == finding.at) {
            let first = written.remove(first);
            written.insert(0, first);
        }
        // A condition is made of values that no sentence names; what is compared is named in the sentence.
        let alone = written.len() == 1 && finding.verb != Verb::Need;
        let label = |(span, item, field, value): &(Span, ItemIndex, FieldId, String)| {
            (
                *span,
                if alone {
                    value.clone()
                } else {
                    format!("{} {value}", self.field_name(*item, *field, finding.index))
                },
            )
        };
        let mut labels: Vec<(Span, String)> = Vec::new();
        for (span, text) in written.iter().map(label) {
            match labels.iter_mut().find(|(known, _)| *known == span) {
                // One word of the job file may fill several fields: `12/2` is a size and a number of conductors.
                Some((_, known)) => *known = format!("{known}, {text}"),
                None => labels.push((span, text)),
            }
        }
        labels.truncate(MOST_LABELS);
        labels
    }

    /// Returns the values of the job file that a check compares, in the order in which the rule names them.
    fn written_values(&self, finding: &Finding) -> Vec<(Span, ItemIndex, FieldId, String)> {
        let mut list: Vec<(Span, ItemIndex, FieldId, String)> = Vec::new();
        let mut add = |working: &Working| {
            let Step::Field { item, field } = working.step else { return };
            let span = self.job().cell(item, field).span();
            if span.is_none()
                || working.value == Shown::Unknown
                || list.iter().any(|one| (one.1, one.2) == (item, field))
            {
                return;
            }
            list.push((span, item, field, self.value(&working.value)));
        };
        for side in finding.found.iter().chain(&finding.allowed) {
            side.each(&mut add);
        }
        list
    }
}
