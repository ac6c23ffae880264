//! A class and its marks, as text and for a spreadsheet.

use super::wrap::{columns, indented, visible, wrap};

/// A graded class.
#[derive(Debug)]
pub(crate) struct Class {
    /// Heading.
    pub(crate) title: String,
    /// Competencies that somebody showed: id and title.
    pub(crate) competencies: Vec<(String, String)>,
    /// A sheet for each trainee.
    pub(crate) sheets: Vec<Sheet>,
}

/// The marks of a trainee.
#[derive(Debug)]
pub(crate) struct Sheet {
    /// Who.
    pub(crate) name: String,
    /// What could not be graded and why.
    pub(crate) notes: Vec<String>,
    /// Marks, in the order of the rubric.
    pub(crate) marks: Vec<Mark>,
}

/// The mark of a competency.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mark {
    pub(crate) competency: String,
    pub(crate) title: String,
    pub(crate) weight: f64,
    /// Between 0 and 1.
    pub(crate) share: f64,
    pub(crate) found: Vec<String>,
    pub(crate) missed: Vec<String>,
    pub(crate) false_calls: Vec<String>,
    /// Lines of workings, right and wrong.
    pub(crate) working: Vec<String>,
}

/// What stands below every report.
pub(crate) const NOTICE: &str = "Marks are an aid for the trainer, who decides. What is right here is right by the rulesets in force; local code decides.";

/// Returns a share in whole percent.
pub(crate) fn percent(share: f64) -> i64 {
    (share * 100.0).round() as i64
}

impl Class {
    /// Returns how many trainees there are, in words.
    pub(crate) fn counted(&self) -> String {
        match self.sheets.len() {
            1 => String::from("1 trainee"),
            count => format!("{count} trainees"),
        }
    }
}

impl Sheet {
    /// Returns the mark over all competencies shown, by their weights; none where nothing is shown.
    pub(crate) fn total(&self) -> Option<f64> {
        let weights: f64 = self.marks.iter().map(|mark| mark.weight).sum();
        let got: f64 = self.marks.iter().map(|mark| mark.weight * mark.share).sum();
        (weights > 0.0).then(|| got / weights)
    }

    /// Returns the mark of a competency in whole percent, or a dash.
    pub(crate) fn of(&self, id: &str) -> String {
        let mark = self.marks.iter().find(|mark| mark.competency == id);
        mark.map_or_else(|| String::from("–"), |mark| percent(mark.share).to_string())
    }

    /// Returns the mark over all in whole percent, or a dash.
    pub(crate) fn over_all(&self) -> String {
        self.total().map_or_else(|| String::from("–"), |share| percent(share).to_string())
    }
}

/// Returns how many trainees have room beside each other: after the longest competency, each takes its number or its mark and a gap.
fn side_by_side(class: &Class, columns: usize) -> usize {
    let first = class.competencies.iter().map(|(id, _)| id.chars().count()).chain(["all, weighted".len()]).max();
    let each = format!("[{}]", class.sheets.len()).len().max(3) + 2;
    (columns.saturating_sub(2 + first.unwrap_or(0)) / each).max(1)
}

/// Returns the report for people: the class by competency in percent, then a sheet for each trainee.
pub(crate) fn text(class: &Class, width: usize) -> String {
    let mut text = format!("{} — {}, in percent\n\n", class.title, class.counted());
    let numbered: Vec<(usize, &Sheet)> = class.sheets.iter().enumerate().map(|(at, sheet)| (at + 1, sheet)).collect();
    // A table wider than the terminal can't be read: a large class stands in several, one below the other.
    for (at, some) in numbered.chunks(side_by_side(class, width)).enumerate() {
        if at > 0 {
            text.push('\n');
        }
        let row = |heading: &str, cell: &dyn Fn(usize, &Sheet) -> String| -> Vec<String> {
            std::iter::once(heading.to_owned()).chain(some.iter().map(|&(at, sheet)| cell(at, sheet))).collect()
        };
        let mut rows = vec![row("competency", &|at, _| format!("[{at}]"))];
        rows.extend(class.competencies.iter().map(|(id, _)| row(id, &|_, sheet| sheet.of(id))));
        rows.push(row("all, weighted", &|_, sheet| sheet.over_all()));
        text.push_str(&columns(&rows, width));
    }
    for (at, sheet) in class.sheets.iter().enumerate() {
        text.push_str(&format!("\n[{}] {} — {} %\n", at + 1, visible(&sheet.name), sheet.over_all()));
        for note in &sheet.notes {
            text.push_str(&indented(note, width, 2, "  "));
        }
        for mark in &sheet.marks {
            let head = format!(
                "{} {} %: {} ({} found, {} missed, {} false)",
                mark.competency,
                percent(mark.share),
                mark.title,
                mark.found.len(),
                mark.missed.len(),
                mark.false_calls.len()
            );
            text.push_str(&indented(&head, width, 2, "  "));
            for (word, list) in [("missed", &mark.missed), ("false", &mark.false_calls), ("working", &mark.working)] {
                for line in list {
                    text.push_str(&indented(&format!("{word}: {}", visible(line)), width, 4, "  "));
                }
            }
        }
    }
    text.push('\n');
    text.push_str(&wrap(NOTICE, width, ""));
    text
}

/// Returns a row for each trainee and competency, and one for the whole, after RFC 4180.
pub(crate) fn csv(class: &Class) -> String {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut put = |cells: [&str; 8]| {
        // A cell that a spreadsheet would run as a formula is kept a text.
        let safe =
            cells.map(|cell| if cell.starts_with(['=', '+', '-', '@']) { format!("'{cell}") } else { cell.to_owned() });
        // Writing to memory does not fail.
        let _ = writer.write_record(safe);
    };
    put(["trainee", "competency", "weight", "percent", "found", "missed", "false_calls", "what"]);
    for sheet in &class.sheets {
        for mark in &sheet.marks {
            let what: Vec<String> = mark.missed.iter().chain(&mark.false_calls).map(|line| visible(line)).collect();
            put([
                &sheet.name,
                &mark.competency,
                &mark.weight.to_string(),
                &percent(mark.share).to_string(),
                &mark.found.len().to_string(),
                &mark.missed.len().to_string(),
                &mark.false_calls.len().to_string(),
                &what.join("; "),
            ]);
        }
        let all = sheet.total().map(|share| percent(share).to_string()).unwrap_or_default();
        put([&sheet.name, "all", "", &all, "", "", "", &sheet.notes.join("; ")]);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}
