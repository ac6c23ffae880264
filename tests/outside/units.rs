//! Units against a general-purpose library of units and against published tables.
//!
//! - Customary units: the international yard and pound of 1959 (1 yd = 0.9144 m, 1 lb = 0.453 592 37 kg, both exact), as in
//!   NIST Special Publication 811, appendix B.8, which prints seven figures of what is not exact.
//! - The `uom` crate, which holds the same figures: `EXACT` where it has all of them, `SEVEN_FIGURES` where it has seven.

use storystick_engine::quantity::{Conductor, Dimension, Quantity, UnitSystem, parse};
use uom::si::f64::{
    Angle, Area, ElectricCurrent, ElectricPotential, ElectricalResistance, Force, Length, Mass, Power, Ratio,
    ThermodynamicTemperature, Time, Torque, Volume,
};
use uom::si::{
    angle, area, electric_current, electric_potential, electrical_resistance, force, length, mass, power, ratio,
    thermodynamic_temperature, time, torque, volume,
};

/// Only the rounding of `f64` stands between the two.
const EXACT: f64 = 1e-12;
/// The library holds seven figures.
const SEVEN_FIGURES: f64 = 5e-7;

/// Returns the amount of a text in base units.
fn amount(text: &str, dimension: Dimension) -> f64 {
    let quantity = parse(text, dimension);
    assert!(quantity.is_ok(), "`{text}`: {quantity:?}");
    quantity.map_or(f64::NAN, |quantity| quantity.amount() as f64)
}

/// Checks 1 and 1000 of a unit against its size, given in base units.
fn check(dimension: Dimension, unit: &str, base_units: f64, tolerance: f64) {
    for count in [1.0, 1000.0] {
        let found = amount(&format!("{count} {unit}"), dimension);
        let expected = base_units * count;
        // Half a base unit is rounding.
        let off = (found - expected).abs();
        assert!(off <= expected * tolerance + 0.5, "{count} {unit}: {found} where the library has {expected}");
    }
}

#[test]
fn lengths_areas_and_volumes() {
    let nm = |l: Length| l.get::<length::nanometer>();
    for (unit, size) in [
        ("in", Length::new::<length::inch>(1.0)),
        ("ft", Length::new::<length::foot>(1.0)),
        ("mm", Length::new::<length::millimeter>(1.0)),
        ("cm", Length::new::<length::centimeter>(1.0)),
        ("m", Length::new::<length::meter>(1.0)),
        ("km", Length::new::<length::kilometer>(1.0)),
    ] {
        check(Dimension::Length, unit, nm(size), EXACT);
    }
    let um2 = |a: Area| a.get::<area::square_micrometer>();
    for (unit, size, tolerance) in [
        ("in2", Area::new::<area::square_inch>(1.0), EXACT),
        ("ft2", Area::new::<area::square_foot>(1.0), EXACT),
        ("mm2", Area::new::<area::square_millimeter>(1.0), EXACT),
        ("cm2", Area::new::<area::square_centimeter>(1.0), EXACT),
        ("m2", Area::new::<area::square_meter>(1.0), EXACT),
        ("cmil", Area::new::<area::circular_mil>(1.0), SEVEN_FIGURES),
    ] {
        check(Dimension::Area, unit, um2(size), tolerance);
    }
    // π/4 mil², to all figures of `f64`.
    let mil = nm(Length::new::<length::inch>(1.0)) / 1e6;
    check(Dimension::Area, "cmil", std::f64::consts::FRAC_PI_4 * mil * mil, EXACT);
    let um3 = |v: Volume| v.get::<volume::cubic_micrometer>();
    let inch = Length::new::<length::inch>(1.0);
    let foot = Length::new::<length::foot>(1.0);
    for (unit, size, tolerance) in [
        ("in3", Volume::new::<volume::cubic_inch>(1.0), SEVEN_FIGURES),
        ("in3", inch * inch * inch, EXACT),
        ("ft3", Volume::new::<volume::cubic_foot>(0.1) * 10.0, SEVEN_FIGURES),
        ("mm3", Volume::new::<volume::cubic_millimeter>(1.0), EXACT),
        ("cm3", Volume::new::<volume::cubic_centimeter>(1.0), EXACT),
        ("ml", Volume::new::<volume::milliliter>(1.0), EXACT),
        ("l", Volume::new::<volume::liter>(1.0), EXACT),
    ] {
        if unit == "ft3" {
            // A thousand cubic feet are more than any box; one must do.
            let one = amount("1 ft3", Dimension::Volume);
            assert!((one / um3(size) - 1.0).abs() < tolerance);
            assert!((one / um3(foot * foot * foot) - 1.0).abs() < EXACT);
        } else {
            check(Dimension::Volume, unit, um3(size), tolerance);
        }
    }
    assert!((amount("1 m3", Dimension::Volume) / um3(Volume::new::<volume::cubic_meter>(1.0)) - 1.0).abs() < EXACT);
}

#[test]
fn electrical_units() {
    let ua = |i: ElectricCurrent| i.get::<electric_current::microampere>();
    check(Dimension::Current, "A", ua(ElectricCurrent::new::<electric_current::ampere>(1.0)), EXACT);
    check(Dimension::Current, "mA", ua(ElectricCurrent::new::<electric_current::milliampere>(1.0)), EXACT);
    check(Dimension::Current, "kA", ua(ElectricCurrent::new::<electric_current::kiloampere>(1.0)), EXACT);
    let uv = |u: ElectricPotential| u.get::<electric_potential::microvolt>();
    check(Dimension::Voltage, "V", uv(ElectricPotential::new::<electric_potential::volt>(1.0)), EXACT);
    check(Dimension::Voltage, "mV", uv(ElectricPotential::new::<electric_potential::millivolt>(1.0)), EXACT);
    check(Dimension::Voltage, "kV", uv(ElectricPotential::new::<electric_potential::kilovolt>(1.0)), EXACT);
    let uw = |p: Power| p.get::<power::microwatt>();
    for unit in ["W", "VA"] {
        check(Dimension::Power, unit, uw(Power::new::<power::watt>(1.0)), EXACT);
        check(Dimension::Power, &format!("k{unit}"), uw(Power::new::<power::kilowatt>(1.0)), EXACT);
    }
    let no = |r: ElectricalResistance| r.get::<electrical_resistance::nanoohm>();
    let ohm = ElectricalResistance::new::<electrical_resistance::ohm>(1.0);
    let milliohm = ElectricalResistance::new::<electrical_resistance::milliohm>(1.0);
    check(Dimension::Resistance, "ohm", no(ohm), EXACT);
    check(Dimension::Resistance, "mohm", no(milliohm), EXACT);
    check(Dimension::Resistance, "uohm", no(ElectricalResistance::new::<electrical_resistance::microohm>(1.0)), EXACT);
    check(Dimension::Resistance, "kohm", no(ElectricalResistance::new::<electrical_resistance::kiloohm>(1.0)), EXACT);
    check(Dimension::Resistance, "Mohm", no(ElectricalResistance::new::<electrical_resistance::megaohm>(1.0)), EXACT);
    // The library has no name for ohms per metre: the quotient's own value is in SI units.
    let foot = Length::new::<length::foot>(1.0);
    let km = Length::new::<length::kilometer>(1.0);
    let metre = Length::new::<length::meter>(1.0);
    for (unit, size) in [
        ("ohm/kft", ohm / (foot * 1000.0)),
        ("ohm/1000 ft", ohm / (foot * 1000.0)),
        ("ohm/ft", ohm / foot),
        ("ohm/km", ohm / km),
        ("ohm/m", ohm / metre),
        ("mohm/m", milliohm / metre),
        ("mV/A/m", milliohm / metre),
    ] {
        check(Dimension::ResistancePerLength, unit, size.value * 1e12, EXACT);
    }
    let watt = Power::new::<power::watt>(1.0);
    for (unit, size) in [
        ("VA/ft2", watt / Area::new::<area::square_foot>(1.0)),
        ("W/ft2", watt / Area::new::<area::square_foot>(1.0)),
        ("VA/m2", watt / Area::new::<area::square_meter>(1.0)),
        ("W/m2", watt / Area::new::<area::square_meter>(1.0)),
    ] {
        check(Dimension::PowerPerArea, unit, size.value * 1e12, EXACT);
    }
}

#[test]
fn mechanical_units_angles_and_times() {
    let mg = |m: Mass| m.get::<mass::milligram>();
    check(Dimension::Mass, "lb", mg(Mass::new::<mass::pound>(1.0)), SEVEN_FIGURES);
    check(Dimension::Mass, "oz", mg(Mass::new::<mass::ounce>(1.0)), SEVEN_FIGURES);
    check(Dimension::Mass, "kg", mg(Mass::new::<mass::kilogram>(1.0)), EXACT);
    check(Dimension::Mass, "g", mg(Mass::new::<mass::gram>(1.0)), EXACT);
    check(Dimension::Mass, "mg", 1.0, EXACT);
    // The pound of 1959 and the standard gravity of NIST SP 811 to all their figures.
    check(Dimension::Mass, "lb", 453_592.37, EXACT);
    check(Dimension::Force, "lbf", 0.453_592_37 * 9.806_65 * 1e6, EXACT);
    let un = |f: Force| f.get::<force::micronewton>();
    let pound_force = Force::new::<force::pound_force>(1.0);
    check(Dimension::Force, "lbf", un(pound_force), SEVEN_FIGURES);
    check(Dimension::Force, "N", un(Force::new::<force::newton>(1.0)), EXACT);
    check(Dimension::Force, "kN", un(Force::new::<force::kilonewton>(1.0)), EXACT);
    // By way of force and length: the library's own pound-force inch and foot are off in the eighth figure.
    let newton_metre = Torque::new::<torque::newton_meter>(1.0).value;
    let torque = |arm: Length| (pound_force * arm).value / newton_metre * 1e6;
    check(Dimension::Torque, "lbf-in", torque(Length::new::<length::inch>(1.0)), SEVEN_FIGURES);
    check(Dimension::Torque, "lbf-ft", torque(Length::new::<length::foot>(1.0)), SEVEN_FIGURES);
    check(Dimension::Torque, "N-m", 1e6, EXACT);
    let degrees = |a: Angle| a.get::<angle::degree>() * 1e6;
    check(Dimension::Angle, "deg", degrees(Angle::new::<angle::degree>(1.0)), EXACT);
    check(Dimension::Angle, "deg", degrees(Angle::new::<angle::revolution>(1.0)) / 360.0, EXACT);
    let ms = |t: Time| t.get::<time::millisecond>();
    check(Dimension::Time, "ms", ms(Time::new::<time::millisecond>(1.0)), EXACT);
    check(Dimension::Time, "s", ms(Time::new::<time::second>(1.0)), EXACT);
    check(Dimension::Time, "min", ms(Time::new::<time::minute>(1.0)), EXACT);
    check(Dimension::Time, "h", ms(Time::new::<time::hour>(1.0)), EXACT);
    check(Dimension::Ratio, "%", Ratio::new::<ratio::percent>(1.0).get::<ratio::ratio>() * 1e9, EXACT);
}

#[test]
fn temperatures() {
    for fahrenheit in [-459.67, -40.0, 0.0, 32.0, 60.0, 77.0, 86.0, 104.0, 140.0, 167.0, 194.0, 212.0] {
        let found = amount(&format!("{fahrenheit} F"), Dimension::Temperature);
        let kelvin = ThermodynamicTemperature::new::<thermodynamic_temperature::degree_fahrenheit>(fahrenheit);
        let expected = kelvin.get::<thermodynamic_temperature::degree_celsius>() * 1000.0;
        assert!((found - expected).abs() <= 0.500_001, "{fahrenheit} F: {found} m°C against {expected}");
    }
    assert_eq!(parse("90 C", Dimension::Temperature), parse("194 F", Dimension::Temperature));
}

/// Circular mils of the building-wire gauges as the model code tabulates them (chapter 9, table 8; read on two public copies).
/// The table rounds each diameter to a tenth of a mil first, so it may differ in the fourth figure.
#[test]
fn gauges_against_the_code_table() {
    let table = [
        (14, 4_110),
        (12, 6_530),
        (10, 10_380),
        (8, 16_510),
        (6, 26_240),
        (4, 41_740),
        (3, 52_620),
        (2, 66_360),
        (1, 83_690),
        (0, 105_600),
        (-1, 133_100),
        (-2, 167_800),
        (-3, 211_600),
    ];
    for (number, cmil) in table {
        let gauge = Conductor::awg(number).unwrap();
        let off = (gauge.circular_mils() - cmil).abs();
        assert!(off * 1000 <= cmil, "{}: {} against {cmil}", gauge.print(), gauge.circular_mils());
    }
}

/// Diameter \[in\] and circular mils of solid wire to four figures, from a public table of copper wire
/// (an electronics text; its figures are the steps of ASTM B258).
#[test]
fn gauges_against_a_wire_table() {
    let table = [
        (-3, 0.4600, 211_600.0),
        (-2, 0.4096, 167_800.0),
        (-1, 0.3648, 133_100.0),
        (0, 0.3249, 105_500.0),
        (1, 0.2893, 83_690.0),
        (2, 0.2576, 66_370.0),
        (3, 0.2294, 52_630.0),
        (4, 0.2043, 41_740.0),
        (5, 0.1819, 33_100.0),
        (6, 0.1620, 26_250.0),
        (7, 0.1443, 20_820.0),
        (8, 0.1285, 16_510.0),
        (9, 0.1144, 13_090.0),
        (10, 0.1019, 10_380.0),
        (11, 0.090_74, 8_234.0),
        (12, 0.080_81, 6_530.0),
        (13, 0.071_96, 5_178.0),
        (14, 0.064_08, 4_107.0),
        (15, 0.057_07, 3_257.0),
        (16, 0.050_82, 2_583.0),
        (17, 0.045_26, 2_048.0),
        (18, 0.040_30, 1_624.0),
        (19, 0.035_89, 1_288.0),
        (20, 0.031_96, 1_022.0),
        (21, 0.028_46, 810.1),
        (22, 0.025_35, 642.5),
        (23, 0.022_57, 509.5),
        (24, 0.020_10, 404.0),
    ];
    /// Half of the fourth figure, and a fiftieth of that for figures that were rounded twice (22 AWG: 642.4496, printed 642.5).
    fn half(value: f64) -> f64 {
        0.51 * 10_f64.powf(value.log10().floor() - 3.0)
    }
    for (number, inches, cmil) in table {
        let gauge = Conductor::awg(number).unwrap();
        let diameter = gauge.solid_diameter().amount() as f64 / 25.4e6;
        assert!((diameter - inches).abs() <= half(inches), "{}: {diameter} in", gauge.print());
        let mils = gauge.area().amount() as f64 / 506.707_479;
        assert!((mils - cmil).abs() <= half(cmil), "{}: {mils} cmil", gauge.print());
    }
}

/// Areas of sizes in kcmil \[mm²\] as the model code tabulates them (chapter 9, table 8; three figures, from memory).
#[test]
fn kcmil_in_square_millimetres() {
    for (kcmil, mm2) in
        [(250, 127.0), (300, 152.0), (350, 177.0), (400, 203.0), (500, 253.0), (600, 304.0), (1000, 507.0)]
    {
        let area = Conductor::kcmil(kcmil).unwrap().area().amount() as f64 / 1e6;
        assert!((area - mm2).abs() <= 0.5, "{kcmil} kcmil: {area} mm²");
    }
}

/// IEEE Std 1003.1 (POSIX), "Seconds Since the Epoch": days by year and day of the year.
#[test]
fn days_follow_the_posix_formula() {
    let mut text_day = jiff::civil::date(1970, 1, 1);
    while text_day.year() < 2101 {
        let (year, day) = (i64::from(text_day.year()) - 1900, i64::from(text_day.day_of_year()) - 1);
        let days = day + (year - 70) * 365 + (year - 69) / 4 - (year - 1) / 100 + (year + 299) / 400;
        let quantity = parse(&text_day.to_string(), Dimension::Date).unwrap();
        assert_eq!(quantity, Quantity::new(Dimension::Date, days));
        assert_eq!(quantity.print(UnitSystem::Metric), text_day.to_string());
        text_day = text_day.tomorrow().unwrap();
    }
}
