//! The words of findings: everything that a renderer says of a [`Finding`] is made here, from its data, when it is drawn.
//!
//! Nothing reads these texts back: what a program needs to know of a finding stands in the finding itself.

mod message;
mod names;
mod operands;
mod places;

#[cfg(test)]
mod tests;

use crate::book::Book;
use crate::inspection::finding::{Excepted, Finding, Missing, Presumed};
use crate::inspection::{Assumed, Inspected};
use crate::model::kinds::site;
use crate::model::{ItemIndex, Job};
use crate::quantity::{Quantity, UnitSystem};
use crate::script::Shown;

pub use message::first_sentence;
pub use names::spoken;

/// Says findings in the units of a job.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    job: &'a Job,
    book: &'a Book,
    units: UnitSystem,
}

impl<'a> Words<'a> {
    /// Returns the words for findings of a job under the code that it was checked to.
    pub fn new(job: &'a Job, book: &'a Book) -> Words<'a> {
        Words { job, book, units: units(job) }
    }

    /// Returns the job.
    pub fn job(&self) -> &'a Job {
        self.job
    }

    /// Returns the code.
    pub fn book(&self) -> &'a Book {
        self.book
    }

    /// Returns the units.
    pub fn units(&self) -> UnitSystem {
        self.units
    }

    /// Returns an amount in the units of the job.
    pub fn quantity(&self, quantity: Quantity) -> String {
        quantity.print(self.units)
    }

    /// Returns a value as people say it.
    pub fn value(&self, value: &Shown) -> String {
        match value {
            Shown::Unknown => String::from("not recorded"),
            Shown::Quantity(quantity) => quantity.print(self.units),
            Shown::Flag(true) => String::from("yes"),
            Shown::Flag(false) => String::from("no"),
            Shown::Text(text) => text.clone(),
            Shown::Item(item) => self.job.id(*item).to_owned(),
            Shown::List(members) => members.iter().map(|one| self.value(one)).collect::<Vec<_>>().join(", "),
        }
    }

    /// Returns the word of an item's kind, as rules call it: `end` for a cable end.
    pub fn kind(&self, item: ItemIndex) -> &'static str {
        self.job.schema.spec(self.job.item(item).kind).word
    }

    /// Returns an item by the word of its kind and its id: `box B12`.
    pub fn item(&self, item: ItemIndex) -> String {
        format!("{} {}", self.kind(item).replace('_', " "), self.job.id(item))
    }

    /// Returns by how much a check is met, or missed when negative.
    pub fn margin(&self, finding: &Finding) -> Option<String> {
        finding.margin.map(|margin| self.quantity(margin))
    }

    /// Returns what a missing value is compared with, where it is compared as it stands.
    pub fn limit(&self, finding: &Finding, missing: &Missing) -> Option<String> {
        if missing.compared { self.allowed(finding) } else { None }
    }

    /// Returns a value that a rule presumed: `voltage of circuit 4: 120 V (common practice, no source)`.
    pub fn presumed(&self, presumed: &Presumed) -> String {
        self.presumed_of(&self.item(presumed.item), presumed)
    }

    /// Returns a value that a rule presumed of several items, by their kind: `voltage of circuit: 120 V (common practice, no source)`.
    pub fn presumed_of_any(&self, presumed: &Presumed) -> String {
        self.presumed_of(&spoken(self.kind(presumed.item)), presumed)
    }

    fn presumed_of(&self, of: &str, presumed: &Presumed) -> String {
        let name = spoken(self.job.schema.field_spec(self.job.item(presumed.item).kind, presumed.field).name);
        format!("{name} of {of}: {} ({})", self.value(&presumed.value), presumed.because)
    }

    /// Returns what the job format or the shop takes for granted: `room has sink: no`.
    pub fn assumed(&self, assumed: &Assumed) -> String {
        let kind = self.job.schema.spec(assumed.kind);
        let field = spoken(self.job.schema.field_spec(assumed.kind, assumed.field).name);
        let by = match assumed {
            Assumed { by_shop: true, .. } => " (default of the shop)",
            Assumed { by_owner: true, value: Shown::Flag(true), .. } => " (by what it belongs to)",
            _ => "",
        };
        format!("{} {field}: {}{by}", spoken(kind.word), self.value(&assumed.value))
    }

    /// Returns the exception that an item falls under: `334.30(B)(1)`, with its name where it has another.
    pub fn exception(&self, excepted: &Excepted) -> String {
        match excepted.name == excepted.section {
            true => excepted.section.clone(),
            false => format!("{} ({})", excepted.section, excepted.name),
        }
    }

    /// Returns what nobody has verified behind a finding.
    pub fn unverified(&self, finding: &Finding) -> Option<String> {
        let doubts: Vec<String> = finding
            .unverified
            .iter()
            .map(|doubt| format!("`{}` is {}", doubt.key, names::checked(doubt.checked)))
            .collect();
        (!doubts.is_empty()).then(|| doubts.join(", "))
    }
}

impl Inspected {
    /// Returns the words for the findings of this job.
    pub fn words(&self) -> Words<'_> {
        Words::new(&self.job, &self.code.book)
    }
}

/// Returns the units that a job is written in.
pub(crate) fn units(job: &Job) -> UnitSystem {
    let item = job.schema.kind(site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
    match item.and_then(|item| job.text(item, site::UNITS)) {
        Some("metric") => UnitSystem::Metric,
        _ => UnitSystem::Customary,
    }
}
