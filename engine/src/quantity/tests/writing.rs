//! How quantities are printed.

use super::super::*;
use Dimension::*;
use UnitSystem::{Customary, Metric};

#[test]
fn quantities_print_as_people_write_them() {
    // (written, customary, metric)
    let rows: &[(&str, Dimension, &str, &str)] = &[
        ("54 in", Length, "4 ft 6 in", "1371.6 mm"),
        ("12 1/2 in", Length, "12 1/2 in", "317.5 mm"),
        ("0.5 in", Length, "1/2 in", "12.7 mm"),
        ("13/16 in", Length, "13/16 in", "20.6375 mm"),
        ("63/64 in", Length, "63/64 in", "25.003125 mm"),
        ("20 in", Length, "20 in", "508 mm"),
        ("24 in", Length, "2 ft", "609.6 mm"),
        ("6 ft", Length, "6 ft", "1828.8 mm"),
        ("6 ft 1/2 in", Length, "6 ft 1/2 in", "1841.5 mm"),
        ("50 ft", Length, "50 ft", "15.24 m"),
        ("-4 ft 6 in", Length, "-4 ft 6 in", "-1371.6 mm"),
        ("0 mm", Length, "0 in", "0 mm"),
        ("0.622 in", Length, "0.622 in", "15.8 mm"),
        ("450 mm", Length, "450 mm", "450 mm"),
        ("1.37 m", Length, "1370 mm", "1370 mm"),
        ("12.5 m", Length, "12.5 m", "12.5 m"),
        ("1.0001 mm", Length, "0.039 in", "1 mm"),
        ("168 ft2", Area, "168 ft2", "15.608 m2"),
        ("0.0133 in2", Area, "0.0133 in2", "8.581 mm2"),
        ("12 m2", Area, "129.17 ft2", "12 m2"),
        ("20.3 in3", Volume, "20.3 in3", "332.66 cm3"),
        ("300 ml", Volume, "18.307 in3", "300 cm3"),
        ("20 A", Current, "20 A", "20 A"),
        ("6 mA", Current, "6 mA", "6 mA"),
        ("0 A", Current, "0 A", "0 A"),
        ("10 kA", Current, "10000 A", "10000 A"),
        ("120 V", Voltage, "120 V", "120 V"),
        ("1.5 kVA", Power, "1500 VA", "1500 VA"),
        ("3 VA/ft2", PowerPerArea, "3 VA/ft2", "32.29 VA/m2"),
        ("33 VA/m2", PowerPerArea, "3.066 VA/ft2", "33 VA/m2"),
        ("25 ohm", Resistance, "25 ohm", "25 ohm"),
        ("1 Mohm", Resistance, "1 Mohm", "1 Mohm"),
        ("25 mohm", Resistance, "25 mohm", "25 mohm"),
        ("3.14 ohm/kft", ResistancePerLength, "3.14 ohm/kft", "10.3018 ohm/km"),
        ("90 deg", Angle, "90 deg", "90 deg"),
        ("86 F", Temperature, "30 C", "30 C"),
        ("50 lb", Mass, "50 lb", "22.68 kg"),
        ("5 lbf", Force, "5 lbf", "22.24 N"),
        ("14 lbf-in", Torque, "14 lbf-in", "1.58 N-m"),
        ("3 %", Ratio, "3 %", "3 %"),
        ("0.25", Number, "0.25", "0.25"),
        ("-1.25", Number, "-1.25", "-1.25"),
        ("2023-05-10", Date, "2023-05-10", "2023-05-10"),
        ("60 s", Time, "1 min", "1 min"),
        ("90 min", Time, "90 min", "90 min"),
        ("3 h", Time, "3 h", "3 h"),
        ("25 ms", Time, "25 ms", "25 ms"),
        ("0 s", Time, "0 s", "0 s"),
        ("12 AWG", Conductor, "12 AWG", "12 AWG"),
        ("1/0 AWG", Conductor, "1/0 AWG", "1/0 AWG"),
        ("4/0 AWG", Conductor, "4/0 AWG", "4/0 AWG"),
        ("250 MCM", Conductor, "250 kcmil", "250 kcmil"),
        ("2.5 mm²", Conductor, "2.5 mm2", "2.5 mm2"),
    ];
    for &(text, dimension, customary, metric) in rows {
        let quantity = parse(text, dimension).unwrap();
        assert_eq!(quantity.print(Customary), customary, "{text}");
        assert_eq!(quantity.print(Metric), metric, "{text}");
    }
}

#[test]
fn something_is_never_printed_as_nothing() {
    for dimension in Dimension::all() {
        for system in [Customary, Metric] {
            let text = Quantity::new(dimension, 1).print(system);
            assert!(text.bytes().any(|b| (b'1'..=b'9').contains(&b)), "{dimension:?}: {text}");
        }
    }
}

#[test]
fn two_values_that_differ_can_be_told_apart() {
    let limit = parse("3 %", Ratio).unwrap();
    let found = parse("3.001 %", Ratio).unwrap();
    assert_eq!(found.print(Customary), "3 %");
    assert_eq!(found.print_beside(limit, Customary), "3.001 %");
    assert_eq!(limit.print_beside(found, Customary), "3 %");
    assert_eq!(limit.print_beside(limit, Customary), "3 %");
    let one = parse("12 in", Length).unwrap();
    assert_eq!(Quantity::new(Length, one.amount() + 1).print_beside(one, Customary), "304.800001 mm");
}

#[test]
fn marking_out_rounds_to_the_tape() {
    let height = parse("47.3 in", Length).unwrap();
    assert_eq!(height.print_nearest(Customary, Fraction::Sixteenth), "3 ft 11 5/16 in");
    assert_eq!(height.print_nearest(Customary, Fraction::Quarter), "3 ft 11 1/4 in");
    assert_eq!(height.print_nearest(Metric, Fraction::Sixteenth), "1201 mm");
    // Halfway goes to the even mark.
    let half = parse("1/32 in", Length).unwrap();
    assert_eq!(half.print_nearest(Customary, Fraction::Sixteenth), "0 in");
    assert_eq!(parse("3/32 in", Length).unwrap().print_nearest(Customary, Fraction::Sixteenth), "1/8 in");
    assert_eq!(parse("20 A", Current).unwrap().print_nearest(Customary, Fraction::Half), "20 A");
    // The nearest mark of the longest length lies past what fits.
    let longest = Quantity::new(Length, i64::MAX);
    assert_eq!(longest.print_nearest(Metric, Fraction::Half), longest.print(Metric));
}
