//! Potentials and currents in one state, with loads as resistances.
//!
//! Conductors, splices and closed contacts are ideal. Nets that no source holds take the potential that the loads on them
//! settle at (Kirchhoff's current law: the sum of the currents into a net is nil), found by elimination with partial pivoting.

use std::collections::BTreeMap;

use super::super::joint::MakeUp;
use super::super::network::{Element, Network, PointId, Source, UnitId};
use super::cluster::LoadAt;
use crate::model::ItemIndex;

/// Positions of switches, and what is open.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// Switches in their second position (on, for a single-pole one).
    pub on: Vec<UnitId>,
    /// Circuits whose breaker is open.
    pub open: Vec<ItemIndex>,
    /// GFCI devices that have tripped.
    pub tripped: Vec<UnitId>,
}

/// Why a state has no solution.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoSolution {
    /// Two different potentials are joined without a load between.
    Short,
}

/// Potentials and currents of a state.
#[derive(Clone, Debug)]
pub struct Solution {
    group: Vec<usize>,
    volts: Vec<Option<f64>>,
    /// Current through each load, from its first terminal to its second, in amperes.
    pub amperes: Vec<f64>,
}

impl Solution {
    /// Returns the potential of a point against the neutral bar in volts; nothing for one that nothing holds.
    pub fn volts(&self, point: PointId) -> Option<f64> {
        self.volts[self.group[point.at()]]
    }

    /// Returns whether two points are joined without a load between.
    pub(super) fn are_joined(&self, a: PointId, b: PointId) -> bool {
        self.group[a.at()] == self.group[b.at()]
    }
}

/// Solves one state. `ohms` gives the resistance of each load by its number, `volts` the voltage of each leg to neutral.
///
/// # Errors
/// [`NoSolution::Short`] when sources of different potential are joined.
pub fn solve(
    net: &Network,
    makeups: &[MakeUp],
    loads: &[LoadAt],
    state: &State,
    ohms: &dyn Fn(usize) -> f64,
    volts: f64,
) -> Result<Solution, NoSolution> {
    let mut parent: Vec<usize> = (0..net.points.len()).collect();
    fn root(parent: &mut [usize], mut at: usize) -> usize {
        while parent[at] != at {
            parent[at] = parent[parent[at]];
            at = parent[at];
        }
        at
    }
    let mut join = |a: PointId, b: PointId| {
        let (a, b) = (root(&mut parent, a.at()), root(&mut parent, b.at()));
        parent[a] = b;
    };
    for wire in &net.wires {
        join(wire.ends[0], wire.ends[1]);
    }
    for joint in makeups.iter().flat_map(|makeup| &makeup.joints) {
        for pair in joint.points.windows(2) {
            join(pair[0], pair[1]);
        }
    }
    for inside in &net.elements {
        let on = state.on.contains(&inside.unit);
        match inside.element {
            Element::Tie(a, b) => join(a, b),
            Element::Trip(a, b) if !state.tripped.contains(&inside.unit) => join(a, b),
            Element::Contact(a, b, position) if on == (position == 1) => join(a, b),
            _ => {}
        }
    }
    let group: Vec<usize> = (0..net.points.len()).map(|at| root(&mut parent, at)).collect();
    let mut held: Vec<Option<f64>> = vec![None; net.points.len()];
    for &(point, source) in &net.sources {
        let potential = match source {
            Source::Line { circuit, .. } if state.open.contains(&circuit) => continue,
            Source::Line { leg: 0, .. } => volts,
            Source::Line { .. } => -volts,
            Source::Neutral(_) | Source::Ground => 0.0,
        };
        let slot = &mut held[group[point.at()]];
        if slot.is_some_and(|other| (other - potential).abs() > volts / 2.0) {
            return Err(NoSolution::Short);
        }
        *slot = Some(potential);
    }
    settle(loads, &group, &mut held, ohms);
    let amperes = loads
        .iter()
        .enumerate()
        .map(|(at, load)| match (held[group[load.hot.at()]], held[group[load.back.at()]]) {
            (Some(hot), Some(back)) => (hot - back) / ohms(at),
            _ => 0.0,
        })
        .collect();
    Ok(Solution { group, volts: held, amperes })
}

/// Gives each net that only loads hold its potential. Nets that no chain of loads joins to a source stay without.
fn settle(loads: &[LoadAt], group: &[usize], held: &mut [Option<f64>], ohms: &dyn Fn(usize) -> f64) {
    let ends = |load: &LoadAt| [group[load.hot.at()], group[load.back.at()]];
    let mut reached: Vec<bool> = held.iter().map(Option::is_some).collect();
    loop {
        let before = reached.iter().filter(|r| **r).count();
        for load in loads {
            let [a, b] = ends(load);
            if reached[a] || reached[b] {
                (reached[a], reached[b]) = (true, true);
            }
        }
        if reached.iter().filter(|r| **r).count() == before {
            break;
        }
    }
    let mut number: BTreeMap<usize, usize> = BTreeMap::new();
    for load in loads {
        for end in ends(load) {
            if held[end].is_none() && reached[end] {
                let next = number.len();
                number.entry(end).or_insert(next);
            }
        }
    }
    let n = number.len();
    let mut rows = vec![vec![0.0; n + 1]; n];
    for (at, load) in loads.iter().enumerate() {
        let [a, b] = ends(load);
        let siemens = 1.0 / ohms(at);
        for (here, far) in [(a, b), (b, a)] {
            let Some(&row) = number.get(&here) else { continue };
            if here == far {
                continue;
            }
            rows[row][row] += siemens;
            match (number.get(&far), held[far]) {
                (Some(&column), _) => rows[row][column] -= siemens,
                (None, Some(potential)) => rows[row][n] += siemens * potential,
                (None, None) => rows[row][row] -= siemens,
            }
        }
    }
    let solved = eliminate(rows);
    for (net, row) in number {
        held[net] = solved.get(row).copied();
    }
}

fn eliminate(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for column in 0..n {
        let pivot =
            (column..n).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs())).unwrap_or(column);
        rows.swap(column, pivot);
        let (above, below) = rows.split_at_mut(column + 1);
        let head = &above[column];
        for row in below {
            let factor = row[column] / head[column];
            if factor != 0.0 {
                row.iter_mut().zip(head).skip(column).for_each(|(cell, head)| *cell -= factor * head);
            }
        }
    }
    let mut solved = vec![0.0; n];
    for at in (0..n).rev() {
        let known: f64 = (at + 1..n).map(|column| rows[at][column] * solved[column]).sum();
        solved[at] = (rows[at][n] - known) / rows[at][at];
    }
    solved
}
