//! The way that current takes through the conductors.

use std::collections::VecDeque;

use super::super::joint::MakeUp;
use super::super::network::{Element, Network, PointId, RunId, Source, UnitId};

#[derive(Clone, Copy, Debug)]
enum Step {
    /// Along a conductor of a run, forwards (from its first end) or backwards.
    Along(RunId, bool),
    /// Through a joint, a tie or a closed GFCI.
    Through,
    /// Through a contact that is closed in one position.
    Contact(UnitId, u8),
}

/// What lies beside what.
#[derive(Debug)]
pub(super) struct Paths {
    beside: Vec<Vec<(PointId, Step)>>,
    is_source: Vec<Option<Source>>,
    seen: Vec<(u32, PointId, Step)>,
    round: u32,
}

impl Paths {
    /// Gathers the network.
    pub(super) fn of(net: &Network, makeups: &[MakeUp]) -> Paths {
        let mut beside: Vec<Vec<(PointId, Step)>> = vec![Vec::new(); net.points.len()];
        let mut add = |a: PointId, b: PointId, there, back| {
            beside[a.at()].push((b, there));
            beside[b.at()].push((a, back));
        };
        for wire in &net.wires {
            add(wire.ends[0], wire.ends[1], Step::Along(wire.run, true), Step::Along(wire.run, false));
        }
        for joint in makeups.iter().flat_map(|makeup| &makeup.joints) {
            if let Some((first, rest)) = joint.points.split_first() {
                rest.iter().for_each(|other| add(*first, *other, Step::Through, Step::Through));
            }
        }
        for inside in &net.elements {
            match inside.element {
                Element::Tie(a, b) | Element::Trip(a, b) => add(a, b, Step::Through, Step::Through),
                Element::Contact(a, b, position) => {
                    let step = Step::Contact(inside.unit, position);
                    add(a, b, step, step);
                }
                Element::Load(..) => {}
            }
        }
        let mut is_source = vec![None; net.points.len()];
        for &(point, source) in &net.sources {
            is_source[point.at()] = Some(source);
        }
        let seen = vec![(0, PointId(0), Step::Through); net.points.len()];
        Paths { beside, is_source, seen, round: 0 }
    }

    /// Walks from a point to the nearest source that `wanted` accepts, and adds one to a run's count for each of its
    /// conductors passed forwards, takes one off for each passed backwards (turned round if `back`).
    pub(super) fn walk(
        &mut self,
        from: PointId,
        closed: &impl Fn(UnitId) -> u8,
        wanted: impl Fn(Source) -> bool,
        back: bool,
        count: &mut std::collections::BTreeMap<RunId, i32>,
    ) -> Option<Source> {
        self.round += 1;
        let mut open = VecDeque::from([from]);
        self.seen[from.at()] = (self.round, from, Step::Through);
        while let Some(point) = open.pop_front() {
            if let Some(source) = self.is_source[point.at()].filter(|source| wanted(*source)) {
                self.tally(from, point, back, count);
                return Some(source);
            }
            for &(next, step) in &self.beside[point.at()] {
                let shut = match step {
                    Step::Contact(unit, position) => closed(unit) == position,
                    _ => true,
                };
                if shut && self.seen[next.at()].0 != self.round {
                    self.seen[next.at()] = (self.round, point, step);
                    open.push_back(next);
                }
            }
        }
        None
    }

    fn tally(&self, from: PointId, mut at: PointId, back: bool, count: &mut std::collections::BTreeMap<RunId, i32>) {
        while at != from {
            let (_, before, step) = self.seen[at.at()];
            if let Step::Along(run, forwards) = step {
                *count.entry(run).or_default() += if forwards != back { 1 } else { -1 };
            }
            at = before;
        }
    }
}
