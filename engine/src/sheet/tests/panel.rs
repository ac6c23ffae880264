//! The sheet of a panel: breakers by position, conductors by color, bars, open positions.

use super::support::{Opened, site};
use crate::sheet::panel::BreakerKind;
use crate::sheet::{PanelSheet, panel_sheets};

/// A sub-panel with a breaker of each kind; `LANDINGS` stands for what was seen.
const JOB: &str = r#"
[[panel]]
id = "S"
spaces = 8
[[panel]]
id = "P2"
spaces = 14
fed_by = "S"
LANDINGS
[[circuit]]
id = "F"
panel = "S"
rating = "60 A"
poles = 2
positions = [1, 3]
serves = "feeder"
feeds = "P2"
[[circuit]]
id = "1"
panel = "P2"
rating = "20 A"
positions = [1]
gfci = true
[[circuit]]
id = "2"
panel = "P2"
rating = "20 A"
positions = [2]
[[circuit]]
id = "3"
panel = "P2"
rating = "20 A"
positions = [3]
multiwire_with = "5"
breaker = "two_pole"
[[circuit]]
id = "5"
panel = "P2"
rating = "20 A"
positions = [5]
multiwire_with = "3"
[[circuit]]
id = "4"
panel = "P2"
rating = "30 A"
poles = 2
voltage = "240 V"
positions = [4, 6]
breaker = "tied_singles"
[[circuit]]
id = "9a"
panel = "P2"
rating = "15 A"
positions = [9]
tandem = true
[[circuit]]
id = "9b"
panel = "P2"
rating = "15 A"
positions = [9]
breaker = "tandem"
[[circuit]]
id = "10a"
panel = "P2"
rating = "30 A"
poles = 2
positions = [10, 12]
breaker = "quad"
[[circuit]]
id = "10b"
panel = "P2"
rating = "20 A"
positions = [10]
breaker = "quad"
[[circuit]]
id = "11"
panel = "P2"
rating = "15 A"
multiwire_with = "13"
positions = [11]
[[circuit]]
id = "13"
panel = "P2"
rating = "15 A"
multiwire_with = "11"
positions = [13]
[[box]]
id = "B1"
[[box]]
id = "B2"
[[box]]
id = "B3"
[[box]]
id = "B4"
[[device]]
id = "R1"
kind = "receptacle"
box = "B1"
circuit = "1"
[[device]]
id = "R2"
kind = "receptacle"
box = "B2"
circuit = "2"
[[device]]
id = "R4"
kind = "receptacle"
box = "B4"
circuit = "4"
contacts = 1
[[cable]]
id = "FD"
make = "6/3"
circuit = "F"
from = "S"
to = "P2"
[[cable]]
id = "H1"
make = "12/2"
circuit = "1"
from = "P2"
to = "B1"
[[cable]]
id = "H2"
make = "12/2"
circuit = "2"
from = "P2"
to = "B2"
[[cable]]
id = "H3"
make = "12/3"
circuit = "3"
second_circuit = "5"
from = "P2"
to = "B3"
[[cable]]
id = "H4"
make = "10/2"
circuit = "4"
from = "P2"
to = "B4"
"#;

fn sheets(landings: &str) -> Vec<PanelSheet> {
    let opened = Opened::new(&(site(true) + &*JOB.replace("LANDINGS", landings)));
    panel_sheets(&opened.desk(), &[])
}

fn sub_panel(landings: &str) -> PanelSheet {
    sheets(landings).into_iter().find(|sheet| sheet.id == "P2").unwrap()
}

fn lands(sheet: &PanelSheet) -> Vec<(String, String)> {
    sheet.conductors.iter().map(|one| (one.name.clone(), one.to.clone())).collect()
}

#[test]
fn circuits_are_gathered_on_the_breakers_that_they_share() {
    let sheet = sub_panel("");
    let breakers: Vec<(BreakerKind, &[i64], Vec<&str>)> = sheet
        .breakers
        .iter()
        .map(|one| (one.kind, one.positions.as_slice(), one.circuits.iter().map(|it| it.id.as_str()).collect()))
        .collect();
    assert_eq!(
        breakers,
        [
            (BreakerKind::Single, &[1][..], vec!["1"]),
            (BreakerKind::Single, &[2], vec!["2"]),
            (BreakerKind::TwoPole, &[3, 5], vec!["3", "5"]),
            (BreakerKind::TiedSingles, &[4, 6], vec!["4"]),
            (BreakerKind::Tandem, &[9], vec!["9a", "9b"]),
            (BreakerKind::Quad, &[10, 12], vec!["10a", "10b"]),
            (BreakerKind::OpensTogether, &[11, 13], vec!["11", "13"]),
        ]
    );
    assert_eq!(sheet.open, [7, 8, 14]);
    assert!(sheet.steps.iter().any(|step| step.contains("3 open positions") && step.contains("7, 8 and 14")));
    assert!(sheet.remarks.iter().any(|text| text.starts_with("circuits 11 and 13: one two-pole breaker")));
}

#[test]
fn every_conductor_has_its_place() {
    let sheet = sub_panel("");
    let expected = [
        ("FD/to.black", "lug 1"),
        ("FD/to.white", "neutral lug"),
        ("FD/to.red", "lug 2"),
        ("FD/to.bare", "ground bar"),
        ("H1/from.black", "breaker 1"),
        // A GFCI breaker has to see the neutral of its circuit.
        ("H1/from.white", "neutral of breaker 1"),
        ("H1/from.bare", "ground bar"),
        ("H2/from.black", "breaker 2"),
        ("H2/from.white", "neutral bar"),
        ("H2/from.bare", "ground bar"),
        // Nothing is connected yet: the colors say where they go.
        ("H3/from.black", "breaker 3"),
        ("H3/from.white", "neutral bar"),
        ("H3/from.red", "breaker 5"),
        ("H3/from.bare", "ground bar"),
        ("H4/from.black", "breaker 4"),
        ("H4/from.white", "breaker 6"),
        ("H4/from.bare", "ground bar"),
    ];
    let found = lands(&sheet);
    let found: Vec<(&str, &str)> = found.iter().map(|(name, to)| (name.as_str(), to.as_str())).collect();
    assert_eq!(found, expected);
    let marked: Vec<&str> = sheet.conductors.iter().filter(|one| one.re_mark).map(|one| one.name.as_str()).collect();
    assert_eq!(marked, ["H4/from.white"]);
    let (neutral, ground) = (sheet.neutral_bar, sheet.ground_bar);
    assert_eq!((neutral.conductors, neutral.pigtails, neutral.screws), (2, 1, 3));
    assert_eq!((ground.conductors, ground.screws), (5, 5));
    assert!(sheet.steps.iter().any(|step| step == "tie the hots and the shared neutral of circuits 3 and 5 together"));
}

#[test]
fn what_was_seen_stands_in_place_of_the_plan_and_is_told_where_it_differs() {
    let sheet = sub_panel(
        "grounds_allowed = 2\nplug_on_neutral = true\nlanding = [{ conductor = \"H1/from.white\", terminal = \"neutral_bar.4\" }, \
         { conductor = \"H2/from.bare\", terminal = \"ground_bar.2\" }]",
    );
    let seen: Vec<(&str, &str, Option<u32>)> = sheet
        .conductors
        .iter()
        .filter(|one| one.seen)
        .map(|one| (one.name.as_str(), one.to.as_str(), one.screw))
        .collect();
    assert_eq!(seen, [("H1/from.white", "neutral bar", Some(4)), ("H2/from.bare", "ground bar", Some(2))]);
    assert_eq!(sheet.differences, ["H1/from.white: planned on neutral of breaker 1, seen on neutral bar"]);
    assert_eq!((sheet.neutral_bar.pigtails, sheet.ground_bar.screws), (0, 3));
}

#[test]
fn a_landing_on_the_wrong_bar_or_breaker_is_followed_and_a_misspelt_one_is_told() {
    let swapped = sub_panel("landing = [{ conductor = \"H2/from.black\", terminal = \"neutral_bar\" }]");
    assert!(swapped.faults.iter().chain(&swapped.differences).any(|text| text.contains("H2/from.black")));
    let text = site(true)
        + &*JOB.replace(
            "LANDINGS",
            "landing = [{ conductor = \"H9/from.black\", terminal = \"1.breaker\" }, { conductor = \"H2/from.black\", terminal = \"2.braker\" }, \
             { conductor = \"H2/from.white\", terminal = \"neutral_bar.x\" }, { conductor = \"H2/from.bare\", terminal = \"ground_bar\" }, \
             { conductor = \"H2/from.bare\", terminal = \"ground_bar\" }]",
        );
    let opened = Opened::new(&text);
    let told: Vec<String> = opened.desk().ctx.wiring().problems.iter().map(|problem| problem.message.clone()).collect();
    assert_eq!(
        told,
        [
            "no conductor `H9/from.black` comes into panel `P2`",
            "there is no terminal `2.braker` in panel `P2`",
            "`x` is no number of a screw",
            "`H2/from.bare` lands in panel `P2` twice",
        ]
    );
}

#[test]
fn the_neutral_bar_takes_a_hot_that_was_landed_there_for_a_short() {
    let opened = Opened::new(
        &(site(true)
            + &*JOB.replace("LANDINGS", "landing = [{ conductor = \"H2/from.black\", terminal = \"neutral_bar\" }]")),
    );
    let desk = opened.desk();
    let faults = &desk.ctx.wiring().followed.faults;
    let circuit = desk.job.find("2").unwrap();
    assert!(faults.iter().any(|fault| fault.circuit == Some(circuit)), "the receptacle gets no power: {faults:?}");
}

#[test]
fn both_halves_of_a_tandem_breaker_are_in_the_directory_without_a_remark() {
    let opened = Opened::new(&(site(true) + &*JOB.replace("LANDINGS", "")));
    let papers = crate::sheet::directories(&opened.desk());
    let paper = papers.iter().find(|paper| paper.panel == "P2").unwrap();
    let nine = paper.slots.iter().find(|slot| slot.position == 9).unwrap();
    let halves: Vec<Option<&str>> = nine.all().map(|slot| slot.circuit.as_deref()).collect();
    assert_eq!(halves, [Some("9a"), Some("9b")]);
    assert!(!paper.remarks.iter().any(|text| text.contains("is taken by")), "{:?}", paper.remarks);
}
