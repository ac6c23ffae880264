//! The packet: every paper of a job in one HTML file that needs no network and no script.

mod cover;
mod findings;
mod lists;
mod loads;
mod makeup;
mod marks;
mod table;
mod walk;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use storystick_engine::sheet::{Desk, Masthead};

use crate::render::drawing::svg::{HATCH, STYLE};

/// A section of the packet.
struct Sheet {
    /// Anchor.
    id: &'static str,
    /// Heading.
    title: &'static str,
    /// What it holds.
    body: Markup,
}

/// Returns the whole page.
pub(crate) fn page(desk: &Desk<'_>) -> String {
    let head = Masthead::of(desk);
    let sheets = sheets(desk, &head);
    let style = format!("{}{STYLE}{}", include_str!("style.css"), running(&head));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Packet: " (head.job) }
                style { (PreEscaped(style)) }
            }
            body {
                a.skip href="#papers" { "Skip to the papers" }
                svg.drawing.defs aria-hidden="true" focusable="false" width="0" height="0" { (PreEscaped(HATCH)) }
                header { (cover::cover(desk, &head)) }
                nav aria-labelledby="contents" {
                    h2 id="contents" { "Contents" }
                    ol { @for sheet in &sheets { li { a href={ "#" (sheet.id) } { (sheet.title) } } } }
                }
                main id="papers" {
                    @for sheet in &sheets {
                        section.sheet id=(sheet.id) aria-labelledby={ (sheet.id) "-title" } {
                            p.kicker { (head.job) " · " (head.place) " · " (head.edition) }
                            h2 id={ (sheet.id) "-title" } { (sheet.title) }
                            (sheet.body)
                        }
                    }
                }
                footer { p.notice { (storystick_engine::sheet::NOTICE) } }
            }
        }
    };
    page.into_string()
}

fn sheets(desk: &Desk<'_>, head: &Masthead) -> Vec<Sheet> {
    vec![
        Sheet { id: "findings", title: "What to put right", body: findings::findings(desk) },
        Sheet { id: "walk", title: "Walk list", body: walk::walk(desk) },
        Sheet { id: "mark-out", title: "Mark-out", body: marks::marks(desk) },
        Sheet { id: "make-up", title: "Make-up sheets", body: makeup::makeup(desk) },
        Sheet { id: "take-off", title: "Take-off", body: lists::takeoff(desk) },
        Sheet { id: "directory", title: "Circuit directory", body: lists::directory(desk) },
        Sheet { id: "loads", title: "Load worksheet", body: loads::loads(desk) },
        Sheet { id: "tests", title: "Test record", body: lists::readings(desk) },
        Sheet { id: "met", title: "What was checked and met", body: findings::met(desk) },
        Sheet { id: "code", title: "The code in force", body: cover::code(head) },
    ]
}

/// Returns the running head and foot of printed pages. Text in a style sheet is quoted and escaped.
fn running(head: &Masthead) -> String {
    let quote = |text: &str| -> String {
        let mut out = String::from("\"");
        for letter in text.chars() {
            match letter {
                '"' | '\\' | '<' | '>' | '&' => out.push_str(&format!("\\{:06x}", u32::from(letter))),
                letter if letter.is_control() => out.push(' '),
                letter => out.push(letter),
            }
        }
        out.push('"');
        out
    };
    let amended = match head.amendments.len() {
        0 => String::from("not amended"),
        1 => String::from("1 amendment"),
        count => format!("{count} amendments"),
    };
    let left = quote(&format!("{} · {}", head.job, head.place));
    let right = quote(&format!("{} · {amended} · permit {}", head.edition, head.code.permit_date));
    let foot = quote("Approves nothing: the authority having jurisdiction decides");
    format!(
        "@page{{margin:18mm 13mm 16mm;@top-left{{content:{left};font:8pt sans-serif;color:#333}}\
         @top-right{{content:{right};font:8pt sans-serif;color:#333}}\
         @bottom-left{{content:{foot};font:8pt sans-serif;color:#333}}\
         @bottom-right{{content:counter(page) \" of \" counter(pages);font:8pt sans-serif;color:#333}}}}"
    )
}
