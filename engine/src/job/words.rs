//! How items, kinds and names are called in messages.

use crate::model::KindSpec;
use crate::problem::did_you_mean;

/// Longest text for which a nearest name is looked for, in bytes.
const LONGEST_NAME: usize = 64;

/// Returns a kind's name as people say it: `cable end`.
pub(super) fn said(kind: &KindSpec) -> String {
    kind.name.replace('_', " ")
}

/// Returns a kind's name with its article: `an appliance`.
pub(super) fn a(kind: &KindSpec) -> String {
    let name = said(kind);
    let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {name}")
}

/// Returns a text as far as a message can show it.
pub(super) fn short(text: &str) -> String {
    let mut shown: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(41).collect();
    if shown.chars().count() > 40 {
        shown.pop();
        shown.push('…');
    }
    shown
}

/// Returns the help for a misspelt name: the nearest one, or all of them when they are few.
pub(super) fn suggestion<'n>(wrong: &str, known: impl IntoIterator<Item = &'n str> + Clone) -> Option<String> {
    // The likeness of two texts costs the product of their lengths.
    did_you_mean(if wrong.len() <= LONGEST_NAME { wrong } else { "" }, known)
}

/// Returns texts joined for a sentence: `a`, `a or b`, `a, b or c`.
pub(super) fn or(texts: &[String]) -> String {
    match texts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Schema;

    #[test]
    fn kinds_are_called_as_people_say_them() {
        let schema = Schema::dwelling();
        let name = |kind| a(schema.spec(schema.kind(kind).unwrap()));
        assert_eq!(name("cable_end"), "a cable end");
        assert_eq!(name("appliance"), "an appliance");
        assert_eq!(short(&"x".repeat(99)).chars().count(), 41);
        assert_eq!(short(&"x".repeat(40)), "x".repeat(40));
        assert_eq!(or(&["a".into(), "b".into(), "c".into()]), "a, b or c");
    }
}
