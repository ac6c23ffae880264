//! The frame of every page of HTML: nothing is fetched, no script runs.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style that all pages share.
pub(crate) const STYLE: &str = include_str!("style.css");

/// Returns a whole page.
pub(crate) fn frame(title: &str, style: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    page.into_string()
}
