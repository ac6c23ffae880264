//! The make-up sheets as JSON.

use serde_json::{Value, json};
use storystick_engine::calc::Line;
use storystick_engine::inspection::Inspected;
use storystick_engine::quantity::{Quantity, UnitSystem};
use storystick_engine::sheet::{BoxSheet, PanelSheet};

use super::panel_json;
use crate::render::json::{NOTICE, SCHEMA};

/// Returns the sheets of a job. Quantities are in their exact trade form.
pub(crate) fn text(panels: &[PanelSheet], sheets: &[BoxSheet], inspected: &Inspected, units: UnitSystem) -> String {
    let report = &inspected.report;
    let whole = json!({
        "schema": SCHEMA, "program": "storystick", "version": env!("CARGO_PKG_VERSION"), "notice": NOTICE,
        "job": report.job, "file": report.file, "caution": storystick_engine::sheet::makeup::CAUTION,
        "panels": panels.iter().map(|one| panel_json::of_panel(one, units)).collect::<Vec<_>>(),
        "boxes": sheets.iter().map(|one| of_box(one, units)).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn exact(quantity: Option<Quantity>, units: UnitSystem) -> Option<String> {
    quantity.map(|quantity| quantity.exact(units))
}

fn of_box(one: &BoxSheet, units: UnitSystem) -> Value {
    let sheet = &one.sheet;
    let conductors = sheet.conductors.iter().map(|conductor| {
        json!({
            "name": conductor.name, "colour": conductor.colour.word(), "size": exact(conductor.size, units),
            "stranded": conductor.stranded, "function": conductor.function, "re_mark": conductor.re_mark,
        })
    });
    let splices = sheet.splices.iter().map(|splice| {
        let sizes =
            splice.sizes.iter().map(|&(count, size)| json!({ "count": count, "size": exact(Some(size), units) }));
        json!({
            "function": splice.function, "conductors": splice.conductors, "pigtails": splice.pigtails,
            "pigtail_length": if splice.pigtails.is_empty() { None } else { exact(splice.pigtail, units) },
            "count": splice.count, "sizes": sizes.collect::<Vec<_>>(), "connector": splice.connector,
        })
    });
    let landings = sheet
        .landings
        .iter()
        .map(|landing| json!({ "function": landing.function, "from": landing.from, "terminal": landing.terminal }));
    let differences =
        sheet.differences.iter().map(|difference| json!({ "planned": difference.planned, "built": difference.built }));
    json!({
        "box": sheet.id, "room": one.room, "part": one.part, "receptacles": one.receptacles, "as_built": sheet.as_built,
        "conductors": conductors.collect::<Vec<_>>(), "splices": splices.collect::<Vec<_>>(),
        "landings": landings.collect::<Vec<_>>(), "caps": sheet.caps, "steps": sheet.steps,
        "fill": sheet.fill.map(|(needed, room)| json!({ "needed": exact(Some(needed), units), "room": exact(Some(room), units) })),
        "fill_lines": sheet.fill_lines.iter().map(|one| line(one, units)).collect::<Vec<_>>(),
        "differences": differences.collect::<Vec<_>>(), "faults": one.faults,
    })
}

fn line(line: &Line, units: UnitSystem) -> Value {
    json!({
        "what": line.what, "count": exact(line.count, units), "each": exact(line.each, units), "total": exact(line.total, units), "cite": line.cite,
    })
}
