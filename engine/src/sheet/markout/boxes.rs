//! One box on the mark-out: where it goes, what it is, and what was found about it.

use std::collections::BTreeMap;

use super::MarkPoint;
use super::sign::{Sign, signs};
use crate::calc::box_heights;
use crate::inspection::finding::Outcome;
use crate::model::ItemIndex;
use crate::model::kinds::{cable_end, device, luminaire, outlet_box, site, wall};
use crate::quantity::{Dimension, Quantity};
use crate::sheet::Desk;
use crate::sheet::desk::words as spoken;
use crate::told::Words;

/// A box as it is marked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoxMark {
    /// The box.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// What is in it, as symbols.
    pub signs: Vec<Sign>,
    /// What is in it, in words.
    pub what: String,
    /// Whether it is existing work: nothing is to be set there.
    pub existing: bool,
    /// What it is for: `switch`, `receptacle`; the story stick gathers heights by it.
    pub purpose: String,
    /// Circuits in it.
    pub circuits: Vec<String>,
    /// Its gangs.
    pub gangs: i64,
    /// What it is mounted in.
    pub mounted: String,
    /// Its centre from the start of its wall.
    pub along: Option<Quantity>,
    /// Height of its centre above the finished floor.
    pub centre: Option<Quantity>,
    /// Height of its top edge.
    pub top: Option<Quantity>,
    /// Height of its bottom edge.
    pub bottom: Option<Quantity>,
    /// Height of the point that the crew marks, above the finished floor.
    pub mark: Option<Quantity>,
    /// The same above the subfloor.
    pub mark_from_subfloor: Option<Quantity>,
    /// How far its front stands out from the framing: the thickness of the finish.
    pub set_out: Option<Quantity>,
    /// What is to be put right about it.
    pub corrections: Vec<String>,
    /// How many readings are still to take at it.
    pub to_measure: usize,
    /// What is not recorded, so that it could not be drawn in its place.
    pub lacks: Vec<&'static str>,
}

/// Makes the marks of boxes.
pub(super) struct Marker<'d, 'a> {
    desk: &'d Desk<'a>,
    point: MarkPoint,
    pub(super) build_up: Option<Quantity>,
    board: Option<Quantity>,
    /// Corrections and open readings by box.
    found: BTreeMap<ItemIndex, (Vec<String>, usize)>,
}

impl<'d, 'a> Marker<'d, 'a> {
    pub(super) fn new(desk: &'d Desk<'a>, point: MarkPoint) -> Marker<'d, 'a> {
        let site = desk.site();
        Marker {
            desk,
            point,
            build_up: site.and_then(|site| desk.job.quantity(site, site::FLOOR_BUILD_UP)),
            board: site.and_then(|site| desk.job.quantity(site, site::BOARD)),
            found: found(desk),
        }
    }

    /// Returns the mark of a box.
    pub(super) fn mark(&self, item: ItemIndex) -> BoxMark {
        let (desk, job) = (self.desk, self.desk.job);
        let heights = box_heights(&desk.ctx, item);
        let [centre, top, bottom] =
            [heights.centre, heights.top, heights.bottom].map(|height| height.ok().map(|height| height.quantity));
        let mark = match self.point {
            MarkPoint::Top => top,
            MarkPoint::Centre => centre,
            MarkPoint::Bottom => bottom,
        };
        let wall = job.link(item, outlet_box::WALL);
        let along = job.quantity(item, outlet_box::ALONG);
        let mut lacks = Vec::new();
        if wall.is_some() {
            for (known, what) in
                [(along.is_some(), "distance along the wall"), (centre.is_some() || top.is_some(), "height")]
            {
                if !known {
                    lacks.push(what);
                }
            }
        }
        let signs = signs(desk, item);
        let (corrections, to_measure) = self.found.get(&item).cloned().unwrap_or_default();
        let own_board = wall.and_then(|wall| job.quantity(wall, wall::BOARD));
        BoxMark {
            item,
            id: job.id(item).to_owned(),
            what: what_of(&signs, job.is_existing(item)),
            existing: job.is_existing(item),
            signs,
            purpose: spoken(job.text(item, outlet_box::PURPOSE).unwrap_or("box")),
            circuits: circuits(desk, item),
            gangs: desk.count(item, outlet_box::GANGS).unwrap_or(1).clamp(1, 12),
            mounted: job.text(item, outlet_box::MOUNTED).unwrap_or("wall").to_owned(),
            along,
            mark_from_subfloor: mark.and_then(|mark| mark.add(self.build_up?).ok()),
            centre,
            top,
            bottom,
            mark,
            set_out: wall.and(own_board.or(self.board)),
            corrections,
            to_measure,
            lacks,
        }
    }
}

/// Returns what is in a box in words.
fn what_of(signs: &[Sign], existing: bool) -> String {
    let meanings: Vec<&str> = signs.iter().map(|sign| sign.meaning.as_str()).collect();
    match (existing, meanings.is_empty()) {
        (false, _) => meanings.join(" + "),
        (true, true) => String::from("existing"),
        (true, false) => format!("existing: {}", meanings.join(" + ")),
    }
}

/// Returns the circuits of what is in a box.
fn circuits(desk: &Desk<'_>, item: ItemIndex) -> Vec<String> {
    let job = desk.job;
    let devices = job.links(item, outlet_box::DEVICES).map(|it| job.link(it, device::CIRCUIT));
    let luminaires = job.links(item, outlet_box::LUMINAIRES).map(|it| job.link(it, luminaire::CIRCUIT));
    let mut ids: Vec<String> = Vec::new();
    for id in devices.chain(luminaires).flatten().map(|it| job.id(it).to_owned()) {
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
    ids
}

/// Gathers findings by the box that they are about: those of the box itself, of what is in it, and of cable ends at it.
fn found(desk: &Desk<'_>) -> BTreeMap<ItemIndex, (Vec<String>, usize)> {
    let words = Words::new(desk.job, desk.book);
    let mut found: BTreeMap<ItemIndex, (Vec<String>, usize)> = BTreeMap::new();
    for finding in &desk.report.findings {
        let Some(at) = box_of(desk, finding.index) else { continue };
        match finding.outcome {
            Outcome::Correction => {
                let about = if finding.index == at { String::new() } else { format!("{}: ", finding.item) };
                let text = format!("{about}{} ({})", words.message(finding), finding.cite);
                found.entry(at).or_default().0.push(text);
            }
            Outcome::ToMeasure => found.entry(at).or_default().1 += 1,
            Outcome::Met | Outcome::Excepted | Outcome::Permitted => {}
        }
    }
    found
}

fn box_of(desk: &Desk<'_>, item: ItemIndex) -> Option<ItemIndex> {
    if desk.is(item, outlet_box::NAME) {
        return Some(item);
    }
    let field = [(device::NAME, device::BOX), (luminaire::NAME, luminaire::BOX), (cable_end::NAME, cable_end::BOX)]
        .into_iter()
        .find(|(kind, _)| desk.is(item, kind))?
        .1;
    desk.job.link(item, field)
}

/// Returns a length of no extent.
pub(super) const fn zero() -> Quantity {
    Quantity::new(Dimension::Length, 0)
}
