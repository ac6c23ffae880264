//! Lines that fit a terminal.

/// Returns how many columns a text takes; every character counts as one, which holds for what this program prints.
pub fn width(text: &str) -> usize {
    text.chars().count()
}

/// Breaks a text at blanks into lines of at most `columns`, each after the first beginning with `hang`. Ends with a line end.
pub fn wrap(text: &str, columns: usize, hang: &str) -> String {
    let columns = columns.max(20);
    let mut out = String::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let room = if line.trim_end().is_empty() { 0 } else { width(&line) + 1 };
        if room > 0 && room + width(word) > columns {
            out.push_str(line.trim_end());
            out.push('\n');
            line = hang.to_owned();
            line.push_str(word);
        } else {
            if room > 0 {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

/// Lays rows out in columns that fit a width: the last column of a row is cut to whole words on further lines.
pub fn columns(rows: &[Vec<String>], total: usize) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count)
        .map(|at| rows.iter().filter_map(|row| row.get(at)).map(|cell| width(cell)).max().unwrap_or(0))
        .collect();
    let mut out = String::new();
    for row in rows {
        let mut line = String::from(" ");
        for (at, cell) in row.iter().enumerate() {
            line.push(' ');
            line.push_str(cell);
            let pad = widths.get(at).copied().unwrap_or(0).saturating_sub(width(cell));
            line.push_str(&" ".repeat(pad));
            line.push(' ');
        }
        let line = line.trim_end();
        if width(line) <= total {
            out.push_str(line);
            out.push('\n');
        } else {
            // Too wide for a table: as running words.
            let words: Vec<&str> = row.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect();
            out.push_str(
                &wrap(&format!("  {}", words.join(" · ")), total.saturating_sub(2), "    ").replacen("", "  ", 1),
            );
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_hang() {
        assert_eq!(wrap("one two three four five six", 20, "  "), "one two three four\n  five six\n");
        assert_eq!(wrap("", 20, "  "), "\n");
        assert_eq!(wrap("averyverylongwordthatdoesnotfit x", 20, ""), "averyverylongwordthatdoesnotfit\nx\n");
    }

    #[test]
    fn columns_line_up_or_become_words() {
        let rows = vec![vec!["a".into(), "bb".into()], vec!["ccc".into(), "d".into()]];
        assert_eq!(columns(&rows, 80), "  a    bb\n  ccc  d\n");
        assert_eq!(columns(&rows, 6), "  a · bb\n  ccc · d\n");
    }
}
