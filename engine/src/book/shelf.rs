//! The shelf: every ruleset that is known. Manifests are read at once, contents when a book needs them.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::contents::Contents;
use super::entry::EntryId;
use super::in_force::Book;
use super::manifest::Ruleset;
use crate::model::{Schema, Symbols};
use crate::problem::Problem;
use crate::source::Files;

/// The names of all entries met so far, each with its number.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    keys: Vec<Arc<str>>,
    ids: HashMap<Arc<str>, EntryId, ahash::RandomState>,
}

impl Names {
    pub(super) fn id(&mut self, key: &str) -> EntryId {
        if let Some(&id) = self.ids.get(key) {
            return id;
        }
        let id = EntryId(self.keys.len() as u32);
        let key: Arc<str> = Arc::from(key);
        self.keys.push(Arc::clone(&key));
        self.ids.insert(key, id);
        id
    }

    pub(super) fn find(&self, key: &str) -> Option<EntryId> {
        self.ids.get(key).copied()
    }

    pub(super) fn len(&self) -> usize {
        self.keys.len()
    }
}

/// Every ruleset that is known.
#[derive(Debug)]
pub struct Shelf {
    pub(super) schema: Arc<Schema>,
    pub(super) files: Files,
    pub(super) symbols: Symbols,
    pub(super) names: Names,
    /// Sorted by id.
    pub(super) rulesets: Vec<Ruleset>,
    pub(super) by_id: BTreeMap<String, usize>,
    pub(super) contents: Vec<Option<Arc<Contents>>>,
    pub(super) books: Vec<Arc<Book>>,
    pub(super) problems: Vec<Problem>,
    /// The ruleset to blame for each problem.
    pub(super) blame: Vec<Option<usize>>,
}

impl Shelf {
    /// Returns what is wrong with the manifests, and files that belong to no ruleset.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Returns what is wrong with the manifests of some rulesets.
    pub(super) fn problems_of(&self, rulesets: &[usize]) -> Vec<Problem> {
        let with = self.problems.iter().zip(&self.blame);
        with.filter(|(_, blame)| blame.is_some_and(|at| rulesets.contains(&at))).map(|(p, _)| p.clone()).collect()
    }

    /// Returns the files of all rulesets. Nothing is added to them later, so that a job may lay its own files behind a copy.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// Returns the texts of all values read so far.
    pub fn symbols(&self) -> &Symbols {
        &self.symbols
    }

    /// Returns the same, to add the words of rules to.
    pub fn symbols_mut(&mut self) -> &mut Symbols {
        &mut self.symbols
    }

    /// Returns the table of kinds that rules are read by.
    pub fn schema(&self) -> &Arc<Schema> {
        &self.schema
    }

    /// Returns the ids of all rulesets, sorted.
    pub fn ids(&self) -> impl Iterator<Item = &str> + Clone {
        self.rulesets.iter().map(|ruleset| ruleset.id.as_str())
    }

    /// Returns a ruleset's manifest.
    pub fn ruleset(&self, id: &str) -> Option<&Ruleset> {
        self.rulesets.get(self.index(id)?)
    }

    pub(super) fn index(&self, id: &str) -> Option<usize> {
        self.by_id.get(id).copied()
    }
}
