//! The make-up sheets as text.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::BoxSheet;
use storystick_engine::sheet::makeup::ConductorIn;

use super::table::{Table, remarks};
use crate::render::wrap::wrap;

/// Returns the make-up sheets.
pub(crate) fn text(sheets: &[BoxSheet], units: UnitSystem, columns: usize) -> String {
    if sheets.is_empty() {
        return String::from("No cable enters any of these boxes.\n");
    }
    let mut out = wrap(storystick_engine::sheet::makeup::CAUTION, columns, "");
    out.push('\n');
    for sheet in sheets {
        out.push_str(&of_box(sheet, units, columns));
    }
    out
}

fn size(conductor: &ConductorIn, units: UnitSystem) -> String {
    let made = match conductor.stranded {
        Some(true) => " stranded",
        Some(false) => " solid",
        None => "",
    };
    conductor.size.map_or_else(String::new, |size| size.print(units) + made)
}

fn of_box(one: &BoxSheet, units: UnitSystem, columns: usize) -> String {
    let sheet = &one.sheet;
    let built = if sheet.as_built { "as built" } else { "as planned" };
    let mut out = wrap(&format!("BOX {} · {} · {} · {built}", sheet.id, one.room, one.part), columns, "  ");
    if !one.receptacles.is_empty() {
        out.push_str(&wrap(&format!("receptacles {}", one.receptacles.join(", ")), columns, "  "));
    }
    let mut table = Table::new(["conductor", "size", "what it does"]);
    for conductor in &sheet.conductors {
        let mark = if conductor.re_mark { " — re-mark" } else { "" };
        table.row([conductor.name.clone(), size(conductor, units), format!("{}{mark}", conductor.function)]);
    }
    out.push_str(&table.draw(columns));
    for (at, step) in sheet.steps.iter().enumerate() {
        out.push_str(&wrap(&format!("{}. {step}", at + 1), columns, "   "));
    }
    if let Some((needed, room)) = sheet.fill {
        out.push_str(&format!("fill {} of {}\n", needed.print(units), room.print(units)));
    } else {
        out.push_str("fill not worked out: something about the box or its cables is not recorded\n");
    }
    let mut fill = Table::new(["for", "count", "each", "together", "cite"]);
    for line in &sheet.fill_lines {
        let shown = |quantity: Option<storystick_engine::quantity::Quantity>| {
            quantity.map_or_else(String::new, |quantity| quantity.print(units))
        };
        let cite = line.cite.clone().unwrap_or_default();
        fill.row([line.what.clone(), shown(line.count), shown(line.each), shown(line.total), cite]);
    }
    if !fill.is_empty() {
        out.push_str(&fill.draw(columns));
    }
    out.push_str(&remarks("Wrong in this box:", &one.faults, columns));
    let differences: Vec<String> = sheet
        .differences
        .iter()
        .map(|difference| {
            let built: Vec<String> = difference.built.iter().map(|group| group.join(" + ")).collect();
            format!("planned {}; built {}", difference.planned.join(" + "), built.join(" | "))
        })
        .collect();
    out.push_str(&remarks("As built it differs from the plan:", &differences, columns));
    out.push('\n');
    out
}
