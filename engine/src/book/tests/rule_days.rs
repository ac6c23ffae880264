//! Rules that are in force on some days only.

use super::*;
use crate::book::RuleName;

const MODEL: &str = r#"
/// Old.
rule "box-old-way" on box at rough_in cites "314.1" until "2022-12-31" { need true; }
/// New.
rule "box-new-way" on box at rough_in cites "314.2" from "2023-01-01" replaces "box-old-way" { need true; }
/// Inside.
rule "box-always" on box at rough_in cites "314.3" {
    except "314.4" from "2024-01-01" until "2024-06-30" where box.purpose == "junction";
    need true;
}
"#;

fn county(rules: &str, amends: &str) -> Shelf {
    let adopts = format!("[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n{amends}");
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/rules/a.rhai", MODEL),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", &adopts)),
        ("demo/county/rules/a.rhai", rules),
    ])
}

fn ids(book: &Book) -> Vec<&str> {
    book.rules.iter().map(|rule| rule.source.id.as_str()).collect()
}

#[test]
fn a_rule_is_in_force_on_its_days_and_named_on_the_others() {
    let mut shelf = county("", "");
    let before = book(&mut shelf, &ask("demo/county", "2022-12-31"));
    assert_eq!(ids(&before), ["box-old-way", "box-always"]);
    let gone = &before.omitted[0];
    assert_eq!((gone.source.id.as_str(), gone.of_other_days, gone.replaced_by.as_deref()), ("box-new-way", true, None));
    assert_eq!(
        before.chain_line(std::slice::from_ref(&gone.by)),
        "in force from 2023-01-01 (model, 314.2, in force 2023-01-01)"
    );
    assert!(matches!(before.rule_named("box-new-way"), Some(RuleName::Omitted(_))));
    let after = book(&mut shelf, &ask("demo/county", "2023-01-01"));
    assert_eq!(ids(&after), ["box-new-way", "box-always"]);
    assert_eq!(after.omitted[0].by.value, "in force until 2022-12-31");
}

#[test]
fn every_day_of_change_is_known_and_one_book_serves_the_days_between() {
    let mut shelf = county("/// X.\nrule \"own-rule\" on box at rough_in cites \"x\" from \"2021-05-01\" { }\n", "");
    let days = |days: Vec<Date>| days.iter().map(Date::to_string).collect::<Vec<_>>().join(" ");
    assert_eq!(days(shelf.days_of_change("us/model")), "2023-01-01 2024-01-01 2024-07-01");
    // What it has adopted changes on days of its own.
    assert_eq!(days(shelf.days_of_change("demo/county")), "2020-01-01 2021-05-01 2023-01-01 2024-01-01 2024-07-01");
    let mut on = |day: &str| book(&mut shelf, &ask("demo/county", day));
    assert!(Arc::ptr_eq(&on("2024-01-01"), &on("2024-06-30")));
    let (in_spring, in_summer) = (on("2024-03-01"), on("2024-07-01"));
    assert_eq!(in_spring.layers[0].day, day("2024-01-01"));
    let period = (Some(day("2024-01-01")), Some(day("2024-06-30")));
    assert!(in_spring.holds(0, period.0, period.1));
    assert!(!in_summer.holds(0, period.0, period.1));
    assert!(!on("2023-12-31").holds(0, period.0, period.1));
}

#[test]
fn what_a_place_says_of_a_rule_holds_on_the_days_of_the_rule() {
    let amends = "[[amends]]\nreweigh = \"box-new-way\"\nweight = \"note\"\ncites = \"Ord. §5\"\n";
    let own = "/// Again.\nrule \"box-new-way\" on box at rough_in cites \"Ord.\" from \"2025-01-01\" replaces \"box-new-way\" { }\n";
    let mut shelf = county(own, amends);
    let weights = |book: &Book| -> String {
        let weight = |rule: &crate::book::RuleInForce| format!("{} {}", rule.source.id, rule.weight.word());
        book.rules.iter().map(weight).collect::<Vec<_>>().join(", ")
    };
    let mut on = |day: &str| weights(&book(&mut shelf, &ask("demo/county", day)));
    assert_eq!(on("2022-01-01"), "box-old-way correction, box-always correction");
    assert_eq!(on("2023-01-01"), "box-new-way note, box-always correction");
}

#[test]
fn days_that_can_not_be_are_found_at_their_place() {
    let rules = r#"
/// A.
rule "a-rule" on box at rough_in cites "x" from 2023-01-01 { }
/// B.
rule "b-rule" on box at rough_in cites "x" from "2023-02-30" until { }
/// C.
rule "c-rule" on box at rough_in cites "x" from "2023-01-02" until "2023-01-01" { }
/// D.
rule "d-rule" on box at rough_in cites "x" until "2023-01-01" from "2022-01-01" { }
/// E.
rule "e-rule" on box at rough_in cites "x" form "2023-01-01" { }
/// F.
rule "f-rule" on box at rough_in cites "x" from "soon" weighs note { }
"#;
    assert_eq!(
        fails(&mut county(rules, ""), &ask("demo/county", "2023-05-10")),
        r#"`2023-01-01` must stand in quotes @ 2023-01-01
`2023-02-30` is no day @ "2023-02-30"
  help: write year, month and day, such as `"2023-01-31"`
the last day in quotes is missing here @ {
rule `c-rule` ends on 2023-01-01, before it begins on 2023-01-02 @ "2023-01-01"
  first day @ "2023-01-02"
`from` stands before `until` @ from
  help: the order is on, at, cites, checked, weighs, from, until, was, replaces
a rule's header has no `form` @ form
  help: did you mean `from`?
`soon` is no day @ "soon"
  help: write year, month and day, such as `"2023-01-31"`
`weighs` stands before `from` @ weighs
  help: the order is on, at, cites, checked, weighs, from, until, was, replaces
"#
    );
}

#[test]
fn two_rules_of_one_ruleset_may_not_both_be_in_force_where_one_replaces_the_other() {
    let rules = r#"
/// B.
rule "b-rule" on box at rough_in cites "x" from "2022-01-01" replaces "a-rule" { }
/// A.
rule "a-rule" on box at rough_in cites "x" until "2022-06-30" { }
"#;
    let mut shelf = county(rules, "");
    assert_eq!(ids(&book(&mut shelf, &ask("demo/county", "2021-12-31"))), ["box-old-way", "box-always", "a-rule"]);
    assert_eq!(ids(&book(&mut shelf, &ask("demo/county", "2022-07-01"))), ["box-old-way", "box-always", "b-rule"]);
    assert_eq!(
        fails(&mut shelf, &ask("demo/county", "2022-06-30")),
        "rule `a-rule` stands in the same ruleset @ a-rule\n  help: take the replaced rule out of the ruleset, or end it with \
         `until` on the day before this one begins\n"
    );
}
