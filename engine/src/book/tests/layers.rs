//! The layers of a book: followed editions, accessibility, places, shops, rulesets that stand alone or in front of others.

use super::*;
use crate::book::{Checked, Origin};

fn entry(key: &str, value: &str) -> String {
    format!("[{key}]\nvalue = \"{value}\"\ncites = \"x\"\n")
}

fn adopts(ruleset: &str, from: &str, more: &str) -> String {
    format!("[[adopts]]\nruleset = \"{ruleset}\"\nfrom = {from}\ncites = \"Act\"\n{more}\n")
}

#[test]
fn an_edition_is_written_as_differences_from_another() {
    let mut shelf = shelf(&[
        ("us/one/ruleset.toml", &manifest("us/one", "edition", "")),
        ("us/one/code/a.toml", &(entry("a.kept", "1 in") + &*entry("a.anew", "2 in") + &*entry("a.amended", "3 in"))),
        ("us/two/ruleset.toml", &manifest("us/two", "edition", "follows = \"us/one\"\n")),
        (
            "us/two/code/a.toml",
            &(entry("a.anew", "20 mm")
                + &*entry("a.new", "4 in")
                + "[[amends]]\nentry = \"a.amended\"\nvalue = \"30 mm\"\ncites = \"y\"\n"),
        ),
    ]);
    let book = book(&mut shelf, &ask("us/two", "2023-05-10"));
    assert_eq!(layer_ids(&book), ["us/one", "us/two"]);
    assert_eq!(book.edition, "us/two");
    let line = |key: &str| book.chain_line(&book.get(key).unwrap().chain);
    assert_eq!(line("a.kept"), "1 in (one, x)");
    assert_eq!(line("a.anew"), "2 in (one, x) → 20 mm (two, x)");
    assert_eq!(line("a.amended"), "3 in (one, x) → 30 mm (two, y)");
    assert_eq!(line("a.new"), "4 in (two, x)");
    assert_eq!(book.code_in_force(day("2023-05-10")).rulesets[1].id, "us/two");
}

fn accessible_shelf() -> Shelf {
    let state = adopts("us/model", "2020-01-01", "")
        + &*adopts(
            "us/accessible-old",
            "1992-01-26",
            "until = 2012-03-14\nwhen = \"accessible\"\nby = \"application_date\"",
        )
        + &*adopts("us/accessible", "2012-03-15", "when = \"accessible\"")
        + &*adopts("us/always", "2012-03-15", "");
    let city =
        "within = \"demo/state\"\n".to_owned() + &*adopts("us/accessible", "2023-01-01", "when = \"accessible\"");
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/accessible-old/ruleset.toml", &manifest("us/accessible-old", "accessibility", "")),
        ("us/accessible/ruleset.toml", &manifest("us/accessible", "accessibility", "")),
        ("us/accessible/code/a.toml", &entry("reach.high", "48 in")),
        ("us/always/ruleset.toml", &manifest("us/always", "accessibility", "")),
        ("demo/state/ruleset.toml", &manifest("demo/state", "jurisdiction", &state)),
        ("demo/city/ruleset.toml", &manifest("demo/city", "jurisdiction", &city)),
        ("shop/gable/ruleset.toml", &manifest("shop/gable", "shop", "")),
        (
            "shop/gable/code/a.toml",
            "[[amends]]\nentry = \"reach.high\"\nvalue = \"46 in\"\ncites = \"shop practice\"\n[shop.height]\nvalue = \"20 in\"\ncites = \"common practice, no source\"\nchecked = \"memory\"\n",
        ),
        ("shop/gable/job-defaults.toml", "[cable]\nwiring_method = \"NM\"\n"),
    ])
}

#[test]
fn accessibility_comes_between_the_edition_and_the_places_when_it_is_asked_for() {
    let mut shelf = accessible_shelf();
    let on = |accessible: bool| Ask {
        accessible,
        application_date: Some(day("2023-05-10")),
        shop: accessible.then(|| "shop/gable".into()),
        ..ask("demo/city", "2023-05-10")
    };
    assert_eq!(layer_ids(&book(&mut shelf, &on(false))), ["us/model", "us/always", "demo/state", "demo/city"]);
    let with = book(&mut shelf, &on(true));
    assert_eq!(layer_ids(&with), ["us/model", "us/accessible", "us/always", "demo/state", "demo/city", "shop/gable"]);
    assert_eq!(with.layers[1].adopted.as_ref().map(|adopted| adopted.by.as_str()), Some("demo/state"));
    assert_eq!(
        with.chain_line(&with.get("reach.high").unwrap().chain),
        "48 in (accessible, x) → 46 in (gable, shop practice)"
    );
    assert_eq!(with.defaults().map(|file| file.name()), Some("ruleset:shop/gable/job-defaults.toml"));
    assert_eq!(with.get("shop.height").unwrap().chain[0].checked, Checked::Memory);
    assert!(
        fails(&mut shelf, &Ask { application_date: None, ..on(true) })
            .starts_with("`demo/state` counts the application date, which the job does not record @ PERMIT")
    );
}

#[test]
fn accessibility_that_nobody_adopted_is_noticed() {
    let mut shelf = accessible_shelf();
    let (files, asked) = with_job(&shelf, &Ask { accessible: true, ..ask("us/model", "2023-05-10") });
    let book = book(&mut shelf, &asked);
    assert_eq!(
        written(&files, &book.notices(&asked.at)),
        "nothing in `us/model` adopts accessibility requirements, so none are checked @ YES\n\
         \x20 help: the place or one around it adopts them with `when = \"accessible\"`\n"
    );
}

#[test]
fn rulesets_stand_alone_only_in_their_own_trials() {
    let mut shelf = accessible_shelf();
    let alone = Ask { alone: true, ..ask("shop/gable", "2023-05-10") };
    let shop = book(&mut shelf, &alone);
    assert_eq!(layer_ids(&shop), ["shop/gable"]);
    // What it amends is not there and is left aside.
    assert!(shop.get("reach.high").is_none() && shop.get("shop.height").is_some());
    assert_eq!(shop.edition, "");
    assert_eq!(
        fails(&mut shelf, &Ask { alone: false, ..alone }),
        "`shop/gable` is of kind `shop` and can't stand as the jurisdiction @ PLACE\n  of kind `shop` @ \"shop/gable\"\n"
    );
    assert_eq!(
        fails(&mut shelf, &Ask { shop: Some("demo/city".into()), ..ask("demo/ctiy", "2023-05-10") }),
        "there is no jurisdiction `demo/ctiy` @ PLACE\n  help: did you mean `demo/city`?\n\
         `demo/city` is of kind `jurisdiction` and can't stand as the shop @ SHOP\n  of kind `jurisdiction` @ \"demo/city\"\n"
    );
}

#[test]
fn a_ruleset_of_a_later_source_stands_in_front_as_a_whole() {
    let model = manifest("us/model", "edition", "");
    let sources = vec![
        RulesetText::shipped("us/model/ruleset.toml", "this = is broken [["),
        RulesetText::in_folder("mine", "us\\model\\code\\a.toml", entry("a.b", "2 in")),
        RulesetText::in_folder("mine", "us/model/ruleset.toml", model.clone()),
        RulesetText::shipped("us/model/code/a.toml", "[a.b]\nvalue = \"1 in\"\ncites = \"x\"\n"),
        RulesetText::shipped("us/model/code/b.toml", "[c.d]\nvalue = \"1 in\"\ncites = \"x\"\n"),
        RulesetText::in_folder("own", "ruleset.toml", manifest("shop/own", "shop", "")),
        RulesetText::in_folder("own", "code/a.toml", entry("e.f", "3 in")),
    ];
    let mut shelf = Shelf::read(Arc::new(Schema::dwelling()), sources);
    let front = book(&mut shelf, &Ask { shop: Some("shop/own".into()), ..ask("us/model", "2023-05-10") });
    assert_eq!(value(&front, "a.b"), "2 in");
    assert!(front.get("c.d").is_none());
    assert_eq!(value(&front, "e.f"), "3 in");
    assert_eq!(front.layers[0].stands_before, Some(Origin::Shipped));
    assert_eq!(
        written(shelf.files(), &front.notices(&AskSpans::default())),
        "`us/model` from mine stands in front of the one from the shipped rulesets @ \"us/model\"\n"
    );
    let names: Vec<&str> = shelf.files().iter().map(|file| file.name()).collect();
    assert_eq!(
        names,
        ["mine/us/model/code/a.toml", "mine/us/model/ruleset.toml", "own/code/a.toml", "own/ruleset.toml"]
    );
}

#[test]
fn a_place_may_close_itself_to_local_layers() {
    let state = "locals = \"none\"\n".to_owned() + &*adopts("us/model", "2020-01-01", "");
    let city = |more: &str| format!("within = \"demo/state\"\n{more}");
    let build = |more: &str, rules: &str| {
        shelf(&[
            ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
            ("us/model/code/a.toml", &entry("a.b", "1 in")),
            ("us/newer/ruleset.toml", &manifest("us/newer", "edition", "follows = \"us/model\"\n")),
            ("demo/state/ruleset.toml", &manifest("demo/state", "jurisdiction", &state)),
            ("demo/city/ruleset.toml", &manifest("demo/city", "jurisdiction", &city(more))),
            ("demo/city/rules/a.rhai", rules),
            (
                "shop/gable/ruleset.toml",
                &manifest("shop/gable", "shop", "[[amends]]\nentry = \"a.b\"\nvalue = \"2 in\"\ncites = \"x\"\n"),
            ),
        ])
    };
    let amends = "[[amends]]\nentry = \"a.b\"\nvalue = \"2 in\"\ncites = \"Ord.\"\n";
    let rule = "/// Guide.\nrule \"own-rule\" on box at rough_in cites \"Ord.\" { skip; }\n";
    assert_eq!(
        fails(
            &mut build(&(amends.to_owned() + &*adopts("us/newer", "2021-01-01", "")), rule),
            &ask("demo/city", "2023-05-10")
        ),
        "`demo/city` may not have rules of its own: `demo/state` allows no local layer @ own-rule\n\
         \x20 closed here @ locals\n\
         `demo/city` may not amend the code: `demo/state` allows no local layer @ [[amends]]\n\
         \x20 closed here @ locals\n\
         `demo/city` may not adopt a code of its own: `demo/state` allows no local layer @ \"us/newer\"\n\
         \x20 closed here @ locals\n"
    );
    // A city that changes nothing, and a shop's stricter practice, are fine.
    let mut shelf = build("", "// nothing yet\n");
    let quiet = book(&mut shelf, &Ask { shop: Some("shop/gable".into()), ..ask("demo/city", "2023-05-10") });
    assert_eq!(value(&quiet, "a.b"), "2 in");
}
