//! Reach from a wheelchair: how low and how high an operable part may be, over what stands before it.

use super::given::Traced;
use super::worksheet::{Line, Sheet};
use super::{Code, shown};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Which way a person reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Approach {
    /// The chair faces the wall.
    Forward,
    /// The chair stands along the wall.
    Side,
}

impl Approach {
    /// Returns the approach of a word of the job file.
    pub fn of(word: &str) -> Option<Approach> {
        match word {
            "forward" => Some(Approach::Forward),
            "side" => Some(Approach::Side),
            _ => None,
        }
    }
}

/// What stands between the chair and the operable part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Obstruction {
    /// How deep it is.
    pub depth: Traced,
    /// How high it is, where that matters.
    pub height: Option<Traced>,
}

/// How low and how high an operable part may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Lowest height.
    pub low: Quantity,
    /// Highest height; none where nothing may be placed behind such an obstruction.
    pub high: Option<Quantity>,
}

impl Reach {
    /// Returns whether parts from `low` to `high` are all within reach.
    pub fn holds(&self, low: Quantity, high: Quantity) -> bool {
        low.amount() >= self.low.amount() && self.high.is_some_and(|most| high.amount() <= most.amount())
    }
}

/// Returns the reach for an approach, over an obstruction if there is one.
///
/// # Errors
/// When the code lacks an entry, or the obstruction has a negative size.
pub fn reach(
    approach: Approach,
    obstruction: Option<Obstruction>,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<Reach, Problem> {
    let length = |key: &str| code.quantity(key, Dimension::Length);
    let low = length("reach.low")?;
    sheet.line(|| Line::new("lowest reach").total(low.quantity).by(low));
    let Some(obstruction) = obstruction else {
        let high = length("reach.high")?;
        sheet.line(|| Line::new("highest reach, nothing in the way").total(high.quantity).by(high));
        return Ok(Reach { low: low.quantity, high: Some(high.quantity) });
    };
    let depth = obstruction.depth;
    if depth.amount() < 0 {
        return Err(Problem::new(depth.span, "an obstruction cannot have a negative depth").label("this depth"));
    }
    let (free, shallow_high, most, deep_high) = match approach {
        Approach::Forward => (
            length("reach.forward.shallow_depth")?,
            length("reach.forward.shallow_high")?,
            length("reach.forward.depth_max")?,
            length("reach.forward.deep_high")?,
        ),
        Approach::Side => (
            length("reach.side.free_depth")?,
            length("reach.high")?,
            length("reach.side.depth_max")?,
            length("reach.side.deep_high")?,
        ),
    };
    if depth.amount() <= free.amount() {
        sheet.line(|| Line::new("highest reach over it").total(shallow_high.quantity).by(shallow_high).of(depth));
        return Ok(Reach { low: low.quantity, high: Some(shallow_high.quantity) });
    }
    let too_high = match (approach, obstruction.height) {
        (Approach::Side, Some(height)) => height.amount() > length("reach.side.obstruction_height")?.amount(),
        _ => false,
    };
    if depth.amount() > most.amount() || too_high {
        sheet.line(|| {
            let what = format!("nothing may be placed behind an obstruction of {}", shown(depth.quantity));
            Line::new(what).total(most.quantity).by(most).of(depth)
        });
        return Ok(Reach { low: low.quantity, high: None });
    }
    sheet.line(|| Line::new("highest reach over it").total(deep_high.quantity).by(deep_high).of(depth));
    Ok(Reach { low: low.quantity, high: Some(deep_high.quantity) })
}
