//! The questions of a drill as a page, with their drawings. No answer is on it.

use maud::{Markup, PreEscaped, html};

use super::frame::{STYLE, frame};
use crate::render::drawing::svg::{HATCH, STYLE as DRAWING};
use crate::teach::papers::{Key, Question};

/// Stands on every page of a drill.
const NOTICE: &str = "A drill: what is wrong in it is wrong on purpose, and nothing may be built from it. On a real job: circuit off, locked \
                      out and tagged, absence of voltage proved before hands go in; the code in force where you work and the authority \
                      having jurisdiction decide.";

/// Returns the whole page.
pub(crate) fn page(key: &Key) -> String {
    let style = format!("{STYLE}{DRAWING}");
    let mut competencies: Vec<&str> = Vec::new();
    for one in &key.question {
        if !competencies.contains(&one.competency.as_str()) {
            competencies.push(&one.competency);
        }
    }
    let body = html! {
        a.skip href="#questions" { "Skip to the questions" }
        svg.drawing.defs aria-hidden="true" focusable="false" width="0" height="0" { (PreEscaped(HATCH)) }
        header { h1 { "Questions: " (key.job) } p.soft { "seed " (key.seed) ". Write the answers in answers.toml." } }
        main id="questions" {
            p.notice { (NOTICE) }
            @for competency in competencies {
                section.sheet aria-labelledby=(competency) {
                    h2 id=(competency) { (competency.replace('-', " ")) }
                    @for one in key.question.iter().filter(|one| one.competency == competency) { (asked(one)) }
                }
            }
        }
        footer { p.notice { (NOTICE) } }
    };
    frame(&format!("Questions: {}", key.job), &style, &body)
}

fn asked(one: &Question) -> Markup {
    html! {
        h3 id={ "q-" (one.id) } { (one.id) }
        p { (one.asks) }
        @if let Some(picture) = &one.picture {
            figure { div.scroll tabindex="0" role="region" aria-label={ "Drawing of " (one.id) } { (PreEscaped(picture)) } }
        }
        @if !one.choices.is_empty() { ul { @for choice in &one.choices { li { (choice) } } } }
        @if one.listed {
            p { "Lines to fill in:" }
            ul { @for line in &one.lines { li { (line.what) } } }
        }
    }
}
