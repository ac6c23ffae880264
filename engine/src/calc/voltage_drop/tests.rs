use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap, Sheet};
use crate::model::Job;
use crate::model::kinds::{cable, circuit};
use crate::quantity::parse;

fn q(text: &str, dimension: Dimension) -> Quantity {
    parse(text, dimension).unwrap()
}

fn ohms(text: &str) -> Quantity {
    q(text, Dimension::Resistance)
}

fn amps(text: &str) -> Quantity {
    q(text, Dimension::Current)
}

fn section(from: Option<usize>, resistance: &str) -> Section {
    Section { from, hot: ohms(resistance), neutral: ohms(resistance) }
}

fn load(at: usize, legs: Legs, current: &str) -> Load {
    Load { at, legs, current: amps(current) }
}

#[test]
fn a_two_wire_branch_drops_there_and_back_by_what_flows_past_each_section() {
    // 10 A at the first point and 5 A at the second: 2 × 0.1 Ω × 15 A, then 2 × 0.2 Ω × 5 A.
    let sections = [section(None, "0.1 ohm"), section(Some(0), "0.2 ohm")];
    let loads = [load(0, Legs::First, "10 A"), load(1, Legs::First, "5 A")];
    let drops = voltage_drops(&sections, &loads).unwrap();
    assert_eq!(drops[0].first, q("3 V", Dimension::Voltage));
    assert_eq!(drops[1].first, q("5 V", Dimension::Voltage));
}

#[test]
fn balanced_legs_leave_the_neutral_without_current() {
    let sections = [section(None, "0.1 ohm")];
    let loads = [load(0, Legs::First, "10 A"), load(0, Legs::Second, "10 A")];
    let drop = voltage_drops(&sections, &loads).unwrap()[0];
    assert_eq!(
        (drop.first, drop.second, drop.both),
        (q("1 V", Dimension::Voltage), q("1 V", Dimension::Voltage), q("2 V", Dimension::Voltage))
    );
}

#[test]
fn one_leg_alone_lifts_the_other() {
    let drop = voltage_drops(&[section(None, "0.1 ohm")], &[load(0, Legs::First, "10 A")]).unwrap()[0];
    assert_eq!((drop.first, drop.second), (q("2 V", Dimension::Voltage), q("-1 V", Dimension::Voltage)));
    let both = voltage_drops(&[section(None, "0.1 ohm")], &[load(0, Legs::Both, "10 A")]).unwrap()[0];
    assert_eq!(both.both, q("2 V", Dimension::Voltage));
}

#[test]
fn sections_out_of_order_and_loads_nowhere_are_told_apart() {
    assert_eq!(voltage_drops(&[section(Some(0), "1 ohm")], &[]), Err(BranchError::NoSuchSection(0)));
    assert_eq!(
        voltage_drops(&[section(None, "1 ohm")], &[load(1, Legs::First, "1 A")]),
        Err(BranchError::NoSuchPoint(1))
    );
}

#[test]
fn table_and_metal_agree_within_the_rounding_of_the_table() {
    let code = Tables::shipped();
    let book: &dyn Code = &code;
    let at = q("75 degC", Dimension::Temperature);
    for (material, made, within) in
        [("copper", "solid", 6), ("copper", "stranded", 6), ("aluminum", "solid", 10), ("aluminum", "stranded", 10)]
    {
        let key = format!("conductor.{material}_{made}");
        let rows = book.table(&key, Dimension::Conductor, Dimension::ResistancePerLength).unwrap();
        assert!(!rows.is_empty());
        for (size, row) in rows {
            let size = Traced { quantity: size, span: Span::NONE };
            let wire = Wire { material, size, stranded: made == "stranded", temperature: at };
            let by_metal = resistance(&wire, Basis::Metal, book).unwrap().amount();
            let apart = (by_metal - row.amount()).abs() * 1000 / row.amount();
            assert!(
                apart < within,
                "{material} {made} {}: {by_metal} against {}",
                super::super::shown(size.quantity),
                row.amount()
            );
        }
    }
}

/// A 20 A circuit: 12/2 for 40 ft to B1 and 14/2 for 30 ft on to B2, with a luminaire of 600 VA at B1 and 900 VA at B2.
fn branch() -> Fixture {
    let mut job = Fixture::new();
    let site = job.find("site");
    job.set(site, "line_to_neutral", "120 V");
    job.item("panel", "P1", &[]);
    job.item("circuit", "1", &[("panel", "P1"), ("rating", "15 A")]);
    for id in ["B1", "B2"] {
        job.item("box", id, &[]);
    }
    let fields = |length: &'static str| [("circuit", "1"), ("material", "copper"), ("length", length)];
    job.cable("C1", "12/2", "P1", "B1", &fields("40 ft"));
    job.cable("C2", "14/2", "B2", "B1", &fields("30 ft"));
    job.item("luminaire", "L1", &[("kind", "surface"), ("box", "B1"), ("circuit", "1"), ("load", "600 VA")]);
    job.item("luminaire", "L2", &[("kind", "surface"), ("box", "B2"), ("circuit", "1"), ("load", "900 VA")]);
    job
}

fn drop_of(job: &Job) -> Result<BranchDrop, Gap> {
    let code = Tables::shipped();
    let ctx = Ctx::new(job, &code);
    drop_of_circuit(&ctx, job.find("1").unwrap(), &mut Sheet::new())
}

#[test]
fn a_circuit_of_a_job_is_walked_from_its_panel() {
    let job = branch().job();
    let found = drop_of(&job).unwrap();
    // 12.5 A through 40 ft of 12 AWG, then 7.5 A through 30 ft of 14 AWG.
    let volts: Vec<f64> = found.points.iter().map(|point| point.volts.amount() as f64 / 1e6).collect();
    let first = 2.0 * 1.93 * 0.04 * 12.5;
    let second = first + 2.0 * 3.07 * 0.03 * 7.5;
    assert!((volts[0] - first).abs() < 1e-5 && (volts[1] - second).abs() < 1e-5, "{volts:?}");
    let worst = found.worst().unwrap();
    assert_eq!(job.id(worst.item), "B2");
    assert!((worst.share.amount() as f64 / 1e9 - second / 120.0).abs() < 1e-7);
}

#[test]
fn a_thicker_conductor_that_keeps_the_limit_is_found() {
    let job = branch().job();
    let code = Tables::shipped();
    let ctx = Ctx::new(&job, &code);
    let item = job.find("1").unwrap();
    let of = |limit| conductor_for_drop(&ctx, item, q(limit, Dimension::Ratio)).unwrap();
    assert_eq!(of("3 %"), Some(q("14 AWG", Dimension::Conductor)));
    assert_eq!(of("2.5 %"), Some(q("12 AWG", Dimension::Conductor)));
    assert_eq!(of("1.8 %"), Some(q("10 AWG", Dimension::Conductor)));
    assert_eq!(of("0.01 %"), None);
}

#[test]
fn what_a_branch_lacks_is_named() {
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    let item = fixture.item("circuit", "1", &[("panel", "P1"), ("voltage", "120 V")]);
    fixture.item("box", "B1", &[]);
    let run = fixture.cable("C1", "12/2", "P1", "B1", &[("circuit", "1")]);
    let job = fixture.job();
    assert_eq!(drop_of(&job), Err(Gap::Missing(vec![(run, cable::LENGTH), (run, cable::MATERIAL)])));
    let mut fixture = Fixture::new();
    fixture.item("panel", "P1", &[]);
    fixture.item("circuit", "1", &[("panel", "P1"), ("voltage", "120 V")]);
    fixture.item("box", "B1", &[]);
    fixture.cable("C1", "12/2", "P1", "B1", &[("circuit", "1"), ("length", "10 ft"), ("material", "copper")]);
    assert_eq!(drop_of(&fixture.job()), Err(Gap::field(item, circuit::OTHER_LOAD)));
}

#[test]
fn rings_and_loads_off_the_branch_are_faults() {
    let fault = |job: Job| match drop_of(&job) {
        Err(Gap::Fault(problem)) => problem.message,
        other => panic!("a fault was due, not {other:?}"),
    };
    let mut ring = branch();
    ring.cable("C3", "12/2", "P1", "B2", &[("circuit", "1"), ("material", "copper"), ("length", "9 ft")]);
    assert_eq!(fault(ring.job()), "the cables of this circuit run in a ring");
    let mut off = branch();
    off.item("appliance", "A1", &[("kind", "other"), ("circuit", "1"), ("load", "100 W")]);
    assert_eq!(fault(off.job()), "no cable of its circuit leads to A1");
    let mut loose = branch();
    for id in ["B8", "B9"] {
        loose.item("box", id, &[]);
    }
    loose.cable("C3", "12/2", "B8", "B9", &[("circuit", "1"), ("material", "copper"), ("length", "9 ft")]);
    assert_eq!(fault(loose.job()), "not all cables of this circuit lead from its panel");
}
