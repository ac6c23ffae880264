//! Feeders say the same of panels and circuits as these do themselves, and errors where the two differ.

use super::{HEAD, fault, read};
use crate::model::kinds::{building, circuit, feeder, panel};
use crate::quantity::{Dimension, Quantity};

const PANELS: &str = "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\nroom = \"shed\"\n\
    [[building]]\nid = \"back\"\nkind = \"detached\"\n[[room]]\nid = \"shed\"\nkind = \"accessory_building\"\nbuilding = \"back\"\n";

#[test]
fn a_feeder_tells_panel_circuit_and_building_what_they_leave_out() {
    let text = format!(
        "{HEAD}{PANELS}[[circuit]]\nid = \"9\"\nrating = \"60 A\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\ncircuit = \"9\"\nsize = \"6 AWG\"\nmaterial = \"copper\"\nwires = 4\n"
    );
    let job = read(&text).good();
    let find = |id: &str| job.find(id).unwrap();
    let (from, to, breaker, line) = (find("P1"), find("P2"), find("9"), find("F"));
    assert_eq!(job.link(to, panel::FED_BY), Some(from));
    assert_eq!(job.link(to, panel::BUILDING), Some(find("back")));
    assert_eq!(job.text(find("back"), building::SUPPLY), Some("feeder"));
    assert_eq!(job.link(breaker, circuit::PANEL), Some(from));
    assert_eq!(job.link(breaker, circuit::FEEDS), Some(to));
    assert_eq!(job.text(breaker, circuit::SERVES), Some("feeder"));
    let amperes = Some(Quantity::new(Dimension::Current, 60_000_000));
    assert_eq!(job.quantity(line, feeder::BREAKER), amperes);
    assert_eq!(job.quantity(to, panel::FEEDER_BREAKER), amperes);
    assert_eq!(job.quantity(to, panel::FEEDER_SIZE), job.quantity(line, feeder::SIZE));
    assert_eq!(job.text(to, panel::FEEDER_MATERIAL), Some("copper"));
}

#[test]
fn a_panel_tells_its_feeder_what_that_leaves_out() {
    let text = format!(
        "{HEAD}[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\nfed_by = \"P1\"\nfeeder_size = \"6 AWG\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\n"
    );
    let job = read(&text).good();
    let (to, line) = (job.find("P2").unwrap(), job.find("F").unwrap());
    assert!(job.quantity(line, feeder::SIZE).is_some());
    assert_eq!(job.quantity(line, feeder::SIZE), job.quantity(to, panel::FEEDER_SIZE));
}

#[test]
fn what_panel_and_feeder_say_differently_is_told_at_both_places() {
    let problem = fault(
        "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\nfeeder_size = \"6 AWG\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\nsize = \"4 AWG\"\n",
        "`feeder_size` of panel `P2` is not what feeder `F` says",
        "write the same in both places, or leave one of them out",
        "\"6 AWG\"",
    );
    assert_eq!(problem.marks.len(), 1);
    fault(
        "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\nfed_by = \"none\"\n[[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\n",
        "`fed_by` of panel `P2` is not what feeder `F` says",
        "write the same panel in both places, or leave it to the feeder",
        "\"none\"",
    );
    fault(
        "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\n[[circuit]]\nid = \"9\"\npanel = \"P1\"\nserves = \"lighting\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\ncircuit = \"9\"\n",
        "`serves` of circuit `9` is not what feeder `F` says",
        "write `serves = \"feeder\"`, or another circuit in the feeder",
        "\"lighting\"",
    );
}

#[test]
fn a_feeder_to_nowhere_and_two_to_one_panel_are_errors() {
    let read = read(&format!("{HEAD}[[panel]]\nid = \"P1\"\n[[feeder]]\nid = \"F\"\nfrom = \"P1\"\n"));
    assert!(read.job.is_none());
    assert!(read.problems.iter().any(|problem| problem.message.contains("`to`")), "{:?}", read.problems);
    fault(
        "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\n[[panel]]\nid = \"P3\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P3\"\n[[feeder]]\nid = \"G\"\nfrom = \"P2\"\nto = \"P3\"\n",
        "two feeders end at panel `P3`",
        "leave one out, or write the panel or disconnect that the other one ends at",
        "\"P3\"",
    );
}

#[test]
fn a_feeder_circuit_feeds_the_panel_at_the_far_end_of_its_cable_or_raceway() {
    let runs = [
        "[[cable]]\nid = \"C\"\ncircuit = \"9\"\nfrom = \"P1\"\nto = \"P2\"\n",
        "[[raceway]]\nid = \"C\"\nfrom = \"P2\"\nto = \"P1\"\nwiring_method = \"EMT\"\ntrade_size = \"1 in\"\n\
         conductor = [{ circuit = \"9\", size = \"6 AWG\", number = 3 }]\n",
    ];
    for run in runs {
        let text = format!(
            "{HEAD}{PANELS}[[circuit]]\nid = \"9\"\npanel = \"P1\"\nserves = \"feeder\"\nrating = \"60 A\"\n{run}"
        );
        let job = read(&text).good();
        let find = |id: &str| job.find(id).unwrap();
        assert_eq!(job.link(find("9"), circuit::FEEDS), Some(find("P2")), "{run}");
        assert_eq!(job.link(find("P2"), panel::FED_BY), Some(find("P1")), "{run}");
        assert!(job.quantity(find("P2"), panel::FEEDER_BREAKER).is_some(), "{run}");
    }
}
