//! How long a run is: along the walls, up and down, through the openings between rooms, and the slack of the shop.
//!
//! Rooms have no place in the dwelling. A run between two of them goes through the opening that joins them; where none is written,
//! half round both, but never farther than half round a square house of their floor area. A plan to buy by, not a measurement.

use super::cables::Node;
use super::draft::Draft;
use super::item::Written;
use super::lights::OUTSIDE;
use crate::calc::Outline;
use crate::model::ItemIndex;
use crate::model::kinds::{opening, panel, room};
use crate::quantity::Dimension;

/// One end of a run.
#[derive(Clone, Copy, Debug)]
struct Spot {
    room: Option<ItemIndex>,
    /// Where on the outline of the room.
    at: Option<i64>,
    /// Whether it is on the ceiling, somewhere in the middle.
    overhead: bool,
}

impl From<&Node> for Spot {
    fn from(node: &Node) -> Spot {
        Spot { room: node.room, at: node.at, overhead: node.overhead }
    }
}

impl Draft<'_> {
    /// Returns the length of a run from the last box, or from the panel.
    pub(super) fn way(&self, from: Option<&Node>, to: &Node, panel: &str) -> Written {
        let way = match from {
            // From its disconnect or control to the appliance that stands beside it: common practice, no source.
            Some(from) if to.appliance && from.room == to.room => self.practice(48, 1200),
            // Through the wall and up to the lamp.
            Some(from) if self.outside.iter().any(|(id, _)| *id == to.id) => {
                self.between(Spot::from(from), Spot::from(to)) + self.drop() / 4
            }
            Some(from) => self.between(Spot::from(from), Spot::from(to)),
            None => {
                let room = match self.job.find(panel) {
                    Some(it) => self.job.link(it, panel::ROOM),
                    None => self.panel_room(),
                };
                self.between(Spot { room, at: None, overhead: false }, Spot::from(to))
            }
        };
        let slack = self.value("takeoff.slack_at_box", Dimension::Length).map_or(0, |slack| slack.amount());
        let step = self.step() * if self.step() == 10_000_000 { 10 } else { 12 };
        self.length((way + 2 * slack + step - 1) / step * step)
    }

    /// Up a wall and down again.
    fn drop(&self) -> i64 {
        self.practice(96, 2400)
    }

    fn between(&self, a: Spot, b: Spot) -> i64 {
        if a.room == b.room {
            return self.within(a, b);
        }
        let joined = self.through_openings(a, b);
        let around = self.half(a) + self.half(b);
        let most = match (a.room.and_then(|it| self.outline(it)), b.room.and_then(|it| self.outline(it))) {
            (Some(_), Some(_)) => self.half_round_the_house().unwrap_or(i64::MAX),
            _ => i64::MAX,
        };
        joined.unwrap_or(around).min(around).min(most) + self.drop()
    }

    /// Returns the length of a run inside one room.
    fn within(&self, a: Spot, b: Spot) -> i64 {
        let outline = a.room.and_then(|room| self.outline(room));
        match (outline, a.at, b.at) {
            (Some(outline), Some(x), Some(y)) => {
                let apart = round(&outline, x, y);
                apart.min(if self.is_outdoors(a.room) { self.half(a) } else { apart }) + self.drop() / 4
            }
            // From a wall to the middle of the ceiling, along and across the framing.
            _ if a.overhead || b.overhead => self.half(a) / 2 + self.drop() / 2,
            _ => self.half(a) + self.drop(),
        }
    }

    /// Returns the shortest way through an opening that joins two rooms, if one is written.
    fn through_openings(&self, a: Spot, b: Spot) -> Option<i64> {
        let ways = |from: Spot, to: Spot| -> Option<Option<i64>> {
            let (room, other) = (from.room?, to.room?);
            let mut doors = self
                .job
                .links(room, room::OPENINGS)
                .filter(|&door| self.job.link(door, opening::TO) == Some(other))
                .peekable();
            doors.peek()?;
            Some(doors.filter_map(|door| self.middle(room, door)).map(|door| self.to_edge(from, door)).min())
        };
        let (there, back) = (ways(a, b), ways(b, a));
        if there.is_none() && back.is_none() {
            return None;
        }
        let side = |way: Option<Option<i64>>, spot: Spot| way.flatten().unwrap_or_else(|| self.half(spot));
        Some(side(there, a) + side(back, b))
    }

    /// Returns where on the outline of a room the middle of one of its openings is.
    pub(super) fn middle(&self, room: ItemIndex, door: ItemIndex) -> Option<i64> {
        let side = self.outline(room)?.side(self.job.link(door, opening::WALL)?)?.start;
        Some(side + self.amount(door, opening::AT)? + self.amount(door, opening::WIDTH).unwrap_or(0) / 2)
    }

    /// Returns the way from a spot to a place on the outline of its room.
    fn to_edge(&self, spot: Spot, edge: i64) -> i64 {
        match (spot.room.and_then(|room| self.outline(room)), spot.at) {
            (Some(outline), Some(at)) => round(&outline, at, edge),
            _ => self.half(spot),
        }
    }

    /// Returns the farthest that a place on the outline of a room can be from a spot in it: half round, and half of that from the
    /// middle of the ceiling. A yard is as large as the house that stands in it.
    fn half(&self, spot: Spot) -> i64 {
        let outline = spot.room.and_then(|room| self.outline(room));
        let half = outline.map_or(self.practice(120, 3000), |outline| outline.length / 2);
        let half = match self.half_round_the_house().filter(|_| self.is_outdoors(spot.room)) {
            Some(house) => half.min(house),
            None => half,
        };
        if spot.overhead { half / 2 } else { half }
    }

    fn is_outdoors(&self, room: Option<ItemIndex>) -> bool {
        room.is_some_and(|room| {
            let kind = self.room_kind(room);
            kind == "outdoors" || OUTSIDE.contains(&kind)
        })
    }

    /// Returns half the outline of a square house with the floor area of all rooms inside.
    fn half_round_the_house(&self) -> Option<i64> {
        let inside = self.all_rooms().iter().filter(|&&room| !self.is_outdoors(Some(room)));
        // In µm².
        let area: i64 = inside.filter_map(|&room| self.outline(room)).map(|outline| outline.area).sum();
        (area > 0).then(|| area.isqrt() * 2 * 1_000)
    }
}

/// Returns the shorter way along an outline between two places on it.
fn round(outline: &Outline, a: i64, b: i64) -> i64 {
    let apart = (a - b).abs();
    apart.min(outline.length - apart)
}
