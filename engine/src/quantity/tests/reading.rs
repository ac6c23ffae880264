//! What people write, and what it means.

use super::super::*;
use Dimension::*;

/// Reads a text that must be a quantity.
fn amount(text: &str, want: Dimension) -> i64 {
    match parse(text, want) {
        Ok(quantity) => quantity.amount(),
        Err(error) => panic!("`{text}`: {error}"),
    }
}

const INCH: i64 = 25_400_000;
const FOOT: i64 = 12 * INCH;
const MM: i64 = 1_000_000;

#[test]
fn lengths_are_read_as_on_a_tape() {
    let rows: &[(&str, i64)] = &[
        ("54 in", 54 * INCH),
        ("54\"", 54 * INCH),
        ("4 ft 6 in", 54 * INCH),
        ("4ft 6in", 54 * INCH),
        ("4ft6in", 54 * INCH),
        ("4' 6\"", 54 * INCH),
        ("4'-6\"", 54 * INCH),
        ("4'6\"", 54 * INCH),
        ("4 feet 6 inches", 54 * INCH),
        ("4 ft. 6 in.", 54 * INCH),
        ("4 FT 6 IN", 54 * INCH),
        ("4'-6 1/2\"", 54 * INCH + INCH / 2),
        ("4'-6-1/2\"", 54 * INCH + INCH / 2),
        ("4′-6½″", 54 * INCH + INCH / 2),
        ("4’ – 6 ½”", 54 * INCH + INCH / 2),
        ("5 1/2 ft", 66 * INCH),
        ("1 1/2 in", INCH + INCH / 2),
        ("1-1/2 in", INCH + INCH / 2),
        ("1½ in", INCH + INCH / 2),
        ("½ in", INCH / 2),
        ("0.5 in", INCH / 2),
        (".5 in", INCH / 2),
        ("13/16 in", INCH / 16 * 13),
        ("1/64 in", 396_875),
        ("1/3 ft", 4 * INCH),
        ("4 ft 0 in", 4 * FOOT),
        ("-6 in", -6 * INCH),
        ("−6 in", -6 * INCH),
        ("- 4 ft 6 in", -54 * INCH),
        ("0 in", 0),
        ("-0 in", 0),
        ("1.37 m", 1370 * MM),
        ("450 mm", 450 * MM),
        ("45 cm", 450 * MM),
        ("45CM", 450 * MM),
        ("  300 mm  ", 300 * MM),
        ("0.000001 mm", 1),
    ];
    for &(text, nm) in rows {
        assert_eq!(amount(text, Length), nm, "{text}");
        assert_eq!(parse_any(text), Some(Quantity::new(Length, nm)), "{text}");
    }
}

#[test]
fn other_dimensions_are_read_with_their_units() {
    let rows: &[(&str, Dimension, i64)] = &[
        ("120 ft2", Area, 120 * 92_903_040_000),
        ("120 ft²", Area, 120 * 92_903_040_000),
        ("120 sq ft", Area, 120 * 92_903_040_000),
        ("120 sq. ft.", Area, 120 * 92_903_040_000),
        ("120 ft^2", Area, 120 * 92_903_040_000),
        ("12 m2", Area, 12_000_000_000_000),
        ("0.0133 in2", Area, 8_580_628),
        ("4 sq mm", Area, 4_000_000),
        ("6530 cmil", Area, 3_308_800),
        ("20.3 in3", Volume, 332_657_399_200_000),
        ("20.3 cu in", Volume, 332_657_399_200_000),
        ("20.3 cu. in.", Volume, 332_657_399_200_000),
        ("20.3 in³", Volume, 332_657_399_200_000),
        ("300 ml", Volume, 300_000_000_000_000),
        ("300 cm3", Volume, 300_000_000_000_000),
        ("20 A", Current, 20_000_000),
        ("20A", Current, 20_000_000),
        ("20 amps", Current, 20_000_000),
        ("6 mA", Current, 6000),
        ("10 kA", Current, 10_000_000_000),
        ("120 V", Voltage, 120_000_000),
        ("180 VA", Power, 180_000_000),
        ("1.5 kVA", Power, 1_500_000_000),
        ("1500 W", Power, 1_500_000_000),
        ("8 kW", Power, 8_000_000_000),
        ("8 KW", Power, 8_000_000_000),
        ("33 VA/m2", PowerPerArea, 33_000_000_000_000),
        ("3 VA/ft2", PowerPerArea, 32_291_731_250_129),
        ("3 VA / ft²", PowerPerArea, 32_291_731_250_129),
        ("3.07 ohm", Resistance, 3_070_000_000),
        ("3.07 Ω", Resistance, 3_070_000_000),
        ("25 mohm", Resistance, 25_000_000),
        ("25 mΩ", Resistance, 25_000_000),
        ("1 Mohm", Resistance, 1_000_000_000_000_000),
        ("1 MΩ", Resistance, 1_000_000_000_000_000),
        ("10.3 ohm/km", ResistancePerLength, 10_300_000_000),
        ("3.14 ohm/kft", ResistancePerLength, 10_301_837_270),
        ("3.14 ohm/1000ft", ResistancePerLength, 10_301_837_270),
        ("3.14 ohm/1000 ft", ResistancePerLength, 10_301_837_270),
        ("18 mV/A/m", ResistancePerLength, 18_000_000_000),
        ("90 deg", Angle, 90_000_000),
        ("90°", Angle, 90_000_000),
        ("60 C", Temperature, 60_000),
        ("60 °C", Temperature, 60_000),
        ("86 F", Temperature, 30_000),
        ("-40 °F", Temperature, -40_000),
        ("32 F", Temperature, 0),
        ("50 lb", Mass, 22_679_618),
        ("23 kg", Mass, 23_000_000),
        ("5 lbf", Force, 22_241_108),
        ("22 N", Force, 22_000_000),
        ("14 lbf-in", Torque, 1_581_788),
        ("14 lbf·in", Torque, 1_581_788),
        ("14 in-lb", Torque, 1_581_788),
        ("1.6 N-m", Torque, 1_600_000),
        ("1.6 N·m", Torque, 1_600_000),
        ("1.6 N m", Torque, 1_600_000),
        ("3 %", Ratio, 30_000_000),
        ("3%", Ratio, 30_000_000),
        ("4", Number, 4_000_000_000),
        ("0.25", Number, 250_000_000),
        ("-1.25", Number, -1_250_000_000),
        ("2023-05-10", Date, 19_487),
        ("1970-01-01", Date, 0),
        ("1 min", Time, 60_000),
        ("25 ms", Time, 25),
        ("5 s", Time, 5000),
        ("3 h", Time, 10_800_000),
    ];
    for &(text, dimension, base) in rows {
        assert_eq!(amount(text, dimension), base, "{text}");
        assert_eq!(parse_any(text), Some(Quantity::new(dimension, base)), "{text}");
    }
    assert_eq!(amount("4 mm2", Area), 4_000_000);
    assert_eq!(parse_any("4 mm2").map(Quantity::dimension), Some(Conductor));
}

#[test]
fn what_is_no_quantity_is_left_to_be_a_text() {
    for text in
        ["", "kitchen", "1/2", "1-1/2", "12/2", "4 x 1-1/2 square", "334.30(A)", "½", "12 V 3", "in", "2023-05", "5²"]
    {
        assert_eq!(parse_any(text), None, "{text}");
    }
}
