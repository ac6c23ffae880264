use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap};
use crate::model::FieldId;
use crate::model::kinds::{cable, cable_end, device, outlet_box, raceway};
use crate::quantity::parse;

fn size(text: &str) -> Quantity {
    parse(text, Dimension::Conductor).unwrap()
}

fn in3(text: &str) -> Quantity {
    parse(text, Dimension::Volume).unwrap()
}

/// A box with three 14/2 cables and a duplex receptacle, 18 in³.
fn three_cables() -> Fixture {
    let mut job = Fixture::new();
    job.item("panel", "P1", &[]);
    job.item("circuit", "1", &[("rating", "15 A")]);
    job.item("box", "B1", &[("volume", "18 in3"), ("clamps", "false")]);
    for id in ["C1", "C2", "C3"] {
        job.cable(id, "14/2", "P1", "B1", &[("circuit", "1")]);
    }
    job.item("device", "R1", &[("box", "B1"), ("circuit", "1"), ("kind", "receptacle"), ("contacts", "2")]);
    job
}

fn fill_of(fixture: Fixture, id: &str) -> Result<BoxFill, Gap> {
    let (job, code) = (fixture.job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let contents = box_contents(&ctx, job.find(id).unwrap())?;
    Ok(box_fill(&contents, &code, &mut Sheet::new())?)
}

#[test]
fn three_cables_and_a_receptacle_fill_eighteen_cubic_inches() {
    let fill = fill_of(three_cables(), "B1").unwrap();
    assert_eq!(fill.volume, in3("18 in3"));
    assert_eq!(fill.allowances, Quantity::number(9));
}

#[test]
fn the_worksheet_names_every_allowance_with_its_citation_and_places() {
    let (job, code) = (three_cables().job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let contents = box_contents(&ctx, job.find("B1").unwrap()).unwrap();
    let mut sheet = Sheet::new();
    box_fill(&contents, &code, &mut sheet).unwrap();
    let lines: Vec<_> = sheet.lines().iter().map(|l| (l.what.as_str(), l.total, l.cite.as_deref())).collect();
    assert_eq!(
        lines,
        [
            ("conductors that end or are spliced here", Some(in3("12 in3")), Some("314.16(B)(1)")),
            ("equipment grounds, the first ones together", Some(in3("2 in3")), Some("314.16(B)(5)")),
            ("device on its yoke", Some(in3("4 in3")), Some("314.16(B)(4)")),
            ("volume needed", Some(in3("18 in3")), None),
        ]
    );
    assert_eq!(sheet.lines()[0].count, Some(Quantity::number(6)));
    let sizes: Vec<_> = ["C1", "C2", "C3"].map(|id| job.cell(job.find(id).unwrap(), cable::SIZE).span()).into();
    assert_eq!(sheet.lines()[0].from, sizes);
}

#[test]
fn a_fifth_ground_takes_a_quarter_allowance_unless_the_edition_gives_it_none() {
    let contents = BoxContents {
        grounds: vec![Wires { size: size("12 AWG"), count: 10, span: Span::NONE }],
        ..BoxContents::default()
    };
    let of = |code: &Tables| box_fill(&contents, code, &mut Sheet::none()).unwrap().volume;
    assert_eq!(of(&Tables::shipped()), in3("5.625 in3"));
    let earlier = Tables::shipped().with("[box_fill.grounds_each_further]\nvalue = 0");
    assert_eq!(of(&earlier), in3("2.25 in3"));
}

#[test]
fn a_set_of_isolated_grounds_counts_apart_where_the_edition_says_so() {
    let contents = BoxContents {
        grounds: vec![Wires { size: size("10 AWG"), count: 1, span: Span::NONE }],
        isolated_grounds: vec![Wires { size: size("12 AWG"), count: 1, span: Span::NONE }],
        ..BoxContents::default()
    };
    let of = |code: &Tables| box_fill(&contents, code, &mut Sheet::none()).unwrap().volume;
    assert_eq!(of(&Tables::shipped()), in3("2.5 in3"));
    assert_eq!(of(&Tables::shipped().with("[box_fill.isolated_grounds]\nvalue = 1")), in3("4.75 in3"));
}

#[test]
fn each_device_counts_by_the_conductors_of_its_own_circuit() {
    let mut job = Fixture::new();
    job.item("panel", "P1", &[]);
    job.item("circuit", "1", &[]);
    job.item("circuit", "2", &[]);
    job.item("box", "B1", &[("clamps", "false")]);
    job.cable("C1", "14/2", "P1", "B1", &[("circuit", "1")]);
    job.cable("C2", "12/2", "P1", "B1", &[("circuit", "2")]);
    job.item("device", "S1", &[("box", "B1"), ("circuit", "1"), ("kind", "switch")]);
    job.item("device", "S2", &[("box", "B1"), ("circuit", "2"), ("kind", "switch")]);
    job.item("device", "A1", &[("box", "B1"), ("circuit", "2"), ("kind", "smoke_alarm")]);
    // 2 × 2 + 2 × 2.25 + grounds 2.25 + yokes 2 × 2 + 2 × 2.25; the alarm has no yoke in the box.
    assert_eq!(fill_of(job, "B1").unwrap().volume, in3("19.25 in3"));
}

#[test]
fn conductors_that_run_through_a_box_of_two_raceways_count_once() {
    let mut job = Fixture::new();
    job.item("box", "B1", &[]);
    job.item("box", "B2", &[("clamps", "false")]);
    job.item("box", "B3", &[]);
    for (id, from, to, through) in [("W1", "B1", "B2", "through_to"), ("W2", "B2", "B3", "through_from")] {
        job.item("raceway", id, &[("from", from), ("to", to), ("wiring_method", "EMT"), ("trade_size", "1/2 in")]);
        let fields = [("raceway", id), ("size", "12 AWG"), ("number", "2"), (through, "true")];
        job.item("raceway_conductor", &format!("{id}/conductor-1"), &fields);
        job.item(
            "raceway_conductor",
            &format!("{id}/conductor-2"),
            &[("raceway", id), ("size", "12 AWG"), ("number", "1")],
        );
    }
    // Two that run through, and two that end: one of each raceway.
    assert_eq!(fill_of(job, "B2").unwrap().volume, in3("9 in3"));
}

#[test]
fn a_conductor_listed_in_one_raceway_only_cannot_run_through() {
    let mut job = Fixture::new();
    job.item("box", "B2", &[("clamps", "false")]);
    job.item("raceway", "W1", &[("to", "B2"), ("wiring_method", "EMT"), ("trade_size", "1/2 in")]);
    let fields = [("raceway", "W1"), ("size", "12 AWG"), ("number", "1"), ("through_to", "true")];
    job.item("raceway_conductor", "W1/conductor-1", &fields);
    let Err(Gap::Fault(fault)) = fill_of(job, "B2") else { panic!("a fault was due") };
    assert!(fault.message.contains("both of its raceways"), "{}", fault.message);
}

#[test]
fn what_nobody_recorded_is_named_all_at_once() {
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    fixture.item("box", "B1", &[("passing_through", "2"), ("fixture_wires", "2")]);
    let run = fixture.item("cable", "C1", &[]);
    fixture.item("cable_end", "C1/to", &[("cable", "C1"), ("side", "to"), ("at", "B1")]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let item = job.find("B1").unwrap();
    let Err(Gap::Missing(fields)) = box_contents(&Ctx::new(&job, &code), item) else { panic!("fields were due") };
    let expected: Vec<(_, FieldId)> = vec![
        (run, cable::KEY_MAKE),
        (item, outlet_box::PASSING_SIZE),
        (item, outlet_box::FIXTURE_WIRE_SIZE),
        (item, outlet_box::CLAMPS),
    ];
    assert_eq!(fields, expected);
}

#[test]
fn what_may_be_in_the_box_as_well_leaves_its_fill_open() {
    let fields = |change: &dyn Fn(&mut Fixture)| {
        let mut fixture = three_cables();
        change(&mut fixture);
        match fill_of(fixture, "B1") {
            Err(Gap::Missing(fields)) => fields.into_iter().map(|(_, field)| field).collect(),
            Ok(_) => Vec::new(),
            Err(fault) => panic!("{fault:?}"),
        }
    };
    let device = |fields: &'static [(&'static str, &'static str)]| {
        move |job: &mut Fixture| {
            job.item("room", "hall", &[]);
            job.item("room", "den", &[]);
            let of_box = job.find("B1");
            job.set(of_box, "room", "hall");
            job.item("device", "R2", fields);
        }
    };
    assert_eq!(fields(&device(&[("kind", "receptacle")])), [device::BOX]);
    assert_eq!(fields(&device(&[("kind", "receptacle"), ("room", "hall")])), [device::BOX]);
    // In another room, in no box, or on no yoke: it takes no space here.
    assert_eq!(fields(&device(&[("kind", "receptacle"), ("room", "den")])), []);
    assert_eq!(fields(&device(&[("kind", "receptacle"), ("box", "none")])), []);
    assert_eq!(fields(&device(&[("kind", "smoke_alarm")])), []);
    let end = |from: &'static str| {
        move |job: &mut Fixture| {
            job.item("cable", "C9", &[("make", "14/2"), ("circuit", "1")]);
            job.item("cable_end", "C9/from", &[("cable", "C9"), ("side", "from"), ("at", from)]);
            job.item("cable_end", "C9/to", &[("cable", "C9"), ("side", "to")]);
        }
    };
    assert_eq!(fields(&end("P1")), [cable_end::KEY_AT]);
    // The other end of a cable from this box is not in it.
    assert_eq!(fields(&end("B1")), []);
    let raceway = [("from", "P1"), ("wiring_method", "EMT"), ("trade_size", "1/2 in")];
    let open_raceway = |job: &mut Fixture| {
        job.item("raceway", "W1", &raceway);
    };
    assert_eq!(fields(&open_raceway), [raceway::TO]);
}

#[test]
fn a_device_between_two_sizes_asks_for_its_circuit() {
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    fixture.item("box", "B1", &[("clamps", "false")]);
    fixture.cable("C1", "14/2", "P1", "B1", &[]);
    fixture.cable("C2", "12/2", "P1", "B1", &[]);
    let switch = fixture.item("device", "S1", &[("box", "B1"), ("kind", "switch")]);
    let Err(Gap::Missing(fields)) = fill_of(fixture, "B1") else { panic!("fields were due") };
    assert_eq!(fields, [(switch, device::CIRCUIT)]);
}

#[test]
fn a_size_without_an_allowance_is_a_fault_at_that_size() {
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    fixture.item("box", "B1", &[("clamps", "false")]);
    fixture.cable("C1", "4/3", "P1", "B1", &[]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let contents = box_contents(&ctx, job.find("B1").unwrap()).unwrap();
    let fault = box_fill(&contents, &code, &mut Sheet::none()).unwrap_err();
    assert_eq!(fault.message, "the code in force has no volume allowance for 4 AWG");
    assert_eq!(fault.span, job.cell(job.find("C1").unwrap(), cable::SIZE).span());
}

#[test]
fn capacity_is_what_is_marked_or_what_the_table_says() {
    let mut fixture = Fixture::new();
    let marked = fixture.item("box", "B1", &[("volume", "18 in3"), ("ring_volume", "3.5 in3")]);
    let square = fixture.item("box", "B2", &[("shape", "4 x 1-1/2 square"), ("gangs", "2"), ("material", "metal")]);
    let joined = fixture.item("box", "B3", &[("shape", "3 x 2 x 2-3/4 device"), ("gangs", "3"), ("material", "metal")]);
    let unknown = fixture.item("box", "B4", &[("shape", "4 x 1-1/2 sqare")]);
    let plastic = fixture.item("box", "B5", &[("shape", "4 x 1-1/2 square"), ("material", "nonmetallic")]);
    let bare = fixture.item("box", "B6", &[]);
    let negative = fixture.item("box", "B7", &[("volume", "-18 in3")]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let of = |item| capacity(&ctx, item, &mut Sheet::new());
    assert_eq!(of(marked).unwrap().quantity, in3("21.5 in3"));
    assert_eq!(of(square).unwrap().quantity, in3("21 in3"));
    assert_eq!(of(joined).unwrap().quantity, in3("42 in3"));
    assert_eq!(of(bare), Err(Gap::field(bare, outlet_box::VOLUME)));
    let Err(Gap::Fault(fault)) = of(unknown) else { panic!("a fault was due") };
    assert_eq!(fault.help.as_deref(), Some("did you mean `4 x 1-1/2 square`?"));
    assert_eq!(fault.span, job.cell(unknown, outlet_box::SHAPE).span());
    let Err(Gap::Fault(fault)) = of(plastic) else { panic!("a fault was due") };
    assert!(fault.message.contains("metal boxes only"));
    assert!(matches!(of(negative), Err(Gap::Fault(_))));
}

#[test]
fn the_smallest_box_that_holds_the_fill_is_proposed() {
    let code = Tables::shipped();
    let of = |need: &str, family| smallest_box(in3(need), family, &code).unwrap();
    let square = Family::Standard { word: "square", gangs: 1 };
    assert_eq!(of("20.25 in3", square).unwrap().name, "4 x 1-1/2 square");
    assert_eq!(of("21.5 in3", square).unwrap().name, "4-11/16 x 1-1/4 square");
    assert_eq!(of("43 in3", square), None);
    let octagon = Family::Standard { word: "octagon", gangs: 1 };
    assert_eq!(of("18 in3", octagon).unwrap().name, "4 x 2-1/8 octagon");
    let joined = Family::Standard { word: "device", gangs: 3 };
    assert_eq!(of("43 in3", joined).unwrap().name, "3 joined 4 x 2-1/8 x 2-1/8 device");
    assert_eq!(of("20.5 in3", Family::Nonmetallic { gangs: 1 }).unwrap().volume, in3("22 in3"));
    assert!(smallest_box(in3("1 in3"), Family::Nonmetallic { gangs: 9 }, &code).is_err());
}

#[test]
fn an_overfilled_box_gets_a_proposal_of_its_own_family() {
    let proposal = |fields: &[(&str, &str)]| {
        let mut job = Fixture::new();
        job.item("panel", "P1", &[]);
        job.item("box", "B1", &[("clamps", "false")]);
        let item = job.find("B1");
        for (name, text) in fields {
            job.set(item, name, text);
        }
        for id in ["C1", "C2", "C3"] {
            job.cable(id, "12/2", "P1", "B1", &[]);
        }
        job.item("device", "R1", &[("box", "B1"), ("kind", "receptacle")]);
        let (job, code) = (job.job(), Tables::shipped());
        let found = super::proposal(&Ctx::new(&job, &code), item).unwrap();
        found.map(|offered| offered.name)
    };
    // 20.25 in³ are needed.
    assert_eq!(proposal(&[("volume", "18 in3")]).as_deref(), Some("nonmetallic, 1 gang"));
    assert_eq!(proposal(&[("volume", "20.25 in3")]), None);
    assert_eq!(proposal(&[("shape", "4 x 1-1/4 square"), ("material", "metal")]).as_deref(), Some("4 x 1-1/2 square"));
    assert_eq!(
        proposal(&[("volume", "18 in3"), ("material", "metal"), ("mounted", "ceiling")]).as_deref(),
        Some("4 x 2-1/8 octagon")
    );
}
