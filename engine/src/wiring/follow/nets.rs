//! Points that are always joined, as nets.

use super::super::joint::MakeUp;
use super::super::network::{Colour, Element, Network, PointId, Source, UnitId, WireId};

/// What counts as joined besides conductors, joints and ties.
#[derive(Clone, Copy, Debug, Default)]
pub struct Joined {
    /// A GFCI that has tripped.
    pub tripped: Option<UnitId>,
    /// Whether every contact counts as closed: what may be joined in any position.
    pub contacts: bool,
    /// A device that is taken out of its box, its ties with it.
    pub removed: Option<UnitId>,
}

/// Nets of points.
#[derive(Clone, Debug, Default)]
pub struct Nets {
    /// The net of each point.
    of: Vec<u32>,
    /// The sources of each net.
    sources: Vec<Vec<Source>>,
    /// Insulated conductors that close a loop: they lie parallel to others.
    pub loops: Vec<WireId>,
}

struct Union(Vec<u32>);

impl Union {
    fn root(&mut self, mut at: u32) -> u32 {
        while self.0[at as usize] != at {
            self.0[at as usize] = self.0[self.0[at as usize] as usize];
            at = self.0[at as usize];
        }
        at
    }

    fn join(&mut self, a: PointId, b: PointId) -> bool {
        let (a, b) = (self.root(a.0), self.root(b.0));
        self.0[a.max(b) as usize] = a.min(b);
        a != b
    }
}

impl Nets {
    /// Joins everything that is joined.
    pub fn of(net: &Network, makeups: &[MakeUp], joined: Joined) -> Nets {
        let mut union = Union((0..net.points.len() as u32).collect());
        for joint in makeups.iter().flat_map(|makeup| &makeup.joints) {
            for pair in joint.points.windows(2) {
                if let [a, b] = pair {
                    union.join(*a, *b);
                }
            }
        }
        for inside in net.elements.iter().filter(|inside| Some(inside.unit) != joined.removed) {
            match inside.element {
                Element::Tie(a, b) => _ = union.join(a, b),
                Element::Trip(a, b) if Some(inside.unit) != joined.tripped => _ = union.join(a, b),
                Element::Contact(a, b, _) if joined.contacts => _ = union.join(a, b),
                _ => {}
            }
        }
        let mut loops = Vec::new();
        for (at, wire) in net.wires.iter().enumerate() {
            if !union.join(wire.ends[0], wire.ends[1]) && wire.colour != Colour::Bare {
                loops.push(WireId(at as u32));
            }
        }
        let mut number = vec![u32::MAX; net.points.len()];
        let mut of = Vec::with_capacity(net.points.len());
        let mut count = 0;
        for point in 0..net.points.len() as u32 {
            let root = union.root(point) as usize;
            if number[root] == u32::MAX {
                number[root] = count;
                count += 1;
            }
            of.push(number[root]);
        }
        let mut sources = vec![Vec::new(); count as usize];
        for &(point, source) in &net.sources {
            let here: &mut Vec<Source> = &mut sources[of[point.at()] as usize];
            if !here.contains(&source) {
                here.push(source);
            }
        }
        Nets { of, sources, loops }
    }

    /// Returns the number of nets.
    pub fn len(&self) -> usize {
        self.sources.len()
    }

    /// Returns whether there is no net.
    pub fn is_empty(&self) -> bool {
        self.sources.is_empty()
    }

    /// Returns the net of a point.
    pub fn net(&self, point: PointId) -> usize {
        self.of[point.at()] as usize
    }

    /// Returns the sources of a net.
    pub fn sources(&self, net: usize) -> &[Source] {
        &self.sources[net]
    }

    /// Returns the sources at a point.
    pub fn at(&self, point: PointId) -> &[Source] {
        self.sources(self.net(point))
    }

    /// Returns whether a point is on a breaker.
    pub fn is_line(&self, point: PointId) -> bool {
        self.at(point).iter().any(|source| matches!(source, Source::Line { .. }))
    }

    /// Returns whether a point is on the neutral bar.
    pub fn is_neutral(&self, point: PointId) -> bool {
        self.at(point).iter().any(|source| matches!(source, Source::Neutral(_)))
    }

    /// Returns whether a point is on the ground bar.
    pub fn is_ground(&self, point: PointId) -> bool {
        self.at(point).contains(&Source::Ground)
    }
}
