//! Bends of conduit, as far as they are sums: an offset and saddles of three and four points. The figures follow from trigonometry (the
//! travel of an offset is its rise times the cosecant of the angle; it shrinks the run by the rise times the tangent of half the angle);
//! which angles are used is common practice, no source.

use storystick_engine::quantity::{Dimension, Fraction, Quantity, UnitSystem};

use crate::teach::papers::Question;
use crate::teach::seed::Seed;

const BEND: &str = "bend";

/// One inch in base units.
const INCH: f64 = 25_400_000.0;

/// Angles that benders are marked with, in degrees.
const ANGLES: [i64; 4] = [10, 22, 30, 45];

/// The angle meant by a mark: 22 stands for half of 45.
fn degrees(marked: i64) -> f64 {
    if marked == 22 { 22.5 } else { marked as f64 }
}

fn shown(marked: i64) -> String {
    if marked == 22 { String::from("22 1/2") } else { marked.to_string() }
}

fn inches(value: f64) -> String {
    let length = Quantity::new(Dimension::Length, (value * INCH).round() as i64);
    length.print_nearest(UnitSystem::Customary, Fraction::Sixteenth)
}

fn multiplier(angle: f64) -> f64 {
    1.0 / angle.to_radians().sin()
}

fn shrink(rise: f64, angle: f64) -> f64 {
    rise * (angle / 2.0).to_radians().tan()
}

fn times(value: f64) -> String {
    format!("{value:.2}")
}

/// Returns an offset, a three-point and a four-point saddle.
pub(super) fn bends(seed: &mut Seed) -> Vec<Question> {
    vec![offset(seed), three(seed), four(seed)]
}

fn offset(seed: &mut Seed) -> Question {
    let angle = seed.one(&ANGLES).copied().unwrap_or(30);
    let rise = seed.between(3, 14);
    let asks = format!(
        "An offset of {rise} in is bent with two bends of {} degrees. How far apart are the two marks? Write the multiplier (the \
         cosecant), then by how much the run shrinks.",
        shown(angle)
    );
    let (rise, angle) = (rise as f64, degrees(angle));
    Question::new(BEND, 1, asks, inches(rise * multiplier(angle)))
        .line("multiplier", times(multiplier(angle)))
        .line("shrink", inches(shrink(rise, angle)))
}

fn three(seed: &mut Seed) -> Question {
    let centre = seed.one(&[45_i64, 60]).copied().unwrap_or(45);
    let rise = seed.between(2, 6);
    let asks = format!(
        "A three-point saddle of {centre} degrees, with outer bends of half of that, passes over a pipe {rise} in high. How far from the \
         centre mark is each outer mark? Write the multiplier of the outer angle."
    );
    let outer = centre as f64 / 2.0;
    Question::new(BEND, 2, asks, inches(rise as f64 * multiplier(outer))).line("multiplier", times(multiplier(outer)))
}

fn four(seed: &mut Seed) -> Question {
    let angle = seed.one(&[22_i64, 30, 45]).copied().unwrap_or(30);
    let (rise, width) = (seed.between(3, 8), seed.between(8, 20));
    let asks = format!(
        "A four-point saddle with bends of {} degrees passes over a duct {rise} in high; its two inner bends stand {width} in apart. How \
         far apart are the first and the last mark? Write the multiplier, then the distance of the first two marks.",
        shown(angle)
    );
    let travel = rise as f64 * multiplier(degrees(angle));
    Question::new(BEND, 3, asks, inches(2.0 * travel + width as f64))
        .line("multiplier", times(multiplier(degrees(angle))))
        .line("distance of the first two marks", inches(travel))
}
