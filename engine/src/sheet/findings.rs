//! Lines of job files and rulesets as papers quote them.

use crate::source::{Files, Span};

/// A line of a file, as quoted beside a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceLine {
    /// The file's name.
    pub file: String,
    /// One-based line.
    pub line: usize,
    /// The line up to the place that is meant, without its indentation.
    pub before: String,
    /// The place that is meant.
    pub meant: String,
    /// The rest of the line.
    pub after: String,
}

/// Longest quotation, in characters; a line beyond it is cut at both ends.
const LONGEST: usize = 160;

/// Returns the line at which a place begins.
pub fn source_line(files: &Files, span: Span) -> Option<SourceLine> {
    let file = files.file_of(span)?;
    let offset = span.start() - file.base();
    let line = file.line_of(offset);
    let (from, to) = (file.line_start(line) as usize, file.line_start(line + 1) as usize);
    let whole = file.text().get(from..to)?.trim_end_matches(['\n', '\r']);
    let at = (offset as usize - from).min(whole.len());
    let end = (at + span.len() as usize).min(whole.len());
    let (before, meant, after) = (whole.get(..at)?, whole.get(at..end)?, whole.get(end..)?);
    Some(SourceLine {
        file: file.name().to_owned(),
        line: line + 1,
        before: cut_front(before.trim_start()),
        meant: meant.to_owned(),
        after: cut_back(after),
    })
}

fn cut_front(text: &str) -> String {
    let count = text.chars().count();
    if count <= LONGEST / 2 {
        return text.to_owned();
    }
    std::iter::once('…').chain(text.chars().skip(count - LONGEST / 2)).collect()
}

fn cut_back(text: &str) -> String {
    if text.chars().count() <= LONGEST / 2 {
        return text.to_owned();
    }
    text.chars().take(LONGEST / 2).chain(std::iter::once('…')).collect()
}
