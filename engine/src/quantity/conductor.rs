//! Conductor sizes.
/// A size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Conductor;
/// The unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ConductorUnit {
    /// AWG.
    Awg,
    /// kcmil.
    Kcmil,
    /// mm².
    Mm2,
}
