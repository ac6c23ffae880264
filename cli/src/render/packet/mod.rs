//! The packet: every paper of a job in one HTML file that needs no network and no script.

pub(crate) mod class;
mod cover;
pub(crate) mod drill;
mod findings;
pub(crate) mod frame;
mod lists;
mod loads;
mod makeup;
mod marks;
mod table;
mod walk;

use maud::{Markup, PreEscaped, html};
use storystick_engine::sheet::{Desk, Masthead};

use crate::args::SHEETS;
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

/// Returns the whole page, or the page with some of its sections.
pub(crate) fn page(desk: &Desk<'_>, only: &[String]) -> String {
    let head = Masthead::of(desk);
    let wanted = SHEETS.into_iter().filter(|id| only.is_empty() || only.iter().any(|one| one == id));
    let sheets: Vec<Sheet> = wanted.map(|id| sheet(desk, &head, id)).collect();
    let style = format!("{}{STYLE}{}", frame::STYLE, running(&head));
    let body = html! {
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
    };
    frame::frame(&format!("Packet: {}", head.job), &style, &body)
}

fn sheet(desk: &Desk<'_>, head: &Masthead, id: &'static str) -> Sheet {
    let (title, body) = match id {
        "findings" => ("What to put right", findings::findings(desk)),
        "walk" => ("Walk list", walk::walk(desk)),
        "mark-out" => ("Mark-out", marks::marks(desk)),
        "make-up" => ("Make-up sheets", makeup::makeup(desk)),
        "take-off" => ("Take-off", lists::takeoff(desk)),
        "directory" => ("Circuit directory", lists::directory(desk)),
        "loads" => ("Load worksheet", loads::loads(desk)),
        "tests" => ("Test record", lists::readings(desk)),
        "met" => ("What was checked and met", findings::met(desk)),
        _ => ("The code in force", cover::code(head)),
    };
    Sheet { id, title, body }
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
