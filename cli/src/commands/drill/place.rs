//! Values of a job file that can be written over: each stands in the job's own file, for one item alone.

use std::collections::BTreeMap;

use storystick_engine::inspection::Inspected;
use storystick_engine::quantity::{UnitSystem, parse_any};
use storystick_engine::source::Span;

/// A value in a job file.
#[derive(Clone, Debug)]
pub(super) struct Place {
    /// Id of the item.
    pub(super) item: String,
    /// The value without quotes.
    pub(super) value: String,
    /// Whether it stands in quotes.
    quoted: bool,
    from: usize,
    to: usize,
}

/// Returns where a field is written, in the order of the file. With `shared`, a value that holds for several items is one place,
/// otherwise it is none.
pub(super) fn places(inspected: &Inspected, kind: &str, field: &str, shared: bool) -> Vec<Place> {
    let job = &inspected.job;
    let Some(kind) = job.schema.kind(kind) else { return Vec::new() };
    let Some(field) = job.schema.field(kind, field) else { return Vec::new() };
    let mut spans: BTreeMap<Span, Vec<&str>> = BTreeMap::new();
    for &item in job.of_kind(kind) {
        let span = job.cell(item, field).span();
        if span.is_some() {
            spans.entry(span).or_default().push(job.id(item));
        }
    }
    let of = |(span, items): (&Span, &Vec<&str>)| {
        let item = items.first()?;
        let file = job.files.file_of(*span)?;
        if file.name() != inspected.report.file || (items.len() > 1 && !shared) {
            return None;
        }
        let from = (span.start() - file.base()) as usize;
        let to = from + span.len() as usize;
        let raw = file.text().get(from..to)?;
        let inner = raw.strip_prefix('"').and_then(|raw| raw.strip_suffix('"'));
        // What is written in another way, a list or a text on several lines, is left alone.
        let plain = |text: &str| !text.contains(['"', '\\', '\n', '[', '{']);
        let value = inner.unwrap_or(raw);
        plain(value).then(|| Place {
            item: (*item).to_owned(),
            value: value.to_owned(),
            quoted: inner.is_some(),
            from,
            to,
        })
    };
    spans.iter().filter_map(of).collect()
}

impl Place {
    /// Returns the text with another value in this place.
    pub(super) fn with(&self, text: &str, value: &str) -> Option<String> {
        let (head, tail) = (text.get(..self.from)?, text.get(self.to..)?);
        Some(if self.quoted { format!("{head}\"{value}\"{tail}") } else { format!("{head}{value}{tail}") })
    }

    /// Returns the sum of the value and an amount; none where that is no positive amount of the same kind.
    pub(super) fn plus(&self, amount: &str) -> Option<String> {
        let (negative, amount) = match amount.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, amount),
        };
        let (value, amount) = (parse_any(&self.value)?, parse_any(amount)?);
        let sum = if negative { value.sub(amount) } else { value.add(amount) }.ok()?;
        (sum.amount() > 0).then(|| sum.exact(UnitSystem::Customary))
    }
}
