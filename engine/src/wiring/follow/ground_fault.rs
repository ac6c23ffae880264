//! Which ground-fault interrupters trip in a state: those through whose poles not all of the current comes back, and those whose load
//! neutral is joined with a neutral or the ground past them.
//!
//! Conductors are ideal, so that the current through a pole would not be known where there is a second way round it. Each pole is
//! therefore a resistance far below any load: what can go round goes round, and the difference is that of real conductors to within
//! the share of the pole.

use super::super::network::{Element, Network, PointId, Source, Terminal, UnitId, UnitKind};
use super::cluster::LoadAt;
use super::meter::Meter;
use super::solve::{Solution, State, solve};
use crate::model::ItemIndex;

/// Resistance of a pole of an interrupter in ohms: far below any load, far above what rounding makes of a current.
const POLE: f64 = 0.01;

/// An interrupter with its poles.
struct Interrupter {
    what: Tripping,
    /// The poles by their numbers among the loads, each from the line side to the load side.
    poles: Vec<usize>,
    /// The ungrounded terminal on the line side, which powers it.
    line: PointId,
    /// The grounded terminals on the load side.
    neutrals: Vec<PointId>,
}

/// What trips.
#[derive(Clone, PartialEq, Eq, Debug)]
enum Tripping {
    Device(UnitId),
    /// The breaker, with all circuits that it switches.
    Breaker(Vec<ItemIndex>),
}

/// The wiring with the poles of its interrupters as resistances.
struct Poles {
    net: Network,
    loads: Vec<LoadAt>,
    ohms: Vec<f64>,
    interrupters: Vec<Interrupter>,
}

impl Poles {
    fn add(&mut self, line: PointId, load: PointId) -> usize {
        self.loads.push(LoadAt { unit: UnitId(0), hot: line, back: load });
        self.ohms.push(POLE);
        self.loads.len() - 1
    }

    /// Puts resistances in the place of the contacts of every device that has not tripped.
    fn devices(&mut self, state: &State) {
        let devices: Vec<UnitId> = self
            .net
            .units()
            .filter(|(id, unit)| matches!(unit.kind, UnitKind::Gfci { .. }) && !state.tripped.contains(id))
            .map(|(id, _)| id)
            .collect();
        for device in devices {
            let at = |name| self.net.unit(device).terminal(name);
            let (Some(line), Some(neutral)) = (at(Terminal::LineHot), at(Terminal::LoadNeutral)) else { continue };
            let of = |inside: &super::super::network::UnitElement| match inside.element {
                Element::Trip(line, load) if inside.unit == device => Some((line, load)),
                _ => None,
            };
            let contacts: Vec<(PointId, PointId)> = self.net.elements.iter().filter_map(of).collect();
            self.net.elements.retain(|inside| of(inside).is_none());
            let poles = contacts.into_iter().map(|(line, load)| self.add(line, load)).collect();
            self.interrupters.push(Interrupter {
                what: Tripping::Device(device),
                poles,
                line,
                neutrals: vec![neutral],
            });
        }
    }

    /// Puts a resistance between the supply and every terminal of a breaker that is closed. Circuits that share a neutral share the
    /// breaker.
    fn breakers(&mut self, circuits: &[ItemIndex], state: &State) {
        let mut owners: Vec<ItemIndex> = circuits.iter().map(|&circuit| self.net.neutral_owner(circuit)).collect();
        owners.sort_unstable();
        owners.dedup();
        for owner in owners {
            let mut all = Vec::new();
            let (mut poles, mut neutrals, mut line) = (Vec::new(), Vec::new(), None);
            for number in 0..self.net.sources.len() {
                let Some(&(terminal, source)) = self.net.sources.get(number) else { continue };
                let circuit = match source {
                    Source::Line { circuit, .. } | Source::Neutral(circuit) => circuit,
                    Source::Ground => continue,
                };
                if self.net.neutral_owner(circuit) != owner {
                    continue;
                }
                let supply = PointId(self.net.points.len() as u32);
                let here = (self.net.point(terminal), self.net.place_of(terminal));
                self.net.points.push(here);
                if let Some(slot) = self.net.sources.get_mut(number) {
                    slot.0 = supply;
                }
                poles.push(self.add(supply, terminal));
                match source {
                    Source::Line { .. } if !state.open.contains(&circuit) => {
                        all.push(circuit);
                        line = line.or(Some(supply));
                    }
                    Source::Line { .. } => {}
                    _ => neutrals.push(terminal),
                }
            }
            all.dedup();
            if let Some(line) = line {
                self.interrupters.push(Interrupter { what: Tripping::Breaker(all), poles, line, neutrals });
            }
        }
    }

    /// Returns whether the neutral behind an interrupter is joined with a bar, or with the neutral before it, past its poles.
    fn is_bypassed(&self, one: &Interrupter, solution: &Solution) -> bool {
        let mut bars = self.net.sources.iter().filter(|(_, source)| !matches!(source, Source::Line { .. }));
        bars.any(|&(bar, _)| one.neutrals.iter().any(|&neutral| solution.are_joined(bar, neutral)))
    }
}

impl Meter {
    /// Adds to a state what trips on a ground fault in it, until nothing more does; returns the devices and the circuits.
    pub(super) fn interrupted(&self, state: &mut State) -> (Vec<UnitId>, Vec<ItemIndex>) {
        let (mut devices, mut circuits) = (Vec::new(), Vec::new());
        let Some((guarded, trips_at)) = &self.guard else { return (devices, circuits) };
        loop {
            let (loads, ohms) = self.split();
            let mut poles = Poles { net: self.net.clone(), loads, ohms, interrupters: Vec::new() };
            poles.devices(state);
            poles.breakers(guarded, state);
            let of = |at: usize| poles.ohms.get(at).copied().unwrap_or(POLE);
            let solved = |state: &State| solve(&poles.net, &self.makeups, &poles.loads, state, &of, self.volts);
            // What is shorted before any interrupter is open at once, and powers none.
            let mut rest = state.clone();
            rest.open.extend(self.shorted(state, |state| solved(state).is_err()));
            let Ok(solution) = solved(&rest) else { return (devices, circuits) };
            let trips = |one: &&Interrupter| {
                let powered = solution.volts(one.line).is_some_and(|volts| volts.abs() > self.volts / 2.0);
                let sum: f64 = one.poles.iter().filter_map(|&pole| solution.amperes.get(pole)).sum();
                powered && (sum.abs() >= *trips_at || poles.is_bypassed(one, &solution))
            };
            let new: Vec<Tripping> = poles.interrupters.iter().filter(trips).map(|one| one.what.clone()).collect();
            if new.is_empty() {
                return (devices, circuits);
            }
            for one in new {
                match one {
                    Tripping::Device(unit) => {
                        state.tripped.push(unit);
                        devices.push(unit);
                    }
                    Tripping::Breaker(all) => {
                        state.open.extend(&all);
                        circuits.extend(all);
                    }
                }
            }
        }
    }
}
