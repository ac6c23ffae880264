//! Rules that can't be decided through no fault of the job, native functions, and books that a rule was not compiled against.

use super::world::{CODE, World, agree, outcome, try_all};
use crate::facts::Facts;
use crate::model::{Cell, Type};
use crate::quantity::{Dimension, Quantity};
use crate::script::{Datum, Verdict};

#[test]
fn what_can_not_be_reckoned_is_a_fault_at_its_expression() {
    let big: &[(&str, &str)] = &[("top", "9000000000 m"), ("gangs", "0")];
    try_all(
        "box",
        &[
            ("keep box.top / box.gangs at_most code.reach.high;", big, "fault: can't divide by zero"),
            ("keep box.gangs / 0 at_most 1;", big, "fault: can't divide by zero"),
            ("keep box.top + box.top at_most code.reach.high;", big, "fault: the result is too large"),
            ("keep -box.top - box.top - box.top at_most code.reach.high;", big, "fault: the result is too large"),
            ("keep box.top * 1000 at_most code.reach.high;", big, "fault: the result is too large"),
            ("keep box.top * 0.5 at_most code.reach.high;", big, "failed"),
            ("keep box.top * box.top at_most box.room.area;", big, "fault: the result is too large"),
            ("need box.gangs / box.gangs == 1;", big, "fault: can't divide by zero"),
            ("need box.gangs == 0 || box.gangs / box.gangs == 1;", big, "met"),
            ("need box.gangs / box.gangs == 1 || code.nm.allowed;", big, "fault: can't divide by zero"),
            ("applies where box.gangs / box.gangs == 1; need code.nm.allowed;", big, "fault: can't divide by zero"),
            (
                "if box.gangs / box.gangs == 1 { look \"x\"; } need code.nm.allowed;",
                big,
                "0 fault: can't divide by zero",
            ),
            (
                "except \"1\" where box.gangs / box.gangs == 1; need code.nm.allowed;",
                big,
                "0 fault: can't divide by zero",
            ),
            ("let x = box.gangs / box.gangs; need x == 1 || code.nm.allowed;", big, "fault: can't divide by zero"),
            (
                "let x = if box.gangs / box.gangs == 1 { 1 } else { 0 }; need x == 1;",
                big,
                "fault: can't divide by zero",
            ),
            ("let x = if box.clamps { 1 / box.gangs } else { 1 }; need x == 1;", big, "fault: can't divide by zero"),
            ("keep distance(-box.top - box.top, box.top) at_most box.top;", big, "fault: the result is too large"),
            ("let x = box.bottom / box.gangs; need x == code.reach.low;", big, "open X.bottom"),
            // A fault of one check leaves the others alone; one of a `let` or `if` ends the rule for this item.
            (
                "need box.gangs / box.gangs == 1; keep box.gangs equal_to 0;",
                big,
                "0 fault: can't divide by zero, 1 met",
            ),
            (
                "keep box.gangs equal_to 0; let x = 1 / box.gangs; keep x at_most 1; need code.nm.allowed;",
                big,
                "0 met, 1 fault: can't divide by zero",
            ),
            ("need any d in code.widths where 1 / box.gangs > 1;", big, "fault: can't divide by zero"),
        ],
    );
}

#[test]
fn a_sum_that_does_not_fit_is_a_fault() {
    let mut world = World::new();
    let rule = world.rule("box", "keep sum d in box.devices of d.from_sink at_most code.reach.high;");
    let mut job = world.job();
    let item = job.add("box", "B", &[]);
    job.add("device", "D1", &[("from_sink", "9000000000 m")]);
    job.add("device", "D2", &[("from_sink", "9000000000 m")]);
    job.set(item, "devices", "D1, D2");
    let job = job.done();
    assert_eq!(outcome(&world, &rule, &job, item), "fault: the sum is too large");
    let details = super::world::look(&world, &rule, &job, item);
    let span = details[0].fault.as_ref().unwrap().span;
    assert_eq!(world.files.text(span), "sum d in box.devices of d.from_sink");
}

#[test]
fn a_fault_points_at_its_expression() {
    let mut world = World::new();
    let rule =
        world.rule("box", "need box.top > qty(\"1 in\"); keep box.top / (box.gangs - 1) at_most code.reach.high;");
    let mut job = world.job();
    let item = job.add("box", "B", &[("top", "2 in"), ("gangs", "1")]);
    let job = job.done();
    let details = super::world::look(&world, &rule, &job, item);
    assert_eq!(details[0].verdict, Verdict::Met);
    let fault = details[1].fault.as_ref().unwrap();
    assert_eq!(world.files.text(fault.span), "box.top / (box.gangs - 1");
}

#[test]
fn one_rule_serves_other_books() {
    let mut world = World::new();
    let rule = world.rule(
        "circuit",
        "keep circuit.rating at_most code.protection.copper[\"12 AWG\"]; \
         keep circuit.rating * code.load.share at_least circuit.rating * 0.75; \
         need circuit.panel.room.kind in code.gfci.places;",
    );
    let stricter = CODE.replace("\"20 A\"", "\"15 A\"").replace("80 %", "70 %").replace("\"kitchen\", ", "");
    // Numbers of entries go by the order in which a shelf reads them: leaving the last one out moves no other.
    let without = CODE.lines().filter(|line| !line.starts_with("protection")).collect::<Vec<_>>().join("\n");
    let others = World::of(&stricter);
    let gone = World::of(
        &without.replace("gfci.places = [\"bathroom\", \"kitchen\", \"garage\"]", "gfci.places = [\"1 in\"]"),
    );
    let mut job = world.job();
    job.add("room", "R", &[("kind", "kitchen")]);
    job.add("panel", "P", &[("room", "R")]);
    let item = job.add("circuit", "1", &[("rating", "20 A"), ("panel", "P")]);
    let job = job.done();
    let facts = Facts::new(&job);
    let verdicts = |book| agree(&rule, &facts, book, item).iter().map(|detail| detail.verdict).collect::<Vec<_>>();
    assert_eq!(verdicts(&world.book), [Verdict::Met, Verdict::Met, Verdict::Met]);
    assert_eq!(verdicts(&others.book), [Verdict::Failed, Verdict::Failed, Verdict::Failed]);
    assert_eq!(verdicts(&gone.book), [Verdict::Fault, Verdict::Met, Verdict::Fault]);
    let faults: Vec<String> = agree(&rule, &facts, &gone.book, item)
        .iter()
        .filter_map(|detail| detail.fault.as_ref().map(|fault| fault.message.clone()))
        .collect();
    assert_eq!(
        faults,
        [
            "`code.protection.copper` is not in force here",
            "`code.gfci.places` is a list (length) here, which the rule was not written for"
        ]
    );
}

#[test]
fn a_rule_compiled_after_the_job_was_read_knows_its_words() {
    let mut world = World::new();
    let mut job = world.job();
    let item = job.add("circuit", "1", &[("label", "kitchen counter, west"), ("serves", "small_appliance")]);
    let job = job.done();
    let rule = world
        .rule("circuit", "need circuit.label == \"kitchen counter, west\" && circuit.serves == \"small_appliance\";");
    assert_eq!(outcome(&world, &rule, &job, item), "met");
    let rule = world.rule("circuit", "need circuit.label != \"kitchen counter, east\";");
    assert_eq!(outcome(&world, &rule, &job, item), "met");
}

#[test]
fn native_functions_take_and_give_typed_values() {
    let mut world = World::new();
    let length = || Type::Quantity(Dimension::Length);
    world
        .compiler
        .native("twice", &[length()], length(), |call| match call.arguments {
            [Datum::Quantity(amount)] => Ok(amount.add(*amount).ok().map(Datum::Quantity)),
            _ => Err("no length".into()),
        })
        .unwrap();
    world
        .compiler
        .native("panel_of", &[Type::Item("circuit")], Type::Item("panel"), |call| match call.arguments {
            [Datum::Item(circuit)] => {
                let job = call.facts.job();
                let field = job.schema.field(job.item(*circuit).kind, "panel").ok_or("no panel")?;
                Ok(job.link(*circuit, field).map(Datum::Item))
            }
            _ => Err("no circuit".into()),
        })
        .unwrap();
    world.compiler.native("broken", &[], Type::Flag, |_| panic!("on purpose")).unwrap();
    world.compiler.native("liar", &[], Type::Flag, |_| Ok(Some(Datum::Quantity(Quantity::number(1))))).unwrap();
    world.compiler.native("refuses", &[length()], length(), |_| Err("not for this".into())).unwrap();
    assert_eq!(
        world.compiler.native("twice", &[], Type::Flag, |_| Ok(None)).unwrap_err().0,
        "there is already a function `twice`"
    );
    for name in ["keep", "known", "eval", "2x", "a b", ""] {
        assert!(world.compiler.native(name, &[], Type::Flag, |_| Ok(None)).is_err(), "{name}");
    }
    assert!(world.compiler.native("words", &[], Type::Word(&["a"]), |_| Ok(None)).is_err());

    for (body, expected) in [
        ("keep twice(device.from_sink) at_most qty(\"20 in\");", "met"),
        ("keep twice(device.from_sink) + twice(device.from_sink) at_most qty(\"20 in\");", "failed"),
        ("keep twice(device.from_tub) at_most qty(\"20 in\");", "open X.from_tub"),
        ("keep panel_of(device.circuit) equal_to device.circuit.panel;", "open"),
        ("need broken();", "fault: the function `broken` failed"),
        ("need liar();", "fault: the function `liar` gave something else than it was registered for"),
        ("keep refuses(device.from_sink) at_most qty(\"20 in\");", "fault: not for this"),
        ("keep refuses(device.from_tub) at_most qty(\"20 in\");", "open X.from_tub"),
    ] {
        let rule = world.rule("device", body);
        let mut job = world.job();
        job.add("circuit", "1", &[]);
        let item = job.add("device", "X", &[("from_sink", "10 in"), ("circuit", "1")]);
        let job = job.done();
        let found = outcome(&world, &rule, &job, item).replace(" 1.panel", "");
        assert_eq!(found, expected, "{body}");
    }
    for (body, message, at) in [
        (
            "keep twice(device.gfci) at_most qty(\"1 in\");",
            "`twice` takes a length here, found a yes or no",
            "device.gfci",
        ),
        ("keep twice() at_most qty(\"1 in\");", "`twice` takes one value, found 0", "twice()"),
        ("need twise(device.from_sink) == qty(\"1 in\");", "there is no function `twise`", "twise"),
        ("need twice(device.from_sink);", "a condition is due here, found a length", "twice(device.from_sink)"),
    ] {
        let problems = world.try_rule("device", body).unwrap_err();
        assert_eq!((problems[0].message.as_str(), world.files.text(problems[0].span)), (message, at));
    }
}

#[test]
fn a_derived_field_names_what_it_is_computed_from() {
    let mut world = World::new();
    let rule = world.rule("box", "keep box.fill at_most box.capacity;");
    let mut job = world.job();
    let item = job.add("box", "B", &[("capacity", "18 in3")]);
    let job = job.done();
    let kind = job.item(item).kind;
    let field = |name: &str| world.schema.field(kind, name).unwrap();
    let mut facts = Facts::new(&job);
    facts.set_missing(item, field("fill"), vec![(item, field("fixture_wire_size")), (item, field("clamps"))]);
    let details = agree(&rule, &facts, &world.book, item);
    assert_eq!(super::world::missing(&job, &details[0]), ["B.clamps", "B.fixture_wire_size"]);
    assert_eq!(rule.fields(), [(kind, field("capacity")), (kind, field("fill"))]);
    facts.set(item, field("fill"), Cell::raw(1, crate::source::Span::DEFAULT));
    let details = agree(&rule, &facts, &world.book, item);
    assert_eq!(details[0].verdict, Verdict::Met);
}
