//! The load worksheet of the packet.

use maud::{Markup, html};
use storystick_engine::sheet::{Desk, load_sheets};

use super::makeup::row;
use super::table::{remarks, table};

/// Returns the load worksheet.
pub(super) fn loads(desk: &Desk<'_>) -> Markup {
    html! {
        @for part in load_sheets(desk) {
            h3 { (part.title) @if let Some(value) = part.value {
                ": " @if part.is_at_least() { "at least " } (desk.print(value))
            } }
            @if let Some(installed) = &part.installed { p { strong { (installed.sentence()) } } }
            p.soft { (part.about) }
            @if !part.lines.is_empty() {
                (table(
                    part.title,
                    &["for", "count", "each", "together", "citation"],
                    part.lines.iter().map(|line| row(desk, line)).collect(),
                ))
            }
            @let missing: Vec<String> =
                part.missing.iter().map(|&(item, field)| desk.job.path(item, field)).collect();
            (remarks(if part.is_at_least() { "Not recorded, so it may be more" } else { "Not recorded, so not worked out" }, &missing))
            @if let Some(fault) = &part.fault {
                p.flagged { (fault.message) @if let Some(help) = &fault.help { " — " (help) } }
            }
        }
    }
}
