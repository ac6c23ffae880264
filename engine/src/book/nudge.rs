//! Values of the code one step off: what a ruleset's trials ought to notice.
//!
//! A step is one in the last place of what its author wrote: from `8 in` to `9 in`, from `1 1/4 in` to `1 1/2 in`, from `80 %` to
//! `81 %`, from one day to the next, from one size of conductor to the next.

use std::sync::Arc;

use super::entry::{Entry, EntryId};
use super::in_force::Book;
use super::sources::{DefineSource, ExceptionSource};
use super::value::{Member, Row, Scalar, Value};
use crate::quantity::{Conductor, ConductorUnit, Dimension, Quantity, UnitSystem, parse};
use crate::source::Span;

/// What part of an entry is another one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NudgedPart {
    /// Its one value.
    Value,
    /// A member of its list.
    Member,
    /// The value of a row of its table.
    Row,
}

/// A small change of an entry's value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nudge {
    /// What part of it is changed.
    pub part: NudgedPart,
    /// What is done, in words; no two changes of an entry have the same.
    pub says: String,
    /// Where the changed part was written.
    pub span: Span,
    /// Who wrote it: a position in [`Entry::chain`].
    pub setting: usize,
    /// Key of the row, or the member that is left out.
    at: Option<Scalar>,
    /// The other value; none for a member that is left out.
    other: Option<Scalar>,
}

impl Entry {
    /// Returns every small change of this entry's value: a value or row one step less and one step more, a yes made no, a list
    /// without each of its members. A word that stands alone has none.
    pub fn nudges(&self) -> Vec<Nudge> {
        match &self.value {
            Value::Scalar(scalar) => {
                let Some(latest) = self.latest() else { return Vec::new() };
                let others = steps(*scalar, &latest.value).into_iter();
                let nudge = |(value, text): (Scalar, String)| Nudge {
                    part: NudgedPart::Value,
                    says: format!("`{}` as `{text}`", latest.value),
                    span: latest.span,
                    setting: self.chain.len() - 1,
                    at: None,
                    other: Some(value),
                };
                others.map(nudge).collect()
            }
            Value::List(members) => members.iter().map(without).collect(),
            Value::Table(table) => table.rows().iter().flat_map(rows_off).collect(),
        }
    }

    /// Returns this entry's value with a change made; nothing where the part that it changes is another one here.
    pub fn nudged(&self, nudge: &Nudge) -> Option<Value> {
        match (&self.value, nudge.at, nudge.other) {
            (Value::Scalar(_), None, Some(other)) => {
                (self.latest()?.span == nudge.span).then_some(Value::Scalar(other))
            }
            (Value::List(members), Some(gone), None) => {
                let is_it = |member: &&Member| member.value == gone;
                members.iter().find(is_it).filter(|member| member.span == nudge.span)?;
                Some(Value::List(members.iter().filter(|member| !is_it(member)).cloned().collect()))
            }
            (Value::Table(table), Some(key), Some(other)) => {
                table.row(key).filter(|row| row.span == nudge.span)?;
                let mut table = table.clone();
                table.set(key, other);
                Some(Value::Table(table))
            }
            _ => None,
        }
    }
}

impl Book {
    /// Returns this book with another value of one entry.
    pub fn with_value(&self, id: EntryId, value: Value) -> Book {
        let mut book = self.clone();
        if let Some(Some(entry)) = book.entries.get_mut(id.0 as usize) {
            entry.value = value;
        }
        book
    }

    /// Returns this book with the block of a shared condition or of an added exception standing at another place.
    pub fn with_block(&self, block: Span, at: Span) -> Book {
        let mut book = self.clone();
        for define in book.defines.iter_mut().filter(|define| define.source.body == block) {
            define.source = Arc::new(DefineSource { body: at, ..(*define.source).clone() });
        }
        for added in book.rules.iter_mut().flat_map(|rule| &mut rule.exceptions) {
            if added.source.body == block {
                added.source = Arc::new(ExceptionSource { body: at, ..(*added.source).clone() });
            }
        }
        book
    }
}

fn without(member: &Member) -> Nudge {
    Nudge {
        part: NudgedPart::Member,
        says: format!("without `{}`", member.text),
        span: member.span,
        setting: member.setting,
        at: Some(member.value),
        other: None,
    }
}

fn rows_off(row: &Row) -> Vec<Nudge> {
    let nudge = |(value, text): (Scalar, String)| Nudge {
        part: NudgedPart::Row,
        says: format!("row `{}`: `{}` as `{text}`", row.key_text, row.text),
        span: row.span,
        setting: row.setting,
        at: Some(row.key),
        other: Some(value),
    };
    steps(row.value, &row.text).into_iter().map(nudge).collect()
}

/// Returns the values one step below and above, with their texts.
fn steps(scalar: Scalar, text: &str) -> Vec<(Scalar, String)> {
    match scalar {
        Scalar::Flag(flag) => vec![(Scalar::Flag(!flag), (!flag).to_string())],
        Scalar::Text(_) => Vec::new(),
        Scalar::Quantity(quantity) => {
            let (system, dimension) = (system_of(text), quantity.dimension());
            let told = |quantity: Quantity| (Scalar::Quantity(quantity), quantity.exact(system));
            // A count below nothing is none.
            let is_one =
                |other: &Quantity| *other != quantity && (dimension != Dimension::Number || other.amount() >= 0);
            beside(quantity, text).into_iter().filter(is_one).map(told).collect()
        }
    }
}

/// Returns the system of units that a text is written in.
fn system_of(text: &str) -> UnitSystem {
    let unit = text.trim_start_matches(|c: char| !c.is_alphabetic());
    let metric = ["mm", "cm", "m", "m2", "cm3", "mm2", "km", "kg", "degC"];
    let first = unit.split(|c: char| !c.is_alphanumeric()).next().unwrap_or("");
    if metric.contains(&first) { UnitSystem::Metric } else { UnitSystem::Customary }
}

fn beside(quantity: Quantity, text: &str) -> Vec<Quantity> {
    let (dimension, amount) = (quantity.dimension(), quantity.amount());
    let shifted = |step: i64| {
        let below = amount.checked_sub(step).filter(|below| *below >= 0 || amount <= 0);
        [below, amount.checked_add(step)].into_iter().flatten().map(|to| Quantity::new(dimension, to)).collect()
    };
    match dimension {
        Dimension::Conductor => sizes_beside(quantity, text),
        Dimension::Date => shifted(1),
        _ => shifted(last_place(text, dimension).unwrap_or((amount.abs() / 20).max(1))),
    }
}

/// Returns the sizes of conductor below and above.
fn sizes_beside(quantity: Quantity, text: &str) -> Vec<Quantity> {
    let Some(size) = Conductor::of(quantity) else { return Vec::new() };
    if size.unit() != ConductorUnit::Awg {
        let unit = if size.unit() == ConductorUnit::Mm2 { "mm2" } else { "kcmil" };
        let number = text.trim().split(|c: char| !c.is_ascii_digit() && c != '.').next().unwrap_or("");
        let Ok(of) = number.parse::<f64>() else { return Vec::new() };
        let step = number.split_once('.').map_or(1.0, |(_, places)| 0.1f64.powi(places.len() as i32));
        let places = number.split_once('.').map_or(0, |(_, places)| places.len());
        let texts = [of - step, of + step].map(|other| format!("{other:.places$} {unit}"));
        return texts.iter().filter_map(|text| parse(text, Dimension::Conductor).ok()).collect();
    }
    let Some(number) = size.gauge() else { return Vec::new() };
    // Above number 4 only even gauges are drawn for wiring.
    let (thinner, thicker) = match number {
        5.. => (number + 2, number - 2),
        4 => (6, 3),
        _ => (number + 1, number - 1),
    };
    [thinner, thicker].into_iter().filter_map(Conductor::awg).map(Conductor::to_quantity).collect()
}

/// Returns one in the last place of an amount as it was written, in base units.
fn last_place(text: &str, dimension: Dimension) -> Option<i64> {
    // The powers of units are digits too: those of `3 VA/ft2` stand behind a letter.
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let starts = |nth: usize| {
        let before = nth.checked_sub(1).and_then(|nth| chars.get(nth)).map_or(' ', |(_, c)| *c);
        !(before.is_alphanumeric() || matches!(before, '.' | '/' | '²' | '³'))
    };
    let last =
        (0..chars.len()).rev().find(|nth| chars.get(*nth).is_some_and(|(_, c)| c.is_ascii_digit()) && starts(*nth));
    let at = chars.get(last?)?.0;
    let rest = text.get(at..)?;
    let end = rest.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/' | ',' | '_'))).unwrap_or(rest.len());
    let (number, unit) = rest.split_at(end);
    let one = match (number.split_once('/'), number.split_once('.')) {
        (Some((_, under)), _) => format!("1/{under}"),
        (None, Some((_, places))) => format!("0.{}1", "0".repeat(places.len().saturating_sub(1))),
        (None, None) => String::from("1"),
    };
    let step = parse(&format!("{one}{unit}"), dimension).ok()?.amount();
    (step > 0).then_some(step)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn around(text: &str, dimension: Dimension) -> Vec<String> {
        let quantity = parse(text, dimension).unwrap();
        steps(Scalar::Quantity(quantity), text).into_iter().map(|(_, text)| text).collect()
    }

    #[test]
    fn a_step_is_one_in_the_last_place_written() {
        assert_eq!(around("8 in", Dimension::Length), ["7 in", "9 in"]);
        assert_eq!(around("1 1/4 in", Dimension::Length), ["1 in", "1 1/2 in"]);
        assert_eq!(around("6 ft", Dimension::Length), ["5 ft", "7 ft"]);
        assert_eq!(around("2 ft 6 in", Dimension::Length), ["2 ft 5 in", "2 ft 7 in"]);
        assert_eq!(around("300 mm", Dimension::Length), ["299 mm", "301 mm"]);
        assert_eq!(around("15 A", Dimension::Current), ["14 A", "16 A"]);
        assert_eq!(around("2.25 in3", Dimension::Volume), ["2.24 in3", "2.26 in3"]);
        assert_eq!(around("80 %", Dimension::Ratio), ["79 %", "81 %"]);
        assert_eq!(around("2", Dimension::Number), ["1", "3"]);
        assert_eq!(around("0", Dimension::Number), ["1"]);
    }

    #[test]
    fn conductors_go_to_the_next_size_of_their_own_kind() {
        assert_eq!(around("14 AWG", Dimension::Conductor), ["16 AWG", "12 AWG"]);
        assert_eq!(around("4 AWG", Dimension::Conductor), ["6 AWG", "3 AWG"]);
        assert_eq!(around("1/0 AWG", Dimension::Conductor), ["1 AWG", "2/0 AWG"]);
        assert_eq!(around("2.5 mm2", Dimension::Conductor), ["2.4 mm2", "2.6 mm2"]);
    }
}
