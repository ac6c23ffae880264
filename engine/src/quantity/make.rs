//! Cable makes.
/// A make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CableMake;
