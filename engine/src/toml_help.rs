//! What to do about a TOML file that is not sound, in words for somebody who has never programmed.

/// Marks that word processors and web pages put in the place of `"` and `'`.
pub(crate) const CURLY: [char; 8] = ['“', '”', '„', '‟', '‘', '’', '‚', '‛'];

/// Returns what helps against a syntax error, from what the parser said and the line it stands in.
pub(crate) fn help(said: &str, text: &str, at: usize) -> Option<String> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text.get(start..)?.lines().next().unwrap_or("");
    let rest = text.get(at..)?.lines().next().unwrap_or("");
    if !is_text(line, at - start) && rest.starts_with(CURLY) {
        return Some(String::from(
            "write the straight quote `\"` before and behind the text; a word processor makes curly ones of it",
        ));
    }
    let says = |words: &str| said.to_lowercase().contains(words);
    let help = if rest.contains('/') && rest.trim().starts_with(|c: char| c.is_ascii_digit()) && says("quoted") {
        "put a text in double quotes; a day is written `2024-07-01`, without quotes"
    } else if says("must be quoted") {
        "put it in double quotes, such as `\"12 in\"`"
    } else if says("opening quote") {
        "write a `\"` before the text as well"
    } else if says("invalid basic string") || says("invalid literal string") {
        "close the text with a second quote on the same line"
    } else if inches(line) {
        "inside quotes write inches as `in`: `\"8 in\"`"
    } else if says("unclosed table") {
        "close the header with `]`; its name has no blanks: `[our_town.switch_top]`"
    } else if says("unclosed array") {
        "close the list with `]`"
    } else if says("unclosed inline table") {
        "close the table with `}`"
    } else if says("missing comma") {
        "write a `,` between the two"
    } else if says("expected `=`") || says("invalid unquoted key") {
        "a line is `name = value`, with `=` between them and no blanks in the name"
    } else if says("unexpected key or value") {
        "begin a new line, or put the whole text in one pair of quotes"
    } else {
        return None;
    };
    Some(help.to_owned())
}

/// Returns whether a byte of a line stands inside double quotes.
fn is_text(line: &str, at: usize) -> bool {
    line.get(..at).is_some_and(|before| before.matches('"').count() % 2 == 1)
}

/// Returns whether a text in a line ends in the mark for inches, which ends the text before its own quote does.
fn inches(line: &str) -> bool {
    line.char_indices().any(|(at, c)| {
        let behind = line.get(at + 1..).unwrap_or("");
        c == '"'
            && behind.starts_with('"')
            && line.get(..at).is_some_and(|before| before.ends_with(|c: char| c.is_ascii_digit()))
    })
}

#[cfg(test)]
mod tests {
    use toml::de::DeTable;

    fn first_help(text: &str) -> String {
        let (_, errors) = DeTable::parse_recoverable(text);
        let error = errors.first().expect("the text is not sound");
        let at = error.span().map_or(0, |span| span.start);
        super::help(error.message(), text, at).unwrap_or_default()
    }

    #[test]
    fn slips_of_a_beginner_are_told_what_to_write() {
        for (text, tells) in [
            ("a = 1\nvalue = “12 in”\n", "straight quote"),
            ("value = ‘12 in’\n", "straight quote"),
            ("value = 12 in\n", "double quotes"),
            ("value = 12 in\"\n", "before the text"),
            ("value = \"12 in\ncites = \"x\"\n", "second quote"),
            ("value = \"8\"\"\n", "inches as `in`"),
            ("from = 07/01/2024\n", "2024-07-01"),
            ("value: \"8 in\"\n", "`name = value`"),
            ("[our town.top]\nvalue = 1\n", "no blanks"),
            ("[our_town.top\nvalue = 1\n", "close the header"),
            ("box = [{ id = \"B1\" top = \"1 in\" }]\n", "`,`"),
        ] {
            let help = first_help(text);
            assert!(help.contains(tells), "{text:?}: {help}");
        }
    }
}
