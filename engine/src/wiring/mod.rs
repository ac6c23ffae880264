//! Wiring: the make-up of every box, derived or as built, and the current followed through every switch position.
//!
//! ```text
//! job → network (conductors, terminals) → derivation (functions, joints) ┐
//!                                   as built (written joints) ───────────┴→ make-ups → followed (faults)
//! ```
//! No code value stands here: what a requirement asks of a neutral or a ground stands in rules over the facts that `calc` makes of the wiring.

mod as_built;
mod build;
mod colours;
mod control;
mod derive;
pub mod follow;
mod gap;
mod joint;
mod needs;
mod network;
mod order;
mod panel;
mod signal;
#[cfg(test)]
mod tests;
mod tree;
mod units;

pub use as_built::{Difference, compare, name, write};
pub use control::Group;
pub use derive::Derivation;
pub use follow::{FaultKind, Followed, WiringFault};
pub use gap::Gap;
pub use joint::{Joint, MakeUp};
pub use network::{
    Colour, Element, Network, Place, PlaceId, PlaceKind, Point, PointId, Run, RunId, Source, Terminal, Unit,
    UnitElement, UnitId, UnitKind, Wire, WireId,
};
pub use panel::{Landed, Lands, PanelWire, panel_wires, takes_neutral};
pub use signal::Signal;

use crate::model::Job;
use crate::problem::Problem;

/// Everything about the wiring of a job.
#[derive(Clone, Debug)]
pub struct Wiring {
    /// The network.
    pub network: Network,
    /// What was derived.
    pub plan: Derivation,
    /// The make-up of each place by its number: as built where it is written, derived elsewhere.
    pub makeups: Vec<MakeUp>,
    /// Conductors that somebody saw land in a panel.
    pub landed: Vec<Landed>,
    /// What is wrong with written splices, landings and caps.
    pub problems: Vec<Problem>,
    /// What following the current found.
    pub followed: Followed,
}

impl Wiring {
    /// Works out the wiring of a job.
    pub fn of(job: &Job) -> Wiring {
        let network = build::network(job);
        let plan = derive::derive(job, &network);
        let (mut makeups, mut problems) = as_built::makeups(job, &network, &plan);
        let (landed, wrong) = panel::read(job, &network);
        problems.extend(wrong);
        panel::apply(job, &network, &landed, &mut makeups);
        let followed = follow::follow(job, &network, &makeups, &plan);
        Wiring { network, plan, makeups, landed, problems, followed }
    }

    /// Returns the make-up of a place.
    pub fn makeup(&self, place: PlaceId) -> &MakeUp {
        &self.makeups[place.at()]
    }

    /// Returns whether a conductor is live in any position of the switches.
    pub fn is_ever_live(&self, wire: WireId) -> bool {
        self.followed.live.get(wire.at()).copied().unwrap_or(false)
    }

    /// Follows the current again with other make-ups, of the same order.
    pub fn follow_with(&self, job: &Job, makeups: &[MakeUp]) -> Followed {
        follow::follow(job, &self.network, makeups, &self.plan)
    }

    /// Returns what a person should know before they trust the make-up: gaps, and mistakes in written joints.
    pub fn notices(&self) -> Vec<Problem> {
        self.plan.gaps.iter().map(Gap::to_problem).chain(self.problems.iter().cloned()).collect()
    }
}
