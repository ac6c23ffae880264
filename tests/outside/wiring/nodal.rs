//! An independent solution: modified nodal analysis (Ho, Ruehli and Brennan, "The modified nodal approach to network analysis",
//! IEEE Transactions on Circuits and Systems 22, 1975) over every conductor, joint and contact, each with a resistance, solved by
//! the LU decomposition of a general-purpose library. It shares nothing with the engine but the list of what is joined.

use std::collections::{BTreeMap, BTreeSet};

use nalgebra::{DMatrix, DVector};
use storystick_engine::wiring::follow::{LoadAt, State};
use storystick_engine::wiring::{Element, MakeUp, Network, Source};

/// Resistance of a conductor, joint or closed contact, in ohms: nothing beside a load.
const CLOSED: f64 = 1e-9;
/// Conductance from every point to the neutral bar, so that no point floats, in siemens: nothing beside a load.
const LEAK: f64 = 1e-12;

/// Potentials of all points that anything reaches, and currents of all loads.
pub(super) struct Outside {
    pub(super) volts: Vec<Option<f64>>,
    pub(super) amperes: Vec<f64>,
    /// The largest current in any conductor, joint or contact.
    pub(super) largest: f64,
}

pub(super) fn solve(
    net: &Network,
    makeups: &[MakeUp],
    loads: &[LoadAt],
    state: &State,
    ohms: &dyn Fn(usize) -> f64,
    volts: f64,
) -> Outside {
    let mut branches: Vec<(usize, usize)> = Vec::new();
    let joined: BTreeSet<usize> = makeups
        .iter()
        .flat_map(|makeup| &makeup.joints)
        .flat_map(|joint| &joint.points)
        .map(|point| point.at())
        .collect();
    // A conductor that is joined at neither end carries nothing.
    for wire in net.wires.iter().filter(|wire| wire.ends.iter().any(|end| joined.contains(&end.at()))) {
        branches.push((wire.ends[0].at(), wire.ends[1].at()));
    }
    for joint in makeups.iter().flat_map(|makeup| &makeup.joints) {
        for other in joint.points.iter().skip(1) {
            branches.push((joint.points[0].at(), other.at()));
        }
    }
    let on: BTreeSet<_> = state.on.iter().collect();
    for inside in &net.elements {
        match inside.element {
            Element::Tie(a, b) => branches.push((a.at(), b.at())),
            Element::Trip(a, b) if !state.tripped.contains(&inside.unit) => branches.push((a.at(), b.at())),
            Element::Contact(a, b, position) if on.contains(&inside.unit) == (position == 1) => {
                branches.push((a.at(), b.at()))
            }
            _ => {}
        }
    }
    let sources: Vec<(usize, f64)> = net
        .sources
        .iter()
        .filter_map(|&(point, source)| match source {
            Source::Line { circuit, .. } if state.open.contains(&circuit) => None,
            Source::Line { leg: 0, .. } => Some((point.at(), volts)),
            Source::Line { .. } => Some((point.at(), -volts)),
            Source::Neutral(_) | Source::Ground => Some((point.at(), 0.0)),
        })
        .collect();
    let mut used: BTreeSet<usize> = branches.iter().flat_map(|&(a, b)| [a, b]).collect();
    used.extend(loads.iter().flat_map(|load| [load.hot.at(), load.back.at()]));
    used.extend(sources.iter().map(|(node, _)| *node));
    let row_of: BTreeMap<usize, usize> = used.iter().enumerate().map(|(row, node)| (*node, row)).collect();
    let nodes = used.len();
    let size = nodes + branches.len() + sources.len();
    let mut matrix = DMatrix::<f64>::zeros(size, size);
    let mut right = DVector::<f64>::zeros(size);
    for node in 0..nodes {
        matrix[(node, node)] += LEAK;
    }
    for (at, load) in loads.iter().enumerate() {
        let (a, b, siemens) = (row_of[&load.hot.at()], row_of[&load.back.at()], 1.0 / ohms(at));
        matrix[(a, a)] += siemens;
        matrix[(b, b)] += siemens;
        matrix[(a, b)] -= siemens;
        matrix[(b, a)] -= siemens;
    }
    for (at, &(a, b)) in branches.iter().enumerate() {
        let (row, a, b) = (nodes + at, row_of[&a], row_of[&b]);
        matrix[(a, row)] += 1.0;
        matrix[(b, row)] -= 1.0;
        matrix[(row, a)] += 1.0;
        matrix[(row, b)] -= 1.0;
        matrix[(row, row)] -= CLOSED;
    }
    for (at, &(node, potential)) in sources.iter().enumerate() {
        let (row, node) = (nodes + branches.len() + at, row_of[&node]);
        matrix[(node, row)] += 1.0;
        matrix[(row, node)] += 1.0;
        // A source as stiff as a conductor, so that a short has a large current and not none.
        matrix[(row, row)] -= CLOSED;
        right[row] = potential;
    }
    let solved = matrix.lu().solve(&right).expect("a network with a leak from every point has a solution");
    let volts: Vec<Option<f64>> = (0..net.points.len()).map(|node| row_of.get(&node).map(|&row| solved[row])).collect();
    let amperes = loads
        .iter()
        .enumerate()
        .map(|(at, load)| (solved[row_of[&load.hot.at()]] - solved[row_of[&load.back.at()]]) / ohms(at))
        .collect();
    let largest =
        solved.iter().skip(nodes).take(branches.len()).fold(0.0, |most: f64, current| most.max(current.abs()));
    Outside { volts, amperes, largest }
}
