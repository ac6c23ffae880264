//! The configuration of a receptacle, by the designations of the open standard NEMA WD 6.

use super::Match;
use super::code::Datum;
use super::derive::Ctx;
use crate::model::ItemIndex;
use crate::model::kinds::{cable, cable_end, circuit, device, outlet_box, raceway, raceway_conductor};
use crate::quantity::Dimension;

/// Returns the configuration of a receptacle: as written, or as its circuit and the wires in its box call for (`14-30R` for two hots, a
/// neutral and a ground on 30 A); none for other devices, where too little is recorded, and where the code in force has no tables of
/// configurations.
pub fn configuration<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Option<&'a str> {
    if ctx.job.text(item, device::KIND) != Some("receptacle") {
        return None;
    }
    if let Some(written) = ctx.job.text(item, device::CONFIGURATION).filter(|word| *word != "as_wired") {
        return Some(written);
    }
    let on = ctx.job.link(item, device::CIRCUIT)?;
    let voltage = ctx.given(item, device::VOLTAGE).or_else(|| ctx.given(on, circuit::VOLTAGE))?;
    let two_hots = voltage.amount() >= ctx.book.quantity("circuit.two_pole_from", Dimension::Voltage).ok()?.amount();
    let written = ctx.given(item, device::RATING);
    let rating = match (two_hots, written) {
        (_, Some(rating)) => rating,
        (true, None) => ctx.given(on, circuit::RATING)?,
        // Which of the two that a 20 A circuit may have is for the buyer to say.
        (false, None) => return None,
    };
    let table = match (two_hots, wires(ctx, item, on)) {
        (false, _) => "receptacle.one_hot",
        (true, Some(3..)) => "receptacle.two_hots_neutral",
        (true, Some(_)) => "receptacle.two_hots",
        (true, None) => return None,
    };
    match ctx.book.row(table, Datum::Quantity(rating.quantity), Match::AtOrAbove)??.datum {
        Datum::Text(word) => Some(word),
        _ => None,
    }
}

/// Returns how many insulated conductors of a circuit come to the box of a device.
fn wires(ctx: &Ctx<'_>, item: ItemIndex, on: ItemIndex) -> Option<i64> {
    let job = ctx.job;
    let outlet = job.link(item, device::BOX)?;
    let by_cable = job
        .links(outlet, outlet_box::ENDS)
        .filter_map(|end| job.link(end, cable_end::CABLE))
        .filter(|&run| job.link(run, cable::CIRCUIT) == Some(on))
        .filter_map(|run| job.quantity(run, cable::CONDUCTORS)?.whole());
    let by_raceway = job.links(outlet, outlet_box::RACEWAYS).map(|duct| {
        let own = job.links(duct, raceway::CONDUCTORS).filter(|&strand| {
            job.link(strand, raceway_conductor::CIRCUIT) == Some(on)
                && job.flag(strand, raceway_conductor::IS_GROUND) != Some(true)
        });
        own.filter_map(|strand| job.quantity(strand, raceway_conductor::COUNT)?.whole()).sum::<i64>()
    });
    by_cable.chain(by_raceway).filter(|number| *number > 0).max()
}
