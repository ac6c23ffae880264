//! Coverage of wall counters: their wall line, round corners, cut by sinks and ranges.

use super::super::arith::whole;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::outline::{Outline, Side, outline};
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::line::{Farthest, Stretch, length, stretches};
use super::receptacles::{Standing, counts_for_counter, position};
use crate::model::ItemIndex;
use crate::model::kinds::{counter, counter_break, room, wall};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// An unbroken stretch of the wall line of counters, with the receptacles that serve it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CounterSpace {
    /// Where it lies on the outline of the room.
    pub stretch: Stretch,
    /// Whether it is wide enough to need receptacles.
    pub required: bool,
    /// The receptacles that count along it, from its start \[nm\], in order.
    pub receptacles: Vec<(i64, ItemIndex)>,
    /// The part of it that belongs to the counter asked for, by beginning and end from its start.
    pub own: (i64, i64),
    /// The point of that part that is farthest from its nearest receptacle; none where there is no receptacle.
    pub farthest: Option<Farthest>,
    /// The parts out of reach, by beginning and end from its start \[nm\].
    pub uncovered: Vec<(i64, i64)>,
}

/// How the wall line of a counter is covered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CounterCoverage {
    /// The outline of the room.
    pub outline: Outline,
    /// The stretches that the counter has a part in.
    pub spaces: Vec<CounterSpace>,
    /// Farthest that any point may be from a receptacle \[nm\].
    pub reach: i64,
    /// Receptacles that do not count, and why.
    pub left_out: Vec<(ItemIndex, &'static str)>,
}

impl CounterCoverage {
    /// Returns the longest distance of a point of the counter's wall line from its nearest receptacle \[nm\].
    ///
    /// A stretch without any counts as if the nearest lay just out of reach of its near end: reach and width together.
    pub fn farthest(&self) -> i64 {
        self.worst().map_or(0, |(distance, _)| distance)
    }

    /// Returns that distance and where the point lies on the outline.
    pub fn worst(&self) -> Option<(i64, i64)> {
        let of = |space: &CounterSpace| match space.farthest {
            Some(farthest) => (farthest.distance, space.stretch.from + farthest.at),
            None => (self.reach.saturating_add(space.stretch.length), space.stretch.from + space.own.0),
        };
        self.spaces.iter().filter(|space| space.required).map(of).max_by_key(|(distance, _)| *distance)
    }
}

/// A wall counter on the outline of its room.
#[derive(Clone, Copy)]
struct Placed {
    item: ItemIndex,
    from: i64,
    to: i64,
}

/// Returns how the wall line of a counter is covered. Counters that meet in a corner have one wall line.
///
/// # Errors
/// The fields to record, or a fault in the outline, a counter or a receptacle. Islands and peninsulas have no wall line: a fault.
pub fn counter_coverage(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<CounterCoverage, Gap> {
    if ctx.need_text(item, counter::KIND)? != "wall" {
        return Err(Problem::new(ctx.place(item, counter::KIND), "only a counter along a wall has a wall line")
            .label("this kind of counter")
            .into());
    }
    let room = ctx.need_link(item, counter::ROOM)?;
    let outline = outline(ctx, room)?;
    let reach = ctx.book.quantity("counter.reach", Dimension::Length)?.amount();
    let least = ctx.book.quantity("counter.shortest", Dimension::Length)?.amount();
    let line = WallLine::of(ctx, room, &outline)?;
    let own = line.counters.iter().find(|placed| placed.item == item).copied();
    let own = own.ok_or_else(|| Gap::field(item, counter::WALL))?;
    let served = served(ctx, room, &outline)?;
    let mut spaces = Vec::new();
    for stretch in line.stretches(&outline) {
        let Some(part) = part_of(&stretch, &own, outline.length) else { continue };
        let mut receptacles: Vec<(i64, ItemIndex)> = served
            .counted
            .iter()
            .filter_map(|&(at, device)| Some((stretch.offset(at, outline.length)?, device)))
            .collect();
        receptacles.sort_unstable();
        let points: Vec<i64> = receptacles.iter().map(|(at, _)| *at).collect();
        spaces.push(CounterSpace {
            stretch,
            required: stretch.length >= least,
            own: part,
            farthest: farthest_within(&points, part),
            uncovered: stretch.uncovered(&points, reach),
            receptacles,
        });
    }
    let coverage = CounterCoverage { outline, spaces, reach, left_out: served.left_out };
    explain(ctx, &coverage, sheet);
    Ok(coverage)
}

/// Returns the longest distance of a point of a counter's wall line from its nearest receptacle, with the value to point at.
///
/// # Errors
/// As [`counter_coverage`].
pub fn counter_uncovered(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let coverage = counter_coverage(ctx, item, sheet)?;
    Ok(Traced::new(Dimension::Length, coverage.farthest(), ctx.place(item, counter::LENGTH)))
}

/// The wall line of all counters of a room: what is counter and what breaks it.
struct WallLine {
    counters: Vec<Placed>,
    breaks: Vec<(i64, i64)>,
}

impl WallLine {
    fn of(ctx: &Ctx<'_>, room: ItemIndex, outline: &Outline) -> Result<WallLine, Gap> {
        let mut line = WallLine { counters: Vec::new(), breaks: Vec::new() };
        let mut gaps = Gaps::default();
        for item in ctx.job.links(room, room::COUNTERS) {
            if ctx.job.text(item, counter::KIND) != Some("wall") {
                continue;
            }
            if let Some(placed) = gaps.keep(place(ctx, item, outline)) {
                line.counters.push(placed);
            }
        }
        gaps.none()?;
        let joined = line.join_corners(ctx, outline);
        for placed in &line.counters {
            breaks_of(ctx, placed, &joined, &mut line.breaks)?;
        }
        line.counters = joined;
        Ok(line)
    }

    /// Returns the counters with those that meet in a corner drawn up to it: one of the two reaches the corner, and what the
    /// other lacks is no more than the depth of the first.
    fn join_corners(&self, ctx: &Ctx<'_>, outline: &Outline) -> Vec<Placed> {
        let depth = |placed: &Placed| ctx.given(placed.item, counter::DEPTH).map_or(0, Traced::amount);
        let mut joined = self.counters.clone();
        for (at, side) in outline.sides.iter().enumerate() {
            let Some(next) = outline.sides.get(at + 1).or_else(|| outline.sides.first()) else { continue };
            let corner = side.start + side.length;
            let before = self.counters.iter().filter(|c| on(side, c)).max_by_key(|c| c.to);
            let after = self.counters.iter().filter(|c| on(next, c)).min_by_key(|c| c.from);
            let (Some(before), Some(after)) = (before, after) else { continue };
            let (short, late) = (corner - before.to, after.from - next.start);
            if (short == 0 && late <= depth(before)) || (late == 0 && short <= depth(after)) {
                for placed in &mut joined {
                    if placed.item == before.item {
                        placed.to = corner;
                    }
                    if placed.item == after.item {
                        placed.from = next.start;
                    }
                }
            }
        }
        joined
    }

    /// Returns the unbroken stretches of the wall line: the outline less what is no counter, less the breaks.
    fn stretches(&self, outline: &Outline) -> Vec<Stretch> {
        let covered: Vec<(i64, i64)> = self.counters.iter().map(|c| (c.from, c.to)).collect();
        let mut breaks = self.breaks.clone();
        for bare in stretches(outline.length, true, &covered) {
            if bare.closed {
                return Vec::new();
            }
            let end = bare.from + bare.length;
            breaks.push((bare.from, end.min(outline.length)));
            if end > outline.length {
                breaks.push((0, end - outline.length));
            }
        }
        stretches(outline.length, true, &breaks)
    }
}

fn on(side: &Side, placed: &Placed) -> bool {
    placed.from >= side.start && placed.to <= side.start + side.length
}

/// Returns where a wall counter lies on the outline.
fn place(ctx: &Ctx<'_>, item: ItemIndex, outline: &Outline) -> Result<Placed, Gap> {
    let mut gaps = Gaps::default();
    let wall = gaps.keep(ctx.need_link(item, counter::WALL));
    let at = gaps.keep(ctx.need(item, counter::AT));
    let length = gaps.keep(ctx.need(item, counter::LENGTH));
    gaps.none()?;
    let (Some(wall), Some(at), Some(length)) = (wall, at, length) else { return Err(Gap::field(item, counter::WALL)) };
    let Some(side) = outline.side(wall) else {
        return Err(Problem::new(ctx.place(item, counter::WALL), "this counter is on a wall of another room")
            .label("this wall")
            .into());
    };
    if at.amount() < 0 || length.amount() <= 0 || at.amount().saturating_add(length.amount()) > side.length {
        return Err(Problem::new(length.span, "this counter does not fit along its wall")
            .label("length")
            .mark(at.span, "from here on")
            .mark(ctx.place(wall, wall::LENGTH), format!("the wall is {} long", shown(self::length(side.length))))
            .into());
    }
    let from = side.start + at.amount();
    Ok(Placed { item, from, to: from + length.amount() })
}

/// Returns where a wall counter begins and ends on the outline.
pub(super) fn place_of_counter(ctx: &Ctx<'_>, item: ItemIndex, outline: &Outline) -> Result<(i64, i64), Gap> {
    place(ctx, item, outline).map(|placed| (placed.from, placed.to))
}

/// Adds the parts of the wall line that sinks, ranges and the like take, unless enough counter lies behind them.
fn breaks_of(ctx: &Ctx<'_>, placed: &Placed, joined: &[Placed], breaks: &mut Vec<(i64, i64)>) -> Result<(), Gap> {
    let straight = ctx.book.quantity("coverage.counter_behind_least", Dimension::Length)?.amount();
    let corner = ctx.book.quantity("coverage.counter_behind_corner", Dimension::Length)?.amount();
    for item in ctx.job.links(placed.item, counter::BREAKS) {
        let (at, width) = (ctx.need(item, counter_break::AT)?, ctx.need(item, counter_break::WIDTH)?);
        if at.amount() < 0
            || width.amount() <= 0
            || at.amount().saturating_add(width.amount()) > placed.to - placed.from
        {
            return Err(Problem::new(width.span, "this gap does not fit into its counter")
                .label("width")
                .mark(at.span, "from here on")
                .mark(ctx.place(placed.item, counter::LENGTH), "length of the counter")
                .into());
        }
        let kind = ctx.need_text(item, counter_break::KIND)?;
        if !ctx.book.lists("coverage.counter_breaks", kind)? {
            continue;
        }
        let (from, to) = (placed.from + at.amount(), placed.from + at.amount() + width.amount());
        let depth = ctx.given(placed.item, counter::DEPTH).map_or(0, Traced::amount);
        let own = joined.iter().find(|other| other.item == placed.item);
        // Where the counter goes on round a corner, a gap within its depth of the corner stands in the corner.
        let in_corner = own.is_some_and(|own| {
            (own.to > placed.to && placed.to - to < depth) || (own.from < placed.from && from - placed.from < depth)
        });
        let least = if in_corner { corner } else { straight };
        let behind = ctx.given(item, counter_break::BEHIND).map_or(0, Traced::amount);
        if behind < least {
            breaks.push((from, to));
        }
    }
    Ok(())
}

/// The receptacles of the counters of a room.
#[derive(Default)]
struct Served {
    /// Those that count, with their place on the outline.
    counted: Vec<(i64, ItemIndex)>,
    /// Those that do not, and why.
    left_out: Vec<(ItemIndex, &'static str)>,
}

/// Returns the receptacles that serve the counters of a room, with their place on the outline, and those that do not count.
fn served(ctx: &Ctx<'_>, room: ItemIndex, outline: &Outline) -> Result<Served, Gap> {
    let mut gaps = Gaps::default();
    let mut served = Served::default();
    for item in ctx.job.links(room, room::COUNTERS) {
        // What serves an island or a peninsula has no place on the wall line.
        if ctx.need_text(item, counter::KIND)? != "wall" {
            continue;
        }
        for device in ctx.job.links(item, counter::DEVICES) {
            match counts_for_counter(ctx, device, item) {
                Standing::Not(why) => served.left_out.push((device, why)),
                Standing::Open(gap) => gaps.add(gap),
                Standing::Counts => {
                    if let Some(at) = gaps.keep(position(ctx, device, outline)) {
                        served.counted.push((at, device));
                    }
                }
            }
        }
    }
    gaps.none()?;
    Ok(served)
}

/// Returns the part of a stretch that lies in a counter's own length.
fn part_of(stretch: &Stretch, own: &Placed, line: i64) -> Option<(i64, i64)> {
    let mut part: Option<(i64, i64)> = None;
    // A stretch may run past the end of the outline and on from its beginning.
    for shift in [0, line] {
        let from = (own.from + shift - stretch.from).max(0);
        let to = (own.to + shift - stretch.from).min(stretch.length);
        if from < to {
            part = Some(part.map_or((from, to), |(a, b)| (a.min(from), b.max(to))));
        }
    }
    part
}

/// Returns the farthest point of a part of a stretch from the nearest of the points along it, given in order.
fn farthest_within(points: &[i64], part: (i64, i64)) -> Option<Farthest> {
    if points.is_empty() {
        return None;
    }
    let distance = |at: i64| points.iter().map(|point| (point - at).abs()).min().unwrap_or(i64::MAX);
    let middles = points.windows(2).filter_map(|pair| match pair {
        [a, b] => Some(a + (b - a) / 2),
        _ => None,
    });
    let candidates = [part.0, part.1].into_iter().chain(middles.filter(|at| (part.0..=part.1).contains(at)));
    candidates.map(|at| Farthest { at, distance: distance(at) }).max_by_key(|farthest| farthest.distance)
}

fn explain(ctx: &Ctx<'_>, coverage: &CounterCoverage, sheet: &mut Sheet) {
    let reach = ctx.book.quantity("counter.reach", Dimension::Length).ok();
    for space in &coverage.spaces {
        sheet.line(|| {
            let spans: Vec<Span> = space.receptacles.iter().map(|(_, device)| ctx.job.item(*device).header).collect();
            let what = format!("counter space of {}", shown(length(space.stretch.length)));
            let line = Line::new(what)
                .count(Quantity::new(Dimension::Number, whole(space.receptacles.len() as i64)))
                .all(spans);
            match (space.required, space.farthest) {
                (false, _) => Line { what: format!("{}, too narrow to need a receptacle", line.what), ..line },
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
