//! What a layer of a book says of itself while the book is being made.

use super::contents::Contents;
use super::entry::Setting;
use super::manifest::Ruleset;
use super::origins::Evidence;
use super::stack::InForce;
use crate::source::Span;

/// A layer while the book is being made.
#[derive(Clone, Copy)]
pub(super) struct Place<'s> {
    /// Its position in the book.
    pub(super) layer: usize,
    pub(super) ruleset: &'s Ruleset,
    pub(super) contents: &'s Contents,
    /// What of it is in force.
    pub(super) in_force: &'s InForce,
}

/// Returns a step of a chain.
pub(super) fn setting(
    place: Place<'_>,
    evidence: &Evidence,
    span: Span,
    value: String,
    from: Option<jiff::civil::Date>,
) -> Setting {
    Setting {
        ruleset: place.layer,
        span,
        cites: evidence.cites.clone(),
        source: evidence.source.clone(),
        checked: evidence.checked,
        from,
        value,
        note: evidence.note.clone(),
    }
}
