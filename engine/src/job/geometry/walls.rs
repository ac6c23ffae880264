//! Walls that do not close, and openings that do not fit them.

use std::collections::BTreeMap;

use super::{Hole, Loader};
use crate::model::ItemIndex;
use crate::model::kinds::{opening, room, wall};
use crate::problem::Problem;

/// A full turn \[µ°\].
const ROUND: i128 = 360_000_000;

/// What the turns of a room may miss of a full turn \[µ°\]: angles are measured to a degree at best.
const TURN_PLAY: i128 = 1_000_000;

/// What a room may miss of closing \[nm\]: one inch, or this share of the way round. Rooms are measured by tape.
const GAP_PLAY: f64 = 25_400_000.0;
const GAP_SHARE: f64 = 0.005;

impl<'a> Loader<'a> {
    pub(super) fn check_walls(&mut self) {
        for room in self.items(room::NAME) {
            self.check_closing(room);
        }
        for wall in self.items(wall::NAME) {
            self.check_openings(wall);
            self.check_overlaps(wall);
        }
    }

    /// Walks round the room. A room with one or two walls is only partly described, and is left alone.
    fn check_closing(&mut self, room: ItemIndex) {
        let walls: Vec<ItemIndex> = self.builder.job().links(room, room::WALLS).collect();
        let (Some(&first), Some(&last)) = (walls.first(), walls.last()) else { return };
        if walls.len() < 3 {
            return;
        }
        let (mut x, mut y, mut heading, mut way) = (0.0, 0.0, 0_i128, 0.0);
        for &wall in &walls {
            let turn = self.cell(wall, wall::TURN);
            let (Some(length), false) = (self.length(wall, wall::LENGTH), turn.is_missing()) else { return };
            let (east, south) = direction(heading);
            let length = length.nm as f64;
            (x, y, way) = (x + east * length, y + south * length, way + length);
            heading += i128::from(turn.bits());
        }
        let span = self.cell(last, wall::LENGTH).span();
        let name = self.called(room);
        let problem = if (heading - ROUND).abs() > TURN_PLAY {
            let degrees = (heading as f64 / 1e6).round();
            let problem =
                Problem::new(span, format!("the walls of {name} turn by {degrees} degrees in all, not by 360"));
            let help = if (heading + ROUND).abs() <= TURN_PLAY {
                "list the walls the other way round: the room lies on their right-hand side"
            } else {
                "state the `turn` at the end of each wall where it is not a square corner to the right, negative at an outer corner; an open side is a wall of the kind `open`"
            };
            problem.help(help)
        } else {
            let gap = x.hypot(y);
            if gap <= GAP_PLAY.max(way * GAP_SHARE) {
                return;
            }
            // To the nearest 1/16 in or millimetre: more would only be noise.
            let gap = self.shown((gap / 1_587_500.0).round() as i128 * 1_587_500);
            Problem::new(span, format!("the walls of {name} do not close: they end {gap} from where they begin"))
                .help("check the `length` and `turn` of each wall; an open side is a wall of the kind `open`")
        };
        let first = self.cell(first, wall::LENGTH).span();
        self.consequence(problem.label("last wall").mark(first, "first wall"));
    }

    fn check_openings(&mut self, wall: ItemIndex) {
        let Some(length) = self.length(wall, wall::LENGTH) else { return };
        let openings: Vec<ItemIndex> = self.builder.job().links(wall, wall::OPENINGS).collect();
        for item in openings {
            let (Some(at), Some(width)) = (self.length(item, opening::AT), self.length(item, opening::WIDTH)) else {
                continue;
            };
            let past = at.nm + width.nm - length.nm;
            if past <= 0 {
                continue;
            }
            let span = if at.nm >= length.nm { at.span } else { width.span };
            let message = format!("{} ends {} past the end of its wall", self.called(item), self.shown(past));
            let problem = Problem::new(span, message).label("past the end");
            let problem = problem.mark(length.span, format!("{} is {} long", self.called(wall), self.shown(length.nm)));
            self.consequence(problem.help("check `at` and `width` of the opening, and the wall's `length`"));
        }
    }

    /// Sweeps along the wall; openings that stand open at a place lie apart in height, so that one look finds a clash.
    fn check_overlaps(&mut self, wall: ItemIndex) {
        let mut open: BTreeMap<i128, Hole> = BTreeMap::new();
        for hole in self.holes(wall) {
            loop {
                match open.range(..hole.high).next_back().map(|(&low, &other)| (low, other)) {
                    Some((low, other)) if other.high > hole.low && other.to <= hole.from => {
                        open.remove(&low);
                    }
                    Some((_, other)) if other.high > hole.low => {
                        self.overlap(hole, other);
                        break;
                    }
                    _ => {
                        open.insert(hole.low, hole);
                        break;
                    }
                }
            }
        }
    }

    fn overlap(&mut self, hole: Hole, other: Hole) {
        let at = |loader: &Self, hole: Hole| loader.cell(hole.item, opening::AT).span();
        let message = format!("{} and {} overlap", self.called(other.item), self.called(hole.item));
        let problem = Problem::new(at(self, hole), message)
            .label(format!("begins before {} from the wall's start", self.shown(other.to)));
        let problem =
            problem.mark(at(self, other), format!("this one ends {} from the wall's start", self.shown(other.to)));
        self.consequence(
            problem.help("check `at` and `width` of both; for one above the other give `sill` and `height`"),
        );
    }
}

/// Returns the direction of a heading \[µ°\] to the right of east, as shares east and south. Square corners are exact.
fn direction(heading: i128) -> (f64, f64) {
    match heading.rem_euclid(ROUND) {
        0 => (1.0, 0.0),
        90_000_000 => (0.0, 1.0),
        180_000_000 => (-1.0, 0.0),
        270_000_000 => (0.0, -1.0),
        other => {
            let (south, east) = (other as f64 / 1e6).to_radians().sin_cos();
            (east, south)
        }
    }
}
