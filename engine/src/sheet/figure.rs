//! One figure of the book as papers use it: its value and who set it, or what the book lacks.

use crate::book::{Book, Scalar, Value};
use crate::quantity::{Dimension, Quantity};

/// A figure that a paper needs from the code or the shop's book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Its name in the book: `takeoff.waste`.
    pub key: String,
    /// Its value, for a quantity.
    pub quantity: Option<Quantity>,
    /// Its value as it was written; none where no ruleset in force sets it.
    pub text: Option<String>,
    /// Citation of who set it last.
    pub cite: String,
    /// Where it was read.
    pub source: String,
    /// Whether somebody compared it with the law or with a page of the authority.
    pub verified: bool,
}

impl Figure {
    /// Returns a figure of the book.
    pub fn of(book: &Book, key: &str) -> Figure {
        let none = Figure {
            key: key.to_owned(),
            quantity: None,
            text: None,
            cite: String::new(),
            source: String::new(),
            verified: false,
        };
        let Some(entry) = book.get(key) else { return none };
        let (Value::Scalar(scalar), Some(latest)) = (&entry.value, entry.latest()) else { return none };
        Figure {
            quantity: match scalar {
                Scalar::Quantity(quantity) => Some(*quantity),
                _ => None,
            },
            text: Some(latest.value.clone()),
            cite: latest.cites.clone(),
            source: latest.source.clone(),
            verified: latest.checked.is_verified(),
            ..none
        }
    }

    /// Returns the value as an amount of a dimension, in base units.
    pub fn amount(&self, dimension: Dimension) -> Option<i64> {
        self.quantity.filter(|quantity| quantity.dimension() == dimension).map(Quantity::amount)
    }

    /// Says what the book lacks, for a figure without a value.
    pub fn lack(&self, what: &str) -> Option<String> {
        self.text
            .is_none()
            .then(|| format!("{what}: no ruleset in force sets `{}`; a shop book (`site.shop`) can", self.key))
    }
}
