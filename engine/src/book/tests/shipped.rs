//! The shipped rulesets stand on their own feet: every one resolves on every day on which something changes in it.

use super::*;

#[test]
fn every_shipped_ruleset_resolves_on_every_day_of_change() {
    let sources = storystick_rulesets::FILES.iter().map(|(path, text)| RulesetText::shipped(*path, text));
    let mut shelf = Shelf::read(Arc::new(Schema::dwelling()), sources.collect());
    let mut wrong = written(shelf.files(), shelf.problems());
    let ids: Vec<String> = shelf.ids().map(str::to_owned).collect();
    for id in ids {
        let mut days = shelf.days_of_change(&id);
        days.extend(shelf.newest_start(&id));
        for day in days {
            for accessible in [false, true] {
                let ask = Ask { alone: true, accessible, ..Ask::on(&id, day) };
                let Err(problems) = shelf.resolve(&ask) else { continue };
                // An amendment or accessibility may be older than the first edition that is known for a place.
                if !problems.iter().all(|problem| problem.message.starts_with("no edition is in force")) {
                    wrong.push_str(&format!("{id} on {day}:\n{}", written(shelf.files(), &problems)));
                }
            }
        }
    }
    assert_eq!(wrong, "");
}
