//! Which terminal needs which function.

use std::collections::BTreeSet;

use super::control::{Group, gfci_above};
use super::network::{Network, PointId, Terminal, UnitId, UnitKind};
use super::signal::Signal;
use super::units::is_two_pole;
use crate::model::kinds::{circuit, device};
use crate::model::{ItemIndex, Job};

use Terminal as T;

/// One terminal and the function it needs.
pub(super) type Need = (Signal, PointId);

/// The needs of all units on these circuits. The switches of each group are taken in the order that they stand in.
pub(super) fn needs(job: &Job, net: &Network, groups: &[Group], circuits: &BTreeSet<ItemIndex>) -> Vec<Need> {
    let mut all = Needs { job, net, groups, list: Vec::new() };
    let mine = |unit: UnitId| net.unit(unit).circuit.is_some_and(|circuit| circuits.contains(&circuit));
    for (id, _) in net.units().filter(|(id, _)| mine(*id)) {
        all.unit(id);
    }
    for (number, group) in groups.iter().enumerate().filter(|(_, group)| circuits.contains(&group.circuit)) {
        all.group(number as u32, group);
    }
    all.breakers(circuits);
    all.interconnects();
    all.list
}

/// The function that feeds a unit, and its neutral.
pub(super) fn supply(job: &Job, net: &Network, unit: UnitId, groups: &[Group]) -> Option<(Signal, Signal)> {
    let circuit = net.unit(unit).circuit?;
    let group = groups.iter().find(|group| group.loads.iter().any(|(load, _)| *load == unit));
    let above = gfci_above(job, net, unit).or(group.and_then(|group| group.behind));
    Some(match above {
        Some(gfci) => (Signal::LoadHot(gfci), Signal::LoadNeutral(gfci)),
        None => (Signal::Hot(circuit, 0), Signal::Neutral(net.neutral_owner(circuit))),
    })
}

struct Needs<'a> {
    job: &'a Job,
    net: &'a Network,
    groups: &'a [Group],
    list: Vec<Need>,
}

impl Needs<'_> {
    fn need(&mut self, unit: UnitId, terminal: Terminal, signal: Signal) {
        if let Some(point) = self.net.unit(unit).terminal(terminal) {
            self.list.push((signal, point));
        }
    }

    /// The terminals of a load, receptacle or GFCI; those of switches follow from their group.
    fn unit(&mut self, id: UnitId) {
        let unit = self.net.unit(id);
        let Some((hot, neutral)) = supply(self.job, self.net, id, self.groups) else { return };
        let Some(circuit) = unit.circuit else { return };
        let led = self.groups.iter().enumerate().find_map(|(number, group)| {
            let (_, terminal) = group.loads.iter().find(|(load, _)| *load == id)?;
            Some((number as u32, *terminal, group))
        });
        let leg = led.map(|(number, ..)| Signal::Leg(number));
        match unit.kind {
            UnitKind::Receptacle { .. } => {
                let half = led.is_some_and(|(_, terminal, _)| terminal == T::Brass2);
                self.need(id, T::Silver, neutral);
                match leg {
                    Some(leg) if half => {
                        self.need(id, T::Brass, hot);
                        self.need(id, T::Brass2, leg);
                    }
                    leg => self.need(id, T::Brass, leg.unwrap_or(hot)),
                }
            }
            UnitKind::Gfci { .. } => {
                self.need(id, T::LineHot, leg.unwrap_or(hot));
                self.need(id, T::LineNeutral, neutral);
                let feeds = self.net.units().any(|(other, _)| {
                    other != id
                        && supply(self.job, self.net, other, self.groups)
                            == Some((Signal::LoadHot(id), Signal::LoadNeutral(id)))
                });
                if feeds {
                    self.need(id, T::LoadHot, Signal::LoadHot(id));
                    self.need(id, T::LoadNeutral, Signal::LoadNeutral(id));
                }
            }
            UnitKind::Load => {
                self.need(id, T::Hot, leg.unwrap_or(hot));
                self.need(id, T::Neutral, neutral);
            }
            UnitKind::Receptacle240 | UnitKind::Load240 => {
                let tied = led.and_then(|(_, _, group)| group.switches.first().copied());
                let hot = |pole| tied.map_or(Signal::Hot(circuit, pole), |switch| Signal::Tied(switch, pole));
                self.need(id, T::Hot, hot(0));
                self.need(id, T::Hot2, hot(1));
                self.need(id, T::Neutral, neutral);
            }
            _ => {}
        }
    }

    fn group(&mut self, number: u32, group: &Group) {
        let Some(&first) = group.switches.first() else { return };
        let Some((hot, _)) = supply(self.job, self.net, first, &[]) else { return };
        let leg = Signal::Leg(number);
        let pair = |hop: usize, second| Signal::Traveller { group: number, hop: hop as u8, second };
        match self.net.unit(first).kind {
            UnitKind::DoublePole => {
                for (pole, line, load) in [(0, T::Line, T::Load), (1, T::Line2, T::Load2)] {
                    self.need(first, line, Signal::Hot(group.circuit, pole));
                    self.need(first, load, Signal::Tied(first, pole));
                }
            }
            UnitKind::SinglePole => {
                self.need(first, T::Brass, hot);
                self.need(first, T::Brass2, leg);
            }
            _ => {
                let last = group.switches.len() - 1;
                for (at, &switch) in group.switches.iter().enumerate() {
                    if at == 0 || at == last {
                        let hop = if at == 0 { 0 } else { last - 1 };
                        self.need(switch, T::Common, if at == 0 { hot } else { leg });
                        self.need(switch, T::Traveller, pair(hop, false));
                        self.need(switch, T::Traveller2, pair(hop, true));
                    } else {
                        self.need(switch, T::In, pair(at - 1, false));
                        self.need(switch, T::In2, pair(at - 1, true));
                        self.need(switch, T::Out, pair(at, false));
                        self.need(switch, T::Out2, pair(at, true));
                    }
                }
            }
        }
    }

    /// Breakers feed what is needed of them; bars take the neutral where there is one.
    fn breakers(&mut self, circuits: &BTreeSet<ItemIndex>) {
        let wanted: BTreeSet<Signal> = self.list.iter().map(|(signal, _)| *signal).collect();
        for (id, unit) in self.net.units().filter(|(_, unit)| unit.kind == UnitKind::Breaker) {
            if !circuits.contains(&unit.item) {
                continue;
            }
            let neutral = Signal::Neutral(self.net.neutral_owner(unit.item));
            let poles: &[(Terminal, u8)] = if is_two_pole(self.job, unit.item) {
                &[(T::Breaker, 0), (T::Breaker2, 1)]
            } else {
                &[(T::Breaker, 0)]
            };
            for &(terminal, pole) in poles {
                if wanted.contains(&Signal::Hot(unit.item, pole)) {
                    self.need(id, terminal, Signal::Hot(unit.item, pole));
                }
            }
            if wanted.contains(&neutral) {
                self.need(id, T::Neutral, neutral);
            }
        }
    }

    /// Alarms sound together over a conductor of their own, all those of a circuit.
    fn interconnects(&mut self) {
        let alarms: Vec<(UnitId, ItemIndex)> = self
            .net
            .units()
            .filter(|(id, unit)| {
                unit.terminal(T::Signal).is_some()
                    && self.list.iter().any(|(_, point)| Some(*point) == self.net.unit(*id).terminal(T::Hot))
            })
            .filter_map(|(id, unit)| Some((id, unit.circuit?)))
            .collect();
        for &(id, circuit) in &alarms {
            if alarms.iter().filter(|(_, other)| *other == circuit).count() > 1 {
                self.need(id, T::Signal, Signal::Interconnect(circuit));
            }
        }
    }
}

/// Where the neutral is wanted beside what needs it: at a switch. `true`: the job says that it is there.
pub(super) fn neutral_wishes(
    job: &Job,
    net: &Network,
    groups: &[Group],
    circuits: &BTreeSet<ItemIndex>,
) -> Vec<(UnitId, Signal, bool)> {
    let mut wishes = Vec::new();
    for (id, unit) in net.units().filter(|(_, unit)| unit.is_switch()) {
        let Some(circuit) = unit.circuit.filter(|circuit| circuits.contains(circuit)) else { continue };
        if is_two_pole(job, circuit) || job.text(circuit, circuit::SERVES) == Some("feeder") {
            continue;
        }
        let recorded = job.flag(unit.item, device::NEUTRAL_AT_SWITCH) == Some(true);
        if let Some((_, neutral)) = supply(job, net, id, groups) {
            wishes.push((id, neutral, recorded));
        }
    }
    wishes
}
