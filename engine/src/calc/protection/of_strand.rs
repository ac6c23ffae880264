//! Ampacity and breaker of conductors in a raceway of a job.

use super::super::ampacity::{
    Ampacity, Correction, Run, Surroundings, ambient, ampacity, service_terminals, terminals,
    unless_terminals_decide as unless_terminals_decide_load,
};
use super::super::arith::whole;
use super::super::count_of;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::worksheet::{Line, Sheet};
use super::of_cable::{breaker_on_circuit, unless_terminals_decide};
use crate::model::ItemIndex;
use crate::model::kinds::{circuit, raceway, raceway_conductor};
use crate::quantity::{Dimension, Quantity};

/// Most conductors of one sort in a raceway; more is a slip of the pen.
const MOST: i64 = 1000;

/// Returns the ampacity of conductors in a raceway: by their insulation, dry or wet, the surroundings, and all that carries current
/// beside them; never more than their terminals allow (110.14(C), 310.14 to 310.16).
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn ampacity_of_strand(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Ampacity, Gap> {
    Ok(ampacity(&run_of_strand(ctx, item, sheet)?, ctx.book, sheet)?)
}

/// Returns the ampacity of conductors in a raceway as rules read it.
///
/// # Errors
/// The fields to record, the marking of terminals among them where it decides something, or a fault in the job or the code.
pub fn ampacity_told_of_strand(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let run = run_of_strand(ctx, item, sheet)?;
    let found = ampacity(&run, ctx.book, sheet)?.ampacity;
    let circuit = ctx.job.link(item, raceway_conductor::CIRCUIT);
    let quantity = unless_terminals_decide_load(ctx, circuit, &run, found)?;
    Ok(Traced { quantity, span: ctx.place(item, raceway_conductor::SIZE) })
}

/// Returns the ampacity of conductors in a raceway, with the terminals of a service.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn strand_ampacity_as_service(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let run = run_of_strand(ctx, item, sheet)?;
    let circuit = ctx.job.link(item, raceway_conductor::CIRCUIT);
    let marked = circuit.and_then(|circuit| ctx.given(circuit, circuit::TERMINALS));
    let run = Run { terminals: Some(service_terminals(ctx, marked)?), ..run };
    Ok(Traced { quantity: ampacity(&run, ctx.book, sheet)?.ampacity, span: run.size.span })
}

/// Returns what a job says of conductors in a raceway and where they run.
fn run_of_strand<'a>(ctx: &Ctx<'a>, item: ItemIndex, sheet: &mut Sheet) -> Result<Run<'a>, Gap> {
    let mut gaps = Gaps::default();
    let duct = gaps.keep(ctx.need_link(item, raceway_conductor::RACEWAY));
    let size = gaps.keep(ctx.need(item, raceway_conductor::SIZE));
    let material = gaps.keep(ctx.need_text(item, raceway_conductor::MATERIAL));
    let insulation = gaps.keep(ctx.need_text(item, raceway_conductor::INSULATION));
    let ambient = duct.and_then(|duct| gaps.keep(ambient(ctx, duct, Surroundings::RACEWAY, insulation)));
    let together = duct.and_then(|duct| gaps.keep(together(ctx, duct)));
    gaps.none()?;
    let (Some(duct), Some(size), Some(material), Some(insulation), Some(ambient), Some(together)) =
        (duct, size, material, insulation, ambient, together)
    else {
        return Err(Gap::Missing(Vec::new()));
    };
    let of = |wet: bool| -> Result<Run<'a>, Gap> {
        let key = if wet { "ampacity.wire_wet" } else { "ampacity.wire_dry" };
        // Insulation that is not for wet places is told by the rule for it; its ampacity is that of a dry place.
        let rating = match ctx.book.row_of(key, insulation, Dimension::Temperature)? {
            Some(rating) => rating,
            None => ctx
                .book
                .row_of("ampacity.wire_dry", insulation, Dimension::Temperature)?
                .ok_or_else(|| Gap::field(item, raceway_conductor::INSULATION))?,
        };
        Ok(Run {
            material,
            size,
            insulation: Traced { quantity: rating.quantity, span: ctx.place(item, raceway_conductor::INSULATION) },
            ambient,
            current_carrying: together,
            method_limit: None,
            terminals: Some(terminals(ctx, ctx.job.link(item, raceway_conductor::CIRCUIT), size, None)?),
            correction: Correction::Table,
        })
    };
    sheet.line(|| Line::new("conductors in the raceway that carry current").count(Quantity::number(together)));
    match is_wet(ctx, duct) {
        Ok(wet) => of(wet),
        // Where it makes no difference, nobody need know.
        Err(gap) => {
            let (wet, dry) = (of(true)?, of(false)?);
            let in_place = |run: &Run<'_>| ampacity(run, ctx.book, &mut Sheet::none()).map(|found| found.ampacity);
            if in_place(&wet)? == in_place(&dry)? { Ok(dry) } else { Err(gap) }
        }
    }
}

/// Returns whether the inside of a raceway is a wet place.
///
/// # Errors
/// The fields to record.
fn is_wet(ctx: &Ctx<'_>, duct: ItemIndex) -> Result<bool, Gap> {
    let said = [raceway::WET, raceway::UNDERGROUND].map(|field| (field, ctx.job.flag(duct, field)));
    if said.iter().any(|(_, flag)| *flag == Some(true)) {
        return Ok(true);
    }
    let open: Vec<_> = said.iter().filter(|(_, flag)| flag.is_none()).map(|(field, _)| (duct, *field)).collect();
    if open.is_empty() { Ok(false) } else { Err(Gap::Missing(open)) }
}

/// Returns the largest breaker that may protect conductors in a raceway where they run.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn breaker_of_strand(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let run = gaps.keep(run_of_strand(ctx, item, sheet));
    let circuit = gaps.keep(ctx.need_link(item, raceway_conductor::CIRCUIT));
    gaps.none()?;
    let (Some(run), Some(circuit)) = (run, circuit) else { return Err(Gap::Missing(Vec::new())) };
    let found = ampacity(&run, ctx.book, sheet)?.ampacity;
    let breaker = breaker_on_circuit(ctx, Some(circuit), found, run.material, run.size, sheet)?;
    unless_terminals_decide(ctx, circuit, &run, breaker)
}

/// Returns how many conductors in a raceway carry current and heat each other: no more than the tables stand for where it is short enough.
fn together(ctx: &Ctx<'_>, duct: ItemIndex) -> Result<i64, Gap> {
    let mut gaps = Gaps::default();
    let mut all: i64 = 0;
    for strand in ctx.job.links(duct, raceway::CONDUCTORS) {
        let idle = |field, carries| ctx.job.flag(strand, field) == Some(carries);
        if idle(raceway_conductor::IS_GROUND, true) || idle(raceway_conductor::CURRENT_CARRYING, false) {
            continue;
        }
        let number = ctx.need(strand, raceway_conductor::COUNT).and_then(|number| Ok(count_of(number, 1, MOST)?));
        all = all.saturating_add(gaps.keep(number).unwrap_or(0));
    }
    gaps.none()?;
    let unadjusted = ctx.book.quantity("ampacity.unadjusted", Dimension::Number)?;
    if whole(all) <= unadjusted.amount() || ctx.job.flag(duct, raceway::NIPPLE) == Some(true) {
        return Ok(all.clamp(1, unadjusted.quantity.whole().unwrap_or(1).max(1)));
    }
    let exempt = ctx.book.quantity("ampacity.bundle_exempt", Dimension::Length)?;
    let length = ctx.need(duct, raceway::LENGTH)?;
    let short = length.amount() <= exempt.amount();
    Ok(if short { unadjusted.quantity.whole().unwrap_or(1) } else { all })
}
