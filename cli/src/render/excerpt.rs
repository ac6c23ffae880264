//! The lines of job files and rulesets that a report shows, cut to the width of the terminal.
//!
//! A job may stand in inline tables of 200 columns, and miette prints lines whole, so the excerpt is made here: the beginning of a
//! long line, which names the item, then the neighbourhood of what is pointed at. Blocks keep the order of their labels, so that
//! the place to put right comes first and the line of the ruleset second. The line index of the files makes a label cost two
//! binary searches; miette's own sources scan a file from its first byte.

use std::ops::Range;

use miette::{MietteError, SourceCode, SourceSpan, SpanContents};
use storystick_engine::source::{File, Files, Span};

use super::wrap::{lines, visible, width};

/// Lines shown before and after the one pointed at.
const AROUND: usize = 1;
/// Labels of one file that are no farther apart share a block.
const NEAR: usize = 3;
/// Columns that the words of a label get where the terminal is wide enough.
const WORDS: usize = 24;

/// What miette draws: blocks of lines from one or more files, with labels.
#[derive(Debug)]
pub(crate) struct Excerpt {
    text: String,
    blocks: Vec<Block>,
    /// Bytes of the excerpt with the words to write below them.
    pub(crate) labels: Vec<(Range<usize>, String)>,
}

#[derive(Debug)]
struct Block {
    range: Range<usize>,
    /// Zero-based number of its first line in the file.
    first: usize,
    lines: usize,
    name: String,
    /// Where labels begin: byte of the excerpt, zero-based line and column of the file.
    begins: Vec<(usize, usize, usize)>,
}

/// One label, resolved: a zero-based line and a range of bytes in it.
struct Spot<'a> {
    file: &'a File,
    line: usize,
    range: Range<usize>,
    says: &'a str,
}

impl Excerpt {
    /// Returns the excerpt that shows labels on a terminal of so many columns. Labels without a place are left out.
    pub(crate) fn of(files: &Files, labels: &[(Span, String)], columns: usize) -> Excerpt {
        let mut groups: Vec<Vec<Spot<'_>>> = Vec::new();
        for (span, says) in labels {
            let Some(spot) = spot(files, *span, says) else { continue };
            let near =
                |other: &Spot<'_>| other.file.base() == spot.file.base() && other.line.abs_diff(spot.line) <= NEAR;
            match groups.iter_mut().find(|group| group.iter().any(near)) {
                Some(group) => group.push(spot),
                None => groups.push(vec![spot]),
            }
        }
        let mut excerpt = Excerpt { text: String::new(), blocks: Vec::new(), labels: Vec::new() };
        for group in &groups {
            excerpt.add(group, columns);
        }
        excerpt
    }

    fn add(&mut self, group: &[Spot<'_>], columns: usize) {
        let Some(file) = group.first().map(|spot| spot.file) else { return };
        let least = group.iter().map(|spot| spot.line).min().unwrap_or(0);
        let most = group.iter().map(|spot| spot.line).max().unwrap_or(0);
        let first = least.saturating_sub(AROUND);
        // The empty line behind the last line end is none to show.
        let end = file.line_count() - usize::from(file.text().ends_with('\n') && file.line_count() > 1);
        let last = (most + AROUND).min(end.saturating_sub(1)).max(most);
        let room = columns.saturating_sub(last.max(1).to_string().len() + 5).max(WORDS);
        let start = self.text.len();
        let mut begins = Vec::new();
        for line in first..=last {
            let here: Vec<&Spot<'_>> = group.iter().filter(|spot| spot.line == line).collect();
            let cut = Cut::of(line_text(file, line), &here, room);
            for (spot, range) in here.iter().zip(&cut.ranges) {
                let range = self.text.len() + range.start..self.text.len() + range.end;
                let before = line_text(file, line).get(..spot.range.start).unwrap_or("");
                begins.push((range.start, line, width(before)));
                let middle = width(cut.text.get(..range.start.saturating_sub(self.text.len())).unwrap_or(""));
                let words = room.saturating_sub(middle + width(&self.shown(&cut, &range)) / 2 + 4);
                self.labels.push((range, lines(spot.says, words, "").join("\n")));
            }
            self.text.push_str(&cut.text);
            self.text.push('\n');
        }
        let range = start..self.text.len();
        self.blocks.push(Block { range, first, lines: last - first + 1, name: visible(file.name()), begins });
        // One byte that belongs to no block: miette never joins two of them.
        self.text.push('\n');
    }

    fn shown(&self, cut: &Cut, range: &Range<usize>) -> String {
        let own = range.start - self.text.len()..range.end - self.text.len();
        cut.text.get(own).unwrap_or("").to_owned()
    }
}

fn spot<'a>(files: &'a Files, span: Span, says: &'a str) -> Option<Spot<'a>> {
    let file = files.file_of(span)?;
    let offset = span.start() - file.base();
    let mut line = file.line_of(offset);
    let mut start = (offset - file.line_start(line)) as usize;
    if line > 0 && start == 0 && line_text(file, line).is_empty() && span.is_empty() {
        // Behind the last line: what is missing there is missing at the end of the line before.
        line -= 1;
        start = line_text(file, line).len();
    }
    let end = start.saturating_add(span.len() as usize).min(line_text(file, line).len());
    Some(Spot { file, line, range: start..end.max(start), says })
}

/// Returns a zero-based line without its end.
fn line_text(file: &File, line: usize) -> &str {
    let range = file.line_start(line) as usize..file.line_start(line + 1) as usize;
    file.text().get(range).unwrap_or("").trim_end_matches(['\n', '\r'])
}

/// One line as it is shown, with the bytes of its labels.
struct Cut {
    text: String,
    ranges: Vec<Range<usize>>,
}

impl Cut {
    fn of(line: &str, spots: &[&Spot<'_>], room: usize) -> Cut {
        let chars: Vec<char> = visible(&line.replace('\t', " ")).chars().collect();
        let at = |byte: usize| width(line.get(..byte).unwrap_or(line));
        let wanted: Vec<Range<usize>> = spots.iter().map(|s| at(s.range.start)..at(s.range.end)).collect();
        let (Some(from), Some(to)) = (wanted.iter().map(|r| r.start).min(), wanted.iter().map(|r| r.end).max()) else {
            return Cut { text: shortened(&chars, 0, room).iter().collect(), ranges: Vec::new() };
        };
        let words = spots.iter().map(|spot| width(spot.says)).max().unwrap_or(0).min(WORDS) + 4;
        let most = room.saturating_sub(words.min(room * 2 / 3));
        let middle = (from + to) / 2;
        if chars.len() <= room && middle <= most {
            return Cut::whole(&chars, wanted);
        }
        if middle <= most && to <= room.saturating_sub(2) {
            return Cut::whole(&shortened(&chars, 0, room), wanted);
        }
        let head = head(&chars, from, room);
        // What is pointed at stands in the middle of what is left, or farther left where its words need the columns.
        // Near the end of the line there is nothing to the right that would need them.
        let left = head + 2;
        let free = room.saturating_sub(left + (to - from));
        let lead = free.saturating_sub(chars.len() - to).max(free / 2).min(most.saturating_sub(left + (to - from) / 2));
        let start = from.saturating_sub(lead).max(head);
        let blank = chars.iter().take(from).skip(start).position(|&c| c == ' ').filter(|&at| at <= 12);
        let start = start + blank.unwrap_or(0);
        let mut text: Vec<char> = chars.iter().take(head).copied().collect();
        let gap: &[char] = if head == 0 || start == head { &['…'] } else { &[' ', '…'] };
        text.extend(gap);
        let shift = text.len();
        text.extend(shortened(&chars, start, room.saturating_sub(shift)));
        let moved = |r: Range<usize>| (r.start - start + shift).min(room)..(r.end - start + shift).min(room);
        Cut::whole(&text, wanted.into_iter().map(moved).collect())
    }

    /// Turns ranges of characters into ranges of bytes.
    fn whole(chars: &[char], ranges: Vec<Range<usize>>) -> Cut {
        let byte = |at: usize| chars.iter().take(at).map(|c| c.len_utf8()).sum::<usize>();
        let ranges = ranges.into_iter().map(|r| byte(r.start)..byte(r.end)).collect();
        Cut { text: chars.iter().collect(), ranges }
    }
}

/// Returns the characters from `start` on, at most `room`, the last of them dots where there are more.
fn shortened(chars: &[char], start: usize, room: usize) -> Vec<char> {
    let rest = chars.get(start..).unwrap_or_default();
    if rest.len() <= room {
        return rest.to_vec();
    }
    let mut cut: Vec<char> = rest.iter().take(room.saturating_sub(1)).copied().collect();
    cut.push('…');
    cut
}

/// Returns how much of the beginning of a long line is kept: up to its first comma, which in an inline table ends the id.
fn head(chars: &[char], before: usize, room: usize) -> usize {
    let comma = chars.iter().position(|&c| c == ',').map_or(0, |at| at + 1);
    if comma < before && comma <= room / 3 { comma } else { 0 }
}

/// A block as miette reads it.
struct Shown<'a> {
    data: &'a [u8],
    span: SourceSpan,
    line: usize,
    column: usize,
    lines: usize,
    name: &'a str,
}

impl<'a> SpanContents<'a> for Shown<'a> {
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

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        _after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let end = span.offset() + span.len();
        let holds = |block: &&Block| block.range.start <= span.offset() && end <= block.range.end;
        let block = self.blocks.iter().find(holds).ok_or(MietteError::OutOfBounds)?;
        // Without lines around it miette asks where a label begins, for the heading of a block.
        let begin = block.begins.iter().find(|(at, ..)| before == 0 && *at == span.offset());
        let range = if begin.is_some() { span.offset()..end } else { block.range.clone() };
        let (line, column) = begin.map_or((block.first, 0), |&(_, line, column)| (line, column));
        Ok(Box::new(Shown {
            data: self.text.as_bytes().get(range.clone()).unwrap_or_default(),
            span: (range.start, range.len()).into(),
            line,
            column,
            lines: block.lines,
            name: &block.name,
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn excerpt(text: &str, word: &str, columns: usize) -> (String, String) {
        let mut files = Files::new();
        let file = files.add("job.toml", text).unwrap();
        let at = text.find(word).unwrap();
        let labels = [(file.span(at..at + word.len()), String::from("look here"))];
        let excerpt = Excerpt::of(&files, &labels, columns);
        let range = excerpt.labels[0].0.clone();
        (excerpt.text[range].to_owned(), excerpt.text)
    }

    #[test]
    fn a_short_line_is_shown_with_its_neighbours() {
        assert_eq!(excerpt("a = 1\nb = 2\nc = 3\nd = 4\n", "2", 80), ("2".into(), "a = 1\nb = 2\nc = 3\n\n".into()));
    }

    #[test]
    fn of_a_long_line_its_beginning_and_the_place_are_shown() {
        let line = "  { id = \"C2\", circuit = \"1\", from = { at = \"B1\", first_support = \"5 in\" }, to = { at = \"B2\", first_support = \"13 in\" } },";
        for columns in [40, 60, 80, 100] {
            let (shown, text) = excerpt(&format!("cable = [\n{line}\n]\n"), "\"13 in\"", columns);
            assert_eq!(shown, "\"13 in\"", "{columns}");
            assert!(text.lines().all(|line| width(line) + 5 <= columns), "{columns}: {text}");
            assert!(columns < 60 || text.contains("  { id = \"C2\","), "{columns}: {text}");
        }
    }

    #[test]
    fn a_place_behind_the_last_line_is_shown_at_its_end() {
        let mut files = Files::new();
        let file = files.add("job.toml", "to = {\n").unwrap();
        let excerpt = Excerpt::of(&files, &[(file.span(7..7), String::from("not closed"))], 80);
        assert_eq!(excerpt.labels, [(6..6, String::from("not closed"))]);
    }

    #[test]
    fn letters_of_two_bytes_do_not_shift_the_place() {
        assert_eq!(excerpt("höhe = \"4½ ft\"\n", "4½ ft", 80).0, "4½ ft");
    }
}
