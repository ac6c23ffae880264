//! Fields that a ruleset declares: facts that its rules need and the built-in table does not have.

use super::{FieldId, FieldSpec, KindId, Schema, SchemaError, interned};
use crate::source::Span;

/// Where a declared field comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Declared {
    /// The section that makes the fact matter.
    pub cites: String,
    /// The place of the first declaration.
    pub span: Span,
    /// The rulesets that declare it, all alike.
    pub rulesets: Vec<String>,
}

impl Schema {
    /// Adds a field that a ruleset declares.
    ///
    /// # Errors
    /// When the kind has such a field.
    pub fn declare(&mut self, kind: KindId, field: FieldSpec, by: Declared) -> Result<FieldId, SchemaError> {
        let name = self.spec(kind).name;
        let field = self.add_field(name, field)?;
        self.declared.insert((kind, field), by);
        Ok(field)
    }

    /// Notes that another ruleset declares a field alike.
    pub fn share(&mut self, kind: KindId, field: FieldId, ruleset: &str) {
        if let Some(declared) = self.declared.get_mut(&(kind, field))
            && !declared.rulesets.iter().any(|known| known == ruleset)
        {
            declared.rulesets.push(ruleset.to_owned());
        }
    }

    /// Returns where a declared field comes from; nothing for a built-in one.
    pub fn declared(&self, kind: KindId, field: FieldId) -> Option<&Declared> {
        self.declared.get(&(kind, field))
    }

    /// Returns all declared fields.
    pub fn all_declared(&self) -> impl Iterator<Item = (KindId, FieldId, &Declared)> {
        self.declared.iter().map(|(&(kind, field), declared)| (kind, field, declared))
    }

    /// Returns whether a text can be the name of a kind or field: small letters, digits and `_`, a letter first.
    pub fn is_name(text: &str) -> bool {
        text.starts_with(|c: char| c.is_ascii_lowercase())
            && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
    }

    /// Returns a text that lives as long as the program, kept once however often it is asked for: what comes from data can be a name
    /// of this table so. Nothing where no more can be held.
    pub fn kept(text: &str) -> Option<&'static str> {
        interned::text(text)
    }

    /// Does the same with a list of words.
    pub fn kept_words(words: &[&str]) -> Option<&'static [&'static str]> {
        interned::words(words)
    }
}
