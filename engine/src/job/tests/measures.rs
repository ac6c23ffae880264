//! Measured values in place of planned ones.

use super::{HEAD, ROOM, fault, read};
use crate::model::kinds::{cable, cable_end, device, luminaire, measure, outlet_box, room, wall};
use crate::model::{FieldId, Job};
use crate::quantity::{Dimension, UnitSystem};

const ITEMS: &str = "[[box]]\nid = \"B1\"\nroom = \"hobby\"\ntop = \"48 in\"\n[[box]]\nid = \"B2\"\n\
    [[device]]\nid = \"R1\"\nkind = \"switch\"\ncontrols = [\"L1\"]\n[[luminaire]]\nid = \"L1\"\nkind = \"surface\"\n[[luminaire]]\nid = \"L2\"\nkind = \"surface\"\n\
    [[cable]]\nid = \"C1\"\nmake = \"14/2\"\nlength = \"20 ft\"\nto = \"B1\"\n";

fn measured(measures: &[(&str, &str, &str)]) -> String {
    let measures: String = measures
        .iter()
        .map(|(item, field, value)| {
            format!("[[measure]]\nitem = \"{item}\"\nfield = \"{field}\"\nvalue = {value}\non = 2023-06-01\n")
        })
        .collect();
    format!("{ROOM}{ITEMS}{measures}")
}

fn shown(job: &Job, id: &str, field: FieldId) -> String {
    job.quantity(job.find(id).unwrap(), field).map(|q| q.print(UnitSystem::Customary)).unwrap_or_default()
}

fn plan(job: &Job, id: &str, field: FieldId) -> String {
    let plan = job.plan(job.find(id).unwrap(), field);
    plan.map(|cell| job.files.text(cell.span()).to_owned()).unwrap_or_default()
}

fn job(measures: &[(&str, &str, &str)]) -> Job {
    read(&format!("{HEAD}{}", measured(measures))).good()
}

#[test]
fn a_measured_value_stands_and_the_plan_is_kept() {
    let job =
        job(&[("B1", "top", "\"47 1/2 in\""), ("C1/to", "first_support", "\"9 in\""), ("B1", "gap", "\"1/16 in\"")]);
    assert_eq!(
        (shown(&job, "B1", outlet_box::TOP), plan(&job, "B1", outlet_box::TOP)),
        ("3 ft 11 1/2 in".into(), "\"48 in\"".into())
    );
    assert_eq!(
        (shown(&job, "C1/to", cable_end::FIRST_SUPPORT), plan(&job, "C1/to", cable_end::FIRST_SUPPORT)),
        ("9 in".into(), String::new())
    );
    let cell = job.cell(job.find("B1").unwrap(), outlet_box::TOP);
    assert_eq!(job.files.text(cell.span()), "\"47 1/2 in\"");
    assert_eq!(job.text(job.find("measure-1").unwrap(), measure::VALUE), Some("47 1/2 in"));
}

#[test]
fn the_last_of_several_stands_over_the_plan_itself() {
    let job = job(&[
        ("B1", "top", "\"47 in\""),
        ("B2", "top", "\"1 ft\""),
        ("B1", "top", "\"46 in\""),
        ("B2", "top", "\"2 ft\""),
    ]);
    assert_eq!(
        (shown(&job, "B1", outlet_box::TOP), plan(&job, "B1", outlet_box::TOP)),
        ("3 ft 10 in".into(), "\"48 in\"".into())
    );
    assert_eq!((shown(&job, "B2", outlet_box::TOP), plan(&job, "B2", outlet_box::TOP)), ("2 ft".into(), String::new()));
}

#[test]
fn a_measured_bottom_stands_in_place_of_a_planned_top() {
    let job = job(&[("B1", "height", "\"45 in\""), ("B1", "bottom", "\"44 in\"")]);
    assert_eq!(
        [outlet_box::KEY_HEIGHT, outlet_box::TOP, outlet_box::BOTTOM].map(|field| shown(&job, "B1", field)),
        ["", "", "3 ft 8 in"]
    );
    assert_eq!(plan(&job, "B1", outlet_box::TOP), "\"48 in\"");
}

#[test]
fn values_of_every_type_in_the_fields_own_form_or_in_quotes() {
    let job = job(&[
        ("B1", "gangs", "2"),
        ("B2", "gangs", "\"3\""),
        ("B1", "secured", "true"),
        ("B2", "secured", "\"false\""),
        ("C1", "supports", "[\"8 in\", \"4 ft\"]"),
        ("hobby", "covered_on", "2023-07-01"),
        ("C1", "make", "\"12/2\""),
        ("C1", "to", "\"x\""),
    ]
    .split_last()
    .unwrap()
    .1);
    assert_eq!((shown(&job, "B1", outlet_box::GANGS), shown(&job, "B2", outlet_box::GANGS)), ("2".into(), "3".into()));
    assert_eq!(
        [
            job.flag(job.find("B1").unwrap(), outlet_box::SECURED),
            job.flag(job.find("B2").unwrap(), outlet_box::SECURED)
        ],
        [Some(true), Some(false)]
    );
    assert_eq!(job.list(job.cell(job.find("C1").unwrap(), cable::SUPPORTS).to_list()).len(), 2);
    assert_eq!(shown(&job, "hobby", room::COVERED_ON), "2023-07-01");
    assert_eq!((shown(&job, "C1", cable::SIZE), plan(&job, "C1", cable::SIZE)), ("12 AWG".into(), "\"14/2\"".into()));
    assert_eq!(job.text(job.find("measure-6").unwrap(), measure::VALUE), Some("2023-07-01"));
}

#[test]
fn found_references_are_looked_up() {
    let job = job(&[("C1/to", "at", "\"L2\""), ("R1", "controls", "[\"L2\", \"L1\"]")]);
    let end = job.find("C1/to").unwrap();
    assert_eq!((job.link(end, cable_end::LUMINAIRE), job.link(end, cable_end::BOX)), (job.find("L2"), None));
    assert_eq!(job.plan(end, cable_end::BOX).map(|cell| cell.to_item()), job.find("B1"));
    assert_eq!(job.links(job.find("R1").unwrap(), device::LIGHTS).count(), 2);
    assert_eq!(job.links(job.find("L2").unwrap(), luminaire::CONTROLLED_BY).count(), 1);
}

#[test]
fn made_walls_follow_the_measured_sides_of_their_room() {
    let job = job(&[("hobby", "length", "\"13 ft 11 in\""), ("hobby/south", "length", "\"13 ft 10 in\"")]);
    assert_eq!(
        ["north", "east", "south", "west"].map(|name| shown(&job, &format!("hobby/{name}"), wall::LENGTH)),
        ["13 ft 11 in", "12 ft", "13 ft 10 in", "12 ft"]
    );
    assert_eq!(plan(&job, "hobby/north", wall::LENGTH), "\"14 ft\"");
    assert_eq!(plan(&job, "hobby/south", wall::LENGTH), "\"14 ft\"");
}

#[test]
fn faults() {
    let wrong = |item, field, value, message: &str, help: &str, underlined: &str| {
        drop(fault(&measured(&[(item, field, value)]), message, help, underlined))
    };
    wrong("hobbi", "name", "\"x\"", "there is no item `hobbi`", "did you mean `hobby`?", "\"hobbi\"");
    wrong("Z", "top", "\"1 in\"", "there is no item `Z`", "write the id of an item that is in the job", "\"Z\"");
    wrong("B1", "topp", "\"1 in\"", "unknown key `topp` in box `B1`", "did you mean `top`?", "\"topp\"");
    wrong("B1", "centre", "\"1 in\"", "`centre` of a box is computed", "leave it out", "\"centre\"");
    wrong("B1", "id", "\"B2\"", "`id` of a box can't be measured", "name a field that holds a value", "\"id\"");
    wrong("C1", "hole", "\"B2\"", "`hole` of a cable can't be measured", "name a field that holds a value", "\"hole\"");
    wrong(
        "B1",
        "top",
        "\"20 A\"",
        "`top`: expected a length such as `12 in` or `300 mm`, found a current `20 A`",
        Dimension::Length.units_help(),
        "20 A",
    );
    wrong(
        "B1",
        "top",
        "47",
        "`top` has no unit",
        &format!("put it in quotes with its unit; {}", Dimension::Length.units_help()),
        "47",
    );
    wrong(
        "B1",
        "secured",
        "\"yes\"",
        "`secured` wants yes or no, not text",
        "write `true` or `false`, without quotes",
        "\"yes\"",
    );
    wrong("B1", "state", "\"sett\"", "`sett` is no `state`", "did you mean `set`?", "\"sett\"");
    wrong(
        "B1",
        "top",
        "{ x = 1 }",
        "`value` wants a value, not a table",
        "write the value as the field itself would have it",
        "{ x = 1 }",
    );
    wrong("C1/to", "at", "\"B9\"", "there is no item `B9`", "known here: B1, B2, L1, L2", "\"B9\"");
    // An earlier measure is checked even where a later one stands over it.
    fault(
        &measured(&[("B1", "top", "\"x\""), ("B1", "top", "\"1 ft\"")]),
        "`top`: expected a length such as `12 in` or `300 mm`, found `x`",
        Dimension::Length.units_help(),
        "x",
    );
    fault(
        &format!("{ROOM}{ITEMS}[[measure]]\nitem = \"B1\"\nfield = \"top\"\n"),
        "measure `measure-1` has no `value`",
        "add `value`: the value, in the field's own form",
        "[[measure]]",
    );
}
