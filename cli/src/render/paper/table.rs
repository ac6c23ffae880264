//! Tables in a given number of columns: cells wrap, the widest columns give way first.

use crate::render::wrap::{width, wrap};

/// A table of text.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    head: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// Blank columns between two columns.
const GAP: usize = 2;
/// No column gets narrower than this.
const NARROWEST: usize = 6;

impl Table {
    /// Returns a table with headings.
    pub(crate) fn new<const N: usize>(head: [&str; N]) -> Table {
        Table { head: head.map(str::to_owned).to_vec(), rows: Vec::new() }
    }

    /// Adds a row.
    pub(crate) fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.to_vec());
    }

    /// Returns whether there is no row.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Returns the table in at most `total` columns where that can be done.
    pub(crate) fn draw(&self, total: usize) -> String {
        let widths = self.widths(total);
        let mut out = line(&self.head, &widths);
        let rule: Vec<String> = widths.iter().map(|&wide| "-".repeat(wide)).collect();
        out.push_str(&line(&rule, &widths));
        for row in &self.rows {
            out.push_str(&line(row, &widths));
        }
        out
    }

    fn widths(&self, total: usize) -> Vec<usize> {
        let mut widths: Vec<usize> = (0..self.head.len())
            .map(|at| {
                let cells = self.rows.iter().chain([&self.head]).filter_map(|row| row.get(at));
                cells.map(|cell| width(cell)).max().unwrap_or(0)
            })
            .collect();
        let gaps = GAP * widths.len().saturating_sub(1);
        while widths.iter().sum::<usize>() + gaps > total {
            let Some(widest) = widths.iter_mut().max_by_key(|wide| **wide).filter(|wide| **wide > NARROWEST) else {
                break;
            };
            *widest -= 1;
        }
        widths
    }
}

/// Writes one row, on as many lines as its longest cell takes.
fn line(cells: &[String], widths: &[usize]) -> String {
    let folded: Vec<Vec<String>> = cells.iter().zip(widths).map(|(cell, &wide)| fold(cell, wide)).collect();
    let high = folded.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let mut out = String::new();
    for at in 0..high {
        let mut text = String::new();
        for (cell, &wide) in folded.iter().zip(widths) {
            let part = cell.get(at).map_or("", String::as_str);
            text.push_str(part);
            text.push_str(&" ".repeat((wide + GAP).saturating_sub(width(part))));
        }
        out.push_str(text.trim_end());
        out.push('\n');
    }
    out
}

/// Breaks a cell at blanks, and a word that is too long for its column anywhere.
pub(super) fn fold(cell: &str, wide: usize) -> Vec<String> {
    let wide = wide.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut current = String::new();
    for word in cell.split_whitespace() {
        if !current.is_empty() && width(&current) + 1 + width(word) > wide {
            lines.push(std::mem::take(&mut current));
        }
        if !current.is_empty() {
            current.push(' ');
        }
        for letter in word.chars() {
            if width(&current) >= wide {
                lines.push(std::mem::take(&mut current));
            }
            current.push(letter);
        }
    }
    if !current.is_empty() {
        lines.push(current);
    }
    lines
}

/// Returns a list of remarks under a heading; nothing for none.
pub(crate) fn remarks(heading: &str, remarks: &[String], columns: usize) -> String {
    if remarks.is_empty() {
        return String::new();
    }
    let lines: String = remarks.iter().map(|remark| wrap(&format!("- {remark}"), columns, "  ")).collect();
    format!("{heading}\n{lines}\n")
}

#[cfg(test)]
mod tests {
    use super::Table;

    #[test]
    fn a_table_keeps_to_its_columns() {
        let mut table = Table::new(["part", "how many"]);
        table.row(["a part with a name that goes on and on".into(), "12".into()]);
        table.row(["averyveryverylongword".into(), "3".into()]);
        let text = table.draw(20);
        assert!(text.lines().all(|line| line.chars().count() <= 20), "{text}");
        assert!(text.contains("averyvery"));
        assert_eq!(text.lines().filter(|line| line.contains("12")).count(), 1);
    }
}
