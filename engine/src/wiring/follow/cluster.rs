//! Switches and loads that can influence each other, and what every combination of their positions does.
//!
//! A net with a source holds its potential whatever else is joined to it, so that switches which meet only at such nets
//! cannot influence each other. Combinations are counted cluster by cluster, and a dwelling stays small.

use std::collections::BTreeMap;

use super::super::network::{Element, Network, PointId, Source, UnitId};
use super::nets::Nets;

/// Most switches of one cluster that are tried in all combinations (4096 of them).
pub const MOST_SWITCHES: usize = 12;

/// A load between two points.
#[derive(Clone, Copy, Debug)]
pub struct LoadAt {
    /// The unit.
    pub unit: UnitId,
    /// The terminal meant to be ungrounded.
    pub hot: PointId,
    /// The other terminal.
    pub back: PointId,
}

/// What a load gets in one state.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Gets {
    /// Nothing.
    Nothing,
    /// Line to neutral, the right way round.
    Full,
    /// Line to neutral, the wrong way round.
    Reversed,
    /// Both legs.
    Across,
    /// Line at its ungrounded terminal and the ground in place of the neutral, or the other way round.
    OverGround,
    /// Part of the voltage, in series with another load.
    Series,
}

/// What the sources of a joined group of nets are, in one state.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
struct Mask(u64);

/// A cluster with its states.
#[derive(Clone, Debug)]
pub struct Cluster {
    /// Its switches; bit `n` of a state is the position of the `n`th.
    pub switches: Vec<UnitId>,
    /// Its loads, by their numbers.
    pub loads: Vec<usize>,
    /// For each state, what each of its loads gets.
    pub gets: Vec<Vec<Gets>>,
    /// For each of its loads: in how many states its second terminal reached a neutral.
    pub neutral_seen: Vec<usize>,
    /// For each of its loads: whether its second terminal ever reached the ground bar.
    pub ground_seen: Vec<bool>,
    /// For each of its loads: whether its first terminal was ever live.
    pub hot_seen: Vec<bool>,
    /// For each of its loads: whether in some state it got nothing while one of its terminals was live.
    pub live_off: Vec<bool>,
    /// Its nets and whether each was ever on a line, ever on a neutral.
    pub nets: Vec<(usize, bool, bool)>,
    /// Sources joined in some state that must never be, with that state and one net of the group.
    pub clashes: Vec<(Vec<Source>, u32, usize)>,
    /// Whether there were too many switches to try all combinations.
    pub bounded: bool,
}

/// Returns all loads of a network.
pub fn loads(net: &Network) -> Vec<LoadAt> {
    net.elements
        .iter()
        .filter_map(|inside| match inside.element {
            Element::Load(hot, back) => Some(LoadAt { unit: inside.unit, hot, back }),
            _ => None,
        })
        .collect()
}

struct Contact {
    ends: [usize; 2],
    switch: usize,
    position: u32,
}

/// Finds the clusters and runs through their states.
pub fn clusters(net: &Network, nets: &Nets, loads: &[LoadAt]) -> Vec<Cluster> {
    let mut parent: Vec<usize> = (0..nets.len()).collect();
    fn root(parent: &mut [usize], mut at: usize) -> usize {
        while parent[at] != at {
            parent[at] = parent[parent[at]];
            at = parent[at];
        }
        at
    }
    let free = |at: usize| nets.sources(at).is_empty();
    let contacts: Vec<(UnitId, [usize; 2], u8)> = net
        .elements
        .iter()
        .filter_map(|inside| match inside.element {
            Element::Contact(a, b, position) => Some((inside.unit, [nets.net(a), nets.net(b)], position)),
            _ => None,
        })
        .collect();
    // A switch is one thing: all its nets without source belong together, and so do those of a load.
    let mut of_switch: BTreeMap<UnitId, usize> = BTreeMap::new();
    for (unit, ends, _) in &contacts {
        for &end in ends.iter().filter(|&&end| free(end)) {
            let first = *of_switch.entry(*unit).or_insert(end);
            let (a, b) = (root(&mut parent, first), root(&mut parent, end));
            parent[a] = b;
        }
    }
    for load in loads {
        let (a, b) = (nets.net(load.hot), nets.net(load.back));
        if free(a) && free(b) {
            let (a, b) = (root(&mut parent, a), root(&mut parent, b));
            parent[a] = b;
        }
    }
    /// What a cluster is known by: its free nets, or alone a switch or load between nets with sources.
    #[derive(PartialEq, Eq, PartialOrd, Ord)]
    enum Key {
        Net(usize),
        Switch(UnitId),
        Load(usize),
    }
    let mut members: BTreeMap<Key, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
    for (at, (unit, ..)) in contacts.iter().enumerate() {
        let key = of_switch.get(unit).map_or(Key::Switch(*unit), |&first| Key::Net(root(&mut parent, first)));
        members.entry(key).or_default().0.push(at);
    }
    for (at, load) in loads.iter().enumerate() {
        let end = [nets.net(load.hot), nets.net(load.back)].into_iter().find(|&end| free(end));
        let key = end.map_or(Key::Load(at), |end| Key::Net(root(&mut parent, end)));
        members.entry(key).or_default().1.push(at);
    }
    members.into_values().map(|(mine, load_numbers)| run(nets, loads, &contacts, &mine, load_numbers)).collect()
}

fn run(
    nets: &Nets,
    loads: &[LoadAt],
    contacts: &[(UnitId, [usize; 2], u8)],
    mine: &[usize],
    load_numbers: Vec<usize>,
) -> Cluster {
    let mut switches: Vec<UnitId> = mine.iter().map(|&at| contacts[at].0).collect();
    switches.sort_unstable();
    switches.dedup();
    let mut local: BTreeMap<usize, usize> = BTreeMap::new();
    let mut number = |at: usize| {
        let next = local.len();
        *local.entry(at).or_insert(next)
    };
    let links: Vec<Contact> = mine
        .iter()
        .map(|&at| {
            let (unit, ends, position) = contacts[at];
            let switch = switches.binary_search(&unit).unwrap_or(0);
            Contact { ends: ends.map(&mut number), switch, position: position.into() }
        })
        .collect();
    let at_loads: Vec<[usize; 2]> =
        load_numbers.iter().map(|&at| [nets.net(loads[at].hot), nets.net(loads[at].back)].map(&mut number)).collect();
    let mut names = vec![0; local.len()];
    for (&net, &at) in &local {
        names[at] = net;
    }
    let mut sources: Vec<Source> = Vec::new();
    let mut bounded = switches.len() > MOST_SWITCHES;
    let masks: Vec<Mask> = names
        .iter()
        .map(|&name| {
            nets.sources(name).iter().fold(Mask::default(), |mask, source| {
                let bit = sources.iter().position(|other| other == source).unwrap_or_else(|| {
                    sources.push(*source);
                    sources.len() - 1
                });
                // More than 64 sources at one group of switches: no dwelling has them, and the report says it.
                bounded |= bit >= 64;
                Mask(mask.0 | 1u64.checked_shl(bit as u32).unwrap_or(0))
            })
        })
        .collect();
    let kinds = Kinds::of(&sources);
    let states = 1u32 << switches.len().min(MOST_SWITCHES);
    let count = load_numbers.len();
    let mut cluster = Cluster {
        switches,
        loads: load_numbers,
        gets: Vec::with_capacity(states as usize),
        neutral_seen: vec![0; count],
        ground_seen: vec![false; count],
        hot_seen: vec![false; count],
        live_off: vec![false; count],
        nets: names.iter().map(|&name| (name, false, false)).collect(),
        clashes: Vec::new(),
        bounded,
    };
    for state in 0..states {
        let mut comp: Vec<usize> = (0..names.len()).collect();
        for link in links.iter().filter(|link| state >> link.switch & 1 == link.position) {
            let (a, b) = (comp[link.ends[0]], comp[link.ends[1]]);
            if a != b {
                comp.iter_mut().filter(|c| **c == a).for_each(|c| *c = b);
            }
        }
        let mut at = vec![Mask::default(); names.len()];
        for (node, &group) in comp.iter().enumerate() {
            at[group].0 |= masks[node].0;
        }
        for (node, &group) in comp.iter().enumerate() {
            let (line, neutral) = (at[group].0 & kinds.line != 0, at[group].0 & kinds.neutral != 0);
            cluster.nets[node].1 |= line;
            cluster.nets[node].2 |= neutral;
            if node == group && at[group].0.count_ones() > 1 && masks[node].0 != at[group].0 {
                let joined: Vec<Source> = kinds.listed(&sources, at[group].0);
                if clash(&joined) && !cluster.clashes.iter().any(|(other, ..)| *other == joined) {
                    cluster.clashes.push((joined, state, names[node]));
                }
            }
        }
        let gets = what_loads_get(&at_loads, &comp, &at, &kinds);
        for (number, ends) in at_loads.iter().enumerate() {
            let [hot, back] = ends.map(|end| at[comp[end]].0);
            cluster.neutral_seen[number] += usize::from(back & kinds.neutral != 0);
            cluster.ground_seen[number] |= back & kinds.ground != 0;
            cluster.hot_seen[number] |= hot & kinds.line != 0;
            cluster.live_off[number] |= gets[number] == Gets::Nothing && (hot | back) & kinds.line != 0;
        }
        cluster.gets.push(gets);
    }
    cluster
}

/// Which bits of a mask are what.
struct Kinds {
    line: u64,
    leg: [u64; 2],
    neutral: u64,
    ground: u64,
}

impl Kinds {
    fn of(sources: &[Source]) -> Kinds {
        let mut kinds = Kinds { line: 0, leg: [0; 2], neutral: 0, ground: 0 };
        for (at, source) in sources.iter().enumerate().take(64) {
            let bit = 1u64 << at;
            match source {
                Source::Line { leg, .. } => {
                    kinds.line |= bit;
                    kinds.leg[usize::from(leg & 1)] |= bit;
                }
                Source::Neutral(_) => kinds.neutral |= bit,
                Source::Ground => kinds.ground |= bit,
            }
        }
        kinds
    }

    fn listed(&self, sources: &[Source], mask: u64) -> Vec<Source> {
        let mut all: Vec<Source> = sources
            .iter()
            .enumerate()
            .take(64)
            .filter(|(at, _)| mask >> at & 1 == 1)
            .map(|(_, source)| *source)
            .collect();
        all.sort();
        all
    }

    /// 1 and 2 for the legs, 3 for neutral or ground, 0 for nothing.
    fn potential(&self, mask: u64) -> u8 {
        if mask & self.leg[0] != 0 {
            1
        } else if mask & self.leg[1] != 0 {
            2
        } else {
            u8::from(mask & (self.neutral | self.ground) != 0) * 3
        }
    }
}

/// Returns whether sources must never be joined: anything but the poles of one source.
pub(super) fn clash(sources: &[Source]) -> bool {
    sources.len() > 1
}

fn what_loads_get(ends: &[[usize; 2]], comp: &[usize], at: &[Mask], kinds: &Kinds) -> Vec<Gets> {
    let mut gets: Vec<Gets> = ends
        .iter()
        .map(|ends| {
            let [hot, back] = ends.map(|end| at[comp[end]].0);
            match (kinds.potential(hot), kinds.potential(back)) {
                (1, 2) | (2, 1) => Gets::Across,
                (1 | 2, 3) if back & kinds.neutral != 0 => Gets::Full,
                (3, 1 | 2) if hot & kinds.neutral != 0 => Gets::Reversed,
                (1 | 2, 3) | (3, 1 | 2) => Gets::OverGround,
                _ => Gets::Nothing,
            }
        })
        .collect();
    // Loads that meet at a net without source are in series if the far ends differ.
    let mut group = comp.to_vec();
    for ends in ends {
        let [a, b] = ends.map(|end| comp[end]);
        if kinds.potential(at[a].0) == 0 && kinds.potential(at[b].0) == 0 {
            let (from, to) = (group[a], group[b]);
            group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
        }
    }
    let floats = |node: usize| kinds.potential(at[comp[node]].0) == 0;
    for (number, mine) in ends.iter().enumerate() {
        let Some(node) = mine.iter().copied().find(|&node| floats(node)) else { continue };
        let here = group[comp[node]];
        let mut reached = [false; 4];
        for [a, b] in ends.iter().copied() {
            for (node, far) in [(a, b), (b, a)] {
                if floats(node) && group[comp[node]] == here {
                    reached[usize::from(kinds.potential(at[comp[far]].0))] = true;
                }
            }
        }
        if reached[1..].iter().filter(|seen| **seen).count() > 1 {
            gets[number] = Gets::Series;
        }
    }
    gets
}
