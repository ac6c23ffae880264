//! Trade forms out.
/// Units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitSystem {
    /// in, ft, AWG.
    Customary,
    /// mm, m, mm².
    Metric,
}
/// Finest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fraction;
