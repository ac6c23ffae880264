//! Values that nobody has recorded: what follows from them, and what is left open.

use super::world::{World, outcome, try_all};

const NONE: &[(&str, &str)] = &[];

#[test]
fn logic_has_three_values() {
    let known_no = [("clamps", "false"), ("top", "1 in")];
    let known_yes = [("clamps", "true"), ("top", "1 in")];
    try_all(
        "box",
        &[
            ("need box.clamps;", NONE, "open X.clamps"),
            ("need !box.clamps;", NONE, "open X.clamps"),
            ("need !box.clamps;", &known_no, "met"),
            ("need box.clamps && box.wet_rated;", &known_no, "failed"),
            ("need box.wet_rated && box.clamps;", &known_no, "failed"),
            ("need box.clamps && box.wet_rated;", &known_yes, "open X.wet_rated"),
            ("need box.wet_rated && box.clamps;", &known_yes, "open X.wet_rated"),
            ("need box.clamps || box.wet_rated;", &known_yes, "met"),
            ("need box.wet_rated || box.clamps;", &known_yes, "met"),
            ("need box.clamps || box.wet_rated;", &known_no, "open X.wet_rated"),
            ("need box.wet_rated || box.clamps;", &known_no, "open X.wet_rated"),
            ("need box.wet_rated && box.fan_rated && box.clamps;", &known_no, "failed"),
            ("need box.wet_rated || box.fan_rated || box.clamps;", &known_yes, "met"),
            ("need box.wet_rated || box.fan_rated || box.clamps;", &known_no, "open X.fan_rated X.wet_rated"),
            ("need box.bottom < box.top;", &known_no, "open X.bottom"),
            ("need known(box.bottom);", &known_no, "failed"),
            ("need known(box.top) && !known(box.bottom);", &known_no, "met"),
            ("need known(box.room) && !known(box.room.kind);", &[("room", "R")], "failed"),
            ("need box.room.kind in code.gfci.places;", NONE, "open X.room"),
            ("need box.room.kind in code.gfci.places;", &[("room", "R")], "met"),
            ("need box.room.ceiling > box.top;", &[("room", "R"), ("top", "1 in")], "open R.ceiling"),
        ],
    );
}

#[test]
fn what_is_unknown_flows_through_reckoning() {
    let top: &[(&str, &str)] = &[("top", "10 in")];
    try_all(
        "box",
        &[
            ("keep box.top + box.body_height at_most code.reach.high;", top, "open X.body_height"),
            ("keep (box.top - box.body_height) * 2 at_most code.reach.high;", NONE, "open X.top X.body_height"),
            ("keep min(box.top, box.bottom) at_most code.reach.high;", top, "open X.bottom"),
            ("keep max(box.top, box.bottom, box.gap) at_most code.reach.high;", top, "open X.bottom X.gap"),
            ("keep -box.bottom at_most box.top;", top, "open X.bottom"),
            ("let x = box.bottom + box.top; keep x at_most code.reach.high;", top, "open X.bottom"),
            ("keep box.top at_most box.bottom;", top, "open X.bottom"),
            // One bound that is missed decides, whatever the other one is.
            ("keep box.top between code.reach.low and box.bottom;", top, "failed"),
            ("keep box.top between box.bottom and qty(\"9 in\");", top, "failed"),
            ("keep box.top between box.bottom and qty(\"10 in\");", top, "open X.bottom"),
            ("keep box.fixture_wire_size at_least code.wire.smallest;", NONE, "open X.fixture_wire_size"),
            ("keep box.room.kind one_of code.gfci.places;", NONE, "open X.room"),
            ("keep code.height.by_use[box.purpose] at_most box.top;", top, "open X.purpose"),
        ],
    );
}

#[test]
fn every_way_is_gone_behind_a_condition_that_is_not_known() {
    let low = "keep box.top at_least qty(\"5 in\");"; // met
    let high = "keep box.top at_most qty(\"5 in\");"; // failed
    let open = "keep box.bottom at_most qty(\"5 in\");";
    let cases = [
        // All ways the same.
        (format!("if box.clamps {{ {low} }} else {{ {low} }}"), "0 met, 1 met"),
        (format!("if box.clamps {{ {high} }} else {{ {high} }}"), "0 failed"),
        (format!("if box.clamps {{ {low} }} {low}"), "0 met, 1 met"),
        (format!("if box.clamps {{ {high} }} {high}"), "0 open X.clamps, 1 failed"),
        (format!("if box.clamps {{ {low} }} {high}"), "0 open X.clamps, 1 failed"),
        (format!("if box.clamps {{ if box.gangs == 1 {{ skip; }} }} else {{ skip; }} {high} {high}"), "skipped"),
        // Ways that differ.
        (format!("if box.clamps {{ skip; }} {low}"), "open X.clamps"),
        (format!("if box.clamps {{ skip; }} {high}"), "open X.clamps"),
        (format!("if box.clamps {{ {low} }} else {{ {high} }}"), "0 open X.clamps, 1 open X.clamps"),
        (format!("if box.clamps {{ {high} }} {low}"), "0 open X.clamps, 1 met"),
        (format!("{high} if box.clamps {{ skip; }} {low}"), "0 failed, 1 open X.clamps"),
        (format!("{low} if box.clamps {{ skip; }} {low}"), "0 met, 1 met"),
        (format!("{low} if box.clamps {{ skip; }} {high}"), "0 met, 1 open X.clamps"),
        (format!("if box.clamps {{ {open} }} else {{ {low} }}"), "0 open X.bottom X.clamps, 1 open X.clamps"),
        (format!("if box.clamps {{ {open} }} else {{ {open} }}"), "0 open X.bottom X.clamps, 1 open X.bottom X.clamps"),
        // What is blamed: the conditions on the way to a check, and no others.
        (format!("if box.clamps {{ if box.wet_rated {{ skip; }} }} {low}"), "open X.clamps X.wet_rated"),
        (format!("if box.clamps {{ if box.wet_rated {{ skip; }} else {{ skip; }} }} {low}"), "open X.clamps"),
        (
            format!("if box.clamps {{ {high} }} if box.wet_rated {{ {high} }} {low}"),
            "0 open X.clamps, 1 open X.clamps X.wet_rated, 2 met",
        ),
        (
            format!("if box.clamps {{ {high} }} else {{ if box.wet_rated {{ {high} }} else {{ {high} {low} }} }}"),
            "0 failed, 3 open X.clamps X.wet_rated",
        ),
        // A fault on one way only.
        (
            format!("if box.clamps {{ let x = box.top / (box.gangs - 1); keep x at_most qty(\"1 in\"); }} {low}"),
            "0 open X.clamps, 1 open X.clamps",
        ),
        (
            format!(
                "if box.clamps {{ let x = box.top / (box.gangs - 1); keep x at_most qty(\"1 in\"); }} else {{ {low} }}"
            ),
            "0 open X.clamps, 1 open X.clamps",
        ),
        // More conditions than anybody writes.
        (format!("{}{low}", "if box.clamps { if box.gangs == 2 { skip; } }".repeat(20)), "met"),
        (format!("{}{low}", "if box.clamps { skip; }".repeat(20)), "open X.clamps"),
    ];
    let fields: &[(&str, &str)] = &[("top", "10 in"), ("gangs", "1")];
    try_all("box", &cases.iter().map(|(body, says)| (body.as_str(), fields, *says)).collect::<Vec<_>>());
}

#[test]
fn quantifiers_have_three_values() {
    let mut world = World::new();
    let mut wrong = Vec::new();
    for (body, expected) in [
        // D1 gfci yes, D2 gfci unknown (no default here), D3 gfci no.
        ("need any d in box.devices where d.gfci;", "met"),
        ("need any d in box.devices where d.gfci && d.kind == \"switch\";", "open D2.gfci"),
        ("need any d in box.devices where d.kind == \"dimmer\";", "failed"),
        ("need every d in box.devices where d.gfci;", "failed"),
        ("need every d in box.devices where d.gfci || d.kind == \"receptacle\";", "open D2.gfci"),
        ("need every d in box.devices where known(d.kind);", "met"),
        ("keep (count d in box.devices where d.gfci) at_most 2;", "open D2.gfci"),
        ("keep (count d in box.devices) equal_to 3;", "met"),
        ("keep count d in box.devices where d.kind == \"receptacle\" equal_to 2;", "met"),
        ("keep sum d in box.devices of d.contacts at_most 5;", "open D3.contacts"),
        ("keep sum d in box.devices where d.kind == \"switch\" of d.contacts at_most 2;", "met"),
        ("keep sum d in box.devices where d.gfci of d.contacts at_most 2;", "open D2.gfci"),
        ("keep least d in box.devices where known(d.contacts) of d.contacts at_least 1;", "met"),
        ("keep most d in box.devices where known(d.contacts) of d.contacts at_most 1;", "failed"),
        ("keep most d in box.devices where d.kind == \"dimmer\" of d.contacts at_most 1;", "open"),
        ("need any l in box.luminaires where l.enclosed;", "failed"),
        ("need every l in box.luminaires where l.enclosed;", "met"),
        ("keep (count l in box.luminaires) equal_to 0;", "met"),
        ("need any p in code.gfci.places where p == box.room.kind;", "met"),
        ("keep most w in code.widths of w at_most qty(\"2 in\");", "met"),
        ("need any d in box.devices where any e in d.box.devices where e != d && e.contacts == 2;", "met"),
        ("need any d in box.room.devices where d.gfci;", "failed"),
        ("need any d in site.devices where d.gfci;", "failed"),
    ] {
        let rule = world.rule("box", body);
        let mut job = world.job();
        job.add("room", "R", &[("kind", "kitchen")]);
        let item = job.add("box", "B", &[("room", "R")]);
        job.add("device", "D1", &[("kind", "receptacle"), ("gfci", "true"), ("contacts", "2"), ("box", "B")]);
        job.add("device", "D2", &[("kind", "switch"), ("contacts", "1"), ("box", "B")]);
        job.add("device", "D3", &[("kind", "receptacle"), ("gfci", "false"), ("box", "B")]);
        job.set(item, "devices", "D1, D2, D3");
        let job = job.done();
        let found = outcome(&world, &rule, &job, item);
        if found != expected {
            wrong.push((body, found, expected));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_list_that_is_not_recorded_is_not_empty() {
    try_all(
        "circuit",
        &[
            ("need any p in circuit.positions where p == 3;", NONE, "open X.positions"),
            ("need any p in circuit.positions where p == 3;", &[("positions", "1, 3")], "met"),
            ("need 3 in circuit.positions;", &[("positions", "1, 2")], "failed"),
            ("need 3 in circuit.positions;", NONE, "open X.positions"),
            ("keep circuit.poles one_of circuit.positions;", &[("positions", "1, 2"), ("poles", "2")], "met"),
            ("need any p in circuit.positions where p == 3;", &[("positions", "")], "failed"),
        ],
    );
}
