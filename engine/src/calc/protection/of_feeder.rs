//! Breaker, ampacity and equipment ground of a feeder that is written with its own conductors, and the conductors of a service.

use super::super::ampacity::{
    Correction, Run, Surroundings, ambient, ampacity, column, insulation, limit_where_it_runs, method_limit, of_code,
    service_terminals, table_value, terminals,
};
use super::super::count_of;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::of_cable::{breaker_on_circuit, needed};
use super::{enlarged_ground, equipment_ground};
use crate::model::ItemIndex;
use crate::model::kinds::{feeder, site};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Conductors of a feeder or service that carry current: its two hots. A neutral with only what the legs differ by is not counted.
const HOTS: i64 = 2;

/// Most conductors together; more is a slip of the pen.
const MOST: i64 = 200;

/// What a feeder is, before anything is said of the place where it runs.
struct Wire<'a> {
    material: &'a str,
    size: Traced,
    method: &'a str,
}

fn wire<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Wire<'a>, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(item, feeder::SIZE));
    let material = gaps.keep(ctx.need_text(item, feeder::MATERIAL));
    let method = gaps.keep(ctx.need_text(item, feeder::WIRING_METHOD));
    gaps.none()?;
    match (size, material, method) {
        (Some(size), Some(material), Some(method)) => Ok(Wire { material, size, method }),
        _ => Err(Gap::Missing(Vec::new())),
    }
}

/// Returns the largest breaker by the terminals. Where nobody has recorded what they are marked for, that is asked only if it makes a
/// difference to the breaker there is.
fn by_terminals(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    size: Traced,
    sheet: &mut Sheet,
    limit: impl Fn(Traced, &mut Sheet) -> Result<Traced, Gap>,
) -> Result<Traced, Gap> {
    if let Some(marked) = ctx.given(item, feeder::TERMINALS) {
        return limit(marked, sheet);
    }
    let breaker = ctx.need(item, feeder::BREAKER)?;
    let unmarked = terminals(ctx, None, size, Some(breaker))?;
    let marked = service_terminals(ctx, None)?;
    let none = &mut Sheet::none();
    let (low, high) = (limit(unmarked, none)?, limit(marked, none)?);
    if breaker.amount() <= low.amount() || low.amount() == high.amount() {
        limit(unmarked, sheet)
    } else if breaker.amount() > high.amount() {
        limit(marked, sheet)
    } else {
        Err(Gap::field(item, feeder::TERMINALS))
    }
}

/// Returns the largest breaker that may protect a feeder in the best of places (110.14(C), 240.4).
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_breaker_of_feeder_item(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let Wire { material, size, method } = wire(ctx, item)?;
    let own = method_limit(ctx, method)?;
    by_terminals(ctx, item, size, sheet, |terminals, sheet| {
        let column = own.filter(|own| own.amount() < terminals.amount()).unwrap_or(terminals);
        let most = table_value(material, size, column, ctx.book)?;
        sheet.line(|| {
            let what = format!("{} {} at {}", shown(size.quantity), material.replace('_', "-"), shown(column.quantity));
            Line::new(what).total(most.quantity).by(most).of(size).of(column)
        });
        breaker_on_circuit(ctx, None, most.quantity, material, size, sheet)
    })
}

/// Returns what a job says of a feeder and where it runs, all but its terminals.
fn feeder_run<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Run<'a>, Gap> {
    let mut gaps = Gaps::default();
    let wire = gaps.keep(wire(ctx, item));
    let insulation = wire.as_ref().and_then(|wire| gaps.keep(insulation(ctx, item, wire.method, feeder::INSULATION)));
    let limit = wire
        .as_ref()
        .and_then(|wire| gaps.keep(limit_where_it_runs(ctx, item, wire.method, wire.size, feeder::IN_INSULATION)));
    let ambient = gaps.keep(ambient(ctx, item, Surroundings::FEEDER, None));
    let beside = gaps.keep(ctx.need(item, feeder::OTHERS_BESIDE).and_then(|beside| Ok(count_of(beside, 0, MOST)?)));
    gaps.none()?;
    match (wire, insulation, ambient, beside) {
        (Some(Wire { material, size, .. }), Some(insulation), Some(ambient), Some(beside)) => Ok(Run {
            material,
            size,
            insulation,
            ambient,
            current_carrying: HOTS + beside,
            method_limit: limit.flatten(),
            terminals: None,
            correction: Correction::Table,
        }),
        _ => Err(Gap::Missing(Vec::new())),
    }
}

/// Returns the largest breaker that may protect a feeder where it runs.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn breaker_of_feeder(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let run = feeder_run(ctx, item)?;
    by_terminals(ctx, item, run.size, sheet, |terminals, sheet| {
        let found = ampacity(&Run { terminals: Some(terminals), ..run }, ctx.book, sheet)?;
        breaker_on_circuit(ctx, None, found.ampacity, run.material, run.size, sheet)
    })
}

/// Returns the ampacity of a feeder where it runs, with the terminals of a service.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn feeder_ampacity_as_service(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let run = feeder_run(ctx, item)?;
    let run = Run { terminals: Some(service_terminals(ctx, ctx.given(item, feeder::TERMINALS))?), ..run };
    Ok(Traced { quantity: ampacity(&run, ctx.book, sheet)?.ampacity, span: run.size.span })
}

/// Returns the equipment ground that a feeder needs: by its breaker, larger in proportion where its other conductors are larger than they
/// have to be. Where its load is recorded, they have to carry that and to stand behind the breaker; where it is not, they are taken to have
/// to carry all that the breaker lets through.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn ground_of_feeder(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let breaker = gaps.keep(ctx.need(item, feeder::BREAKER));
    let run = gaps.keep(feeder_run(ctx, item));
    gaps.none()?;
    let (Some(breaker), Some(run)) = (breaker, run) else { return Err(Gap::Missing(Vec::new())) };
    let marked = ctx.given(item, feeder::TERMINALS);
    let terminals = marked.map_or_else(|| terminals(ctx, None, run.size, Some(breaker)), Ok)?;
    let run = Run { terminals: Some(terminals), ..run };
    let ground = equipment_ground(breaker, run.material, ctx.book)?;
    sheet.line(|| {
        let what = format!("equipment ground for {}", shown(breaker.quantity));
        Line::new(what).total(ground.quantity).by(ground).of(breaker)
    });
    let least = match current_of_load(ctx, item)? {
        Some(current) => needed_for(ctx, &run, breaker, current)?.map_or_else(|| needed(ctx, &run, breaker), Ok)?,
        None => needed(ctx, &run, breaker)?,
    };
    let size = enlarged_ground(ground.quantity, least, run.size, run.material, ctx.book, sheet)?;
    Ok(Traced { quantity: size, span: ctx.place(item, feeder::GROUND_SIZE) })
}

/// Returns the current of the calculated load of a feeder, where that is recorded.
fn current_of_load(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Quantity>, Gap> {
    let voltage = ctx.site().and_then(|site| ctx.given(site, site::LINE_TO_LINE));
    let (Some(load), Some(voltage)) = (ctx.given(item, feeder::LOAD), voltage) else { return Ok(None) };
    let too_large = |_| Problem::new(load.span, "this load cannot be turned into a current").label("this load");
    Ok(Some(load.quantity.div(voltage.quantity).map_err(too_large)?))
}

/// Returns the smallest conductor that carries a load where it runs and may stand behind a breaker, the next standard size above its
/// ampacity included.
fn needed_for(ctx: &Ctx<'_>, run: &Run<'_>, breaker: Traced, current: Quantity) -> Result<Option<Traced>, Gap> {
    let key = column(run.material, run.terminals.unwrap_or(run.insulation), ctx.book)?;
    let none = &mut Sheet::none();
    for (size, row) in ctx.book.table(&key, Dimension::Conductor, Dimension::Current)? {
        let size = Traced { quantity: size, span: row.span };
        let Ok(found) = ampacity(&Run { size, ..*run }, ctx.book, none) else { continue };
        if found.ampacity.amount() >= current.amount()
            && breaker_on_circuit(ctx, None, found.ampacity, run.material, size, none)?.amount() >= breaker.amount()
        {
            return Ok(Some(Traced { quantity: size.quantity, span: breaker.span }));
        }
    }
    Ok(None)
}

/// Returns the ampacity of the service conductors where they run.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn ampacity_of_service(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(item, site::SERVICE_CONDUCTOR));
    let material = gaps.keep(ctx.need_text(item, site::SERVICE_MATERIAL));
    let insulation = gaps.keep(ctx.need(item, site::SERVICE_INSULATION));
    let ambient = gaps.keep(match ctx.given(item, site::SERVICE_AMBIENT) {
        Some(own) => Ok(own),
        None => ctx.need(item, site::AMBIENT),
    });
    gaps.none()?;
    let (Some(size), Some(material), Some(insulation), Some(ambient)) = (size, material, insulation, ambient) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let run = Run {
        material,
        size,
        insulation,
        ambient,
        current_carrying: HOTS,
        method_limit: None,
        terminals: Some(of_code(ctx.book.quantity("protection.terminal_large", Dimension::Temperature)?)),
        correction: Correction::Table,
    };
    Ok(Traced { quantity: ampacity(&run, ctx.book, sheet)?.ampacity, span: size.span })
}
