//! What rules say of items.

use super::world::{World, look, missing, verdicts};
use crate::quantity::{Dimension, Quantity, UnitSystem};
use crate::script::reckon::scale;
use crate::script::{OperandSource, Shown, Verb, Verdict};

use Verdict::{Failed, Fault, Met, Open};

const STAPLE: &str = r#"
    applies where end.is_at_box && end.cable.wiring_method == "NM";
    keep end.first_support at_most code.nm.secured_from_box else "add a staple";
"#;

#[test]
fn a_limit_is_kept_missed_left_open_or_does_not_apply() {
    let mut world = World::new();
    let rule = world.rule("cable_end", STAPLE);
    let mut job = world.job();
    job.add("cable", "C1", &[("wiring_method", "NM")]);
    job.add("cable", "C2", &[("wiring_method", "MC")]);
    let at = |job: &mut super::world::JobMaker, id, cable, fields: &[(&str, &str)]| {
        job.add("cable_end", id, &[&[("cable", cable), ("is_at_box", "true")], fields].concat())
    };
    let good = at(&mut job, "good", "C1", &[("first_support", "12 in")]);
    let bad = at(&mut job, "bad", "C1", &[("first_support", "13 1/2 in")]);
    let open = at(&mut job, "open", "C1", &[]);
    let other = at(&mut job, "other", "C2", &[]);
    let panel = job.add("cable_end", "panel", &[("cable", "C1"), ("is_at_box", "false")]);
    let job = job.done();

    assert_eq!(verdicts(&world, &rule, &job, good), [(0, Met)]);
    assert_eq!(verdicts(&world, &rule, &job, bad), [(0, Failed)]);
    assert_eq!(verdicts(&world, &rule, &job, open), [(0, Open)]);
    assert_eq!(verdicts(&world, &rule, &job, other), []);
    assert_eq!(verdicts(&world, &rule, &job, panel), []);

    let details = look(&world, &rule, &job, bad);
    let detail = &details[0];
    assert_eq!(detail.verb, Verb::AtMost);
    assert_eq!(detail.margin.map(|margin| margin.print(UnitSystem::Customary)).as_deref(), Some("-1 1/2 in"));
    assert_eq!(detail.fix.as_deref(), Some("add a staple"));
    let found = detail.found.as_ref().unwrap();
    assert!(matches!(found.value, Shown::Quantity(q) if q.print(UnitSystem::Customary) == "13 1/2 in"));
    let field = world.schema.field(job.item(bad).kind, "first_support").unwrap();
    assert_eq!(found.sources, [OperandSource::Field(bad, field)]);
    let entry = world.book.id("nm.secured_from_box").unwrap();
    assert_eq!(detail.allowed[0].sources, [OperandSource::Entry(entry, None)]);
    assert!(world.files.text(detail.span).starts_with("keep end.first_support"));
    assert!(world.files.text(detail.span).ends_with("\"add a staple\""));

    assert_eq!(missing(&job, &look(&world, &rule, &job, open)[0]), ["open.first_support"]);
}

#[test]
fn a_row_that_is_not_there_is_a_fault_of_that_item_only() {
    let mut world = World::new();
    let rule = world.rule("circuit", "keep circuit.rating at_most code.protection.copper[circuit.smallest_conductor];");
    let mut job = world.job();
    let twelve = job.add("circuit", "1", &[("rating", "20 A"), ("smallest_conductor", "12 AWG")]);
    let eleven = job.add("circuit", "2", &[("rating", "20 A"), ("smallest_conductor", "11 AWG")]);
    let open = job.add("circuit", "3", &[("rating", "20 A")]);
    let job = job.done();
    assert_eq!(verdicts(&world, &rule, &job, twelve), [(0, Met)]);
    assert_eq!(verdicts(&world, &rule, &job, open), [(0, Open)]);
    let details = look(&world, &rule, &job, eleven);
    assert_eq!(details[0].verdict, Fault);
    let fault = details[0].fault.as_ref().unwrap();
    assert_eq!(fault.message, "no row for `11 AWG` in `protection.copper`");
    assert_eq!(world.files.text(fault.span), "code.protection.copper[circuit.smallest_conductor]");
}

#[test]
fn words_of_the_language_are_names_behind_a_dot() {
    // Entries can't be named so, the book refuses them; fields can.
    let mut world = World::new();
    let permission =
        world.rule("permission", "need permission.rule != \"keep\" && permission.until > qty(\"2025-01-01\");");
    let mut job = world.job();
    let item = job.add("permission", "p", &[("rule", "nm-secured-at-box"), ("until", "2026-01-01")]);
    let job = job.done();
    assert_eq!(verdicts(&world, &permission, &job, item), [(0, Met)]);
}

/// The shorter way to a product with a literal rounds as quantities do: a half to the even one.
#[test]
fn a_literal_factor_rounds_as_quantities_do() {
    let one = Quantity::number(1).amount();
    for (by, over) in [(1, 2), (-1, 2), (5, 4), (3, 2), (1, 8), (-7, 8), (1, 5)] {
        let factor = Quantity::new(Dimension::Number, one / over * by);
        for amount in -50..=50 {
            let exact = Quantity::new(Dimension::Length, amount).mul(factor).unwrap();
            assert_eq!(scale(amount, by, over), Some(exact.amount()), "{amount} * {by}/{over}");
        }
    }
    assert_eq!(scale(i64::MAX, 5, 4), None);
}
