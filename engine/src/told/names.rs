//! Names as people say them.

use crate::book::Checked;

/// Returns a name as people say it: `first_support` as `first support`.
pub fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

/// Returns how a value that nobody has verified was come by.
pub(super) fn checked(how: Checked) -> &'static str {
    match how {
        Checked::LawText => "from the text of the law",
        Checked::OfficialPage => "from an official page",
        Checked::Secondary => "from a secondary source",
        Checked::Memory => "from memory",
    }
}

/// Returns a list in words: `B2 and B3`; of a long one the first few.
pub(super) fn listed(names: &[String], most: usize) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] if names.len() <= most => format!("{} and {last}", all.join(", ")),
        _ => {
            let first = names.iter().take(most).cloned().collect::<Vec<_>>().join(", ");
            format!("{first} and {} more", names.len() - most.min(names.len()))
        }
    }
}
