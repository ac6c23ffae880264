//! Coverage of the walls of a room: its floor line with corners continued, cut by openings, and the receptacles along it.

use super::super::arith::whole;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::outline::{Outline, outline};
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::counter::place_of_counter;
use super::line::{Farthest, Stretch, length, stretches};
use super::receptacles::{Standing, counts_for_wall, counts_in_room, position};
use crate::model::ItemIndex;
use crate::model::kinds::{counter, device, opening, outlet_box, room, wall};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// An unbroken stretch of the floor line, with the receptacles along it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WallSpace {
    /// Where it lies on the outline of the room.
    pub stretch: Stretch,
    /// Whether it is long enough to need receptacles.
    pub required: bool,
    /// The receptacles that count along it, from its start \[nm\], in order.
    pub receptacles: Vec<(i64, ItemIndex)>,
    /// Its point that is farthest from its nearest receptacle; none where there is no receptacle.
    pub farthest: Option<Farthest>,
    /// Its parts that are out of reach, by beginning and end from its start \[nm\].
    pub uncovered: Vec<(i64, i64)>,
}

/// How the walls of a room are covered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WallCoverage {
    /// The outline of the room.
    pub outline: Outline,
    /// The unbroken stretches of its floor line.
    pub spaces: Vec<WallSpace>,
    /// Farthest that any point may be from a receptacle \[nm\].
    pub reach: i64,
    /// Receptacles that do not count, and why.
    pub left_out: Vec<(ItemIndex, &'static str)>,
    /// Receptacles of which nobody recorded whether they count. They are taken not to.
    pub open: Vec<ItemIndex>,
    /// The fields that would decide it.
    pub undecided: Option<Gap>,
}

impl WallCoverage {
    /// Returns the longest distance of a point of the required floor line from its nearest receptacle \[nm\].
    ///
    /// A wall space without any counts as if the nearest lay just out of reach of its near end: reach and length together.
    pub fn farthest(&self) -> i64 {
        self.worst().map_or(0, |(distance, _)| distance)
    }

    /// Returns that distance and where the point lies on the outline.
    pub fn worst(&self) -> Option<(i64, i64)> {
        let of = |space: &WallSpace| match space.farthest {
            Some(farthest) => (farthest.distance, space.stretch.from + farthest.at),
            None => (self.reach.saturating_add(space.stretch.length), space.stretch.from),
        };
        self.spaces.iter().filter(|space| space.required).map(of).max_by_key(|(distance, _)| *distance)
    }

    /// Returns the longest wall space without any receptacle, whether required to have one or not \[nm\].
    pub fn longest_bare(&self) -> i64 {
        let bare = self.spaces.iter().filter(|space| space.receptacles.is_empty());
        bare.map(|space| space.stretch.length).max().unwrap_or(0)
    }
}

/// A receptacle and where it is on the outline.
#[derive(Clone, Copy)]
struct Placed {
    device: ItemIndex,
    along: i64,
}

/// Returns how the walls of a room are covered by the receptacles that count.
///
/// # Errors
/// The fields to record, or a fault in the outline, an opening or a box.
pub fn wall_coverage(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<WallCoverage, Gap> {
    let outline = outline(ctx, item)?;
    let breaks = breaks(ctx, item, &outline)?;
    let mut survey = Survey::default();
    for device in receptacles_of(ctx, item) {
        survey.look(ctx, device, &outline)?;
    }
    std::mem::take(&mut survey.unplaced).none()?;
    let coverage = assemble(ctx, outline, &breaks, survey)?;
    explain(ctx, &coverage, sheet);
    Ok(coverage)
}

/// Returns the longest distance of a point of the required floor line from its nearest receptacle, with the wall to point at.
///
/// # Errors
/// As [`wall_coverage`]; also the fields of receptacles whose counting would change the result.
pub fn wall_uncovered(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let coverage = wall_coverage(ctx, item, sheet)?;
    decided(ctx, item, &coverage, WallCoverage::farthest)?;
    let place = coverage.worst().and_then(|(_, at)| coverage.outline.at(at));
    let span = place.map_or(Span::NONE, |(wall, _)| ctx.place(wall, wall::LENGTH));
    Ok(Traced::new(Dimension::Length, coverage.farthest(), span))
}

/// Returns the longest wall space without any receptacle that counts.
///
/// # Errors
/// As [`wall_uncovered`].
pub fn longest_bare_wall(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let coverage = wall_coverage(ctx, item, sheet)?;
    decided(ctx, item, &coverage, WallCoverage::longest_bare)?;
    Ok(Traced::new(Dimension::Length, coverage.longest_bare(), ctx.job.item(item).header))
}

/// Fails with the fields that are open, if counting the open receptacles would change a figure.
fn decided(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    coverage: &WallCoverage,
    figure: impl Fn(&WallCoverage) -> i64,
) -> Result<(), Gap> {
    let Some(undecided) = &coverage.undecided else { return Ok(()) };
    let breaks = breaks(ctx, item, &coverage.outline)?;
    let mut survey = Survey::default();
    for space in &coverage.spaces {
        for &(at, device) in &space.receptacles {
            survey.counted.push(Placed { device, along: space.stretch.from + at });
        }
    }
    for &device in &coverage.open {
        if let Ok(along) = position(ctx, device, &coverage.outline) {
            survey.counted.push(Placed { device, along });
        }
    }
    let most = assemble(ctx, coverage.outline.clone(), &breaks, survey)?;
    if figure(&most) == figure(coverage) { Ok(()) } else { Err(undecided.clone()) }
}

#[derive(Default)]
struct Survey {
    counted: Vec<Placed>,
    left_out: Vec<(ItemIndex, &'static str)>,
    open: Vec<ItemIndex>,
    gaps: Gaps,
    /// Receptacles that count, but nobody recorded where they are.
    unplaced: Gaps,
}

impl Survey {
    fn look(&mut self, ctx: &Ctx<'_>, device: ItemIndex, outline: &Outline) -> Result<(), Gap> {
        let standing = match counts_for_wall(ctx, device) {
            Standing::Not(why) => {
                self.left_out.push((device, why));
                return Ok(());
            }
            Standing::Open(fault @ Gap::Fault(_)) => return Err(fault),
            other => other,
        };
        let along = match position(ctx, device, outline) {
            Ok(along) => along,
            Err(fault @ Gap::Fault(_)) => return Err(fault),
            Err(gap) => {
                self.unplaced.add(gap);
                return Ok(());
            }
        };
        match standing {
            Standing::Open(gap) => {
                self.open.push(device);
                self.gaps.add(gap);
            }
            _ => self.counted.push(Placed { device, along }),
        }
        Ok(())
    }
}

/// Returns the receptacles of a room: those in its boxes, and those that name the room but no box.
fn receptacles_of(ctx: &Ctx<'_>, item: ItemIndex) -> Vec<ItemIndex> {
    let mut devices: Vec<ItemIndex> = Vec::new();
    for outlet_box in ctx.job.links(item, room::BOXES) {
        devices.extend(ctx.job.links(outlet_box, outlet_box::DEVICES));
    }
    devices.extend(ctx.job.links(item, room::DEVICES).filter(|&it| ctx.job.link(it, device::BOX).is_none()));
    devices.retain(|&it| ctx.job.text(it, device::KIND).is_none_or(|kind| kind == "receptacle"));
    devices
}

/// Returns the parts of the outline that are no wall space: openings, sides that break the floor line, and where the code says so
/// the stretches along counters, which go by their own distance.
pub(super) fn breaks(ctx: &Ctx<'_>, item: ItemIndex, outline: &Outline) -> Result<Vec<(i64, i64)>, Gap> {
    let mut breaks = Vec::new();
    for side in &outline.sides {
        let kind = ctx.need_text(side.wall, wall::KIND)?;
        if !ctx.book.lists("coverage.counts_as_wall", kind)? {
            breaks.push((side.start, side.start + side.length));
        }
    }
    for opening in ctx.job.links(item, room::OPENINGS) {
        let kind = ctx.need_text(opening, opening::KIND)?;
        let wall = ctx.need_link(opening, opening::WALL)?;
        let (at, width) = (ctx.need(opening, opening::AT)?, ctx.need(opening, opening::WIDTH)?);
        let Some(side) = outline.side(wall) else {
            return Err(Problem::new(ctx.place(opening, opening::WALL), "this opening is in a wall of another room")
                .label("this wall")
                .into());
        };
        if at.amount() < 0 || width.amount() <= 0 || at.amount().saturating_add(width.amount()) > side.length {
            return Err(Problem::new(width.span, "this opening does not fit into its wall")
                .label("width")
                .mark(at.span, "from here on")
                .mark(ctx.place(wall, wall::LENGTH), format!("the wall is {} long", shown(length(side.length))))
                .into());
        }
        if ctx.book.lists("coverage.breaks", kind)? {
            breaks.push((side.start + at.amount(), side.start + at.amount() + width.amount()));
        }
    }
    if ctx.book.lists("coverage.breaks", "counter")? {
        for counter in ctx.job.links(item, room::COUNTERS) {
            if ctx.need_text(counter, counter::KIND)? == "wall" {
                breaks.push(place_of_counter(ctx, counter, outline)?);
            }
        }
    }
    Ok(breaks)
}

fn assemble(ctx: &Ctx<'_>, outline: Outline, breaks: &[(i64, i64)], survey: Survey) -> Result<WallCoverage, Gap> {
    let reach = ctx.book.quantity("receptacle.wall_reach", Dimension::Length)?.amount();
    let least = ctx.book.quantity("coverage.wall_space_least", Dimension::Length)?.amount();
    let spaces = stretches(outline.length, true, breaks)
        .into_iter()
        .map(|stretch| {
            let mut receptacles: Vec<(i64, ItemIndex)> = survey
                .counted
                .iter()
                .filter_map(|placed| Some((stretch.offset(placed.along, outline.length)?, placed.device)))
                .collect();
            receptacles.sort_unstable();
            let points: Vec<i64> = receptacles.iter().map(|(at, _)| *at).collect();
            WallSpace {
                stretch,
                required: stretch.length >= least,
                farthest: stretch.farthest(&points),
                uncovered: stretch.uncovered(&points, reach),
                receptacles,
            }
        })
        .collect();
    let undecided = survey.gaps.none().err();
    Ok(WallCoverage { outline, spaces, reach, left_out: survey.left_out, open: survey.open, undecided })
}

fn explain(ctx: &Ctx<'_>, coverage: &WallCoverage, sheet: &mut Sheet) {
    let reach = ctx.book.quantity("receptacle.wall_reach", Dimension::Length).ok();
    for space in &coverage.spaces {
        sheet.line(|| {
            let place = coverage.outline.at(space.stretch.from);
            let from = place
                .map_or(String::new(), |(wall, at)| format!(", from {} at {}", ctx.job.id(wall), shown(length(at))));
            let what = format!("wall space of {}{from}", shown(length(space.stretch.length)));
            let spans = space.receptacles.iter().map(|(_, device)| ctx.job.item(*device).header);
            let line = Line::new(what)
                .count(Quantity::new(Dimension::Number, whole(space.receptacles.len() as i64)))
                .all(spans);
            match (space.required, space.farthest) {
                (false, _) => Line { what: format!("{}, too short to need a receptacle", line.what), ..line },
                (true, Some(farthest)) => {
                    let line = line.total(length(farthest.distance));
                    reach.map_or(line.clone(), |reach| line.by(reach))
                }
                (true, None) => Line { what: format!("{}, without any receptacle", line.what), ..line },
            }
        });
    }
    for &(device, why) in &coverage.left_out {
        sheet.line(|| {
            Line::new(format!("{} does not count: {why}", ctx.job.id(device))).at(ctx.job.item(device).header)
        });
    }
}

/// Returns how many receptacles of a room count as its outlets.
///
/// # Errors
/// The fields of receptacles of which nobody recorded whether they count.
pub fn receptacles_counted(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let mut counted = 0;
    let mut spans = Vec::new();
    for device in receptacles_of(ctx, item) {
        match counts_in_room(ctx, device) {
            Standing::Counts => {
                counted += 1;
                spans.push(ctx.job.item(device).header);
            }
            Standing::Not(why) => sheet.line(|| {
                Line::new(format!("{} does not count: {why}", ctx.job.id(device))).at(ctx.job.item(device).header)
            }),
            Standing::Open(gap) => gaps.add(gap),
        }
    }
    gaps.none()?;
    let number = Traced::new(Dimension::Number, whole(counted), ctx.job.item(item).header);
    sheet.line(|| Line::new("receptacles that count").total(number.quantity).all(spans));
    Ok(number)
}
