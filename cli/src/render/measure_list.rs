//! What is still to measure or to record, by room: each field once with the items that lack it.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use storystick_engine::inspection::finding::{Outcome, Report};
use storystick_engine::told::Words;

use super::wrap::{indented, natural, visible};

/// Where things go that are in no room.
pub(crate) const NO_ROOM: &str = "whole dwelling";

/// What one room lacks: by field the limits that it is held to and the items.
#[derive(Default)]
struct Room<'a> {
    fields: BTreeMap<&'a str, (Vec<String>, Vec<&'a str>)>,
}

impl<'a> Room<'a> {
    fn lacks(&mut self, item: &'a str, field: &'a str, limit: Option<String>) {
        let (limits, items) = self.fields.entry(field).or_default();
        if let Some(limit) = limit.filter(|limit| !limits.contains(limit)) {
            limits.push(limit);
        }
        if !items.contains(&item) {
            items.push(item);
        }
    }

    /// Returns the lines of the room: fields that the same items lack share one.
    fn lines(mut self) -> Vec<String> {
        let mut groups: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
        for (_, items) in self.fields.values_mut() {
            items.sort_by(|a, b| natural(a, b));
        }
        for (field, (limits, items)) in self.fields {
            let limit = if limits.is_empty() { String::new() } else { format!(" ({})", limits.join("; ")) };
            let words = format!("{}{limit}", field.replace('_', " "));
            match groups.iter_mut().find(|(of, _)| *of == items) {
                Some((_, fields)) => fields.push(words),
                None => groups.push((items, vec![words])),
            }
        }
        groups.sort_by(|a, b| natural(a.0.first().unwrap_or(&""), b.0.first().unwrap_or(&"")));
        groups.iter().map(|(items, fields)| format!("{}: {}", items.join(", "), fields.join(", "))).collect()
    }
}

/// Adds the list to a report, if there is anything on it.
pub(crate) fn add(text: &mut String, report: &Report, words: &Words<'_>, columns: usize) {
    let mut rooms: Vec<(&str, Room<'_>)> = Vec::new();
    let mut looks: Vec<(&str, usize)> = Vec::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::ToMeasure) {
        if finding.missing.is_empty() {
            let look = finding.look.as_deref().unwrap_or(&finding.says);
            match looks.iter_mut().find(|(known, _)| *known == look) {
                Some((_, count)) => *count += 1,
                None => looks.push((look, 1)),
            }
            continue;
        }
        let name = finding.room.as_deref().unwrap_or(NO_ROOM);
        let at = rooms.iter().position(|(known, _)| *known == name).unwrap_or_else(|| {
            rooms.push((name, Room::default()));
            rooms.len() - 1
        });
        let Some((_, room)) = rooms.get_mut(at) else { continue };
        for missing in &finding.missing {
            room.lacks(&missing.item, &missing.field, words.limit(finding, missing));
        }
    }
    if rooms.is_empty() && looks.is_empty() {
        return;
    }
    text.push_str("Still to measure or record:\n");
    rooms.sort_by(|a, b| (a.0 == NO_ROOM).cmp(&(b.0 == NO_ROOM)).then_with(|| natural(a.0, b.0)));
    for (name, room) in rooms {
        // Writing to a string does not fail.
        let _ = writeln!(text, "  {}", visible(name));
        for line in room.lines() {
            text.push_str(&indented(&line, columns, 4, "  "));
        }
    }
    if !looks.is_empty() {
        text.push_str("  by eye\n");
        for (look, count) in looks {
            let line = if count > 1 { format!("{look} ({count} items)") } else { look.to_owned() };
            text.push_str(&indented(&line, columns, 4, "  "));
        }
    }
    text.push('\n');
}
