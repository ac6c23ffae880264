//! The make-up sheets of the packet: drawing, steps, and the worksheet of the fill of every box.

use maud::{Markup, PreEscaped, html};
use storystick_engine::calc::Line;
use storystick_engine::sheet::makeup::CAUTION;
use storystick_engine::sheet::panel::PANEL_CAUTION;
use storystick_engine::sheet::{BoxSheet, Desk, PanelSheet, make_ups, panel_sheets};

use super::table::{Cell, remarks, table};
use crate::render::drawing::{makeup, panel as panel_drawing};
use crate::render::paper::panel::{bars, cables, line, row as cable_row};

/// Returns the make-up sheets.
pub(super) fn makeup(desk: &Desk<'_>) -> Markup {
    let sheets = make_ups(desk, &[]);
    let panels = panel_sheets(desk, &[]);
    html! {
        @if !panels.is_empty() {
            div.caution role="note" aria-label="Caution for work at panels" { p { (PANEL_CAUTION) } }
            @for one in &panels { (of_panel(desk, one)) }
        }
        div.caution role="note" aria-label="Caution for work at boxes" { p { (CAUTION) } }
        p.soft {
            "Lines: white is hollow, red has long dashes, bare is dotted; every conductor is named in words at its sheath. \
             A dome is a wire connector, a circle with a bar a terminal."
        }
        @for one in &sheets { (of_box(desk, one)) }
        @if sheets.is_empty() { p { "No cable of this job enters a box." } }
    }
}

fn of_panel(desk: &Desk<'_>, sheet: &PanelSheet) -> Markup {
    let lines = cables(sheet).iter().map(|cable| Vec::from(cable_row(cable).map(Cell::of))).collect();
    let unplaced: Vec<String> = sheet
        .breakers
        .iter()
        .filter(|one| one.positions.is_empty())
        .flat_map(|one| one.circuits.iter().map(|circuit| line(one, circuit, desk.units)))
        .collect();
    html! {
        article.panel {
            h3 { "Panel " (sheet.id) span.soft { " · " (sheet.room) } }
            figure {
                div.scroll tabindex="0" role="region" aria-label={ "Panel " (sheet.id) ", drawing" } {
                    (PreEscaped(panel_drawing::draw(sheet, desk.units).inline()))
                }
            }
            (remarks("No position yet", &unplaced))
            div.pair {
                ol { @for step in &sheet.steps { li { (step) } } }
                div {
                    @for text in bars(sheet) { p { (text) } }
                    (remarks("Settle first", &sheet.remarks))
                }
            }
            (remarks("Wrong in this panel", &sheet.faults))
            (remarks("Seen otherwise than planned", &sheet.differences))
            @if !sheet.conductors.is_empty() {
                (table(&format!("Panel {}: cables", sheet.id), &["cable", "make", "hots", "neutral", "ground"], lines))
            }
        }
    }
}

fn of_box(desk: &Desk<'_>, one: &BoxSheet) -> Markup {
    let sheet = &one.sheet;
    html! {
        article.outlet {
            h3 { "Box " (sheet.id) span.soft { " · " (one.room) } }
            @if !one.receptacles.is_empty() { p { "Receptacles: " (one.receptacles.join(", ")) } }
            figure {
                div.scroll tabindex="0" role="region" aria-label={ "Box " (sheet.id) ", drawing" } {
                    (PreEscaped(makeup::draw(one, desk.units).inline()))
                }
            }
            div.pair {
                ol { @for step in &sheet.steps { li { (step) } } }
                div { (fill(desk, one)) }
            }
            (remarks("Wrong in this box", &one.faults))
            @if !sheet.differences.is_empty() { p.flagged { "As built it differs from the plan: `storystick makeup` says where." } }
        }
    }
}

fn fill(desk: &Desk<'_>, one: &BoxSheet) -> Markup {
    let sheet = &one.sheet;
    html! {
        @if let Some((needed, room)) = sheet.fill {
            @let over = needed.compare(room).is_ok_and(std::cmp::Ordering::is_gt);
            p.flagged[over] {
                "Fill: " (desk.print(needed)) " of " (desk.print(room))
                @if over { " — more than the box holds" }
            }
        } @else { p.flagged { "Fill not worked out: something about the box or its cables is not recorded." } }
        @if !sheet.fill_lines.is_empty() {
            (table(
                &format!("Box {}: worksheet of the fill", sheet.id),
                &["for", "count", "each", "together", "citation"],
                sheet.fill_lines.iter().map(|line| row(desk, line)).collect(),
            ))
        }
    }
}

/// Returns a line of a worksheet as a row.
pub(super) fn row(desk: &Desk<'_>, line: &Line) -> Vec<Cell> {
    let number = |quantity: Option<storystick_engine::quantity::Quantity>| {
        Cell::Number(quantity.map_or_else(String::new, |quantity| desk.print(quantity)))
    };
    vec![
        Cell::of(&line.what),
        number(line.count),
        number(line.each),
        number(line.total),
        Cell::of(line.cite.as_deref().unwrap_or_default()),
    ]
}
