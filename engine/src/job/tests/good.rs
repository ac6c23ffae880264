//! Files without fault.

use super::{HEAD, ROOM, read};
use crate::model::kinds::{
    cable, cable_end, circuit, device, hole, luminaire, opening, outlet_box, raceway_conductor, room, site, wall,
};
use crate::model::{Cell, FieldId, ItemIndex, Job};
use crate::quantity::UnitSystem;

const HOBBY: &str = r#"format = 1
[site]
name = "Hobby room, 7 Alder Row"
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
shop = "shop/three-gable"
stage = "rough_in"
board = "1/2 in"
[defaults.cable]
wiring_method = "NM"
material = "copper"
[defaults.device.receptacle]
rating = "15 A"
[[panel]]
id = "P1"
[[circuit]]
id = "1"
rating = "20 A"
positions = [1, 3]
[[room]]
id = "hobby"
kind = "workshop"
length = "14 ft"
width = "12 ft"
[[room.opening]]
wall = "south"
kind = "door"
at = "2 ft"
width = "32 in"
[room.defaults.box]
material = "nonmetallic"
[[box]]
id = "B1"
room = "hobby"
wall = "north"
along = "6 ft"
top = "48 in"
volume = "18 in3"
[[box]]
id = "B2"
wall = "hobby/south"
along = "12 ft"
height = "18 in"
[[device]]
id = "R1"
box = "B1"
circuit = "1"
kind = "receptacle"
[[device]]
id = "S1"
box = "B2"
circuit = "1"
kind = "switch"
controls = ["L1", "R1"]
[[luminaire]]
id = "L1"
kind = "surface"
room = "hobby"
circuit = "1"
[[cable]]
id = "C1"
make = "12/2"
circuit = "1"
from = "P1"
to = { at = "B1", first_support = "13 in", sheath_inside = "1/2 in" }
[[cable.hole]]
edge_distance = "1 in"
plate = false
[[cable.hole]]
member = "wood_plate"
[[cable]]
make = "2.5 mm2/3"
from = "B1"
to = "L1"
[[inspection]]
stage = "layout"
on = 2023-06-01
result = "passed"
[[permission]]
rule = "nm-secured-at-box"
items = ["C1/to", "hobby/north"]
granted_by = "Harlow County Building Safety"
reason = "masonry behind the box"
until = 2023-12-31
"#;

fn item(job: &Job, id: &str) -> ItemIndex {
    job.find(id).unwrap_or_else(|| panic!("no {id}"))
}

fn shown(job: &Job, id: &str, field: FieldId) -> String {
    job.quantity(item(job, id), field).map(|q| q.print(UnitSystem::Customary)).unwrap_or_default()
}

fn written(job: &Job, id: &str, field: FieldId) -> String {
    job.files.text(job.cell(item(job, id), field).span()).to_owned()
}

fn ids(job: &Job, of: &str, field: FieldId) -> Vec<String> {
    job.links(item(job, of), field).map(|item| job.id(item).to_owned()).collect()
}

#[test]
fn values_know_what_they_are_and_where_they_were_written() {
    let job = read(HOBBY).good();
    assert_eq!(shown(&job, "B1", outlet_box::TOP), "4 ft");
    assert_eq!(written(&job, "B1", outlet_box::TOP), "\"48 in\"");
    assert_eq!(job.text(item(&job, "site"), site::STAGE), Some("rough_in"));
    assert_eq!(shown(&job, "site", site::PERMIT_DATE), "2023-05-10");
    assert_eq!(written(&job, "site", site::PERMIT_DATE), "2023-05-10");
    assert_eq!(job.flag(item(&job, "C1/hole-1"), hole::PLATE), Some(false));
    assert_eq!(job.flag(item(&job, "C1/hole-2"), hole::PLATE), None);
    let positions = job.list(job.cell(item(&job, "1"), circuit::POSITIONS).to_list());
    assert_eq!(positions.iter().map(|cell| job.files.text(cell.span())).collect::<Vec<_>>(), ["1", "3"]);
    assert_eq!(job.path(item(&job, "B1"), outlet_box::TOP), "box B1, top");
}

#[test]
fn headers_are_the_places_to_point_at_for_what_is_missing() {
    let job = read(HOBBY).good();
    let header = |id| job.files.text(job.item(item(&job, id)).header);
    assert_eq!(header("B1"), "[[box]]");
    assert_eq!(header("site"), "[site]");
    assert_eq!(header("C1/hole-2"), "[[cable.hole]]");
    assert_eq!(header("C1/from"), "\"P1\"");
    assert!(header("C1/to").starts_with("{ at = \"B1\""));
    assert_eq!(header("hobby/north"), "\"14 ft\"");
}

#[test]
fn a_rectangular_room_gets_its_walls_with_their_places() {
    let job = read(HOBBY).good();
    assert_eq!(ids(&job, "hobby", room::WALLS), ["hobby/north", "hobby/east", "hobby/south", "hobby/west"]);
    for (id, length, place) in [
        ("hobby/north", "14 ft", "\"14 ft\""),
        ("hobby/east", "12 ft", "\"12 ft\""),
        ("hobby/south", "14 ft", "\"14 ft\""),
        ("hobby/west", "12 ft", "\"12 ft\""),
    ] {
        assert_eq!((shown(&job, id, wall::LENGTH), written(&job, id, wall::LENGTH)), (length.into(), place.into()));
        assert_eq!(shown(&job, id, wall::TURN), "90 deg");
        assert!(job.cell(item(&job, id), wall::TURN).is_default());
        assert_eq!(job.link(item(&job, id), wall::ROOM), job.find("hobby"));
    }
    assert_eq!(job.text(item(&job, "hobby/west"), wall::NAME_), Some("west"));
    assert_eq!(ids(&job, "hobby/north", wall::BOXES), ["B1"]);
}

#[test]
fn rooms_follow_from_walls_and_boxes_and_the_panel_from_being_the_only_one() {
    let job = read(HOBBY).good();
    let hobby = job.find("hobby");
    assert_eq!(job.link(item(&job, "B2"), outlet_box::ROOM), hobby);
    assert_eq!(written(&job, "B2", outlet_box::ROOM), "\"hobby/south\"");
    assert_eq!(job.link(item(&job, "R1"), device::ROOM), hobby);
    assert_eq!(written(&job, "R1", device::ROOM), "\"B1\"");
    assert_eq!(ids(&job, "hobby", room::DEVICES), ["R1", "S1"]);
    assert_eq!(ids(&job, "hobby", room::BOXES), ["B1", "B2"]);
    assert_eq!(job.link(item(&job, "1"), circuit::PANEL), job.find("P1"));
}

#[test]
fn ids_are_made_for_what_is_nested_or_needs_none() {
    let job = read(HOBBY).good();
    for id in [
        "hobby/opening-1",
        "C1/from",
        "C1/to",
        "C1/hole-1",
        "C1/hole-2",
        "cable-2",
        "cable-2/from",
        "inspection-1",
        "permission-1",
    ] {
        assert!(job.find(id).is_some(), "{id}");
    }
    assert_eq!(ids(&job, "C1", cable::ENDS), ["C1/from", "C1/to"]);
    assert_eq!(ids(&job, "C1", cable::HOLES), ["C1/hole-1", "C1/hole-2"]);
    assert_eq!(job.text(item(&job, "C1/to"), cable_end::SIDE), Some("to"));
    assert_eq!(job.link(item(&job, "C1/to"), cable_end::CABLE), job.find("C1"));
    assert_eq!(job.link(item(&job, "hobby/opening-1"), opening::WALL), job.find("hobby/south"));
}

#[test]
fn one_key_fills_the_field_for_the_kind_it_names() {
    let job = read(HOBBY).good();
    let (from, to) = (item(&job, "C1/from"), item(&job, "C1/to"));
    assert_eq!(job.link(from, cable_end::PANEL), job.find("P1"));
    assert_eq!(job.link(from, cable_end::BOX), None);
    assert_eq!(job.link(to, cable_end::BOX), job.find("B1"));
    assert_eq!(job.text(to, cable_end::KEY_AT), Some("B1"));
    assert_eq!(job.link(item(&job, "cable-2/to"), cable_end::LUMINAIRE), job.find("L1"));
    assert_eq!(ids(&job, "S1", device::LIGHTS), ["L1"]);
    assert_eq!(ids(&job, "S1", device::CONTROLLED_DEVICES), ["R1"]);
    // Nothing was named of that kind, and that is known.
    assert!(!job.cell(item(&job, "S1"), device::CONTROLLED_APPLIANCES).is_missing());
    // A receptacle controls nothing.
    assert!(!job.cell(item(&job, "R1"), device::LIGHTS).is_missing());
    assert_eq!(ids(&job, "L1", luminaire::CONTROLLED_BY), ["S1"]);
    assert_eq!(ids(&job, "R1", device::CONTROLLED_BY), ["S1"]);
}

#[test]
fn a_make_gives_size_and_conductors() {
    let job = read(HOBBY).good();
    assert_eq!((shown(&job, "C1", cable::SIZE), shown(&job, "C1", cable::CONDUCTORS)), ("12 AWG".into(), "2".into()));
    assert_eq!(
        (shown(&job, "cable-2", cable::SIZE), shown(&job, "cable-2", cable::CONDUCTORS)),
        ("2.5 mm2".into(), "3".into())
    );
    assert_eq!(written(&job, "C1", cable::SIZE), "\"12/2\"");
    assert_eq!(job.text(item(&job, "C1"), cable::KEY_MAKE), Some("12/2"));
}

#[test]
fn lists_of_what_refers_here_are_known_even_when_empty() {
    let job = read(HOBBY).good();
    assert_eq!(ids(&job, "site", site::BOXES), ["B1", "B2"]);
    assert_eq!(ids(&job, "site", site::CABLES), ["C1", "cable-2"]);
    assert_eq!(ids(&job, "B1", outlet_box::ENDS), ["C1/to", "cable-2/from"]);
    assert_eq!(ids(&job, "B1", outlet_box::LUMINAIRES), Vec::<String>::new());
    let empty = job.cell(item(&job, "B1"), outlet_box::LUMINAIRES);
    assert_eq!(job.files.text(empty.span()), "[[box]]");
    let named = job.list(job.cell(item(&job, "B1"), outlet_box::DEVICES).to_list());
    assert_eq!(job.files.text(named[0].span()), "\"B1\"");
}

#[test]
fn unrecorded_stays_unrecorded_and_the_format_has_its_own_defaults() {
    let job = read(HOBBY).good();
    assert_eq!(job.cell(item(&job, "B1"), outlet_box::SET_BACK), Cell::MISSING);
    let gangs = job.cell(item(&job, "B1"), outlet_box::GANGS);
    assert!(gangs.is_default() && !gangs.is_missing());
    assert_eq!(shown(&job, "B1", outlet_box::GANGS), "1");
    assert_eq!(job.text(item(&job, "B1"), outlet_box::MOUNTED), Some("wall"));
}

#[test]
fn tables_may_be_written_in_any_of_tomls_ways() {
    let text = r#"format = 1
site.permit_date = "2023-05-10"
site.jurisdiction = "demo/harlow-county"
site.stage = "final"
site.accessible = true
room = [
  { id = "a", kind = "den", wall = [{ name = "long", length = "10 ft" }], counter = [{ kind = "island", length = "4 ft", break = [{ kind = "sink", at = "1 ft", width = "2 ft" }] }] },
]
box = [{ id = "B½", room = "a", wall = "long", gangs = 0x2, top = '4 ft 6 1/2"' }]
raceway = [{ id = "W", from = "B½", to = "B½", wiring_method = "EMT", trade_size = "1/2 in", conductor = [{ size = "12 AWG", number = 3, current_carrying = false }] }]
"#;
    let job = read(text).good();
    assert_eq!(job.link(item(&job, "B½"), outlet_box::WALL), job.find("a/long"));
    assert_eq!(shown(&job, "B½", outlet_box::GANGS), "2");
    assert_eq!(shown(&job, "B½", outlet_box::TOP), "4 ft 6 1/2 in");
    assert!(job.find("a/counter-1/break-1").is_some());
    assert_eq!(job.flag(item(&job, "W/conductor-1"), raceway_conductor::CURRENT_CARRYING), Some(false));
    assert_eq!(job.flag(item(&job, "site"), site::ACCESSIBLE), Some(true));
}

#[test]
fn a_written_id_of_a_wall_still_answers_to_its_name_in_the_room() {
    let text = format!(
        "{HEAD}[[room]]\nid = \"a\"\nkind = \"den\"\n[[room.wall]]\nid = \"W1\"\nname = \"north\"\nlength = \"10 ft\"\n[[box]]\nid = \"north\"\nroom = \"a\"\nwall = \"north\"\n"
    );
    let job = read(&text).good();
    assert_eq!(job.link(item(&job, "north"), outlet_box::WALL), job.find("W1"));
}

#[test]
fn several_parts_are_laid_over_each_other() {
    use crate::job::{Document, Setting, load, peek};
    use crate::model::{Schema, Symbols};
    let text = format!(
        "{HEAD}{ROOM}[own.site]\nstage = \"final\"\n[[own.box]]\nid = \"B1\"\nroom = \"hobby\"\ntop = \"40 in\"\n\
         [[own.room]]\nid = \"hobby\"\nkind = \"garage\"\n[more]\nbox = [{{ id = \"B1\", top = \"50 in\" }}, {{ id = \"B2\" }}]\n\
         cable = [{{ id = \"C\", from = \"B1\" }}]\n[last]\ncable = [{{ id = \"C\", from = {{ first_support = \"7 in\" }} }}]\n"
    );
    let mut files = crate::source::Files::new();
    let file = files.add("trial.toml", text).unwrap();
    let document = Document::parse(&file);
    let table = |key: &str| match document.table().get(key).map(|value| value.get_ref()) {
        Some(toml::de::DeValue::Table(table)) => table.clone(),
        _ => panic!("no {key}"),
    };
    let (own, more, last) = (table("own"), table("more"), table("last"));
    let mut base = document.table().clone();
    ["own", "more", "last", "format"].iter().for_each(|key| drop(base.remove(*key)));
    let part = |table| crate::job::Part { table, file: &file, header: file.span(0..6), faults: &[] };
    let parts = [part(&base), part(&own), part(&more), part(&last)];
    let (facts, problems) = peek(&parts);
    assert_eq!((facts.unwrap().jurisdiction.value.as_str(), problems), ("demo/harlow-county", vec![]));
    let setting = Setting {
        schema: std::sync::Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: None,
        whole_file: false,
    };
    let (job, problems) = load(&parts, &setting);
    assert_eq!(problems, []);
    let job = job.unwrap();
    assert_eq!(job.text(item(&job, "site"), site::STAGE), Some("final"));
    assert_eq!(job.text(item(&job, "hobby"), room::KIND), Some("garage"));
    assert_eq!(shown(&job, "B1", outlet_box::TOP), "4 ft 2 in");
    assert_eq!(ids(&job, "site", site::BOXES), ["B1", "B2"]);
    assert_eq!(shown(&job, "C/from", cable_end::FIRST_SUPPORT), "7 in");
    assert_eq!(job.link(item(&job, "C/from"), cable_end::BOX), job.find("B1"));
}

#[test]
fn the_facts_of_the_site_are_read_before_any_book() {
    let mut files = crate::source::Files::new();
    let file = files.add("job.toml", HOBBY).unwrap();
    let document = crate::job::Document::parse(&file);
    let (facts, problems) = crate::job::peek(&[document.part()]);
    let facts = facts.unwrap();
    assert_eq!(problems, []);
    assert_eq!(facts.permit_date.value, jiff::civil::date(2023, 5, 10));
    assert_eq!(files.text(facts.permit_date.span), "2023-05-10");
    assert_eq!(facts.shop.map(|shop| shop.value).as_deref(), Some("shop/three-gable"));
    assert_eq!((facts.accessible.value, facts.accessible.span), (false, crate::source::Span::DEFAULT));
    assert_eq!(facts.edition, None);
}

#[test]
fn a_byte_order_mark_and_other_line_ends_shift_nothing() {
    let text = format!(
        "\u{feff}{}",
        format!("{HEAD}{ROOM}[[box]]\nid = \"½\"\nroom = \"hobby\"\ntop = \"48 in\"\n").replace('\n', "\r\n")
    );
    let job = read(&text).good();
    assert_eq!(written(&job, "½", outlet_box::TOP), "\"48 in\"");
}
