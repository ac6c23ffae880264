use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap, Sheet};
use crate::model::kinds::{device, outlet_box, wall};
use crate::model::{ItemIndex, Job};
use crate::quantity::{Dimension, Quantity, parse};

fn inches(n: i64) -> i64 {
    n * 25_400_000
}

/// A bedroom of 14 ft by 12 ft with a door of 32 in in the south wall, 2 ft from its start.
fn bedroom() -> Fixture {
    let mut job = Fixture::new();
    job.room("bed", "bedroom", "14 ft", "12 ft");
    job.item(
        "opening",
        "bed/door",
        &[("room", "bed"), ("wall", "bed/south"), ("kind", "door"), ("at", "2 ft"), ("width", "32 in")],
    );
    job
}

fn receptacle(job: &mut Fixture, id: &str, wall: &str, along: &str, fields: &[(&str, &str)]) -> ItemIndex {
    let room = wall.split('/').next().unwrap_or_default().to_string();
    job.item("box", &format!("B{id}"), &[("room", &room), ("wall", wall), ("along", along), ("height", "15 in")]);
    let item = job.item("device", id, &[("box", &format!("B{id}")), ("room", &room), ("kind", "receptacle")]);
    for (name, text) in fields {
        job.set(item, name, text);
    }
    item
}

fn worst(job: &Job, room: &str) -> Result<i64, Gap> {
    let code = Tables::shipped();
    let ctx = Ctx::new(job, &code);
    wall_uncovered(&ctx, job.find(room).unwrap(), &mut Sheet::new()).map(|found| found.amount())
}

#[test]
fn a_door_cuts_the_floor_line_and_corners_do_not() {
    let mut job = bedroom();
    receptacle(&mut job, "R1", "bed/north", "7 ft", &[]);
    let job = job.job();
    let code = Tables::shipped();
    let found = wall_coverage(&Ctx::new(&job, &code), job.find("bed").unwrap(), &mut Sheet::new()).unwrap();
    assert_eq!(found.spaces.len(), 1);
    assert_eq!(found.spaces[0].stretch.length, inches(52 * 12 - 32));
    // From the far side of the door: 28 in and 24 in of the south wall apart, 12 ft of side wall, 7 ft of the north wall.
    let west = inches(12 * 12 + 7 * 12 + 14 * 12 - 24 - 32);
    assert_eq!(found.farthest(), west);
    assert_eq!(found.spaces[0].uncovered.len(), 2);
}

#[test]
fn five_receptacles_can_cover_a_bedroom_to_the_inch() {
    let mut job = bedroom();
    for (id, wall, along) in [
        ("R1", "north", "1 ft"),
        ("R2", "north", "13 ft"),
        ("R3", "east", "11 ft"),
        ("R4", "south", "10 ft 8 in"),
        ("R5", "west", "6 ft"),
    ] {
        receptacle(&mut job, id, &format!("bed/{wall}"), along, &[]);
    }
    // West 6 ft to north 1 ft: 7 ft apart. South 10 ft 8 in on the west side of the door: 6 ft to the door's edge at 4 ft 8 in.
    assert_eq!(worst(&job.job(), "bed"), Ok(inches(72)));
}

#[test]
fn a_short_wall_space_needs_none_and_a_bare_longer_one_is_out_of_reach() {
    let room = |gap: &str| {
        let mut job = Fixture::new();
        job.room("bed", "bedroom", "10 ft", "10 ft");
        for (name, kind, at, width) in [("a", "door", "1 ft", "3 ft"), ("b", "closet", gap, "3 ft")] {
            let kind = if kind == "closet" { "doorway" } else { kind };
            let fields = [("room", "bed"), ("wall", "bed/north"), ("kind", kind), ("at", at), ("width", width)];
            job.item("opening", &format!("bed/{name}"), &fields);
        }
        receptacle(&mut job, "R1", "bed/south", "5 ft", &[]);
        job.job()
    };
    let code = Tables::shipped();
    // 23 in between the doors: no wall space. The other, 34 ft 1 in, is served from its middle.
    let job = room("5 ft 11 in");
    let found = wall_coverage(&Ctx::new(&job, &code), job.find("bed").unwrap(), &mut Sheet::new()).unwrap();
    assert_eq!(found.spaces.iter().filter(|space| space.required).count(), 1);
    assert_eq!(found.longest_bare(), inches(23));
    // 24 in: a wall space without any receptacle.
    let job = room("6 ft");
    let found = wall_coverage(&Ctx::new(&job, &code), job.find("bed").unwrap(), &mut Sheet::new()).unwrap();
    assert_eq!(found.spaces.iter().filter(|space| space.required).count(), 2);
    let bare = found.spaces.iter().find(|space| space.receptacles.is_empty()).unwrap();
    assert_eq!(bare.stretch.length, inches(24));
    assert_eq!(bare.uncovered, [(0, inches(24))]);
}

#[test]
fn railings_and_fixed_panels_count_as_wall_and_open_sides_do_not() {
    let worst_with = |kind: &str| {
        let mut job = Fixture::new();
        job.room("loft", "den", "10 ft", "10 ft");
        let west = job.find("loft/west");
        job.set(west, "kind", kind);
        receptacle(&mut job, "R1", "loft/north", "5 ft", &[]);
        worst(&job.job(), "loft").unwrap()
    };
    assert_eq!(worst_with("railing"), inches(20 * 12));
    assert_eq!(worst_with("fixed_panel"), inches(20 * 12));
    // Open: from the middle of the north wall 25 ft round to the end of the south wall.
    assert_eq!(worst_with("open"), inches(25 * 12));
}

#[test]
fn receptacles_that_do_not_count_are_left_out_and_named() {
    let mut job = bedroom();
    receptacle(&mut job, "R1", "bed/north", "7 ft", &[]);
    receptacle(&mut job, "R2", "bed/east", "6 ft", &[("switched", "whole")]);
    receptacle(&mut job, "R3", "bed/east", "7 ft", &[("in_cabinet", "true")]);
    receptacle(&mut job, "R4", "bed/east", "8 ft", &[("part_of_appliance", "true")]);
    receptacle(&mut job, "R5", "bed/east", "9 ft", &[("rating", "30 A")]);
    job.item("box", "BH", &[("room", "bed"), ("wall", "bed/west"), ("along", "3 ft"), ("height", "5 ft 7 in")]);
    job.item("device", "R6", &[("box", "BH"), ("room", "bed"), ("kind", "receptacle")]);
    for (id, away) in [("BF", "18 in"), ("BG", "19 in")] {
        let fields =
            [("room", "bed"), ("wall", "bed/west"), ("along", "6 ft"), ("mounted", "floor"), ("from_wall", away)];
        job.item("box", id, &fields);
        job.item("device", &format!("R{id}"), &[("box", id), ("room", "bed"), ("kind", "receptacle")]);
    }
    receptacle(&mut job, "R7", "bed/west", "9 ft", &[("switched", "half")]);
    let job = job.job();
    let code = Tables::shipped();
    let found = wall_coverage(&Ctx::new(&job, &code), job.find("bed").unwrap(), &mut Sheet::new()).unwrap();
    let counted: Vec<&str> =
        found.spaces.iter().flat_map(|space| &space.receptacles).map(|(_, device)| job.id(*device)).collect();
    assert_eq!(counted, ["RBF", "R7", "R1"]);
    let left: Vec<(&str, &str)> = found.left_out.iter().map(|(device, why)| (job.id(*device), *why)).collect();
    assert_eq!(
        left,
        [
            ("R2", "on a wall switch instead of a lighting outlet"),
            ("R3", "inside a cabinet"),
            ("R4", "part of a luminaire or appliance"),
            ("R5", "not a general-purpose receptacle"),
            ("R6", "too high"),
            ("RBG", "in the floor too far from the wall"),
        ]
    );
}

#[test]
fn an_unrecorded_height_matters_only_where_it_would_change_the_result() {
    let with = |covered_anyway: bool| {
        let mut job = Fixture::new();
        job.room("bed", "bedroom", "10 ft", "10 ft");
        job.item("box", "B9", &[("room", "bed"), ("wall", "bed/north"), ("along", "5 ft")]);
        job.item("device", "R9", &[("box", "B9"), ("room", "bed"), ("kind", "receptacle")]);
        if covered_anyway {
            receptacle(&mut job, "R1", "bed/north", "5 ft", &[]);
        }
        let job = job.job();
        (worst(&job, "bed"), job.find("B9").unwrap())
    };
    assert_eq!(with(true).0, Ok(inches(240)));
    let (found, item) = with(false);
    assert_eq!(found, Err(Gap::field(item, outlet_box::KEY_HEIGHT)));
}

#[test]
fn faults_point_at_the_value_that_cannot_be() {
    let fault = |job: Fixture| match worst(&job.job(), "bed") {
        Err(Gap::Fault(problem)) => problem.message,
        other => panic!("a fault was due, not {other:?}"),
    };
    let mut beyond = bedroom();
    receptacle(&mut beyond, "R1", "bed/north", "14 ft 1 in", &[]);
    assert_eq!(fault(beyond), "this box is not on its wall");
    let mut wide = bedroom();
    let fields = [("room", "bed"), ("wall", "bed/east"), ("kind", "door"), ("at", "10 ft"), ("width", "32 in")];
    wide.item("opening", "bed/wide", &fields);
    assert_eq!(fault(wide), "this opening does not fit into its wall");
    let mut open = Fixture::new();
    open.item("room", "bed", &[("kind", "bedroom")]);
    for (name, size) in [("a", "10 ft"), ("b", "10 ft"), ("c", "10 ft"), ("d", "9 ft")] {
        open.item("wall", &format!("bed/{name}"), &[("room", "bed"), ("length", size)]);
    }
    assert_eq!(fault(open), "the walls of this room do not lead back to where they began");
    let mut three = Fixture::new();
    three.item("room", "bed", &[("kind", "bedroom")]);
    for name in ["a", "b", "c"] {
        three.item("wall", &format!("bed/{name}"), &[("room", "bed"), ("length", "10 ft")]);
    }
    assert!(fault(three).contains("one full turn"));
}

/// A kitchen with counters along its north and east walls that meet in the corner, a sink and a range.
fn kitchen() -> Fixture {
    let mut job = Fixture::new();
    job.room("kit", "kitchen", "12 ft", "10 ft");
    for (name, wall, at, length) in [("long", "north", "2 ft", "10 ft"), ("short", "east", "25 in", "60 in")] {
        let wall = format!("kit/{wall}");
        let fields = [
            ("room", "kit"),
            ("kind", "wall"),
            ("wall", &wall),
            ("at", at),
            ("length", length),
            ("depth", "25 in"),
            ("height", "36 in"),
        ];
        job.item("counter", &format!("kit/{name}"), &fields);
    }
    job
}

fn counter_receptacle(job: &mut Fixture, id: &str, wall: &str, along: &str, counter: &str) -> ItemIndex {
    let item = receptacle(job, id, &format!("kit/{wall}"), along, &[("counter", &format!("kit/{counter}"))]);
    let outlet_box = job.find(&format!("B{id}"));
    job.set(outlet_box, "height", "42 in");
    item
}

fn counter_worst(job: &Job, id: &str) -> Result<i64, Gap> {
    let code = Tables::shipped();
    let ctx = Ctx::new(job, &code);
    counter_uncovered(&ctx, job.find(id).unwrap(), &mut Sheet::new()).map(|found| found.amount())
}

#[test]
fn counters_that_meet_in_a_corner_have_one_wall_line() {
    let mut job = kitchen();
    counter_receptacle(&mut job, "R1", "north", "4 ft", "long");
    counter_receptacle(&mut job, "R2", "north", "8 ft", "long");
    counter_receptacle(&mut job, "R3", "north", "11 ft 8 in", "long");
    counter_receptacle(&mut job, "R4", "east", "44 in", "short");
    let job = job.job();
    // North 11 ft 8 in to east 44 in: 48 in apart round the corner, its middle 24 in from both.
    assert_eq!(counter_worst(&job, "kit/long"), Ok(inches(24)));
    // East 44 in to its end at 85 in.
    assert_eq!(counter_worst(&job, "kit/short"), Ok(inches(41)));
}

#[test]
fn the_wall_along_a_counter_goes_by_the_counter_unless_the_code_says_otherwise() {
    let mut job = kitchen();
    receptacle(&mut job, "R1", "kit/south", "6 ft", &[]);
    let job = job.job();
    let of = |code: &Tables| {
        let ctx = Ctx::new(&job, code);
        wall_uncovered(&ctx, job.find("kit").unwrap(), &mut Sheet::none()).unwrap().amount()
    };
    // From the middle of the south wall to the end of the long counter: 6 ft, 10 ft of the west wall and 2 ft of the north one.
    assert_eq!(of(&Tables::shipped()), inches(18 * 12));
    // Otherwise all round: half of the 44 ft of wall.
    let otherwise = Tables::shipped().with("[coverage.breaks]\nlist = [\"door\"]");
    assert_eq!(of(&otherwise), inches(22 * 12));
}

#[test]
fn a_sink_cuts_the_wall_line_unless_enough_counter_lies_behind_it() {
    let with = |behind: Option<&str>| {
        let mut job = kitchen();
        let sink = job.item(
            "counter_break",
            "kit/long/break-1",
            &[("counter", "kit/long"), ("kind", "sink"), ("at", "48 in"), ("width", "30 in")],
        );
        if let Some(behind) = behind {
            job.set(sink, "behind", behind);
        }
        // 24 in from the left end; 2 ft 2 in right of the sink.
        counter_receptacle(&mut job, "R1", "north", "4 ft", "long");
        counter_receptacle(&mut job, "R2", "north", "10 ft 8 in", "long");
        counter_receptacle(&mut job, "R3", "east", "30 in", "short");
        counter_receptacle(&mut job, "R4", "east", "61 in", "short");
        counter_worst(&job.job(), "kit/long").unwrap()
    };
    // Right of the sink from 8 ft 6 in: 26 in to the receptacle at 10 ft 8 in.
    assert_eq!(with(None), inches(26));
    assert_eq!(with(Some("11 in")), inches(26));
    // One line from 4 ft to 10 ft 8 in: its middle is 40 in away.
    assert_eq!(with(Some("12 in")), inches(40));
}

#[test]
fn a_counter_space_without_a_receptacle_is_out_of_reach_and_a_narrow_one_is_let_off() {
    let with = |width: &str| {
        let mut job = Fixture::new();
        job.room("kit", "kitchen", "12 ft", "10 ft");
        let fields = [("room", "kit"), ("kind", "wall"), ("wall", "kit/north"), ("at", "0 ft"), ("length", width)];
        job.item("counter", "kit/run", &fields);
        counter_worst(&job.job(), "kit/run")
    };
    assert_eq!(with("11 in"), Ok(0));
    assert_eq!(with("12 in"), Ok(inches(36)));
}

#[test]
fn a_receptacle_too_high_above_the_counter_does_not_serve_it() {
    let mut job = kitchen();
    let item = counter_receptacle(&mut job, "R1", "north", "4 ft", "long");
    let outlet_box = job.find("BR1");
    job.set(outlet_box, "height", "57 in");
    let job = job.job();
    let code = Tables::shipped();
    let ctx = Ctx::new(&job, &code);
    let counter = job.find("kit/long").unwrap();
    assert_eq!(counts_for_counter(&ctx, item, counter), Standing::Not("too high above the counter"));
    let found = counter_receptacles(&ctx, counter, &mut Sheet::new()).unwrap();
    assert_eq!(found.quantity, Quantity::number(0));
}

#[test]
fn heights_that_nobody_recorded_are_asked_for_as_height_above_the_counter() {
    let mut job = Fixture::new();
    job.room("kit", "kitchen", "12 ft", "10 ft");
    let fields = [("room", "kit"), ("kind", "wall"), ("wall", "kit/north"), ("at", "0 ft"), ("length", "4 ft")];
    job.item("counter", "kit/run", &fields);
    job.item("box", "B1", &[("room", "kit"), ("wall", "kit/north"), ("along", "2 ft")]);
    let item = job.item("device", "R1", &[("box", "B1"), ("kind", "receptacle"), ("counter", "kit/run")]);
    assert_eq!(counter_worst(&job.job(), "kit/run"), Err(Gap::field(item, device::ABOVE_COUNTER)));
}

fn island(length: &str, depth: &str, code: &Tables) -> i64 {
    let mut job = Fixture::new();
    job.room("kit", "kitchen", "12 ft", "10 ft");
    let fields = [("room", "kit"), ("kind", "island"), ("length", length), ("depth", depth)];
    let item = job.item("counter", "kit/island", &fields);
    let job = job.job();
    let needed = receptacles_needed(&Ctx::new(&job, code), item, &mut Sheet::new()).unwrap();
    needed.quantity.whole().unwrap()
}

#[test]
fn islands_go_by_area_by_size_or_by_nothing_as_the_entries_say() {
    let shipped = Tables::shipped();
    assert_eq!(island("3 ft", "3 ft", &shipped), 1);
    assert_eq!(island("5 ft", "3.5 ft", &shipped), 2);
    assert_eq!(island("9 ft", "3 ft", &shipped), 2);
    assert_eq!(island("10 ft", "3 ft", &shipped), 3);
    let one_each = Tables::shipped().with(
        "[coverage.island_by_area]\nvalue = false\n[coverage.island_least_long]\nvalue = \"24 in\"\n[coverage.island_least_short]\nvalue = \"12 in\"",
    );
    assert_eq!(island("20 ft", "24 in", &one_each), 1);
    assert_eq!(island("24 in", "12 in", &one_each), 1);
    assert_eq!(island("23 in", "20 in", &one_each), 0);
    assert_eq!(island("30 in", "11 in", &one_each), 0);
    let none = Tables::shipped().with("[coverage.island_required]\nvalue = false");
    assert_eq!(island("10 ft", "3 ft", &none), 0);
}

#[test]
fn a_hallway_is_measured_along_its_centre_line_round_a_corner() {
    let mut job = Fixture::new();
    job.room("straight", "hallway", "12 ft", "3 ft");
    job.item("room", "bent", &[("kind", "hallway")]);
    // Two legs of 12 ft and 8 ft outside, 3 ft wide.
    let walls = [
        ("a", "12 ft", ""),
        ("b", "8 ft", ""),
        ("c", "3 ft", ""),
        ("d", "5 ft", "-90 deg"),
        ("e", "9 ft", ""),
        ("f", "3 ft", ""),
    ];
    for (name, size, turn) in walls {
        let item = job.item("wall", &format!("bent/{name}"), &[("room", "bent"), ("length", size)]);
        if !turn.is_empty() {
            job.set(item, "turn", turn);
        }
    }
    let job = job.job();
    let code = Tables::shipped();
    let ctx = Ctx::new(&job, &code);
    let of = |id: &str| centre_line(&ctx, job.find(id).unwrap(), &mut Sheet::new()).unwrap().amount();
    assert_eq!(of("straight"), inches(144));
    assert_eq!(of("bent"), inches(17 * 12));
}

#[test]
fn the_worst_point_tells_its_wall() {
    let mut job = bedroom();
    receptacle(&mut job, "R1", "bed/north", "7 ft", &[]);
    let job = job.job();
    let code = Tables::shipped();
    let found = wall_uncovered(&Ctx::new(&job, &code), job.find("bed").unwrap(), &mut Sheet::new()).unwrap();
    assert_eq!(found.span, job.cell(job.find("bed/south").unwrap(), wall::LENGTH).span());
    assert_eq!(found.quantity.dimension(), Dimension::Length);
    assert_eq!(parse("6 ft", Dimension::Length).unwrap().amount(), inches(72));
}
