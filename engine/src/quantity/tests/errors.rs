//! What is refused, and what the person is told.

use super::super::*;
use Dimension::*;

fn error(text: &str, want: Dimension) -> QuantityError {
    match parse(text, want) {
        Ok(quantity) => panic!("`{text}` was read as {quantity:?}"),
        Err(error) => error,
    }
}

#[test]
fn a_bare_number_is_told_which_units_fit() {
    for want in Dimension::all().filter(|want| *want != Number) {
        let error = error("12", want);
        assert_eq!(error.message, "`12` has no unit", "{want:?}");
        assert_eq!(error.help.as_deref(), Some(want.units_help()), "{want:?}");
    }
    assert!(Conductor.units_help().contains("`12 AWG`"));
    assert_eq!(error("1/2", Length).message, "`1/2` has no unit");
}

#[test]
fn another_dimension_is_named() {
    let rows: &[(&str, Dimension, &str)] = &[
        ("20 A", Length, "expected a length such as `12 in` or `300 mm`, found a current `20 A`"),
        ("12 in", Current, "expected a current such as `20 A` or `6 mA`, found a length `12 in`"),
        ("12 AWG", Length, "expected a length such as `12 in` or `300 mm`, found a conductor size `12 AWG`"),
        ("4/0 AWG", Area, "expected an area such as `120 ft2` or `12 m2`, found a conductor size `4/0 AWG`"),
        ("120 ft2", Length, "expected a length such as `12 in` or `300 mm`, found an area `120 ft2`"),
        ("14 in-lb", Length, "expected a length such as `12 in` or `300 mm`, found a torque `14 in-lb`"),
        ("14 ft-lb", Length, "expected a length such as `12 in` or `300 mm`, found a torque `14 ft-lb`"),
        ("4 ft 6 in", Area, "expected an area such as `120 ft2` or `12 m2`, found a length `4 ft 6 in`"),
        ("12 mm", Conductor, "expected a conductor size such as `12 AWG` or `2.5 mm2`, found a length `12 mm`"),
        ("5 lb", Force, "expected a force such as `5 lbf` or `22 N`, found a weight `5 lb`"),
        ("3 %", Number, "expected a number such as `2` or `0.25`, found a percentage `3 %`"),
        ("60 °", Temperature, "expected a temperature such as `60 C` or `86 F`, found an angle `60 °`"),
        ("2023-05-10", Time, "expected a time such as `25 ms` or `3 h`, found a date `2023-05-10`"),
        ("3 h", Date, "expected a date such as `2023-05-10`, found a time `3 h`"),
        // A fraction of an unfit unit is still known by its unit.
        ("1/2 A", Length, "expected a length such as `12 in` or `300 mm`, found a current `1/2 A`"),
    ];
    for &(text, want, message) in rows {
        assert_eq!(error(text, want).message, message);
    }
}

#[test]
fn each_kind_of_mistake_has_its_own_words() {
    let rows: &[(&str, Dimension, &str)] = &[
        ("", Length, "expected a length such as `12 in` or `300 mm`, found nothing"),
        ("high", Length, "expected a length such as `12 in` or `300 mm`, found `high`"),
        ("in", Length, "expected a length such as `12 in` or `300 mm`, found `in`"),
        ("5² in", Length, "expected a length such as `12 in` or `300 mm`, found `5² in`"),
        ("12 inn", Length, "unknown unit `inn` of `12 inn`"),
        ("12 M", Length, "unknown unit `M` of `12 M`"),
        ("6 MA", Current, "unknown unit `MA` of `6 MA`"),
        ("1 MOHM", Resistance, "unknown unit `MOHM` of `1 MOHM`"),
        ("1,500 VA", Power, "`1,500 VA` has a comma in its number"),
        ("2,5 mm2", Conductor, "`2,5 mm2` has a comma in its number"),
        ("1/0 in", Length, "`1/0 in` is a fraction over zero"),
        ("1 3/2 in", Length, "the fraction beside the whole number of `1 3/2 in` is one or more"),
        ("12 - 1/2 in", Length, "expected a length such as `12 in` or `300 mm`, found `12 - 1/2 in`"),
        ("3–5 in", Length, "expected a length such as `12 in` or `300 mm`, found `3–5 in`"),
        ("1/3 in", Length, "`1/3 in` is no whole number of nanometres and can't be kept exactly"),
        ("0.0000000001 in", Length, "`0.0000000001 in` is no whole number of nanometres and can't be kept exactly"),
        ("1/2 mm", Length, "`1/2 mm` is a fraction of a unit that has none"),
        ("1/2 A", Current, "`1/2 A` is a fraction of a unit that has none"),
        ("1/2", Number, "`1/2` is a fraction where a plain number is due"),
        ("4 ft 12 in", Length, "the inches after the feet of `4 ft 12 in` make a foot or more"),
        ("4.5 ft 6 in", Length, "expected inches after the feet of `4.5 ft 6 in`"),
        ("4 ft 6", Length, "expected inches after the feet of `4 ft 6`"),
        ("4 ft 6 mm", Length, "expected inches after the feet of `4 ft 6 mm`"),
        ("4½ ft 6 in", Length, "expected inches after the feet of `4½ ft 6 in`"),
        ("9999999999 m", Length, "`9999999999 m` is too large"),
        ("99999999999 m3", Volume, "`99999999999 m3` is too large"),
        ("0.0000001 A", Current, "`0.0000001 A` is too small to be told from nothing"),
        ("0.0000000001", Number, "`0.0000000001` is too small to be told from nothing"),
        ("1234567890123456789012 in", Length, "`1234567890123456789012 in` has more digits than can be kept"),
        ("1e3 in", Length, "unknown unit `e3 in` of `1e3 in`"),
        ("5. in", Length, "expected a length such as `12 in` or `300 mm`, found `5. in`"),
        ("13.5 AWG", Conductor, "there is no gauge `13.5 AWG`"),
        ("41 AWG", Conductor, "there is no gauge `41 AWG`"),
        ("0 AWG", Conductor, "there is no gauge `0 AWG`"),
        ("00 AWG", Conductor, "there is no gauge `00 AWG`"),
        ("012 AWG", Conductor, "there is no gauge `012 AWG`"),
        ("5/0 AWG", Conductor, "there is no gauge `5/0 AWG`"),
        ("-3 AWG", Conductor, "there is no gauge `-3 AWG`"),
        ("#12 AWG", Conductor, "there is no gauge `#12 AWG`"),
        ("100 kcmil", Conductor, "there is no conductor of `100 kcmil`"),
        ("2001 kcmil", Conductor, "there is no conductor of `2001 kcmil`"),
        ("0 mm2", Conductor, "`0 mm2` is no conductor at all"),
        ("-2.5 mm2", Conductor, "`-2.5 mm2` is no conductor size"),
        ("2.5000001 mm2", Conductor, "`2.5000001 mm2` has more decimals than a conductor size can keep"),
        ("9999999999999 mm2", Conductor, "`9999999999999 mm2` is too large"),
        ("2023-02-30", Date, "there is no day `2023-02-30`"),
        ("5/10/2023", Date, "`5/10/2023` does not say which number is the month"),
        ("2023-5-10", Date, "expected a date such as `2023-05-10`, found `2023-5-10`"),
        ("1\n2 in", Length, "expected a length such as `12 in` or `300 mm`, found `1 2 in`"),
    ];
    for &(text, want, message) in rows {
        let error = error(text, want);
        assert_eq!(error.message, message);
        assert!(error.help.is_some(), "`{text}` gets no help");
        assert!(!error.message.ends_with('.'), "{message}");
    }
    assert!(error("12 inn", Length).help.unwrap().starts_with("did you mean `in`? a length is written in"));
}

#[test]
fn hostile_texts_are_turned_away_quickly_and_shown_cut_short() {
    let long = "9".repeat(1 << 20);
    for text in [long.clone(), format!("{long} in"), format!("1 {long}"), "½".repeat(100_000), " ".repeat(1 << 20)] {
        for want in Dimension::all() {
            let error = error(&text, want);
            assert!(error.message.chars().count() < 160, "{}", error.message);
        }
        assert_eq!(parse_any(&text), None);
        assert!(CableMake::parse(&text).unwrap_err().message.chars().count() < 160);
    }
    // Within the length that is looked at, but more digits than any integer here.
    for text in ["9".repeat(60), format!("0.{}1 in", "0".repeat(55)), format!("1/{} in", "9".repeat(55))] {
        assert!(parse(&text, Length).is_err(), "{text}");
        assert_eq!(parse_any(&text), None, "{text}");
    }
}
