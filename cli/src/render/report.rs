//! Findings and problems as miette diagnostics, and how they are drawn.

use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, Severity, SourceCode, ThemeCharacters, ThemeStyles,
};
use storystick_engine::problem::{self, Problem};
use storystick_engine::source::{Files, Span};

use super::source::Indexed;

/// How reports are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Columns of the terminal.
    pub width: usize,
    /// Colours may be used.
    pub color: bool,
    /// No frames, nothing but words: for screen readers and logs.
    pub plain: bool,
}

/// A diagnostic in miette's terms.
#[derive(Debug)]
pub struct Drawn<'a> {
    /// Where the labels' bytes are.
    pub files: Indexed<'a>,
    /// Rule id and citation, or nothing.
    pub code: Option<String>,
    /// The sentence.
    pub message: String,
    /// What to do, and what else to know.
    pub help: Option<String>,
    /// Drawn as error, warning or advice.
    pub severity: Severity,
    /// Places with their words; the first is the one to put right.
    pub labels: Vec<(Span, String)>,
}

impl<'a> Drawn<'a> {
    /// Returns a problem of the input as a diagnostic.
    pub fn problem(files: &'a Files, problem: &Problem) -> Drawn<'a> {
        let first = (problem.span, problem.label.clone());
        let others = problem.marks.iter().map(|mark| (mark.span, mark.says.clone()));
        Drawn {
            files: Indexed(files),
            code: None,
            message: problem.message.clone(),
            help: problem.help.clone(),
            severity: match problem.severity {
                problem::Severity::Error => Severity::Error,
                problem::Severity::Notice => Severity::Advice,
            },
            labels: std::iter::once(first).chain(others).filter(|(span, _)| span.is_some()).collect(),
        }
    }

    /// Returns the diagnostic as text that ends with a line end.
    pub fn draw(&self, look: Look) -> String {
        if look.plain { self.plain() } else { self.framed(look) }
    }

    fn framed(&self, look: Look) -> String {
        let theme = GraphicalTheme {
            characters: ThemeCharacters::unicode(),
            styles: if look.color { ThemeStyles::ansi() } else { ThemeStyles::none() },
        };
        let mut text = String::new();
        let handler = GraphicalReportHandler::new_themed(theme)
            .with_width(look.width.max(40))
            .with_links(false)
            .with_context_lines(1);
        match handler.render_report(&mut text, self) {
            Ok(()) => text,
            // Only a writer that refuses could bring this about, and a string takes everything.
            Err(fmt::Error) => self.plain(),
        }
    }

    fn plain(&self) -> String {
        let word = match self.severity {
            Severity::Error => "correction",
            Severity::Warning => "caution",
            Severity::Advice => "note",
        };
        let code = self.code.as_ref().map_or_else(String::new, |code| format!(" [{code}]"));
        let mut text = format!("{word}{code}: {}\n", self.message);
        for (span, says) in &self.labels {
            if let Some(place) = self.files.0.place(*span) {
                text.push_str(&format!("  at {}:{}:{}: {says}\n", place.file, place.line, place.column));
                if let Some(line) = self.files.0.file_of(*span).and_then(|file| file.text().lines().nth(place.line - 1))
                {
                    text.push_str(&format!("     {}\n", line.trim()));
                }
            }
        }
        for line in self.help.iter().flat_map(|help| help.lines()) {
            text.push_str(&format!("  {line}\n"));
        }
        text
    }
}

impl fmt::Display for Drawn<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Drawn<'_> {}

impl Diagnostic for Drawn<'_> {
    fn code<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        self.code.as_ref().map(|code| Box::new(code) as Box<dyn fmt::Display>)
    }

    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn help<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.files)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let labels = self
            .labels
            .iter()
            .map(|(span, says)| LabeledSpan::new(Some(says.clone()), self.files.offset(*span), span.len() as usize));
        Some(Box::new(labels))
    }
}
