//! Questions on the code in force: which section asks for this, and what another edition would.

use std::collections::BTreeSet;

use jiff::civil::Date;
use storystick_engine::inspection::Inspected;

use crate::commands::drill::{Bench, corrections};
use crate::teach::papers::Question;
use crate::teach::sections;
use crate::teach::seed::Seed;

/// Questions on sections.
const LOOKED_UP: usize = 3;

/// Asks for the sections behind rules, by the first sentence of their guide.
pub(super) fn lookup(inspected: &Inspected, seed: &mut Seed) -> Vec<Question> {
    let book = &inspected.code.book;
    let mut rules: Vec<_> = book
        .rules
        .iter()
        .filter(|rule| rule.source.ruleset == book.edition && sections(&rule.source.cites).len() == 1)
        .filter(|rule| rule.source.cites.starts_with(|first: char| first.is_ascii_digit()))
        .collect();
    seed.shuffle(&mut rules);
    let ask = |(at, rule): (usize, &&storystick_engine::book::RuleInForce)| {
        let guide = rule.source.doc.split_inclusive(". ").next().unwrap_or(&rule.source.doc).trim();
        let asks = format!("Which section of {} asks for this? {guide}", book.edition);
        Question::new("code-lookup", at + 1, asks, rule.source.cites.clone())
    };
    rules.iter().take(LOOKED_UP).enumerate().map(ask).collect()
}

/// Asks which section newly calls for a correction had the permit another date; none where no date makes a difference.
pub(super) fn another_edition(
    bench: &mut Bench,
    text: &str,
    inspected: &Inspected,
    seed: &mut Seed,
) -> Option<Question> {
    let known: BTreeSet<String> = corrections(inspected).iter().map(|one| one.rule.clone()).collect();
    let mut days: Vec<Date> = (2019..=2026).map(|year| jiff::civil::date(year, 7, 1)).collect();
    seed.shuffle(&mut days);
    let mut found = None;
    for day in days {
        bench.options.permit_date = Some(day);
        let Ok(other) = bench.inspect(text) else { continue };
        let new = corrections(&other).into_iter().filter(|one| !known.contains(&one.rule));
        let sections: BTreeSet<&str> = new.map(|one| one.cite.as_str()).collect();
        if !sections.is_empty() {
            let asks = format!(
                "Had the permit been taken out on {day}, which section would newly call for a correction? One will do."
            );
            let answer = sections.into_iter().collect::<Vec<_>>().join(", ");
            found = Some(Question::new("edition-compare", 1, asks, answer));
            break;
        }
    }
    bench.options.permit_date = None;
    found
}
