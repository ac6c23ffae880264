//! Findings and problems as diagnostics, and how they are drawn: with miette's frames, or in plain words.

use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, Severity, SourceCode, ThemeCharacters, ThemeStyles,
};
use storystick_engine::problem::{self, Problem};
use storystick_engine::source::{Files, Span};

use super::excerpt::Excerpt;
use super::wrap::{lines, visible};

/// How reports are drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look {
    /// Columns of the terminal.
    pub(crate) width: usize,
    /// Colours may be used.
    pub(crate) color: bool,
    /// No frames, nothing but words: for screen readers and logs.
    pub(crate) plain: bool,
}

/// What a report says, before anything is drawn.
#[derive(Debug)]
pub(crate) struct Drawn<'a> {
    /// Where the labels' bytes are.
    pub(crate) files: &'a Files,
    /// Rule id and citation, or nothing.
    pub(crate) code: Option<String>,
    /// The word of its weight, said where no sign is drawn: `correction`, `error`.
    pub(crate) word: &'static str,
    /// The sentence.
    pub(crate) message: String,
    /// What to do, and what else to know; each on lines of its own.
    pub(crate) help: Vec<String>,
    /// Drawn as error, warning or advice.
    pub(crate) severity: Severity,
    /// Places with their words; the first is the one to put right.
    pub(crate) labels: Vec<(Span, String)>,
}

impl<'a> Drawn<'a> {
    /// Returns a problem of the input as a report.
    pub(crate) fn problem(files: &'a Files, problem: &Problem) -> Drawn<'a> {
        let first = (problem.span, problem.label.clone());
        let others = problem.marks.iter().map(|mark| (mark.span, mark.says.clone()));
        let (severity, word) = match problem.severity {
            problem::Severity::Error => (Severity::Error, "error"),
            problem::Severity::Notice => (Severity::Advice, "note"),
        };
        Drawn {
            files,
            code: None,
            word,
            message: problem.message.clone(),
            help: problem.help.iter().flat_map(|help| help.lines()).map(str::to_owned).collect(),
            severity,
            labels: std::iter::once(first).chain(others).filter(|(span, _)| span.is_some()).collect(),
        }
    }

    /// Returns the report as text that ends with a line end.
    pub(crate) fn draw(&self, look: Look) -> String {
        if look.plain { self.plain() } else { self.framed(look) }
    }

    fn framed(&self, look: Look) -> String {
        let theme = GraphicalTheme {
            characters: ThemeCharacters::unicode(),
            styles: if look.color { ThemeStyles::ansi() } else { ThemeStyles::none() },
        };
        // The frames take four columns before the message and eight before the help. Lines are broken here rather than by
        // miette, which would part an amount from its unit and a rule's id at its hyphens.
        let broken =
            |text: &str, frame: usize, hang: &str| lines(text, look.width.saturating_sub(frame), hang).join("\n");
        // The sign before the sentence is not all that tells a caution from a correction.
        let weight = if self.severity == Severity::Error { String::new() } else { format!(" · {}", self.word) };
        let help: Vec<String> = self.help.iter().map(|help| broken(help, 8, "  ")).collect();
        let framed = Framed {
            excerpt: Excerpt::of(self.files, &self.labels, look.width),
            code: self.code.as_ref().map(|code| broken(&format!("{code}{weight}"), 0, "  ")),
            message: broken(&self.message, 4, ""),
            help: (!help.is_empty()).then(|| help.join("\n")),
            severity: self.severity,
        };
        let handler = GraphicalReportHandler::new_themed(theme)
            .with_width(look.width)
            .with_links(false)
            .with_wrap_lines(false)
            .with_context_lines(1);
        let mut text = String::new();
        match handler.render_report(&mut text, &framed) {
            Ok(()) => text.lines().map(|line| format!("{}\n", line.trim_end())).collect(),
            // Only a writer that refuses could bring this about, and a string takes everything.
            Err(fmt::Error) => self.plain(),
        }
    }

    fn plain(&self) -> String {
        let code = self.code.as_ref().map_or_else(String::new, |code| format!(" [{code}]"));
        let mut text = format!("{}{code}: {}\n", self.word, self.message);
        for (span, says) in &self.labels {
            if let Some(place) = self.files.place(*span) {
                text.push_str(&format!("  at {}:{}:{}: {says}\n", place.file, place.line, place.column));
                let line = self.files.file_of(*span).and_then(|file| file.text().lines().nth(place.line - 1));
                if let Some(line) = line {
                    text.push_str(&format!("     {}\n", line.trim()));
                }
            }
        }
        for help in &self.help {
            text.push_str(&format!("  {help}\n"));
        }
        visible(&text)
    }
}

/// A report in miette's terms, broken to its width.
#[derive(Debug)]
struct Framed {
    excerpt: Excerpt,
    code: Option<String>,
    message: String,
    help: Option<String>,
    severity: Severity,
}

impl fmt::Display for Framed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Framed {}

impl Diagnostic for Framed {
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
        (!self.excerpt.labels.is_empty()).then_some(&self.excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let labels = self
            .excerpt
            .labels
            .iter()
            .map(|(range, says)| LabeledSpan::new(Some(says.clone()), range.start, range.len()));
        Some(Box::new(labels))
    }
}
