//! Manifests and what they say of other rulesets: every slip at its place, all at once.

use super::*;

fn problems(files: &[(&str, &str)]) -> String {
    let shelf = shelf(files);
    written(shelf.files(), shelf.problems())
}

#[test]
fn every_slip_of_a_manifest_is_found_at_once() {
    let text = r#"
id = "demo/contuy"
title = 3
kind = "jurisdicton"
reviewed = "2026-11-25"
checkd = "law_text"
locals = "some"
[[adopts]]
ruleset = "us/model"
form = 2021-07-01
by = ["permit_date", "filing_date"]
when = "accesible"
dwelling = ["one_familly"]
[[adopts]]
ruleset = "us/model"
from = 2021-07-01
until = 2021-01-01
choice_from = 2021-07-01
choice_until = 2021-06-30
cites = "x"
"#;
    assert_eq!(
        problems(&[("demo/county/ruleset.toml", text)]),
        r#"the manifest has no `version` @ id = "demo/contuy"
  help: write `version = "1"` and raise it with every change
the manifest has no `source` @ id = "demo/contuy"
  help: write where its values come from
the id `demo/contuy` is not the folder `demo/county` @ "demo/contuy"
  help: write `id = "demo/county"`
`title` of the manifest must be a text in quotes @ 3
  help: write `title = "3"`
`kind` of the manifest can't be `jurisdicton` @ "jurisdicton"
  help: did you mean `jurisdiction`?
`reviewed` of the manifest must be a day without quotes, such as 2022-01-01 @ "2026-11-25"
the manifest has no `checkd` @ checkd
  help: did you mean `checked`?
`locals` of the manifest can't be `some` @ "some"
  help: known here: allowed, none, stricter
this adoption has no `from` @ [[adopts]]
  help: write its first day in force, such as `from = 2021-07-01`
this adoption has no `cites` @ [[adopts]]
  help: write which law or ordinance adopts it
this adoption has no `form` @ form
  help: did you mean `from`?
`by` of this adoption can't be `filing_date` @ "filing_date"
  help: known here: application_date, manufacture_date, permit_date, purchase_date
`when` of this adoption can't be `accesible` @ "accesible"
  help: did you mean `accessible`?
`dwelling` of this adoption can't be `one_familly` @ "one_familly"
  help: did you mean `one_family`?
this adoption ends on 2021-01-01, before it begins on 2021-07-01 @ 2021-01-01
  first day @ 2021-07-01
the choice begins on 2021-07-01, when the adoption has begun @ 2021-07-01
  help: write a day before `from`, or leave it out
the choice ends on 2021-06-30, before the adoption begins @ 2021-06-30
  help: write the last day on which the earlier edition may be chosen
"#
    );
}

#[test]
fn a_manifest_that_is_no_toml_shows_all_its_syntax_errors_and_nothing_that_follows_from_them() {
    assert_eq!(
        problems(&[("demo/county/ruleset.toml", "id = \ntitle = \"x\nkind = [\n")]),
        r#"string values must be quoted, expected literal string @ 
  help: put it in double quotes, such as `"12 in"`
invalid basic string, expected `"` @ 
  help: close the text with a second quote on the same line
unclosed array, expected `]` @ 
  help: close the list with `]`
"#
    );
}

#[test]
fn keys_belong_to_kinds() {
    let more = "within = \"us/other\"\nlocals = \"none\"\n[[adopts]]\nruleset = \"us/other\"\nfrom = 2020-01-01\ncites = \"x\"\n";
    assert_eq!(
        problems(&[
            ("us/model/ruleset.toml", &manifest("us/model", "edition", more)),
            ("us/other/ruleset.toml", &manifest("us/other", "shop", "follows = \"us/model\"\nby = \"permit_date\"\n")),
        ]),
        r#"`within` is for rulesets of kind `jurisdiction`, and this one is `edition` @ within
nothing lies within `us/other`, which is of kind `shop` @ "us/other"
  of kind `shop` @ "us/other"
`locals` is for rulesets of kind `jurisdiction`, and this one is `edition` @ locals
`adopts` is for rulesets of kind `jurisdiction`, and this one is `edition` @ adopts
`us/other` is of kind `shop`, which nothing adopts @ "us/other"
  of kind `shop` @ "us/other"
`follows` is for rulesets of kind `edition`, and this one is `shop` @ follows
`by` is for rulesets of kind `edition`, and this one is `shop` @ by
"#
    );
}

#[test]
fn references_must_lead_somewhere() {
    let city = "within = \"demo/stat\"\n[[adopts]]\nruleset = \"us/modle\"\nfrom = 2020-01-01\ncites = \"x\"\n\
                [[adopts]]\nruleset = \"demo/state\"\nfrom = 2020-01-01\ncites = \"x\"\n";
    assert_eq!(
        problems(&[
            ("demo/city/ruleset.toml", &manifest("demo/city", "jurisdiction", city)),
            ("demo/state/ruleset.toml", &manifest("demo/state", "jurisdiction", "within = \"us/model\"\n")),
            ("us/model/ruleset.toml", &manifest("us/model", "edition", "follows = \"us/model-2\"\n")),
        ]),
        r#"there is no ruleset `demo/stat` @ "demo/stat"
  help: did you mean `demo/state`?
there is no ruleset `us/modle` @ "us/modle"
  help: did you mean `us/model`?
`demo/state` is of kind `jurisdiction`, which nothing adopts @ "demo/state"
  of kind `jurisdiction` @ "demo/state"
nothing lies within `us/model`, which is of kind `edition` @ "us/model"
  of kind `edition` @ "us/model"
there is no ruleset `us/model-2` @ "us/model-2"
  help: did you mean `us/model`?
"#
    );
}

#[test]
fn circles_are_found_once_each() {
    let files = [
        ("demo/a/ruleset.toml", manifest("demo/a", "jurisdiction", "within = \"demo/b\"\n")),
        ("demo/b/ruleset.toml", manifest("demo/b", "jurisdiction", "within = \"demo/c\"\n")),
        ("demo/c/ruleset.toml", manifest("demo/c", "jurisdiction", "within = \"demo/a\"\n")),
        ("demo/d/ruleset.toml", manifest("demo/d", "jurisdiction", "within = \"demo/b\"\n")),
        ("us/a/ruleset.toml", manifest("us/a", "edition", "follows = \"us/a\"\n")),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    let circle = "`within` goes round in a circle: `demo/a` → `demo/b` → `demo/c` → `demo/a` @ \"demo/b\"\n\
                  \x20 goes on to `demo/c` @ \"demo/c\"\n\
                  \x20 goes on to `demo/a` @ \"demo/a\"\n\
                  \x20 help: take one `within` of the circle out\n";
    let own =
        "`follows` goes round in a circle: `us/a` → `us/a` @ \"us/a\"\n  help: take one `follows` of the circle out\n";
    assert_eq!(problems(&files), format!("{circle}{own}"));
    let mut shelf = shelf(&files);
    assert_eq!(fails(&mut shelf, &ask("demo/d", "2023-05-10")), circle);
    assert_eq!(fails(&mut shelf, &ask("us/a", "2023-05-10")), own);
}

#[test]
fn files_that_nothing_reads_are_named() {
    assert_eq!(
        problems(&[
            ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
            ("us/model/README.md", "for people"),
            ("us/model/rule/a.rhai", "rule \"a\"\n"),
            ("us/model/code/sub/a.toml", "[a]\n"),
            ("us/model/job-defaults.toml", "[cable]\n"),
            ("us/modle/code/a.toml", "[a]\n"),
        ]),
        "`us/modle/code/a.toml` belongs to no ruleset @ [a]\n\
         \x20 help: a ruleset stands in front of another only as a whole, with its own `ruleset.toml`\n\
         nothing reads `code/sub/a.toml` of a ruleset @ [a]\n\
         \x20 help: a ruleset has ruleset.toml, code/*.toml, facts/*.toml, rules/*.rhai, trials/*.toml, and a shop job-defaults.toml\n\
         only a shop has job-defaults.toml @ [cable]\n\
         \x20 help: defaults of a job are a shop's practice, not law\n\
         nothing reads `rule/a.rhai` of a ruleset @ rule \"a\"\n\
         \x20 help: a ruleset has ruleset.toml, code/*.toml, facts/*.toml, rules/*.rhai, trials/*.toml, and a shop job-defaults.toml\n"
    );
}

#[test]
fn a_broken_ruleset_hinders_only_those_that_stand_on_it() {
    let adopts = |of: &str| format!("[[adopts]]\nruleset = \"us/{of}\"\nfrom = 2020-01-01\ncites = \"x\"\n");
    let mut shelf = shelf(&[
        ("us/good/ruleset.toml", &manifest("us/good", "edition", "")),
        ("us/bad/ruleset.toml", &manifest("us/bad", "edition", "colour = \"red\"\n")),
        ("demo/good/ruleset.toml", &manifest("demo/good", "jurisdiction", &adopts("good"))),
        ("demo/bad/ruleset.toml", &manifest("demo/bad", "jurisdiction", &adopts("bad"))),
    ]);
    let expected = "the manifest has no `colour` @ colour\n";
    assert!(written(shelf.files(), shelf.problems()).starts_with(expected));
    assert!(shelf.resolve(&ask("demo/good", "2023-05-10")).is_ok());
    assert!(fails(&mut shelf, &ask("demo/bad", "2023-05-10")).starts_with(expected));
    assert!(shelf.open("us/bad").is_err());
    assert!(shelf.open("us/good").is_ok());
    let unknown = shelf.open("us/goood").unwrap_err();
    assert_eq!(unknown[0].message, "there is no ruleset `us/goood`");
    assert_eq!(unknown[0].help.as_deref(), Some("did you mean `us/good`?"));
}

#[test]
fn the_content_hash_changes_with_what_is_in_force_and_not_with_trials() {
    let hash = |files: &[(&str, &str)]| shelf(files).ruleset("us/model").unwrap().content_hash();
    let model = manifest("us/model", "edition", "");
    let code = "[a.b]\nvalue = \"1 in\"\ncites = \"x\"\n";
    let base = hash(&[("us/model/ruleset.toml", &model), ("us/model/code/a.toml", code)]);
    assert_eq!(base.len(), 16);
    let with_trials = [
        ("us/model/code/a.toml", code),
        ("us/model/ruleset.toml", model.as_str()),
        ("us/model/trials/a.toml", "[[trial]]\n"),
        ("us/model/notes.md", "x"),
    ];
    assert_eq!(hash(&with_trials), base);
    assert_eq!(shelf(&with_trials).ruleset("us/model").unwrap().trials().len(), 1);
    assert_ne!(hash(&[("us/model/ruleset.toml", &model), ("us/model/code/b.toml", code)]), base);
    assert_ne!(hash(&[("us/model/ruleset.toml", &model), ("us/model/code/a.toml", &code.replace('1', "2"))]), base);
}
