//! The make-up of every box, derived from boxes, cables, devices and what controls what.
//!
//! Every terminal needs a function ([`needs`](super::needs)); a function runs through those cables that join all
//! places which need it. Over a tree of cables there is one way to do that, so that all that is left to choose is the order
//! in which the current meets the switches of a group: the one that the cables have conductors for, with least copper.

use std::collections::{BTreeMap, BTreeSet};

use super::colours::assign_runs;
use super::control::{Group, groups};
use super::gap::Gap;
use super::joint::{Joint, MakeUp};
use super::needs::{Need, needs, neutral_wishes};
use super::network::{Colour, Network, PlaceId, PlaceKind, Point, Terminal, UnitKind};
use super::order::{Costs, settle_orders};
use super::signal::Signal;
use super::tree::{Tree, systems};
use crate::model::{ItemIndex, Job};

/// The make-up derived for a whole job.
#[derive(Clone, Debug, Default)]
pub struct Derivation {
    /// The make-up of each place, by its number.
    pub makeups: Vec<MakeUp>,
    /// The function of each conductor, by its number; nothing for a spare one.
    pub functions: Vec<Option<Signal>>,
    /// Control groups.
    pub groups: Vec<Group>,
    /// What can't be made.
    pub gaps: Vec<Gap>,
    /// Circuits with cable and a load that were wired up whole.
    pub whole: BTreeSet<ItemIndex>,
    /// Circuits that are wired together, each by the number of its system.
    pub system: BTreeMap<ItemIndex, usize>,
}

/// Derives the make-up of every place.
pub(super) fn derive(job: &Job, net: &Network) -> Derivation {
    let (groups, gaps) = groups(job, net);
    let mut out = Derivation { functions: vec![None; net.wires.len()], groups, gaps, ..Derivation::default() };
    let mut joined: Vec<(Signal, super::PointId)> = Vec::new();
    for (number, circuits) in systems(net).into_iter().enumerate() {
        out.system.extend(circuits.iter().map(|&circuit| (circuit, number)));
        if let Some(tree) = Tree::of(net, &circuits) {
            let gaps = out.gaps.len();
            joined.extend(system(job, net, &tree, &circuits, &mut out));
            let short = out.gaps.iter().any(|gap| circuits.contains(&gap.circuit));
            if gaps == out.gaps.len() && !short && !tree.edges.is_empty() {
                out.whole.extend(circuits);
            }
        }
    }
    out.makeups = joints(net, &out.functions, &joined);
    out
}

/// Solves one system and returns the terminals that got their function.
fn system(job: &Job, net: &Network, tree: &Tree, circuits: &BTreeSet<ItemIndex>, out: &mut Derivation) -> Vec<Need> {
    settle_orders(job, net, tree, circuits, &mut out.groups);
    let all = needs(job, net, &out.groups, circuits);
    let (met, unmet): (Vec<Need>, Vec<Need>) =
        all.into_iter().partition(|(_, point)| tree.node(net.place_of(*point)).is_some());
    unreached(job, net, &unmet, out);
    let mut costs = Costs::of(net, tree, &met);
    wishes(job, net, tree, circuits, out, &mut costs);
    for (at, edge) in tree.edges.iter().enumerate() {
        let signals: Vec<Signal> =
            costs.used.iter().filter(|(_, edges)| edges[at]).map(|(signal, _)| *signal).collect();
        if signals.len() > edge.capacity {
            out.gaps.push(too_few(job, net, circuits, &out.groups, edge, &signals));
        }
        let wires = |run| net.run(run).wires.clone();
        let colours: Vec<Vec<Colour>> =
            edge.runs.iter().map(|&run| wires(run).iter().map(|&wire| net.wire(wire).colour).collect()).collect();
        for (&run, given) in edge.runs.iter().zip(assign_runs(&signals, &colours)) {
            for (wire, signal) in wires(run).into_iter().zip(given) {
                out.functions[wire.at()] = signal;
            }
        }
    }
    met
}

/// Extends neutrals to switches: where the job says one is there it must be, elsewhere a conductor that is left over serves.
fn wishes(
    job: &Job,
    net: &Network,
    tree: &Tree,
    circuits: &BTreeSet<ItemIndex>,
    out: &mut Derivation,
    costs: &mut Costs,
) {
    let mut wishes = neutral_wishes(job, net, &out.groups, circuits);
    wishes.sort_by_key(|(_, _, recorded)| !recorded);
    for (unit, neutral, recorded) in wishes {
        let Some(node) = tree.node(net.unit(unit).place) else { continue };
        let Some(edges) = costs.used.get(&neutral) else { continue };
        let has =
            |node: usize| node == 0 || (0..edges.len()).any(|edge| edges[edge] && tree.ends(edge).contains(&node));
        let Some(path) = tree.up(node, has) else { continue };
        let full = path.iter().copied().find(|&edge| costs.count(edge) >= tree.edges[edge].capacity);
        if let Some(edge) = full {
            if recorded {
                let run = net.run(tree.edges[edge].runs[0]);
                let switch = net.unit(unit).item;
                let message = format!(
                    "the neutral that is said to be at switch `{}` has no conductor in cable `{}`",
                    job.id(switch),
                    job.id(run.item)
                );
                let circuit = net.unit(unit).circuit.unwrap_or(switch);
                out.gaps.push(
                    Gap::new(job, circuit, switch, message)
                        .help("a cable with one conductor more would carry it, or set `neutral_at_switch = false`"),
                );
            }
            continue;
        }
        if let Some(edges) = costs.used.get_mut(&neutral) {
            for edge in path {
                edges[edge] = true;
            }
        }
    }
}

fn unreached(job: &Job, net: &Network, unmet: &[Need], out: &mut Derivation) {
    let mut told = BTreeSet::new();
    for &(_, point) in unmet {
        let Point::Terminal(id, _) = net.point(point) else { continue };
        let unit = net.unit(id);
        let Some(circuit) = unit.circuit.filter(|_| told.insert(id)) else { continue };
        let place = net.place(unit.place).item;
        let message = if place == unit.item {
            format!("no cable of circuit `{}` reaches `{}`", job.id(circuit), job.id(unit.item))
        } else {
            format!(
                "no cable of circuit `{}` reaches `{}` in box `{}`",
                job.id(circuit),
                job.id(unit.item),
                job.id(place)
            )
        };
        let help = "run a cable of that circuit to it, or correct the `circuit` of the device or cable";
        out.gaps.push(Gap::new(job, circuit, unit.item, message).help(help));
    }
}

/// Says which functions have no conductor in a cable, and which cable would do.
fn too_few(
    job: &Job,
    net: &Network,
    circuits: &BTreeSet<ItemIndex>,
    groups: &[Group],
    edge: &super::tree::Edge,
    signals: &[Signal],
) -> Gap {
    let run = net.run(edge.runs[0]);
    let circuit = run.circuits.iter().copied().find(|circuit| circuits.contains(circuit)).unwrap_or(run.item);
    let ids: Vec<&str> = edge.runs.iter().map(|&run| job.id(net.run(run).item)).collect();
    let words: Vec<String> = signals.iter().map(|signal| signal.words(job, net, groups)).collect();
    let message = format!(
        "cable `{}` has {} insulated conductors and needs {}: {}",
        ids.join("`, `"),
        edge.capacity,
        signals.len(),
        words.join(", ")
    );
    let pairs = signals.len().div_ceil(2);
    let help = if signals.len() <= 3 {
        String::from("a cable with 3 insulated conductors would do")
    } else {
        format!(
            "a cable with {} insulated conductors would do, or {pairs} two-conductor cables side by side, or another route for the feed",
            signals.len()
        )
    };
    Gap::new(job, circuit, run.item, message).help(help)
}

/// Joins what has the same function in the same place.
fn joints(net: &Network, functions: &[Option<Signal>], needs: &[Need]) -> Vec<MakeUp> {
    let mut terminal_of: BTreeMap<PlaceId, Vec<Need>> = BTreeMap::new();
    for &(signal, point) in needs {
        terminal_of.entry(net.place_of(point)).or_default().push((signal, point));
    }
    net.places()
        .map(|(id, place)| {
            let mut by_signal: BTreeMap<Signal, Vec<super::PointId>> = BTreeMap::new();
            let mut caps = Vec::new();
            for &point in &place.points {
                let signal = match net.point(point) {
                    Point::End(wire, _) if net.wire(wire).colour == Colour::Bare => Some(Signal::Ground),
                    Point::End(wire, _) => match functions.get(wire.at()).copied().flatten() {
                        Some(signal) => Some(signal),
                        None => {
                            caps.push(point);
                            None
                        }
                    },
                    Point::Terminal(unit, terminal) => grounding(net, place.kind, unit, terminal),
                };
                if let Some(signal) = signal {
                    by_signal.entry(signal).or_default().push(point);
                }
            }
            for &(signal, point) in terminal_of.get(&id).map_or(&[][..], Vec::as_slice) {
                by_signal.entry(signal).or_default().push(point);
            }
            let mut joints = Vec::new();
            for (function, points) in by_signal {
                match points[..] {
                    // A conductor that waits for something later gets a cap; a screw alone has nothing to hold.
                    [point] if matches!(net.point(point), Point::End(..)) => caps.push(point),
                    [_] => {}
                    _ => joints.push(Joint { function: Some(function), points, span: crate::source::Span::NONE }),
                }
            }
            MakeUp { place: id, joints, caps, as_built: false }
        })
        .collect()
}

/// Green screws and ground leads take the grounds of their box; at a panel the ground bar does.
fn grounding(net: &Network, kind: PlaceKind, unit: super::UnitId, terminal: Terminal) -> Option<Signal> {
    let at_its_panel = net.unit(unit).kind != UnitKind::Breaker || kind == PlaceKind::Panel;
    (terminal.is_grounding() && at_its_panel).then_some(Signal::Ground)
}
