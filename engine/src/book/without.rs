//! The code in force without one amendment: what the amendment is good for is the difference.

use super::ask::Ask;
use super::entry::Entry;
use super::in_force::Book;
use super::resolve;
use super::shelf::Shelf;
use super::stack;
use super::value::Value;

impl Shelf {
    /// Returns the positions of a ruleset's amendments that are in force for what is asked, in its contents.
    ///
    /// Nothing is in force where the ask leads to no code, or the ruleset is not part of it.
    pub fn amendments_in_force(&mut self, ask: &Ask, ruleset: &str) -> Vec<usize> {
        let Some(at) = self.index(ruleset) else { return Vec::new() };
        let Ok(stack) = stack::build(self, ask) else { return Vec::new() };
        stack
            .layers
            .into_iter()
            .find(|layer| layer.ruleset == at)
            .map(|layer| layer.in_force.amends)
            .unwrap_or_default()
    }

    /// Resolves the code in force as if a ruleset had not made one of its amendments; nothing where that is no code, because
    /// something else is built on the amendment.
    pub fn resolve_without(&mut self, ask: &Ask, ruleset: &str, amendment: usize) -> Option<Book> {
        let at = self.index(ruleset)?;
        let mut stack = stack::build(self, ask).ok()?;
        for layer in stack.layers.iter_mut().filter(|layer| layer.ruleset == at) {
            layer.in_force.amends.retain(|other| *other != amendment);
        }
        resolve::resolve(self, stack).ok()
    }
}

impl Entry {
    /// Returns whether two entries hold the same, whoever set it and wherever that was written.
    pub fn holds_the_same(&self, other: &Entry) -> bool {
        self.ty == other.ty
            && match (&self.value, &other.value) {
                (Value::Scalar(a), Value::Scalar(b)) => a == b,
                (Value::List(a), Value::List(b)) => {
                    a.len() == b.len() && a.iter().all(|a| b.iter().any(|b| a.value == b.value))
                }
                (Value::Table(a), Value::Table(b)) => {
                    let mut rows = a.rows().iter().zip(b.rows());
                    let alike = a.matching() == b.matching() && a.rows().len() == b.rows().len();
                    alike && rows.all(|(a, b)| a.key == b.key && a.value == b.value)
                }
                _ => false,
            }
    }
}
