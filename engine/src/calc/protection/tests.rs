use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Correction, Ctx};
use crate::model::Job;
use crate::quantity::parse;
use crate::source::Span;

fn q(text: &str, dimension: Dimension) -> Quantity {
    parse(text, dimension).unwrap()
}

fn amps(text: &str) -> Quantity {
    q(text, Dimension::Current)
}

fn size(text: &str) -> Traced {
    Traced { quantity: q(text, Dimension::Conductor), span: Span::new(9, 1) }
}

fn degrees(text: &str) -> Traced {
    Traced { quantity: q(text, Dimension::Temperature), span: Span::NONE }
}

fn breaker(ampacity: &str, of: &str, several: bool) -> Result<Quantity, Problem> {
    largest_breaker(amps(ampacity), "copper", size(of), several, &Tables::shipped(), &mut Sheet::new())
}

#[test]
fn the_next_standard_rating_will_do_unless_the_circuit_feeds_several_receptacles() {
    assert_eq!(breaker("47.8 A", "6 AWG", false), Ok(amps("50 A")));
    assert_eq!(breaker("47.8 A", "6 AWG", true), Ok(amps("45 A")));
    assert_eq!(breaker("50 A", "6 AWG", false), Ok(amps("50 A")));
    assert_eq!(breaker("18.24 A", "12 AWG", true), Ok(amps("15 A")));
}

#[test]
fn small_conductors_have_limits_of_their_own() {
    assert_eq!(breaker("25 A", "14 AWG", false), Ok(amps("15 A")));
    assert_eq!(breaker("30 A", "12 AWG", false), Ok(amps("20 A")));
    assert_eq!(breaker("40 A", "10 AWG", false), Ok(amps("30 A")));
    assert_eq!(breaker("55 A", "8 AWG", false), Ok(amps("60 A")));
    let code = Tables::shipped();
    let of = |material| small_conductor_limit(material, size("10 AWG"), &code).unwrap().map(|limit| limit.quantity);
    assert_eq!(of("copper_clad_aluminum"), Some(amps("25 A")));
}

#[test]
fn an_ampacity_below_every_rating_is_a_fault_at_the_conductor() {
    let fault = breaker("9 A", "14 AWG", true).unwrap_err();
    assert_eq!(fault.message, "no standard breaker is small enough for an ampacity of 9 A");
    assert_eq!(fault.span, Span::new(9, 1));
}

fn run<'a>(insulation: &str, ambient: &str, count: i64, terminals: &str) -> Run<'a> {
    Run {
        material: "copper",
        size: size("14 AWG"),
        insulation: degrees(insulation),
        ambient: degrees(ambient),
        current_carrying: count,
        method_limit: None,
        terminals: Some(degrees(terminals)),
        correction: Correction::Table,
    }
}

#[test]
fn a_continuous_load_is_enlarged_before_any_factor_and_carried_plain_after_all() {
    let code = Tables::shipped();
    let load = |continuous: &str, other: &str| CircuitLoad {
        continuous: amps(continuous),
        other: amps(other),
        largest_motor: amps("0 A"),
    };
    let of = |load: CircuitLoad, run: Run<'_>| conductor_for(&load, &run, false, &code, &mut Sheet::new()).unwrap();
    let chosen = of(load("16 A", "0 A"), run("90 degC", "30 degC", 3, "60 degC")).unwrap();
    assert_eq!((chosen.size, chosen.breaker), (q("12 AWG", Dimension::Conductor), amps("20 A")));
    let chosen = of(load("16 A", "4 A"), run("90 degC", "30 degC", 3, "60 degC")).unwrap();
    assert_eq!((chosen.size, chosen.breaker), (q("10 AWG", Dimension::Conductor), amps("25 A")));
    // The breaker of 45 A for 40 A continuous asks for 50 A at the terminals; eight together and 40 °C for 40 A derated.
    let chosen = of(load("0 A", "40 A"), run("90 degC", "40 degC", 8, "60 degC")).unwrap();
    assert_eq!(chosen.size, q("6 AWG", Dimension::Conductor));
    assert_eq!(chosen.ampacity.derated, amps("47.775 A"));
    assert_eq!(of(load("0 A", "900 A"), run("90 degC", "30 degC", 3, "75 degC")), None);
}

#[test]
fn the_ground_follows_the_breaker_and_grows_with_the_other_conductors() {
    let code = Tables::shipped();
    let ground = |breaker: &str| {
        let breaker = Traced { quantity: amps(breaker), span: Span::NONE };
        equipment_ground(breaker, "copper", &code).map(|known| known.quantity)
    };
    assert_eq!(ground("20 A"), Ok(q("12 AWG", Dimension::Conductor)));
    assert_eq!(ground("40 A"), Ok(q("10 AWG", Dimension::Conductor)));
    assert!(ground("5000 A").is_err());
    let grown = |own: &str, needed: &str, used: &str| {
        let own = q(own, Dimension::Conductor);
        enlarged_ground(own, size(needed), size(used), "copper", &code, &mut Sheet::new()).unwrap()
    };
    // 20 A run with 8 AWG instead of 12 AWG: the 12 AWG ground grows to 8 AWG.
    assert_eq!(grown("12 AWG", "12 AWG", "8 AWG"), q("8 AWG", Dimension::Conductor));
    // 40 A with 4 AWG instead of 8 AWG: 10 AWG × 2.53 is more than 8 AWG... 6 AWG.
    assert_eq!(grown("10 AWG", "8 AWG", "4 AWG"), q("6 AWG", Dimension::Conductor));
    assert_eq!(grown("10 AWG", "8 AWG", "8 AWG"), q("10 AWG", Dimension::Conductor));
}

#[test]
fn the_largest_motor_is_enlarged_like_a_continuous_load() {
    let code = Tables::shipped();
    let load = CircuitLoad { continuous: amps("0 A"), other: amps("20 A"), largest_motor: amps("16 A") };
    assert_eq!(load.enlarged(&code, &mut Sheet::new()), Ok(amps("24 A")));
}

/// A 20 A circuit with one cable to a box with receptacles.
fn cable(make: &str, receptacles: &[&str], fields: &[(&str, &str)]) -> (Job, Tables) {
    let mut job = Fixture::new();
    job.item("panel", "P1", &[]);
    job.item("circuit", "1", &[("rating", "20 A")]);
    job.item("box", "B1", &[]);
    let mut all = vec![
        ("circuit", "1"),
        ("material", "copper"),
        ("wiring_method", "NM"),
        ("ambient", "30 degC"),
        ("bundled_with", "0"),
    ];
    all.extend_from_slice(fields);
    job.cable("C1", make, "P1", "B1", &all);
    for (at, contacts) in receptacles.iter().enumerate() {
        let id = format!("R{at}");
        job.item("device", &id, &[("kind", "receptacle"), ("circuit", "1"), ("box", "B1"), ("contacts", contacts)]);
    }
    (job.job(), Tables::shipped())
}

#[test]
fn the_breaker_of_a_cable_minds_what_its_circuit_feeds() {
    let breaker = |make: &str, receptacles: &[&str], fields: &[(&str, &str)]| {
        let (job, code) = cable(make, receptacles, fields);
        let ctx = Ctx::new(&job, &code);
        breaker_of_cable(&ctx, job.find("C1").unwrap(), &mut Sheet::new()).unwrap().quantity
    };
    assert_eq!(breaker("12/2", &["2"], &[]), amps("20 A"));
    // Five cables together at 40 °C: 30 A × 0.91 × 0.5 = 13.65 A.
    let hot = [("ambient", "40 degC"), ("bundled_with", "4"), ("bundle_length", "3 ft")];
    assert_eq!(breaker("12/2", &["1"], &hot), amps("15 A"));
    // 8 AWG for a single receptacle: 40 A by the column of the cable; the next standard rating is its own.
    assert_eq!(breaker("8/2", &["1"], &[]), amps("40 A"));
    // 40 A × 0.76 = 30.4 A, past the column of the cable.
    let warm = [("ambient", "55 degC")];
    assert_eq!(breaker("10/2", &["1"], &warm), amps("30 A"));
    let warmer = [("ambient", "55 degC"), ("bundled_with", "1"), ("bundle_length", "3 ft")];
    // 40 A × 0.76 × 0.8 = 24.32 A.
    assert_eq!(breaker("10/2", &["1"], &warmer), amps("25 A"));
    assert_eq!(breaker("10/2", &["2"], &warmer), amps("20 A"));
}

#[test]
fn the_ground_of_a_cable_grows_with_conductors_that_are_larger_than_needed() {
    let ground = |make: &str, fields: &[(&str, &str)], edition: &str| {
        let (job, code) = cable(make, &["2"], fields);
        let code = code.with(edition);
        let ctx = Ctx::new(&job, &code);
        ground_of_cable(&ctx, job.find("C1").unwrap(), &mut Sheet::new()).unwrap().quantity
    };
    let awg = |text: &str| q(text, Dimension::Conductor);
    assert_eq!(ground("12/2", &[], ""), awg("12 AWG"));
    assert_eq!(ground("8/2", &[], ""), awg("8 AWG"));
    // 10 AWG where the heat asks for it: an edition that excuses it keeps the ground of the breaker.
    let hot = [("ambient", "45 degC"), ("bundled_with", "3"), ("bundle_length", "3 ft")];
    assert_eq!(ground("10/2", &hot, ""), awg("12 AWG"));
    let strict = "[protection.egc_upsized_for_derating]\nvalue = true";
    assert_eq!(ground("10/2", &hot, strict), awg("10 AWG"));
}
