//! The book of a ruleset in Markdown.

use std::fmt::Write as _;

use super::{Pages, Word};

/// Returns the books, one after the other.
pub(crate) fn page(all: &[Pages]) -> String {
    all.iter().map(one).collect::<Vec<_>>().join("\n")
}

fn one(pages: &Pages) -> String {
    let mut out = format!("# {} (`{}`)\n\n", plain(&pages.title), pages.id);
    for (name, value) in &pages.facts {
        let _ = writeln!(out, "- {name}: {}", plain(value));
    }
    if let Some(why) = &pages.draft {
        let _ = writeln!(out, "\n**Draft:** {}", plain(why));
    }
    let _ = writeln!(out, "\n{}", storystick_engine::sheet::NOTICE);
    section(&mut out, "Adopted", pages.adoptions.iter().map(|line| format!("- {}\n", plain(line))));
    let amendments = pages.amendments.iter().map(|amendment| {
        let when = if amendment.when.is_empty() { String::new() } else { format!(", {}", amendment.when) };
        format!("- {}{when} — {}\n", plain(&amendment.says), word(&amendment.word))
    });
    section(&mut out, "Amendments", amendments);
    let entries = pages.entries.iter().map(|entry| {
        let mut text = format!("### `{}`\n\n", entry.key);
        if !entry.when.is_empty() {
            let _ = writeln!(text, "In force {}.\n", entry.when);
        }
        if !entry.value.is_empty() {
            let _ = writeln!(text, "{}\n", plain(&entry.value));
        }
        if !entry.rows.is_empty() {
            text.push_str("| | |\n| --- | --- |\n");
            for (key, value) in &entry.rows {
                let _ = writeln!(text, "| {} | {} |", plain(key), plain(value));
            }
            text.push('\n');
        }
        let _ = writeln!(text, "{}\n", word(&entry.word));
        text
    });
    section(&mut out, "Values", entries);
    let defines = pages.defines.iter().map(|define| format!("- {} — {}\n", plain(&define.says), word(&define.word)));
    section(&mut out, "Shared conditions", defines);
    let rules = pages.rules.iter().map(|rule| {
        let mut text = format!("### `{}`\n\n{}\n\n", rule.id, plain(&rule.doc));
        let _ = writeln!(text, "It {}.\n", plain(&rule.head));
        for (asks, fix) in &rule.asks {
            let fix = if fix.is_empty() { String::new() } else { format!(" — otherwise: {}", plain(fix)) };
            let _ = writeln!(text, "- {}{fix}", plain(asks));
        }
        let _ = writeln!(text, "\n{}\n", word(&rule.word));
        if !rule.examples.is_empty() {
            text.push_str("| example | comes out as |\n| --- | --- |\n");
            for (name, comes) in &rule.examples {
                let _ = writeln!(text, "| {} | {} |", plain(name), plain(comes));
            }
            text.push('\n');
        }
        text
    });
    section(&mut out, "Rules", rules);
    out
}

fn section(out: &mut String, title: &str, parts: impl Iterator<Item = String>) {
    let body: String = parts.collect();
    if !body.is_empty() {
        let _ = write!(out, "\n## {title}\n\n{body}");
    }
}

fn word(word: &Word) -> String {
    let source = if word.source.is_empty() { String::new() } else { format!("; {}", plain(&word.source)) };
    let note = if word.note.is_empty() { String::new() } else { format!(" {}", plain(&word.note)) };
    format!("{}; {}{source}.{note}", plain(&word.cites), word.checked)
}

/// Keeps a text from being read as marks.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        if matches!(letter, '*' | '_' | '`' | '[' | ']' | '<' | '>' | '|' | '#' | '\\') {
            out.push('\\');
        }
        out.push(if letter == '\n' { ' ' } else { letter });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn marks_in_a_text_are_only_text() {
        assert_eq!(plain("a|b *c* <d>\nnm_x"), "a\\|b \\*c\\* \\<d\\> nm\\_x");
    }
}
