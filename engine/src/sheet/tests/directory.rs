//! The circuit directory: both columns, legs, load, and labels that do not serve.

use super::support::{Opened, site};
use crate::sheet::directories;

const PANEL: &str = r#"
[[panel]]
id = "P1"
spaces = 6
[[room]]
id = "kitchen"
kind = "kitchen"
[[circuit]]
id = "1"
positions = [1, 3]
poles = 2
rating = "50 A"
voltage = "240 V"
label = "Kitchen, range"
[[circuit]]
id = "2"
positions = [2]
rating = "15 A"
label = "Lights"
[[circuit]]
id = "3"
positions = [4]
rating = "20 A"
label = "lights"
[[circuit]]
id = "4"
rating = "20 A"
[[appliance]]
id = "range"
room = "kitchen"
circuit = "1"
kind = "range"
load = "8000 VA"
[[appliance]]
id = "dishwasher"
room = "kitchen"
circuit = "4"
kind = "dishwasher"
load = "1200 VA"
[[luminaire]]
id = "L1"
room = "kitchen"
circuit = "2"
kind = "surface"
load = "100 VA"
"#;

#[test]
fn every_position_has_a_line_and_what_is_wrong_is_said() {
    let opened = Opened::new(&(site(true) + PANEL));
    let papers = directories(&opened.desk());
    let [paper] = &papers[..] else { panic!("one panel: {papers:?}") };
    let card: Vec<(i64, &str, bool)> =
        paper.slots.iter().map(|slot| (slot.position, slot.label.as_str(), slot.further_pole)).collect();
    assert_eq!(
        card,
        [
            (1, "Kitchen, range", false),
            (2, "Lights", false),
            (3, "Kitchen, range", true),
            (4, "lights", false),
            (5, "open", false),
            (6, "open", false),
        ]
    );
    assert_eq!(paper.unplaced.len(), 1);
    assert_eq!(paper.unplaced[0].label, "Kitchen: dishwasher");
    assert!(paper.unplaced[0].proposed);
    // Half of the range on each leg, the lights on leg 1: position 2 shares the first row of the bus with position 1.
    assert_eq!(paper.legs.map(|leg| opened.desk().print(leg.load)), ["4100 VA", "4000 VA"]);
    for wanted in ["same label `lights`", "circuit 4 has no label yet", "no load is stated for circuits 3"] {
        assert!(paper.remarks.iter().any(|remark| remark.contains(wanted)), "{wanted}: {:?}", paper.remarks);
    }
}

#[test]
fn a_feeder_is_named_by_the_panel_that_it_feeds_and_shows_its_wires() {
    let text = site(true)
        + "[[panel]]\nid = \"P1\"\nspaces = 4\n[[panel]]\nid = \"P2\"\nroom = \"shop\"\n[[room]]\nid = \"shop\"\nname = \"Shop\"\nkind = \"workshop\"\n\
           [[circuit]]\nid = \"1\"\npositions = [1, 3]\npoles = 2\nrating = \"60 A\"\n\
           [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\ncircuit = \"1\"\nsize = \"6 AWG\"\nmaterial = \"copper\"\n\
           wiring_method = \"MC\"\nwires = 4\n";
    let opened = Opened::new(&text);
    let papers = directories(&opened.desk());
    let [paper] = &papers[..] else { panic!("one panel with circuits: {papers:?}") };
    assert_eq!(paper.slots[0].label, "Panel P2, Shop");
    assert_eq!(paper.slots[0].wire, "MC 6 AWG, feeder, 4 wires");
}
