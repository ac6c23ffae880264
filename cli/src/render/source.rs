//! Serves miette the files of a run through their line index.
//!
//! miette's own source scans a file from its first byte for every label; here a label costs two binary searches. All files
//! share one address space, so one report can show the job file and the ruleset line together.

use miette::{MietteError, SourceCode, SourceSpan, SpanContents};
use storystick_engine::source::{Files, Span};

/// A borrowed view of the files that miette can read.
///
/// miette shows snippets in the order of their offsets. What has to be put right stands in the job file, the last of the files,
/// so the view turns the order of the files round: the last comes first.
#[derive(Debug)]
pub struct Indexed<'a>(pub &'a Files);

/// The files but the last are shown behind this offset.
const BEHIND: usize = 1 << 40;

impl Indexed<'_> {
    /// Returns the offset at which miette is to see a place.
    pub fn offset(&self, span: Span) -> usize {
        let start = span.start() as usize;
        if start >= self.last() { start } else { start + BEHIND }
    }

    fn last(&self) -> usize {
        self.0.iter().last().map_or(0, |file| file.base() as usize)
    }
}

/// One cut of one file.
struct Cut<'a> {
    data: &'a [u8],
    span: SourceSpan,
    line: usize,
    column: usize,
    lines: usize,
    name: &'a str,
}

impl<'a> SpanContents<'a> for Cut<'a> {
    fn data(&self) -> &'a [u8] {
        self.data
    }

    fn span(&self) -> &SourceSpan {
        &self.span
    }

    fn line(&self) -> usize {
        self.line
    }

    fn column(&self) -> usize {
        self.column
    }

    fn line_count(&self) -> usize {
        self.lines
    }

    fn name(&self) -> Option<&str> {
        Some(self.name)
    }

    fn language(&self) -> Option<&str> {
        None
    }
}

impl SourceCode for Indexed<'_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let shift = if span.offset() >= BEHIND { BEHIND } else { 0 };
        let start = u32::try_from(span.offset() - shift).map_err(|_| MietteError::OutOfBounds)?;
        let len = u32::try_from(span.len()).map_err(|_| MietteError::OutOfBounds)?;
        // A span that would cross two files is refused: miette then draws two snippets instead of one.
        let file = self.0.file_of(Span::new(start, len)).ok_or(MietteError::OutOfBounds)?;
        let from = start - file.base();
        let first = file.line_of(from).saturating_sub(before);
        let last = (file.line_of(from + len) + after).min(file.line_count() - 1);
        let begin = file.line_start(first) as usize;
        let mut end = if last + 1 < file.line_count() { file.line_start(last + 1) as usize } else { file.text().len() };
        // The line end of the last line is not part of it.
        while end > begin
            && matches!(file.text().as_bytes().get(end - 1), Some(b'\n' | b'\r'))
            && end > (from + len) as usize
        {
            end -= 1;
        }
        Ok(Box::new(Cut {
            data: file.text().as_bytes().get(begin..end).unwrap_or_default(),
            span: (file.base() as usize + begin + shift, end - begin).into(),
            line: first,
            column: 0,
            lines: last - first + 1,
            name: file.name(),
        }))
    }
}
