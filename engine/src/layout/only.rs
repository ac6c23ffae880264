//! Which parts of a job a proposal fills in.

use std::collections::BTreeSet;

/// A part of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Receptacles.
    Receptacles,
    /// Switches and other wall controls.
    Switches,
    /// Luminaires.
    Lights,
    /// Alarms.
    Alarms,
    /// What appliances need: circuit, receptacle or wired outlet, disconnecting means.
    Appliances,
    /// Panel and circuits.
    Circuits,
    /// Cables, or raceways where a place bars cable.
    Cables,
}

impl Part {
    /// All parts, in the order of their words in help.
    pub const ALL: [Part; 7] =
        [Part::Receptacles, Part::Switches, Part::Lights, Part::Alarms, Part::Appliances, Part::Circuits, Part::Cables];

    /// Returns the part's word.
    pub fn word(self) -> &'static str {
        match self {
            Part::Receptacles => "receptacles",
            Part::Switches => "switches",
            Part::Lights => "lights",
            Part::Alarms => "alarms",
            Part::Appliances => "appliances",
            Part::Circuits => "circuits",
            Part::Cables => "cables",
        }
    }

    /// Returns the part of a word.
    pub fn of(word: &str) -> Option<Part> {
        Part::ALL.into_iter().find(|part| part.word() == word)
    }
}

/// The parts that are asked for; all where none is named. Boxes come with what is in them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Only(pub BTreeSet<Part>);

impl Only {
    /// Returns whether a part is asked for.
    pub fn asks(&self, part: Part) -> bool {
        self.0.is_empty() || self.0.contains(&part)
    }
}
