//! A wall seen from the middle of its room.

use super::bare::Bare;
use super::boxes::{BoxMark, Marker};
use super::standing::{Standing, standing};
use crate::model::ItemIndex;
use crate::model::kinds::{counter, counter_break, opening, room, site, wall};
use crate::quantity::{Dimension, Quantity};
use crate::sheet::Desk;
use crate::sheet::desk::words;

/// An opening or fixture on a wall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpeningFace {
    /// What it is called: its name, or its kind.
    pub name: String,
    /// Its kind, a word of the job format.
    pub kind: String,
    /// Its near edge from the wall's start.
    pub at: Quantity,
    /// Its width.
    pub width: Quantity,
    /// Its lower edge above the floor.
    pub sill: Quantity,
    /// Its height, where it is recorded.
    pub height: Option<Quantity>,
    /// Whether a door's latch is at the start of the wall's direction; none where it is not recorded.
    pub latch_at_start: Option<bool>,
}

/// A sink, range or cooktop in a counter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CounterBreak {
    /// What it is.
    pub kind: String,
    /// Its near edge from the wall's start.
    pub at: Quantity,
    /// Its width.
    pub width: Quantity,
}

/// A counter against a wall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CounterFace {
    /// Its name.
    pub name: String,
    /// Its start from the wall's start.
    pub at: Quantity,
    /// Its length.
    pub length: Quantity,
    /// Its depth, where it is recorded.
    pub depth: Option<Quantity>,
    /// Height of its top, where it is recorded.
    pub height: Option<Quantity>,
    /// What interrupts it.
    pub breaks: Vec<CounterBreak>,
}

/// A wall with everything to mark on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Elevation {
    /// The wall.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// Its name in the room.
    pub name: String,
    /// A word of the job format: `wall`, `railing`, `fixed_panel`, `open`.
    pub kind: String,
    /// Its length.
    pub length: Quantity,
    /// Height of the ceiling, where it is recorded.
    pub ceiling: Option<Quantity>,
    /// Whether it is seen from outside, so that its start is on the right.
    pub from_outside: bool,
    /// How far box fronts stand out from the framing.
    pub set_out: Option<Quantity>,
    /// Centres of the studs, where they are recorded.
    pub studs: Vec<Quantity>,
    /// Openings and fixtures.
    pub openings: Vec<OpeningFace>,
    /// Counters.
    pub counters: Vec<CounterFace>,
    /// Basins and appliances whose place is recorded.
    pub standing: Vec<Standing>,
    /// Boxes, in order along the wall.
    pub boxes: Vec<BoxMark>,
    /// Stretches out of reach of a receptacle.
    pub bare: Vec<Bare>,
}

impl Elevation {
    /// Returns whether there is anything to mark or to put right on it.
    pub fn has_work(&self) -> bool {
        !self.boxes.is_empty() || !self.bare.is_empty()
    }
}

/// Returns the elevation of a wall.
pub(super) fn elevation(
    desk: &Desk<'_>,
    marker: &Marker<'_, '_>,
    room: ItemIndex,
    item: ItemIndex,
    bare: &[Bare],
) -> Elevation {
    let job = desk.job;
    let length = job.quantity(item, wall::LENGTH).unwrap_or(super::boxes::zero());
    let site = desk.site();
    let ceiling = job.quantity(room, room::CEILING).or_else(|| job.quantity(site?, site::CEILING));
    let mut boxes: Vec<BoxMark> = job.links(item, wall::BOXES).map(|it| marker.mark(it)).collect();
    boxes.sort_by_key(|mark| (mark.along.map(Quantity::amount), mark.mark.map(Quantity::amount)));
    Elevation {
        item,
        id: job.id(item).to_owned(),
        name: job.text(item, wall::NAME_).unwrap_or_else(|| job.id(item)).to_owned(),
        kind: job.text(item, wall::KIND).unwrap_or("wall").to_owned(),
        length,
        ceiling,
        from_outside: job.text(room, room::KIND) == Some("outdoors"),
        set_out: job.quantity(item, wall::BOARD).or_else(|| job.quantity(site?, site::BOARD)),
        studs: studs(desk, item, length),
        openings: job.links(item, wall::OPENINGS).filter_map(|it| opening(desk, it)).collect(),
        counters: counters(desk, room, item),
        standing: standing(desk, room, item),
        boxes,
        bare: bare.iter().filter(|bare| bare.wall == item).cloned().collect(),
    }
}

/// More studs than any wall of a dwelling has: a spacing written in the wrong unit must not fill the memory.
const MOST_STUDS: usize = 400;

fn studs(desk: &Desk<'_>, item: ItemIndex, length: Quantity) -> Vec<Quantity> {
    let job = desk.job;
    let (Some(first), Some(spacing)) = (job.quantity(item, wall::FIRST_STUD), job.quantity(item, wall::STUD_SPACING))
    else {
        return Vec::new();
    };
    if spacing.amount() <= 0 || first.amount() < 0 {
        return Vec::new();
    }
    let places = std::iter::successors(Some(first.amount()), |at| at.checked_add(spacing.amount()));
    let places = places.take_while(|&at| at <= length.amount()).take(MOST_STUDS);
    places.map(|at| Quantity::new(Dimension::Length, at)).collect()
}

fn opening(desk: &Desk<'_>, item: ItemIndex) -> Option<OpeningFace> {
    let job = desk.job;
    let kind = job.text(item, opening::KIND)?;
    // A name that the reader made from the kind and a number says less than the kind.
    let own = job.text(item, opening::NAME_).filter(|name| !name.starts_with(kind));
    Some(OpeningFace {
        name: own.map_or_else(|| words(kind), str::to_owned),
        kind: kind.to_owned(),
        at: job.quantity(item, opening::AT)?,
        width: job.quantity(item, opening::WIDTH)?,
        sill: job.quantity(item, opening::SILL).unwrap_or(super::boxes::zero()),
        height: job.quantity(item, opening::HEIGHT),
        latch_at_start: job.text(item, opening::LATCH).map(|latch| latch == "start"),
    })
}

fn counters(desk: &Desk<'_>, room: ItemIndex, item: ItemIndex) -> Vec<CounterFace> {
    let job = desk.job;
    let here = job.links(room, room::COUNTERS).filter(|&it| job.link(it, counter::WALL) == Some(item));
    here.filter_map(|it| {
        let at = job.quantity(it, counter::AT)?;
        let breaks = job.links(it, counter::BREAKS).filter_map(|gap| {
            Some(CounterBreak {
                kind: words(job.text(gap, counter_break::KIND)?),
                at: at.add(job.quantity(gap, counter_break::AT)?).ok()?,
                width: job.quantity(gap, counter_break::WIDTH)?,
            })
        });
        Some(CounterFace {
            name: job.text(it, counter::NAME_).unwrap_or("counter").replace('-', " "),
            at,
            length: job.quantity(it, counter::LENGTH)?,
            depth: job.quantity(it, counter::DEPTH),
            height: job.quantity(it, counter::HEIGHT),
            breaks: breaks.collect(),
        })
    })
    .collect()
}
