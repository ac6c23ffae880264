//! Defaults: what stands over what, and what can't be one.

use super::{HEAD, ROOM, fault, read, read_with};
use crate::model::kinds::{cable, circuit, device, outlet_box, room, site, wall};
use crate::model::{FieldId, Job};
use crate::quantity::UnitSystem;

fn shown(job: &Job, id: &str, field: FieldId) -> String {
    let item = job.find(id).unwrap();
    let quantity = job.quantity(item, field).map(|q| q.print(UnitSystem::Customary));
    quantity.or_else(|| job.text(item, field).map(str::to_owned)).unwrap_or_default()
}

fn written(job: &Job, id: &str, field: FieldId) -> String {
    job.files.text(job.cell(job.find(id).unwrap(), field).span()).to_owned()
}

const BOXES: &str = "[[box]]\nid = \"own\"\nroom = \"hobby\"\npurpose = \"switch\"\nvolume = \"1 in3\"\n\
    [[box]]\nid = \"in\"\nroom = \"hobby\"\npurpose = \"switch\"\n[[box]]\nid = \"in2\"\nroom = \"hobby\"\npurpose = \"junction\"\n\
    [[box]]\nid = \"out\"\npurpose = \"switch\"\n[[box]]\nid = \"out2\"\npurpose = \"junction\"\n[[box]]\nid = \"out3\"\n";

#[test]
fn item_over_room_over_job_over_shop_and_the_word_over_the_kind() {
    let job = format!(
        "{HEAD}[defaults.box]\nvolume = \"4 in3\"\n[defaults.box.switch]\nvolume = \"5 in3\"\n{ROOM}[room.defaults.box]\nvolume = \"2 in3\"\n[room.defaults.box.switch]\nvolume = \"3 in3\"\n{BOXES}"
    );
    let shop = "[box]\nvolume = \"6 in3\"\nmaterial = \"metal\"\n[box.switch]\nvolume = \"7 in3\"\nmaterial = \"nonmetallic\"\n";
    let job = read_with(&job, shop).good();
    for (id, volume) in
        [("own", "1 in3"), ("in", "3 in3"), ("in2", "2 in3"), ("out", "5 in3"), ("out2", "4 in3"), ("out3", "4 in3")]
    {
        assert_eq!(shown(&job, id, outlet_box::VOLUME), volume, "{id}");
        assert_eq!(written(&job, id, outlet_box::VOLUME), format!("\"{volume}\""));
    }
    assert_eq!(
        (shown(&job, "in", outlet_box::MATERIAL), shown(&job, "out2", outlet_box::MATERIAL)),
        ("nonmetallic".into(), "metal".into())
    );
    let file = job.files.file_of(job.cell(job.find("in").unwrap(), outlet_box::MATERIAL).span()).unwrap();
    assert_eq!(file.name(), "job-defaults.toml");
}

#[test]
fn without_a_default_of_the_job_the_shops_holds_and_last_the_formats() {
    let job = read_with(&format!("{HEAD}{ROOM}{BOXES}"), "[box]\nvolume = \"6 in3\"\n").good();
    assert_eq!(shown(&job, "out", outlet_box::VOLUME), "6 in3");
    assert_eq!(shown(&job, "out", outlet_box::MOUNTED), "wall");
    assert!(job.cell(job.find("out").unwrap(), outlet_box::MOUNTED).is_default());
}

#[test]
fn the_word_that_picks_a_default_may_be_a_default_itself() {
    let text = format!(
        "{HEAD}[defaults.cable]\nwiring_method = \"NM\"\nmake = \"12/2\"\n[defaults.cable.NM]\ninsulation = \"90 C\"\n[defaults.cable.UF]\ninsulation = \"60 C\"\n[[cable]]\nid = \"a\"\n[[cable]]\nid = \"b\"\nwiring_method = \"UF\"\nmake = \"14/3\"\n"
    );
    let job = read(&text).good();
    assert_eq!(
        (shown(&job, "a", cable::INSULATION), shown(&job, "b", cable::INSULATION)),
        ("90 C".into(), "60 C".into())
    );
    assert_eq!((shown(&job, "a", cable::SIZE), shown(&job, "b", cable::SIZE)), ("12 AWG".into(), "14 AWG".into()));
    assert_eq!(written(&job, "a", cable::SIZE), "\"12/2\"");
}

#[test]
fn references_can_be_defaults() {
    let text = format!(
        "{HEAD}[defaults.box]\nroom = \"hobby\"\nwall = \"north\"\n[defaults.device]\ncircuit = \"1\"\n[[panel]]\nid = \"P\"\n[[circuit]]\nid = \"1\"\n[[circuit]]\nid = \"2\"\n\
         {ROOM}[room.defaults.device]\ncircuit = \"2\"\n[[box]]\nid = \"B\"\n[[device]]\nid = \"R\"\nkind = \"blank\"\nbox = \"B\"\n[[device]]\nid = \"S\"\nkind = \"blank\"\n"
    );
    let job = read(&text).good();
    let link = |id: &str, field| job.link(job.find(id).unwrap(), field);
    assert_eq!(link("B", outlet_box::WALL), job.find("hobby/north"));
    assert_eq!(link("R", device::ROOM), job.find("hobby"));
    // In the room through its box, which has the room by default.
    assert_eq!(link("R", device::CIRCUIT), job.find("2"));
    assert_eq!(link("S", device::CIRCUIT), job.find("1"));
    assert_eq!(job.links(job.find("2").unwrap(), circuit::DEVICES).collect::<Vec<_>>(), [job.find("R").unwrap()]);
}

#[test]
fn made_walls_the_site_and_nested_items_take_defaults() {
    let text = format!(
        "{HEAD}[defaults.site]\nceiling = \"8 ft\"\n[defaults.wall]\nstud_spacing = \"16 in\"\n[defaults.room.den]\nlength = \"9 ft\"\nwidth = \"7 ft\"\n{ROOM}[room.defaults.wall]\nboard = \"5/8 in\"\n[[room]]\nid = \"den\"\nkind = \"den\"\n"
    );
    let job = read(&text).good();
    assert_eq!(
        (shown(&job, "hobby/east", wall::STUD_SPACING), shown(&job, "hobby/east", wall::BOARD)),
        ("16 in".into(), "5/8 in".into())
    );
    assert_eq!(
        (shown(&job, "den/east", wall::LENGTH), shown(&job, "den/east", wall::BOARD)),
        ("7 ft".into(), String::new())
    );
    assert_eq!(shown(&job, "den", room::LENGTH), "9 ft");
    assert_eq!(shown(&job, "site", site::CEILING), "8 ft");
}

#[test]
fn one_height_wins_as_a_whole() {
    let text = format!(
        "{HEAD}[defaults.box]\ntop = \"48 in\"\n{ROOM}[room.defaults.box]\nbottom = \"12 in\"\n[[box]]\nid = \"a\"\nheight = \"40 in\"\n[[box]]\nid = \"b\"\nroom = \"hobby\"\n[[box]]\nid = \"c\"\n"
    );
    let job = read_with(&text, "[box]\nheight = \"30 in\"\n").good();
    let heights =
        |id| [outlet_box::KEY_HEIGHT, outlet_box::TOP, outlet_box::BOTTOM].map(|field| shown(&job, id, field));
    assert_eq!(heights("a"), ["3 ft 4 in", "", ""]);
    assert_eq!(heights("b"), ["", "", "12 in"]);
    assert_eq!(heights("c"), ["", "4 ft", ""]);
    fault(
        "[defaults.box]\ntop = \"48 in\"\nbottom = \"44 in\"\n",
        "the default of a box has both `bottom` and `top`",
        "keep one of them",
        "\"48 in\"",
    );
}

#[test]
fn a_required_value_may_be_a_default() {
    assert!(read(&format!("{HEAD}[defaults.device]\nkind = \"receptacle\"\n[[device]]\nid = \"R\"\n")).job.is_some());
}

#[test]
fn faults() {
    fault(
        "[defaults.boxx]\ntop = \"1 in\"\n",
        "there is no kind `boxx` to have defaults",
        "did you mean `box`?",
        "boxx",
    );
    fault(
        "[defaults.box]\ntopp = \"1 in\"\n",
        "unknown key `topp` in the defaults of a box",
        "did you mean `top`?",
        "topp",
    );
    fault(
        "[defaults.box]\ntop = 3\n[[box]]\nid = \"a\"\n[[box]]\nid = \"b\"\n",
        "`top` has no unit",
        &format!("put it in quotes with its unit; {}", crate::quantity::Dimension::Length.units_help()),
        "3",
    );
    fault(
        "[defaults.device.recptacle]\nrating = \"15 A\"\n",
        "`recptacle` is no `kind` of a device",
        "did you mean `receptacle`?",
        "recptacle",
    );
    fault(
        "[defaults.box.swich]\nvolume = \"15 in3\"\n",
        "`swich` is no `purpose` of a box",
        "did you mean `switch`?",
        "swich",
    );
    fault(
        "[defaults.hole.x]\nmember = \"wood_stud\"\n",
        "there are no sorts of hole to have defaults of their own",
        "write the fields straight under `[defaults.hole]`",
        "x",
    );
    fault(
        "[defaults.cable_end]\nfirst_support = \"8 in\"\n",
        "`first_support` of a cable end is seen or measured on site and can't have a default",
        "a default is no evidence: measure it, and write it in the item or in a `[[measure]]`",
        "first_support",
    );
    fault("[defaults.box]\nid = \"B\"\n", "`id` of a box can't have a default", "write it in each item", "id");
    fault(
        "[defaults.box.switch]\npurpose = \"switch\"\n",
        "`purpose` is already said by where these defaults stand",
        "leave it out",
        "purpose",
    );
    fault(
        &format!("{ROOM}[room.defaults.box]\nroom = \"hobby\"\n"),
        "`room` is already said by where these defaults stand",
        "leave it out",
        "room",
    );
    fault(
        &format!("{ROOM}[room.defaults.cable]\nmake = \"12/2\"\n"),
        "a cable is not in a room",
        "write it for the whole job, under `[defaults.cable]`",
        "cable",
    );
    fault(
        "[defaults.site]\nshop = \"x\"\n",
        "`shop` belongs to the one job and can't have a default",
        "write it under `[site]`",
        "shop",
    );
    fault(
        "[defaults.site]\nstage = \"final\"\n",
        "`stage` belongs to the one job and can't have a default",
        "write it under `[site]`",
        "stage",
    );
    fault("[defaults.box]\ncentre = \"1 in\"\n", "`centre` of a box is computed", "leave it out", "centre");
    fault("[defaults]\nbox = 3\n", "the defaults of a box want a table, not a number", "write `[defaults.box]`", "3");
    super::one(
        &format!("defaults = 3\n{HEAD}"),
        "`defaults` wants a table, not a number",
        "write one table for each kind: `[defaults.box]`",
        "3",
    );
    // Told once, however many items it would fill.
    fault(
        "[defaults.box]\nroom = \"hobbi\"\n[[box]]\nid = \"a\"\n[[box]]\nid = \"b\"\n[[room]]\nid = \"hobby\"\nkind = \"den\"\n",
        "there is no room `hobbi`",
        "did you mean `hobby`?",
        "\"hobbi\"",
    );
}

#[test]
fn a_fault_in_the_shops_file_points_into_it() {
    let read = read_with(&format!("{HEAD}{ROOM}"), "[box]\ntop = 48\n");
    assert_eq!(
        read.files.place(read.problems[0].span).map(|place| (place.file, place.line)),
        Some(("job-defaults.toml", 2))
    );
}
