//! Why a text is no quantity, and how that is said.

use super::units::Unit;

/// Why a text is no quantity of the wanted dimension.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl QuantityError {
    pub(super) fn new(message: impl Into<String>, help: impl Into<String>) -> QuantityError {
        QuantityError { message: message.into(), help: Some(help.into()) }
    }
}

impl std::fmt::Display for QuantityError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for QuantityError {}

/// Returns a text as far as a message can show it.
pub(super) fn shown(text: &str) -> String {
    let line: String = text.trim().chars().map(|c| if c.is_control() { ' ' } else { c }).take(41).collect();
    match line.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", line.get(..end).unwrap_or("")),
        None => line,
    }
}

pub(super) fn no_fractions(text: &str, unit: &Unit) -> QuantityError {
    QuantityError::new(
        format!("`{}` is a fraction of a unit that has none", shown(text)),
        format!("write a decimal, such as `0.5 {}`", unit.name),
    )
}

pub(super) fn too_large(text: &str) -> QuantityError {
    QuantityError::new(format!("`{}` is too large", shown(text)), "check the number and its unit")
}

pub(super) fn comma(text: &str) -> QuantityError {
    QuantityError::new(
        format!("`{}` has a comma in its number", shown(text)),
        "write thousands without a separator and decimals with a point, such as `1500` and `2.5`",
    )
}
