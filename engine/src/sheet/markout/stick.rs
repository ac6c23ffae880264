//! The story stick: every height of the job on one scale, in the order in which it is marked, from the floor up.

use std::collections::BTreeMap;

use super::RoomMarks;
use crate::quantity::{Dimension, Quantity};

/// One mark on the stick.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StickMark {
    /// Its number, from the floor up.
    pub number: usize,
    /// Height above the finished floor.
    pub height: Quantity,
    /// Height above the subfloor, where the build-up is recorded.
    pub from_subfloor: Option<Quantity>,
    /// What goes there, with how many: `receptacle`, 74.
    pub what: Vec<(String, usize)>,
    /// Rooms in which it is used, with the ids of the boxes.
    pub rooms: Vec<(String, Vec<String>)>,
}

/// The story stick of a job.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StoryStick {
    /// Its marks, from the floor up.
    pub marks: Vec<StickMark>,
}

pub(super) fn stick(rooms: &[RoomMarks], build_up: Option<Quantity>) -> StoryStick {
    let mut heights: BTreeMap<i64, StickMark> = BTreeMap::new();
    for room in rooms {
        for mark in room.walls.iter().flat_map(|wall| &wall.boxes).filter(|mark| !mark.existing) {
            let Some(height) = mark.mark else { continue };
            let entry = heights.entry(height.amount()).or_insert_with(|| StickMark {
                number: 0,
                height,
                from_subfloor: build_up.and_then(|up| height.add(up).ok()),
                what: Vec::new(),
                rooms: Vec::new(),
            });
            match entry.what.iter_mut().find(|(what, _)| *what == mark.purpose) {
                Some((_, count)) => *count += 1,
                None => entry.what.push((mark.purpose.clone(), 1)),
            }
            match entry.rooms.last_mut().filter(|(name, _)| *name == room.name) {
                Some((_, ids)) => ids.push(mark.id.clone()),
                None => entry.rooms.push((room.name.clone(), vec![mark.id.clone()])),
            }
        }
    }
    let numbered = heights.into_values().enumerate().map(|(at, mark)| StickMark { number: at + 1, ..mark });
    StoryStick { marks: numbered.collect() }
}

impl StoryStick {
    /// Returns the height of the highest mark.
    pub fn highest(&self) -> Quantity {
        self.marks.last().map_or(Quantity::new(Dimension::Length, 0), |mark| mark.height)
    }
}
