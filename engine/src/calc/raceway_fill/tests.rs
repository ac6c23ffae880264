use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::quantity::parse;

fn traced(text: &str, dimension: Dimension) -> Traced {
    Traced { quantity: parse(text, dimension).unwrap(), span: crate::source::Span::new(8, 2) }
}

fn strand<'a>(insulation: &'a str, size: &str, count: i64) -> Strand<'a> {
    Strand { insulation, size: traced(size, Dimension::Conductor), count }
}

fn duct<'a>(method: &'a str, trade_size: &str) -> Duct<'a> {
    Duct { method, trade_size: traced(trade_size, Dimension::Length), nipple: false }
}

#[test]
fn the_share_and_what_is_left_follow_from_the_areas() {
    let code = Tables::shipped();
    let mut sheet = Sheet::new();
    let strands = [strand("THHN", "12 AWG", 9)];
    let fill = raceway_fill(&duct("EMT", "1/2 in"), &strands, &code, &mut sheet).unwrap();
    assert_eq!(fill.count, 9);
    assert_eq!(fill.used, parse("0.1197 in2", Dimension::Area).unwrap());
    assert_eq!(fill.allowed, parse("40 %", Dimension::Ratio).unwrap());
    assert!(fill.fits() && fill.left().amount() > 0);
    assert_eq!(sheet.lines().len(), 5);
    let ten = [strand("THHN", "12 AWG", 10)];
    assert!(!raceway_fill(&duct("EMT", "1/2 in"), &ten, &code, &mut Sheet::none()).unwrap().fits());
}

#[test]
fn holes_of_the_tables_are_faults_at_what_was_written() {
    let code = Tables::shipped();
    let fault =
        |duct: Duct<'_>, strand: Strand<'_>| raceway_fill(&duct, &[strand], &code, &mut Sheet::none()).unwrap_err();
    let one = || strand("THHN", "12 AWG", 1);
    assert_eq!(fault(duct("EMT", "5 in"), one()).message, "the code in force has no EMT of trade size 5 in");
    let metric = fault(duct("EMT", "1/2 in"), strand("THHN", "2.5 mm2", 1));
    assert_eq!(metric.message, "the code in force has no area of 2.5 mm2 THHN");
    assert_eq!(metric.span, crate::source::Span::new(8, 2));
    let unknown = fault(duct("EMT", "1/2 in"), strand("silk", "12 AWG", 1));
    assert!(unknown.message.contains("silk insulation"));
    assert_eq!(smallest_raceway("ENT", false, &[strand("THHN", "4/0 AWG", 90)], &code), Ok(None));
}

fn of_job(fields: &[(&str, &str)], number: &str) -> Result<RacewayFill, Gap> {
    let mut job = Fixture::new();
    job.item("raceway", "W1", &[("wiring_method", "EMT"), ("trade_size", "1/2 in")]);
    let item = job.find("W1");
    for (name, text) in fields {
        job.set(item, name, text);
    }
    let group = [("raceway", "W1"), ("size", "12 AWG"), ("number", number), ("insulation", "THHN")];
    job.item("raceway_conductor", "W1/conductor-1", &group);
    let (job, code) = (job.job(), Tables::shipped());
    fill_of_raceway(&Ctx::new(&job, &code), item, &mut Sheet::new())
}

#[test]
fn the_length_matters_only_where_a_nipple_would_hold_what_a_run_does_not() {
    let item = crate::model::ItemIndex(1);
    assert!(of_job(&[], "9").unwrap().fits());
    assert_eq!(of_job(&[], "12"), Err(Gap::field(item, raceway::LENGTH)));
    assert!(of_job(&[("length", "24 in")], "12").unwrap().fits());
    assert!(of_job(&[("nipple", "true")], "12").unwrap().fits());
    assert!(!of_job(&[("length", "25 in")], "12").unwrap().fits());
    assert!(!of_job(&[], "40").unwrap().fits());
    let Err(Gap::Fault(fault)) = of_job(&[("nipple", "true"), ("length", "25 in")], "9") else {
        panic!("a fault was due")
    };
    assert_eq!(fault.message, "this raceway is too long for a nipple");
    assert!(matches!(of_job(&[], "-1"), Err(Gap::Fault(_))));
}
