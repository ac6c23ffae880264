//! Voltage drop of a feeder of a job, and of a branch circuit with the feeders ahead of it.

use super::super::conductor::{Basis, Wire, is_stranded, resistance};
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::runs::cable_size;
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::branch::{ducts_of, hot_strand, too_large};
use super::{drop_of_circuit, resistance_along};
use crate::model::ItemIndex;
use crate::model::kinds::{cable, circuit, feeder, panel, raceway, raceway_conductor, site};
use crate::quantity::{Dimension, Quantity};

/// Most feeders one after the other; a job with more feeds a panel from itself.
const MOST: usize = 16;

/// A stretch of a feeder.
struct Stretch<'a> {
    length: Traced,
    size: Traced,
    material: &'a str,
}

/// Returns the voltage drop of a feeder from leg to leg under its calculated load, as a share of the voltage.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn drop_of_feeder(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let load = gaps.keep(ctx.need(item, feeder::LOAD));
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    let voltage = gaps.keep(ctx.need(site, site::LINE_TO_LINE));
    let stretches = gaps.keep(stretches(ctx, item));
    gaps.none()?;
    let (Some(load), Some(voltage), Some(stretches)) = (load, voltage, stretches) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let current = load.quantity.div(voltage.quantity).map_err(|_| too_large(load.span))?;
    sheet.line(|| Line::new("current of its load, from leg to leg").total(current).of(load).of(voltage));
    let temperature = ctx.book.quantity("voltage_drop.temperature", Dimension::Temperature)?;
    let mut one_way = Quantity::new(Dimension::Resistance, 0);
    for Stretch { length, size, material } in stretches {
        let stranded = is_stranded(size.quantity, ctx.book)?;
        let wire = Wire { material, size, stranded, temperature: temperature.quantity };
        let by_length = resistance(&wire, Basis::Table, ctx.book)?;
        let along = resistance_along(by_length, length.quantity).ok_or_else(|| too_large(length.span))?;
        sheet.line(|| {
            let what = format!("{}, one conductor", shown(size.quantity));
            Line::new(what).count(length.quantity).each(by_length).total(along).of(length).of(size)
        });
        let sum = one_way.amount().checked_add(along.amount()).ok_or_else(|| too_large(length.span))?;
        one_way = Quantity::new(Dimension::Resistance, sum);
    }
    let both = Quantity::new(Dimension::Resistance, one_way.amount().saturating_mul(2));
    let volts = current.mul(both).map_err(|_| too_large(load.span))?;
    let share = volts.share_of(voltage.quantity).map_err(|_| too_large(voltage.span))?;
    sheet.line(|| Line::new("drop on the way out and back").each(volts).total(share));
    Ok(Traced { quantity: share, span: ctx.place(item, feeder::LOAD) })
}

/// Returns the stretches of a feeder: its own length, or the cables and raceways that name its circuit, one after the other.
fn stretches<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Vec<Stretch<'a>>, Gap> {
    let mut gaps = Gaps::default();
    let mut found = Vec::new();
    let mut add = |gaps: &mut Gaps, length, size, material: Result<&'a str, Gap>| {
        let (length, size, material) = (gaps.keep(length), gaps.keep(size), gaps.keep(material));
        if let (Some(length), Some(size), Some(material)) = (length, size, material) {
            found.push(Stretch { length, size, material });
        }
    };
    if let Some(circuit) = ctx.job.link(item, feeder::CIRCUIT)
        && ctx.given(item, feeder::LENGTH).is_none()
    {
        let mut any = false;
        for run in ctx.job.links(circuit, circuit::CABLES) {
            any = true;
            let material = ctx.need_text(run, cable::MATERIAL);
            add(&mut gaps, ctx.need(run, cable::LENGTH), cable_size(ctx, run), material);
        }
        for duct in ducts_of(ctx, circuit) {
            let Some(strand) = hot_strand(ctx, duct, circuit) else { continue };
            any = true;
            let size = ctx.need(strand, raceway_conductor::SIZE);
            let material = ctx.need_text(strand, raceway_conductor::MATERIAL);
            add(&mut gaps, ctx.need(duct, raceway::LENGTH), size, material);
        }
        if any {
            gaps.none()?;
            return Ok(found);
        }
    }
    let (size, material) = (ctx.need(item, feeder::SIZE), ctx.need_text(item, feeder::MATERIAL));
    add(&mut gaps, ctx.need(item, feeder::LENGTH), size, material);
    gaps.none()?;
    Ok(found)
}

/// Returns the largest voltage drop of a circuit and that of the feeders ahead of its panel together, as a share of the voltage.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn drop_in_all(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let own = gaps.keep(drop_of_circuit(ctx, item, &mut Sheet::none()));
    let mut feeders = Vec::new();
    let mut panel = gaps.keep(ctx.need_link(item, circuit::PANEL));
    while let Some(feeder) = panel.and_then(|panel| ctx.job.links(panel, panel::FEEDERS).next())
        && feeders.len() < MOST
    {
        feeders.push((feeder, gaps.keep(drop_of_feeder(ctx, feeder, &mut Sheet::none()))));
        panel = ctx.job.link(feeder, feeder::FROM);
    }
    gaps.none()?;
    let worst = own.and_then(|own| own.worst()).ok_or_else(|| Gap::field(item, circuit::CABLES))?;
    sheet.line(|| Line::new(format!("branch circuit, to {}", ctx.job.id(worst.item))).total(worst.share));
    let mut all = worst.share.amount();
    for (feeder, drop) in feeders {
        let Some(drop) = drop else { continue };
        sheet.line(|| Line::new(format!("feeder {}", ctx.job.id(feeder))).total(drop.quantity).of(drop));
        all = all.saturating_add(drop.amount());
    }
    let all = Quantity::new(Dimension::Ratio, all);
    sheet.line(|| Line::new("together").total(all));
    Ok(Traced { quantity: all, span: ctx.job.item(item).header })
}
