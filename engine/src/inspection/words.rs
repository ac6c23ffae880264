//! The sentences of findings.

use super::finding::{Missing, Outcome, SetBy};
use super::scene::Scene;
use super::settle::Answer;
use crate::book::{Book, Checked, EntryId, RuleSource, Setting, Value};
use crate::model::{FieldId, ItemIndex, Job, Type};
use crate::quantity::UnitSystem;
use crate::script::{Detail, Operand, OperandSource, Shown, Verb};

/// What sentences are made with.
pub(super) struct Words<'a> {
    pub(super) job: &'a Job,
    pub(super) book: &'a Book,
    pub(super) units: UnitSystem,
}

impl Words<'_> {
    /// Returns a value in trade form.
    pub(super) fn operand(&self, operand: &Operand) -> String {
        self.shown(&operand.value)
    }

    fn shown(&self, value: &Shown) -> String {
        match value {
            Shown::Unknown => String::from("unrecorded"),
            Shown::Quantity(quantity) => quantity.print(self.units),
            Shown::Flag(true) => String::from("yes"),
            Shown::Flag(false) => String::from("no"),
            Shown::Text(text) => text.clone(),
            Shown::Item(item) => self.job.id(*item).to_owned(),
            Shown::List(members) => members.iter().map(|one| self.shown(one)).collect::<Vec<_>>().join(", "),
        }
    }

    /// Returns what is allowed: `at most 12 in`.
    pub(super) fn allowed(&self, detail: &Detail) -> Option<String> {
        let values: Vec<String> = detail.allowed.iter().map(|operand| self.operand(operand)).collect();
        let first = values.first()?;
        if detail.allowed.iter().any(|operand| operand.value == Shown::Unknown) {
            return None;
        }
        Some(match detail.verb {
            Verb::AtMost => format!("at most {first}"),
            Verb::AtLeast => format!("at least {first}"),
            Verb::Between => format!("between {first} and {}", values.get(1).unwrap_or(first)),
            Verb::EqualTo => first.clone(),
            Verb::OneOf => format!("one of {first}"),
            Verb::Need | Verb::Look | Verb::Except => return None,
        })
    }

    /// Returns the one sentence of a finding.
    pub(super) fn message(
        &self,
        outcome: Outcome,
        source: &RuleSource,
        item: ItemIndex,
        detail: &Detail,
        missing: &[Missing],
        answer: Option<&Answer>,
    ) -> String {
        if let Some(look) = &detail.look {
            return match answer {
                Some(answer) => {
                    let note = answer.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
                    format!(
                        "{look} — {} by {} on {}{note}",
                        if answer.ok { "found right" } else { "found wrong" },
                        answer.by,
                        answer.on
                    )
                }
                None => format!("look: {look}"),
            };
        }
        if outcome == Outcome::ToMeasure {
            let name = |m: &Missing| {
                let limit = m.limit.as_ref().map_or_else(String::new, |limit| format!(" ({limit})"));
                format!("{} of {}{limit}", spoken(&m.field), m.item)
            };
            let names: Vec<String> = missing.iter().map(name).collect();
            return match names.is_empty() {
                true => format!("not recorded: {}", first_sentence(&source.doc)),
                false => format!("not recorded: {}", names.join(", ")),
            };
        }
        let (Some(found), Some(allowed)) = (&detail.found, self.allowed(detail)) else {
            return first_sentence(&source.doc);
        };
        let what = self.subject(item, found);
        let found = self.operand(found);
        let asks = match detail.verb {
            Verb::EqualTo => format!("must be {allowed}"),
            Verb::OneOf => format!("must be {allowed}"),
            _ => format!("{allowed} is asked for"),
        };
        format!("{what} is {found}, {asks}")
    }

    /// Returns the field that is held to the limit as it was written, if it is a single one.
    fn measured(&self, detail: &Detail) -> Option<(ItemIndex, FieldId)> {
        let mut values = detail.found.iter().flat_map(|operand| &operand.sources).filter_map(|source| match *source {
            OperandSource::Field(item, field) => {
                let spec = self.job.schema.field_spec(self.job.item(item).kind, field);
                (!matches!(spec.ty, Type::Item(_))).then_some((item, field))
            }
            OperandSource::Presumed(..) | OperandSource::Entry(..) | OperandSource::Literal(_) => None,
        });
        let first = values.next()?;
        values.next().is_none().then_some(first)
    }

    /// Returns what a found value is called: the field it was read from, with its item where that is another one than the
    /// item of the check.
    fn subject(&self, about: ItemIndex, operand: &Operand) -> String {
        let mut names: Vec<String> = Vec::new();
        for source in &operand.sources {
            if let OperandSource::Field(item, field) = *source {
                let kind = self.job.schema.spec(self.job.item(item).kind);
                let field = self.job.schema.field_spec(self.job.item(item).kind, field);
                // A link on the way to a value is no part of its name.
                if matches!(field.ty, Type::Item(_)) {
                    continue;
                }
                let name = match item == about {
                    true => spoken(field.name),
                    false => format!("{} of {} {}", spoken(field.name), spoken(kind.word), self.job.id(item)),
                };
                if !names.contains(&name) {
                    names.push(name);
                }
            }
        }
        match names.as_slice() {
            [] => String::from("the figure"),
            [one] => one.clone(),
            [first, ..] if matches!(operand.value, Shown::Flag(_)) => first.clone(),
            [first, second] => format!("the figure from {first} and {second}"),
            [first, .., last] => format!("the figure from {first} to {last}"),
        }
    }

    /// Returns who set the limits, latest first.
    pub(super) fn set_by(&self, detail: &Detail) -> Vec<SetBy> {
        let mut list = Vec::new();
        for (entry, row) in entries(detail) {
            for step in self.book.set_by_all(&self.chain(entry, row)) {
                if !list.contains(&step) {
                    list.push(step);
                }
            }
        }
        list
    }

    /// Returns the chain of an entry, or that of the row of a table that was looked up.
    fn chain(&self, entry: EntryId, row: Option<usize>) -> Vec<Setting> {
        let Some(entry) = self.book.entry(entry) else { return Vec::new() };
        let row = match (&entry.value, row) {
            (Value::Table(table), Some(row)) => table.rows().get(row),
            _ => None,
        };
        row.map_or_else(|| entry.chain.clone(), |row| entry.row_chain(row))
    }

    /// Says which values behind a finding nobody has verified.
    pub(super) fn unverified(&self, detail: &Detail) -> Option<String> {
        let mut doubts = Vec::new();
        for (entry, row) in entries(detail) {
            let Some(latest) = self.chain(entry, row).pop() else { continue };
            let key = self.book.entry(entry).map(|entry| entry.key.as_str()).unwrap_or_default();
            let how = match latest.checked {
                Checked::LawText | Checked::OfficialPage => continue,
                Checked::Secondary => "read at second hand",
                Checked::Memory => "from memory",
            };
            let doubt = format!("`{key}` is {how}");
            if !doubts.contains(&doubt) {
                doubts.push(doubt);
            }
        }
        (!doubts.is_empty()).then(|| doubts.join(", "))
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
pub(super) fn missing(scene: &Scene<'_>, words: &Words<'_>, detail: &Detail) -> Vec<Missing> {
    let job = scene.job;
    let measured = words.measured(detail);
    let mut list: Vec<Missing> = Vec::new();
    for &(item, field) in &detail.missing {
        let behind = scene.facts.missing_for(item, field);
        let limit = if behind.is_empty() && measured == Some((item, field)) { words.allowed(detail) } else { None };
        let written = if behind.is_empty() { &[(item, field)][..] } else { behind };
        for &(item, field) in written {
            let one = Missing {
                item: job.id(item).to_owned(),
                field: job.schema.field_spec(job.item(item).kind, field).name.to_owned(),
                limit: limit.clone(),
                span: job.item(item).header,
            };
            if !list.contains(&one) {
                list.push(one);
            }
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
