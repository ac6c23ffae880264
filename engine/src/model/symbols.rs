//! Texts as small numbers, so that a rule compares words at the cost of comparing numbers.

use std::collections::HashMap;
use std::sync::Arc;

/// A text, as its number in a [`Symbols`] table.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct Symbol(pub u32);

#[derive(Debug, Default)]
struct Table {
    texts: Vec<Arc<str>>,
    numbers: HashMap<Arc<str>, u32, ahash::RandomState>,
}

impl Table {
    /// Adds a text that is not there yet.
    fn add(&mut self, first: u32, text: &str) -> Symbol {
        let number = first + self.texts.len() as u32;
        let text: Arc<str> = Arc::from(text);
        self.texts.push(Arc::clone(&text));
        self.numbers.insert(text, number);
        Symbol(number)
    }
}

/// Texts by number. A job's table stands on the shared one of the rules and the book, so that a word of a rule
/// and the same word of any job have the same number.
#[derive(Clone, Debug, Default)]
pub struct Symbols {
    base: Option<Arc<Symbols>>,
    first: u32,
    own: Arc<Table>,
}

impl Symbols {
    /// Returns an empty table.
    pub fn new() -> Symbols {
        Symbols::default()
    }

    /// Returns a table that begins with all of `base` and keeps its own additions apart.
    pub fn on(base: Arc<Symbols>) -> Symbols {
        let first = base.len();
        Symbols { base: Some(base), first, own: Arc::default() }
    }

    /// Returns how many texts there are.
    pub fn len(&self) -> u32 {
        self.first + self.own.texts.len() as u32
    }

    /// Returns whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Returns the number of a text, adding it if it is new.
    pub fn intern(&mut self, text: &str) -> Symbol {
        if let Some(symbol) = self.find(text) {
            return symbol;
        }
        if Arc::get_mut(&mut self.own).is_none() {
            self.own = Arc::new(Table { texts: self.own.texts.clone(), numbers: self.own.numbers.clone() });
        }
        match Arc::get_mut(&mut self.own) {
            Some(table) => table.add(self.first, text),
            // Just made unique above.
            None => Symbol(u32::MAX),
        }
    }

    /// Returns the number of a text that is already there.
    pub fn find(&self, text: &str) -> Option<Symbol> {
        let base = self.base.as_ref().and_then(|base| base.find(text));
        base.or_else(|| self.own.numbers.get(text).copied().map(Symbol))
    }

    /// Returns the text of a number, or the empty text for an unknown one.
    pub fn text(&self, symbol: Symbol) -> &str {
        match &self.base {
            Some(base) if symbol.0 < self.first => base.text(symbol),
            _ => self.own.texts.get((symbol.0 - self.first) as usize).map_or("", AsRef::as_ref),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_keeps_its_number_in_every_job() {
        let mut base = Symbols::new();
        let kitchen = base.intern("kitchen");
        let base = Arc::new(base);
        let mut one = Symbols::on(Arc::clone(&base));
        let two = Symbols::on(base);
        assert_eq!(one.intern("kitchen"), kitchen);
        let pantry = one.intern("pantry");
        assert_eq!(two.find("pantry"), None);
        assert_eq!(one.text(pantry), "pantry");
        assert_eq!(two.text(kitchen), "kitchen");
        let mut copy = one.clone();
        let attic = copy.intern("attic");
        assert_eq!(copy.text(attic), "attic");
        assert_eq!(one.find("attic"), None);
    }
}
