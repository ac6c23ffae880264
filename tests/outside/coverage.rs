//! Spacing of receptacles against published worked examples.

use storystick_engine::book::Book;
use storystick_engine::calc::Code;
use storystick_engine::calc::coverage::{Stretch, fewest, receptacles_for_area};
use storystick_engine::quantity::{Dimension, Quantity};

use crate::codes::{INCH, book, editions, q};
use crate::examples::{Example, Found, of_topic};

fn inches(length: f64) -> i64 {
    (length * INCH as f64).round() as i64
}

fn length(code: &dyn Code, key: &str) -> i64 {
    code.quantity(key, Dimension::Length).unwrap().amount()
}

/// Returns the fewest receptacles along runs of wall, and checks on the way that so many do and one less does not, however
/// they are placed: spread evenly is best.
fn along_walls(runs: &[f64], code: &dyn Code) -> i64 {
    let reach = length(code, "receptacle.wall_reach");
    runs.iter()
        .map(|feet| {
            let stretch = Stretch { from: 0, length: inches(feet * 12.0), closed: false };
            let spread =
                |count: i64| -> Vec<i64> { (0..count).map(|at| stretch.length * (2 * at + 1) / (2 * count)).collect() };
            let covers = |count: i64| stretch.farthest(&spread(count)).is_some_and(|worst| worst.distance <= reach);
            let count = fewest(stretch.length, reach);
            assert!(covers(count) && !covers(count - 1), "{feet} ft: {count}");
            count
        })
        .sum()
}

/// An island or peninsula of an area, by what the entries of the edition say.
fn by_area(area: Quantity, code: &dyn Code) -> i64 {
    assert!(code.flag("coverage.island_required").unwrap() && code.flag("coverage.island_by_area").unwrap());
    receptacles_for_area(area, code).unwrap()
}

/// A peninsula of two sides, where the edition asks for one at each that is large enough.
fn by_size(long: i64, short: i64, code: &dyn Code) -> i64 {
    assert!(code.flag("coverage.island_required").unwrap() && !code.flag("coverage.island_by_area").unwrap());
    let enough =
        long >= length(code, "coverage.island_least_long") && short >= length(code, "coverage.island_least_short");
    i64::from(enough)
}

fn work(example: &Example, book: &Book) -> Found {
    let code: &dyn Code = book;
    let count = match example.text("kind").unwrap() {
        "wall" => along_walls(&example.numbers("runs_ft"), code),
        "island_2020" => by_area(q(&format!("{} ft2", example.must("area_ft2")), Dimension::Area), code),
        "peninsula_pre2020" => by_size(inches(example.must("long_in")), inches(example.must("short_in")), code),
        "hallway" => i64::from(inches(example.must("length_ft") * 12.0) >= length(code, "receptacle.hallway_from")),
        other => panic!("{}: kind {other}", example.id),
    };
    let mut found = Found::default();
    found.number("min_count", count as f64);
    found
}

#[test]
fn published_receptacle_counts_agree() {
    for example in of_topic("receptacles", 7) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, &book(edition)));
        }
    }
}
