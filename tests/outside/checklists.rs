//! What public building departments look at, held against the rules: each item of their checklists must be decided by a rule, or
//! stand on the walk list.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::date;
use storystick_engine::book::{Ask, RulesetText};
use storystick_engine::inspection::Inspector;
use storystick_engine::script::Verb;

const ITEMS: &str = include_str!("data/inspection-items.toml");

/// What a rule does for an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Does {
    /// Puts it on the walk list.
    Look,
    /// Decides it by what is recorded.
    Decide,
}

/// Returns what every rule of the two newest whole editions does.
fn rules() -> BTreeMap<String, Does> {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let mut does = BTreeMap::new();
    for (edition, day) in [("us/model-2020", date(2022, 1, 1)), ("us/model-2023", date(2024, 6, 1))] {
        let book = inspector.shelf_mut().resolve(&Ask::on(edition, day)).unwrap();
        for rule in &book.rules {
            let compiled = inspector.rule(&rule.source, &book).unwrap();
            let decides = compiled.checks().iter().any(|check| check.verb != Verb::Look);
            does.insert(rule.source.id.clone(), if decides { Does::Decide } else { Does::Look });
        }
    }
    does
}

fn texts<'t>(item: &'t toml::Table, key: &str) -> Vec<&'t str> {
    item[key].as_array().unwrap().iter().map(|value| value.as_str().unwrap()).collect()
}

#[test]
fn checklist_items_are_decided_or_on_the_walk_list() {
    let data: toml::Table = ITEMS.parse().unwrap();
    let rules = rules();
    let bodies: BTreeSet<&str> =
        data["list"].as_array().unwrap().iter().map(|list| list["body"].as_str().unwrap()).collect();
    let lists: BTreeSet<&str> =
        data["list"].as_array().unwrap().iter().map(|list| list["id"].as_str().unwrap()).collect();
    let items = data["item"].as_array().unwrap();
    let (mut decided, mut on_walk_list) = (0, 0);
    let mut left = Vec::new();
    let mut only_looked_at = Vec::new();
    for item in items {
        let item = item.as_table().unwrap();
        let id = item["id"].as_str().unwrap();
        let mapped = texts(item, "rules");
        for list in texts(item, "lists") {
            assert!(lists.contains(list), "{id}: there is no list `{list}`");
        }
        let does: Vec<Does> = mapped
            .iter()
            .map(|rule| *rules.get(*rule).unwrap_or_else(|| panic!("{id}: there is no rule `{rule}` in the editions")))
            .collect();
        match does.iter().max() {
            Some(Does::Decide) => decided += 1,
            Some(Does::Look) => {
                on_walk_list += 1;
                if item["decidable"].as_str() == Some("design") {
                    only_looked_at.push(id);
                }
            }
            None => left.push(id),
        }
    }
    let all = items.len();
    let covered = decided + on_walk_list;
    println!(
        "{all} items of {} lists by {} bodies: {decided} decided, {on_walk_list} on the walk list, {} neither: {} %",
        lists.len(),
        bodies.len(),
        left.len(),
        covered * 100 / all
    );
    println!("neither: {}", left.join(", "));
    println!("could be decided from a drawing, and are looked at: {}", only_looked_at.join(", "));
    assert!(bodies.len() >= 10, "the lists come from at least ten bodies");
    assert!(covered * 100 >= all * 95, "{covered} of {all} items are covered; left: {left:?}");
    // Most of what can be decided from the job alone is decided, not only looked at.
    let design = items.iter().filter(|item| item["decidable"].as_str() == Some("design")).count();
    assert!(only_looked_at.len() * 10 <= design, "only looked at: {only_looked_at:?}");
}
