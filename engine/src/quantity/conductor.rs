//! Conductor sizes: AWG, kcmil and mm², ordered by cross-section.

use super::decimal::{self, Decimal, Scaled};
use super::error::{QuantityError, comma, shown, too_large};
use super::gauge;
use super::{Dimension, Quantity};

/// The unit a conductor size is stated in. Sizes of different units are different products, however near their areas.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ConductorUnit {
    /// American wire gauge.
    Awg,
    /// Thousands of circular mils.
    Kcmil,
    /// Square millimetres.
    Mm2,
}

/// A conductor size: its cross-section \[µm²\] and the unit it is stated in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Conductor {
    area: i64,
    unit: ConductorUnit,
}

/// Thousandths of a kcmil (circular mils) that sizes in kcmil are kept to.
const CMIL_PER_KCMIL: i64 = 1000;

/// π/4 × (25.4 µm)² × 10¹² \[µm²\].
const CMIL: i128 = 506_707_479_097_498;
const CMIL_DEN: i128 = 1_000_000_000_000;

/// Sizes sold in kcmil; 4/0 AWG, the largest gauge, is 211.6 kcmil.
const KCMIL_SIZES: std::ops::RangeInclusive<i64> = 213 * CMIL_PER_KCMIL..=2000 * CMIL_PER_KCMIL;

/// Room for the unit below the area in an amount.
const TAGS: i64 = 8;

impl Conductor {
    /// Returns the size of a gauge number from 40 down to 1, then 0 for 1/0, -1 for 2/0, -2 for 3/0 and -3 for 4/0.
    pub fn awg(number: i8) -> Option<Conductor> {
        gauge::area(number).map(|area| Conductor { area, unit: ConductorUnit::Awg })
    }

    /// Returns a size in kcmil, from 213 to 2000.
    pub fn kcmil(size: u32) -> Option<Conductor> {
        Conductor::circular(i64::from(size) * CMIL_PER_KCMIL)
    }

    /// Returns a size by its cross-section \[µm²\]: 2.5 mm² is 2 500 000.
    pub fn mm2(square_micrometres: i64) -> Option<Conductor> {
        let fits = (1..=i64::MAX / TAGS - 1).contains(&square_micrometres);
        fits.then_some(Conductor { area: square_micrometres, unit: ConductorUnit::Mm2 })
    }

    fn circular(cmil: i64) -> Option<Conductor> {
        let area = decimal::divide(i128::from(cmil) * CMIL, CMIL_DEN);
        let area = i64::try_from(area).ok()?;
        KCMIL_SIZES.contains(&cmil).then_some(Conductor { area, unit: ConductorUnit::Kcmil })
    }

    /// Returns the size in a quantity of [`Dimension::Conductor`], or `None` for another dimension or an amount that is no size.
    pub fn of(quantity: Quantity) -> Option<Conductor> {
        if quantity.dimension() != Dimension::Conductor || quantity.amount() <= 0 {
            return None;
        }
        let area = quantity.amount() / TAGS;
        let unit = match quantity.amount() % TAGS {
            0 => ConductorUnit::Awg,
            1 => ConductorUnit::Kcmil,
            2 => ConductorUnit::Mm2,
            _ => return None,
        };
        let conductor = Conductor { area, unit };
        let is_size = match unit {
            ConductorUnit::Awg => gauge::number(area).is_some(),
            ConductorUnit::Kcmil => Conductor::circular(conductor.circular_mils()) == Some(conductor),
            ConductorUnit::Mm2 => area > 0,
        };
        is_size.then_some(conductor)
    }

    /// Returns the size as a quantity: amounts order by cross-section.
    pub const fn to_quantity(self) -> Quantity {
        let tag = match self.unit {
            ConductorUnit::Awg => 0,
            ConductorUnit::Kcmil => 1,
            ConductorUnit::Mm2 => 2,
        };
        Quantity::new(Dimension::Conductor, self.area * TAGS + tag)
    }

    /// Returns the unit that the size is stated in.
    pub const fn unit(self) -> ConductorUnit {
        self.unit
    }

    /// Returns the gauge number as in [`Conductor::awg`], or `None` for a size in another unit.
    pub fn gauge(self) -> Option<i8> {
        (self.unit == ConductorUnit::Awg).then(|| gauge::number(self.area)).flatten()
    }

    /// Returns the cross-section of the metal. That of a gauge follows ASTM B258 without rounding its diameter.
    pub const fn area(self) -> Quantity {
        Quantity::new(Dimension::Area, self.area)
    }

    /// Returns the cross-section in circular mils, rounded.
    pub fn circular_mils(self) -> i64 {
        let cmil = decimal::divide(i128::from(self.area) * CMIL_DEN, CMIL);
        i64::try_from(cmil).unwrap_or(i64::MAX)
    }

    /// Returns the diameter of a round solid wire of this cross-section, without insulation.
    pub fn solid_diameter(self) -> Quantity {
        let nm = self.gauge().and_then(gauge::diameter).unwrap_or_else(|| gauge::diameter_of(self.area));
        Quantity::new(Dimension::Length, nm)
    }

    /// Returns the size as people write it: `12 AWG`, `4/0 AWG`, `250 kcmil`, `2.5 mm2`. It stays in its own unit everywhere.
    pub fn print(self) -> String {
        match (self.unit, self.gauge()) {
            (ConductorUnit::Awg, Some(number @ 1..)) => format!("{number} AWG"),
            (ConductorUnit::Awg, Some(number)) => format!("{}/0 AWG", 1 - i32::from(number)),
            (ConductorUnit::Kcmil, _) => {
                let size = decimal::write(self.circular_mils(), i128::from(CMIL_PER_KCMIL), 1, 3);
                format!("{} kcmil", size.unwrap_or_default())
            }
            _ => format!("{} mm2", decimal::write(self.area, 1_000_000, 1, 6).unwrap_or_default()),
        }
    }

    /// Reads a size. Returns `None` for a text that does not end in a unit of conductor sizes; `written` is what the messages show.
    pub(super) fn read(text: &str, written: &str) -> Option<Result<Conductor, QuantityError>> {
        let start = text.find(|c: char| c.is_ascii_alphabetic())?;
        let (number, unit) = text.split_at(start);
        let number = number.trim();
        let read = match unit {
            _ if unit.eq_ignore_ascii_case("awg") => Conductor::read_awg(number, written),
            _ if unit.eq_ignore_ascii_case("kcmil") || unit.eq_ignore_ascii_case("mcm") => {
                Conductor::read_kcmil(number, written)
            }
            "mm2" | "mm^2" => Conductor::read_mm2(number, written),
            _ => return None,
        };
        Some(read)
    }

    fn read_awg(number: &str, text: &str) -> Result<Conductor, QuantityError> {
        let gauge = match number {
            "1/0" => Some(0),
            "2/0" => Some(-1),
            "3/0" => Some(-2),
            "4/0" => Some(-3),
            // `0` and `00` are gauges too, but one way to write them is enough, and a stray zero none.
            _ if number.starts_with('0') || !number.bytes().all(|b| b.is_ascii_digit()) => None,
            _ => number.parse().ok(),
        };
        gauge.and_then(Conductor::awg).ok_or_else(|| {
            QuantityError::new(
                format!("there is no gauge `{}`", shown(text)),
                "gauges run from `40 AWG` to `1 AWG` and from `1/0 AWG` to `4/0 AWG`; larger sizes are in kcmil",
            )
        })
    }

    fn read_kcmil(number: &str, text: &str) -> Result<Conductor, QuantityError> {
        let cmil = match Conductor::number(number, text)?.scale(i128::from(CMIL_PER_KCMIL), 1, 0) {
            Scaled::Exact(cmil) => Some(cmil),
            Scaled::Rounded(_) | Scaled::TooLarge => None,
        };
        cmil.and_then(Conductor::circular).ok_or_else(|| {
            QuantityError::new(
                format!("there is no conductor of `{}`", shown(text)),
                "sizes in kcmil run from `213 kcmil` to `2000 kcmil`; smaller ones are gauges such as `4/0 AWG`",
            )
        })
    }

    fn read_mm2(number: &str, text: &str) -> Result<Conductor, QuantityError> {
        match Conductor::number(number, text)?.scale(1_000_000, 1, 0) {
            Scaled::Exact(area) => Conductor::mm2(area).ok_or_else(|| {
                if area > 0 {
                    return too_large(text);
                }
                QuantityError::new(
                    format!("`{}` is no conductor at all", shown(text)),
                    Dimension::Conductor.units_help(),
                )
            }),
            Scaled::Rounded(_) => Err(QuantityError::new(
                format!("`{}` has more decimals than a conductor size can keep", shown(text)),
                "write at most six decimals of a mm2",
            )),
            Scaled::TooLarge => Err(too_large(text)),
        }
    }

    fn number(number: &str, text: &str) -> Result<Decimal, QuantityError> {
        match decimal::unsigned(number) {
            Ok((decimal, "")) if !decimal.is_fraction => Ok(decimal),
            _ if number.contains(',') => Err(comma(text)),
            _ => Err(QuantityError::new(
                format!("`{}` is no conductor size", shown(text)),
                Dimension::Conductor.units_help(),
            )),
        }
    }
}
