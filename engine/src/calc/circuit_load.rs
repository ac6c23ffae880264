//! The load of a branch circuit, and how the circuits of a panel load its two legs.

use super::arith::times;
use super::derive::Ctx;
use super::given::{Gap, Gaps, Traced};
use super::runs::leg;
use super::worksheet::{Line, Sheet};
use crate::model::kinds::{appliance, circuit, luminaire, panel};
use crate::model::{ItemIndex, Job};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// One load that the job states for a circuit.
struct Stated {
    what: String,
    load: Traced,
    continuous: bool,
}

fn stated(ctx: &Ctx<'_>, item: ItemIndex) -> Vec<Stated> {
    let job = ctx.job;
    let named = |it: ItemIndex, word: &str| format!("{word} {}", job.id(it));
    let mut all = Vec::new();
    let mut add = |what: String, load: Option<Traced>, continuous: bool| {
        all.extend(load.map(|load| Stated { what, load, continuous }));
    };
    for it in job.links(item, circuit::LUMINAIRES) {
        add(named(it, "luminaire"), ctx.given(it, luminaire::LOAD), false);
    }
    for it in job.links(item, circuit::APPLIANCES) {
        let continuous = job.flag(it, appliance::CONTINUOUS) == Some(true);
        add(named(it, "appliance"), draw(ctx, it, &mut Sheet::none()).ok(), continuous);
    }
    add(String::from("other load"), ctx.given(item, circuit::OTHER_LOAD), false);
    add(String::from("continuous load"), ctx.given(item, circuit::CONTINUOUS_LOAD), true);
    all
}

/// Returns what an appliance draws, in voltamperes: its load, or its current at its own voltage or that of its circuit.
///
/// # Errors
/// The fields to record, or a load that is too large to compute.
pub(super) fn draw(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let circuit = || ctx.given(ctx.job.link(item, appliance::CIRCUIT)?, circuit::VOLTAGE);
    let voltage = ctx.given(item, appliance::VOLTAGE).or_else(circuit);
    let load = drawn_at(ctx, item, voltage)?;
    sheet.line(|| Line::new("load, or current at its voltage").total(load.quantity).of(load));
    Ok(load)
}

/// Returns what an appliance draws, in voltamperes: its load, or its current at a voltage.
///
/// # Errors
/// The fields to record, or a load that is too large to compute.
pub(super) fn drawn_at(ctx: &Ctx<'_>, item: ItemIndex, voltage: Option<Traced>) -> Result<Traced, Gap> {
    if let Some(load) = ctx.given(item, appliance::LOAD) {
        return Ok(load);
    }
    let current = ctx.given(item, appliance::CURRENT).ok_or_else(|| Gap::field(item, appliance::LOAD))?;
    let voltage = voltage.ok_or_else(|| Gap::field(item, appliance::VOLTAGE))?;
    let load = current
        .quantity
        .mul(voltage.quantity)
        .map_err(|_| Problem::new(current.span, "this load is too large to compute").label("this current"))?;
    Ok(Traced { quantity: load, span: current.span })
}

/// Returns the load that the job states for a circuit, in voltamperes: luminaires, appliances, and what the circuit itself states; none
/// where nothing states any.
pub fn stated_load(job: &Job, item: ItemIndex) -> Option<Quantity> {
    let own = [circuit::CONTINUOUS_LOAD, circuit::OTHER_LOAD].into_iter().filter_map(|field| job.quantity(item, field));
    let lights = job.links(item, circuit::LUMINAIRES).filter_map(|it| job.quantity(it, luminaire::LOAD));
    let appliances = job.links(item, circuit::APPLIANCES).filter_map(|it| job.quantity(it, appliance::LOAD));
    own.chain(lights).chain(appliances).reduce(|a, b| a.add(b).unwrap_or(a))
}

/// Fails where a luminaire or an appliance may be on the circuit as well, because nobody has recorded which feeds it.
fn all_loads_placed(ctx: &Ctx<'_>) -> Result<(), Gap> {
    let mut gaps = Gaps::default();
    gaps.keep(ctx.all_placed(luminaire::NAME, luminaire::CIRCUIT, |_| true));
    gaps.keep(ctx.all_placed(appliance::NAME, appliance::CIRCUIT, |_| true));
    gaps.none()
}

/// Returns the sum of what a circuit states, a line for each load and one for the sum.
pub(super) fn load_of_circuit(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    all_loads_placed(ctx)?;
    let all = stated(ctx, item);
    let (sum, span) = total(&all, |_| true).ok_or_else(|| Gap::field(item, circuit::OTHER_LOAD))?;
    for one in &all {
        sheet.line(|| Line::new(one.what.clone()).total(one.load.quantity).of(one.load));
    }
    sheet.line(|| Line::new("together").total(sum));
    Ok(Traced { quantity: sum, span })
}

/// Returns the load that overcurrent device and conductors are sized for: what is not continuous, and what is (three hours or more)
/// with the margin of the code in force (`circuit.continuous_factor`, 210.20(A) of the model code).
pub(super) fn load_counted(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    all_loads_placed(ctx)?;
    let all = stated(ctx, item);
    let nil = Quantity::new(Dimension::Power, 0);
    let (_, span) = total(&all, |_| true).ok_or_else(|| Gap::field(item, circuit::OTHER_LOAD))?;
    let part = |continuous: bool| total(&all, |one| one.continuous == continuous).map_or(nil, |(sum, _)| sum);
    let (plain, continuous) = (part(false), part(true));
    let factor = ctx.book.quantity("circuit.continuous_factor", Dimension::Ratio)?;
    let raised = times(continuous.amount(), factor.amount()).map(|amount| Quantity::new(Dimension::Power, amount));
    let raised = raised.ok_or_else(|| Gap::from(Problem::new(span, "this load is too large to reckon with")))?;
    let sum = plain.add(raised).map_err(|_| Gap::from(Problem::new(span, "these loads are too large to add")))?;
    sheet.line(|| Line::new("load that is not continuous").total(plain));
    sheet.line(|| Line::new("continuous load").count(factor.quantity).each(continuous).total(raised).by(factor));
    sheet.line(|| Line::new("together").total(sum));
    Ok(Traced { quantity: sum, span })
}

fn total(all: &[Stated], wanted: impl Fn(&Stated) -> bool) -> Option<(Quantity, crate::source::Span)> {
    let mut of = all.iter().filter(|one| wanted(one));
    let first = of.next()?;
    let sum = of.fold(first.load.quantity, |sum, one| sum.add(one.load.quantity).unwrap_or(sum));
    Some((sum, first.load.span))
}

/// Returns the stated load on each leg of a panel in voltamperes: a two-pole circuit counts half on each, a circuit without a stated load
/// or a position on none (common practice, no source).
pub fn leg_loads(ctx: &Ctx<'_>, item: ItemIndex) -> [Quantity; 2] {
    let mut legs = [0_i64; 2];
    for (_, shares) in shares(ctx, item) {
        for (sum, share) in legs.iter_mut().zip(shares) {
            *sum = sum.saturating_add(share);
        }
    }
    legs.map(|leg| Quantity::new(Dimension::Power, leg))
}

/// What each circuit of a panel puts on either leg.
fn shares(ctx: &Ctx<'_>, item: ItemIndex) -> Vec<(ItemIndex, [i64; 2])> {
    let of = |circuit: ItemIndex| {
        let load = stated_load(ctx.job, circuit)?.amount();
        let poles = ctx.job.quantity(circuit, circuit::POLES).and_then(|poles| poles.whole()).unwrap_or(1);
        if poles >= 2 {
            return Some((circuit, [load / 2; 2]));
        }
        match leg(ctx, circuit, &mut Sheet::none()).ok()?.quantity.whole()? {
            1 => Some((circuit, [load, 0])),
            _ => Some((circuit, [0, load])),
        }
    };
    ctx.job.links(item, panel::CIRCUITS).filter_map(of).collect()
}

/// Returns the load on one leg of a panel, 0 or 1, a line for each circuit on it.
pub(super) fn load_on_leg(ctx: &Ctx<'_>, item: ItemIndex, at: usize, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let all = placed(ctx, item)?;
    let mut sum = 0_i64;
    for (circuit, shares) in all {
        let share = shares[at.min(1)];
        if share == 0 {
            continue;
        }
        sum = sum.saturating_add(share);
        let half = shares[0] == shares[1];
        let what = format!("circuit {}{}", ctx.job.id(circuit), if half { ", half of it" } else { "" });
        let place = ctx.place(circuit, circuit::POSITIONS);
        sheet.line(|| Line::new(what).total(Quantity::new(Dimension::Power, share)).at(place));
    }
    let sum = Quantity::new(Dimension::Power, sum);
    sheet.line(|| Line::new(format!("leg {} together", at + 1)).total(sum));
    Ok(Traced { quantity: sum, span: ctx.job.item(item).header })
}

/// Returns by how much one leg of a panel is loaded more than the other.
pub(super) fn leg_difference(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    placed(ctx, item)?;
    let [one, two] = leg_loads(ctx, item);
    sheet.line(|| Line::new("leg 1").total(one));
    sheet.line(|| Line::new("leg 2").total(two));
    let apart = Quantity::new(Dimension::Power, (one.amount() - two.amount()).abs());
    sheet.line(|| Line::new("difference").total(apart));
    Ok(Traced { quantity: apart, span: ctx.job.item(item).header })
}

/// The shares of a panel's circuits; a circuit with a load needs a position, or nobody knows its leg.
fn placed(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Vec<(ItemIndex, [i64; 2])>, Gap> {
    let all = shares(ctx, item);
    let lost = ctx
        .job
        .links(item, panel::CIRCUITS)
        .find(|&circuit| stated_load(ctx.job, circuit).is_some() && !all.iter().any(|(placed, _)| *placed == circuit));
    match lost {
        Some(circuit) => Err(Gap::field(circuit, circuit::POSITIONS)),
        None if all.is_empty() => Err(Gap::field(item, panel::CIRCUITS)),
        None => Ok(all),
    }
}
