//! Writing quantities as people do.

use super::decimal;
use super::units::{self, Unit};
use super::{Conductor, Dimension, Quantity};

/// The units of a place or shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UnitSystem {
    /// in, ft, ft², in³, lb.
    Customary,
    /// mm, m, m², cm³, kg.
    Metric,
}

/// The finest part of an inch that a length is rounded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fraction {
    /// 1/2 in.
    Half,
    /// 1/4 in.
    Quarter,
    /// 1/8 in.
    Eighth,
    /// 1/16 in, as on most tapes.
    Sixteenth,
    /// 1/32 in.
    ThirtySecond,
    /// 1/64 in.
    SixtyFourth,
}

impl Fraction {
    /// Returns the part's length \[nm\].
    const fn nanometres(self) -> i64 {
        match self {
            Fraction::Half => INCH / 2,
            Fraction::Quarter => INCH / 4,
            Fraction::Eighth => INCH / 8,
            Fraction::Sixteenth => INCH / 16,
            Fraction::ThirtySecond => INCH / 32,
            Fraction::SixtyFourth => SIXTY_FOURTH,
        }
    }
}

const INCH: i64 = 25_400_000;
const SIXTY_FOURTH: i64 = 396_875;
const MILLIMETRE: i64 = 1_000_000;

/// From this length on, inches are gathered into feet: 18 in, but 4 ft 6 in.
const FEET_FROM: u64 = 24 * INCH as u64;
/// From this length on, millimetres become metres.
const METRES_FROM: u64 = 10_000 * MILLIMETRE as u64;

/// Decimals that lose nothing whatever the unit.
const ALL_PLACES: u32 = 18;

impl Quantity {
    /// Returns the quantity as people write it: `4 ft 6 in`, `12 1/2 in`, `1370 mm`, `20 A`, `12 AWG`, `18 in3`, `3 %`.
    ///
    /// Customary lengths are in inches below 2 ft, then in feet and inches, with fractions down to 1/64 in. A length that no
    /// such fraction gives is in decimal inches if four decimals are exact, and stays metric if it is a whole number of tenths
    /// of a millimetre: it was given in millimetres. Metric lengths are in mm below 10 m, then in m. Anything else is rounded.
    /// What is a multiple of 1/64 in or of 1 mm is never rounded.
    pub fn print(self, system: UnitSystem) -> String {
        match self.dimension() {
            Dimension::Length => length(self.amount(), system),
            Dimension::Conductor => self.conductor(),
            Dimension::Date => self.day(),
            Dimension::Time => self.time(),
            _ => {
                let (unit, places) = self.unit(system);
                match decimal::write(self.amount(), unit.num, unit.den, places) {
                    // What is there must not be shown as nothing.
                    Some(text) if self.amount() == 0 || text != "0" => with_unit(&text, unit),
                    _ => self.exact(system),
                }
            }
        }
    }

    /// Returns a form that [`parse`](super::parse) reads back as the very same amount.
    pub fn exact(self, system: UnitSystem) -> String {
        match self.dimension() {
            Dimension::Length => exact_length(self.amount(), system),
            Dimension::Conductor | Dimension::Date | Dimension::Time => self.print(system),
            _ => {
                let preferred = self.unit(system).0;
                let fallback = units::named(exact_unit(self.dimension()));
                [preferred, fallback].into_iter().find_map(|unit| shortest(self, unit)).unwrap_or_default()
            }
        }
    }

    /// Returns the printed form, or the exact one where `other` would look the same although it is not:
    /// 3.001 % beside a limit of 3 %.
    pub fn print_beside(self, other: Quantity, system: UnitSystem) -> String {
        let text = self.print(system);
        let alike = self.dimension() == other.dimension() && self != other && text == other.print(system);
        if alike { self.exact(system) } else { text }
    }

    /// Returns a length rounded to the nearest part of an inch, or millimetre, half to even, for marking out.
    /// Other dimensions are printed as always.
    pub fn print_nearest(self, system: UnitSystem, finest: Fraction) -> String {
        if self.dimension() != Dimension::Length {
            return self.print(system);
        }
        let step = match system {
            UnitSystem::Customary => finest.nanometres(),
            UnitSystem::Metric => MILLIMETRE,
        };
        let steps = decimal::divide(i128::from(self.amount()), i128::from(step));
        match i64::try_from(steps * i128::from(step)) {
            Ok(rounded) => length(rounded, system),
            Err(_) => self.print(system),
        }
    }

    /// Returns the amount as a number and its unit, for programs: 13.125 and `in`, 2400 and `VA`, 4 and nothing for a count. A
    /// conductor size is its cross-section in mm². A day is no number.
    pub fn in_unit(self, system: UnitSystem) -> Option<(f64, &'static str)> {
        let (amount, unit) = match self.dimension() {
            Dimension::Date => return None,
            Dimension::Conductor => (self.amount() / 8, units::named("mm2")),
            Dimension::Length if system == UnitSystem::Customary => (self.amount(), units::named("in")),
            Dimension::Length => (self.amount(), units::named("mm")),
            Dimension::Time => return Some((self.amount() as f64 / 1000.0, "s")),
            _ => (self.amount(), self.unit(system).0),
        };
        // Every unit is a fraction of whole numbers: one division keeps what people write as it is.
        Some((amount as f64 * unit.den as f64 / unit.num as f64, unit.name))
    }

    /// Returns the unit that an amount is printed in, and how many decimals it gets.
    fn unit(self, system: UnitSystem) -> (&'static Unit, u32) {
        let customary = system == UnitSystem::Customary;
        let size = self.amount().unsigned_abs();
        let (name, places) = match self.dimension() {
            Dimension::Ratio => ("%", 2),
            Dimension::Area if customary && size < 92_903_040_000 => ("in2", 4),
            Dimension::Area if customary => ("ft2", 2),
            Dimension::Area if size < 100_000_000_000 => ("mm2", 3),
            Dimension::Area => ("m2", 3),
            Dimension::Volume if customary => ("in3", 3),
            Dimension::Volume => ("cm3", 2),
            Dimension::Current if (1..100_000).contains(&size) => ("mA", 3),
            Dimension::Current => ("A", 3),
            Dimension::Voltage => ("V", 3),
            Dimension::Power => ("VA", 2),
            Dimension::PowerPerArea if customary => ("VA/ft2", 3),
            Dimension::PowerPerArea => ("VA/m2", 2),
            Dimension::Resistance if size >= 1_000_000_000_000_000 => ("Mohm", 3),
            Dimension::Resistance if (1..100_000_000).contains(&size) => ("mohm", 3),
            Dimension::Resistance => ("ohm", 3),
            Dimension::ResistancePerLength if customary => ("ohm/kft", 4),
            Dimension::ResistancePerLength => ("ohm/km", 4),
            Dimension::Angle => ("deg", 2),
            Dimension::Temperature => ("C", 1),
            Dimension::Mass if customary => ("lb", 2),
            Dimension::Mass => ("kg", 3),
            Dimension::Force if customary => ("lbf", 2),
            Dimension::Force => ("N", 2),
            Dimension::Torque if customary => ("lbf-in", 2),
            Dimension::Torque => ("N-m", 2),
            _ => ("", 4),
        };
        (units::named(name), places)
    }

    fn conductor(self) -> String {
        match Conductor::of(self) {
            Some(size) => size.print(),
            // No size that was ever read; shown as an area, so that a report of it makes sense.
            None => Quantity::new(Dimension::Area, self.amount() / 8).exact(UnitSystem::Metric),
        }
    }

    fn day(self) -> String {
        match self.to_date() {
            Some(date) => date.to_string(),
            None => format!("day {}", self.amount()),
        }
    }

    /// Returns a time in the largest unit that it is a whole number of.
    fn time(self) -> String {
        let (name, size) = [("h", 3_600_000), ("min", 60_000), ("s", 1000)]
            .into_iter()
            .find(|&(_, size)| self.amount() != 0 && self.amount() % size == 0)
            .unwrap_or(if self.amount() == 0 { ("s", 1000) } else { ("ms", 1) });
        format!("{} {name}", self.amount() / size)
    }
}

/// Returns a unit of a dimension in which every amount is a finite decimal.
fn exact_unit(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Area => "mm2",
        Dimension::Volume => "cm3",
        Dimension::PowerPerArea => "VA/m2",
        Dimension::Resistance => "ohm",
        Dimension::ResistancePerLength => "ohm/km",
        Dimension::Mass => "kg",
        Dimension::Force => "N",
        Dimension::Torque => "N-m",
        Dimension::Current => "A",
        _ => "",
    }
}

/// Returns the shortest decimal that reads back as the amount.
fn shortest(quantity: Quantity, unit: &Unit) -> Option<String> {
    (0..=ALL_PLACES).find_map(|places| {
        let text = with_unit(&decimal::write(quantity.amount(), unit.num, unit.den, places)?, unit);
        (super::parse(&text, quantity.dimension()).ok()? == quantity).then_some(text)
    })
}

fn with_unit(number: &str, unit: &Unit) -> String {
    if unit.name.is_empty() { number.to_owned() } else { format!("{number} {}", unit.name) }
}

fn length(nm: i64, system: UnitSystem) -> String {
    let size = nm.unsigned_abs();
    match system {
        UnitSystem::Customary if nm % SIXTY_FOURTH == 0 => feet_and_inches(nm),
        UnitSystem::Customary => match inches(nm, 4) {
            (text, true) => text,
            _ if nm % (MILLIMETRE / 10) == 0 => length(nm, UnitSystem::Metric),
            // What is there must not be shown as nothing.
            _ if size < INCH as u64 / 1000 => metric(nm, 6),
            _ => inches(nm, 3).0,
        },
        UnitSystem::Metric if size < MILLIMETRE as u64 / 100 => metric(nm, 6),
        UnitSystem::Metric => {
            let places = if nm % SIXTY_FOURTH == 0 { 6 } else { 2 };
            metric(nm, if size < METRES_FROM { places } else { places + 3 })
        }
    }
}

fn exact_length(nm: i64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Customary if nm % SIXTY_FOURTH == 0 => feet_and_inches(nm),
        UnitSystem::Customary => match inches(nm, 7) {
            (text, true) => text,
            _ => metric(nm, 9),
        },
        UnitSystem::Metric => metric(nm, 9),
    }
}

/// Returns decimal inches, and whether they are exact.
fn inches(nm: i64, places: u32) -> (String, bool) {
    let inch = i128::from(INCH);
    let number = decimal::write(nm, inch, 1, places).unwrap_or_default();
    (format!("{number} in"), i128::from(nm) * 10_i128.pow(places) % inch == 0)
}

fn metric(nm: i64, places: u32) -> String {
    let unit = units::named(if nm.unsigned_abs() < METRES_FROM { "mm" } else { "m" });
    with_unit(&decimal::write(nm, unit.num, unit.den, places).unwrap_or_default(), unit)
}

fn feet_and_inches(nm: i64) -> String {
    let sign = if nm < 0 { "-" } else { "" };
    let size = nm.unsigned_abs();
    let parts = size / SIXTY_FOURTH.unsigned_abs();
    let (whole, part) = (parts / 64, parts % 64);
    if size < FEET_FROM {
        return format!("{sign}{} in", mixed(whole, part));
    }
    let (feet, whole) = (whole / 12, whole % 12);
    if whole == 0 && part == 0 {
        return format!("{sign}{feet} ft");
    }
    format!("{sign}{feet} ft {} in", mixed(whole, part))
}

/// Writes a whole number and sixty-fourths as `1 1/2`.
fn mixed(whole: u64, part: u64) -> String {
    if part == 0 {
        return whole.to_string();
    }
    // 64 is a power of two: the common factor is the lowest set bit.
    let factor = 1 << part.trailing_zeros();
    let fraction = format!("{}/{}", part / factor, 64 / factor);
    if whole == 0 { fraction } else { format!("{whole} {fraction}") }
}
