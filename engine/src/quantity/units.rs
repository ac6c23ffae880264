//! The units people write, each with its exact size in base units.
//!
//! Sizes follow the international yard and pound of 1959 (1 yd = 0.9144 m, 1 lb = 0.453 592 37 kg) and NIST SP 811
//! (standard gravity 9.806 65 m/s² behind the pound-force). Only the circular mil (π/4 mil²) is no fraction; 15 digits stand for it.

use super::Dimension;
use Dimension::*;

/// A unit: `num / den` base units of its dimension.
#[derive(Debug)]
pub(super) struct Unit {
    pub(super) dimension: Dimension,
    /// How it is printed.
    pub(super) name: &'static str,
    /// How else it is written, without spaces, dots, dashes and carets.
    pub(super) also: &'static [&'static str],
    /// Capitals don't matter: no other unit differs from it by capitals only.
    pub(super) any_case: bool,
    pub(super) num: i128,
    pub(super) den: i128,
    /// Base units times `den` to take off: the zero of °F.
    pub(super) offset: i128,
}

const fn unit(dimension: Dimension, name: &'static str, also: &'static [&'static str], num: i128, den: i128) -> Unit {
    Unit { dimension, name, also, any_case: true, num, den, offset: 0 }
}

/// A unit whose capitals matter: `mohm` and `Mohm`, `mA` (no `MA`), `m` and `M`.
const fn strict(dimension: Dimension, name: &'static str, also: &'static [&'static str], num: i128, den: i128) -> Unit {
    Unit { dimension, name, also, any_case: false, num, den, offset: 0 }
}

/// Square feet in a square metre, times 9 290 304: 1 ft² = 0.092 903 04 m².
const FT2: i128 = 9_290_304;

/// All units but those of conductor sizes and dates, by dimension, the commonest first.
pub(super) const UNITS: &[Unit] = &[
    strict(Ratio, "%", &["percent"], 10_000_000, 1),
    unit(Length, "in", &["\"", "inch", "inches"], 25_400_000, 1),
    unit(Length, "ft", &["'", "foot", "feet"], 304_800_000, 1),
    unit(Length, "mm", &[], 1_000_000, 1),
    strict(Length, "m", &["metre", "metres", "meter", "meters"], 1_000_000_000, 1),
    unit(Length, "cm", &[], 10_000_000, 1),
    unit(Length, "km", &[], 1_000_000_000_000, 1),
    unit(Area, "ft2", &["sqft", "squarefeet", "squarefoot"], FT2 * 10_000, 1),
    unit(Area, "in2", &["sqin", "squareinches", "squareinch"], 645_160_000, 1),
    unit(Area, "mm2", &["sqmm"], 1_000_000, 1),
    unit(Area, "cm2", &["sqcm"], 100_000_000, 1),
    strict(Area, "m2", &["sqm"], 1_000_000_000_000, 1),
    // π/4 × (25.4 µm)² = 506.707 479 097 498 µm²
    unit(Area, "cmil", &["circularmil", "circularmils"], 506_707_479_097_498, 1_000_000_000_000),
    unit(Volume, "in3", &["cuin", "cubicinches", "cubicinch"], 16_387_064_000_000, 1),
    unit(Volume, "cm3", &["cucm", "ml"], 1_000_000_000_000, 1),
    unit(Volume, "mm3", &["cumm"], 1_000_000_000, 1),
    unit(Volume, "ft3", &["cuft", "cubicfeet", "cubicfoot"], 16_387_064_000_000 * 1728, 1),
    unit(Volume, "l", &["litre", "litres", "liter", "liters", "dm3"], 1_000_000_000_000_000, 1),
    strict(Volume, "m3", &[], 1_000_000_000_000_000_000, 1),
    unit(Current, "A", &["amp", "amps", "ampere", "amperes"], 1_000_000, 1),
    strict(Current, "mA", &[], 1000, 1),
    unit(Current, "kA", &[], 1_000_000_000, 1),
    unit(Voltage, "V", &["volt", "volts"], 1_000_000, 1),
    strict(Voltage, "mV", &[], 1000, 1),
    unit(Voltage, "kV", &[], 1_000_000_000, 1),
    unit(Power, "VA", &[], 1_000_000, 1),
    unit(Power, "W", &["watt", "watts"], 1_000_000, 1),
    unit(Power, "kVA", &[], 1_000_000_000, 1),
    unit(Power, "kW", &[], 1_000_000_000, 1),
    unit(PowerPerArea, "VA/ft2", &["W/ft2", "VA/sqft", "W/sqft"], 100_000_000_000_000_000_000 / 64, FT2 / 64),
    strict(PowerPerArea, "VA/m2", &["W/m2", "VA/sqm", "W/sqm"], 1_000_000_000_000, 1),
    unit(Resistance, "ohm", &["ohms"], 1_000_000_000, 1),
    strict(Resistance, "mohm", &["mohms", "mOhm"], 1_000_000, 1),
    unit(Resistance, "kohm", &["kohms"], 1_000_000_000_000, 1),
    strict(Resistance, "Mohm", &["Mohms", "MOhm", "megohm", "megohms"], 1_000_000_000_000_000, 1),
    strict(Resistance, "uohm", &["uohms"], 1000, 1),
    // 1000 ft = 304.8 m
    unit(ResistancePerLength, "ohm/kft", &["ohms/kft", "ohm/1000ft", "ohms/1000ft"], 10_000_000_000_000, 3048),
    unit(ResistancePerLength, "ohm/km", &["ohms/km"], 1_000_000_000, 1),
    strict(ResistancePerLength, "mohm/m", &["mV/A/m"], 1_000_000_000, 1),
    strict(ResistancePerLength, "ohm/m", &["ohms/m"], 1_000_000_000_000, 1),
    unit(ResistancePerLength, "ohm/ft", &["ohms/ft"], 10_000_000_000_000_000, 3048),
    unit(Angle, "deg", &["degree", "degrees"], 1_000_000, 1),
    unit(Temperature, "C", &["degC"], 1000, 1),
    Unit { dimension: Temperature, name: "F", also: &["degF"], any_case: true, num: 5000, den: 9, offset: 32 * 5000 },
    unit(Mass, "lb", &["lbs", "pound", "pounds"], 45_359_237, 100),
    unit(Mass, "oz", &["ounce", "ounces"], 45_359_237, 1600),
    unit(Mass, "kg", &[], 1_000_000, 1),
    strict(Mass, "g", &[], 1000, 1),
    strict(Mass, "mg", &[], 1, 1),
    // 0.453 592 37 kg × 9.806 65 m/s² = 4.448 221 615 260 5 N
    unit(Force, "lbf", &[], 44_482_216_152_605, 10_000_000),
    unit(Force, "N", &["newton", "newtons"], 1_000_000, 1),
    unit(Force, "kN", &[], 1_000_000_000, 1),
    // × 0.0254 m and × 0.3048 m
    unit(Torque, "lbf-in", &["lbfin", "inlbf", "lbin", "inlb", "inlbs"], 1_129_848_290_276_167, 10_000_000_000),
    unit(Torque, "lbf-ft", &["lbfft", "ftlbf", "lbft", "ftlb", "ftlbs"], 13_558_179_483_314_004, 10_000_000_000),
    unit(Torque, "N-m", &["Nm"], 1_000_000, 1),
    strict(Time, "ms", &[], 1, 1),
    unit(Time, "s", &["sec", "second", "seconds"], 1000, 1),
    unit(Time, "min", &["minute", "minutes"], 60_000, 1),
    unit(Time, "h", &["hr", "hour", "hours"], 3_600_000, 1),
];

/// The unit of plain numbers.
pub(super) static PLAIN: Unit = strict(Number, "", &[], 1_000_000_000, 1);

impl Unit {
    /// Returns whether a unit is written so.
    fn is_written(&self, text: &str) -> bool {
        let same = |name: &str| if self.any_case { name.eq_ignore_ascii_case(text) } else { name == text };
        same(self.name) || self.also.iter().any(|name| same(name))
    }
}

/// Returns the unit that a text names, among those of a dimension or among all.
pub(super) fn find(text: &str, of: Option<Dimension>) -> Option<&'static Unit> {
    if text.len() > 32 || !text.starts_with(|c: char| c.is_ascii_alphabetic() || "%\"'".contains(c)) {
        return None;
    }
    let look = |text: &str| UNITS.iter().find(|u| of.is_none_or(|d| d == u.dimension) && u.is_written(text));
    look(text).or_else(|| {
        // `sq. ft`, `lbf in`, `N-m`, `in^2`
        let plain: String = text.chars().filter(|c| !matches!(c, ' ' | '\t' | '.' | '-' | '^')).collect();
        (plain.len() != text.len()).then(|| look(&plain)).flatten()
    })
}

/// Returns the unit with a printed name.
pub(super) fn named(name: &str) -> &'static Unit {
    UNITS.iter().find(|unit| unit.name == name).unwrap_or(&PLAIN)
}
