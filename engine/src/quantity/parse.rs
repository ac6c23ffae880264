//! Trade forms.
use super::{Dimension, Quantity};
/// Why a text is no quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError(pub String);
/// Parses.
pub fn parse(_text: &str, _want: Dimension) -> Result<Quantity, QuantityError> {
    Err(QuantityError(String::new()))
}
