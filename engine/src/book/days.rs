//! The days on which a rule, an exception or an entry is in force.

use jiff::civil::Date;

use super::rule_lexer::{Lexer, Token};

/// Returns whether a day lies between a first and a last one, both included.
pub(super) fn hold(from: Option<Date>, until: Option<Date>, day: Date) -> bool {
    from.is_none_or(|from| from <= day) && until.is_none_or(|until| day <= until)
}

/// First and last day of something.
pub(super) type Period = (Option<Date>, Option<Date>);

/// Returns whether there is a day on which both are in force.
pub(super) fn together(one: Period, other: Period) -> bool {
    let before =
        |last: Option<Date>, first: Option<Date>| last.is_some_and(|last| first.is_some_and(|first| last < first));
    !before(one.1, other.0) && !before(other.1, one.0)
}

/// Returns the days on which something begins or has ended.
pub(super) fn turns(from: Option<Date>, until: Option<Date>) -> impl Iterator<Item = Date> {
    from.into_iter().chain(until.and_then(|last| last.tomorrow().ok()))
}

/// Returns the days on which something begins or has ended in the block of a rule, which are those that its exceptions
/// name behind `from` and `until`. What is no day is left to the rule's compiler.
pub(super) fn turns_in_block(block: &str) -> Vec<Date> {
    let mut days = Vec::new();
    if !block.contains("from") && !block.contains("until") {
        return days;
    }
    let mut lexer = Lexer::new(block);
    loop {
        let word = match lexer.token().0 {
            Token::End => return days,
            Token::Word(word @ ("from" | "until")) => word,
            _ => continue,
        };
        let mut ahead = lexer;
        if let Token::Text(text) = ahead.token().0 {
            lexer = ahead;
            let day = text.trim().parse().ok();
            if word == "from" { days.extend(turns(day, None)) } else { days.extend(turns(None, day)) }
        }
    }
}

/// Returns days in words: `from 2023-01-01`, `until 2026-08-31`, `from … until …`; empty where there are none.
pub(super) fn in_words(from: Option<Date>, until: Option<Date>) -> String {
    match (from, until) {
        (Some(from), Some(until)) => format!("from {from} until {until}"),
        (Some(from), None) => format!("from {from}"),
        (None, Some(until)) => format!("until {until}"),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_period_holds_on_its_first_and_last_day() {
        let day = |text: &str| text.parse::<Date>().ok();
        let holds = |on: &str| hold(day("2020-01-02"), day("2020-01-03"), day(on).unwrap_or_default());
        assert_eq!(["2020-01-01", "2020-01-02", "2020-01-03", "2020-01-04"].map(holds), [false, true, true, false]);
        assert!(hold(None, None, Date::MIN));
    }

    #[test]
    fn the_days_of_a_block_are_those_behind_the_words() {
        let block = r#"{ except "1" from "2020-01-01" until "2029-12-31" where x == "from"; // from "2001-01-01"
            except "2" until "someday" where box.from == "2002-01-01"; except "3" from 3; }"#;
        let days: Vec<String> = turns_in_block(block).iter().map(Date::to_string).collect();
        assert_eq!(days, ["2020-01-01", "2030-01-01"]);
        assert!(turns_in_block("{ keep a at_most code.nm.secured; }").is_empty());
    }
}
