//! Shared conditions in force: who defined them, and who defined them anew.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::entry::{Checked, Setting};
use super::layer::Place;
use super::sources::DefineSource;
use crate::model::KindId;
use crate::problem::Problem;

/// A shared condition of the code in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DefineInForce {
    /// The text that counts.
    pub source: Arc<DefineSource>,
    /// Its layer: a position in [`Book::layers`](super::Book).
    pub layer: usize,
    /// Who defined it, first definer first, latest last. Never empty.
    pub chain: Vec<Setting>,
}

/// The shared conditions of a book that is being made, by kind and name.
#[derive(Default)]
pub(super) struct Defines {
    found: BTreeMap<(KindId, String), DefineInForce>,
}

impl Defines {
    /// Adds those of a ruleset; one that is there already gives way.
    pub(super) fn add_layer(&mut self, place: Place<'_>) {
        for source in &place.contents.defines {
            let key = (source.kind, source.name.clone());
            let mut chain = self.found.remove(&key).map(|below| below.chain).unwrap_or_default();
            chain.push(Setting {
                ruleset: place.layer,
                span: source.name_span,
                cites: source.cites.clone(),
                source: place.ruleset.source.clone(),
                checked: source.checked.or(place.ruleset.defaults().checked).unwrap_or(Checked::Memory),
                from: None,
                value: String::from(if chain.is_empty() { "defined" } else { "defined anew" }),
                note: None,
            });
            self.found.insert(key, DefineInForce { source: Arc::clone(source), layer: place.layer, chain });
        }
    }

    pub(super) fn has(&self, kind: KindId, name: &str) -> bool {
        self.found.keys().any(|(of, known)| *of == kind && known == name)
    }

    /// Returns them in the order of kinds and names.
    pub(super) fn finish(self) -> Vec<DefineInForce> {
        self.found.into_values().collect()
    }
}

/// Reports shared conditions that one ruleset defines twice.
pub(super) fn check_twice(defines: &[Arc<DefineSource>], problems: &mut Vec<Problem>) {
    let mut seen: BTreeMap<(KindId, &str), &DefineSource> = BTreeMap::new();
    for define in defines {
        match seen.get(&(define.kind, define.name.as_str())) {
            Some(first) => problems.push(
                Problem::new(define.name_span, format!("`{}` is defined twice in this ruleset", define.name))
                    .label("again")
                    .mark(first.name_span, "first here")
                    .help("one ruleset defines a condition of a kind once"),
            ),
            None => drop(seen.insert((define.kind, &define.name), define)),
        }
    }
}
