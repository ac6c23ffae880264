//! The cables of a circuit as a tree from its panel, and which of them a function has to run through.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::network::{Network, PlaceId, PlaceKind, RunId};
use crate::model::ItemIndex;

/// Circuits that share cables or a neutral are wired together.
pub(super) fn systems(net: &Network) -> Vec<BTreeSet<ItemIndex>> {
    let mut systems: Vec<BTreeSet<ItemIndex>> = Vec::new();
    let mut join = |circuits: BTreeSet<ItemIndex>| {
        if systems.iter().any(|system| circuits.is_subset(system)) {
            return;
        }
        let (touching, apart): (Vec<_>, Vec<_>) =
            std::mem::take(&mut systems).into_iter().partition(|system| !system.is_disjoint(&circuits));
        systems = apart;
        systems.push(touching.into_iter().fold(circuits, |all, system| all.union(&system).copied().collect()));
    };
    for unit in &net.units {
        join(unit.circuit.into_iter().collect());
    }
    for run in &net.runs {
        join(run.circuits.iter().copied().collect());
    }
    for (&circuit, &owner) in &net.neutral_of {
        join(BTreeSet::from([circuit, owner]));
    }
    systems.retain(|system| !system.is_empty());
    systems.sort();
    systems
}

/// Two places, the lesser number first.
type Pair = (PlaceId, PlaceId);

/// Runs side by side between the same two places.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    /// The runs.
    pub(super) runs: Vec<RunId>,
    /// Insulated conductors in them.
    pub(super) capacity: usize,
    /// Place nearer to the panel, by its number in the tree.
    parent: usize,
}

/// The tree: node 0 is the panel; the edge above node `n` is `edges[n - 1]`.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    nodes: Vec<PlaceId>,
    number: BTreeMap<PlaceId, usize>,
    /// The edge above each node but the first.
    pub(super) edges: Vec<Edge>,
    /// Runs that close a loop and stay unused.
    pub(super) loops: Vec<RunId>,
}

impl Tree {
    /// Spreads from the panel over the runs of these circuits; nearest first, in file order.
    pub(super) fn of(net: &Network, circuits: &BTreeSet<ItemIndex>) -> Option<Tree> {
        let root =
            net.units.iter().find(|unit| unit.kind == super::UnitKind::Breaker && circuits.contains(&unit.item))?.place;
        let mut between: BTreeMap<Pair, Vec<RunId>> = BTreeMap::new();
        let mut beside: BTreeMap<PlaceId, Vec<(PlaceId, Pair)>> = BTreeMap::new();
        for (id, run) in net.runs() {
            let [from, to] = run.ends;
            if from == to || !run.circuits.iter().any(|circuit| circuits.contains(circuit)) {
                continue;
            }
            let pair = (from.min(to), from.max(to));
            let runs = between.entry(pair).or_default();
            if runs.is_empty() {
                beside.entry(from).or_default().push((to, pair));
                beside.entry(to).or_default().push((from, pair));
            }
            runs.push(id);
        }
        let mut tree =
            Tree { nodes: vec![root], number: BTreeMap::from([(root, 0)]), edges: Vec::new(), loops: Vec::new() };
        let mut open = VecDeque::from([0]);
        let mut used = BTreeSet::new();
        while let Some(parent) = open.pop_front() {
            let place = tree.nodes[parent];
            for &(next, pair) in beside.get(&place).map_or(&[][..], Vec::as_slice) {
                // A panel further on is the end of this circuit, whatever else starts from it.
                if tree.number.contains_key(&next) || (parent != 0 && net.place(place).kind == PlaceKind::Panel) {
                    continue;
                }
                let node = tree.nodes.len();
                tree.nodes.push(next);
                tree.number.insert(next, node);
                let runs = between.get(&pair).cloned().unwrap_or_default();
                let capacity = runs.iter().map(|&run| insulated(net, run)).sum();
                tree.edges.push(Edge { runs, capacity, parent });
                used.insert(pair);
                open.push_back(node);
            }
        }
        let reached = |pair: &Pair| tree.number.contains_key(&pair.0);
        tree.loops = between
            .iter()
            .filter(|(pair, _)| !used.contains(*pair) && reached(pair))
            .flat_map(|(_, runs)| runs.iter().copied())
            .collect();
        Some(tree)
    }

    /// Returns a place's number.
    pub(super) fn node(&self, place: PlaceId) -> Option<usize> {
        self.number.get(&place).copied()
    }

    /// Marks the edges that join all these nodes: those with some of them below and some not.
    pub(super) fn joining(&self, nodes: &[usize]) -> Vec<bool> {
        let mut below = vec![0usize; self.nodes.len()];
        for &node in nodes {
            below[node] += 1;
        }
        for node in (1..self.nodes.len()).rev() {
            below[self.edges[node - 1].parent] += below[node];
        }
        (1..self.nodes.len()).map(|node| below[node] > 0 && below[node] < nodes.len()).collect()
    }

    /// Returns the edges from a node up to the nearest node for which `found` holds.
    pub(super) fn up(&self, mut node: usize, found: impl Fn(usize) -> bool) -> Option<Vec<usize>> {
        let mut path = Vec::new();
        while !found(node) {
            let edge = node.checked_sub(1)?;
            path.push(edge);
            node = self.edges[edge].parent;
        }
        Some(path)
    }

    /// Returns the two nodes of an edge.
    pub(super) fn ends(&self, edge: usize) -> [usize; 2] {
        [self.edges[edge].parent, edge + 1]
    }
}

/// Returns the number of insulated conductors of a run.
pub(super) fn insulated(net: &Network, run: RunId) -> usize {
    net.run(run).wires.iter().filter(|&&wire| net.wire(wire).colour != super::Colour::Bare).count()
}
