//! The derived fields of a dwelling and the computations behind them.

use super::derive::{Ctx, DeriveFn, Derived, Library};
use super::heights::{box_heights, explain};
use super::operable::{is_operable, operable};
use super::outline::floor_area;
use super::protection_seen::{Fault, of_appliance, of_device, of_luminaire};
use super::runs::{smallest_conductor, widest_support_gap};
use super::worksheet::Line;
use crate::model::kinds::{appliance, cable, cable_end, circuit, device, luminaire, outlet_box, panel, room};
use crate::model::{Cell, FieldId, ItemIndex, Schema};

/// Adds all computations of a dwelling to a library.
pub(super) fn register(schema: &Schema, library: &mut Library) {
    let all: &[(&str, FieldId, DeriveFn)] = &[
        (panel::NAME, panel::IS_SUBPANEL, |ctx, item| has(ctx, item, panel::FED_BY)),
        (circuit::NAME, circuit::SMALLEST_CONDUCTOR, |ctx, item| {
            Derived::of(ctx, |sheet| Ok(smallest_conductor(ctx, item, sheet)?.cell(ctx.job.item(item).header)))
        }),
        (room::NAME, room::FLOOR_AREA, |ctx, item| {
            Derived::of(ctx, |sheet| Ok(floor_area(ctx, item, sheet)?.cell(ctx.job.item(item).header)))
        }),
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
        (luminaire::NAME, luminaire::IS_GFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_luminaire(ctx, item, Fault::Ground, sheet))
        }),
        (luminaire::NAME, luminaire::IS_AFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_luminaire(ctx, item, Fault::Arc, sheet))
        }),
        (appliance::NAME, appliance::IS_GFCI_PROTECTED, |ctx, item| {
            Derived::of(ctx, |sheet| of_appliance(ctx, item, sheet))
        }),
        (cable::NAME, cable::WIDEST_SUPPORT_GAP, |ctx, item| {
            Derived::of(ctx, |sheet| Ok(widest_support_gap(ctx, item, sheet)?.cell(ctx.job.item(item).header)))
        }),
        (cable_end::NAME, cable_end::IS_AT_BOX, |ctx, item| has(ctx, item, cable_end::BOX)),
        (cable_end::NAME, cable_end::IS_AT_PANEL, |ctx, item| has(ctx, item, cable_end::PANEL)),
    ];
    for &(kind, field, function) in all {
        if let Some(kind) = schema.kind(kind) {
            library.add(kind, field, function);
        }
    }
}

/// Whether a link is there.
fn has(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId) -> Derived {
    Derived::of(ctx, |_| Ok(Cell::flag(ctx.job.link(item, field).is_some(), ctx.place(item, field))))
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
