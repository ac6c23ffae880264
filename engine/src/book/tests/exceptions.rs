//! Exceptions that a place adds to the rules below it, and takes out of them.

use super::*;
use crate::book::RuleChange;

const MODEL: &str = r#"
/// Secured.
rule "nm-secured-at-box" on cable_end at rough_in cites "334.30" was "nm-secured" {
    except "334.30(B)" where end.cable.route == "fished";
    keep end.first_support at_most code.nm.secured_from_box;
}
/// Other.
rule "box-reached" on box at rough_in cites "314.29" { need true; }
"#;

fn places(county: &str, county_amends: &str, town: &str, town_amends: &str) -> Shelf {
    let adopts = format!("[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n{county_amends}");
    let within = format!("within = \"demo/county\"\n{town_amends}");
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/rules/a.rhai", MODEL),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", &adopts)),
        ("demo/county/rules/a.rhai", county),
        ("demo/town/ruleset.toml", &manifest("demo/town", "jurisdiction", &within)),
        ("demo/town/rules/a.rhai", town),
    ])
}

const COUNTY: &str = r#"
/// Short cables hold by themselves.
exception "short-cable" to "nm-secured-at-box" cites "Ord. §7" checked memory from "2022-01-01" until "2024-12-31" {
    end.cable.length < code.county.short_cable
}
"#;

fn names(book: &Book, rule: usize) -> Vec<&str> {
    book.rules[rule].exceptions.iter().map(|added| added.source.name.text.as_str()).collect()
}

#[test]
fn a_place_adds_an_exception_for_its_days() {
    let mut shelf = places(COUNTY, "", "", "");
    let local = book(&mut shelf, &ask("demo/town", "2022-01-01"));
    assert_eq!(names(&local, 0), ["short-cable"]);
    let added = &local.rules[0].exceptions[0];
    assert_eq!((added.layer, added.setting.cites.as_str(), added.setting.checked.word()), (1, "Ord. §7", "memory"));
    assert_eq!(added.source.doc, "Short cables hold by themselves.");
    assert!(shelf.files().text(added.source.body).starts_with("{\n    end.cable.length"));
    assert!(local.rules[1].exceptions.is_empty());
    for day in ["2021-12-31", "2025-01-01"] {
        assert!(book(&mut shelf, &ask("demo/town", day)).rules[0].exceptions.is_empty(), "{day}");
    }
    let days: Vec<String> = shelf.days_of_change("demo/town").iter().map(Date::to_string).collect();
    assert_eq!(days, ["2020-01-01", "2022-01-01", "2025-01-01"]);
    let model = book(&mut shelf, &ask("us/model", "2022-01-01"));
    let difference = Book::diff(&model, &local);
    let what = RuleChange::Exceptions { added: vec![String::from("short-cable")], removed: Vec::new() };
    assert_eq!(difference.rules[0].what, what);
}

#[test]
fn an_exception_is_taken_out_by_name_or_section_below_or_in_the_rule() {
    let town = "[[amends]]\nomit = \"nm-secured-at-box\"\nexception = \"Ord. §7\"\ncites = \"Town 1\"\nfrom = 2023-01-01\n\
                [[amends]]\nomit = \"nm-secured\"\nexception = \"334.30(B)\"\ncites = \"Town 2\"\n";
    let mut shelf = places(COUNTY, "", "", town);
    // What the county says only later is taken out then.
    assert!(book(&mut shelf, &ask("demo/town", "2025-06-01")).rules[0].withdrawn.is_empty());
    let before = book(&mut shelf, &ask("demo/town", "2022-12-31"));
    assert_eq!(names(&before, 0), ["short-cable"]);
    let local = book(&mut shelf, &ask("demo/town", "2023-01-01"));
    let rule = &local.rules[0];
    assert!(rule.exceptions.is_empty());
    assert_eq!(rule.withdrawn.len(), 1);
    assert_eq!(
        (rule.withdrawn[0].0.source.name.text.as_str(), rule.withdrawn[0].1.cites.as_str()),
        ("short-cable", "Town 1")
    );
    let (name, by) = &rule.omitted_exceptions[0];
    assert_eq!(
        (name.as_str(), by.cites.as_str(), by.value.as_str()),
        ("334.30(B)", "Town 2", "without exception 334.30(B)")
    );
    assert_eq!(shelf.files().text(by.span), "\"334.30(B)\"");
    assert_eq!(
        written(shelf.files(), &local.notices(&AskSpans::default())),
        "rule `nm-secured` is called `nm-secured-at-box` now @ \"nm-secured\"\n  help: write `nm-secured-at-box`\n"
    );
    let what = &Book::diff(&before, &local).rules[0].what;
    let gone = RuleChange::Exceptions { added: Vec::new(), removed: vec![String::from("short-cable")] };
    assert_eq!(*what, gone);
}

#[test]
fn every_slip_of_an_exception_is_found() {
    let county = r#"
/// No rule.
exception "a" to "nm-secured-at-bxo" cites "x" { true }
/// Own rule.
exception "b" to "own-rule" cites "x" { true }
/// Own.
rule "own-rule" on box at rough_in cites "x" { }
"#;
    assert_eq!(
        fails(&mut places(county, "", "", ""), &ask("demo/town", "2023-05-10")),
        r#"there is no rule `nm-secured-at-bxo` below this ruleset @ nm-secured-at-bxo
  help: did you mean `nm-secured-at-box`?
rule `own-rule` stands in this same ruleset @ own-rule
  the rule @ own-rule
  help: write it into the rule: `except "x" where …;`
"#
    );
    let county = r#"
exception "no-text" to "box-reached" cites "x" { true }
/// Bare.
exception bare to "box-reached" cites "x" { true }
/// Order.
exception "order" cites "x" to "box-reached" { true }
/// Parts.
exception "parts" { true }
/// Kind.
exception "kind" on box cites "x" { true }
/// Days.
exception "days" to "box-reached" cites "x" from "2023-01-01" until "2022-01-01" { true }
/// Twice.
exception "twice" to "box-reached" cites "x" until "2022-01-01" { true }
/// Twice.
exception "twice" to "box-reached" cites "x" from "2022-01-01" { true }
/// Id.
exception "id" to Box_Reached cites "x" { true }
/// Id.
exception "id" to "Box_Reached" cites "x" { true }
/// Open.
exception "open" to "box-reached" cites "x" {
/// Next.
exception "next" to "box-reached" cites "x" { true }
"#;
    assert_eq!(
        fails(&mut places(county, "", "", ""), &ask("demo/town", "2023-05-10")),
        r#"exception `no-text` has no guide text @ "no-text"
  help: write above it, behind `///`, what it means in your own words: the book prints it
`bare` must stand in quotes @ bare
`to` stands before `cites` @ to
  help: the order is to, cites, checked, from, until
exception `parts` has no `to` @ "parts"
  help: write the rule that it is an exception to, such as `to "nm-secured-at-box"`
exception `parts` has no `cites` @ "parts"
  help: write which requirement it is, such as `cites "334.30"`
an exception's header has no `on` @ on
  help: `on` is for a rule; here stand to, cites, checked, from, until, in this order
exception `days` ends on 2022-01-01, before it begins on 2023-01-01 @ "2022-01-01"
  first day @ "2023-01-01"
exception `twice` to rule `box-reached` is there twice @ "twice"
  first here @ "twice"
  help: give it another name, or days with `from` and `until` so that one follows the other
`Box_Reached` must stand in quotes @ Box_Reached
`Box_Reached` can't be a rule's id @ "Box_Reached"
  help: write small letters, digits and single `-`, such as `nm-secured-at-box`
the block of exception `open` is not closed @ {
  the next exception begins here @ exception
  help: write the missing `}`
"#
    );
}

#[test]
fn two_places_may_not_give_one_name_and_nobody_takes_out_his_own() {
    let town = "/// Again.\nexception \"short-cable\" to \"nm-secured-at-box\" cites \"Town 3\" { true }\n";
    let own = "[[amends]]\nomit = \"nm-secured-at-box\"\nexception = \"short-cable\"\ncites = \"Ord.\"\n";
    assert_eq!(
        fails(&mut places(COUNTY, "", town, ""), &ask("demo/town", "2023-05-10")),
        r#"rule `nm-secured-at-box` has an exception `short-cable` already @ "short-cable"
  there already @ "short-cable"
  help: give this one another name, or take that one out with [[amends]] `omit = "nm-secured-at-box"` and `exception = "short-cable"`
"#
    );
    assert_eq!(
        fails(&mut places(COUNTY, own, "", ""), &ask("demo/town", "2023-05-10")),
        r#"exception `short-cable` stands in this same ruleset @ "short-cable"
  the exception @ "short-cable"
  help: take it out of the rule file, or give it `from` and `until` in its header
"#
    );
    // The town may put its own in the place of the county's.
    let mut both = places(COUNTY, "", town, own);
    let local = book(&mut both, &ask("demo/town", "2023-05-10"));
    assert_eq!((names(&local, 0), local.rules[0].exceptions[0].layer), (vec!["short-cable"], 2));
}

#[test]
fn an_amendment_that_takes_an_exception_out_says_of_which_rule() {
    let amends = r#"
[[amends]]
omit = "nm-secured-at-box"
exception = ""
cites = "x"
[[amends]]
entry = "nm.secured_from_box"
value = "8 in"
exception = "a"
cites = "x"
[[amends]]
exception = "a"
cites = "x"
[[amends]]
omit = "nm-secured-at-bxo"
exception = "a"
cites = "x"
[[amends]]
omit = "nm-secured-at-box"
exception = "334.30(B)"
cites = "x"
[[amends]]
omit = "nm-secured-at-box"
exception = "334.30(B)"
cites = "y"
"#;
    assert_eq!(
        fails(&mut places("", amends, "", ""), &ask("demo/town", "2023-05-10")),
        r#"`exception` of this amendment is empty @ ""
`exception` does not go with `entry` @ exception
  help: an amendment has `entry` with `value`, `list`, `rows`, `row` and `value`, `add` or `remove`; or `omit`, with `exception` where only that is taken out; or `reweigh` with `weight`
this amendment does not say what it changes @ [[amends]]
  help: an amendment has `entry` with `value`, `list`, `rows`, `row` and `value`, `add` or `remove`; or `omit`, with `exception` where only that is taken out; or `reweigh` with `weight`
"#
    );
    let (_, last) = amends.split_at(amends.find("[[amends]]\nomit = \"nm-secured-at-bxo\"").unwrap());
    assert_eq!(
        fails(&mut places("", last, "", ""), &ask("demo/town", "2023-05-10")),
        r#"there is no rule `nm-secured-at-bxo` below this ruleset @ "nm-secured-at-bxo"
  help: did you mean `nm-secured-at-box`?
exception `334.30(B)` is out already @ "334.30(B)"
  taken out here @ "334.30(B)"
"#
    );
}
