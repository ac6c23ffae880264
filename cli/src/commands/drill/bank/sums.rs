//! Sums with figures by the seed: Ohm's law in series, in parallel and mixed, and the tape.

use std::fmt::Display;

use storystick_engine::quantity::{Dimension, Quantity, UnitSystem, parse};

use crate::render::drawing::svg::{Anchor, At, Ink, Letter, Svg};
use crate::teach::papers::Question;
use crate::teach::seed::Seed;

const OHM: &str = "ohms-law";

fn two(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn with(value: impl Display, unit: &str) -> String {
    format!("{value} {unit}")
}

/// Returns sums of volts, amperes, ohms and watts: one resistor, power, parallel, series, mixed. Every amount but the resistance of two in
/// parallel comes out even.
pub(super) fn ohms_law(seed: &mut Seed) -> Vec<Question> {
    vec![single(seed), power(seed), parallel(seed), series(seed), mixed(seed)]
}

fn single(seed: &mut Seed) -> Question {
    let (amperes, ohms) = (seed.between(2, 12), seed.between(3, 15));
    let asks = format!("{amperes} A flow through {ohms} ohm. What is the voltage across it?");
    Question::new(OHM, 1, asks, with(amperes * ohms, "V"))
}

fn power(seed: &mut Seed) -> Question {
    let (amperes, ohms) = (seed.between(2, 12), seed.between(3, 15));
    let volts = amperes * ohms;
    let asks = format!("A heater takes {amperes} A at {volts} V. What is its power, and what is its resistance?");
    Question::new(OHM, 2, asks, with(amperes * volts, "W")).line("resistance", with(ohms, "ohm"))
}

fn parallel(seed: &mut Seed) -> Question {
    let (one, other) = (seed.between(2, 9), seed.between(10, 16));
    let volts = one * other * seed.between(1, 2);
    let (first, second) = (volts / one, volts / other);
    let asks = format!(
        "Two resistors of {one} ohm and {other} ohm lie in parallel on {volts} V. What current do they take together? \
         Write the current of each, then the resistance of both."
    );
    Question::new(OHM, 3, asks, with(first + second, "A"))
        .line("current of the first", with(first, "A"))
        .line("current of the second", with(second, "A"))
        .line("resistance of both", with(two(volts as f64 / (first + second) as f64), "ohm"))
}

fn series(seed: &mut Seed) -> Question {
    let ohms = [seed.between(2, 6), seed.between(7, 11), seed.between(12, 18)];
    let amperes = seed.between(2, 5);
    let all: i64 = ohms.iter().sum();
    let asks = format!(
        "Three resistors of {} ohm, {} ohm and {} ohm lie in series on {} V. What is the voltage across the last? Write the \
         resistance of all, the current, then the voltage across the first two.",
        ohms[0],
        ohms[1],
        ohms[2],
        all * amperes
    );
    Question::new(OHM, 4, asks, with(ohms[2] * amperes, "V"))
        .line("resistance of all", with(all, "ohm"))
        .line("current", with(amperes, "A"))
        .line("voltage across the first", with(ohms[0] * amperes, "V"))
        .line("voltage across the second", with(ohms[1] * amperes, "V"))
}

fn mixed(seed: &mut Seed) -> Question {
    // Two resistors, both together, and what the current must be a multiple of for even amounts.
    const PAIRS: [(i64, i64, i64, i64); 8] = [
        (3, 6, 2, 3),
        (4, 12, 3, 4),
        (6, 12, 4, 3),
        (10, 15, 6, 5),
        (20, 30, 12, 5),
        (12, 24, 8, 3),
        (20, 20, 10, 2),
        (30, 60, 20, 3),
    ];
    let (one, other, both, unit) = seed.one(&PAIRS).copied().unwrap_or(PAIRS[0]);
    let (before, amperes) = (seed.between(1, 9), unit * seed.between(1, 2));
    let (volts, rest) = ((before + both) * amperes, both * amperes);
    let asks = format!(
        "A resistor of {before} ohm lies in series with two in parallel, of {one} ohm and {other} ohm, on {volts} V. What current \
         flows through the one of {one} ohm? Write the resistance of the two, that of all, the current of all, then the voltage across \
         the two."
    );
    Question::new(OHM, 5, asks, with(rest / one, "A"))
        .line("resistance of the two", with(both, "ohm"))
        .line("resistance of all", with(before + both, "ohm"))
        .line("current of all", with(amperes, "A"))
        .line("voltage across the two", with(rest, "V"))
}

const MEASURE: &str = "measure";

/// Returns sums with a tape: adding, subtracting, a row of lengths line by line, and reading a mark to the sixteenth.
pub(super) fn tape(seed: &mut Seed) -> Option<Vec<Question>> {
    let length = |seed: &mut Seed, feet: i64| {
        let text = format!("{feet} ft {} {}/16 in", seed.between(0, 11), 2 * seed.between(0, 7) + 1);
        parse(&text, Dimension::Length).ok().map(|length| (length, length.print(UnitSystem::Customary)))
    };
    let print = |length: Quantity| length.print(UnitSystem::Customary);
    let mut all = Vec::new();
    for (number, plus) in [(1, true), (2, false)] {
        let ((long, long_text), (short, short_text)) = (length(seed, 9)?, length(seed, 3)?);
        let answer = if plus { long.add(short) } else { long.sub(short) }.ok()?;
        let word = if plus { "and" } else { "less" };
        let asks = format!("How long is {long_text} {word} {short_text}?");
        all.push(Question::new(MEASURE, number, asks, print(answer)));
    }
    let parts = [length(seed, 2)?, length(seed, 4)?, length(seed, 1)?];
    let texts = parts.clone().map(|(_, text)| text);
    let first = parts[0].0.add(parts[1].0).ok()?;
    let whole = first.add(parts[2].0).ok()?;
    let asks = format!(
        "From a corner you lay out {}, then {}, then {}, one after the other. How far from the corner is the last mark? Write where \
         the second mark is.",
        texts[0], texts[1], texts[2]
    );
    all.push(Question::new(MEASURE, 3, asks, print(whole)).line("second mark from the corner", print(first)));
    let (inch, part) = (seed.between(7, 88), seed.between(1, 15));
    let answer = parse(&format!("{inch} {part}/16 in"), Dimension::Length).ok()?;
    let asks =
        format!("Read the tape: sixteen small marks make an inch. How far from its end is the arrow, past {inch} in?");
    all.push(Question::new(MEASURE, 4, asks, print(answer)).shows(mark(inch, part).inline()));
    Some(all)
}

/// Draws a stretch of tape with an arrow. Its text alternative counts the marks, as somebody does who feels them.
fn mark(inch: i64, part: i64) -> Svg {
    const STEP: f64 = 12.0;
    let label = format!("A tape from {inch} in to {} in; the arrow is at the small mark number {part}", inch + 1);
    let mut svg = Svg::new(At(16.0 * STEP + 60.0, 84.0), label, "", "tape");
    svg.line(At(10.0, 60.0), At(16.0 * STEP + 50.0, 60.0), Ink::Symbol);
    for at in 0..=16_i64 {
        let long = match at {
            0 | 16 => 34.0,
            8 => 26.0,
            4 | 12 => 20.0,
            at if at % 2 == 0 => 14.0,
            _ => 9.0,
        };
        let x = 30.0 + at as f64 * STEP;
        svg.line(At(x, 60.0), At(x, 60.0 - long), Ink::Symbol);
    }
    for (at, number) in [(0.0, inch), (16.0, inch + 1)] {
        svg.text(At(30.0 + at * STEP, 20.0), Anchor::Middle, Letter::Strong, &number.to_string());
    }
    let x = 30.0 + part as f64 * STEP;
    svg.line(At(x, 80.0), At(x, 64.0), Ink::Symbol);
    svg.poly(&[At(x - 4.0, 70.0), At(x, 62.0), At(x + 4.0, 70.0)], true, Ink::SymbolFill);
    svg
}
