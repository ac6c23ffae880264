//! Following the current through every combination of switch positions, and with each GFCI tripped.
//!
//! An open breaker needs no states of its own: in every state each joined group of nets knows the breakers that feed it, so that a
//! group stays live with one of them open exactly if it knows another, and that is told as circuits joined.

mod at_conductors;
mod at_loads;
mod cluster;
mod fault;
mod ground_fault;
mod meter;
mod nets;
mod path;
mod solve;
mod trip;
mod unsaid;

use std::collections::{BTreeMap, BTreeSet};

pub use cluster::{Cluster, Gets, LoadAt, MOST_SWITCHES, clusters, loads};
pub use fault::{FaultKind, WiringFault};
pub use meter::{Meter, Reading, Trips};
pub use nets::{Joined, Nets};
pub use solve::{NoSolution, Solution, State, solve};
pub use unsaid::Unsaid;

use super::derive::Derivation;
use super::joint::{Joint, MakeUp};
use super::network::{Network, Terminal, UnitId};
use super::signal::Signal;
use crate::model::{ItemIndex, Job};
use crate::source::Span;

/// What was found, and how far it reaches.
#[derive(Clone, Debug, Default)]
pub struct Followed {
    /// Mistakes, in the order of their items.
    pub faults: Vec<WiringFault>,
    /// Combinations of switch positions that were tried.
    pub states: usize,
    /// Circuits that were followed: those wired up whole.
    pub circuits: BTreeSet<ItemIndex>,
    /// What would have to be recorded first to follow others.
    pub unsaid: Unsaid,
    /// For each conductor, by its number, whether it is live in any position of the switches.
    pub live: Vec<bool>,
    /// What is joined whatever the switches do.
    pub nets: Nets,
}

/// Everything that the detectors look at.
struct View<'a> {
    job: &'a Job,
    net: &'a Network,
    makeups: &'a [MakeUp],
    plan: &'a Derivation,
    nets: Nets,
    loads: Vec<LoadAt>,
    clusters: Vec<Cluster>,
    /// The function of each point in the plan, by its number.
    meant: Vec<Option<Signal>>,
    /// The group of each controlled unit with the terminal of the leg.
    controlled: BTreeMap<UnitId, (usize, Terminal)>,
    /// Whether each net is ever on a line, ever on a neutral.
    ever: Vec<(bool, bool)>,
    circuits: BTreeSet<ItemIndex>,
    unsaid: Unsaid,
    found: Vec<WiringFault>,
}

/// Follows the current. `makeups` are the make-ups as they are, by place; `plan` is what was derived.
pub fn follow(job: &Job, net: &Network, makeups: &[MakeUp], plan: &Derivation) -> Followed {
    let nets = Nets::of(net, makeups, Joined::default());
    let loads = loads(net);
    let clusters = clusters(net, &nets, &loads);
    let mut ever: Vec<(bool, bool)> = vec![(false, false); nets.len()];
    for (at, seen) in ever.iter_mut().enumerate() {
        for source in nets.sources(at) {
            match source {
                super::Source::Line { .. } => seen.0 = true,
                super::Source::Neutral(_) => seen.1 = true,
                super::Source::Ground => {}
            }
        }
    }
    for &(at, line, neutral) in clusters.iter().flat_map(|cluster| &cluster.nets) {
        ever[at].0 |= line;
        ever[at].1 |= neutral;
    }
    let mut meant = vec![None; net.points.len()];
    for joint in plan.makeups.iter().flat_map(|makeup| &makeup.joints).filter(|joint| joint.function.is_some()) {
        for point in &joint.points {
            meant[point.at()] = joint.function;
        }
    }
    let controlled = plan
        .groups
        .iter()
        .enumerate()
        .flat_map(|(at, group)| group.loads.iter().map(move |&(unit, terminal)| (unit, (at, terminal))))
        .collect();
    let mut circuits = followed(net, makeups, plan);
    let unsaid = unsaid::unsaid(job, net);
    circuits.retain(|circuit| !unsaid.contains_key(circuit));
    let states = clusters.iter().map(|cluster| cluster.gets.len()).sum();
    let mut view = View {
        job,
        net,
        makeups,
        plan,
        nets,
        loads,
        clusters,
        meant,
        controlled,
        ever,
        circuits,
        unsaid,
        found: Vec::new(),
    };
    view.sources();
    view.conductors();
    view.grounds();
    view.loads();
    view.interconnects();
    view.currents();
    view.trips();
    view.finish(states)
}

/// Circuits whose boxes were all derived whole, or are all written as built.
fn followed(net: &Network, makeups: &[MakeUp], plan: &Derivation) -> BTreeSet<ItemIndex> {
    let mut all = plan.whole.clone();
    let mut built: BTreeMap<ItemIndex, bool> = BTreeMap::new();
    for run in &net.runs {
        for &place in &run.ends {
            let is_box = net.place(place).kind == super::PlaceKind::Box;
            let as_built = makeups.get(place.at()).is_some_and(|makeup| makeup.as_built);
            for &circuit in &run.circuits {
                *built.entry(circuit).or_insert(true) &= as_built || !is_box;
            }
        }
    }
    all.extend(built.into_iter().filter(|(_, built)| *built).map(|(circuit, _)| circuit));
    all
}

impl View<'_> {
    fn id(&self, item: ItemIndex) -> &str {
        self.job.id(item)
    }

    fn unit_item(&self, unit: UnitId) -> ItemIndex {
        self.net.unit(unit).item
    }

    /// Names of units, each in backticks.
    fn names(&self, units: &[UnitId]) -> String {
        units.iter().map(|&unit| format!("`{}`", self.id(self.unit_item(unit)))).collect::<Vec<_>>().join(", ")
    }

    /// Records a mistake at an item; the box of a unit is where to put it right.
    fn tell(
        &mut self,
        kind: FaultKind,
        item: ItemIndex,
        at: Option<(ItemIndex, Span)>,
        circuit: Option<ItemIndex>,
        message: String,
        fix: &str,
    ) {
        if circuit.is_some_and(|circuit| !self.circuits.contains(&circuit)) {
            return;
        }
        let header = self.job.item(item).header;
        let span = at.map_or(header, |(_, span)| if span.is_some() { span } else { header });
        let place = at.map(|(place, _)| place);
        self.found.push(WiringFault { kind, item, place, circuit, span, message, fix: fix.to_string() });
    }

    fn tell_unit(&mut self, kind: FaultKind, unit: UnitId, message: String, fix: &str) {
        let (item, circuit, place) = {
            let unit = self.net.unit(unit);
            (unit.item, unit.circuit, self.net.place(unit.place).item)
        };
        self.tell(kind, item, Some((place, Span::NONE)), circuit, message, fix);
    }

    /// The joint in a net that mixes functions which the plan keeps apart, as built: where the mistake was made.
    fn culprit(&self, net: usize) -> Option<(ItemIndex, Span)> {
        let mixed = |joint: &Joint| {
            let mut functions = joint.points.iter().filter_map(|point| self.meant[point.at()]);
            let first = functions.next();
            functions.any(|other| Some(other) != first)
        };
        self.makeups.iter().find_map(|makeup| {
            let joint = makeup
                .joints
                .iter()
                .find(|joint| joint.points.first().is_some_and(|&point| self.nets.net(point) == net) && mixed(joint))?;
            Some((self.net.place(makeup.place).item, joint.span))
        })
    }

    fn finish(mut self, states: usize) -> Followed {
        for at in 0..self.clusters.len() {
            if self.clusters[at].bounded
                && let Some(&unit) = self.clusters[at].switches.first()
            {
                let message = format!(
                    "more than {MOST_SWITCHES} switches influence each other here: not every combination was tried, only those of {}",
                    self.names(&self.clusters[at].switches[..MOST_SWITCHES.min(self.clusters[at].switches.len())])
                );
                self.tell_unit(FaultKind::NotAllStates, unit, message, "look at the splices of these switches by hand");
            }
        }
        self.found.sort_by(|a, b| (a.item, a.kind, &a.message).cmp(&(b.item, b.kind, &b.message)));
        self.found.dedup_by(|a, b| a.item == b.item && a.kind == b.kind && a.message == b.message);
        let live = self.net.wires.iter().map(|wire| self.ever[self.nets.net(wire.ends[0])].0).collect();
        Followed { faults: self.found, states, circuits: self.circuits, unsaid: self.unsaid, live, nets: self.nets }
    }
}
