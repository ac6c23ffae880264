//! Mistakes in boxes written as built.

use super::*;

const LOOP: &str = "circuit 1\ncable C1 14/2 1 P1 B1\ncable C2 14/2 1 B1 B2 | white_remarked = false\nswitch S1 B1 1 L1 single_pole\nlight L1 B2 1\nbox B2\nbox B1 |";

/// Power to the switch, the box of the switch as built.
#[track_caller]
fn built(lines: &str) -> Vec<String> {
    let (job, wiring) = wire(&format!("{LOOP} {}", lines.replace('\n', ";")));
    assert_eq!(wiring.plan.gaps, []);
    found(&job, &wiring)
}

const GROUNDS: &str = r#"{ joins = ["C1/to.bare", "C2/from.bare", "S1.green"] }"#;

#[test]
fn the_plan_written_as_built_is_sound_and_does_not_differ() {
    let (job, wiring) = wire(LOOP.trim_end_matches('|'));
    let place = wiring.network.find_place(job.find("B1").unwrap()).unwrap();
    let text = super::super::write(&job, &wiring.network, wiring.makeup(place));
    let (job, wiring) = wire(&format!("{LOOP} {}", text.replace(",\n", ", ").replace("[\n", "[").replace('\n', ";")));
    assert!(wiring.makeup(place).as_built);
    assert_eq!(found(&job, &wiring), Vec::<String>::new());
    assert_eq!(super::super::compare(&job, &wiring.network, &wiring.plan, &wiring.makeups), []);
}

#[test]
fn a_switched_neutral_is_found_at_the_switch() {
    let found = built(&format!(
        r#"splice = [{{ joins = ["C1/to.black", "C2/from.black"] }}, {GROUNDS}]
landing = [{{ conductor = "C1/to.white", terminal = "S1.brass" }}, {{ conductor = "C2/from.white", terminal = "S1.brass_2" }}]"#
    ));
    assert_eq!(found, ["neutral_switched S1", "neutral_switched L1"]);
}

#[test]
fn a_switch_between_hot_and_neutral_is_a_short() {
    let found = built(&format!(
        r#"splice = [{{ joins = ["C1/to.white", "C2/from.white", "S1.brass_2"] }}, {{ joins = ["C1/to.black", "C2/from.black", "S1.brass"] }}, {GROUNDS}]"#
    ));
    assert!(found.contains(&"short_to_neutral B1".to_string()), "{found:?}");
}

#[test]
fn grounds_left_open_and_a_loose_conductor_are_found() {
    let found = built(
        r#"splice = [{ joins = ["C1/to.white", "C2/from.white"] }]
landing = [{ conductor = "C1/to.black", terminal = "S1.brass" }, { conductor = "C2/from.black", terminal = "S1.brass_2" }]"#,
    );
    assert_eq!(found, ["loose B1", "loose B1", "ground_missing S1", "ground_missing L1"]);
}

#[test]
fn a_name_that_is_not_there_is_told_with_the_nearest() {
    let job = job(&short(&format!(r#"{LOOP} cap = [{{ conductor = "C1/to.blak" }}]"#)));
    let wiring = Wiring::of(&job);
    assert_eq!(wiring.problems.len(), 1);
    assert_eq!(wiring.problems[0].message, "there is no conductor or terminal `C1/to.blak` in box `B1`");
    assert_eq!(wiring.problems[0].help.as_deref(), Some("did you mean `C1/to.black`?"));
    assert_eq!(job.files.text(wiring.problems[0].span), "\"C1/to.blak\"");
}
