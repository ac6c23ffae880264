//! Worksheets: the lines behind a computed figure.

use super::Known;
use super::given::Traced;
use crate::quantity::Quantity;
use crate::source::Span;

/// One line of a worksheet: what, how many, how much each, how much together, by which requirement, from where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What the line is for.
    pub what: String,
    /// How many, where there are several; or the factor that `each` is taken by.
    pub count: Option<Quantity>,
    /// How much each.
    pub each: Option<Quantity>,
    /// How much together.
    pub total: Option<Quantity>,
    /// Citation of the requirement behind it.
    pub cite: Option<String>,
    /// The places in job and rulesets that its figures come from.
    pub from: Vec<Span>,
}

impl Line {
    /// Returns a line with nothing but its text.
    pub fn new(what: impl Into<String>) -> Line {
        Line { what: what.into(), count: None, each: None, total: None, cite: None, from: Vec::new() }
    }

    /// Sets how many.
    #[must_use]
    pub fn count(mut self, count: Quantity) -> Line {
        self.count = Some(count);
        self
    }

    /// Sets how much each.
    #[must_use]
    pub fn each(mut self, each: Quantity) -> Line {
        self.each = Some(each);
        self
    }

    /// Sets how much together.
    #[must_use]
    pub fn total(mut self, total: Quantity) -> Line {
        self.total = Some(total);
        self
    }

    /// Sets the citation and adds the line of the ruleset, from a value of the code.
    #[must_use]
    pub fn by(mut self, known: Known<'_>) -> Line {
        self.cite = Some(String::from(known.cite)).filter(|cite| !cite.is_empty());
        self.at(known.span)
    }

    /// Adds a place.
    #[must_use]
    pub fn at(mut self, span: Span) -> Line {
        if span.is_some() && !self.from.contains(&span) {
            self.from.push(span);
        }
        self
    }

    /// Adds the place of a value.
    #[must_use]
    pub fn of(self, traced: Traced) -> Line {
        self.at(traced.span)
    }

    /// Adds several places.
    #[must_use]
    pub fn all(self, spans: impl IntoIterator<Item = Span>) -> Line {
        spans.into_iter().fold(self, Line::at)
    }
}

/// The worksheet that a computation writes on, or none where only the figure is wanted.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    lines: Option<Vec<Line>>,
}

impl Sheet {
    /// Returns an empty worksheet.
    pub fn new() -> Sheet {
        Sheet { lines: Some(Vec::new()) }
    }

    /// Returns a worksheet that keeps nothing.
    pub fn none() -> Sheet {
        Sheet { lines: None }
    }

    /// Returns a worksheet that keeps its lines only if `wanted`.
    pub fn wanted(wanted: bool) -> Sheet {
        if wanted { Sheet::new() } else { Sheet::none() }
    }

    /// Writes a line, if anybody will read it.
    pub fn line(&mut self, line: impl FnOnce() -> Line) {
        if let Some(lines) = &mut self.lines {
            lines.push(line());
        }
    }

    /// Returns whether anybody will read the lines.
    pub fn is_wanted(&self) -> bool {
        self.lines.is_some()
    }

    /// Writes all lines of another worksheet.
    pub fn append(&mut self, other: Sheet) {
        if let Some(lines) = &mut self.lines {
            lines.extend(other.into_lines());
        }
    }

    /// Returns the lines.
    pub fn into_lines(self) -> Vec<Line> {
        self.lines.unwrap_or_default()
    }

    /// Returns the lines so far.
    pub fn lines(&self) -> &[Line] {
        self.lines.as_deref().unwrap_or(&[])
    }
}
