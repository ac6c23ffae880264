//! Values that nobody has recorded: what follows from them, and what is left open.

use super::world::{World, look, outcome, try_all};

/// A rule, what is recorded of the item, the outcome, and what is presumed.
type Case<'a> = (String, &'a [(&'a str, &'a str)], &'a str, &'a [&'a str]);

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
        (format!("applies where box.clamps && box.gangs != 1; {high} {high}"), "skipped"),
        (format!("applies where box.clamps; applies where box.gangs != 1; {high} {high}"), "skipped"),
        // An exception that nobody can tell changes nothing where all is met without it.
        (format!("except \"1\" where box.clamps; {low}"), "1 met"),
        (format!("except \"1\" where box.clamps; {high}"), "1 open X.clamps"),
        (format!("except \"1\" where box.clamps; {open}"), "1 open X.bottom X.clamps"),
        (format!("except \"1\" where box.gangs == 1; {high}"), "0 excepted"),
        (format!("except \"1\" where box.clamps; except \"2\" where box.gangs == 1; {high}"), "1 excepted"),
        (format!("applies where box.clamps; except \"1\" where box.gangs == 1; {high}"), "0 excepted"),
        (format!("applies where box.clamps; except \"1\" where box.gangs == 2; {low}"), "1 open X.clamps"),
        (format!("except \"1\" named \"a\" from \"2020-01-01\" where box.gangs == 1; {high}"), "0 excepted"),
        (format!("except \"1\" named \"a\" from \"2027-01-01\" where box.gangs == 1; {high}"), "1 failed"),
        (format!("except \"1\" until \"2020-01-01\" where box.gangs == 1; {high}"), "1 failed"),
        // Ways that differ.
        (format!("applies where !box.clamps; {low}"), "open X.clamps"),
        (format!("applies where !box.clamps; {high}"), "open X.clamps"),
        (format!("if box.clamps {{ {low} }} else {{ {high} }}"), "0 open X.clamps, 1 open X.clamps"),
        (format!("if box.clamps {{ {high} }} {low}"), "0 open X.clamps, 1 met"),
        (format!("{high} if !box.clamps {{ {low} }}"), "0 failed, 1 open X.clamps"),
        (format!("{low} if !box.clamps {{ {low} }}"), "0 met, 1 met"),
        (format!("{low} if !box.clamps {{ {high} }}"), "0 met, 1 open X.clamps"),
        (format!("if box.clamps {{ {open} }} else {{ {low} }}"), "0 open X.bottom X.clamps, 1 open X.clamps"),
        (format!("if box.clamps {{ {open} }} else {{ {open} }}"), "0 open X.bottom X.clamps, 1 open X.bottom X.clamps"),
        // What is blamed: the conditions on the way to a check, and no others.
        (format!("applies where !(box.clamps && box.wet_rated); {low}"), "open X.clamps X.wet_rated"),
        (format!("applies where box.clamps; applies where box.wet_rated; {low}"), "open X.clamps X.wet_rated"),
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
        (format!("{}{low}", "applies where !(box.clamps && box.gangs == 2);".repeat(20)), "met"),
        (format!("{}{low}", "applies where box.clamps;".repeat(20)), "open X.clamps"),
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
        ("need any d in box.devices;", "met"),
        ("need any l in box.luminaires;", "failed"),
        ("keep (count d in box.devices where d.gfci) at_most 2;", "open D2.gfci"),
        ("keep (count d in box.devices) equal_to 3;", "met"),
        ("keep count d in box.devices where d.kind == \"receptacle\" equal_to 2;", "met"),
        ("keep sum d in box.devices of d.contacts at_most 5;", "open D3.contacts"),
        ("keep sum d in box.devices where d.kind == \"switch\" of d.contacts at_most 2;", "met"),
        ("keep sum d in box.devices where d.gfci of d.contacts at_most 2;", "open D2.gfci"),
        ("keep (least d in box.devices where d.kind == \"switch\" of d.contacts or fail) at_least 1;", "met"),
        (
            "keep (most d in box.devices where d.kind == \"receptacle\" of d.contacts or fail) at_most 1;",
            "open D3.contacts",
        ),
        ("keep (most d in box.devices where d.kind == \"dimmer\" of d.contacts or fail) at_most 1;", "failed"),
        ("keep (most d in box.devices where d.kind == \"dimmer\" of d.contacts or met) at_most 1;", "met"),
        (
            "keep (most d in box.devices where d.kind == \"dimmer\" of d.contacts or code.load.twice) at_most 1;",
            "failed",
        ),
        ("need (most d in box.devices where d.kind == \"dimmer\" of d.contacts or met) < 1;", "met"),
        ("need (most d in box.devices where d.kind == \"dimmer\" of d.contacts or fail) < 1;", "failed"),
        ("keep (sum d in box.devices where d.kind == \"dimmer\" of d.contacts or fail) at_least 0;", "failed"),
        (
            "keep (nearest d in box.devices where d.kind == \"switch\" of distance(d.contacts, 3) or fail) equal_to 2;",
            "met",
        ),
        (
            "keep (farthest d in box.devices where d.kind == \"switch\" of distance(3, d.contacts) or fail) at_most 1;",
            "failed",
        ),
        ("keep (distinct d in box.devices of d.kind) equal_to 2;", "met"),
        ("keep (distinct d in box.devices where d.gfci of d.kind) equal_to 1;", "open D2.gfci"),
        ("keep (distinct l in box.luminaires of l.enclosed) equal_to 0;", "met"),
        ("need any l in box.luminaires where l.enclosed;", "failed"),
        ("need every l in box.luminaires where l.enclosed;", "met"),
        ("keep (count l in box.luminaires) equal_to 0;", "met"),
        ("need any p in code.gfci.places where p == box.room.kind;", "met"),
        ("keep (most w in code.widths of w or fail) at_most qty(\"2 in\");", "met"),
        ("need any d in box.devices where any e in d.box.devices where e != d && e.contacts == 2;", "met"),
        ("need any d in box.room.devices where d.gfci;", "open D1.room"),
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
fn what_is_recorded_as_not_there_is_apart_from_what_is_not_recorded() {
    let nowhere: &[(&str, &str)] = &[("room", "none"), ("top", "10 in")];
    try_all(
        "box",
        &[
            ("need box.room == none;", NONE, "open X.room"),
            ("need box.room == none;", nowhere, "met"),
            ("need box.room == none;", &[("room", "R")], "failed"),
            ("need box.room != none;", nowhere, "failed"),
            ("need box.room.kind == \"kitchen\";", nowhere, "failed"),
            ("need box.room.kind != \"kitchen\";", nowhere, "met"),
            ("need box.room.ceiling > box.top;", nowhere, "failed"),
            ("need !(box.room.ceiling > box.top);", nowhere, "met"),
            ("need box.room.kind in code.gfci.places;", nowhere, "failed"),
            ("need box.room.kind !in code.gfci.places;", nowhere, "met"),
            ("need any d in box.room.devices;", nowhere, "failed"),
            ("keep box.room.ceiling at_least box.top;", nowhere, "skipped"),
            ("keep box.room.ceiling + box.top at_least box.top;", nowhere, "skipped"),
            ("keep box.top between code.reach.low and box.room.ceiling;", nowhere, "skipped"),
            ("keep box.room.kind one_of code.gfci.places;", nowhere, "skipped"),
            ("keep box.room.kind equal_to \"kitchen\";", nowhere, "skipped"),
            ("let r = box.room; keep r.ceiling at_least box.top;", nowhere, "skipped"),
            // What is not recorded counts for more than what is not there.
            ("keep box.room.ceiling at_least box.bottom;", nowhere, "open X.bottom"),
        ],
    );
}

#[test]
fn a_value_by_a_condition() {
    let value = "let x = if box.clamps { code.reach.low } else { code.reach.high }; keep box.top at_most x;";
    let same = "let x = if box.clamps { box.gap } else { box.gap }; keep box.top at_most x;";
    let three = "let x = if box.clamps { 1 } else if box.wet_rated { 2 } else { 3 }; keep box.gangs at_most x;";
    try_all(
        "box",
        &[
            (value, &[("clamps", "true"), ("top", "20 in")], "failed"),
            (value, &[("clamps", "false"), ("top", "20 in")], "met"),
            (value, &[("top", "20 in")], "open X.clamps"),
            (same, &[("gap", "20 in"), ("top", "20 in")], "met"),
            (three, &[("clamps", "false"), ("wet_rated", "true"), ("gangs", "3")], "failed"),
            (three, &[("clamps", "false"), ("wet_rated", "false"), ("gangs", "3")], "met"),
            (three, &[("clamps", "false"), ("gangs", "3")], "open X.wet_rated"),
        ],
    );
}

/// What rests on a presumption: the outcome, and the presumptions that each verdict lists.
#[test]
fn what_is_presumed_holds_where_nothing_is_recorded_and_is_listed() {
    let clamps = "presume box.clamps is true because \"common practice, no source\";";
    let presumes = |more: &str| format!("{clamps} {more}");
    let fields: &[(&str, &str)] = &[("top", "10 in")];
    let none: &[&str] = &[];
    let cases: Vec<Case<'_>> = vec![
        (presumes("need box.clamps;"), fields, "0 met", &["clamps"]),
        (presumes("need box.clamps;"), &[("clamps", "false")], "0 failed", none),
        (presumes("need !box.clamps;"), fields, "0 failed", &["clamps"]),
        // Out of scope by the presumption alone: told, not passed over.
        (presumes("applies where !box.clamps; need box.wet_rated;"), fields, "1 excepted", &["clamps"]),
        (presumes("applies where !box.clamps; need box.wet_rated;"), &[("clamps", "true")], "skipped", none),
        (presumes("except \"1\" where box.clamps; need box.wet_rated;"), fields, "0 excepted", &["clamps"]),
        (presumes("need box.wet_rated; need box.clamps;"), fields, "0 open X.wet_rated, 1 met", &["clamps"]),
        (
            presumes("if box.wet_rated { need box.clamps; } else { keep box.top at_least qty(\"1 in\"); }"),
            fields,
            "0 met, 1 met",
            &["clamps"],
        ),
        (
            String::from("presume box.bottom is box.top because \"x\"; keep box.bottom at_most qty(\"9 in\");"),
            fields,
            "0 failed",
            &["bottom"],
        ),
        (
            String::from("presume box.bottom is code.reach.low because \"x\"; keep box.bottom at_most box.top;"),
            fields,
            "0 failed",
            &["bottom"],
        ),
        (
            String::from("presume box.room.kind is \"kitchen\" because \"x\"; need box.room.kind == \"bath\";"),
            fields,
            "0 open X.room",
            none,
        ),
        (String::from("presume box.room is none because \"x\"; need box.room == none;"), fields, "0 met", &["room"]),
    ];
    for (body, fields, expected, listed) in cases {
        let mut world = World::new();
        let body = body.replace("\"bath\"", "\"bathroom\"");
        let rule = world.rule("box", &body);
        let mut job = world.job();
        let item = job.add("box", "X", fields);
        let job = job.done();
        assert_eq!(outcome(&world, &rule, &job, item), expected, "{body}");
        let details = look(&world, &rule, &job, item);
        let mut names: Vec<&str> = details
            .iter()
            .flat_map(|detail| &detail.presumed)
            .map(|&(_, item, field)| job.schema.field_spec(job.item(item).kind, field).name)
            .collect();
        names.dedup();
        assert_eq!(names, listed, "{body}");
    }
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
