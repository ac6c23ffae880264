//! Tables and quotations of the packet.

use maud::{Markup, html};
use storystick_engine::sheet::SourceLine;

/// A cell of a table.
pub(super) enum Cell {
    /// Text.
    Text(String),
    /// A number, set to the right.
    Number(String),
    /// A measure, kept on one line.
    Measure(String),
    /// Room to write.
    Blank,
    /// Room to write behind each of several names.
    Blanks(Vec<String>),
    /// Text that says something is to be put right.
    Flag(String),
}

impl Cell {
    /// Returns a cell of text.
    pub(super) fn of(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }
}

/// Returns a table whose first column heads its rows. On a narrow screen it scrolls in a region of its own.
pub(super) fn table(caption: &str, head: &[&str], rows: Vec<Vec<Cell>>) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for cell in head { th scope="col" { (cell) } } } }
                tbody {
                    @for row in &rows {
                        tr {
                            @for (at, cell) in row.iter().enumerate() {
                                @match (at, cell) {
                                    (0, Cell::Text(text)) => th scope="row" { (text) },
                                    (_, Cell::Text(text)) => td { (text) },
                                    (_, Cell::Number(text)) => td.n { (text) },
                                    (_, Cell::Measure(text)) => td.m { (text) },
                                    (_, Cell::Flag(text)) => td.flagged { (text) },
                                    (_, Cell::Blank) => td.blank {},
                                    (_, Cell::Blanks(names)) => td.blanks {
                                        @for name in names { span.reading { (name) i {} } " " }
                                    },
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Returns a list of remarks under a heading; nothing for none.
pub(super) fn remarks(heading: &str, remarks: &[String]) -> Markup {
    html! {
        @if !remarks.is_empty() {
            h3 { (heading) }
            ul { @for remark in remarks { li { (remark) } } }
        }
    }
}

/// Returns a line of a file as quoted beside a finding.
pub(super) fn quoted(line: &SourceLine) -> Markup {
    html! {
        p.src {
            span.at { (line.file) ":" (line.line) } "  "
            (line.before) mark { (line.meant) } (line.after)
        }
    }
}
