//! Links that are none, those that nobody has recorded, and which of them a list may lack.

use super::{HEAD, fault, read};
use crate::facts::Facts;
use crate::model::kinds::{
    appliance, cable, cable_end, circuit, device, inspection, luminaire, outlet_box, panel, raceway, raceway_conductor,
    room, site,
};
use crate::model::{Cell, FieldId, ItemIndex, Job, LinkState};

const TWO_BOXES: &str = r#"
[[panel]]
id = "P1"
[[circuit]]
id = "1"
[[room]]
id = "hall"
kind = "hallway"
[[box]]
id = "B1"
room = "hall"
[[box]]
id = "B2"
mounted = "ceiling"
[[appliance]]
id = "A1"
kind = "freezer"
"#;

fn job(text: &str) -> Job {
    read(&format!("{HEAD}{TWO_BOXES}{text}")).good()
}

fn state(job: &Job, id: &str, field: FieldId) -> LinkState {
    job.link_state(job.find(id).unwrap(), field)
}

fn unplaced(job: &Job, kind: &str, link: FieldId) -> Vec<String> {
    let kind = job.schema.kind(kind).unwrap();
    Facts::new(job).unplaced(kind, link).iter().map(|&item| job.id(item).to_owned()).collect()
}

#[test]
fn a_link_is_an_item_or_none_or_not_recorded() {
    let job = job(r#"
[[device]]
id = "R1"
kind = "receptacle"
box = "none"
serves_appliance = "A1"
circuit = "1"
[[device]]
id = "R2"
kind = "receptacle"
"#);
    assert_eq!(state(&job, "R1", device::BOX), LinkState::None);
    assert_eq!(state(&job, "R1", device::SERVES_APPLIANCE), LinkState::To(job.find("A1").unwrap()));
    assert_eq!(state(&job, "R2", device::BOX), LinkState::NotRecorded);
    let r1 = job.find("R1").unwrap();
    assert_eq!((job.link(r1, device::BOX), job.link(job.find("R2").unwrap(), device::BOX)), (None, None));
    let none = job.cell(r1, device::BOX);
    assert!(none.is_none_item() && !none.is_missing() && !none.is_default());
    assert_eq!(job.files.text(none.span()), "\"none\"");
    assert!(!Cell::MISSING.is_none_item());
    // Following a link that leads nowhere finds nothing, and does not stop the program.
    assert_eq!(job.cell(none.to_item(), outlet_box::ROOM), Cell::MISSING);
}

#[test]
fn links_that_most_items_do_not_have_are_none_where_nothing_is_written() {
    let job = job(r#"
[[device]]
id = "R1"
kind = "receptacle"
[[device]]
id = "S1"
kind = "switch"
[[device]]
id = "N1"
kind = "blank"
[[cable]]
id = "C1"
make = "12/2"
[[inspection]]
id = "I1"
stage = "layout"
on = 2023-06-01
result = "passed"
[[raceway]]
id = "W1"
wiring_method = "EMT"
trade_size = "1/2 in"
conductor = [{ id = "G", size = "12 AWG", number = 1, is_ground = true }, { id = "H", size = "12 AWG", number = 1 }]
"#);
    for field in [device::SERVES_APPLIANCE, device::COUNTER, device::GFCI_FROM] {
        assert_eq!(state(&job, "R1", field), LinkState::None);
        assert!(job.cell(job.find("R1").unwrap(), field).is_default());
    }
    assert_eq!(state(&job, "C1", cable::SECOND_CIRCUIT), LinkState::None);
    assert_eq!(state(&job, "1", circuit::MULTIWIRE_WITH), LinkState::None);
    assert_eq!(state(&job, "I1", inspection::ROOM), LinkState::None);
    // Where another field tells that there can be none.
    assert_eq!(state(&job, "B2", outlet_box::WALL), LinkState::None);
    assert_eq!(state(&job, "B1", outlet_box::WALL), LinkState::NotRecorded);
    assert_eq!(state(&job, "N1", device::CIRCUIT), LinkState::None);
    assert_eq!(state(&job, "G", raceway_conductor::CIRCUIT), LinkState::NotRecorded);
    assert_eq!(state(&job, "H", raceway_conductor::CIRCUIT), LinkState::NotRecorded);
    assert_eq!(state(&job, "P1", panel::FED_BY), LinkState::None);
    // A receptacle controls nothing; what a switch controls is to be recorded.
    assert!(!job.cell(job.find("R1").unwrap(), device::LIGHTS).is_missing());
    assert!(job.cell(job.find("S1").unwrap(), device::LIGHTS).is_missing());
    // What places an item is never taken for none.
    assert_eq!(state(&job, "R1", device::BOX), LinkState::NotRecorded);
    assert_eq!(state(&job, "R1", device::CIRCUIT), LinkState::NotRecorded);
    assert_eq!(state(&job, "B2", outlet_box::ROOM), LinkState::NotRecorded);
    assert_eq!(state(&job, "A1", appliance::CIRCUIT), LinkState::NotRecorded);
}

#[test]
fn an_end_at_a_panel_is_at_no_box() {
    let job = job("[[cable]]\nid = \"C1\"\nfrom = \"P1\"\nto = \"B1\"\n");
    let from = |field| state(&job, "C1/from", field);
    assert_eq!(from(cable_end::PANEL), LinkState::To(job.find("P1").unwrap()));
    for field in [cable_end::BOX, cable_end::LUMINAIRE, cable_end::APPLIANCE] {
        assert_eq!(from(field), LinkState::None);
        assert_eq!(job.files.text(job.cell(job.find("C1/from").unwrap(), field).span()), "\"P1\"");
    }
    assert_eq!(state(&job, "C1/to", cable_end::PANEL), LinkState::None);
    assert_eq!(unplaced(&job, "cable_end", cable_end::BOX), Vec::<String>::new());
}

#[test]
fn an_end_that_is_not_written_is_an_end_that_nobody_has_placed() {
    let job = job("[[cable]]\nid = \"C1\"\nfrom = \"P1\"\n");
    assert_eq!(state(&job, "C1/to", cable_end::BOX), LinkState::NotRecorded);
    assert_eq!(job.text(job.find("C1/to").unwrap(), cable_end::SIDE), Some("to"));
    assert_eq!(unplaced(&job, "cable_end", cable_end::BOX), ["C1/to"]);
    assert_eq!(job.links(job.find("C1").unwrap(), cable::ENDS).count(), 2);
}

#[test]
fn what_a_list_may_lack_is_known() {
    let job = job(r#"
[[device]]
id = "R1"
kind = "receptacle"
box = "B1"
[[device]]
id = "R2"
kind = "receptacle"
[[device]]
id = "R3"
kind = "receptacle"
box = "none"
room = "hall"
[[luminaire]]
id = "L1"
kind = "surface"
"#);
    assert_eq!(unplaced(&job, "device", device::BOX), ["R2"]);
    // The room of R1 is that of its box.
    assert_eq!(unplaced(&job, "device", device::ROOM), ["R2"]);
    assert_eq!(unplaced(&job, "device", device::SERVES_APPLIANCE), Vec::<String>::new());
    assert_eq!(unplaced(&job, "luminaire", luminaire::BOX), ["L1"]);
    assert_eq!(unplaced(&job, "box", outlet_box::WALL), ["B1"]);
    let of = |id: &str, field| -> Vec<ItemIndex> { job.links(job.find(id).unwrap(), field).collect() };
    assert_eq!(of("B1", outlet_box::DEVICES), [job.find("R1").unwrap()]);
    assert_eq!(of("hall", room::DEVICES), [job.find("R1").unwrap(), job.find("R3").unwrap()]);
}

#[test]
fn none_can_be_a_default_and_be_measured() {
    let job = job(r#"
[defaults.device]
serves_appliance = "A1"
box = "none"
[[device]]
id = "R1"
kind = "receptacle"
serves_appliance = "none"
[[device]]
id = "R2"
kind = "receptacle"
[[device]]
id = "R3"
kind = "receptacle"
serves_appliance = "A1"
[[measure]]
item = "R3"
field = "serves_appliance"
value = "none"
"#);
    assert_eq!(state(&job, "R1", device::SERVES_APPLIANCE), LinkState::None);
    assert_eq!(state(&job, "R2", device::SERVES_APPLIANCE), LinkState::To(job.find("A1").unwrap()));
    assert_eq!(state(&job, "R2", device::BOX), LinkState::None);
    assert_eq!(state(&job, "R3", device::SERVES_APPLIANCE), LinkState::None);
    let kept = job.links(job.find("A1").unwrap(), appliance::RECEPTACLES).collect::<Vec<_>>();
    assert_eq!(kept, [job.find("R2").unwrap()]);
}

#[test]
fn nothing_can_be_called_none() {
    fault(
        "[[box]]\nid = \"none\"\n",
        "`none` can't be the id of anything",
        "`none` in a reference says that there is no such item; give this one another id",
        "\"none\"",
    );
    fault(
        "[[room]]\nid = \"hall\"\nkind = \"hallway\"\n[[room.wall]]\nname = \"none\"\nlength = \"3 ft\"\n[[room.wall]]\nlength = \"3 ft\"\n[[room.wall]]\nlength = \"3 ft\"\n[[room.wall]]\nlength = \"3 ft\"\n",
        "`none` can't be the name of anything",
        "`none` in a reference says that there is no such item; give this one another name",
        "\"none\"",
    );
}

#[test]
fn what_must_be_there_and_lists_have_a_none_of_their_own() {
    fault("[[cable]]\nid = \"C1\"\nfrom = \"none\"\n", "`at` can't be none", "write the id of what it is", "\"none\"");
    fault(
        "[[device]]\nid = \"S1\"\nkind = \"switch\"\ncontrols = [\"none\"]\n",
        "`none` is no id",
        "write `controls = []` where there is none",
        "\"none\"",
    );
}

#[test]
fn a_raceway_knows_its_boxes_rooms_and_circuits_and_is_in_their_lists() {
    let job = job(r#"
[[raceway]]
id = "W1"
wiring_method = "EMT"
trade_size = "1/2 in"
from = "P1"
to = "B1"
conductor = [{ size = "12 AWG", number = 2, circuit = "1" }, { size = "12 AWG", number = 1, circuit = "1" }]
[[raceway]]
id = "W2"
wiring_method = "EMT"
trade_size = "1/2 in"
from = "B1"
[[raceway]]
id = "W3"
wiring_method = "EMT"
trade_size = "1/2 in"
from = "B1"
to = "none"
"#);
    let of =
        |id: &str, field| -> Vec<&str> { job.links(job.find(id).unwrap(), field).map(|item| job.id(item)).collect() };
    assert_eq!(state(&job, "W1", raceway::FROM_PANEL), LinkState::To(job.find("P1").unwrap()));
    assert_eq!(state(&job, "W1", raceway::FROM_BOX), LinkState::None);
    assert_eq!(job.text(job.find("W1").unwrap(), raceway::FROM), Some("P1"));
    assert_eq!((of("W1", raceway::BOXES), of("W1", raceway::CIRCUITS)), (vec!["B1"], vec!["1"]));
    assert_eq!(of("B1", outlet_box::RACEWAYS), ["W1", "W2", "W3"]);
    assert_eq!(of("hall", room::RACEWAYS), ["W1", "W2", "W3"]);
    assert_eq!(of("1", circuit::RACEWAYS), ["W1"]);
    assert_eq!(of("site", site::RACEWAYS), ["W1", "W2", "W3"]);
    // An end that nobody has recorded may be at any box; one that ends at nothing is at none.
    assert!(job.cell(job.find("W2").unwrap(), raceway::BOXES).is_missing());
    assert_eq!(unplaced(&job, "raceway", raceway::BOXES), ["W2"]);
    assert_eq!(state(&job, "W3", raceway::TO_BOX), LinkState::None);
    // Nobody has recorded the room of the panel.
    assert_eq!(unplaced(&job, "raceway", raceway::ROOMS), ["W1", "W2"]);
    assert_eq!(unplaced(&job, "raceway", raceway::CIRCUITS), Vec::<String>::new());
}

#[test]
fn the_ends_of_a_raceway_are_held_against_what_is_there() {
    fault(
        "[[room]]\nid = \"hall\"\nkind = \"hallway\"\n[[raceway]]\nid = \"W1\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nfrom = \"hall\"\n",
        "`hall` is a room, not a box, a panel, a luminaire or an appliance",
        "write the id of a box, a panel, a luminaire or an appliance",
        "\"hall\"",
    );
    fault(
        "[[raceway]]\nid = \"W1\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nrooms = []\n",
        "`rooms` of a raceway is gathered from the job",
        "write `from`",
        "rooms",
    );
}
