//! Lengths of cable runs: as recorded, or along the walls of a room where both ends are on them.

use super::Desk;
use crate::calc::{box_heights, outline};
use crate::model::ItemIndex;
use crate::model::kinds::{cable, cable_end, outlet_box};
use crate::quantity::{Dimension, Quantity};

/// How long a run is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum RunLength {
    /// As the job file has it.
    Recorded(Quantity),
    /// Along the floor line between two boxes on the walls of one room, the shorter way round, and up or down.
    AlongWalls(Quantity),
    /// Nobody recorded what would tell.
    Unknown,
}

impl Desk<'_> {
    /// Returns the length of a cable run, without slack.
    pub(super) fn run_length(&self, item: ItemIndex) -> RunLength {
        if let Some(length) = self.job.quantity(item, cable::LENGTH) {
            return RunLength::Recorded(length);
        }
        self.along_walls(item).map_or(RunLength::Unknown, RunLength::AlongWalls)
    }

    fn along_walls(&self, item: ItemIndex) -> Option<Quantity> {
        let mut boxes = self.job.links(item, cable::ENDS).map(|end| self.job.link(end, cable_end::BOX));
        let (a, b) = (boxes.next()??, boxes.next()??);
        let room = self.room_of(a).filter(|room| self.room_of(b) == Some(*room))?;
        let outline = outline(&self.ctx, room).ok()?;
        let at = |it: ItemIndex| -> Option<i64> {
            let side = outline.side(self.job.link(it, outlet_box::WALL)?)?;
            Some(side.start + self.job.quantity(it, outlet_box::ALONG)?.amount())
        };
        let apart = (at(a)? - at(b)?).abs();
        let apart = apart.min(outline.length - apart);
        let height = |it: ItemIndex| box_heights(&self.ctx, it).centre.ok().map(|height| height.amount());
        let rise = (height(a)? - height(b)?).abs();
        Some(Quantity::new(Dimension::Length, apart.checked_add(rise)?))
    }

    /// Returns how many ends of a cable are at a panel, and how many anywhere else.
    pub(super) fn ends_of(&self, item: ItemIndex) -> (i64, i64) {
        let mut panels = 0;
        let mut others = 0;
        for end in self.job.links(item, cable::ENDS) {
            if self.job.link(end, cable_end::PANEL).is_some() {
                panels += 1;
            } else {
                others += 1;
            }
        }
        (panels, others)
    }

    /// Returns the room that a cable is drawn for: that of its far end, else that of its near one.
    pub(super) fn room_of_cable(&self, item: ItemIndex) -> Option<ItemIndex> {
        let mut ends: Vec<ItemIndex> = self.job.links(item, cable::ENDS).collect();
        ends.sort_by_key(|&end| self.job.text(end, cable_end::SIDE) != Some("to"));
        ends.into_iter().find_map(|end| {
            [cable_end::BOX, cable_end::PANEL, cable_end::LUMINAIRE, cable_end::APPLIANCE]
                .iter()
                .find_map(|&field| self.room_of(self.job.link(end, field)?))
        })
    }
}
