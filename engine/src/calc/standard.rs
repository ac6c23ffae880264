//! The derived fields of a dwelling and the computations behind them.

use super::ampacity::{ampacity_told_of_cable, cable_ampacity_as_service};
use super::basin::receptacle_distance;
use super::box_fill::{box_contents, box_fill, capacity};
use super::circuit_load::{draw, leg_difference, load_counted, load_of_circuit, load_on_leg};
use super::coverage;
use super::derive::{Ctx, DeriveFn, Derived, Library};
use super::electrodes::conductor_needed;
use super::given::{Gap, Traced};
use super::heights::{box_heights, explain};
use super::load;
use super::operable::{is_operable, operable, operable_height};
use super::outline::floor_area;
use super::protection::{
    ampacity_of_service, ampacity_told_of_strand, best_ampacity_of_cable, best_ampacity_of_strand,
    best_breaker_of_cable, best_breaker_of_feeder, best_breaker_of_feeder_item, best_breaker_of_strand,
    breaker_of_cable, breaker_of_feeder, breaker_of_strand, feeder_ampacity_as_service, ground_of_cable,
    ground_of_feeder, strand_ampacity_as_service,
};
use super::protection_seen::{Fault, of_appliance, of_device, of_luminaire};
use super::raceway_fill::fill_of_raceway;
use super::runs::{leg, smallest_conductor, widest_support_gap};
use super::voltage_drop::{drop_in_all, drop_of_circuit, drop_of_feeder};
use super::wired;
use super::worksheet::{Line, Sheet};
use crate::model::kinds::{
    appliance, basin, cable, cable_end, circuit, counter, device, electrode, feeder, luminaire, outlet_box, panel,
    raceway, raceway_conductor, room, site,
};
use crate::model::{Cell, FieldId, ItemIndex, LinkState, Schema};

impl Library {
    /// Returns the computations of a dwelling.
    pub fn standard(schema: &Schema) -> Library {
        let mut library = Library::new().made_for(schema);
        register(schema, &mut library);
        library
    }
}

/// Adds all computations of a dwelling to a library.
pub(super) fn register(schema: &Schema, library: &mut Library) {
    let all: &[(&str, FieldId, DeriveFn)] = &[
        (site::NAME, site::LOAD_STANDARD, |ctx, item| {
            traced(ctx, item, |ctx, _, sheet| {
                let dwelling = load::dwelling_of_job(ctx, load::Method::Standard)?;
                let total = load::standard_load(&dwelling, ctx.book, sheet)?.total;
                Ok(Traced { quantity: total, span: dwelling.floor_area.span })
            })
        }),
        (site::NAME, site::LOAD_OPTIONAL, |ctx, item| {
            traced(ctx, item, |ctx, _, sheet| {
                let dwelling = load::dwelling_of_job(ctx, load::Method::Optional)?;
                let total = load::optional_load(&dwelling, ctx.book, sheet)?.total;
                Ok(Traced { quantity: total, span: dwelling.floor_area.span })
            })
        }),
        (site::NAME, site::LOAD_NEUTRAL, |ctx, item| {
            traced(ctx, item, |ctx, _, sheet| {
                let dwelling = load::dwelling_of_job(ctx, load::Method::Standard)?;
                let neutral = load::neutral_load(&dwelling, load::load_voltage(ctx)?, ctx.book, sheet)?;
                Ok(Traced { quantity: neutral.load, span: dwelling.floor_area.span })
            })
        }),
        (site::NAME, site::SERVICE_LOAD, |ctx, item| {
            traced(ctx, item, |ctx, _, sheet| {
                let (total, voltage) = load::service_load(ctx, sheet)?;
                let current = load::amperes(total, voltage, ctx.book)?.counted;
                sheet.line(|| Line::new("current of the smaller of both").each(total).total(current));
                Ok(Traced { quantity: current, span: voltage.span })
            })
        }),
        (panel::NAME, panel::LEG_1_LOAD, |ctx, item| {
            traced(ctx, item, |ctx, item, sheet| load_on_leg(ctx, item, 0, sheet))
        }),
        (panel::NAME, panel::LEG_2_LOAD, |ctx, item| {
            traced(ctx, item, |ctx, item, sheet| load_on_leg(ctx, item, 1, sheet))
        }),
        (panel::NAME, panel::LEG_DIFFERENCE, |ctx, item| traced(ctx, item, leg_difference)),
        (circuit::NAME, circuit::LOAD, |ctx, item| traced(ctx, item, load_of_circuit)),
        (circuit::NAME, circuit::LOAD_COUNTED, |ctx, item| traced(ctx, item, load_counted)),
        (panel::NAME, panel::IS_SUBPANEL, |ctx, item| has(ctx, item, panel::FED_BY)),
        (circuit::NAME, circuit::SMALLEST_CONDUCTOR, |ctx, item| traced(ctx, item, smallest_conductor)),
        (circuit::NAME, circuit::LEG, |ctx, item| traced(ctx, item, leg)),
        (circuit::NAME, circuit::VOLTAGE_DROP, |ctx, item| {
            traced(ctx, item, |ctx, item, sheet| {
                let worst = drop_of_circuit(ctx, item, sheet)?.worst();
                let worst = worst.ok_or_else(|| Gap::field(item, circuit::CABLES))?;
                Ok(Traced { quantity: worst.share, span: ctx.job.item(worst.item).header })
            })
        }),
        (basin::NAME, basin::RECEPTACLE_DISTANCE, |ctx, item| traced(ctx, item, receptacle_distance)),
        (room::NAME, room::FLOOR_AREA, |ctx, item| traced(ctx, item, floor_area)),
        (outlet_box::NAME, outlet_box::CENTRE, |ctx, item| height(ctx, item, 0)),
        (outlet_box::NAME, outlet_box::TOP_EDGE, |ctx, item| height(ctx, item, 1)),
        (outlet_box::NAME, outlet_box::BOTTOM_EDGE, |ctx, item| height(ctx, item, -1)),
        (device::NAME, device::IS_GFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_device(ctx, item, Fault::Ground, sheet))
        }),
        (device::NAME, device::IS_AFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_device(ctx, item, Fault::Arc, sheet))
        }),
        (device::NAME, device::IS_OPERABLE, is_operable_device),
        (device::NAME, device::OPERABLE_LOW, |ctx, item| {
            Derived::of(ctx, |sheet| Ok(operable(ctx, item, sheet)?.low.cell(ctx.job.item(item).header)))
        }),
        (device::NAME, device::OPERABLE_HIGH, |ctx, item| {
            Derived::of(ctx, |sheet| Ok(operable(ctx, item, sheet)?.high.cell(ctx.job.item(item).header)))
        }),
        (device::NAME, device::OPERABLE_HEIGHT, |ctx, item| traced(ctx, item, operable_height)),
        (luminaire::NAME, luminaire::IS_GFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_luminaire(ctx, item, Fault::Ground, sheet))
        }),
        (luminaire::NAME, luminaire::IS_AFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_luminaire(ctx, item, Fault::Arc, sheet))
        }),
        (appliance::NAME, appliance::IS_GFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_appliance(ctx, item, sheet))
        }),
        (appliance::NAME, appliance::DRAW, |ctx, item| traced(ctx, item, draw)),
        (room::NAME, room::WALL_UNCOVERED, |ctx, item| traced(ctx, item, coverage::wall_uncovered)),
        (room::NAME, room::LONGEST_BARE_WALL, |ctx, item| traced(ctx, item, coverage::longest_bare_wall)),
        (room::NAME, room::RECEPTACLES_COUNTED, |ctx, item| traced(ctx, item, coverage::receptacles_counted)),
        (room::NAME, room::CENTRE_LINE, |ctx, item| traced(ctx, item, coverage::centre_line)),
        (counter::NAME, counter::WALL_UNCOVERED, |ctx, item| traced(ctx, item, coverage::counter_uncovered)),
        (counter::NAME, counter::AREA, |ctx, item| traced(ctx, item, coverage::area_of_counter)),
        (counter::NAME, counter::RECEPTACLES_NEEDED, |ctx, item| traced(ctx, item, coverage::receptacles_needed)),
        (counter::NAME, counter::RECEPTACLES_COUNTED, |ctx, item| traced(ctx, item, coverage::counter_receptacles)),
        (outlet_box::NAME, outlet_box::CAPACITY, |ctx, item| traced(ctx, item, capacity)),
        (outlet_box::NAME, outlet_box::FILL, |ctx, item| traced(ctx, item, fill)),
        (raceway::NAME, raceway::FILL, |ctx, item| {
            traced(ctx, item, |ctx, item, sheet| {
                let share = fill_of_raceway(ctx, item, sheet)?.share;
                Ok(Traced { quantity: share, span: ctx.place(item, raceway::TRADE_SIZE) })
            })
        }),
        (raceway::NAME, raceway::FILL_ALLOWED, |ctx, item| {
            traced(ctx, item, |ctx, item, sheet| {
                let allowed = fill_of_raceway(ctx, item, sheet)?.allowed;
                Ok(Traced { quantity: allowed, span: ctx.place(item, raceway::TRADE_SIZE) })
            })
        }),
        (cable::NAME, cable::AMPACITY, |ctx, item| traced(ctx, item, ampacity_told_of_cable)),
        (cable::NAME, cable::AMPACITY_LIMIT, |ctx, item| traced(ctx, item, best_ampacity_of_cable)),
        (cable::NAME, cable::LARGEST_BREAKER, |ctx, item| traced(ctx, item, breaker_of_cable)),
        (cable::NAME, cable::BREAKER_LIMIT, |ctx, item| traced(ctx, item, best_breaker_of_cable)),
        (raceway_conductor::NAME, raceway_conductor::AMPACITY, |ctx, item| traced(ctx, item, ampacity_told_of_strand)),
        (raceway_conductor::NAME, raceway_conductor::AMPACITY_LIMIT, |ctx, item| {
            traced(ctx, item, best_ampacity_of_strand)
        }),
        (raceway_conductor::NAME, raceway_conductor::LARGEST_BREAKER, |ctx, item| traced(ctx, item, breaker_of_strand)),
        (raceway_conductor::NAME, raceway_conductor::BREAKER_LIMIT, |ctx, item| {
            traced(ctx, item, best_breaker_of_strand)
        }),
        (panel::NAME, panel::FEEDER_BREAKER_LIMIT, |ctx, item| traced(ctx, item, best_breaker_of_feeder)),
        (panel::NAME, panel::IS_IN_RING, is_in_ring),
        (feeder::NAME, feeder::BREAKER_LIMIT, |ctx, item| traced(ctx, item, best_breaker_of_feeder_item)),
        (feeder::NAME, feeder::LARGEST_BREAKER, |ctx, item| traced(ctx, item, breaker_of_feeder)),
        (feeder::NAME, feeder::AMPACITY_AS_SERVICE, |ctx, item| traced(ctx, item, feeder_ampacity_as_service)),
        (feeder::NAME, feeder::GROUND_NEEDED, |ctx, item| traced(ctx, item, ground_of_feeder)),
        (feeder::NAME, feeder::VOLTAGE_DROP, |ctx, item| traced(ctx, item, drop_of_feeder)),
        (circuit::NAME, circuit::VOLTAGE_DROP_IN_ALL, |ctx, item| traced(ctx, item, drop_in_all)),
        (site::NAME, site::SERVICE_AMPACITY, |ctx, item| traced(ctx, item, ampacity_of_service)),
        (electrode::NAME, electrode::CONDUCTOR_NEEDED, |ctx, item| traced(ctx, item, conductor_needed)),
        (cable::NAME, cable::AMPACITY_AS_SERVICE, |ctx, item| traced(ctx, item, cable_ampacity_as_service)),
        (raceway_conductor::NAME, raceway_conductor::AMPACITY_AS_SERVICE, |ctx, item| {
            traced(ctx, item, strand_ampacity_as_service)
        }),
        (cable::NAME, cable::GROUND_NEEDED, |ctx, item| traced(ctx, item, ground_of_cable)),
        (cable::NAME, cable::WIDEST_SUPPORT_GAP, |ctx, item| traced(ctx, item, widest_support_gap)),
        (cable_end::NAME, cable_end::IS_AT_BOX, |ctx, item| has(ctx, item, cable_end::BOX)),
        (cable_end::NAME, cable_end::IS_AT_PANEL, |ctx, item| has(ctx, item, cable_end::PANEL)),
    ];
    wired::register(schema, library);
    super::panel::register(schema, library);
    for &(kind, field, function) in all {
        if let Some(kind) = schema.kind(kind) {
            library.add(kind, field, function);
        }
    }
}

/// Runs a computation whose result points at the item where it stands nowhere itself.
fn traced(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    compute: fn(&Ctx<'_>, ItemIndex, &mut Sheet) -> Result<Traced, Gap>,
) -> Derived {
    Derived::of(ctx, |sheet| Ok(compute(ctx, item, sheet)?.cell(ctx.job.item(item).header)))
}

fn fill(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let contents = box_contents(ctx, item)?;
    let volume = box_fill(&contents, ctx.book, sheet)?.volume;
    Ok(Traced { quantity: volume, span: ctx.job.item(item).header })
}

/// Whether a link leads to an item.
fn has(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId) -> Derived {
    Derived::of(ctx, |_| match ctx.job.link_state(item, field) {
        LinkState::NotRecorded => Err(Gap::field(item, ctx.written_as(item, field))),
        state => Ok(Cell::flag(state != LinkState::None, ctx.place(item, field))),
    })
}

fn height(ctx: &Ctx<'_>, item: ItemIndex, halves: i64) -> Derived {
    Derived::of(ctx, |sheet| {
        let heights = box_heights(ctx, item);
        let height = match halves {
            0 => heights.centre,
            1 => heights.top,
            _ => heights.bottom,
        }?;
        explain(ctx, item, halves, height, sheet);
        Ok(height.cell(ctx.job.item(item).header))
    })
}

fn is_operable_device(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |sheet| {
        let kind = ctx.need_text(item, device::KIND)?;
        let at = ctx.place(item, device::KIND);
        sheet.line(|| Line::new(kind).at(at));
        Ok(Cell::flag(is_operable(kind), at))
    })
}

/// Whether the panels that feed a panel, one after the other, lead back to one of them.
fn is_in_ring(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |_| {
        let mut before = vec![item];
        while let Some(next) = before.last().and_then(|&last| ctx.job.link(last, panel::FED_BY)) {
            if before.contains(&next) {
                return Ok(Cell::flag(true, ctx.place(item, panel::FED_BY)));
            }
            before.push(next);
        }
        Ok(Cell::flag(false, ctx.place(item, panel::FED_BY)))
    })
}
