//! What a conductor is for.

use super::network::{Network, UnitId};
use crate::model::{ItemIndex, Job};

/// The function of a conductor or joint in the intended wiring. Points of one function in one box are joined together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Signal {
    /// Ungrounded, straight from a pole of the circuit's breaker.
    Hot(ItemIndex, u8),
    /// Ungrounded, from the load terminals of a GFCI device.
    LoadHot(UnitId),
    /// Ungrounded, behind one pole of a two-pole switch.
    Tied(UnitId, u8),
    /// Switched leg of a control group, by its number.
    Leg(u32),
    /// Traveller of a control group between one of its switches and the next.
    Traveller {
        /// The group.
        group: u32,
        /// Which pair: 0 lies behind the first switch.
        hop: u8,
        /// Whether it is the second of the pair.
        second: bool,
    },
    /// Interconnection of alarms.
    Interconnect(ItemIndex),
    /// Grounded, by the circuit that stands for it.
    Neutral(ItemIndex),
    /// Grounded, from the load terminals of a GFCI device.
    LoadNeutral(UnitId),
    /// Equipment grounding.
    Ground,
}

impl Signal {
    /// Returns whether it is the grounded conductor.
    pub fn is_grounded(self) -> bool {
        matches!(self, Signal::Neutral(_) | Signal::LoadNeutral(_))
    }

    /// Returns whether it carries the circuit's current on an ungrounded conductor.
    pub fn is_ungrounded(self) -> bool {
        !self.is_grounded() && !matches!(self, Signal::Ground | Signal::Interconnect(_))
    }

    /// Returns its name in the trade's words.
    pub fn words(self, job: &Job, net: &Network, groups: &[super::control::Group]) -> String {
        let device = |unit: UnitId| job.id(net.unit(unit).item).to_string();
        let group = |number: u32| {
            let switches = groups.get(number as usize).map_or(&[][..], |group| &group.switches);
            switches.iter().map(|&unit| device(unit)).collect::<Vec<_>>().join(", ")
        };
        match self {
            Signal::Hot(circuit, _) => format!("hot of circuit {}", job.id(circuit)),
            Signal::LoadHot(unit) => format!("hot from the load terminals of {}", device(unit)),
            Signal::Tied(unit, pole) => format!("pole {} behind {}", pole + 1, device(unit)),
            Signal::Leg(number) => format!("switched leg of {}", group(number)),
            Signal::Traveller { group: number, second, .. } => {
                format!("{} traveller of {}", if second { "second" } else { "first" }, group(number))
            }
            Signal::Interconnect(_) => String::from("interconnect of the alarms"),
            Signal::Neutral(circuit) => format!("neutral of circuit {}", job.id(circuit)),
            Signal::LoadNeutral(unit) => format!("neutral from the load terminals of {}", device(unit)),
            Signal::Ground => String::from("grounds"),
        }
    }
}
