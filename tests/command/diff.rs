//! `code --diff`: two codes, entry by entry and rule by rule.

use crate::support::{Folder, flat};

#[test]
fn two_days_of_one_place() {
    let ran = Folder::little().run("code --diff little/county@2021-12-31 @2022-01-01 --rulesets book");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("diff_80", ran.out);
}

#[test]
fn two_places_on_one_day() {
    let ran = Folder::little().run("code --diff little/edition little/city --on 2023-05-10 --rulesets book");
    let flat = flat(&ran.out);
    assert!(flat.contains("Entries that differ: 1 staple.from_box: 12 in (Little edition, 1.1) → 8 in"), "{}", ran.out);
    assert!(flat.contains("Rules that differ: 1 rule boxes-plumb: only in the first"), "{}", ran.out);
    assert!(flat.contains("omitted (Little city, Chapter 5)"), "{}", ran.out);
    let shop = Folder::little().run(
        "code --diff little/county little/county --on 2023-05-10 --rulesets book --format json --shop little/shop",
    );
    // Both have the shop on top.
    assert_eq!(shop.json()["rules"].as_array().map(Vec::len), Some(0));
}

#[test]
fn the_same_code_twice_says_the_same() {
    let ran = Folder::little().run("code --diff little/city@2023-01-01 little/city@2023-05-10 --rulesets book");
    assert!(ran.out.contains("Both say the same."), "{}", ran.out);
}

#[test]
fn names_narrow_it_and_a_wrong_one_is_told() {
    let folder = Folder::little();
    // What stands before `--diff` are names.
    let words = "code staple wire.braker --diff little/county@2021-12-31 @2022-01-01 --rulesets book --format json";
    let ran = folder.run(words);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("nothing is called `wire.braker` in either code; did you mean `wire.breaker`?"));
    let json = ran.json();
    assert_eq!(json["entries"].as_array().map(Vec::len), Some(1));
    assert_eq!(json["entries"][0]["entry"], "staple.from_box");
    assert_eq!(json["entries"][0]["before"], "12 in");
    assert_eq!(
        (json["first"]["date"].as_str(), json["second"]["date"].as_str()),
        (Some("2021-12-31"), Some("2022-01-01"))
    );
}

#[test]
fn lists_and_tables_are_told_by_what_came_and_went() {
    let folder = Folder::little();
    folder.append(
        "book/little/county/ruleset.toml",
        "\n[[amends]]\nentry = \"wire.breaker\"\nrow = \"14 AWG\"\nvalue = \"10 A\"\ncites = \"Ord. 3\"\nchecked = \"memory\"\n",
    );
    let ran = folder.run("code --diff little/edition little/county --on 2023-05-10 --rulesets book wire");
    assert!(
        flat(&ran.out).contains("wire.breaker: 14 AWG: 15 A → 10 A (Little county, Ord. 3, unverified)"),
        "{}",
        ran.out
    );
}

#[test]
fn a_side_that_is_not_there_is_a_fault() {
    let folder = Folder::little();
    folder
        .run("code --diff little/county@2021-01-01 little/city --on 2023-05-10 --rulesets book")
        .refused("no edition is in force");
    folder.run("code --diff @2021-01-01 little/city --rulesets book").refused("name the place of the first code");
    folder.run("code --diff little/city --rulesets book").refused("2 values");
}
