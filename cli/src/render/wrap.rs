//! Lines that fit a terminal.

use std::borrow::Cow;

/// Returns how many columns a text takes; every character counts as one, which holds for what this program prints.
pub(crate) fn width(text: &str) -> usize {
    text.chars().count()
}

/// Returns a text in which nothing can steer a terminal: a job file may hold any character.
pub(crate) fn visible(text: &str) -> String {
    harmless(text).into_owned()
}

fn harmless(text: &str) -> Cow<'_, str> {
    let steers = |c: char| c.is_control() && c != '\n';
    match text.contains(steers) {
        true => Cow::Owned(text.replace(steers, "\u{fffd}")),
        false => Cow::Borrowed(text),
    }
}

/// Breaks a text at blanks into lines of at most `columns`, each after the first beginning with `hang`. Ends with a line end.
pub(crate) fn wrap(text: &str, columns: usize, hang: &str) -> String {
    let mut out = lines(text, columns, hang).join("\n");
    out.push('\n');
    out
}

/// Breaks a text as [`wrap`] does and moves all of it to the right.
pub(crate) fn indented(text: &str, columns: usize, by: usize, hang: &str) -> String {
    let room = columns.saturating_sub(by);
    lines(text, room, hang).iter().map(|line| format!("{}{line}\n", " ".repeat(by))).collect()
}

/// Breaks a text at blanks into lines of at most `columns`, each after the first beginning with `hang`.
pub(crate) fn lines(text: &str, columns: usize, hang: &str) -> Vec<String> {
    let columns = columns.max(12);
    let mut lines = Vec::new();
    let mut line = String::new();
    // Columns of the line so far, and whether it holds nothing but blanks.
    let (mut used, mut bare) = (0, true);
    for word in words(&harmless(text)) {
        let room = width(&word);
        if !bare && used + 1 + room > columns {
            lines.push(std::mem::replace(&mut line, hang.to_owned()));
            used = width(hang);
        } else if !bare {
            line.push(' ');
            used += 1;
        }
        line.push_str(&word);
        used += room;
        bare = false;
    }
    lines.push(line);
    lines
}

/// A blank at which no line is broken.
pub(crate) const GLUE: char = '\u{a0}';

/// Splits a text at blanks, but not between an amount and its unit, nor where blanks are [`GLUE`].
fn words(text: &str) -> Vec<Cow<'_, str>> {
    let mut words: Vec<Cow<'_, str>> = Vec::new();
    let blank = |c: char| c.is_whitespace() && c != GLUE;
    for word in text.split(blank).filter(|word| !word.is_empty()) {
        let word = match word.contains(GLUE) {
            true => Cow::Owned(word.replace(GLUE, " ")),
            false => Cow::Borrowed(word),
        };
        let unit = word.chars().take_while(|c| c.is_alphanumeric()).count() <= 3
            && word.starts_with(|c: char| c.is_alphabetic() || c == '%');
        match words.last_mut() {
            Some(before) if unit && amount(before) => {
                let before = before.to_mut();
                before.push(' ');
                before.push_str(&word);
            }
            _ => words.push(word),
        }
    }
    words
}

/// Returns whether a word is a number, a fraction included, and nothing else.
fn amount(word: &str) -> bool {
    word.ends_with(|c: char| c.is_ascii_digit()) && word.chars().all(|c| c.is_ascii_digit() || "./-(".contains(c))
}

/// Lays rows out in columns that fit a width. The last column is broken to whole words below itself where there is room for it;
/// otherwise every row becomes running words.
pub(crate) fn columns(rows: &[Vec<String>], total: usize) -> String {
    const GAP: usize = 2;
    const LEAST: usize = 24;
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count)
        .map(|at| rows.iter().filter_map(|row| row.get(at)).map(|cell| width(cell)).max().unwrap_or(0))
        .collect();
    let before: usize = widths.iter().take(count.saturating_sub(1)).map(|width| width + GAP).sum::<usize>() + GAP;
    let last = widths.last().copied().unwrap_or(0);
    if before + last.min(LEAST) > total {
        let line = |row: &Vec<String>| {
            let words: Vec<&str> = row.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect();
            indented(&words.join(" · "), total, GAP, "  ")
        };
        return rows.iter().map(line).collect();
    }
    let mut out = String::new();
    for row in rows {
        let mut line = " ".repeat(GAP);
        for (cell, width_of) in row.iter().zip(&widths).take(count.saturating_sub(1)) {
            line.push_str(&visible(cell));
            line.push_str(&" ".repeat(width_of.saturating_sub(width(cell)) + GAP));
        }
        let tail = row.get(count.saturating_sub(1)).map_or("", String::as_str);
        for (at, part) in lines(tail, total.saturating_sub(before), "").iter().enumerate() {
            let start = if at == 0 { line.clone() } else { " ".repeat(before) };
            out.push_str(format!("{start}{part}").trim_end());
            out.push('\n');
        }
    }
    out
}

/// Compares names as people sort them: numbers in them by value, letters of either case together.
pub(crate) fn natural(a: &str, b: &str) -> std::cmp::Ordering {
    parts(a).cmp(&parts(b)).then_with(|| a.cmp(b))
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Number(u64),
    Text(String),
}

fn parts(text: &str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let digits = first.is_ascii_digit();
        let end = rest.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(rest.len());
        let (part, after) = rest.split_at(end);
        parts.push(match part.parse() {
            Ok(number) if digits => Part::Number(number),
            _ => Part::Text(part.to_lowercase()),
        });
        rest = after;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_hang() {
        assert_eq!(wrap("one two three four five six", 20, "  "), "one two three four\n  five six\n");
        assert_eq!(wrap("", 20, "  "), "\n");
        assert_eq!(wrap("averyverylongwordthatdoesnotfit x", 20, ""), "averyverylongwordthatdoesnotfit\nx\n");
        assert_eq!(indented("one two three four five six", 22, 2, "  "), "  one two three four\n    five six\n");
    }

    #[test]
    fn an_amount_keeps_its_unit() {
        assert_eq!(wrap("it is a good deal of 20 A here", 22, ""), "it is a good deal of\n20 A here\n");
        assert_eq!(wrap("the tail is 12 1/2 in, too short", 20, ""), "the tail is 12\n1/2 in, too short\n");
    }

    #[test]
    fn columns_line_up_and_the_last_one_breaks_below_itself() {
        let rows = vec![vec!["a".into(), "bb".into()], vec!["ccc".into(), "d".into()]];
        assert_eq!(columns(&rows, 80), "  a    bb\n  ccc  d\n");
        let rows = vec![vec!["a".into(), "one two three four five six seven".into()]];
        assert_eq!(columns(&rows, 30), "  a  one two three four five\n     six seven\n");
        assert_eq!(columns(&rows, 20), "  a · one two three\n    four five six\n    seven\n");
    }

    #[test]
    fn names_sort_as_people_count() {
        let mut names = vec!["C10", "C9/to", "c2", "B1", "C9/from"];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(names, ["B1", "c2", "C9/from", "C9/to", "C10"]);
    }

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(visible("a\u{1b}[31mb\n"), "a\u{fffd}[31mb\n");
    }
}
