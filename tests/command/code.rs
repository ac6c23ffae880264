//! `code`: what is in force and who set it.

use crate::support::{Folder, flat};

#[test]
fn an_entry_comes_with_its_chain() {
    let folder = Folder::little();
    let ran = folder.run("code job.toml staple.from_box --rulesets book");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("code_entry", ran.out);
}

#[test]
fn a_group_shows_all_under_it_and_a_table_its_rows() {
    let ran = Folder::little().run("code job.toml wire --rulesets book");
    assert!(ran.out.contains("wire.breaker (a table (conductor size to current))"), "{}", ran.out);
    assert!(ran.out.contains("    14 AWG: 15 A\n") && ran.out.contains("    12 AWG: 20 A\n"), "{}", ran.out);
}

#[test]
fn a_rule_comes_with_its_text_and_an_earlier_id_finds_it() {
    let folder = Folder::little();
    let ran = folder.run("code job.toml breaker-fits-wire --rulesets book");
    assert_eq!(ran.status, 0);
    insta::assert_snapshot!("code_rule", ran.out);
}

#[test]
fn the_date_decides() {
    let folder = Folder::little();
    let at = |day: &str| folder.run(&format!("code --at little/county --on {day} staple.from_box --rulesets book"));
    assert!(at("2021-12-31").out.contains("staple.from_box = 12 in"));
    assert!(at("2022-01-01").out.contains("staple.from_box = 8 in"));
    at("2021-06-30").refused("no edition is in force in `little/county` on 2021-06-30");
    let job = folder.run("code job.toml staple.from_box --rulesets book --on 2021-12-31");
    assert!(job.out.contains("staple.from_box = 12 in"), "{}", job.out);
}

#[test]
fn what_is_not_in_force_says_so() {
    let ran = Folder::little().run("code --at little/city --on 2023-05-10 boxes-plumb --rulesets book");
    assert!(flat(&ran.out).contains("rule boxes-plumb (1.5) at rough_in — NOT in force"), "{}", ran.out);
    assert!(ran.out.contains("Little city") && ran.out.contains("Chapter 5"), "{}", ran.out);
}

#[test]
fn an_unknown_name_has_a_neighbour_and_hides_no_other() {
    let ran = Folder::little().run("code job.toml staple.form_box wire.breaker --rulesets book");
    assert_eq!(ran.status, 2);
    assert!(
        flat(&ran.err)
            .contains("nothing is called `staple.form_box` in the code in force; did you mean `staple.from_box`?")
    );
    assert!(ran.out.contains("wire.breaker"), "{}", ran.out);
}

#[test]
fn without_a_name_everything_is_listed() {
    let ran = Folder::little().run("code job.toml --rulesets book");
    for name in [
        "staple.from_box = 8 in",
        "height.switch_box",
        "wire.breaker",
        "rule boxes-plumb (1.5)",
        "rule device-circuit-on",
    ] {
        assert!(ran.out.contains(name), "`{name}` is not in:\n{}", ran.out);
    }
}

#[test]
fn the_json_has_the_chain_of_everything() {
    let folder = Folder::little();
    let json = folder.run("code job.toml staple staple-near-box --rulesets book --format json").json();
    assert_eq!(json["jurisdiction"], "little/county");
    assert_eq!(json["edition"], "little/edition");
    let entry = &json["entries"][0];
    assert_eq!((&entry["key"], &entry["value"]), (&"staple.from_box".into(), &"8 in".into()));
    let chain = entry["chain"].as_array().unwrap();
    assert_eq!(chain.len(), 2);
    assert_eq!(chain[1]["in_force"], "2022-01-01");
    assert_eq!(chain[1]["file"], "book/little/county/ruleset.toml");
    assert_eq!(json["rules"][0]["rule"], "staple-near-box");
    assert_eq!(json["rules"][0]["in_force"], true);
    assert_eq!(json["rulesets"].as_array().unwrap().len(), 2);
    let all = folder.run("code --at little/city --on 2023-05-10 --rulesets book --format json").json();
    let omitted = all["rules"].as_array().unwrap().iter().find(|rule| rule["rule"] == "boxes-plumb").unwrap();
    assert_eq!(omitted["in_force"], false);
}

#[test]
fn options_of_a_place_are_refused_with_a_job() {
    let folder = Folder::little();
    folder.run("code job.toml --accessible --rulesets book").refused("--at");
    folder.run("code job.toml --shop little/shop --rulesets book").refused("--at");
    folder.run("code --at little/county --rulesets book").refused("--on");
    let shop =
        folder.run("code --at little/county --on 2023-05-10 --shop little/shop switch-not-too-high --rulesets book");
    assert!(shop.out.contains("weighs note"), "{}", shop.out);
}
