//! Breaker and equipment ground of a cable of a job.

use super::super::ampacity::{ampacity_of_cable, better_if_marked, cable_conditions, smallest_by_table};
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::worksheet::{Line, Sheet};
use super::super::{Run, shown};
use super::{
    CircuitLoad, conductor_for, enlarged_ground, equipment_ground, largest_breaker, small_conductor_limit,
    standard_at_or_below,
};
use crate::model::ItemIndex;
use crate::model::kinds::{cable, circuit, device};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Returns the largest breaker that may protect a cable where it runs.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn breaker_of_cable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let ampacity = gaps.keep(ampacity_of_cable(ctx, item, sheet));
    let circuit = gaps.keep(ctx.need_link(item, cable::CIRCUIT));
    gaps.none()?;
    let (Some(ampacity), Some(circuit)) = (ampacity, circuit) else { return Err(Gap::Missing(Vec::new())) };
    let run = cable_conditions(ctx, item)?.run;
    let breaker = breaker_on_circuit(ctx, Some(circuit), ampacity.ampacity, run.material, run.size, sheet)?;
    unless_terminals_decide(ctx, circuit, &run, breaker)
}

/// Returns a breaker unless the one of the circuit is larger and right if the terminals are marked for it, which nobody has written.
pub(super) fn unless_terminals_decide(
    ctx: &Ctx<'_>,
    circuit: ItemIndex,
    run: &Run<'_>,
    breaker: Traced,
) -> Result<Traced, Gap> {
    let Some(rating) = ctx.given(circuit, circuit::RATING).filter(|rating| rating.amount() > breaker.amount()) else {
        return Ok(breaker);
    };
    let Some(better) = better_if_marked(ctx, Some(circuit), run)? else { return Ok(breaker) };
    let none = &mut Sheet::none();
    match breaker_on_circuit(ctx, Some(circuit), better, run.material, run.size, none)?.amount() >= rating.amount() {
        true => Err(Gap::field(circuit, circuit::TERMINALS)),
        false => Ok(breaker),
    }
}

/// Returns the largest breaker for conductors by their ampacity, of a circuit where they have one that receptacles hang on. Whether several receptacles hang on it is asked only where
/// the answer makes a difference.
pub(super) fn breaker_on_circuit(
    ctx: &Ctx<'_>,
    circuit: Option<ItemIndex>,
    ampacity: Quantity,
    material: &str,
    size: Traced,
    sheet: &mut Sheet,
) -> Result<Traced, Gap> {
    // Where no standard breaker is small enough, the ampacity itself is the limit.
    let largest = |several, sheet: &mut Sheet| match standard_at_or_below(ampacity, ctx.book)? {
        None if several => Ok(ampacity),
        _ => largest_breaker(ampacity, material, size, several, ctx.book, sheet),
    };
    let several = match circuit.map(|circuit| (circuit, feeds_several_receptacles(ctx, circuit))) {
        None => false,
        Some((_, Ok(several))) => several,
        Some((circuit, Err(gap))) => {
            let none = &mut Sheet::none();
            either_way(ctx, circuit, largest(false, none)?, largest(true, none)?).ok_or(gap)?
        }
    };
    Ok(Traced { quantity: largest(several, sheet)?, span: size.span })
}

/// Returns whether several receptacles are to be taken, where nobody knows how many there are: either, if the limits are the same or the
/// breaker of the circuit is on one side of both. `one` is the largest breaker with one receptacle, `several` with several.
fn either_way(ctx: &Ctx<'_>, circuit: ItemIndex, one: Quantity, several: Quantity) -> Option<bool> {
    let rating = ctx.given(circuit, circuit::RATING)?;
    match rating.amount() {
        rating if rating > one.amount() => Some(false),
        rating if rating <= several.amount() => Some(true),
        _ => (one == several).then_some(false),
    }
}

/// Returns whether a circuit feeds more than one receptacle for plug-in loads. A duplex receptacle is two.
fn feeds_several_receptacles(ctx: &Ctx<'_>, circuit: ItemIndex) -> Result<bool, Gap> {
    let mut gaps = Gaps::default();
    let receptacle = |item| ctx.job.text(item, device::KIND) == Some("receptacle");
    gaps.keep(ctx.all_placed(device::NAME, device::CIRCUIT, receptacle));
    let mut contacts = 0;
    for it in ctx.job.links(circuit, circuit::DEVICES) {
        let fixed = ctx.job.link(it, device::SERVES_APPLIANCE).is_some();
        if fixed || ctx.job.text(it, device::KIND) != Some("receptacle") {
            continue;
        }
        // Each has one contact at least: a second receptacle decides it, whatever is recorded of them.
        contacts += 1;
        match ctx.given(it, device::CONTACTS) {
            Some(number) if number.quantity.whole().is_some_and(|number| number > 1) => contacts += 1,
            Some(_) => {}
            None => gaps.add(Gap::field(it, device::CONTACTS)),
        }
        if contacts > 1 {
            return Ok(true);
        }
    }
    gaps.none()?;
    Ok(false)
}

/// Returns the equipment grounding conductor that a cable needs: by the breaker, larger in proportion where the other
/// conductors are larger than they have to be.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn ground_of_cable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let breaker = gaps.keep(ctx.need_link(item, cable::CIRCUIT).and_then(|circuit| ctx.need(circuit, circuit::RATING)));
    let material = gaps.keep(ctx.need_text(item, cable::MATERIAL));
    let conditions = gaps.keep(cable_conditions(ctx, item));
    gaps.none()?;
    let (Some(breaker), Some(material), Some(conditions)) = (breaker, material, conditions) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let ground = equipment_ground(breaker, material, ctx.book)?;
    sheet.line(|| {
        let what = format!("equipment ground for {}", shown(breaker.quantity));
        Line::new(what).total(ground.quantity).by(ground).of(breaker)
    });
    let needed = needed(ctx, &conditions.run, breaker)?;
    let size = enlarged_ground(ground.quantity, needed, conditions.run.size, material, ctx.book, sheet)?;
    Ok(Traced { quantity: size, span: ctx.place(item, cable::GROUND_SIZE) })
}

/// Returns the conductor that would do behind a breaker: where it runs, or by the plain table where the edition enlarges grounds
/// whatever the other conductors were enlarged for.
pub(super) fn needed(ctx: &Ctx<'_>, run: &Run<'_>, breaker: Traced) -> Result<Traced, Gap> {
    let none = || {
        Problem::new(breaker.span, format!("no conductor of the tables carries {}", shown(breaker.quantity)))
            .label("behind this breaker")
    };
    let size = if ctx.book.flag("protection.egc_upsized_for_derating")? {
        let terminals = run.terminals.unwrap_or(run.insulation);
        let size = smallest_by_table(run.material, terminals, breaker.quantity, ctx.book)?.ok_or_else(none)?;
        not_too_small(ctx, run, size, breaker)?
    } else {
        let zero = Quantity::new(Dimension::Current, 0);
        let load = CircuitLoad { continuous: zero, other: breaker.quantity, largest_motor: zero };
        conductor_for(&load, run, false, ctx.book, &mut Sheet::none())?.ok_or_else(none)?.size
    };
    Ok(Traced { quantity: size, span: breaker.span })
}

/// Returns the next sizes up as long as a small conductor's own limit is below the breaker.
fn not_too_small(ctx: &Ctx<'_>, run: &Run<'_>, size: Quantity, breaker: Traced) -> Result<Quantity, Gap> {
    let terminals = run.terminals.unwrap_or(run.insulation);
    let key = super::super::ampacity::column(run.material, terminals, ctx.book)?;
    for (tried, row) in ctx.book.table(&key, Dimension::Conductor, Dimension::Current)? {
        let at = Traced { quantity: tried, span: row.span };
        let limit = small_conductor_limit(run.material, at, ctx.book)?;
        if tried.amount() >= size.amount() && limit.is_none_or(|limit| limit.amount() >= breaker.amount()) {
            return Ok(tried);
        }
    }
    Ok(size)
}
