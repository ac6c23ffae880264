//! The book of a ruleset as one page of HTML that needs no network and no script, in the style of the packet.

use maud::{Markup, html};

use super::{Pages, Word};
use crate::render::packet::frame::{STYLE, frame};

/// Names of entries and rules are longer than a telephone is wide. A heading stays with what it heads.
const NAMES: &str = "h3, main p, main li, main td, main th, .facts dd { overflow-wrap: anywhere }\n\
                     @media print { h3 { break-after: avoid } main p.soft { break-before: avoid } }\n";

/// Returns the whole page.
pub(crate) fn page(all: &[Pages]) -> String {
    let title = all.iter().map(|pages| pages.title.as_str()).collect::<Vec<_>>().join(", ");
    let body = html! {
        a.skip href="#book" { "Skip to the book" }
        main id="book" { @for pages in all { (one(pages)) } }
        footer { p.notice { (storystick_engine::sheet::NOTICE) } }
    };
    frame(&format!("Book: {}", title), &format!("{STYLE}{NAMES}"), &body)
}

fn one(pages: &Pages) -> Markup {
    html! {
        header {
            p.kicker { (pages.id) }
            h1 { (pages.title) }
            dl.facts { @for (name, value) in &pages.facts { dt { (name) } dd { (value) } } }
            @if let Some(why) = &pages.draft { p.draft { b { "Draft: " } (why) } }
        }
        @if !pages.adoptions.is_empty() {
            section.sheet { h2 { "Adopted" } ul { @for line in &pages.adoptions { li { (line) } } } }
        }
        @if !pages.amendments.is_empty() {
            section.sheet {
                h2 { "Amendments" }
                @for amendment in &pages.amendments {
                    p { b { (amendment.says) } " " (amendment.when) }
                    (word(&amendment.word))
                }
            }
        }
        @if !pages.entries.is_empty() {
            section.sheet {
                h2 { "Values" }
                @for entry in &pages.entries {
                    h3 id={ "code." (entry.key) } { (entry.key) }
                    @if !entry.when.is_empty() { p.soft { "In force " (entry.when) "." } }
                    @if !entry.value.is_empty() { p { b { (entry.value) } } }
                    @if !entry.rows.is_empty() {
                        div.scroll tabindex="0" role="region" aria-label=(entry.key) {
                            table { tbody {
                                @for (key, value) in &entry.rows { tr { th scope="row" { (key) } td { (value) } } }
                            } }
                        }
                    }
                    (word(&entry.word))
                }
            }
        }
        @if !pages.defines.is_empty() {
            section.sheet {
                h2 { "Shared conditions" }
                @for define in &pages.defines {
                    p { b { (define.says) } }
                    (word(&define.word))
                }
            }
        }
        @if !pages.rules.is_empty() {
            section.sheet {
                h2 { "Rules" }
                @for rule in &pages.rules {
                    h3 id=(rule.id) { (rule.id) }
                    p { (rule.doc) }
                    p.soft { "It " (rule.head) "." }
                    ul {
                        @for (asks, fix) in &rule.asks {
                            li { (asks) @if !fix.is_empty() { " — otherwise: " (fix) } }
                        }
                    }
                    (word(&rule.word))
                    @if !rule.examples.is_empty() {
                        table {
                            caption { "Examples" }
                            tbody {
                                @for (name, comes) in &rule.examples {
                                    tr { th scope="row" { (name) } td { (comes) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn word(word: &Word) -> Markup {
    html! {
        p.soft {
            (word.cites) "; "
            @if word.verified { (word.checked) } @else { span.flagged { (word.checked) } }
            @if !word.source.is_empty() { "; " (word.source) }
            "."
            @if !word.note.is_empty() { " " (word.note) }
        }
    }
}
