//! What no written amount can be: a wall has no negative length and half a gang does not exist.
//!
//! This is about nonsense, never about a code: what is allowed stands in rulesets.

use crate::model::{FieldSpec, Type};
use crate::quantity::Dimension;

/// The least that an amount can be.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Least {
    /// Anything, negative amounts too.
    Any,
    /// Nothing, or more.
    Zero,
    /// More than nothing.
    More,
}

/// The bounds of a field's amount.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Limit {
    pub(crate) least: Least,
    /// Only whole numbers.
    pub(crate) whole: bool,
}

/// Fields whose amounts may be negative, though their dimension seldom is.
const SIGNED: &[(&str, &str)] = &[
    ("room", "storey"),
    ("box", "set_back"),
    ("box", "proud"),
    ("device", "above_counter"),
    ("device", "above_tub"),
    ("luminaire", "above_tub"),
    ("wall", "first_stud"),
];

/// Fields that can't be zero: a thing without them would not be there.
const POSITIVE: &[(&str, &[&str])] = &[
    ("site", &["floor_area", "ceiling", "line_to_neutral", "line_to_line", "service_rating", "service_conductor"]),
    ("panel", &["rating", "main", "spaces", "feeder_size", "tandem_positions", "most_poles", "grounds_allowed"]),
    ("circuit", &["positions", "rating", "poles", "voltage"]),
    ("room", &["length", "width", "ceiling", "area"]),
    ("wall", &["length", "stud_spacing", "stud_depth"]),
    ("opening", &["width", "height"]),
    ("counter", &["length", "depth"]),
    ("counter_break", &["width"]),
    ("basin", &["width"]),
    ("box", &["body_height", "body_depth", "gangs", "volume", "fixture_wire_size", "opening_least"]),
    ("device", &["rating", "voltage", "gangs"]),
    ("appliance", &["width", "voltage", "current", "min_ampacity", "max_breaker"]),
    ("cable", &["ground_size", "length", "diameter", "cables_per_staple"]),
    ("hole", &["cables"]),
    ("raceway", &["trade_size", "length"]),
    ("raceway_conductor", &["size", "number"]),
    ("feeder", &["breaker", "size", "length", "wires", "ground_size"]),
    ("building", &["supplies", "disconnect_rating", "disconnects"]),
    ("electrode", &["number", "size", "conductor"]),
];

impl Limit {
    /// Returns the bounds of a field of a kind.
    pub(crate) fn of(kind: &str, field: &FieldSpec) -> Limit {
        let ty = match &field.ty {
            Type::List(inner) => inner,
            other => other,
        };
        let Type::Quantity(dimension) = ty else {
            return Limit { least: Least::Any, whole: false };
        };
        let positive = POSITIVE.iter().any(|(of, fields)| *of == kind && fields.contains(&field.name));
        let signed = matches!(dimension, Dimension::Angle | Dimension::Temperature | Dimension::Date)
            || SIGNED.contains(&(kind, field.name));
        let least = match (positive, signed) {
            (true, _) => Least::More,
            (false, true) => Least::Any,
            (false, false) => Least::Zero,
        };
        // Every written plain number of a dwelling is a count.
        Limit { least, whole: *dimension == Dimension::Number }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Schema;

    #[test]
    fn every_exception_names_a_field_that_exists() {
        let schema = Schema::dwelling();
        let positive = POSITIVE.iter().flat_map(|&(kind, fields)| fields.iter().map(move |&field| (kind, field)));
        for (kind, field) in positive.chain(SIGNED.iter().copied()) {
            let id = schema.kind(kind).unwrap();
            assert!(schema.field(id, field).is_some(), "{kind}.{field}");
        }
    }
}
