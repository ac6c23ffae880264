//! A code that notes what is asked of it, to tell which entries a calculation reads.

use std::cell::RefCell;
use std::collections::BTreeSet;

use super::code::{Clause, Code, Datum, Match};
use super::derive::{Library, facts};
use crate::model::{FieldId, Job, KindId};

/// Another code, and the keys that have been asked of it since it was wrapped.
#[derive(Debug)]
pub struct Watched<'a, C: ?Sized> {
    code: &'a C,
    asked: RefCell<BTreeSet<String>>,
}

impl<'a, C: Code + ?Sized> Watched<'a, C> {
    /// Wraps a code.
    pub fn new(code: &'a C) -> Watched<'a, C> {
        Watched { code, asked: RefCell::default() }
    }

    /// Returns the keys that were asked for, sorted; the code need not have them all.
    pub fn into_asked(self) -> BTreeSet<String> {
        self.asked.into_inner()
    }

    fn note(&self, key: &str) {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(key) {
            asked.insert(key.to_owned());
        }
    }
}

impl<C: Code + ?Sized> Code for Watched<'_, C> {
    fn scalar(&self, key: &str) -> Option<Clause<'_>> {
        self.note(key);
        self.code.scalar(key)
    }

    fn list(&self, key: &str) -> Option<Vec<Clause<'_>>> {
        self.note(key);
        self.code.list(key)
    }

    fn has_word(&self, key: &str, word: &str) -> Option<bool> {
        self.note(key);
        self.code.has_word(key, word)
    }

    fn has_table(&self, key: &str) -> bool {
        self.note(key);
        self.code.has_table(key)
    }

    fn row(&self, key: &str, at: Datum<'_>, how: Match) -> Option<Option<Clause<'_>>> {
        self.note(key);
        self.code.row(key, at, how)
    }

    fn rows(&self, key: &str) -> Option<Vec<(Datum<'_>, Clause<'_>)>> {
        self.note(key);
        self.code.rows(key)
    }
}

/// Returns the entries that the computations of some fields ask for on the items of a job, sorted.
pub fn entries_asked<C: Code>(
    job: &Job,
    code: &C,
    library: &Library,
    fields: impl IntoIterator<Item = (KindId, FieldId)>,
) -> BTreeSet<String> {
    let watched = Watched::new(code);
    drop(facts(job, &watched, library, fields));
    watched.into_asked()
}
