//! Entries that are in force on some days only, and tables by range.

use super::*;

fn model(code: &str, rules: &str) -> Shelf {
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/code/a.toml", code),
        ("us/model/rules/a.rhai", rules),
        (
            "demo/county/ruleset.toml",
            &manifest(
                "demo/county",
                "jurisdiction",
                "[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n\
                 [[amends]]\nentry = \"nm.hole\"\nvalue = \"2 in\"\ncites = \"Ord. §2\"\n",
            ),
        ),
    ])
}

const HOLE: &str = "[nm.hole]\nvalue = \"1 in\"\ncites = \"x\"\n";

#[test]
fn values_follow_each_other() {
    let code = "[[nm.secured]]\nvalue = \"12 in\"\ncites = \"old\"\nuntil = 2022-12-31\n\
                [[nm.secured]]\nvalue = \"8 in\"\ncites = \"new\"\nfrom = 2023-01-01\n[nm.hole]\nvalue = \"1 in\"\ncites = \"x\"\n";
    let mut shelf = model(code, "");
    let days: Vec<String> = shelf.days_of_change("us/model").iter().map(Date::to_string).collect();
    assert_eq!(days, ["2023-01-01"]);
    let before = book(&mut shelf, &ask("us/model", "2022-12-31"));
    let after = book(&mut shelf, &ask("us/model", "2023-01-01"));
    let line = |book: &Book| book.chain_line(&book.get("nm.secured").unwrap().chain);
    assert_eq!(line(&before), "12 in (model, old)");
    assert_eq!(line(&after), "8 in (model, new, in force 2023-01-01)");
    assert_eq!(before.id("nm.secured"), after.id("nm.secured"));
}

#[test]
fn two_values_of_one_day_and_of_two_kinds_are_slips() {
    let code = r#"
[[a.overlap]]
value = "12 in"
cites = "x"
until = 2022-12-31
[[a.overlap]]
value = "8 in"
cites = "x"
from = 2022-12-31
[[a.always]]
value = "12 in"
cites = "x"
[[a.always]]
value = "8 in"
cites = "x"
[[a.kind]]
value = "12 in"
cites = "x"
until = 2022-12-31
[[a.kind]]
value = "12 A"
cites = "x"
from = 2023-01-01
[a.turned]
value = 1
cites = "x"
from = 2023-01-02
until = 2023-01-01
[a.quoted]
value = 1
cites = "x"
from = "2023-01-02"
"#;
    assert_eq!(
        fails(&mut model(code, ""), &ask("us/model", "2023-05-10")),
        r#"entry `a.overlap` has two values at once @ [[a.overlap]]
  first here @ [[a.overlap]]
  help: values that follow each other are written as `[[…]]`, each with the days on which it holds: `from`, `until`
entry `a.always` is set twice in this ruleset @ [[a.always]]
  first here @ [[a.always]]
  help: values that follow each other are written as `[[…]]`, each with the days on which it holds: `from`, `until`
entry `a.kind` is one value (current) here and one value (length) before @ [[a.kind]]
  first here @ [[a.kind]]
  help: an entry is of one kind at all times: give one of them another name
entry `a.turned` ends on 2023-01-01, before it begins on 2023-01-02 @ 2023-01-01
  first day @ 2023-01-02
`from` of entry `a.quoted` must be a day without quotes, such as 2022-01-01 @ "2023-01-02"
"#
    );
}

#[test]
fn a_gap_that_something_in_force_falls_into_is_told_at_the_entrys_line() {
    let code = format!("{HOLE}[nm.secured]\nvalue = \"8 in\"\ncites = \"x\"\nfrom = 2022-01-01\nuntil = 2022-12-31\n");
    let rules = r#"
/// Reads it on its own days.
rule "dated" on box at rough_in cites "x" from "2022-01-01" until "2022-12-31" { keep box.bottom at_most code.nm.secured; }
/// Names it in a text only.
rule "text-only" on box at rough_in cites "x" { look "code.nm.secured"; /* code.nm.secured */ }
"#;
    let mut shelf = model(&code, rules);
    for day in ["2021-12-31", "2022-06-01", "2023-01-01"] {
        book(&mut shelf, &ask("us/model", day));
    }
    let rules = "/// Reads it always.\nrule \"always\" on box at rough_in cites \"x\" { keep box.bottom at_most code.nm.secured; }\n";
    let mut shelf = model(&code, rules);
    book(&mut shelf, &ask("us/model", "2022-06-01"));
    assert_eq!(
        fails(&mut shelf, &ask("us/model", "2023-01-01")),
        "entry `nm.secured` is not in force on 2023-01-01, and rule `always` reads it @ secured\n  reads it @ always\n  \
         help: let a value follow or come before it, or give the rule the same days in its header\n"
    );
}

#[test]
fn what_a_place_says_of_an_entry_holds_on_the_days_of_the_entry() {
    let mut shelf = model("[nm.hole]\nvalue = \"1 in\"\ncites = \"x\"\nfrom = 2022-01-01\n", "");
    assert!(book(&mut shelf, &ask("demo/county", "2021-12-31")).get("nm.hole").is_none());
    assert_eq!(value(&book(&mut shelf, &ask("demo/county", "2022-01-01")), "nm.hole"), "2 in");
}

#[test]
fn a_table_by_range_keeps_its_way_when_it_is_amended() {
    let code = format!(
        "{HOLE}[ground.copper]\nrows = {{ \"15 A\" = \"14 AWG\", \"20 A\" = \"12 AWG\", \"60 A\" = \"10 AWG\" }}\n\
         match = \"up_to\"\ncites = \"x\"\n"
    );
    let amends = "[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n\
                  [[amends]]\nentry = \"ground.copper\"\nadd = { \"100 A\" = \"8 AWG\" }\ncites = \"Ord. §2\"\n\
                  [[amends]]\nentry = \"ground.copper\"\nrow = \"20 A\"\nvalue = \"10 AWG\"\ncites = \"Ord. §3\"\n";
    let mut shelf = shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/code/a.toml", &code),
        ("demo/town/ruleset.toml", &manifest("demo/town", "jurisdiction", amends)),
    ]);
    let current = |text: &str| {
        super::super::Scalar::Quantity(crate::quantity::parse(text, crate::quantity::Dimension::Current).unwrap())
    };
    let found = |book: &Book, at: &str| match &book.get("ground.copper").unwrap().value {
        super::super::Value::Table(table) => table.find(current(at)).map(|row| row.text.clone()).unwrap_or_default(),
        _ => String::from("no table"),
    };
    let plain = book(&mut shelf, &ask("us/model", "2023-01-01"));
    let local = book(&mut shelf, &ask("demo/town", "2023-01-01"));
    for (at, below, above) in [
        ("5 A", "14 AWG", "14 AWG"),
        ("20 A", "12 AWG", "10 AWG"),
        ("25 A", "10 AWG", "10 AWG"),
        ("70 A", "", "8 AWG"),
        ("110 A", "", ""),
    ] {
        assert_eq!((found(&plain, at).as_str(), found(&local, at).as_str()), (below, above), "{at}");
    }
    let shown = plain.shown(plain.get("ground.copper").unwrap());
    assert_eq!(shown.holds, "a table (current to conductor size); each row reaches up to its key");
    assert_eq!(shown.matching.map(|matching| matching.word()), Some("up_to"));
}

#[test]
fn only_a_table_of_amounts_has_ranges() {
    let code = r#"
[a.word]
rows = { "kitchen" = 1, "bath" = 2 }
match = "up_to"
cites = "x"
[a.one]
value = 1
match = "from"
cites = "x"
[a.slip]
rows = { "1 A" = 1 }
match = "upto"
cites = "x"
"#;
    assert_eq!(
        fails(&mut model(code, ""), &ask("us/model", "2023-05-10")),
        r#"`match = "up_to"` needs keys that are amounts @ "up_to"
  this key is a text @ "kitchen"
  help: leave `match` out: a word is found as it is written
only a table has rows to match @ match
  help: `match` says which of the `rows` a value between two keys finds
`match` of entry `a.slip` can't be `upto` @ "upto"
  help: did you mean `up_to`?
"#
    );
}
