//! The derived fields together: each is registered, names what is missing and points at its place.

use super::testing::{Fixture, Tables};
use super::{Ctx, Gap, Library, box_heights, facts};
use crate::model::kinds::{appliance, cable, device, outlet_box, panel, site};
use crate::model::{FieldId, ItemIndex, Job, Schema};
use crate::quantity::{Dimension, Quantity, parse};

fn inches(text: &str) -> Quantity {
    parse(text, Dimension::Length).unwrap()
}

fn derive(job: &Job, item: &str, field: FieldId) -> super::Derived {
    let code = Tables::shipped();
    let ctx = Ctx::new(job, &code);
    Library::standard(&job.schema).derive(&ctx, job.find(item).unwrap(), field).unwrap()
}

fn flag(job: &Job, item: &str, field: FieldId) -> Option<bool> {
    let derived = derive(job, item, field);
    (!derived.cell.is_missing()).then(|| derived.cell.to_flag())
}

#[test]
fn every_derived_field_of_the_format_has_a_computation() {
    let schema = Schema::dwelling();
    let lacking: Vec<String> = Library::standard(&schema)
        .lacking(&schema)
        .into_iter()
        .map(|(kind, field)| format!("{}.{}", schema.spec(kind).name, schema.field_spec(kind, field).name))
        .collect();
    assert_eq!(lacking, Vec::<String>::new());
}

#[test]
fn heights_follow_from_whichever_is_written() {
    let heights = |fields: &[(&str, &str)]| {
        let mut job = Fixture::new();
        let item = job.item("box", "B1", fields);
        let job = job.job();
        let code = Tables::shipped();
        let found = box_heights(&Ctx::new(&job, &code), item);
        [found.bottom, found.centre, found.top].map(|height| height.map(|height| height.quantity))
    };
    let expected = ["44 in", "46 in", "48 in"].map(|text| Ok(inches(text)));
    assert_eq!(heights(&[("height", "46 in"), ("body_height", "4 in")]), expected);
    assert_eq!(heights(&[("top", "48 in"), ("body_height", "4 in")]), expected);
    assert_eq!(heights(&[("bottom", "44 in"), ("body_height", "4 in")]), expected);
    let item = ItemIndex(1);
    let missing = Err(Gap::field(item, outlet_box::BODY_HEIGHT));
    assert_eq!(heights(&[("top", "48 in")]), [missing.clone(), missing, Ok(inches("48 in"))]);
    let nothing: Result<Quantity, Gap> = Err(Gap::field(item, outlet_box::KEY_HEIGHT));
    assert_eq!(heights(&[("body_height", "4 in")]), [nothing.clone(), nothing.clone(), nothing]);
}

#[test]
fn heights_that_contradict_each_other_are_a_fault_and_a_measured_one_wins() {
    let mut job = Fixture::new();
    job.item("box", "B1", &[("height", "46 in"), ("top", "47 1/2 in"), ("body_height", "4 in")]);
    let fault = derive(&job.job(), "B1", outlet_box::CENTRE).fault.unwrap();
    assert_eq!(fault.message, "this box states two heights that do not fit together");
    let mut job = Fixture::new();
    job.item("box", "B1", &[("height", "46 in"), ("top", "47 1/2 in"), ("body_height", "4 in")]);
    job.item("measure", "measure-1", &[("item", "B1"), ("field", "top"), ("value", "47 1/2 in")]);
    let derived = derive(&job.job(), "B1", outlet_box::CENTRE);
    assert_eq!(derived.cell.to_quantity(Dimension::Length), inches("45 1/2 in"));
}

#[test]
fn heights_from_the_subfloor_lose_the_floor_on_top() {
    let mut job = Fixture::new();
    let site_item = job.find("site");
    job.set(site_item, "heights_from", "subfloor");
    job.item("box", "B1", &[("height", "48 in")]);
    let without = job.job();
    assert_eq!(derive(&without, "B1", outlet_box::CENTRE).missing, [(site_item, site::FLOOR_BUILD_UP)]);
    let mut job = Fixture::new();
    job.set(site_item, "heights_from", "subfloor");
    job.set(site_item, "floor_build_up", "3/4 in");
    job.item("box", "B1", &[("height", "48 in")]);
    let derived = derive(&job.job(), "B1", outlet_box::CENTRE);
    assert_eq!(derived.cell.to_quantity(Dimension::Length), inches("47 1/4 in"));
    assert_eq!(derived.lines.len(), 2);
}

#[test]
fn protection_comes_from_the_device_one_upstream_or_the_breaker() {
    let mut job = Fixture::new();
    job.item("circuit", "1", &[("gfci", "true")]);
    job.item("circuit", "2", &[("afci", "true")]);
    job.item("device", "R0", &[("kind", "receptacle"), ("circuit", "2"), ("gfci", "true")]);
    job.item("device", "R1", &[("kind", "receptacle"), ("circuit", "2"), ("gfci_from", "R0")]);
    job.item("device", "R2", &[("kind", "receptacle"), ("circuit", "2"), ("gfci_from", "R1")]);
    job.item("device", "R3", &[("kind", "receptacle"), ("circuit", "2")]);
    job.item("device", "R4", &[("kind", "receptacle"), ("circuit", "1")]);
    job.item("device", "R5", &[("kind", "receptacle")]);
    let job = job.job();
    let of = |id: &str| flag(&job, id, device::IS_GFCI_PROTECTED);
    assert_eq!(
        ["R0", "R1", "R2", "R3", "R4", "R5"].map(of),
        [Some(true), Some(true), Some(true), Some(false), Some(true), None]
    );
    assert_eq!(derive(&job, "R5", device::IS_GFCI_PROTECTED).missing, [(job.find("R5").unwrap(), device::CIRCUIT)]);
    assert_eq!(flag(&job, "R3", device::IS_AFCI_PROTECTED), Some(true));
    assert_eq!(flag(&job, "R4", device::IS_AFCI_PROTECTED), Some(false));
}

#[test]
fn devices_that_protect_each_other_in_a_ring_are_a_fault() {
    let mut job = Fixture::new();
    job.item("device", "R1", &[("kind", "receptacle")]);
    job.item("device", "R2", &[("kind", "receptacle"), ("gfci_from", "R1")]);
    let first = job.find("R1");
    job.set(first, "gfci_from", "R2");
    let fault = derive(&job.job(), "R1", device::IS_GFCI_PROTECTED).fault.unwrap();
    assert!(fault.message.contains("ring"));
}

#[test]
fn an_appliance_is_protected_by_its_breaker_or_by_all_its_receptacles() {
    let with = |gfci: [&str; 2]| {
        let mut job = Fixture::new();
        job.item("circuit", "1", &[]);
        job.item("appliance", "A1", &[("kind", "dishwasher"), ("circuit", "1")]);
        for (id, gfci) in ["R1", "R2"].into_iter().zip(gfci) {
            let fields = [("kind", "receptacle"), ("circuit", "1"), ("serves_appliance", "A1"), ("gfci", gfci)];
            job.item("device", id, &fields);
        }
        flag(&job.job(), "A1", appliance::IS_GFCI_PROTECTED)
    };
    assert_eq!(with(["true", "true"]), Some(true));
    assert_eq!(with(["true", "false"]), Some(false));
}

#[test]
fn both_contacts_of_a_duplex_receptacle_have_to_be_reached() {
    let mut job = Fixture::new();
    job.item("box", "B1", &[("height", "16 in")]);
    job.item("device", "R1", &[("kind", "receptacle"), ("box", "B1"), ("contacts", "2")]);
    job.item("device", "R2", &[("kind", "receptacle"), ("box", "B1"), ("contacts", "1")]);
    job.item("device", "R3", &[("kind", "receptacle"), ("box", "B1")]);
    job.item("device", "S1", &[("kind", "switch"), ("box", "B1")]);
    job.item("device", "S2", &[("kind", "switch"), ("operable_part", "44 in")]);
    let job = job.job();
    let both = |id: &str| {
        [device::OPERABLE_LOW, device::OPERABLE_HIGH]
            .map(|field| derive(&job, id, field).cell.to_quantity(Dimension::Length))
    };
    assert_eq!(both("R1"), [inches("15 1/4 in"), inches("16 3/4 in")]);
    assert_eq!(both("R2"), [inches("16 in"), inches("16 in")]);
    assert_eq!(both("S1"), [inches("16 in"), inches("16 in")]);
    assert_eq!(both("S2"), [inches("44 in"), inches("44 in")]);
    let item = job.find("R3").unwrap();
    assert_eq!(derive(&job, "R3", device::OPERABLE_LOW).missing, [(item, device::CONTACTS)]);
    assert_eq!(flag(&job, "S1", device::IS_OPERABLE), Some(true));
}

#[test]
fn the_part_farthest_out_of_reach_is_judged_from_both_limits() {
    let mut job = Fixture::new();
    for (id, height) in [("1", "16 in"), ("2", "47 in")] {
        job.item("box", &format!("B{id}"), &[("height", height)]);
        let fields = [("kind", "receptacle"), ("box", &format!("B{id}")), ("contacts", "2")];
        job.item("device", &format!("R{id}"), &fields);
    }
    let job = job.job();
    let code = Tables::shipped().with("[reach.low]\nvalue = \"15 in\"\n[reach.high]\nvalue = \"48 in\"");
    let ctx = Ctx::new(&job, &code);
    let of = |id: &str| {
        let item = job.find(id).unwrap();
        let derived = Library::standard(&job.schema).derive(&ctx, item, device::OPERABLE_HEIGHT).unwrap();
        derived.cell.to_quantity(Dimension::Length)
    };
    assert_eq!(of("R1"), inches("15 1/4 in"));
    assert_eq!(of("R2"), inches("47 3/4 in"));
}

#[test]
fn gaps_between_supports_are_measured_or_follow_from_their_places() {
    let mut job = Fixture::new();
    job.item("cable", "C1", &[("make", "12/2"), ("supports", "10 ft, 1 ft, 5 ft"), ("length", "12 ft")]);
    job.item("cable", "C2", &[("make", "12/2"), ("support_gap", "50 in"), ("supports", "1 ft, 9 ft")]);
    job.item("cable", "C3", &[("make", "12/2")]);
    job.item("cable", "C4", &[("make", "12/2"), ("supports", "1 ft, 13 ft"), ("length", "12 ft")]);
    let job = job.job();
    let of = |id: &str| derive(&job, id, cable::WIDEST_SUPPORT_GAP);
    assert_eq!(of("C1").cell.to_quantity(Dimension::Length), inches("5 ft"));
    assert_eq!(of("C2").cell.to_quantity(Dimension::Length), inches("50 in"));
    assert_eq!(of("C3").missing, [(job.find("C3").unwrap(), cable::SUPPORT_GAP)]);
    assert_eq!(of("C4").fault.unwrap().message, "this support is not on the cable");
}

#[test]
fn facts_are_the_cells_with_the_wanted_fields_filled() {
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    fixture.item("panel", "P2", &[("fed_by", "P1")]);
    fixture.item("box", "B1", &[("top", "48 in")]);
    fixture.item("box", "B2", &[("shape", "5 x 5 round")]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let library = Library::standard(&job.schema);
    let facts = facts(&job, &code, &library, library.fields());
    let [first, second] = ["P1", "P2"].map(|id| facts.cell(job.find(id).unwrap(), panel::IS_SUBPANEL));
    assert_eq!((first.is_missing(), first.to_flag(), second.to_flag()), (false, false, true));
    let item = job.find("B1").unwrap();
    assert!(facts.cell(item, outlet_box::CENTRE).is_missing());
    assert_eq!(facts.missing_for(item, outlet_box::CENTRE), [(item, outlet_box::BODY_HEIGHT)]);
    assert_eq!(facts.cell(item, outlet_box::TOP), job.cell(item, outlet_box::TOP));
    let other = job.find("B2").unwrap();
    let fault = facts.fault_of(other, outlet_box::CAPACITY).unwrap();
    assert_eq!(fault.message, "there is no standard box `5 x 5 round`");
}

#[test]
fn a_fault_of_the_code_alone_points_at_the_item() {
    let mut fixture = Fixture::new();
    let item = fixture.item("box", "B1", &[("shape", "4 x 1-1/2 square")]);
    let (job, code) = (fixture.job(), Tables::shipped().without("box_fill.standard_boxes"));
    let ctx = Ctx::new(&job, &code);
    let derived = Library::standard(&job.schema).derive(&ctx, item, outlet_box::CAPACITY).unwrap();
    let fault = derived.fault.unwrap();
    assert_eq!(fault.message, "the code in force has no entry `box_fill.standard_boxes`, which this calculation needs");
    assert_eq!(fault.span, job.item(item).header);
}
