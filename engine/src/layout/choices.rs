//! Choices that a proposal makes beyond the plain plan, because the inspection of its draft asked for them.

use std::collections::{BTreeMap, BTreeSet};

use super::item::{Proposed, Written};
use super::lessons::{Change, Lesson, PROTECTION, TO_BUY};

/// How a circuit is wired.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// In the cable of the place's or the shop's habit.
    #[default]
    Cable,
    /// In metal-clad cable.
    Armored,
    /// In armored cable with its armor as the ground.
    SteelArmored,
    /// In metal tubing.
    Tubing,
}

/// Choices that go beyond the plain proposal, each with the citation that brought it about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Fields to set: by item and key.
    pub set: BTreeMap<(String, &'static str), (Written, String)>,
    /// How circuits are wired, by circuit.
    pub methods: BTreeMap<String, Method>,
    /// Conductor sizes larger than the breaker asks for: steps up, by circuit.
    pub larger: BTreeMap<String, usize>,
    /// Most outlets on a circuit, by what it serves.
    pub outlets: BTreeMap<String, usize>,
    /// Receptacles beyond those that cover the walls, by room.
    pub further: BTreeMap<String, usize>,
    /// Boxes whose height has to go by the reach of people.
    pub within_reach: BTreeSet<String>,
    /// Standard ratings above the least, by appliance.
    pub ratings: BTreeMap<String, usize>,
    /// Appliances that need a switch.
    pub controlled: BTreeSet<String>,
    /// How far from a tub that switch is, by appliance.
    pub from_tub: BTreeMap<String, String>,
}

impl Choices {
    /// Returns the choices that some lessons make together, the earlier ones first.
    pub fn of(lessons: &[Lesson]) -> Choices {
        let mut choices = Choices::default();
        for lesson in lessons {
            choices.make(&lesson.change);
        }
        choices
    }

    fn make(&mut self, change: &Change) {
        match change {
            Change::Set { item, key, value, cite } => {
                self.set.entry((item.clone(), key)).or_insert_with(|| (value.clone(), cite.clone()));
            }
            Change::Method { circuit, method } => {
                self.methods.insert(circuit.clone(), *method);
            }
            Change::Larger { circuit } => *self.larger.entry(circuit.clone()).or_default() += 1,
            Change::Outlets { serves, most } => {
                let limit = self.outlets.entry(serves.clone()).or_insert(*most);
                *limit = (*limit).min(*most);
            }
            Change::Further { room } => *self.further.entry(room.clone()).or_default() += 1,
            Change::WithinReach { in_box } => {
                self.within_reach.insert(in_box.clone());
            }
            Change::Rating { appliance } => *self.ratings.entry(appliance.clone()).or_default() += 1,
            Change::Controlled { appliance } => {
                self.controlled.insert(appliance.clone());
            }
            Change::FromTub { appliance, length } => {
                self.from_tub.insert(appliance.clone(), length.clone());
            }
        }
    }

    /// Lays the choices over proposed items.
    pub fn lay_over(&self, items: &mut [Proposed]) {
        for item in items {
            for key in TO_BUY.into_iter().chain(PROTECTION) {
                if let Some((value, cite)) = self.set.get(&(item.id.clone(), key)) {
                    item.put(key, value.clone());
                    let cited = item.cite.get_or_insert_default();
                    if !cited.contains(cite.as_str()) {
                        if !cited.is_empty() {
                            cited.push_str("; ");
                        }
                        cited.push_str(cite);
                    }
                }
            }
        }
    }
}

/// Returns a text field of a proposed item.
pub(super) fn field<'a>(item: &'a Proposed, key: &str) -> Option<&'a str> {
    item.fields.iter().find(|field| field.key == key).and_then(|field| match &field.value {
        Written::Text(text) => Some(text.as_str()),
        _ => None,
    })
}
