//! The conductor to a grounding electrode: by the supply of its building, no larger than its own kind can use (250.66, 250.32(E)).

use super::derive::Ctx;
use super::given::{Gap, Gaps, Traced};
use super::runs::cable_size;
use super::worksheet::{Line, Sheet};
use super::{Known, Match, shown};
use crate::model::ItemIndex;
use crate::model::kinds::{building, cable, circuit, electrode, feeder, panel, raceway, raceway_conductor, site};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// The ungrounded conductors that supply a building.
struct Supply<'a> {
    size: Traced,
    material: &'a str,
}

/// Returns the conductor that has to run to an electrode.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub(super) fn conductor_needed(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let kind = gaps.keep(ctx.need_text(item, electrode::KIND));
    let own = gaps.keep(ctx.need_text(item, electrode::CONDUCTOR_MATERIAL));
    let supply = gaps.keep(supply(ctx, item));
    gaps.none()?;
    let (Some(kind), Some(own), Some(Supply { size, material })) = (kind, own, supply) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let due = by_supply(ctx, size, material)?;
    sheet.line(|| {
        let what = format!("for a supply of {} {}, in copper", shown(size.quantity), material.replace('_', "-"));
        Line::new(what).total(due.quantity).by(due).of(size)
    });
    let mut needed = due.quantity;
    if let Some(enough) = enough_for(ctx, item, kind)?
        && enough.amount() < needed.amount()
    {
        // The lesser size is for a conductor that ends there.
        match ctx.job.flag(item, electrode::EXTENDS) {
            Some(true) => {}
            Some(false) => {
                sheet.line(|| {
                    let what = format!("enough for an electrode of this kind alone: {}", kind.replace('_', " "));
                    Line::new(what).total(enough.quantity).of(enough)
                });
                needed = enough.quantity;
            }
            // What is large enough for any kind needs no answer, what is too small for this one neither.
            None => match ctx.given(item, electrode::CONDUCTOR) {
                Some(run) if run.amount() >= in_material(ctx, needed, own)?.amount() => {}
                Some(run) if run.amount() < in_material(ctx, enough.quantity, own)?.amount() => {
                    needed = enough.quantity
                }
                _ => return Err(Gap::field(item, electrode::EXTENDS)),
            },
        }
    }
    let size = in_material(ctx, needed, own)?;
    if size != needed {
        sheet.line(|| Line::new(format!("in {}", own.replace('_', "-"))).total(size));
    }
    Ok(Traced { quantity: size, span: ctx.place(item, electrode::CONDUCTOR) })
}

/// Returns the row of the table for the conductors of a supply.
fn by_supply<'a>(ctx: &Ctx<'a>, size: Traced, material: &str) -> Result<Known<'a>, Gap> {
    let group = ctx.book.word_of("ampacity.material", material)?.unwrap_or(material);
    let key = format!("ground.electrode_{group}");
    ctx.book.row_at(&key, size.quantity, Match::AtOrAbove, Dimension::Conductor)?.ok_or_else(|| {
        let message = format!("the code in force has no electrode conductor for a supply of {}", shown(size.quantity));
        Problem::new(size.span, message).label("this supply conductor").help("look the size up in the code book").into()
    })
}

/// Returns the conductor beyond which an electrode of a kind needs none, in copper.
fn enough_for(ctx: &Ctx<'_>, item: ItemIndex, kind: &str) -> Result<Option<Traced>, Gap> {
    if ctx.book.has_word("ground.as_large_as_itself", kind) == Some(true) {
        return ctx.need(item, electrode::SIZE).map(Some);
    }
    let known = ctx.book.row_of("ground.enough_for", kind, Dimension::Conductor)?;
    Ok(known.map(|known| Traced { quantity: known.quantity, span: known.span }))
}

/// Returns the size in a material that does what a copper size does.
fn in_material(ctx: &Ctx<'_>, copper: Quantity, material: &str) -> Result<Quantity, Gap> {
    if ctx.book.word_of("ampacity.material", material)?.unwrap_or(material) == "copper" {
        return Ok(copper);
    }
    let known = ctx.book.row_at("ground.aluminum_for_copper", copper, Match::AtOrAbove, Dimension::Conductor)?;
    Ok(known.map_or(copper, |known| known.quantity))
}

/// Returns the conductors that supply the building of an electrode: those of the service, or of the feeder that ends at a panel there.
fn supply<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Supply<'a>, Gap> {
    match ctx.job.link(item, electrode::BUILDING) {
        Some(there) if ctx.need_text(there, building::KIND)? != "main" && !has_service(ctx, there) => {
            of_building(ctx, there)
        }
        _ => of_service(ctx),
    }
}

fn has_service(ctx: &Ctx<'_>, there: ItemIndex) -> bool {
    ctx.job.text(there, building::SUPPLY) == Some("service")
}

fn of_service<'a>(ctx: &Ctx<'a>) -> Result<Supply<'a>, Gap> {
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(site, site::SERVICE_CONDUCTOR));
    let material = gaps.keep(ctx.need_text(site, site::SERVICE_MATERIAL));
    gaps.none()?;
    match (size, material) {
        (Some(size), Some(material)) => Ok(Supply { size, material }),
        _ => Err(Gap::Missing(Vec::new())),
    }
}

fn of_building<'a>(ctx: &Ctx<'a>, there: ItemIndex) -> Result<Supply<'a>, Gap> {
    let feeders = ctx.job.links(there, building::PANELS).flat_map(|panel| ctx.job.links(panel, panel::FEEDERS));
    let into = feeders.filter(|&item| {
        let from = ctx.job.link(item, feeder::FROM).and_then(|panel| ctx.job.link(panel, panel::BUILDING));
        from != Some(there)
    });
    let mut largest: Option<Supply<'a>> = None;
    for item in into {
        let found = of_feeder(ctx, item)?;
        if largest.as_ref().is_none_or(|known| found.size.amount() > known.size.amount()) {
            largest = Some(found);
        }
    }
    largest.ok_or_else(|| Gap::field(there, building::SUPPLY))
}

/// Returns the conductors of a feeder: its own, or those that name its circuit.
fn of_feeder<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Supply<'a>, Gap> {
    if let Some(circuit) = ctx.job.link(item, feeder::CIRCUIT)
        && ctx.given(item, feeder::SIZE).is_none()
    {
        if let Some(run) = ctx.job.links(circuit, circuit::CABLES).next() {
            return Ok(Supply { size: cable_size(ctx, run)?, material: ctx.need_text(run, cable::MATERIAL)? });
        }
        let ducts = ctx.job.links(circuit, circuit::RACEWAYS);
        let hot = ducts.flat_map(|duct| ctx.job.links(duct, raceway::CONDUCTORS)).find(|&strand| {
            ctx.job.link(strand, raceway_conductor::CIRCUIT) == Some(circuit)
                && ctx.job.flag(strand, raceway_conductor::IS_GROUND) != Some(true)
        });
        if let Some(strand) = hot {
            let size = ctx.need(strand, raceway_conductor::SIZE)?;
            return Ok(Supply { size, material: ctx.need_text(strand, raceway_conductor::MATERIAL)? });
        }
    }
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(item, feeder::SIZE));
    let material = gaps.keep(ctx.need_text(item, feeder::MATERIAL));
    gaps.none()?;
    match (size, material) {
        (Some(size), Some(material)) => Ok(Supply { size, material }),
        _ => Err(Gap::Missing(Vec::new())),
    }
}
