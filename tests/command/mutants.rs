//! `ruleset check --mutants`: small changes of a ruleset that no trial notices are told at their lines.

use crate::support::{Folder, flat};

const EDITION: &str = r#"id = "tiny/edition"
title = "Tiny edition"
kind = "edition"
version = "1"
reviewed = 2023-01-02
source = "invented for these tests"
"#;

const ENTRIES: &str = r#"[staple.from_box]
value = "12 in"
cites = "1.1"
checked = "memory"

[staple.elsewhere]
value = "5 in"
cites = "1.2"
checked = "memory"
"#;

const RULES: &str = r#"/// A staple holds the cable close to its box.
rule "staple-near-box" on cable_end at rough_in cites "1.1" {
    keep end.first_support at_most code.staple.from_box
        else "add a staple closer to the box";
}
"#;

/// Returns a trial in which the first staple is so far from the box.
fn trial(distance: &str, expect: &str) -> String {
    format!(
        "[[trial]]\nrule = \"staple-near-box\"\nname = \"{distance}\"\nexpect = \"{expect}\"\nitem = \"C1/to\"\n\
         job.panel = [{{ id = \"P1\" }}]\njob.circuit = [{{ id = \"1\", rating = \"15 A\" }}]\n\
         job.room = [{{ id = \"shed\", kind = \"workshop\", length = \"10 ft\", width = \"8 ft\" }}]\n\
         job.box = [{{ id = \"B1\", room = \"shed\", wall = \"north\", along = \"2 ft\", purpose = \"receptacle\" }}]\n\
         job.cable = [{{ id = \"C1\", make = \"14/2\", circuit = \"1\", from = \"P1\", to = {{ at = \"B1\", first_support = \"{distance}\" }} }}]\n\n"
    )
}

/// Returns a folder with the tiny edition and trials of these distances.
fn tiny(trials: &[(&str, &str)]) -> Folder {
    let folder = Folder::empty();
    folder.write("book/tiny/edition/ruleset.toml", EDITION);
    folder.write("book/tiny/edition/code/entries.toml", ENTRIES);
    folder.write("book/tiny/edition/rules/rules.rhai", RULES);
    let trials: String = trials.iter().map(|(distance, expect)| trial(distance, expect)).collect();
    folder.write("book/tiny/edition/trials/trials.toml", &trials);
    folder
}

const CHECK: &str = "ruleset check --mutants tiny/edition --rulesets book";

#[test]
fn a_change_that_no_trial_notices_is_told_at_its_line() {
    // A trial that stands well inside the limit sees neither a smaller value nor a limit that fails itself.
    let folder = tiny(&[("12 in", "met"), ("14 in", "correction")]);
    let ran = folder.run(CHECK);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""), "{}", ran.out);
    let flat = flat(&ran.out);
    assert!(flat.contains("entries.toml:2: entry staple.from_box: `12 in` as `13 in`"), "{}", ran.out);
    assert!(flat.contains("tiny/edition: 4 changes tried, 1 goes unnoticed"), "{}", ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
    // The entry that no rule reads has no changes, and the second trial sees the rest.
    assert!(!flat.contains("staple.elsewhere"), "{}", ran.out);
}

#[test]
fn trials_on_both_sides_of_the_limit_notice_every_change() {
    let ran = tiny(&[("12 in", "met"), ("12 1/4 in", "correction")]).run(CHECK);
    assert_eq!(ran.status, 0, "{}", ran.out);
    let rows: Vec<String> = ran.out.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    assert!(rows.contains(&"all 4 4 100 %".into()), "{rows:?}");
    assert!(rows.contains(&"value at its limit fails 1 1 100 %".into()), "{rows:?}");
    let ran = tiny(&[("11 in", "met"), ("12 1/4 in", "correction")]).run(CHECK);
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert!(
        flat(&ran.out).contains("rules.rhai:3: rule staple-near-box: `keep end.first_support at_most"),
        "{}",
        ran.out
    );
}

#[test]
fn json_has_each_change_with_its_place() {
    let folder = tiny(&[("12 in", "met"), ("14 in", "correction")]);
    let json = folder.run(&format!("{CHECK} --format json")).json();
    let one = &json["mutants"][0];
    assert_eq!((one["tried"].as_u64(), one["noticed"].as_u64()), (Some(4), Some(3)), "{json:#}");
    let unnoticed = one["unnoticed"].as_array().unwrap();
    assert_eq!(unnoticed.len(), 1);
    assert_eq!((&unnoticed[0]["entry"], &unnoticed[0]["sort"]), (&"staple.from_box".into(), &"value".into()));
    assert_eq!((&unnoticed[0]["line"], &unnoticed[0]["trials"]), (&2.into(), &2.into()));
}

#[test]
fn a_change_may_be_excused_with_a_reason_and_only_as_long_as_it_goes_unnoticed() {
    let folder = tiny(&[("12 in", "met"), ("14 in", "correction")]);
    let excuse =
        "[[unnoticed]]\nentry = \"staple.from_box\"\nchange = \"`12 in` as `13 in`\"\nreason = \"sold by the foot\"\n";
    folder.write("book/tiny/edition/trials/unnoticed.toml", excuse);
    let ran = folder.run(CHECK);
    assert_eq!(ran.status, 0, "{}", ran.out);
    assert!(flat(&ran.out).contains("1 excused in trials/unnoticed.toml"), "{}", ran.out);
    // The list is no trial file, and the plain commands leave it alone.
    assert_eq!(folder.run("ruleset try tiny/edition --rulesets book").status, 0);

    folder.append("book/tiny/edition/trials/trials.toml", &trial("12 1/4 in", "correction"));
    let ran = folder.run(CHECK);
    assert_eq!(ran.status, 2, "{}", ran.out);
    assert!(
        flat(&ran.out).contains("no change ``12 in` as `13 in`` of entry `staple.from_box` goes unnoticed"),
        "{}",
        ran.out
    );

    folder.write("book/tiny/edition/trials/unnoticed.toml", &excuse.replace("sold by the foot", " "));
    assert!(flat(&folder.run(CHECK).out).contains("the reason is empty"));
}

#[test]
fn a_ruleset_that_is_not_there_is_a_fault() {
    let ran = tiny(&[]).run("ruleset check --mutants tiny/editoin --rulesets book");
    assert_eq!(ran.status, 2);
    assert!(flat(&ran.out).contains("tiny/edition"), "{}", ran.out);
}

const TOWN: &str = r#"id = "tiny/town"
title = "Tiny town"
kind = "jurisdiction"
version = "1"
reviewed = 2023-01-02
source = "invented for these tests"
checked = "memory"

[[adopts]]
ruleset = "tiny/edition"
from = 2021-07-01
cites = "Ord. 1"
"#;

const EXCEPTION: &str = r#"/// Old wires of three stay as they are.
exception "old-wires" to "staple-near-box" cites "Ord. 2" { end.cable.conductors > code.town.wires }
"#;

#[test]
fn an_exception_that_a_place_adds_wants_a_trial_and_is_changed() {
    let folder = tiny(&[("12 in", "met"), ("12 1/4 in", "correction")]);
    folder.write("book/tiny/town/ruleset.toml", TOWN);
    folder.write("book/tiny/town/rules/rules.rhai", EXCEPTION);
    folder.write(
        "book/tiny/town/code/values.toml",
        "[town.wires]\nvalue = 2\ncites = \"Ord. 2\"\nchecked = \"memory\"\n",
    );
    let ran = folder.run("ruleset check tiny/town --rulesets book");
    assert_eq!(ran.status, 1, "{}", ran.out);
    let said = flat(&ran.out);
    assert!(said.contains("no trial is excepted by (1): staple-near-box “old-wires”"), "{}", ran.out);
    assert!(!said.contains("read by no rule"), "{}", ran.out);

    let two = trial("13 in", "correction");
    let three = trial("13 in", "excepted").replace("\"14/2\"", "\"14/3\"");
    let by = |name: &str| three.replace("name =", &format!("by = \"{name}\"\nname ="));
    folder.write("book/tiny/town/trials/trials.toml", &format!("{two}{}", by("old-wires")));
    let ran = folder.run("ruleset check tiny/town --rulesets book");
    assert_eq!(ran.status, 0, "{}", ran.out);
    // A wire more or less, and whether exactly two are excepted, is seen by the two trials.
    let ran = folder.run("ruleset check --mutants tiny/town --rulesets book");
    assert_eq!(ran.status, 0, "{}", ran.out);
    assert!(flat(&ran.out).contains("tiny/town: 4 changes tried, a trial notices each of them"), "{}", ran.out);

    // The trial of another exception is told.
    folder.write("book/tiny/town/trials/trials.toml", &format!("{two}{}", by("new-wires")));
    let ran = folder.run("ruleset try tiny/town --rulesets book");
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert!(flat(&ran.out).contains("nothing is excepted by `new-wires` here"), "{}", ran.out);
}
