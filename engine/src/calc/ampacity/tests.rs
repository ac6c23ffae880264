use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap};
use crate::model::kinds::{cable, site};
use crate::quantity::parse;
use crate::source::Span;

fn traced(text: &str, dimension: Dimension) -> Traced {
    Traced { quantity: parse(text, dimension).unwrap(), span: Span::new(77, 3) }
}

fn amps(text: &str) -> Quantity {
    parse(text, Dimension::Current).unwrap()
}

fn run<'a>(material: &'a str, size: &str, insulation: &str, ambient: &str, count: i64) -> Run<'a> {
    Run {
        material,
        size: traced(size, Dimension::Conductor),
        insulation: traced(insulation, Dimension::Temperature),
        ambient: traced(ambient, Dimension::Temperature),
        current_carrying: count,
        method_limit: None,
        terminals: None,
        correction: Correction::Table,
    }
}

#[test]
fn both_factors_apply_to_the_column_of_the_insulation() {
    let code = Tables::shipped();
    let found = ampacity(&run("copper", "14 AWG", "90 degC", "105 degF", 6), &code, &mut Sheet::none()).unwrap();
    assert_eq!(found.table, amps("25 A"));
    assert_eq!((found.correction, found.adjustment), (factor(870), factor(800)));
    assert_eq!(found.ampacity, amps("17.4 A"));
}

#[test]
fn the_wiring_method_and_the_terminals_stop_it_at_their_column() {
    let code = Tables::shipped();
    let mut nm = run("copper", "12 AWG", "90 degC", "30 degC", 8);
    nm.method_limit = Some(traced("60 degC", Dimension::Temperature));
    let found = ampacity(&nm, &code, &mut Sheet::none()).unwrap();
    assert_eq!((found.derated, found.ampacity), (amps("21 A"), amps("20 A")));
    let mut ended = run("copper", "8 AWG", "90 degC", "30 degC", 3);
    ended.terminals = Some(traced("75 degC", Dimension::Temperature));
    assert_eq!(ampacity(&ended, &code, &mut Sheet::none()).unwrap().ampacity, amps("50 A"));
}

#[test]
fn copper_clad_aluminum_goes_by_the_aluminum_column() {
    let code = Tables::shipped();
    let of = |material| ampacity(&run(material, "6 AWG", "75 degC", "30 degC", 3), &code, &mut Sheet::none());
    assert_eq!(of("copper_clad_aluminum").unwrap().ampacity, of("aluminum").unwrap().ampacity);
    assert_eq!(of("aluminum").unwrap().ampacity, amps("50 A"));
    assert!(of("silver").is_err());
}

#[test]
fn holes_of_the_tables_are_faults_at_what_was_written() {
    let code = Tables::shipped();
    let fault = |run: Run<'_>| ampacity(&run, &code, &mut Sheet::none()).unwrap_err();
    let size = fault(run("copper", "2.5 mm2", "90 degC", "30 degC", 3));
    assert_eq!(size.message, "the code in force has no ampacity of 2.5 mm2 copper at 90 C");
    assert_eq!(size.span, Span::new(77, 3));
    let rating = fault(run("copper", "12 AWG", "85 degC", "30 degC", 3));
    assert_eq!(rating.message, "the code in force has no column of ampacities for 85 C");
    let hot = fault(run("copper", "12 AWG", "60 degC", "56 degC", 3));
    assert_eq!(hot.message, "insulation of 60 C may not be used where it is 56 C");
    assert!(ampacity(&run("copper", "12 AWG", "60 degC", "55 degC", 3), &code, &mut Sheet::none()).is_ok());
    assert!(fault(run("copper", "12 AWG", "90 degC", "30 degC", 0)).message.contains("can't be 0"));
}

#[test]
fn beyond_the_last_row_the_least_factor_holds() {
    let code = Tables::shipped();
    let of =
        |count| ampacity(&run("copper", "12 AWG", "90 degC", "30 degC", count), &code, &mut Sheet::none()).unwrap();
    assert_eq!(of(3).adjustment, factor(1000));
    assert_eq!(of(4).adjustment, factor(800));
    assert_eq!(of(40).adjustment, factor(400));
    assert_eq!(of(41).adjustment, factor(350));
}

#[test]
fn formula_and_table_agree_to_the_rounding_of_the_table() {
    // Each factor of the table is the formula at the top of its band, rounded to two decimals.
    let code = Tables::shipped();
    let book: &dyn Code = &code;
    let base = book.quantity("ampacity.base_ambient", Dimension::Temperature).unwrap().quantity;
    for rating in [60, 75, 90] {
        let key = format!("ampacity.ambient_{rating}");
        let insulation = Quantity::new(Dimension::Temperature, rating * DEGREE);
        for (at, factor) in book.table(&key, Dimension::Temperature, Dimension::Number).unwrap() {
            let exact = correction_by_formula(insulation, at, base).unwrap().amount();
            let apart = (exact - factor.amount()).abs();
            assert!(apart <= 5_000_000 + 1, "{rating} °C at {}: {exact} against {}", shown(at), factor.amount());
        }
    }
    assert_eq!(correction_by_formula(base, base, base), None);
}

#[test]
fn a_metric_code_works_by_its_own_sizes_and_temperatures() {
    let metric = Tables::of(&[r#"
        [ampacity.material]
        rows = { copper = "copper" }
        [ampacity.copper_70]
        rows = { "1.5 mm2" = "20 A", "2.5 mm2" = "27 A" }
        [ampacity.ambient_70]
        rows = { "30 degC" = 1, "35 degC" = 0.94 }
        [ampacity.bundling]
        rows = { "3" = 1 }
        [ampacity.bundling_beyond]
        value = 0.5
        "#]);
    let found = ampacity(&run("copper", "2.5 mm2", "70 degC", "33 degC", 2), &metric, &mut Sheet::none()).unwrap();
    assert_eq!(found.ampacity, amps("25.38 A"));
}

#[test]
fn a_cable_names_every_field_that_is_still_to_record() {
    let mut fixture = Fixture::new();
    let item = fixture.item("cable", "C1", &[]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let Err(Gap::Missing(fields)) = ampacity_of_cable(&ctx, item, &mut Sheet::none()) else {
        panic!("fields were due")
    };
    let site = job.find("site").unwrap();
    let expected = [
        (item, cable::KEY_MAKE),
        (item, cable::MATERIAL),
        (item, cable::WIRING_METHOD),
        (site, site::AMBIENT),
        (item, cable::BUNDLED_WITH),
    ];
    assert_eq!(fields, expected);
}

#[test]
fn only_long_bundles_and_sealed_holes_of_more_than_two_are_adjusted() {
    let ampacity = |fields: &[(&str, &str)]| {
        let mut fixture = Fixture::new();
        let site = fixture.item("cable", "C0", &[]);
        let _ = site;
        let mut all = vec![("make", "12/2"), ("material", "copper"), ("wiring_method", "NM"), ("ambient", "40 degC")];
        all.extend_from_slice(fields);
        let item = fixture.item("cable", "C1", &all);
        let (job, code) = (fixture.job(), Tables::shipped());
        ampacity_of_cable(&Ctx::new(&job, &code), item, &mut Sheet::new()).map(|found| found.derated)
    };
    assert_eq!(ampacity(&[("bundled_with", "0")]), Ok(amps("27.3 A")));
    let nine = [("bundled_with", "4"), ("bundle_length", "3 ft")];
    assert_eq!(ampacity(&nine), Ok(amps("13.65 A")));
    assert_eq!(
        ampacity(&[("bundled_with", "4"), ("bundle_length", "24 in"), ("in_insulation", "false")]),
        Ok(amps("27.3 A"))
    );
    assert_eq!(ampacity(&[("bundled_with", "3"), ("in_insulation", "true")]), Ok(amps("19.11 A")));
    assert_eq!(ampacity(&[("bundled_with", "1"), ("bundle_length", "2 in")]), Ok(amps("27.3 A")));
    assert!(matches!(ampacity(&[("bundled_with", "2"), ("bundle_length", "2 in")]), Err(Gap::Missing(_))));
    assert!(matches!(ampacity(&[("bundled_with", "-1")]), Err(Gap::Fault(_))));
}
