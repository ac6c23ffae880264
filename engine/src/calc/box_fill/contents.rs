//! What a job says is in a box.

use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::index::{RacewayEnd, items};
use super::super::runs::cable_size;
use super::super::{Match, count_of};
use super::{BoxContents, Wires, Yoke};
use crate::model::kinds::{cable, cable_end, device, outlet_box, raceway, raceway_conductor};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// Most of anything in one box; more is a slip of the pen.
const MOST: i64 = 200;

/// A run that ends in the box, with the circuits it carries; none where nobody recorded it.
struct Run {
    circuits: Option<[Option<ItemIndex>; 2]>,
    size: Quantity,
}

/// Returns what is in a box: the conductors of its cables and raceways, its devices, clamps and fittings.
///
/// # Errors
/// The fields to record, or a fault in one of them.
pub fn box_contents(ctx: &Ctx<'_>, item: ItemIndex) -> Result<BoxContents, Gap> {
    let mut gaps = Gaps::default();
    let mut contents = BoxContents::default();
    let mut runs = Vec::new();
    for end in ctx.job.links(item, outlet_box::ENDS) {
        gaps.keep(cable(ctx, end, &mut contents, &mut runs));
    }
    gaps.keep(raceways(ctx, item, &mut contents, &mut runs));
    gaps.keep(through(ctx, item, &mut contents));
    gaps.keep(fixture_wires(ctx, item, &mut contents));
    contents.clamps = gaps.keep(clamps(ctx, item)).flatten();
    if let Some(fittings) = gaps.keep(count(ctx, item, outlet_box::FIXTURE_STUDS, 2)) {
        contents.fittings = fittings;
    }
    if let Some(blocks) = gaps.keep(count(ctx, item, outlet_box::TERMINAL_BLOCKS, MOST)) {
        contents.terminal_blocks = blocks;
    }
    for device in ctx.job.links(item, outlet_box::DEVICES) {
        if let Some(Some(yoke)) = gaps.keep(yoke(ctx, item, device, &runs)) {
            contents.yokes.push(yoke);
        }
    }
    gaps.keep(nothing_unplaced(ctx, item));
    gaps.none()?;
    if contents.largest().is_none() {
        return Err(Gap::field(item, outlet_box::ENDS));
    }
    Ok(contents)
}

/// Fails where a cable end, a raceway or a device may be in the box as well, because nobody has recorded where it is.
fn nothing_unplaced(ctx: &Ctx<'_>, item: ItemIndex) -> Result<(), Gap> {
    let job = ctx.job;
    let mut gaps = Gaps::default();
    // The two ends of a run are in two boxes.
    let other_end_here = |end: ItemIndex| {
        let run = job.link(end, cable_end::CABLE);
        run.is_some_and(|run| job.links(run, cable::ENDS).any(|end| job.link(end, cable_end::BOX) == Some(item)))
    };
    gaps.keep(ctx.all_placed(cable_end::NAME, cable_end::BOX, |end| !other_end_here(end)));
    let room = job.link(item, outlet_box::ROOM);
    gaps.keep(ctx.all_placed(device::NAME, device::BOX, |device| {
        let elsewhere = room.is_some() && job.link(device, device::ROOM).is_some_and(|other| Some(other) != room);
        let takes_space =
            job.text(device, device::KIND).is_none_or(|kind| ctx.book.lists("box_fill.on_yoke", kind) != Ok(false));
        !elsewhere && takes_space
    }));
    for (open, other) in [(raceway::FROM, raceway::TO), (raceway::TO, raceway::FROM)] {
        let ends = items(job, raceway::NAME)
            .iter()
            .filter(|&&run| job.cell(run, open).is_missing() && job.text(run, other) != Some(job.id(item)));
        let fields: Vec<_> = ends.map(|&run| (run, open)).take(16).collect();
        if !fields.is_empty() {
            gaps.add(Gap::Missing(fields));
        }
    }
    gaps.none()
}

/// Returns a count of the box with its place.
fn count(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId, most: i64) -> Result<(i64, Span), Gap> {
    let number = ctx.need(item, field)?;
    Ok((count_of(number, 0, most)?, number.span))
}

fn cable(ctx: &Ctx<'_>, end: ItemIndex, contents: &mut BoxContents, runs: &mut Vec<Run>) -> Result<(), Gap> {
    let run = ctx.need_link(end, cable_end::CABLE)?;
    let size = cable_size(ctx, run)?;
    let conductors = ctx.given(run, cable::CONDUCTORS).ok_or_else(|| Gap::field(run, cable::KEY_MAKE))?;
    let conductors = count_of(conductors, 1, MOST)?;
    contents.conductors.push(Wires { size: size.quantity, count: conductors, span: size.span });
    if ctx.job.flag(run, cable::GROUND) != Some(false) {
        let ground = match ctx.given(run, cable::GROUND_SIZE) {
            Some(written) => written,
            None => ground_as_made(ctx, run, size)?,
        };
        contents.grounds.push(Wires { size: ground.quantity, count: 1, span: ground.span });
    }
    let circuits =
        ctx.job.link(run, cable::CIRCUIT).map(|circuit| [Some(circuit), ctx.job.link(run, cable::SECOND_CIRCUIT)]);
    runs.push(Run { circuits, size: size.quantity });
    Ok(())
}

/// Returns the ground wire that a cable is made with: by the table of the code for nonmetallic cable, else the size of its other wires.
fn ground_as_made(ctx: &Ctx<'_>, run: ItemIndex, size: Traced) -> Result<Traced, Gap> {
    let method = ctx.job.text(run, cable::WIRING_METHOD).unwrap_or_default();
    if ctx.book.has_word("box_fill.ground_made_in", method) != Some(true) {
        return Ok(size);
    }
    let made = ctx.book.row_at("box_fill.ground_made", size.quantity, Match::Exact, Dimension::Conductor)?;
    Ok(made.map_or(size, |made| Traced { quantity: made.quantity, span: size.span }))
}

fn raceways(ctx: &Ctx<'_>, item: ItemIndex, contents: &mut BoxContents, runs: &mut Vec<Run>) -> Result<(), Gap> {
    let mut through: Vec<Wires> = Vec::new();
    for &(raceway, end) in ctx.index.raceways_at(ctx.job, item) {
        for group in ctx.job.links(raceway, raceway::CONDUCTORS) {
            let size = ctx.need(group, raceway_conductor::SIZE)?;
            let number = count_of(ctx.need(group, raceway_conductor::COUNT)?, 0, MOST)?;
            let wires = Wires { size: size.quantity, count: number, span: size.span };
            let runs_on = match end {
                RacewayEnd::From => raceway_conductor::THROUGH_FROM,
                RacewayEnd::To => raceway_conductor::THROUGH_TO,
            };
            if ctx.job.flag(group, raceway_conductor::IS_GROUND) == Some(true) {
                contents.grounds.push(wires);
            } else if ctx.job.flag(group, runs_on) == Some(true) {
                through.push(wires);
            } else {
                contents.conductors.push(wires);
            }
            let circuits = ctx.job.link(group, raceway_conductor::CIRCUIT).map(|circuit| [Some(circuit), None]);
            runs.push(Run { circuits, size: size.quantity });
        }
    }
    contents.through.extend(once_each(&through)?);
    Ok(())
}

/// A conductor that runs on through the box is listed in the raceway it comes by and in the one it leaves by; it counts once.
fn once_each(listed: &[Wires]) -> Result<Vec<Wires>, Gap> {
    let mut once: Vec<Wires> = Vec::new();
    for wires in listed {
        match once.iter_mut().find(|other| other.size == wires.size) {
            Some(other) => other.count += wires.count,
            None => once.push(*wires),
        }
    }
    for wires in &mut once {
        if wires.count % 2 != 0 {
            return Err(Problem::new(
                wires.span,
                "a conductor that runs on through a box must be listed in both of its raceways there",
            )
            .label("an odd number of these run on")
            .help("mark it `through_to` in the raceway it comes by and `through_from` in the one it leaves by")
            .into());
        }
        wires.count /= 2;
    }
    Ok(once)
}

fn through(ctx: &Ctx<'_>, item: ItemIndex, contents: &mut BoxContents) -> Result<(), Gap> {
    let (through, at) = count(ctx, item, outlet_box::PASSING_THROUGH, MOST)?;
    let (looped, looped_at) = count(ctx, item, outlet_box::LOOPED, MOST)?;
    if looped > through {
        return Err(Problem::new(looped_at, "more conductors are looped than run through")
            .label("looped")
            .mark(at, "running through")
            .help("`looped` tells how many of those in `passing_through` keep a long loop")
            .into());
    }
    if through == 0 {
        return Ok(());
    }
    let size = ctx.need(item, outlet_box::PASSING_SIZE)?.quantity;
    contents.through.push(Wires { size, count: through - looped, span: at });
    contents.looped.push(Wires { size, count: looped, span: looped_at });
    Ok(())
}

fn fixture_wires(ctx: &Ctx<'_>, item: ItemIndex, contents: &mut BoxContents) -> Result<(), Gap> {
    let (number, span) = count(ctx, item, outlet_box::FIXTURE_WIRES, MOST)?;
    if number > 0 {
        let size = ctx.need(item, outlet_box::FIXTURE_WIRE_SIZE)?.quantity;
        contents.fixture_wires.push(Wires { size, count: number, span });
    }
    Ok(())
}

/// Returns where clamps inside the box are written: at the box, or at the cable ends that they hold.
fn clamps(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Span>, Gap> {
    if let Some(clamps) = ctx.job.flag(item, outlet_box::CLAMPS) {
        return Ok(clamps.then(|| ctx.place(item, outlet_box::CLAMPS)));
    }
    let mut all_known = true;
    for end in ctx.job.links(item, outlet_box::ENDS) {
        match ctx.job.text(end, cable_end::ENTRY) {
            Some("internal_clamp") => return Ok(Some(ctx.place(end, cable_end::ENTRY))),
            Some(_) => {}
            None => all_known = false,
        }
    }
    if all_known { Ok(None) } else { Err(Gap::field(item, outlet_box::CLAMPS)) }
}

/// Returns the yoke of a device, if it has one in the box.
fn yoke(ctx: &Ctx<'_>, item: ItemIndex, device: ItemIndex, runs: &[Run]) -> Result<Option<Yoke>, Gap> {
    let kind = ctx.need_text(device, device::KIND)?;
    if !ctx.book.lists("box_fill.on_yoke", kind)? {
        return Ok(None);
    }
    let gangs = count_of(ctx.need(device, device::GANGS)?, 1, 20)?;
    let span = ctx.place(device, device::KIND);
    let Some(size) = connected(ctx, device, runs)? else {
        return Err(Gap::field(item, outlet_box::ENDS));
    };
    Ok(Some(Yoke { size, gangs, span }))
}

/// Returns the largest conductor that is connected to a device: of the runs of its circuit, and of those whose circuit nobody
/// recorded; of all runs where none of them is of its circuit.
fn connected(ctx: &Ctx<'_>, device: ItemIndex, runs: &[Run]) -> Result<Option<Quantity>, Gap> {
    let largest = |keep: &dyn Fn(&Run) -> bool| {
        runs.iter().filter(|run| keep(run)).map(|run| run.size).max_by_key(|size| size.amount())
    };
    let all = largest(&|_| true);
    let same_size = runs.windows(2).all(|pair| matches!(pair, [a, b] if a.size == b.size));
    if same_size {
        return Ok(all);
    }
    let circuit = ctx.need_link(device, device::CIRCUIT)?;
    let own = largest(&|run| run.circuits.is_none_or(|circuits| circuits.contains(&Some(circuit))));
    Ok(own.or(all))
}
