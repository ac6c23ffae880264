//! Where on a wall a box can stand.

use super::choices::field;
use super::draft::Draft;
use super::item::Proposed;
use crate::calc::Outline;
use crate::calc::coverage::Stretch;
use crate::model::ItemIndex;
use crate::model::kinds::{opening, outlet_box, room, wall};
use crate::quantity::{Dimension, parse};

/// Room that the middle of a box keeps from a corner and from the edge of an opening: half a box and the stud beside it. Common
/// practice, no source.
const CLEAR_INCHES: i64 = 6;
const CLEAR_MM: i64 = 150;

/// A place on a wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) wall: ItemIndex,
    /// From the wall's start.
    pub(super) along: i64,
}

impl Draft<'_> {
    /// Returns how far the middle of a box keeps from the corners of a room.
    pub(super) fn corner_clearance(&self) -> i64 {
        let asked = self.value("accessible.from_corner", Dimension::Length).map_or(0, |length| length.amount());
        asked.max(self.practice(CLEAR_INCHES, CLEAR_MM))
    }

    /// Returns the places along a stretch of an outline where a box can stand, from the start of the stretch, in order.
    ///
    /// Boxes go beside studs where the studs of the wall are written, else at whole inches or centimetres. An opening whose sill is
    /// not above `below`, or not written, leaves no room for one.
    pub(super) fn candidates(&self, outline: &Outline, stretch: &Stretch, below: i64) -> Vec<i64> {
        let corner = self.corner_clearance();
        let edge = self.practice(CLEAR_INCHES, CLEAR_MM).min(stretch.length / 2);
        let mut found: Vec<i64> = Vec::new();
        for side in &outline.sides {
            let corner = corner.min(side.length / 2);
            for along in self.marks(side.wall, side.length) {
                if along < corner || along > side.length - corner {
                    continue;
                }
                if self.in_opening(side.wall, along, below) || self.meets_outlet(side.wall, along) {
                    continue;
                }
                let Some(at) = stretch.offset(side.start + along, outline.length) else { continue };
                if stretch.closed || (at >= edge && at <= stretch.length - edge) {
                    found.push(at);
                }
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Returns whether a box at a place on a wall, its top at most at `below`, would stand in an opening.
    pub(super) fn in_opening(&self, on: ItemIndex, along: i64, below: i64) -> bool {
        let reach = self.practice(3, 75);
        self.job.links(on, wall::OPENINGS).any(|item| {
            let (Some(at), Some(width)) = (self.amount(item, opening::AT), self.amount(item, opening::WIDTH)) else {
                return false;
            };
            let sill = self.amount(item, opening::SILL);
            sill.is_none_or(|sill| sill < below) && (at - reach..=at + width + reach).contains(&along)
        })
    }

    fn marks(&self, wall: ItemIndex, length: i64) -> Vec<i64> {
        let first = self.amount(wall, wall::FIRST_STUD);
        let spacing = self.amount(wall, wall::STUD_SPACING).filter(|spacing| *spacing > 0);
        if let (Some(first), Some(spacing)) = (first, spacing) {
            // Centre of a box nailed to the side of a stud: half the stud and half the box away from the stud's centre.
            let beside = self.practice(2, 50);
            return (0..).map(|n| first + n * spacing + beside).take_while(|at| *at < length).collect();
        }
        let step = self.step();
        let mut marks: Vec<i64> = (0..).map(|n| n * step).take_while(|at| *at <= length).collect();
        // A short wall still has its middle.
        let middle = length / 2 / 1_000_000 * 1_000_000;
        marks.push(middle);
        marks.sort_unstable();
        marks
    }

    /// Returns the openings of a room that people go through, with the wall and the two edges of each.
    pub(super) fn doors(&self, room: ItemIndex) -> Vec<ItemIndex> {
        let through =
            |&item: &ItemIndex| matches!(self.job.text(item, opening::KIND), Some("door" | "doorway" | "sliding_door"));
        self.job.links(room, room::OPENINGS).filter(through).collect()
    }

    /// Returns the place for a switch at the latch side of a door; the other side where there is no wall for it.
    pub(super) fn beside_door(&self, door: ItemIndex) -> Option<Place> {
        let wall = self.job.link(door, opening::WALL)?;
        let (at, width) = (self.amount(door, opening::AT)?, self.amount(door, opening::WIDTH)?);
        let length = self.amount(wall, wall::LENGTH)?;
        let away = self.practice(6, 150);
        let step = self.practice(5, 130);
        // A second box beside the same door stands farther from it.
        let before = (0..4).map(move |n| at - away - n * step);
        let after = (0..4).map(move |n| at + width + away + n * step);
        let sides: Vec<i64> = if self.job.text(door, opening::LATCH) == Some("start") {
            before.chain(after).collect()
        } else {
            after.chain(before).collect()
        };
        let corner = self.corner_clearance();
        let free = |along: &i64| {
            (corner..=length - corner).contains(along)
                && !self.is_open(door, wall, *along)
                && !self.is_taken(wall, *along)
        };
        sides.into_iter().find(free).map(|along| Place { wall, along })
    }

    fn is_open(&self, except: ItemIndex, on: ItemIndex, along: i64) -> bool {
        let reach = self.practice(3, 75);
        self.job.links(on, wall::OPENINGS).filter(|item| *item != except).any(|item| {
            let (Some(at), Some(width)) = (self.amount(item, opening::AT), self.amount(item, opening::WIDTH)) else {
                return false;
            };
            (at - reach..=at + width + reach).contains(&along)
        })
    }

    /// Returns a place where a wall of a room is free: no opening, no other box, clear of the corner; walls without a door first.
    pub(super) fn free_place(&self, of: ItemIndex) -> Option<Place> {
        let mut walls: Vec<ItemIndex> =
            self.job.links(of, room::WALLS).filter(|&item| self.job.text(item, wall::KIND) == Some("wall")).collect();
        walls.sort_by_key(|&item| self.job.links(item, wall::OPENINGS).count());
        let below = self.practice(60, 1500);
        let apart = self.practice(12, 300);
        walls.into_iter().find_map(|item| {
            let length = self.amount(item, wall::LENGTH)?;
            let corner = self.corner_clearance().min(length / 2);
            // On a whole step, and not nearer to the corner for it.
            let first = (corner + self.step() - 1) / self.step() * self.step();
            let tries = (0..).map(|n| first + n * apart).take_while(|along| *along <= length - corner);
            let free = |along: &i64| !self.in_opening(item, *along, below) && self.is_clear(item, *along);
            tries.into_iter().find(free).map(|along| Place { wall: item, along })
        })
    }

    /// Returns whether the outlet of an appliance, already proposed, is where a receptacle would go.
    fn meets_outlet(&self, on: ItemIndex, along: i64) -> bool {
        let reach = self.practice(5, 130);
        self.items.iter().any(|item| {
            field(item, "purpose") == Some("appliance")
                && field(item, "wall") == Some(self.job.id(on))
                && along_of(item).is_some_and(|at| (at - along).abs() < reach)
        })
    }

    /// Returns whether no box, written or proposed, stands so close to a place on a wall that another would run into it, whatever its
    /// height.
    pub(super) fn is_clear(&self, on: ItemIndex, along: i64) -> bool {
        let reach = self.practice(5, 130);
        let near = |at: i64| (at - along).abs() < reach;
        !self.job.links(on, wall::BOXES).any(|item| self.amount(item, outlet_box::ALONG).is_some_and(near))
            && !self.items.iter().any(|item| {
                item.kind == "box" && field(item, "wall") == Some(self.job.id(on)) && along_of(item).is_some_and(near)
            })
    }

    /// Returns whether a box that is a switch's size stands so close that another would run into it.
    fn is_taken(&self, on: ItemIndex, along: i64) -> bool {
        let reach = self.practice(4, 100);
        let near = |at: i64| (at - along).abs() < reach;
        self.job.links(on, wall::BOXES).any(|item| {
            self.job.text(item, outlet_box::PURPOSE) == Some("switch")
                && self.amount(item, outlet_box::ALONG).is_some_and(near)
        }) || self.items.iter().any(|item| {
            field(item, "purpose") == Some("switch")
                && field(item, "wall") == Some(self.job.id(on))
                && along_of(item).is_some_and(near)
        })
    }
}

/// Returns where on its wall a proposed box stands.
fn along_of(item: &Proposed) -> Option<i64> {
    parse(field(item, "along")?, Dimension::Length).ok().map(|length| length.amount())
}
