//! Existing work: what an item takes from what it belongs to, and what keeps it new.

use super::read;
use crate::model::kinds::{device, panel, site};
use crate::model::{FieldId, Job};

const HEAD: &str =
    "format = 1\nsite = { permit_date = 2023-05-10, jurisdiction = \"demo/harlow-county\", stage = \"rough_in\" }\n";

/// Returns the ids of existing items of the kinds that can say so, in file order.
fn existing(text: &str) -> (Job, Vec<String>) {
    let job = read(&format!("{HEAD}{text}")).good();
    let says = |kind| job.schema.field(kind, "existing").is_some();
    let ids = job.items().filter(|(item, one)| job.is_existing(*item) && says(one.kind));
    let ids = ids.map(|(item, _)| job.id(item).to_owned()).collect();
    (job, ids)
}

fn flag(job: &Job, id: &str, field: FieldId) -> Option<bool> {
    job.flag(job.find(id).unwrap(), field)
}

/// An old kitchen beside a new bath, on an old panel.
const HOUSE: &str = r#"
panel = [{ id = "P1", existing = true }]
room = [{ id = "kitchen", kind = "kitchen", existing = true }, { id = "bath", kind = "bathroom" }]
box = [{ id = "K1", room = "kitchen" }, { id = "B1", room = "bath" }]
"#;

#[test]
fn nothing_is_existing_where_nobody_says_so() {
    let (job, ids) = existing(&HOUSE.replace(", existing = true", ""));
    assert_eq!(ids, Vec::<String>::new());
    assert!(!job.has_existing());
    assert_eq!(flag(&job, "P1", panel::EXISTING), Some(false));
    assert_eq!(flag(&job, "site", site::NEW_WORK), Some(true));
}

#[test]
fn a_device_goes_by_its_box_and_a_box_by_its_room() {
    let (job, ids) = existing(&format!(
        "{HOUSE}device = [{{ id = \"R1\", kind = \"receptacle\", box = \"K1\" }}, {{ id = \"R2\", kind = \"receptacle\", box = \"B1\" }},\n\
         {{ id = \"R3\", kind = \"receptacle\", room = \"kitchen\" }}]"
    ));
    assert_eq!(ids, ["P1", "kitchen", "K1", "R1", "R3"]);
    let (at, said) = (job.find("R1").unwrap(), job.find("kitchen").unwrap());
    let kind = job.item(said).kind;
    let room = job.schema.field(kind, "existing").unwrap();
    assert_eq!(job.cell(at, device::EXISTING).span(), job.cell(said, room).span(), "the place where it is written");
    assert_eq!(flag(&job, "site", site::NEW_WORK), Some(false), "a dwelling in which something is existing is not new");
}

#[test]
fn an_item_that_says_it_is_new_is_new_in_an_old_room() {
    let (job, ids) = existing(&format!(
        "{HOUSE}device = [{{ id = \"R1\", kind = \"receptacle\", box = \"K1\", existing = false }},\n\
         {{ id = \"R2\", kind = \"receptacle\", box = \"K1\", existing = false, replaces = false }}]"
    ));
    assert_eq!(ids, ["P1", "kitchen", "K1"]);
    assert_eq!(flag(&job, "R1", device::REPLACES), Some(true), "a new device in an old box");
    assert_eq!(flag(&job, "R2", device::REPLACES), Some(false), "what is written stands");
}

#[test]
fn a_new_box_may_be_said_of_an_old_device_in_a_new_room() {
    let (_, ids) = existing(&format!(
        "{}device = [{{ id = \"R1\", kind = \"receptacle\", box = \"B1\" }}]",
        HOUSE.replace("{ id = \"B1\", room = \"bath\" }", "{ id = \"B1\", room = \"bath\", existing = true }")
    ));
    assert_eq!(ids, ["P1", "kitchen", "K1", "B1", "R1"], "the box goes before the room");
}

#[test]
fn a_circuit_goes_by_its_panel_until_something_new_is_on_it() {
    let circuits = "circuit = [{ id = \"1\" }, { id = \"2\" }, { id = \"3\", existing = true }, { id = \"4\" }, { id = \"5\", existing = false }]\n\
        device = [{ id = \"R1\", kind = \"receptacle\", box = \"K1\", circuit = \"1\" }, { id = \"R2\", kind = \"receptacle\", box = \"B1\", circuit = \"2\" },\n\
        { id = \"R3\", kind = \"receptacle\", box = \"B1\", circuit = \"3\" }]\n\
        cable = [{ id = \"C3a\", circuit = \"3\", from = \"P1\", to = \"K1\" }, { id = \"C3b\", circuit = \"3\", from = \"K1\", to = \"B1\" },\n\
        { id = \"C4\", circuit = \"4\", from = \"P1\", to = \"B1\" }, { id = \"C5\", circuit = \"5\", from = \"P1\", to = \"K1\" }]\n";
    let (job, ids) = existing(&format!("{HOUSE}{circuits}"));
    // 1: only old things on it. 2: a new receptacle. 3: says that it is old; its cable to the new box is new. 4: a cable to a new box.
    assert_eq!(ids, ["P1", "1", "3", "kitchen", "K1", "R1", "C3a"]);
    assert!(job.is_existing(job.find("C3a/to").unwrap()) && !job.is_existing(job.find("C3b/to").unwrap()));
}

#[test]
fn a_default_of_the_job_or_a_room_says_it_of_all() {
    let rooms = "[[room]]\nid = \"den\"\nkind = \"den\"\n[room.defaults.box]\nexisting = true\n[[box]]\nid = \"D1\"\nroom = \"den\"\n\
        [[box]]\nid = \"D2\"\nroom = \"den\"\nexisting = false\n";
    assert_eq!(existing(rooms).1, ["D1"]);
    let all = "[defaults.cable]\nexisting = true\n[[panel]]\nid = \"P1\"\n[[box]]\nid = \"B1\"\n[[cable]]\nid = \"C1\"\nfrom = \"P1\"\nto = \"B1\"\n";
    assert_eq!(existing(all).1, ["C1"]);
}

#[test]
fn a_raceway_goes_by_the_circuits_in_it_and_a_conductor_by_its_raceway_and_circuit() {
    let text = "panel = [{ id = \"P1\", existing = true }]\nbox = [{ id = \"B1\", existing = true }]\n\
        circuit = [{ id = \"1\" }, { id = \"2\", existing = false }]\n\
        raceway = [{ id = \"W1\", wiring_method = \"EMT\", trade_size = \"1/2 in\", from = \"P1\", to = \"B1\", conductor = [{ number = 1, size = \"12 AWG\", circuit = \"1\" }] },\n\
        { id = \"W2\", existing = true, wiring_method = \"EMT\", trade_size = \"1/2 in\", from = \"P1\", to = \"B1\", conductor = [{ number = 1, size = \"12 AWG\", circuit = \"1\" }, { number = 1, size = \"12 AWG\", circuit = \"2\" }] }]\n";
    let (job, ids) = existing(text);
    assert_eq!(ids, ["P1", "1", "B1", "W1", "W2"]);
    let conductors = job.of_kind(job.schema.kind("raceway_conductor").unwrap());
    let old: Vec<bool> = conductors.iter().map(|&one| job.is_existing(one)).collect();
    assert_eq!(old, [true, true, false], "a new conductor pulled into an old raceway is new");
}
