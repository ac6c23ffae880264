//! Cable makes: the size of the insulated conductors and their number, as on the sheath.

use super::error::{QuantityError, shown};
use super::parse::plain;
use super::{Conductor, ConductorUnit};

/// A cable make such as `12/2`: the grounding conductor is not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CableMake {
    /// Size of the insulated conductors.
    pub size: Conductor,
    /// Number of the insulated conductors.
    pub conductors: u8,
}

/// No cable for a building has more.
const MOST_CONDUCTORS: u8 = 99;

impl CableMake {
    /// Reads `12/2` or `12-2`, `4/0/3`, `2.5 mm2/2` or `250 kcmil/3`; a number alone is a gauge.
    ///
    /// # Errors
    /// [`QuantityError`] when the text is no cable make.
    pub fn parse(text: &str) -> Result<CableMake, QuantityError> {
        let wrong = || {
            QuantityError::new(
                format!("expected a cable make such as `12/2` or `2.5 mm2/2`, found `{}`", shown(text)),
                "write the size of the insulated conductors and their number: `12/2`, `14/3`, `2.5 mm2/2`, `250 kcmil/3`",
            )
        };
        let plain = plain(text).ok_or_else(wrong)?;
        // Crews write `12-2` as often as `12/2`.
        let (size, conductors) = plain
            .rsplit_once('/')
            .filter(|(size, _)| !size.contains('-'))
            .or_else(|| plain.rsplit_once('-'))
            .ok_or_else(wrong)?;
        let (size, conductors) = (size.trim(), conductors.trim());
        let count = Some(conductors)
            .filter(|digits| digits.bytes().all(|b| b.is_ascii_digit()))
            .and_then(|digits| digits.parse().ok())
            .filter(|count| (1..=MOST_CONDUCTORS).contains(count))
            .ok_or_else(wrong)?;
        let size = match Conductor::read(size, text) {
            Some(size) => size?,
            None => Conductor::read(&format!("{size} AWG"), text).and_then(Result::ok).ok_or_else(wrong)?,
        };
        Ok(CableMake { size, conductors: count })
    }

    /// Returns the make as it is written: `12/2`.
    pub fn print(self) -> String {
        let size = self.size.print();
        let size = match self.size.unit() {
            ConductorUnit::Awg => size.strip_suffix(" AWG").unwrap_or(&size),
            _ => &size,
        };
        format!("{size}/{}", self.conductors)
    }
}

impl std::fmt::Display for CableMake {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.print())
    }
}
