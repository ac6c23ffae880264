//! What is joined to what in a box.

use super::network::{Network, PlaceId, Point, PointId};
use super::signal::Signal;
use crate::source::Span;

/// Ends of conductors and terminals that are joined: by a splice with pigtails, or by landing a conductor on a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joint {
    /// What it is for, where the make-up was derived.
    pub function: Option<Signal>,
    /// What it joins.
    pub points: Vec<PointId>,
    /// Where it was written, for one as built.
    pub span: Span,
}

impl Joint {
    /// Returns the ends of conductors in it.
    pub fn ends<'a>(&'a self, net: &'a Network) -> impl Iterator<Item = PointId> + 'a {
        self.points.iter().copied().filter(|&point| matches!(net.point(point), Point::End(..)))
    }

    /// Returns the terminals in it.
    pub fn terminals<'a>(&'a self, net: &'a Network) -> impl Iterator<Item = PointId> + 'a {
        self.points.iter().copied().filter(|&point| matches!(net.point(point), Point::Terminal(..)))
    }

    /// Returns whether it takes a connector: more than one conductor, or more than two things to join. One conductor on one
    /// terminal is a landing, two terminals are a jumper.
    pub fn is_splice(&self, net: &Network) -> bool {
        let (ends, terminals) = (self.ends(net).count(), self.terminals(net).count());
        ends > 1 || ends + terminals > 2
    }
}

/// The make-up of one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MakeUp {
    /// The place.
    pub place: PlaceId,
    /// Joints.
    pub joints: Vec<Joint>,
    /// Conductors with a cap of their own.
    pub caps: Vec<PointId>,
    /// Whether it was written in the job file as it was built.
    pub as_built: bool,
}
