//! Amendments: what they may change, and every way in which they can be wrong.

use super::*;

const MODEL: &str = r#"
[nm.secured_from_box]
value = "12 in"
cites = "334.30"
[nm.secured_along]
value = "4 ft 6 in"
cites = "334.30"
[protection.copper_max]
rows = { "14 AWG" = "15 A", "12 AWG" = "20 A" }
cites = "240.4(D)"
[gfci.places]
list = ["bathroom", "garage"]
cites = "210.8(A)"
[wire.area]
value = "2.5 mm2"
type = "area"
cites = "x"
"#;

/// Returns a model code and a county that amends it so.
fn county(amends: &str) -> Shelf {
    let adopts = "[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"Ord.\"\n";
    shelf(&[
        ("us/model/ruleset.toml", &manifest("us/model", "edition", "")),
        ("us/model/code/a.toml", MODEL),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", adopts)),
        ("demo/county/code/a.toml", amends),
    ])
}

fn on(date: &str) -> Ask {
    ask("demo/county", date)
}

fn failure(amends: &str) -> String {
    fails(&mut county(amends), &on("2023-05-10"))
}

#[test]
fn what_is_amended_must_be_there() {
    let amends = r#"
        [[amends]]
        entry = "nm.secured_form_box"
        value = "8 in"
        cites = "§1"
        [[amends]]
        entry = "protection.copper_max"
        row = "16 AWG"
        value = "8 A"
        cites = "§2"
        [[amends]]
        entry = "gfci.places"
        add = ["garage"]
        remove = ["bathrom"]
        cites = "§3"
        [[amends]]
        omit = "no-such-rule"
        cites = "§4"
    "#;
    assert_eq!(
        failure(amends),
        r#"there is no entry `nm.secured_form_box` to amend @ "nm.secured_form_box"
  help: did you mean `nm.secured_from_box`?
`protection.copper_max` has no row `16 AWG` @ "16 AWG"
  the table @ rows
  help: its rows are 14 AWG, 12 AWG
`garage` is in `gfci.places` already @ "garage"
  there already @ "garage"
`bathrom` is not in `gfci.places` @ "bathrom"
  the list @ list
  help: did you mean `bathroom`?
there is no rule `no-such-rule` below this ruleset @ "no-such-rule"
"#
    );
}

#[test]
fn the_first_setter_fixes_the_type() {
    let amends = r#"
        [[amends]]
        entry = "nm.secured_from_box"
        value = "20 A"
        cites = "§1"
        [[amends]]
        entry = "nm.secured_along"
        value = 54
        cites = "§2"
        [[amends]]
        entry = "protection.copper_max"
        row = "14 AWG"
        value = "10 in"
        cites = "§3"
        [[amends]]
        entry = "gfci.places"
        value = "attic"
        cites = "§4"
        [[amends]]
        entry = "wire.area"
        list = ["2 in2"]
        cites = "§5"
    "#;
    assert_eq!(
        failure(amends),
        r#"expected a length such as `12 in` or `300 mm`, found a current `20 A` @ "20 A"
  set here first, one value (length) @ "12 in"
  help: a length is written in `in`, `ft`, `mm`, `cm` or `m`, such as `12 in`, `4 ft 6 in` or `300 mm`
this must be a length @ 54
  set here first, one value (length) @ "4 ft 6 in"
  help: a length is written in `in`, `ft`, `mm`, `cm` or `m`, such as `12 in`, `4 ft 6 in` or `300 mm`
expected a current such as `20 A` or `6 mA`, found a length `10 in` @ "10 in"
  set here first, a table (conductor size to current) @ rows
  help: a current is written in `A`, `mA` or `kA`, such as `20 A`
entry `gfci.places` is a list (text), not one value @ "attic"
  set here first @ list
entry `wire.area` is one value (area), not a list @ list
  set here first @ "2.5 mm2"
"#
    );
}

#[test]
fn a_unit_that_could_be_two_things_is_read_as_the_entry_has_it() {
    let mut shelf = county("[[amends]]\nentry = \"wire.area\"\nvalue = \"4 mm2\"\ncites = \"§1\"\n");
    let book = book(&mut shelf, &on("2023-05-10"));
    let entry = book.get("wire.area").unwrap();
    assert_eq!(entry.ty.described(), "one value (area)");
    assert_eq!(value(&book, "wire.area"), "4 mm2");
}

#[test]
fn two_amendments_at_once_must_not_contradict_each_other() {
    let amends = r#"
        [[amends]]
        entry = "nm.secured_from_box"
        value = "8 in"
        cites = "§1"
        from = 2021-01-01
        [[amends]]
        entry = "nm.secured_from_box"
        value = "10 in"
        cites = "§2"
        from = 2022-01-01
        [[amends]]
        entry = "protection.copper_max"
        row = "14 AWG"
        value = "10 A"
        cites = "§3"
        [[amends]]
        entry = "protection.copper_max"
        row = "14 AWG"
        value = "12 A"
        cites = "§4"
        [[amends]]
        entry = "gfci.places"
        add = ["attic"]
        cites = "§5"
        [[amends]]
        entry = "gfci.places"
        list = ["attic"]
        cites = "§6"
    "#;
    assert_eq!(
        failure(amends),
        r#"two amendments of entry `nm.secured_from_box` are in force at once and contradict each other @ "10 in"
  and this one @ "8 in"
  help: if the later one takes over, write `until = 2021-12-31` in the earlier one
two amendments of entry `protection.copper_max` are in force at once and contradict each other @ "12 A"
  and this one @ "10 A"
  help: give them `from` and `until` so that one follows the other, or keep one
two amendments of entry `gfci.places` are in force at once and contradict each other @ list
  and this one @ "gfci.places"
  help: give them `from` and `until` so that one follows the other, or keep one
"#
    );
    // Not at once: before the second begins there is no contradiction.
    let first_two: String = amends.split("[[amends]]").take(3).collect::<Vec<_>>().join("[[amends]]");
    assert_eq!(value(&book(&mut county(&first_two), &on("2021-12-31")), "nm.secured_from_box"), "8 in");
}

#[test]
fn the_same_said_twice_or_of_different_rows_is_no_contradiction() {
    let amends = r#"
        [[amends]]
        entry = "nm.secured_from_box"
        value = "1 ft"
        cites = "§1"
        [[amends]]
        entry = "nm.secured_from_box"
        value = "12 in"
        cites = "§2"
        [[amends]]
        entry = "protection.copper_max"
        row = "14 AWG"
        value = "10 A"
        cites = "§3"
        [[amends]]
        entry = "protection.copper_max"
        row = "12 AWG"
        value = "16 A"
        cites = "§4"
        [[amends]]
        entry = "gfci.places"
        remove = ["garage"]
        cites = "§5"
        [[amends]]
        entry = "gfci.places"
        add = ["attic"]
        cites = "§6"
    "#;
    let mut shelf = county(amends);
    let book = book(&mut shelf, &on("2023-05-10"));
    assert_eq!(parts(&book, "protection.copper_max"), "14 AWG = 10 A, 12 AWG = 16 A");
    assert_eq!(parts(&book, "gfci.places"), "bathroom, attic");
}

#[test]
fn a_whole_list_or_table_may_be_replaced_and_rows_taken_away() {
    let amends = r#"
        [[amends]]
        entry = "gfci.places"
        list = []
        cites = "§1"
        [[amends]]
        entry = "protection.copper_max"
        rows = { "12 AWG" = "16 A", "10 AWG" = "30 A" }
        cites = "§2"
        until = 2023-12-31
        [[amends]]
        entry = "protection.copper_max"
        remove = ["14 AWG"]
        cites = "§3"
        from = 2024-01-01
    "#;
    let mut shelf = county(amends);
    let whole = book(&mut shelf, &on("2023-12-31"));
    assert_eq!(parts(&whole, "gfci.places"), "");
    assert_eq!(whole.get("gfci.places").unwrap().latest().unwrap().value, "nothing");
    assert_eq!(parts(&whole, "protection.copper_max"), "12 AWG = 16 A, 10 AWG = 30 A");
    let entry = whole.get("protection.copper_max").unwrap();
    let crate::book::Value::Table(table) = &entry.value else { panic!("no table") };
    assert_eq!(whole.chain_line(&entry.row_chain(&table.rows()[0])), "20 A (model, 240.4(D)) → 16 A (county, §2)");
    assert_eq!(whole.chain_line(&entry.row_chain(&table.rows()[1])), "30 A (county, §2)");
    assert_eq!(parts(&book(&mut shelf, &on("2024-01-01")), "protection.copper_max"), "12 AWG = 20 A");
}

#[test]
fn an_amendment_says_one_thing_and_on_whose_word() {
    let amends = r#"
        [[amends]]
        cites = "§1"
        [[amends]]
        entry = "nm.secured_from_box"
        omit = "a-rule"
        cites = "§2"
        [[amends]]
        entry = "nm.secured_from_box"
        valeu = "8 in"
        [[amends]]
        reweigh = "a-rule"
        weight = "cautoin"
        cites = "§4"
        [[amends]]
        omit = "a-rule"
        weight = "note"
        cites = "§5"
        from = "2022-01-01"
        until = 2021-01-01T10:00:00
        [[amends]]
        entry = "nm.secured_from_box"
        value = "8 inn"
        cites = ""
        from = 2022-01-01
        until = 2021-01-01
        [[amends]]
        entry = "gfci.places"
        add = []
        cites = "§7"
        edition = "us/modle"
        [[amends]]
        entry = "nm.secured_from_box"
        value = "8 in"
        cites = "§8"
        checked = "guess"
        edition = "us/modle"
    "#;
    assert_eq!(
        failure(amends),
        r#"this amendment does not say what it changes @ [[amends]]
  help: an amendment has `entry` with `value`, `list`, `rows`, `row` and `value`, `add` or `remove`; or `omit`, with `exception` where only that is taken out; or `reweigh` with `weight`
an amendment changes one thing @ omit
  help: write one [[amends]] for each
this amendment has no `value`, `list` or `rows` @ [[amends]]
  help: write `value = "12 in"`, `list = ["kitchen"]` or `rows = { "14 AWG" = "15 A" }`
this amendment has no `cites` @ [[amends]]
  help: write which requirement says so, such as `cites = "334.30"`
this amendment has no `valeu` @ valeu
  help: did you mean `value`?
`weight` of this amendment can't be `cautoin` @ "cautoin"
  help: did you mean `caution`?
`weight` does not go with `omit` @ weight
  help: an amendment has `entry` with `value`, `list`, `rows`, `row` and `value`, `add` or `remove`; or `omit`, with `exception` where only that is taken out; or `reweigh` with `weight`
`from` of this amendment must be a day without quotes, such as 2022-01-01 @ "2022-01-01"
`until` of this amendment must be a day without quotes, such as 2022-01-01 @ 2021-01-01T10:00:00
`8 inn` is no quantity @ "8 inn"
  help: write a number with a unit of the trade, such as `12 in`, `20 A` or `14 AWG`; a word begins with a letter
`cites` of this amendment is empty @ ""
this amendment ends on 2021-01-01, before it begins on 2022-01-01 @ 2021-01-01
  first day @ 2022-01-01
this amendment changes nothing @ add
`checked` of this amendment can't be `guess` @ "guess"
  help: known here: law_text, memory, official_page, secondary
"#
    );
    assert_eq!(
        failure("[[amends]]\nomit = \"x\"\ncites = \"x\"\nedition = [\"us/modle\", \"demo/county\"]\n"),
        r#"there is no edition `us/modle` @ "us/modle"
  help: did you mean `us/model`?
there is no edition `demo/county` @ "demo/county"
  help: known here: us/model
"#
    );
}

#[test]
fn real_rulesets_must_say_how_a_value_was_checked() {
    let real = manifest("us/model", "edition", "").replace("checked = \"law_text\"\n", "");
    let mut shelf = shelf(&[
        ("us/model/ruleset.toml", &real),
        ("us/model/code/a.toml", "[a.b]\nvalue = \"1 in\"\ncites = \"x\"\n"),
    ]);
    assert_eq!(
        fails(&mut shelf, &ask("us/model", "2023-05-10")),
        "entry `a.b` has no `checked` @ b\n  help: write how the value was checked: `checked = \"law_text\"`, `\"official_page\"`, \
         `\"secondary\"` or `\"memory\"`; in the manifest it holds for all values that say nothing\n"
    );
}

#[test]
fn an_amendment_may_be_for_one_edition_only() {
    let adopts = |edition: &str, from: &str| {
        format!("[[adopts]]\nruleset = \"us/{edition}\"\nfrom = {from}\ncites = \"Ord.\"\n")
    };
    let amends = "[[amends]]\nentry = \"a.b\"\nvalue = \"8 in\"\ncites = \"§1\"\nedition = \"us/one\"\n\
                  [[amends]]\nentry = \"c.d\"\nvalue = \"9 in\"\ncites = \"§2\"\nedition = [\"us/two\"]\n";
    let place = adopts("one", "2018-01-01") + &*adopts("two", "2021-01-01") + amends;
    let mut shelf = shelf(&[
        ("us/one/ruleset.toml", &manifest("us/one", "edition", "")),
        ("us/one/code/a.toml", "[a.b]\nvalue = \"1 in\"\ncites = \"x\"\n"),
        ("us/two/ruleset.toml", &manifest("us/two", "edition", "")),
        ("us/two/code/a.toml", "[c.d]\nvalue = \"2 in\"\ncites = \"x\"\n"),
        ("demo/county/ruleset.toml", &manifest("demo/county", "jurisdiction", &place)),
    ]);
    assert_eq!(value(&book(&mut shelf, &on("2020-12-31")), "a.b"), "8 in");
    assert_eq!(value(&book(&mut shelf, &on("2021-01-01")), "c.d"), "9 in");
}

#[test]
fn a_rulesets_own_value_is_amended_only_for_a_time() {
    let own = "[own.value]\nvalue = \"1 in\"\ncites = \"§1\"\n[[amends]]\nentry = \"own.value\"\nvalue = \"2 in\"\ncites = \"§2\"\n";
    assert_eq!(
        failure(own),
        "entry `own.value` is set in this same ruleset @ \"own.value\"\n  set here @ \"1 in\"\n  \
         help: write the right value there, or say from when or until when the amendment holds\n"
    );
    let mut shelf = county(&format!("{own}from = 2024-01-01\n"));
    assert_eq!(value(&book(&mut shelf, &on("2023-12-31")), "own.value"), "1 in");
    assert_eq!(value(&book(&mut shelf, &on("2024-01-01")), "own.value"), "2 in");
}

#[test]
fn a_place_changes_an_entry_by_amendment_only() {
    assert_eq!(
        failure(
            "[nm.secured_from_box]\nvalue = \"8 in\"\ncites = \"§1\"\n[nm.secured_from_box2]\nvalue = \"8 in\"\ncites = \"§1\"\n"
        ),
        "entry `nm.secured_from_box` is there already @ secured_from_box\n  set here @ \"12 in\"\n  \
         help: to change it, write [[amends]] with `entry = \"nm.secured_from_box\"`\n"
    );
    assert_eq!(
        failure("[gfci.places.extra]\nvalue = \"8 in\"\ncites = \"§1\"\n"),
        "`gfci.places.extra` lies inside entry `gfci.places` @ \"8 in\"\n  the outer one @ list\n"
    );
}

#[test]
fn every_slip_in_a_file_of_code_is_found_at_once() {
    let code = r#"
loose = 3
[nm]
[a.B-c]
value = "1 in"
cites = "x"
[a.no_value]
vaule = "1 in"
cites = "x"
[a.two]
value = "1 in"
list = ["x"]
cites = "x"
[a.mixed]
list = ["1 in", "2 A", "bathroom"]
cites = "x"
[a.twice]
list = ["kitchen", "kitchen"]
cites = "x"
[a.same]
rows = { "1 ft" = "1 A", "12 in" = "2 A" }
cites = "x"
[a.none]
rows = {}
cites = "x"
[a.time]
value = 10:30:00
cites = "x"
[a.typo]
value = "12 inn"
cites = "x"
[a.typed]
value = "12 in"
type = "lenght"
key = "conductor"
cites = "x"
[a.outer]
value = "1 in"
cites = "x"
[a.outer.inner]
value = "1 in"
cites = "x"
"#;
    assert_eq!(
        failure(code),
        r#"`loose` stands outside of an entry @ loose
  help: an entry is a table: write [loose] with `value`, `list` or `rows`, and `cites`
`nm` holds no entry @ nm
  help: an entry has `value`, `list` or `rows`, and `cites`
`B-c` can't be part of an entry's name @ B-c
  help: write small letters, digits and `_`, beginning with a letter, such as `secured_from_box`
entry `a.no_value` has no `value`, `list` or `rows` @ no_value
  help: write `value = "12 in"`, `list = ["kitchen"]` or `rows = { "14 AWG" = "15 A" }`
entry `a.no_value` has no `vaule` @ vaule
  help: did you mean `value`?
entry `a.two` holds one of `value`, `list` and `rows` @ list
this is a current where the first one is a length @ "2 A"
  a length @ "1 in"
  help: all of one list or column are of one kind: look for a slip in the unit, or say which with `type` or `key_type`
this is a text where the first one is a length @ "bathroom"
  a length @ "1 in"
  help: all of one list or column are of one kind: look for a slip in the unit, or say which with `type` or `key_type`
`kitchen` is listed twice @ "kitchen"
  first here @ "kitchen"
`12 in` is the same row as `1 ft` @ "12 in"
  first here @ "1 ft"
entry `a.none` has no rows @ rows
  help: write `rows = { "14 AWG" = "15 A" }`
this can't be a value of the code @ 10:30:00
  help: write a text in quotes, a plain number, true or false, or a day such as 2022-01-01
`12 inn` is no quantity @ "12 inn"
  help: write a number with a unit of the trade, such as `12 in`, `20 A` or `14 AWG`; a word begins with a letter
there is no type `lenght` @ "lenght"
  help: did you mean `length`?
only a table has keys @ key
  help: `key` says what the keys of `rows` are
entry `a.outer` can't hold another entry @ inner
  this is an entry by its own keys @ outer
"#
    );
    assert_eq!(
        failure("[a\nvalue = \n"),
        r#"unclosed table, expected `]` @ 
  help: close the header with `]`; its name has no blanks: `[our_town.switch_top]`
"#
    );
}
