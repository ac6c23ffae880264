//! What a place changes that lies inside one which lets places inside only tighten.
//!
//! Whether another value asks for more is decided by the rules that read it, which a book does not know: it keeps the two
//! values. What no rule can decide is refused here.

use super::amendment::{Amendment, Change};
use super::defines::Defines;
use super::entries::Entries;
use super::entry::{Entry, EntryId};
use super::layer::Place;
use super::manifest::Ruleset;
use super::rules::Rules;
use super::value::Value;
use crate::problem::Problem;
use crate::source::Span;

/// A value that a place has changed although it may only tighten.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tightened {
    /// The entry.
    pub entry: EntryId,
    /// Its name.
    pub key: String,
    /// What the amendment says.
    pub span: Span,
    /// Id of the place.
    pub place: String,
    /// Id of the place around it that lets places inside only tighten.
    pub by: String,
    /// Where that says so.
    pub by_span: Span,
    /// The value below.
    pub before: Value,
    /// The new value.
    pub after: Value,
}

/// Returns what an amendment has changed of an entry that another ruleset sets; nothing where it says the same or was refused.
pub(super) fn note(
    place: Place<'_>,
    by: &Ruleset,
    amendment: &Amendment,
    (before, (id, after)): (&Entry, (EntryId, &Entry)),
) -> Option<Tightened> {
    if before.holds_the_same(after) || is_own(place, &before.key) {
        return None;
    }
    Some(Tightened {
        entry: id,
        key: before.key.clone(),
        span: amendment.change.span(),
        place: place.ruleset.id.clone(),
        by: by.id.clone(),
        by_span: by.locals_stricter.unwrap_or(by.span),
        before: before.value.clone(),
        after: after.value.clone(),
    })
}

/// Returns the problem of something that a place may not do.
fn refused(place: Place<'_>, by: &Ruleset, span: Span, what: &str, why: &str) -> Problem {
    let mark = by.locals_stricter.unwrap_or(by.span);
    let message = format!("`{}` may not {what}: `{}` lets places inside only tighten", place.ruleset.id, by.id);
    Problem::new(span, message).label("not allowed here").mark(mark, "said here").help(why)
}

/// Reports what a place does that asks for less, or of which nobody can tell.
pub(super) fn check(
    place: Place<'_>,
    by: &Ruleset,
    amends: &[&Amendment],
    (entries, rules, defines): (&Entries<'_>, &Rules, &Defines),
    problems: &mut Vec<Problem>,
) {
    for amendment in amends {
        match &amendment.change {
            Change::Omit { rule } if !place.contents.rules.iter().any(|own| own.id == rule.text) => {
                problems.push(refused(
                    place,
                    by,
                    rule.span,
                    "leave a rule out",
                    "amend the value that the rule reads, or add a rule",
                ));
            }
            Change::Reweigh { rule, weight } if rules.weight(&rule.text).is_some_and(|now| now < *weight) => {
                problems.push(refused(
                    place,
                    by,
                    rule.span,
                    "make a rule weigh less",
                    "a rule may only be made to weigh more",
                ));
            }
            Change::Members { entry, .. } | Change::Entry { entry, .. }
                if entries.is_list(&entry.text) && !is_own(place, &entry.text) =>
            {
                let why = "whether a longer or a shorter list asks for more hangs on how each rule reads it: add a rule that asks for more";
                problems.push(refused(place, by, entry.span, "change a list", why));
            }
            _ => {}
        }
    }
    let in_force = |at: &usize| !place.in_force.rules_off.contains(at);
    let rules = place.contents.rules.iter().enumerate().filter(|(at, _)| in_force(at));
    for replaced in rules.filter_map(|(_, rule)| rule.replaces.as_ref()) {
        let why = "whether the new rule asks for more can't be told: without `replaces` it holds beside the other";
        problems.push(refused(place, by, replaced.span, "replace a rule", why));
    }
    for added in place.in_force.exceptions.iter().filter_map(|at| place.contents.exceptions.get(*at)) {
        problems.push(refused(place, by, added.name.span, "add an exception", "an exception asks for less"));
    }
    for define in place.contents.defines.iter().filter(|define| defines.has(define.kind, &define.name)) {
        let why =
            "whether the new condition asks for more can't be told: give it another name and add a rule that reads it";
        problems.push(refused(place, by, define.name_span, "define a condition anew", why));
    }
}

/// Returns whether an entry is a place's own.
fn is_own(place: Place<'_>, key: &str) -> bool {
    place.contents.entries.iter().any(|entry| entry.key == key)
}
