//! Shared conditions that rulesets define.

use super::*;

const MODEL: &str = r#"
/// A box that only joins conductors.
define joins_only on box cites "314.1" checked memory { box.purpose == "junction" }
/// A cable that lies in the open.
define in_the_open on cable cites "334.1" { cable.route == "exposed" }
/// Uses both.
rule "box-reached" on box at rough_in cites "314.29" {
    need box.joins_only;
}
"#;

fn county(rules: &str) -> Shelf {
    let adopts = "[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n";
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/rules/a.rhai", MODEL),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", adopts)),
        ("demo/county/rules/a.rhai", rules),
    ])
}

#[test]
fn a_condition_is_found_by_kind_and_name_and_a_place_may_define_it_anew() {
    let own = "/// Ours.\ndefine joins_only on box cites \"Ord. §2\" { box.cover == \"blank\" }\n";
    let mut shelf = county(own);
    let schema = Arc::clone(shelf.schema());
    let (of_box, of_cable) = (schema.kind("box").unwrap(), schema.kind("cable").unwrap());
    let model = book(&mut shelf, &ask("us/model", "2023-05-10"));
    let local = book(&mut shelf, &ask("demo/county", "2023-05-10"));
    assert_eq!(model.defines.len(), 2);
    assert!(matches!(model.show("in_the_open"), crate::book::Found::Defines(found) if found.len() == 1));
    assert!(matches!(model.show("in_the_opem"), crate::book::Found::Nothing(Some("in_the_open"))));
    let define = model.define(of_box, "joins_only").unwrap();
    assert_eq!(define.source.doc, "A box that only joins conductors.");
    assert_eq!(define.chain[0].checked.word(), "memory");
    assert_eq!(shelf.files().text(define.source.body), "{ box.purpose == \"junction\" }");
    assert!(shelf.files().text(define.source.text).starts_with("define joins_only on box"));
    assert_eq!(shelf.files().text(define.source.name_span), "joins_only");
    let define = local.define(of_box, "joins_only").unwrap();
    assert_eq!((define.layer, define.source.ruleset.as_str()), (1, "demo/county"));
    assert_eq!(local.chain_line(&define.chain), "defined (model, 314.1) → defined anew (county, Ord. §2)");
    assert!(local.define(of_cable, "in_the_open").is_some());
    assert!(local.define(of_cable, "joins_only").is_none());
    assert!(local.define(of_box, "in_the_open").is_none());
}

#[test]
fn every_slip_of_a_condition_is_found_at_once() {
    let rules = r#"
/// Field.
define purpose on box cites "x" { true }
/// Name.
define Big on box cites "x" { true }
/// Word.
define count on box cites "x" { true }
/// Quotes.
define "quoted" on box cites "x" { true }
/// Kind.
define a_name on bxo cites "x" { true }
/// Parts.
define no_parts { true }
define no_text on box cites "x" { true }
/// Stage.
define with_stage on box at rough_in cites "x" { true }
/// Twice.
define twice on box cites "x" { true }
/// Twice.
define twice on box cites "x" { false }
/// No name.
define on box cites "x" { true }
/// Misspelt.
defin misspelt on box cites "x" { true }
/// No block.
define no_block on box cites "x"
/// Not closed.
define not_closed on box cites "x" { if true {
  define next on box cites "x" { true }
"#;
    assert_eq!(
        fails(&mut county(rules), &ask("demo/county", "2023-05-10")),
        r#"`purpose` is a field of box already @ purpose
  help: give the define another name
`Big` can't be the name of a define @ Big
  help: write small letters, digits and `_`, beginning with a letter, such as `serves_kitchen`
`count` can't be the name of a define @ count
  help: it is a word of the rule language; write another one
the name of a define stands without quotes @ "quoted"
  help: write `define quoted on …`: rules read it like a field
there is no kind of item `bxo` @ bxo
define `no_parts` has no `on` @ no_parts
  help: write the kind of item it looks at, such as `on box`
define `no_parts` has no `cites` @ no_parts
  help: write which requirement it is, such as `cites "334.30"`
define `no_text` has no guide text @ no_text
  help: write above it, behind `///`, what it means in your own words: the book prints it
a define's header has no `at` @ at
  help: `at` is for a rule; here stand on, cites, checked, in this order
`twice` is defined twice in this ruleset @ twice
  first here @ twice
  help: one ruleset defines a condition of a kind once
the name of this define is missing here @ on
only rules, defines, exceptions and comments stand in a rule file @ defin misspelt on box cites "x" { true }
  help: did you mean `define`?
this define has no block @ no_block
  help: write `{ … }` after the header
the block of define `not_closed` is not closed @ {
  the next define begins here @ define
  help: write the missing `}`
define `next` has no guide text @ next
  help: write above it, behind `///`, what it means in your own words: the book prints it
"#
    );
}

#[test]
fn a_place_that_may_not_amend_may_not_define_either() {
    let state = "locals = \"none\"\n[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n";
    let mut shelf = shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/rules/a.rhai", MODEL),
        ("demo/state/ruleset.toml", &manifest("demo/state", "jurisdiction", state)),
        ("demo/town/ruleset.toml", &manifest("demo/town", "jurisdiction", "within = \"demo/state\"\n")),
        (
            "demo/town/rules/a.rhai",
            "/// A.\ndefine joins_only on box cites \"x\" { true }\n\
             /// B.\nexception \"b\" to \"box-reached\" cites \"x\" { true }\n",
        ),
    ]);
    assert_eq!(
        fails(&mut shelf, &ask("demo/town", "2023-05-10")),
        "`demo/town` may not define conditions of its own: `demo/state` allows no local layer @ joins_only\n  closed here @ \
         locals\n`demo/town` may not add exceptions: `demo/state` allows no local layer @ \"b\"\n  closed here @ locals\n"
    );
}
