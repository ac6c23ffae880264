//! What a meter shows between two points of the wiring as it is, with its loads as resistances: volts with breakers closed, ohms with
//! everything off. Conductors and joints are ideal, so that a reading tells what is joined, never how well.

use super::super::joint::{Joint, MakeUp};
use super::super::network::{Element, Network, PointId, Source, UnitElement, UnitId};
use super::cluster::LoadAt;
use super::solve::{NoSolution, State, solve};
use crate::model::ItemIndex;

/// Input resistance of the voltmeter in ohms: 10 MΩ, as digital multimeters have it (common practice, no source).
const INPUT: f64 = 1.0e7;

/// Resistance in series with the ohmmeter's source, in ohms. Any value does: the reading does not depend on it.
const SERIES: f64 = 100.0;

/// Above this many ohms a path counts as open.
const OPEN: f64 = 1.0e9;

/// What is joined when a reading is taken.
#[derive(Clone, Debug)]
pub struct Meter {
    pub(super) net: Network,
    pub(super) makeups: Vec<MakeUp>,
    /// Loads that are there, each with its resistance in ohms.
    loads: Vec<(LoadAt, f64)>,
    pub(super) volts: f64,
    /// Circuits whose breaker interrupts ground faults, and the amperes at which it and every GFCI device trips.
    pub(super) guard: Option<(Vec<ItemIndex>, f64)>,
}

/// What trips as soon as the breakers are closed.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct Trips {
    /// GFCI devices.
    pub devices: Vec<UnitId>,
    /// Circuits whose breaker trips on a ground fault.
    pub ground_fault: Vec<ItemIndex>,
    /// Circuits whose breaker trips on a short, with what tripped on a ground fault open.
    pub short: Vec<ItemIndex>,
}

/// What the meter shows.
#[derive(Clone, PartialEq, Debug)]
pub enum Reading {
    /// So many volts, without sign.
    Volts(f64),
    /// So many ohms.
    Ohms(f64),
    /// No path.
    Open,
}

impl Meter {
    /// Returns a meter on a wiring. `ohms` tells the resistance in ohms of a load, or nothing where no load is connected (an empty
    /// receptacle); `volts` is the voltage of a leg to the neutral; `touching` are points that touch without being joined by design.
    pub fn new(
        net: &Network,
        makeups: &[MakeUp],
        touching: &[(PointId, PointId)],
        ohms: impl Fn(UnitId, &LoadAt) -> Option<f64>,
        volts: f64,
    ) -> Meter {
        let mut net = net.clone();
        // A fault of insulation is in no joint: lifting a conductor off its splice leaves it there.
        let tie = |&(a, b): &(PointId, PointId)| UnitElement { unit: UnitId(0), element: Element::Tie(a, b) };
        net.elements.extend(touching.iter().map(tie));
        let loads = super::cluster::loads(&net)
            .into_iter()
            .filter_map(|load| ohms(load.unit, &load).filter(|ohms| *ohms > 0.0).map(|ohms| (load, ohms)));
        let loads = loads.collect();
        Meter { net, makeups: makeups.to_vec(), loads, volts, guard: None }
    }

    /// Lets interrupters trip on ground faults: the GFCI devices, and the breakers of these circuits, from so many amperes on. A neutral
    /// that is joined past one trips it with no load on, as class A devices must (UL 943, from memory). Without this none trips.
    #[must_use]
    pub fn guarded(mut self, breakers: &[ItemIndex], amperes: f64) -> Meter {
        self.guard = Some((breakers.to_vec(), amperes));
        self
    }

    /// Takes conductors off their joints, as somebody does who parts a circuit to find a fault; they hang free.
    #[must_use]
    pub fn lifted(mut self, points: &[PointId]) -> Meter {
        for makeup in &mut self.makeups {
            for joint in &mut makeup.joints {
                joint.points.retain(|point| !points.contains(point));
            }
        }
        self
    }

    /// Returns the volts between two points in a state of switches and breakers; what trips in it is open.
    pub fn volts(&self, a: PointId, b: PointId, state: &State) -> Reading {
        let (state, _) = self.tripped(state);
        let (mut loads, mut ohms) = self.split();
        let unit = self.loads.first().map_or(UnitId(0), |(load, _)| load.unit);
        loads.push(LoadAt { unit, hot: a, back: b });
        ohms.push(INPUT);
        let of = |at: usize| ohms.get(at).copied().unwrap_or(INPUT);
        match solve(&self.net, &self.makeups, &loads, &state, &of, self.volts) {
            Ok(solution) => {
                let through = solution.amperes.last().copied().unwrap_or(0.0);
                Reading::Volts((through * INPUT).abs())
            }
            // With what trips open nothing is shorted; were it, nothing would be left to read.
            Err(NoSolution::Short) => Reading::Volts(0.0),
        }
    }

    /// Returns the ohms between two points with every breaker open and every GFCI device reset. Neutral and ground bars are bonded at the
    /// service.
    pub fn ohms(&self, a: PointId, b: PointId, state: &State) -> Reading {
        let Some(dummy) = self.net.places.first().map(|place| place.item) else { return Reading::Open };
        let mut net = self.net.clone();
        let bars: Vec<PointId> = net
            .sources
            .iter()
            .filter(|(_, source)| matches!(source, Source::Neutral(_) | Source::Ground))
            .map(|(point, _)| *point)
            .collect();
        let place = net.place_of(a);
        let mut makeups = self.makeups.clone();
        if let Some(makeup) = makeups.get_mut(place.at()) {
            makeup.joints.push(Joint { function: None, points: bars, span: crate::source::Span::NONE });
        }
        let probe = PointId(net.points.len() as u32);
        let of_a = net.point(a);
        net.points.push((of_a, place));
        net.sources = vec![(probe, Source::Line { circuit: dummy, pole: 0, leg: 0 }), (b, Source::Ground)];
        let (mut loads, mut ohms) = self.split();
        let unit = self.loads.first().map_or(UnitId(0), |(load, _)| load.unit);
        loads.push(LoadAt { unit, hot: probe, back: a });
        ohms.push(SERIES);
        let of = |at: usize| ohms.get(at).copied().unwrap_or(SERIES);
        let state = State { open: Vec::new(), ..state.clone() };
        // One volt behind the series resistance: what is left at the probe tells the resistance beyond it.
        let share = match solve(&net, &makeups, &loads, &state, &of, 1.0) {
            Ok(solution) => solution.volts(a).unwrap_or(1.0),
            Err(NoSolution::Short) => return Reading::Ohms(0.0),
        };
        if share >= 1.0 - SERIES / OPEN {
            return Reading::Open;
        }
        Reading::Ohms((SERIES * share / (1.0 - share)).max(0.0))
    }

    /// Returns what trips in a state as soon as the breakers are closed. Where a fault would trip a breaker and an interrupter before it,
    /// the interrupter is the one.
    pub fn trips(&self, state: &State) -> Trips {
        self.tripped(state).1
    }

    /// Returns a state with open what trips in it.
    fn tripped(&self, state: &State) -> (State, Trips) {
        let mut state = state.clone();
        let (devices, ground_fault) = self.interrupted(&mut state);
        let (loads, ohms) = self.split();
        let of = |at: usize| ohms.get(at).copied().unwrap_or(SERIES);
        let short =
            self.shorted(&state, |state| solve(&self.net, &self.makeups, &loads, state, &of, self.volts).is_err());
        state.open.extend(&short);
        (state, Trips { devices, ground_fault, short })
    }

    /// Returns the circuits whose breakers clear a short. `is_shorted` tells whether a state has one.
    pub(super) fn shorted(&self, state: &State, is_shorted: impl Fn(&State) -> bool) -> Vec<ItemIndex> {
        if !is_shorted(state) {
            return Vec::new();
        }
        let mut circuits: Vec<ItemIndex> = self
            .net
            .sources
            .iter()
            .filter_map(|(_, source)| match source {
                Source::Line { circuit, .. } => Some(*circuit),
                _ => None,
            })
            .collect();
        circuits.dedup();
        circuits.retain(|circuit| !state.open.contains(circuit));
        let alone = |one: ItemIndex| {
            let open = state.open.iter().chain(&circuits).copied().filter(|it| *it != one).collect();
            is_shorted(&State { open, ..state.clone() })
        };
        let each: Vec<ItemIndex> = circuits.iter().copied().filter(|&one| alone(one)).collect();
        // Two circuits of different legs that touch trip each other only while both are closed.
        if each.is_empty() { circuits } else { each }
    }

    pub(super) fn split(&self) -> (Vec<LoadAt>, Vec<f64>) {
        self.loads.iter().copied().unzip()
    }
}
