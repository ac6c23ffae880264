//! The chain of who set what: entries, rows, members; printed and compared.

use super::*;
use crate::book::{Checked, EntryChange, Found, RowDifference, Scalar, Value};
use crate::quantity::{Dimension, Quantity, parse};

const MODEL: &str = r#"
[nm.secured_from_box]
value = "12 in"
cites = "334.30"
checked = "secondary"
source = "a trade forum quoting 334.30"
note = "measured along the sheath"
[protection.copper_max]
key = "conductor"
rows = { "12 AWG" = "20 A", "14 AWG" = "15 A" }
cites = "240.4(D)"
[gfci.places]
list = ["bathroom", "garage", "kitchen"]
cites = "210.8(A)"
[box.free_conductor]
value = "6 in"
cites = "300.14"
[range.demand]
rows = { "8 kW" = "8 kW" }
cites = "220.55"
[fault.required]
value = true
cites = "210.12"
[wires.maximum]
value = 3
cites = "invented"
[factor]
value = 1.25
cites = "210.20(A)"
"#;

const COUNTY: &str = r#"
[[amends]]
entry = "nm.secured_from_box"
value = "8 in"
cites = "Ord. 21-14 §3"
from = 2022-01-01
[[amends]]
entry = "protection.copper_max"
row = "14 AWG"
value = "10 A"
cites = "Ord. 21-14 §4"
[[amends]]
entry = "gfci.places"
add = ["attic"]
remove = ["garage"]
cites = "Ord. 21-14 §5"
[[amends]]
entry = "range.demand"
add = { "12 kW" = "9 kW" }
cites = "Ord. 21-14 §6"
[county.only]
value = "30 in"
cites = "Ord. 21-14 §7"
"#;

fn county_shelf() -> Shelf {
    let adopts = "[[adopts]]\nruleset = \"us/model-2020\"\nfrom = 2021-07-01\ncites = \"Ord. 21-14 §1\"\n";
    shelf(&[
        ("us/model-2020/ruleset.toml", &manifest("us/model-2020", "edition", "")),
        ("us/model-2020/code/all.toml", MODEL),
        ("demo/harlow-county/ruleset.toml", &manifest("demo/harlow-county", "jurisdiction", adopts)),
        ("demo/harlow-county/code/all.toml", COUNTY),
        (
            "shop/three-gable/ruleset.toml",
            &manifest(
                "shop/three-gable",
                "shop",
                "[[amends]]\nentry = \"box.free_conductor\"\nvalue = \"200 mm\"\ncites = \"shop practice\"\n\
                 [[amends]]\nentry = \"protection.copper_max\"\nrow = \"14 AWG\"\nvalue = \"8 A\"\ncites = \"shop practice\"\n",
            ),
        ),
    ])
}

fn county(shelf: &mut Shelf, date: &str) -> Arc<Book> {
    book(shelf, &Ask { shop: Some("shop/three-gable".into()), ..ask("demo/harlow-county", date) })
}

#[test]
fn the_chain_of_an_entry_names_every_setter() {
    let mut shelf = county_shelf();
    let book = county(&mut shelf, "2023-05-10");
    let entry = book.get("nm.secured_from_box").unwrap();
    assert_eq!(
        book.chain_line(&entry.chain),
        "12 in (model-2020, 334.30) → 8 in (harlow-county, Ord. 21-14 §3, in force 2022-01-01)"
    );
    assert_eq!(entry.value, Value::Scalar(Scalar::Quantity(parse("8 in", Dimension::Length).unwrap())));
    assert_eq!(shelf.files().text(entry.chain[0].span), "\"12 in\"");
    assert_eq!(shelf.files().text(entry.chain[1].span), "\"8 in\"");
    assert_eq!(entry.chain[0].checked, Checked::Secondary);
    assert_eq!(entry.chain[0].note.as_deref(), Some("measured along the sheath"));
    assert_eq!(entry.chain[1].checked, Checked::LawText);
    assert_eq!(entry.chain[1].source, "invented");
    let set_by = book.set_by_all(&entry.chain);
    assert_eq!(set_by[0].ruleset, "demo/harlow-county");
    assert_eq!(set_by[0].in_force.as_deref(), Some("2022-01-01"));
    assert_eq!((set_by[1].value.as_str(), set_by[1].checked.as_str()), ("12 in", "secondary"));
    assert_eq!(layer_ids(&book), ["us/model-2020", "demo/harlow-county", "shop/three-gable"]);
}

#[test]
fn an_amendment_begins_and_ends_on_its_very_day() {
    let mut shelf = county_shelf();
    assert_eq!(value(&county(&mut shelf, "2021-12-31"), "nm.secured_from_box"), "12 in");
    assert_eq!(value(&county(&mut shelf, "2022-01-01"), "nm.secured_from_box"), "8 in");
}

#[test]
fn rows_and_members_remember_who_set_them() {
    let mut shelf = county_shelf();
    let book = county(&mut shelf, "2023-05-10");
    let entry = book.get("protection.copper_max").unwrap();
    let Value::Table(table) = &entry.value else { panic!("no table") };
    let at = |text: &str| table.row(Scalar::Quantity(parse(text, Dimension::Conductor).unwrap())).unwrap();
    assert_eq!(
        book.chain_line(&entry.row_chain(at("14 AWG"))),
        "15 A (model-2020, 240.4(D)) → 10 A (harlow-county, Ord. 21-14 §4) → 8 A (three-gable, shop practice)"
    );
    assert_eq!(book.chain_line(&entry.row_chain(at("12 AWG"))), "20 A (model-2020, 240.4(D))");
    assert_eq!(shelf.files().text(at("14 AWG").span), "\"8 A\"");
    assert_eq!(
        book.chain_line(&entry.chain),
        "2 rows (model-2020, 240.4(D)) → 14 AWG = 10 A (harlow-county, Ord. 21-14 §4) → \
         14 AWG = 8 A (three-gable, shop practice)"
    );
    assert_eq!(parts(&book, "protection.copper_max"), "14 AWG = 8 A, 12 AWG = 20 A");

    let entry = book.get("gfci.places").unwrap();
    let Value::List(members) = &entry.value else { panic!("no list") };
    assert_eq!(parts(&book, "gfci.places"), "bathroom, kitchen, attic");
    assert_eq!(book.chain_line(&entry.member_chain(&members[0])), "bathroom (model-2020, 210.8(A))");
    assert_eq!(book.chain_line(&entry.member_chain(&members[2])), "attic (harlow-county, Ord. 21-14 §5)");
    assert_eq!(entry.latest().unwrap().value, "with attic, without garage");
    assert_eq!(parts(&book, "range.demand"), "8 kW = 8 kW, 12 kW = 9 kW");
}

#[test]
fn values_are_read_as_what_they_are() {
    let mut shelf = county_shelf();
    let book = county(&mut shelf, "2023-05-10");
    let scalar = |key: &str| match book.get(key).map(|entry| &entry.value) {
        Some(Value::Scalar(scalar)) => *scalar,
        other => panic!("{other:?}"),
    };
    assert_eq!(scalar("fault.required"), Scalar::Flag(true));
    assert_eq!(scalar("wires.maximum"), Scalar::Quantity(Quantity::number(3)));
    assert_eq!(scalar("factor"), Scalar::Quantity(parse("1.25", Dimension::Number).unwrap()));
    let Some(Value::List(members)) = book.get("gfci.places").map(|entry| &entry.value) else { panic!("no list") };
    let Scalar::Text(kitchen) = members[1].value else { panic!("no text") };
    assert_eq!(shelf.symbols().text(kitchen), "kitchen");
}

#[test]
fn an_entry_has_the_same_number_in_every_book() {
    let mut shelf = county_shelf();
    let one = county(&mut shelf, "2023-05-10");
    let other = book(&mut shelf, &ask("us/model-2020", "2023-05-10"));
    assert_eq!(one.id("gfci.places"), other.id("gfci.places"));
    assert!(one.id("county.only").is_some());
    assert_eq!(other.id("county.only"), None);
    assert_eq!(other.entry(one.id("county.only").unwrap()), None);
    assert!(one.keys().map(|(key, _)| key).is_sorted());
}

#[test]
fn days_that_give_the_same_code_give_the_same_book() {
    let mut shelf = county_shelf();
    let one = county(&mut shelf, "2022-01-01");
    let other = county(&mut shelf, "2026-01-01");
    assert!(Arc::ptr_eq(&one, &other));
    assert!(!Arc::ptr_eq(&one, &county(&mut shelf, "2021-12-31")));
}

#[test]
fn the_book_is_shown_by_entry_group_rule_and_nearest_name() {
    let mut shelf = county_shelf();
    let book = county(&mut shelf, "2023-05-10");
    let Found::Entry(shown) = book.show("nm.secured_from_box") else { panic!("no entry") };
    assert_eq!(shown.value.as_deref(), Some("8 in"));
    assert_eq!(shown.holds, "one value (length)");
    assert_eq!(shown.chain[0].source, "a trade forum quoting 334.30");
    let Found::Entry(shown) = book.show("protection.copper_max") else { panic!("no table") };
    assert_eq!(shown.key_label.as_deref(), Some("conductor"));
    assert_eq!(shown.rows[0].key.as_deref(), Some("14 AWG"));
    assert_eq!(shown.rows[0].chain.len(), 3);
    let Found::Group(keys) = book.show("protection") else { panic!("no group") };
    assert_eq!(keys, ["protection.copper_max"]);
    let Found::Nothing(near) = book.show("nm.secured_form_box") else { panic!("found") };
    assert_eq!(near, Some("nm.secured_from_box"));
}

#[test]
fn two_codes_are_compared_entry_by_entry() {
    let mut shelf = county_shelf();
    let after = county(&mut shelf, "2023-05-10");
    let before = book(&mut shelf, &ask("us/model-2020", "2023-05-10"));
    let difference = Book::diff(&before, &after);
    let keys: Vec<&str> = difference.entries.iter().map(|entry| entry.key.as_str()).collect();
    assert_eq!(
        keys,
        [
            "box.free_conductor",
            "county.only",
            "gfci.places",
            "nm.secured_from_box",
            "protection.copper_max",
            "range.demand"
        ]
    );
    assert_eq!(difference.entries[1].what, EntryChange::Added);
    assert_eq!(
        difference.entries[2].what,
        EntryChange::Members { added: vec!["attic".into()], removed: vec!["garage".into()] }
    );
    assert_eq!(difference.entries[3].what, EntryChange::Value { before: "12 in".into(), after: "8 in".into() });
    assert_eq!(difference.entries[3].after.last().unwrap().cites, "Ord. 21-14 §3");
    let row = |key: &str, before: Option<&str>, after: Option<&str>| RowDifference {
        key: key.into(),
        before: before.map(str::to_owned),
        after: after.map(str::to_owned),
    };
    assert_eq!(difference.entries[4].what, EntryChange::Rows(vec![row("14 AWG", Some("15 A"), Some("8 A"))]));
    assert_eq!(difference.entries[5].what, EntryChange::Rows(vec![row("12 kW", None, Some("9 kW"))]));
    assert!(Book::diff(&after, &after).is_empty());
    let back = Book::diff(&after, &before);
    assert_eq!(back.entries[1].what, EntryChange::Removed);
    assert_eq!(back.entries[1].after, []);
}

#[test]
fn the_same_amount_in_other_words_is_no_difference() {
    let code = |value: &str| format!("[a.b]\nvalue = \"{value}\"\ncites = \"x\"\n");
    let mut shelf = shelf(&[
        ("us/one/ruleset.toml", &manifest("us/one", "edition", "")),
        ("us/one/code/a.toml", &code("12 in")),
        ("us/two/ruleset.toml", &manifest("us/two", "edition", "")),
        ("us/two/code/a.toml", &code("1 ft")),
    ]);
    let (one, two) = (book(&mut shelf, &ask("us/one", "2023-01-01")), book(&mut shelf, &ask("us/two", "2023-01-01")));
    assert!(Book::diff(&one, &two).is_empty());
}
