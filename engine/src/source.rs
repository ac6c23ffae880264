//! Files and places in them.
//!
//! All files of a run lie end to end in one address space, so that a place is eight bytes and names its
//! file by itself. Rulesets are read once and shared; each job lays its own file behind them.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

/// A place in some file: a range of bytes in the joined address space of a [`Files`] store.
///
/// [`Span::NONE`] stands for "written nowhere"; it is how an unrecorded value looks.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    start: u32,
    len: u32,
}

impl Span {
    /// No place at all.
    pub const NONE: Span = Span { start: 0, len: 0 };

    /// The mark of a value that the job format itself supplies: known, but written in no file.
    pub const DEFAULT: Span = Span { start: 0, len: 1 };

    /// Returns the place that begins at `start` and is `len` bytes long.
    pub const fn new(start: u32, len: u32) -> Span {
        Span { start, len }
    }

    /// Returns whether this is a real place. Offset 0 is never used by a file.
    pub const fn is_some(self) -> bool {
        self.start != 0
    }

    /// Returns whether this is no place in a file: [`Span::NONE`] or [`Span::DEFAULT`].
    pub const fn is_none(self) -> bool {
        self.start == 0
    }

    /// Returns the first byte, in the joined address space.
    pub const fn start(self) -> u32 {
        self.start
    }

    /// Returns the length in bytes.
    pub const fn len(self) -> u32 {
        self.len
    }

    /// Returns whether the place is empty (a point between two bytes, or no place).
    pub const fn is_empty(self) -> bool {
        self.len == 0
    }

    /// Returns the byte after the last one, in the joined address space.
    pub const fn end(self) -> u32 {
        self.start + self.len
    }
}

impl std::fmt::Debug for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}+{}", self.start, self.len)
    }
}

/// The text of a file, held without a copy where somebody else holds it already.
#[derive(Clone, Debug)]
pub enum Text {
    /// Part of the program.
    Static(&'static str),
    /// Shared with others.
    Shared(Arc<str>),
}

impl Text {
    /// Returns the text.
    pub fn as_str(&self) -> &str {
        match self {
            Text::Static(text) => text,
            Text::Shared(text) => text,
        }
    }
}

impl From<Cow<'static, str>> for Text {
    fn from(text: Cow<'static, str>) -> Text {
        match text {
            Cow::Borrowed(text) => Text::Static(text),
            Cow::Owned(text) => Text::from(text),
        }
    }
}

impl From<Arc<str>> for Text {
    fn from(text: Arc<str>) -> Text {
        Text::Shared(text)
    }
}

impl From<String> for Text {
    fn from(text: String) -> Text {
        Text::Shared(Arc::from(text))
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text::Shared(Arc::from(text))
    }
}

/// One file: its name as the user knows it, its text, and where its lines begin.
#[derive(Debug)]
pub struct File {
    name: String,
    text: Text,
    base: u32,
    /// Most files of a run are never pointed at: their lines are counted when somebody asks.
    lines: OnceLock<Vec<u32>>,
}

impl File {
    fn new(name: String, text: Text, base: u32) -> File {
        File { name, text, base, lines: OnceLock::new() }
    }

    fn lines(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            let breaks = self.text().bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
            std::iter::once(0).chain(breaks.map(|(at, _)| at as u32 + 1)).collect()
        })
    }

    /// Returns the name the file was added under: a path, or `ruleset:PATH` for a shipped one.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the whole text.
    pub fn text(&self) -> &str {
        self.text.as_str()
    }

    /// Returns where the file begins in the joined address space.
    pub fn base(&self) -> u32 {
        self.base
    }

    /// Returns the place of a range of this file's own bytes.
    pub fn span(&self, range: Range<usize>) -> Span {
        Span::new(self.base + range.start as u32, range.len() as u32)
    }

    /// Returns the zero-based line that holds a byte of this file.
    pub fn line_of(&self, offset: u32) -> usize {
        self.lines().partition_point(|&start| start <= offset).saturating_sub(1)
    }

    /// Returns the byte at which a zero-based line begins, or the end of the text past the last line.
    pub fn line_start(&self, line: usize) -> u32 {
        self.lines().get(line).copied().unwrap_or(self.text().len() as u32)
    }

    /// Returns how many lines the file has.
    pub fn line_count(&self) -> usize {
        self.lines().len()
    }

    fn end(&self) -> u32 {
        self.base + self.text().len() as u32
    }
}

/// A place as people count: file name, one-based line, one-based column in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place<'f> {
    /// The file's name.
    pub file: &'f str,
    /// One-based line.
    pub line: usize,
    /// One-based column, counted in characters.
    pub column: usize,
}

/// The files of a run. Cloning is cheap: files are shared, those before [`Files::share`] as one.
#[derive(Clone, Debug, Default)]
pub struct Files {
    shared: Arc<Vec<Arc<File>>>,
    own: Vec<Arc<File>>,
}

/// The whole text of all files may not pass 4 GiB, the reach of a [`Span`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooMuchText;

impl std::fmt::Display for TooMuchText {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the files of one run hold more than 4 GiB of text")
    }
}

impl std::error::Error for TooMuchText {}

impl Files {
    /// Returns an empty store.
    pub fn new() -> Files {
        Files::default()
    }

    /// Adds a file behind those already there.
    ///
    /// # Errors
    /// [`TooMuchText`] when the joined text would pass 4 GiB.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<Text>) -> Result<Arc<File>, TooMuchText> {
        let text = text.into();
        // One byte between two files, so that an empty file still has a place of its own.
        let base = self.own.last().or(self.shared.last()).map_or(1, |last| last.end() + 1);
        if u64::from(base) + text.as_str().len() as u64 + 1 >= u64::from(u32::MAX) {
            return Err(TooMuchText);
        }
        let file = Arc::new(File::new(name.into(), text, base));
        self.own.push(Arc::clone(&file));
        Ok(file)
    }

    /// Makes the files that are there now one piece, so that a clone of the store counts one reference and not one for each.
    pub fn share(&mut self) {
        if !self.own.is_empty() {
            let all = self.shared.iter().cloned().chain(self.own.drain(..)).collect();
            self.shared = Arc::new(all);
        }
    }

    /// Returns the file that holds a place.
    pub fn file_of(&self, span: Span) -> Option<&File> {
        if span.is_none() {
            return None;
        }
        let before = |files: &[Arc<File>]| files.partition_point(|file| file.base <= span.start);
        let file = match before(&self.own) {
            0 => self.shared.get(before(&self.shared).checked_sub(1)?)?,
            behind => self.own.get(behind - 1)?,
        };
        (span.end() <= file.end()).then_some(file)
    }

    /// Returns the text at a place, or nothing for no place.
    pub fn text(&self, span: Span) -> &str {
        self.file_of(span).map_or("", |file| {
            let range = self.range_in(file, span);
            file.text().get(range).unwrap_or("")
        })
    }

    /// Returns a place as people count it.
    pub fn place(&self, span: Span) -> Option<Place<'_>> {
        let file = self.file_of(span)?;
        let offset = span.start - file.base;
        let line = file.line_of(offset);
        let before = file.text().get(file.line_start(line) as usize..offset as usize).unwrap_or("");
        Some(Place { file: &file.name, line: line + 1, column: before.chars().count() + 1 })
    }

    /// Returns all files, in the order they were added.
    pub fn iter(&self) -> impl Iterator<Item = &File> {
        self.shared.iter().chain(&self.own).map(Arc::as_ref)
    }

    fn range_in(&self, file: &File, span: Span) -> Range<usize> {
        (span.start - file.base) as usize..(span.end() - file.base) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_names_its_file_line_and_column() {
        let mut files = Files::new();
        let first = files.add("a.toml", "one\ntwo ½ three\n").unwrap();
        let second = files.add("b.toml", "").unwrap();
        let third = files.add("c.toml", "x").unwrap();
        let at = first.text().find("three").unwrap();
        let span = first.span(at..at + 5);
        assert_eq!(files.text(span), "three");
        assert_eq!(files.place(span), Some(Place { file: "a.toml", line: 2, column: 7 }));
        assert_eq!(files.file_of(second.span(0..0)).map(File::name), Some("b.toml"));
        assert_eq!(files.text(third.span(0..1)), "x");
    }

    #[test]
    fn files_that_became_one_piece_are_found_as_before() {
        let mut files = Files::new();
        let first = files.add("a", "one\n").unwrap();
        let second = files.add("b", "two").unwrap();
        files.share();
        let mut copy = files.clone();
        let third = copy.add("c", Arc::<str>::from("x\nthree")).unwrap();
        files.share();
        assert_eq!(copy.iter().map(File::name).collect::<Vec<_>>(), ["a", "b", "c"]);
        assert_eq!(files.iter().count(), 2);
        for (file, text) in [(&first, "one\n"), (&second, "two"), (&third, "x\nthree")] {
            assert_eq!(copy.text(file.span(0..text.len())), text);
        }
        assert_eq!(copy.place(third.span(2..7)), Some(Place { file: "c", line: 2, column: 1 }));
        assert!(files.file_of(third.span(0..1)).is_none());
    }

    #[test]
    fn no_place_has_no_file_and_a_place_across_two_files_is_refused() {
        let mut files = Files::new();
        let first = files.add("a", "abc").unwrap();
        files.add("b", "def").unwrap();
        assert!(files.file_of(Span::NONE).is_none());
        assert!(files.file_of(Span::new(first.base() + 2, 4)).is_none());
        assert_eq!(files.text(Span::NONE), "");
    }
}
