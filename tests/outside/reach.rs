//! Reach against published figures of the accessibility standards and guides to them.

use storystick_engine::calc::{Approach, Code, Obstruction, Reach, Sheet, reach};
use storystick_engine::quantity::{Dimension, Quantity};

use crate::codes::{INCH, bare, book, in_units};
use crate::examples::{Example, Found, of_topic};

fn inches(length: f64) -> Quantity {
    Quantity::new(Dimension::Length, (length * INCH as f64).round() as i64)
}

fn own(example: &Example) -> Reach {
    let approach = Approach::of(example.text("approach").unwrap()).unwrap();
    let depth = bare(inches(example.must("obstruction_depth_in")));
    let obstruction = (depth.amount() > 0).then_some(Obstruction { depth, height: None });
    reach(approach, obstruction, book("us/accessible-2010").as_ref(), &mut Sheet::none()).unwrap()
}

#[test]
fn published_reach_figures_agree() {
    for example in of_topic("reach", 5) {
        let mut found = Found::default();
        let reach = own(example);
        if let Some(high) = reach.high {
            found.number("max_in", in_units(high, INCH as f64));
        }
        found.flag("permitted", reach.high.is_some());
        if let Some(at) = example.number("operable_in") {
            found.flag("within", reach.holds(inches(at), inches(at)));
        }
        example.agrees("us/accessible-2010", &found);
    }
}

#[test]
fn the_two_federal_documents_give_the_same_heights_over_an_obstruction() {
    // Fair Housing guidelines, requirement 5, against the ADA Standards of 2010, 308.2.2 and 308.3.2.
    let housing = book("us/fair-housing");
    let housing: &dyn Code = housing.as_ref();
    let standard = book("us/accessible-2010");
    let standard: &dyn Code = standard.as_ref();
    for side in ["forward.deep_high", "side.deep_high"] {
        let of = |code: &dyn Code, key: String| code.quantity(&key, Dimension::Length).unwrap().quantity;
        assert_eq!(of(housing, format!("fair_housing.{side}")), of(standard, format!("reach.{side}")));
    }
}
