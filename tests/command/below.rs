//! `ruleset check` of a place looks at what its amendments do to the rules below.

use crate::support::{Folder, Ran, flat};

/// A rule that reads a list of words.
const RULE: &str = r#"
/// Some rooms have a box.
rule "room-has-box" on room at rough_in cites "1.8" {
    applies where room.kind in code.room.with_box;
    need any b in room.boxes where b.purpose == "switch" else "add a box";
}
"#;

const LIST: &str = "\n[room.with_box]\nlist = [\"workshop\"]\ncites = \"1.8\"\nchecked = \"memory\"\n";

const SHED: &str = r#"
[[trial]]
rule = "room-has-box"
name = "a workshop"
expect = "correction"
job.room = [{ id = "shed", kind = "workshop", length = "10 ft", width = "8 ft" }]
"#;

/// Checks the county with one more amendment.
fn county(amendment: &str) -> (Folder, Ran) {
    let folder = Folder::little();
    folder.append("book/little/edition/rules/rules.rhai", RULE);
    folder.append("book/little/edition/code/entries.toml", LIST);
    folder.append("book/little/edition/trials/trials.toml", SHED);
    folder.change("book/little/county/ruleset.toml", "\"Ord. 1\"\n", "\"Ord. 1\"\nchecked = \"secondary\"\n");
    let amendment = format!("\n[[amends]]\n{amendment}\ncites = \"Ord. 9\"\nchecked = \"memory\"\n");
    folder.append("book/little/county/ruleset.toml", &amendment);
    let ran = folder.run("ruleset check little/county --rulesets book");
    (folder, ran)
}

#[test]
fn a_misspelt_member_is_told_at_its_line_with_the_rule_that_it_switches_off() {
    let (folder, ran) = county("entry = \"room.with_box\"\nadd = [\"worksop\"]");
    assert_eq!(ran.status, 1, "{}", ran.out);
    let flat = flat(&ran.out);
    assert!(
        flat.contains("rule `room-has-box` can't be used with this: `worksop` is none of the words"),
        "{}",
        ran.out
    );
    assert!(flat.contains("did you mean `workshop`?"), "{}", ran.out);
    assert!(ran.out.contains("little/county/ruleset.toml:23:8"), "{}", ran.out);
    // The same for programs.
    let json = folder.run("ruleset check little/county --rulesets book --format json").json();
    let off = &json["rulesets"][0]["below"]["switched_off"];
    assert_eq!((&off[0]["line"], off.as_array().map(Vec::len)), (&23.into(), Some(1)), "{json:#}");
}

#[test]
fn a_member_of_the_vocabulary_is_no_problem() {
    let (_, ran) = county("entry = \"room.with_box\"\nadd = [\"kitchen\"]");
    assert_eq!(ran.status, 0, "{}", ran.out);
}

#[test]
fn an_amendment_that_comes_into_force_later_is_looked_at_as_well() {
    let (_, ran) = county("entry = \"room.with_box\"\nadd = [\"worksop\"]\nfrom = 2031-01-01\nuntil = 2031-12-31");
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert!(flat(&ran.out).contains("rule `room-has-box` can't be used with this"), "{}", ran.out);
}

#[test]
fn rows_that_a_rule_looks_for_must_not_get_lost() {
    let (_, ran) = county("entry = \"wire.breaker\"\nrows = { \"14 AWG\" = \"15 A\" }");
    assert_eq!(ran.status, 1, "{}", ran.out);
    let flat = flat(&ran.out);
    assert!(flat.contains("rule `wire-fits-breaker` can't be used where a row is gone"), "{}", ran.out);
    assert!(flat.contains("table `wire.breaker` loses rows that may be looked for: `12 AWG`"), "{}", ran.out);
    let (_, ran) = county("entry = \"wire.breaker\"\nrow = \"14 AWG\"\nvalue = \"10 A\"");
    assert_eq!(ran.status, 0, "{}", ran.out);
}

#[test]
fn an_amendment_that_changes_nothing_is_remarked_upon() {
    let (folder, ran) = county("entry = \"height.switch_box\"\nvalue = \"4 ft\"");
    assert_eq!(ran.status, 0, "{}", ran.out);
    let said = flat(&ran.out);
    assert!(said.contains("changes nothing: entry `height.switch_box` holds the same without it"), "{}", ran.out);
    // Whoever says the same on a better word has said something.
    folder.change("book/little/county/ruleset.toml", "checked = \"memory\"", "checked = \"law_text\"");
    let ran = folder.run("ruleset check little/county --rulesets book");
    assert!(!flat(&ran.out).contains("changes nothing"), "{}", ran.out);
}

#[test]
fn trials_below_that_come_out_otherwise_are_a_note() {
    let (_, ran) = county("entry = \"room.with_box\"\nremove = [\"workshop\"]");
    assert_eq!(ran.status, 0, "{}", ran.out);
    let flat = flat(&ran.out);
    assert!(flat.contains("2 trials come out otherwise here than in little/edition"), "{}", ran.out);
    assert!(flat.contains("room-has-box “a workshop”"), "{}", ran.out);
    assert!(flat.contains("correction there, not_applicable here; reads room.with_box"), "{}", ran.out);
    // The county's own 8 in.
    assert!(flat.contains("staple-near-box “a staple at 10 in”"), "{}", ran.out);
}
