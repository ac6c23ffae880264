//! In which order the current meets the switches of a group.

use std::collections::{BTreeMap, BTreeSet};

use super::control::Group;
use super::needs::{Need, needs};
use super::network::{Network, UnitId};
use super::signal::Signal;
use super::tree::Tree;
use crate::model::{ItemIndex, Job};

/// Which edges each function uses.
#[derive(Clone, Debug, Default)]
pub(super) struct Costs {
    /// For each function, whether it uses each edge.
    pub(super) used: BTreeMap<Signal, Vec<bool>>,
}

impl Costs {
    pub(super) fn of(net: &Network, tree: &Tree, needs: &[Need]) -> Costs {
        let mut nodes: BTreeMap<Signal, Vec<usize>> = BTreeMap::new();
        for &(signal, point) in needs {
            if let Some(node) = tree.node(net.place_of(point)) {
                nodes.entry(signal).or_default().push(node);
            }
        }
        Costs { used: nodes.into_iter().map(|(signal, nodes)| (signal, tree.joining(&nodes))).collect() }
    }

    /// Returns how many functions use an edge.
    pub(super) fn count(&self, edge: usize) -> usize {
        self.used.values().filter(|edges| edges[edge]).count()
    }

    /// Conductors too many, then conductors used at all.
    fn total(&self, tree: &Tree) -> (usize, usize) {
        tree.edges.iter().enumerate().fold((0, 0), |(over, all), (at, edge)| {
            let count = self.count(at);
            (over + count.saturating_sub(edge.capacity), all + count)
        })
    }
}

/// Past this many orders of all groups together, groups are settled one after the other.
const MOST_ORDERS: usize = 600;

/// Puts the switches of every group of the system in the best order.
pub(super) fn settle_orders(
    job: &Job,
    net: &Network,
    tree: &Tree,
    circuits: &BTreeSet<ItemIndex>,
    groups: &mut [Group],
) {
    let choices: Vec<(usize, Vec<Vec<UnitId>>)> = groups
        .iter()
        .enumerate()
        .filter(|(_, group)| circuits.contains(&group.circuit) && group.switches.len() > 1)
        .map(|(at, group)| (at, orders(&group.switches)))
        .collect();
    let cost = |groups: &[Group]| Costs::of(net, tree, &needs(job, net, groups, circuits)).total(tree);
    let all = choices.iter().try_fold(1usize, |all, (_, orders)| all.checked_mul(orders.len()));
    if all.is_some_and(|all| all <= MOST_ORDERS) {
        let mut best: Option<((usize, usize), Vec<usize>)> = None;
        let mut pick = vec![0; choices.len()];
        loop {
            apply(&choices, &pick, groups);
            let now = cost(groups);
            if best.as_ref().is_none_or(|(least, _)| now < *least) {
                best = Some((now, pick.clone()));
            }
            let Some(at) = (0..pick.len()).find(|&at| pick[at] + 1 < choices[at].1.len()) else { break };
            pick[at] += 1;
            pick[..at].fill(0);
        }
        if let Some((_, pick)) = best {
            apply(&choices, &pick, groups);
        }
        return;
    }
    for (group, orders) in &choices {
        let best = orders.iter().min_by_key(|order| {
            groups[*group].switches.clone_from(order);
            cost(groups)
        });
        if let Some(order) = best.cloned() {
            groups[*group].switches = order;
        }
    }
}

fn apply(choices: &[(usize, Vec<Vec<UnitId>>)], pick: &[usize], groups: &mut [Group]) {
    for ((group, orders), &at) in choices.iter().zip(pick) {
        groups[*group].switches.clone_from(&orders[at]);
    }
}

/// All orders with the three-way switches at the ends. Of more than five four-way switches only the written order is tried.
fn orders(switches: &[UnitId]) -> Vec<Vec<UnitId>> {
    let [first, between @ .., last] = switches else { return vec![switches.to_vec()] };
    let mut all = Vec::new();
    let inner = if between.len() > 5 { vec![between.to_vec()] } else { permutations(between) };
    for middle in inner {
        for (head, tail) in [(first, last), (last, first)] {
            all.push(std::iter::once(*head).chain(middle.iter().copied()).chain(std::iter::once(*tail)).collect());
        }
    }
    all
}

fn permutations(units: &[UnitId]) -> Vec<Vec<UnitId>> {
    if units.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for at in 0..units.len() {
        let mut rest = units.to_vec();
        let head = rest.remove(at);
        all.extend(permutations(&rest).into_iter().map(|tail| std::iter::once(head).chain(tail).collect::<Vec<_>>()));
    }
    all
}
