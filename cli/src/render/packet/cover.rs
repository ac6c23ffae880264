//! The cover: job, place, code, cautions; and the sheet that names the code in force.

use maud::{Markup, html};
use storystick_engine::sheet::{CAUTIONS, Desk, Masthead, NOTICE};

use super::table::{Cell, table};
use crate::render::paper::head::or_never;

/// Returns the cover.
pub(super) fn cover(desk: &Desk<'_>, head: &Masthead) -> Markup {
    let code = &head.code;
    let tally = &desk.report.tally;
    let counts = [
        (tally.correction, "to put right"),
        (tally.to_measure, "to measure or look at"),
        (tally.met, "met"),
        (tally.caution, "cautions"),
        (tally.note, "notes"),
        (tally.permitted, "permitted"),
    ];
    html! {
        p.kicker { "Packet of the job" }
        h1 { (head.job) }
        dl.facts {
            dt { "Place" } dd { (head.place) " (" (code.jurisdiction) ")" }
            dt { "Permit date" } dd { (code.permit_date) }
            dt { "Edition" } dd { (head.edition) " (" (code.edition) ")" }
            dt { "Amendments" } dd {
                @if head.amendments.is_empty() { "none that the rulesets know of" }
                @else { a href="#code" { (head.amendments.len()) " entries and rules stand otherwise than in the edition" } }
            }
            dt { "Reviewed" } dd {
                @for (at, layer) in code.rulesets.iter().enumerate() {
                    @if at > 0 { "; " }
                    (layer.title) " " (or_never(&layer.reviewed))
                }
            }
            dt { "Dwelling" } dd { (head.dwelling) }
            dt { "Stage" } dd { "up to " (head.stage.word().replace('_', "-")) }
            dt { "Job file" } dd { (head.file) }
            dt { "Not verified" } dd {
                @if head.unverified.is_empty() { "every limit used was compared with the law" }
                @else { a href="#code" { (head.unverified.len()) " limits behind these papers were not compared with the law" } }
            }
        }
        @for (layer, why) in head.drafts() {
            p.draft { strong { "Draft: " } (layer.title) " — " (why) }
        }
        ul.tally {
            @for (count, word) in counts {
                @if count > 0 || word == "to put right" { li { b { (count) } (word) } }
            }
        }
        div.caution role="note" aria-label="Cautions" {
            ul { @for caution in CAUTIONS { li { (caution) } } }
            p.notice { (NOTICE) }
        }
    }
}

/// Returns the sheet that names the code in force.
pub(super) fn code(head: &Masthead) -> Markup {
    let layers = head.code.rulesets.iter().map(|layer| {
        vec![
            Cell::of(&layer.title),
            Cell::of(&layer.id),
            Cell::of(&layer.kind),
            Cell::of(&layer.version),
            Cell::of(&layer.content),
            Cell::of(or_never(&layer.reviewed)),
            layer.draft.as_ref().map_or(Cell::of(""), |why| Cell::Flag(format!("draft: {why}"))),
        ]
    });
    let amendments = head.amendments.iter().map(|amendment| vec![Cell::of(&amendment.key), Cell::of(&amendment.chain)]);
    let unverified = head.unverified.iter().map(|one| {
        let how = match one.checked.as_str() {
            "secondary" => "read at second hand",
            _ => "from memory",
        };
        vec![Cell::of(&one.cite), Cell::of(&one.value), Cell::of(&one.title), Cell::of(how)]
    });
    html! {
        (table(
            "Rulesets in force, from the edition up",
            &["title", "id", "kind", "version", "content", "reviewed", "state"],
            layers.collect(),
        ))
        @if !head.amendments.is_empty() {
            (table("Amended here", &["entry or rule", "who set it, first to last"], amendments.collect()))
        }
        @if !head.unverified.is_empty() {
            p { "These limits decided checks of this job, and nobody has compared them with the words of the law. \
                Look them up before you rely on them." }
            (table("Limits not verified", &["citation", "value", "ruleset", "how it was checked"], unverified.collect()))
        }
    }
}
