//! The mark-out: every wall as an elevation, a plan of every room, and the story stick with every height of the job.

mod bare;
mod boxes;
mod elevation;
mod plan;
mod sign;
mod standing;
mod stick;

pub use bare::Bare;
pub use boxes::BoxMark;
pub use elevation::{CounterBreak, CounterFace, Elevation, OpeningFace};
pub use plan::{Corner, Plan, PlanBox, PlanOpening};
pub use sign::{Shape, Sign};
pub use standing::{PlanShape, Standing};
pub use stick::{StickMark, StoryStick};

use super::Desk;
use super::figure::Figure;
use crate::model::ItemIndex;
use crate::model::kinds::{outlet_box, room, wall};
use crate::quantity::Quantity;

/// The point of a box that the crew marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkPoint {
    /// Its top edge.
    Top,
    /// Its centre.
    Centre,
    /// Its bottom edge.
    Bottom,
}

impl MarkPoint {
    /// Returns its word.
    pub fn word(self) -> &'static str {
        match self {
            MarkPoint::Top => "top",
            MarkPoint::Centre => "centre",
            MarkPoint::Bottom => "bottom",
        }
    }
}

/// One room of the mark-out.
#[derive(Clone, Debug)]
pub struct RoomMarks {
    /// The room.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its plan; none where its walls do not close.
    pub plan: Option<Plan>,
    /// Its walls, in order.
    pub walls: Vec<Elevation>,
    /// Boxes that are on no wall: in the ceiling, the floor, a cabinet or a counter.
    pub elsewhere: Vec<BoxMark>,
    /// Why something could not be drawn.
    pub open: Vec<String>,
}

/// The mark-out of a job.
#[derive(Clone, Debug)]
pub struct MarkOut {
    /// The point that the crew marks, where the shop's book says.
    pub mark: Option<MarkPoint>,
    /// The book's entry behind it.
    pub figure: Figure,
    /// Height of the finished floor above the subfloor, where it is recorded.
    pub build_up: Option<Quantity>,
    /// The story stick.
    pub stick: StoryStick,
    /// The rooms, in the order of the job file.
    pub rooms: Vec<RoomMarks>,
    /// Boxes in no room.
    pub roomless: Vec<BoxMark>,
    /// What the paper lacks.
    pub open: Vec<String>,
}

/// Returns the mark-out of a job.
pub fn mark_out(desk: &Desk<'_>) -> MarkOut {
    let figure = desk.figure("heights.mark");
    let mark = match figure.text.as_deref() {
        Some("top") => Some(MarkPoint::Top),
        Some("centre") => Some(MarkPoint::Centre),
        Some("bottom") => Some(MarkPoint::Bottom),
        _ => None,
    };
    let mut open: Vec<String> =
        figure.lack("heights are drawn to the centre, for want of the point that the crew marks").into_iter().collect();
    let marker = boxes::Marker::new(desk, mark.unwrap_or(MarkPoint::Centre));
    let rooms: Vec<RoomMarks> = desk.items(room::NAME).iter().map(|&room| of_room(desk, &marker, room)).collect();
    let roomless = desk.items(outlet_box::NAME).iter().copied();
    let roomless = roomless.filter(|&it| desk.room_of(it).is_none()).map(|it| marker.mark(it)).collect();
    let build_up = marker.build_up;
    let stick = stick::stick(&rooms, build_up);
    if build_up.is_none() {
        open.push(String::from(
            "heights are above the finished floor; `site.floor_build_up` would give them above the subfloor too",
        ));
    }
    MarkOut { mark, figure, build_up, stick, rooms, roomless, open }
}

fn of_room(desk: &Desk<'_>, marker: &boxes::Marker<'_, '_>, item: ItemIndex) -> RoomMarks {
    let job = desk.job;
    let mut open = Vec::new();
    let bare = bare::of_room(desk, item);
    let walls: Vec<Elevation> =
        job.links(item, room::WALLS).map(|wall| elevation::elevation(desk, marker, item, wall, &bare)).collect();
    let on_wall = |it: ItemIndex| job.link(it, outlet_box::WALL).is_some_and(|wall| on_this(desk, wall, item));
    let elsewhere: Vec<BoxMark> =
        job.links(item, room::BOXES).filter(|&it| !on_wall(it)).map(|it| marker.mark(it)).collect();
    let plan = plan::plan(desk, item, &walls, &elsewhere);
    if plan.is_none() {
        open.push(String::from("no plan: the walls of this room are not recorded, or do not close"));
    }
    RoomMarks { item, id: job.id(item).to_owned(), name: desk.room_name(item), plan, walls, elsewhere, open }
}

/// Returns whether a wall is one of a room.
fn on_this(desk: &Desk<'_>, wall: ItemIndex, room: ItemIndex) -> bool {
    desk.job.link(wall, wall::ROOM) == Some(room)
}
