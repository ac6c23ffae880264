//! What a place says in text files: values and rules of some days, exceptions of its own, tables by range, places inside that may
//! only tighten.

use crate::support::{Folder, flat};

/// Lines that every manifest has.
fn manifest(id: &str, kind: &str, more: &str) -> String {
    format!(
        "id = \"{id}\"\ntitle = \"{id}\"\nkind = \"{kind}\"\nversion = \"1\"\nreviewed = 2026-11-25\n\
         source = \"invented\"\nchecked = \"law_text\"\n{more}"
    )
}

const CODE: &str = r#"
[[staple.from_box]]
value = "12 in"
cites = "1.1, old"
until = 2023-12-31

[[staple.from_box]]
value = "10 in"
cites = "1.1, new"
from = 2024-01-01

[breaker.of_length]
rows = { "20 ft" = "30 A", "60 ft" = "20 A", "100 ft" = "15 A" }
match = "up_to"
key = "cable up to"
cites = "1.2"
"#;

const RULES: &str = r#"
/// A cable that was pulled through a closed wall.
define fished_in on cable cites "1.9" { cable.route == "fished" }

/// A staple holds the cable close to its box.
rule "staple-near-box" on cable_end at rough_in cites "1.1" {
    applies where end.is_at_box;
    except "1.1(A)" where end.cable.fished_in;
    keep end.first_support at_most code.staple.from_box;
}

/// A long cable has a small breaker.
rule "breaker-for-length" on cable at rough_in cites "1.2" from "2024-01-01" {
    keep cable.circuit.rating at_most code.breaker.of_length[cable.length];
}
"#;

const JOB: &str = r#"format = 1

[site]
jurisdiction = "range/town"
permit_date = 2024-06-01
stage = "rough_in"

[[panel]]
id = "P1"

[[circuit]]
id = "1"
rating = "20 A"

[[box]]
id = "B1"

[[cable]]
id = "C1"
make = "14/2"
circuit = "1"
length = "70 ft"
route = "along_framing"
from = "P1"
to = { at = "B1", first_support = "11 in" }
"#;

fn places(county: &str, town: &str, town_rules: &str) -> Folder {
    let folder = Folder::empty();
    let adopts = format!("[[adopts]]\nruleset = \"range/edition\"\nfrom = 2020-01-01\ncites = \"Ord. 1\"\n{county}");
    folder.write("book/range/edition/ruleset.toml", &manifest("range/edition", "edition", ""));
    folder.write("book/range/edition/code/code.toml", CODE);
    folder.write("book/range/edition/rules/rules.rhai", RULES);
    folder.write("book/range/county/ruleset.toml", &manifest("range/county", "jurisdiction", &adopts));
    let within = format!("within = \"range/county\"\n{town}");
    folder.write("book/range/town/ruleset.toml", &manifest("range/town", "jurisdiction", &within));
    folder.write("book/range/town/rules/rules.rhai", town_rules);
    folder.write("job.toml", JOB);
    folder
}

const EXCEPTION: &str = r#"
/// A cable that is longer than the table is held by its clamp.
exception "long-cable" to "staple-near-box" cites "Town 7" from "2024-01-01" {
    end.cable.length > end.cable.length - end.first_support
}
"#;

#[test]
fn a_value_and_a_rule_change_on_their_day() {
    let folder = places("", "", "");
    let before = folder.run("inspect job.toml --rulesets book --permit-date 2023-12-31");
    assert_eq!(before.status, 0, "{}{}", before.out, before.err);
    let after = folder.run("inspect job.toml --rulesets book");
    assert_eq!(after.status, 1, "{}{}", after.out, after.err);
    let flat = flat(&after.out);
    assert!(flat.contains("staple-near-box") && flat.contains("breaker-for-length"), "{}", after.out);
    let code = folder.run("code --at range/town --on 2023-12-31 staple breaker-for-length --rulesets book");
    assert!(code.out.contains("staple.from_box = 12 in"), "{}", code.out);
    assert!(code.out.contains("NOT in force on this day"), "{}", code.out);
    assert!(code.out.contains("in force from 2024-01-01"), "{}", code.out);
}

#[test]
fn a_table_by_range_is_shown_as_one_and_ends_where_it_ends() {
    let folder = places("", "", "");
    let code = folder.run("code --at range/town --on 2024-06-01 breaker.of_length --rulesets book");
    assert!(code.out.contains("up to 60 ft: 20 A"), "{}", code.out);
    let json =
        folder.run("code --at range/town --on 2024-06-01 breaker.of_length --rulesets book --format json").json();
    assert_eq!(json["entries"][0]["match"], "up_to", "{json:#}");
    folder.change("job.toml", "70 ft", "110 ft");
    let ran = folder.run("inspect job.toml --rulesets book");
    assert!(flat(&format!("{}{}", ran.out, ran.err)).contains("the table ends at 100 ft"), "{}{}", ran.out, ran.err);
    let guide = folder.run("ruleset guide range/edition --rulesets book --format markdown");
    assert!(guide.out.contains("| up to 60 ft | 20 A |"), "{}", guide.out);
    assert!(guide.out.contains("In force until 2023-12-31."), "{}", guide.out);
    assert!(guide.out.contains("; in force from 2024-01-01"), "{}", guide.out);
}

#[test]
fn a_shared_condition_is_shown_by_its_name_and_a_place_defines_it_anew() {
    let own = "/// No cable counts as pulled in here.\ndefine fished_in on cable cites \"Town 3\" { cable.route == \"attic\" }\n";
    let folder = places("", "", own);
    let code = folder.run("code --at range/town --on 2024-06-01 fished_in --rulesets book");
    assert_eq!((code.status, code.err.as_str()), (0, ""));
    let said = flat(&code.out);
    assert!(said.contains("define fished_in (Town 3): No cable counts as pulled in here."), "{}", code.out);
    assert!(
        said.contains("range/edition: defined (1.9)") && said.contains("range/town: defined anew (Town 3)"),
        "{}",
        code.out
    );
    let near = folder.run("code --at range/town --on 2024-06-01 fished_im --rulesets book");
    assert!(flat(&near.err).contains("did you mean `fished_in`?"), "{}", near.err);
    let guide = folder.run("ruleset guide range/edition --rulesets book --format markdown");
    assert!(guide.out.contains("## Shared conditions"), "{}", guide.out);
}

#[test]
fn a_place_adds_an_exception_and_takes_one_out() {
    let town = "[[amends]]\nomit = \"staple-near-box\"\nexception = \"1.1(A)\"\ncites = \"Town 8\"\n";
    let folder = places("", town, EXCEPTION);
    let code = folder.run("code --at range/town --on 2024-06-01 staple-near-box --rulesets book");
    let said = flat(&code.out);
    assert!(
        said.contains("exception long-cable added by range/town (Town 7 from 2024-01-01): A cable that"),
        "{}",
        code.out
    );
    assert!(said.contains("exception 1.1(A) taken out by range/town (Town 8)"), "{}", code.out);
    let ran = folder.run("inspect job.toml --rulesets book");
    assert!(!flat(&ran.out).contains("staple-near-box"), "{}{}", ran.out, ran.err);
    let misspelt = places("", &town.replace("1.1(A)", "1.1(B)"), "");
    let ran = misspelt.run("inspect job.toml --rulesets book");
    let said = flat(&format!("{}{}", ran.out, ran.err));
    assert!(said.contains("rule `staple-near-box` has no exception `1.1(B)`"), "{}{}", ran.out, ran.err);
}

#[test]
fn a_town_inside_may_only_tighten() {
    let amend =
        |value: &str| format!("[[amends]]\nentry = \"staple.from_box\"\nvalue = \"{value}\"\ncites = \"Town 9\"\n");
    let strict = |town: &str| {
        let folder = places("", town, "");
        folder.change("book/range/county/ruleset.toml", "\n[[adopts]]", "\nlocals = \"stricter\"\n[[adopts]]");
        folder
    };
    let tighter = strict(&amend("8 in")).run("inspect job.toml --rulesets book");
    assert_eq!(tighter.status, 1, "{}{}", tighter.out, tighter.err);
    let folder = strict(&amend("300 mm"));
    let ran = folder.run("inspect job.toml --rulesets book");
    assert_eq!(ran.status, 2, "{}{}", ran.out, ran.err);
    let said = flat(&ran.err);
    assert!(said.contains("`range/town` may only tighten `staple.from_box`"), "{}", ran.err);
    assert!(said.contains("which asks for less under rule `staple-near-box`"), "{}", ran.err);
    let check = folder.run("ruleset check range/town --rulesets book");
    assert_eq!(check.status, 2, "{}{}", check.out, check.err);
    assert!(flat(&format!("{}{}", check.out, check.err)).contains("may only tighten"), "{}{}", check.out, check.err);
}
