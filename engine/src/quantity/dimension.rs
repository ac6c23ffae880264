//! What a quantity measures, and what comes of two dimensions under an operation.

/// What a quantity measures. The base unit of each is in brackets.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[repr(u8)]
pub enum Dimension {
    /// A count or plain factor \[10⁻⁹\].
    Number,
    /// A share of something, written in percent \[10⁻⁹\].
    Ratio,
    /// A length \[nm\].
    Length,
    /// An area of floor or of a conductor \[µm²\].
    Area,
    /// A volume of a box \[µm³\].
    Volume,
    /// A current \[µA\].
    Current,
    /// A voltage \[µV\].
    Voltage,
    /// Power or apparent power, W or VA \[µW\].
    Power,
    /// Load by floor area, VA/ft² or W/m² \[pW/m²\].
    PowerPerArea,
    /// A resistance \[nΩ\].
    Resistance,
    /// Resistance by length, ohms per 1000 ft or per km \[pΩ/m\].
    ResistancePerLength,
    /// A conductor size: AWG, kcmil or mm², ordered by cross-section (see [`Conductor`](super::Conductor)).
    Conductor,
    /// An angle \[µ°\].
    Angle,
    /// A temperature \[m°C\].
    Temperature,
    /// A mass \[mg\].
    Mass,
    /// A force \[µN\].
    Force,
    /// A turning moment, lbf·in or N·m \[µN·m\].
    Torque,
    /// A day \[days since 1970-01-01\].
    Date,
    /// A span of time \[ms\].
    Time,
}

use Dimension::*;

/// Products of physics: the first two give the third; the result's base unit is 10 to the fourth of the operands'.
const PRODUCTS: [(Dimension, Dimension, Dimension, u32); 7] = [
    (Length, Length, Area, 6),
    (Area, Length, Volume, 3),
    (Current, Voltage, Power, 6),
    (Current, Resistance, Voltage, 9),
    (ResistancePerLength, Length, Resistance, 12),
    (PowerPerArea, Area, Power, 18),
    (Force, Length, Torque, 9),
];

/// Base units of [`Number`] and [`Ratio`] in 1: ten to this.
const ONE: u32 = 9;

impl Dimension {
    /// All dimensions in the order of their declaration.
    pub const ALL: [Dimension; 19] = [
        Number,
        Ratio,
        Length,
        Area,
        Volume,
        Current,
        Voltage,
        Power,
        PowerPerArea,
        Resistance,
        ResistancePerLength,
        Conductor,
        Angle,
        Temperature,
        Mass,
        Force,
        Torque,
        Date,
        Time,
    ];

    /// Returns all dimensions in the order of their declaration.
    pub fn all() -> impl Iterator<Item = Dimension> {
        Dimension::ALL.into_iter()
    }

    /// Returns the name as people say it: `length`, `conductor size`.
    pub const fn name(self) -> &'static str {
        match self {
            Number => "number",
            Ratio => "percentage",
            Length => "length",
            Area => "area",
            Volume => "volume",
            Current => "current",
            Voltage => "voltage",
            Power => "power",
            PowerPerArea => "power per area",
            Resistance => "resistance",
            ResistancePerLength => "resistance per length",
            Conductor => "conductor size",
            Angle => "angle",
            Temperature => "temperature",
            Mass => "weight",
            Force => "force",
            Torque => "torque",
            Date => "date",
            Time => "time",
        }
    }

    /// Returns the name with its article: `a length`, `an area`.
    pub const fn with_article(self) -> &'static str {
        match self {
            Number => "a number",
            Ratio => "a percentage",
            Length => "a length",
            Area => "an area",
            Volume => "a volume",
            Current => "a current",
            Voltage => "a voltage",
            Power => "a power",
            PowerPerArea => "a power per area",
            Resistance => "a resistance",
            ResistancePerLength => "a resistance per length",
            Conductor => "a conductor size",
            Angle => "an angle",
            Temperature => "a temperature",
            Mass => "a weight",
            Force => "a force",
            Torque => "a torque",
            Date => "a date",
            Time => "a time",
        }
    }

    /// Returns one or two values as people write them, in backticks: `` `12 in` or `300 mm` ``.
    pub const fn examples(self) -> &'static str {
        match self {
            Number => "`2` or `0.25`",
            Ratio => "`3 %`",
            Length => "`12 in` or `300 mm`",
            Area => "`120 ft2` or `12 m2`",
            Volume => "`18 in3` or `300 cm3`",
            Current => "`20 A` or `6 mA`",
            Voltage => "`120 V`",
            Power => "`180 VA` or `1.5 kW`",
            PowerPerArea => "`3 VA/ft2` or `33 VA/m2`",
            Resistance => "`25 ohm` or `1 Mohm`",
            ResistancePerLength => "`3.14 ohm/kft` or `10.3 ohm/km`",
            Conductor => "`12 AWG` or `2.5 mm2`",
            Angle => "`90 deg`",
            Temperature => "`60 C` or `86 F`",
            Mass => "`50 lb` or `23 kg`",
            Force => "`5 lbf` or `22 N`",
            Torque => "`14 lbf-in` or `1.6 N-m`",
            Date => "`2023-05-10`",
            Time => "`25 ms` or `3 h`",
        }
    }

    /// Returns a line of help that says which units fit, for a bare number where a unit is due.
    pub const fn units_help(self) -> &'static str {
        match self {
            Number => "write a plain number such as `2` or `0.25`, without a unit",
            Ratio => "write a share in percent, such as `3 %`",
            Length => "a length is written in `in`, `ft`, `mm`, `cm` or `m`, such as `12 in`, `4 ft 6 in` or `300 mm`",
            Area => "an area is written in `in2`, `ft2`, `mm2`, `cm2`, `m2` or `cmil`, such as `120 ft2` or `12 m2`",
            Volume => "a volume is written in `in3`, `ft3`, `cm3` or `ml`, such as `18 in3` or `300 cm3`",
            Current => "a current is written in `A`, `mA` or `kA`, such as `20 A`",
            Voltage => "a voltage is written in `V`, `mV` or `kV`, such as `120 V`",
            Power => "a power is written in `VA`, `kVA`, `W` or `kW`, such as `180 VA` or `1.5 kW`",
            PowerPerArea => "a power per area is written in `VA/ft2` or `VA/m2`, such as `3 VA/ft2`",
            Resistance => "a resistance is written in `ohm`, `mohm`, `kohm` or `Mohm`, such as `25 ohm`",
            ResistancePerLength => {
                "a resistance per length is written in `ohm/kft` or `ohm/km`, such as `3.14 ohm/kft` or `10.3 ohm/km`"
            }
            Conductor => {
                "a conductor size is written in `AWG`, `kcmil` or `mm2`, such as `12 AWG`, `4/0 AWG`, `250 kcmil` or `2.5 mm2`"
            }
            Angle => "an angle is written in `deg`, such as `90 deg`",
            Temperature => "a temperature is written in `C` or `F`, such as `60 C` or `86 F`",
            Mass => "a weight is written in `lb`, `oz`, `kg` or `g`, such as `50 lb` or `23 kg`",
            Force => "a force is written in `lbf` or `N`, such as `5 lbf` or `22 N`",
            Torque => "a torque is written in `lbf-in`, `lbf-ft` or `N-m`, such as `14 lbf-in` or `1.6 N-m`",
            Date => "a date is written year-month-day, such as `2023-05-10`",
            Time => "a time is written in `ms`, `s`, `min` or `h`, such as `25 ms` or `3 h`",
        }
    }

    /// Returns whether amounts can be scaled, and divided by each other: not so for sizes, days and temperatures,
    /// whose zero is no "nothing".
    const fn scales(self) -> bool {
        !matches!(self, Conductor | Date | Temperature)
    }

    /// Returns the dimension of a sum, or `None` where adding makes no sense.
    pub fn sum(self, other: Dimension) -> Option<Dimension> {
        match (self, other) {
            (Date, Time) | (Time, Date) => Some(Date),
            (Conductor, _) | (Date, _) => None,
            _ => (self == other).then_some(self),
        }
    }

    /// Returns the dimension of a difference, or `None` where subtracting makes no sense.
    pub fn difference(self, other: Dimension) -> Option<Dimension> {
        match (self, other) {
            (Date, Date) => Some(Time),
            (Date, Time) => Some(Date),
            (Conductor, _) => None,
            _ => (self == other).then_some(self),
        }
    }

    /// Returns the dimension of a product, or `None` where multiplying makes no sense.
    ///
    /// A number or a percentage leaves the other operand's dimension; of the two together, the left one stays:
    /// twice 3 % is written `3 % * 2`, and 3 % of two `2 * 3 %`.
    pub fn product(self, other: Dimension) -> Option<Dimension> {
        self.product_scaled(other).map(|(dimension, _)| dimension)
    }

    /// Returns the dimension of a quotient, or `None` where dividing makes no sense.
    pub fn quotient(self, other: Dimension) -> Option<Dimension> {
        self.quotient_scaled(other).map(|(dimension, _)| dimension)
    }

    /// Returns a product's dimension and the power of ten that the raw product must be divided by.
    pub(super) fn product_scaled(self, other: Dimension) -> Option<(Dimension, u32)> {
        if matches!(other, Number | Ratio) {
            return self.scales().then_some((self, ONE));
        }
        if matches!(self, Number | Ratio) {
            return other.scales().then_some((other, ONE));
        }
        PRODUCTS
            .iter()
            .find(|&&(a, b, ..)| (a, b) == (self, other) || (b, a) == (self, other))
            .map(|&(_, _, result, power)| (result, power))
    }

    /// Returns a quotient's dimension and the power of ten that the dividend must be multiplied by first.
    pub(super) fn quotient_scaled(self, other: Dimension) -> Option<(Dimension, u32)> {
        if self == other {
            return self.scales().then_some((Number, ONE));
        }
        if matches!(other, Number | Ratio) {
            return self.scales().then_some((self, ONE));
        }
        PRODUCTS.iter().find_map(|&(a, b, product, power)| match (product == self, a == other, b == other) {
            (true, true, _) => Some((b, power)),
            (true, _, true) => Some((a, power)),
            _ => None,
        })
    }
}
