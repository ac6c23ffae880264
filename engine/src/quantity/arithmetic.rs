//! Arithmetic that refuses mixed dimensions and overflow.
/// Why two quantities can't be put together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ArithmeticError(pub String);
