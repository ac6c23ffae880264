//! Rules: their headers, and who replaces, omits and reweighs them.

use super::*;
use crate::book::Weight;
use crate::book::{RuleChange, RuleName};
use crate::model::Stage;

const MODEL: &str = r#"
// Cables.

/// Cable is secured close to every box,
/// so that nothing pulls at the terminals.
rule "nm-secured-at-box" on cable_end at rough_in cites "334.30" {
    keep end.first_support at_most code.nm.secured_from_box else "add a staple } closer";
}

/// Enough volume.
rule "box-volume-suffices" on box at rough_in cites "314.16" weighs caution was "box-fill", "box-fill-old" {
    skip;
}
/// To look at.
rule "cable-undamaged" on cable at trim_out cites "300.4" checked memory { look "damage"; }
"#;

fn stacked(county: &str, amends: &str) -> Shelf {
    let adopts = format!("[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n{amends}");
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/rules/a.rhai", MODEL),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", &adopts)),
        ("demo/county/rules/a.rhai", county),
    ])
}

fn on(date: &str) -> Ask {
    ask("demo/county", date)
}

fn failure(county: &str, amends: &str) -> String {
    fails(&mut stacked(county, amends), &on("2023-05-10"))
}

fn ids(book: &Book) -> Vec<&str> {
    book.rules.iter().map(|rule| rule.source.id.as_str()).collect()
}

#[test]
fn headers_say_what_a_rule_is() {
    let mut shelf = stacked("", "");
    let book = book(&mut shelf, &on("2023-05-10"));
    assert_eq!(ids(&book), ["nm-secured-at-box", "box-volume-suffices", "cable-undamaged"]);
    let rule = &book.rules[0];
    assert_eq!(shelf.schema().spec(rule.source.kind).name, "cable_end");
    assert_eq!((rule.source.stage, rule.weight, rule.layer), (Stage::RoughIn, Weight::Correction, 0));
    assert_eq!(rule.source.cites, "334.30");
    assert_eq!(rule.source.ruleset, "us/model");
    assert_eq!(rule.source.doc, "Cable is secured close to every box,\nso that nothing pulls at the terminals.");
    let text = shelf.files().text(rule.source.text);
    assert!(text.starts_with("rule \"nm-secured-at-box\"") && text.ends_with("closer\";\n}"), "{text}");
    assert!(shelf.files().text(rule.source.body).starts_with("{\n"));
    assert_eq!(shelf.files().text(rule.source.id_span), "nm-secured-at-box");
    assert_eq!(book.rules[1].weight, Weight::Caution);
    assert_eq!(book.rules[2].chain[0].checked.word(), "memory");
    assert_eq!(rule.chain[0].checked.word(), "law_text");
}

#[test]
fn every_slip_of_every_header_is_found_at_once() {
    let rules = r#"
/// What it asks for.
rule "Bad_Id" on bxo at ruff_in {
}
/// What it asks for.
rule "no-cites" at rough_in on box weighs heavy { }
/// What it asks for.
rule "out-of-order" on box cites "x" at rough_in { }
/// What it asks for.
rule "twice" on box on box at rough_in cites "" was old replaces { }
/// What it asks for.
rule "open-text" on box at rough_in cites "x { }
let x = 1;
fn f() {}
/// What it asks for.
rule "no-block" on box at rough_in cites "x"
/// What it asks for.
rule "odd" on box at rough_in sites "x" ; { }
rule on box at rough_in cites "x" { }
/// Guide
rule "not-closed" on box at rough_in cites "x" {
    if true {
/// What it asks for.
rule "next" on box at rough_in cites "x" { }
/// What it asks for.
rule "next" on box at rough_in cites "x" { }
/// What it asks for.
rule "last" on box at rough_in cites "x" { "
"#;
    assert_eq!(
        failure(rules, ""),
        r#"this rule has no `cites` @ rule
  help: write which requirement it is, such as `cites "334.30"`
`Bad_Id` can't be a rule's id @ "Bad_Id"
  help: write small letters, digits and single `-`, such as `nm-secured-at-box`
there is no kind of item `bxo` @ bxo
there is no stage `ruff_in` @ ruff_in
  help: did you mean `rough_in`?
rule `no-cites` has no `cites` @ no-cites
  help: write which requirement it is, such as `cites "334.30"`
`on` stands before `at` @ on
  help: the order is on, at, cites, checked, weighs, from, until, was, replaces
there is no weight `heavy` @ heavy
  help: known here: caution, correction, note
`at` stands before `cites` @ at
  help: the order is on, at, cites, checked, weighs, from, until, was, replaces
`on` stands twice in this header @ on
a citation in quotes may not be empty @ ""
`old` must stand in quotes @ old
the replaced rule's id in quotes is missing here @ {
this text is not closed @ "x { }
only rules, defines, exceptions and comments stand in a rule file @ let x = 1;
  help: a rule begins with `rule "its-id" on KIND at STAGE cites "…" {`, a shared condition with `define NAME on KIND cites "…" {`, an exception with `exception "NAME" to "RULE-ID" cites "…" {`, a comment with `//`
this rule has no block @ no-block
  help: write `{ … }` after the header
a rule's header has no `sites` @ sites
  help: did you mean `cites`?
this rule has no guide text @ rule
  help: write above it, behind `///`, what it asks for in your own words: corrections say it
a rule's id in quotes is missing here @ on
the block of rule `not-closed` is not closed @ {
  the next rule begins here @ rule
  help: write the missing `}`
rule `next` is there twice @ next
  first here @ next
  help: an id stands for one rule in all rulesets; to take the place of the first one, write `replaces` in the header
the block of rule `last` is not closed @ {
  help: write the missing `}`
"#
    );
}

#[test]
fn a_place_adds_replaces_omits_and_reweighs() {
    let county = r#"
/// Closer still.
rule "nm-secured-close" on cable_end at rough_in cites "Ord. §2" replaces "nm-secured-at-box" { skip; }
/// Kept under its id.
rule "cable-undamaged" on cable at final cites "Ord. §3" replaces "cable-undamaged" { skip; }
/// New.
rule "labels-engraved" on panel at final cites "Ord. §4" weighs note { skip; }
"#;
    let amends = "[[amends]]\nreweigh = \"box-fill\"\nweight = \"note\"\ncites = \"Ord. §5\"\nfrom = 2022-01-01\n";
    let mut shelf = stacked(county, amends);
    let local = book(&mut shelf, &on("2023-05-10"));
    assert_eq!(ids(&local), ["box-volume-suffices", "nm-secured-close", "cable-undamaged", "labels-engraved"]);
    assert_eq!(local.rules[0].weight, Weight::Note);
    assert_eq!(
        local.chain_line(&local.rules[0].chain),
        "caution (model, 314.16) → note (county, Ord. §5, in force 2022-01-01)"
    );
    assert_eq!(local.chain_line(&local.rules[1].chain), "correction (model, 334.30) → correction (county, Ord. §2)");
    assert_eq!(
        written(shelf.files(), &local.notices(&AskSpans::default())),
        "rule `box-fill` is called `box-volume-suffices` now @ \"box-fill\"\n  help: write `box-volume-suffices`\n"
    );
    let gone: Vec<_> =
        local.omitted.iter().map(|gone| (gone.source.id.as_str(), gone.replaced_by.as_deref())).collect();
    assert_eq!(gone, [("nm-secured-at-box", Some("nm-secured-close")), ("cable-undamaged", Some("cable-undamaged"))]);
    assert_eq!(local.omitted[0].by.cites, "Ord. §2");
    assert!(matches!(local.rule_named("nm-secured-at-box"), Some(RuleName::Omitted(_))));
    assert!(matches!(local.rule_named("cable-undamaged"), Some(RuleName::Current(rule)) if rule.layer == 1));
    assert!(
        matches!(local.rule_named("box-fill-old"), Some(RuleName::Renamed(rule)) if rule.source.id == "box-volume-suffices")
    );
    assert!(local.rule_named("box-fil").is_none());

    let model = book(&mut shelf, &ask("us/model", "2023-05-10"));
    let difference = Book::diff(&model, &local);
    let rules: Vec<_> = difference.rules.iter().map(|rule| (rule.id.as_str(), rule.what.clone())).collect();
    assert_eq!(
        rules,
        [
            ("box-volume-suffices", RuleChange::Reweighed { before: Weight::Caution, after: Weight::Note }),
            ("cable-undamaged", RuleChange::Rewritten),
            ("labels-engraved", RuleChange::Added),
            ("nm-secured-at-box", RuleChange::Removed),
            ("nm-secured-close", RuleChange::Added),
        ]
    );
    assert_eq!(difference.rules[3].after[0].cites, "Ord. §2");
}

/// Iowa: a single rule that starts later than its edition.
#[test]
fn one_rule_may_start_later_than_its_edition() {
    let amends = "[[amends]]\nomit = \"nm-secured-at-box\"\nuntil = 2021-12-31\ncites = \"Act §7\"\n";
    let mut shelf = stacked("", amends);
    let before = book(&mut shelf, &on("2021-12-31"));
    assert_eq!(ids(&before), ["box-volume-suffices", "cable-undamaged"]);
    assert_eq!(before.omitted[0].source.id, "nm-secured-at-box");
    assert_eq!((before.omitted[0].by.cites.as_str(), before.omitted[0].by.ruleset), ("Act §7", 1));
    assert_eq!(book(&mut shelf, &on("2022-01-01")).rules.len(), 3);
    // A place's own rule may start later as well.
    let own = "/// Own.\nrule \"own-rule\" on box at rough_in cites \"x\" { }\n";
    let amends = amends.replace("nm-secured-at-box", "own-rule");
    let mut shelf = stacked(own, &amends);
    assert_eq!(book(&mut shelf, &on("2021-12-31")).rules.len(), 3);
    assert_eq!(book(&mut shelf, &on("2022-01-01")).rules.len(), 4);
}

#[test]
fn ids_stand_for_one_rule() {
    let county = r#"
/// What it asks for.
rule "nm-secured-at-box" on box at rough_in cites "x" { }
/// What it asks for.
rule "box-fill" on box at rough_in cites "x" { }
/// What it asks for.
rule "own-rule" on box at rough_in cites "x" was "cable-undamaged" { }
/// What it asks for.
rule "other-rule" on box at rough_in cites "x" replaces "no-such-rule" { }
/// What it asks for.
rule "third-rule" on box at rough_in cites "x" replaces "own-rule" { }
"#;
    assert_eq!(
        failure(county, ""),
        r#"rule `nm-secured-at-box` is there twice @ nm-secured-at-box
  first here @ nm-secured-at-box
  help: an id stands for one rule in all rulesets; to take the place of the first one, write `replaces` in the header
`box-fill` is an earlier id of rule `box-volume-suffices` @ box-fill
  that rule @ box-volume-suffices
  help: give this rule another id
`cable-undamaged` is the id of another rule @ cable-undamaged
  that rule @ cable-undamaged
  help: an id stands for one rule for ever; to take that rule's place, write `replaces`
there is no rule `no-such-rule` below this ruleset @ no-such-rule
  help: known here: box-volume-suffices, cable-undamaged, nm-secured-at-box, own-rule
rule `own-rule` stands in the same ruleset @ own-rule
  help: take the replaced rule out of the ruleset, or end it with `until` on the day before this one begins
"#
    );
}

#[test]
fn amendments_of_rules_must_fit() {
    let amends = r#"
[[amends]]
omit = "nm-secured-at-bxo"
cites = "x"
[[amends]]
omit = "box-volume-suffices"
cites = "x"
[[amends]]
reweigh = "box-volume-suffices"
weight = "note"
cites = "x"
[[amends]]
omit = "own-rule"
cites = "x"
"#;
    let own = "/// Own.\nrule \"own-rule\" on box at rough_in cites \"x\" { }\n";
    assert_eq!(
        failure(own, amends),
        r#"there is no rule `nm-secured-at-bxo` below this ruleset @ "nm-secured-at-bxo"
  help: did you mean `nm-secured-at-box`?
two amendments of rule `box-volume-suffices` are in force at once and contradict each other @ "box-volume-suffices"
  and this one @ "box-volume-suffices"
  help: give them `from` and `until` so that one follows the other, or keep one
rule `own-rule` stands in this same ruleset @ "own-rule"
  the rule @ own-rule
  help: change the rule itself, or say from when or until when the amendment holds
"#
    );
}
