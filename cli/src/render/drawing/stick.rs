//! The story stick: one stick with a notch for every height of the job, numbered from the floor up.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::MarkOut;

use super::spread::spread;
use super::svg::{Anchor, At, Ink, Letter, Svg};
use crate::render::paper::markout::what;

const FOOT: f64 = 304_800_000.0;
const PER_FOOT: f64 = 84.0;
const TOP: f64 = 40.0;
const LEFT: f64 = 34.0;
const WIDE: f64 = 40.0;

/// Draws the stick.
pub(crate) fn draw(paper: &MarkOut, units: UnitSystem) -> Svg {
    let per_nm = PER_FOOT / FOOT;
    let highest = paper.stick.highest().amount() as f64;
    let feet = (highest / FOOT).floor() as i64 + 1;
    let (inches, unit, each) = match units {
        UnitSystem::Customary => (feet * 12, "ft", 12),
        UnitSystem::Metric => ((highest / 10_000_000.0 / 10.0).ceil() as i64 + 2, "m", 10),
    };
    // One tick is an inch, or ten centimetres.
    let tick = if each == 12 { FOOT / 12.0 } else { 100_000_000.0 };
    let tall = inches as f64 * tick * per_nm;
    let floor = TOP + tall;
    let point = paper.mark.map_or("centre", |mark| mark.word());
    let label = format!("Story stick: heights to the {point} of the box");
    let words = "The numbered list after the drawing says the same.";
    let mut svg = Svg::new(At(640.0, floor + 30.0), label.clone(), words, "storystick");
    svg.text(At(LEFT, 16.0), Anchor::Start, Letter::Strong, &label);
    svg.text(At(LEFT, 31.0), Anchor::Start, Letter::Small, "stand it on the finished floor");
    svg.rect(At(LEFT, TOP), WIDE, tall, Ink::Stick);
    for at in 1..inches {
        let y = floor - at as f64 * tick * per_nm;
        let long = match at {
            at if at % each == 0 => 18.0,
            at if at % (each / 2) == 0 => 11.0,
            _ => 6.0,
        };
        svg.line(At(LEFT, y), At(LEFT + long, y), Ink::Tick);
        if at % each == 0 {
            svg.text(At(LEFT - 5.0, y + 4.0), Anchor::End, Letter::Small, &format!("{} {unit}", at / each));
        }
    }
    svg.line(At(LEFT - 22.0, floor), At(620.0, floor), Ink::Wall);
    svg.text(At(LEFT, floor + 16.0), Anchor::Start, Letter::Small, "finished floor");
    let wanted: Vec<f64> = paper.stick.marks.iter().map(|mark| floor - mark.height.amount() as f64 * per_nm).collect();
    let places = spread(&wanted, 33.0, TOP + 8.0, floor - 14.0);
    for ((mark, y), place) in paper.stick.marks.iter().zip(wanted).zip(places) {
        let data = [("mark", mark.height.amount().to_string())];
        svg.group(&data, &what(mark), |svg| {
            let right = LEFT + WIDE;
            svg.poly(&[At(right, y), At(right - 15.0, y - 7.0), At(right - 15.0, y + 7.0)], true, Ink::Notch);
            svg.poly(&[At(right, y), At(right + 16.0, y), At(right + 44.0, place)], false, Ink::Dimension);
            let subfloor =
                mark.from_subfloor.map_or_else(String::new, |up| format!("   (subfloor {})", up.print(units)));
            let text = format!("{}.  {}{subfloor}", mark.number, mark.height.print(units));
            svg.text(At(right + 50.0, place - 1.0), Anchor::Start, Letter::Story, &text);
            svg.text(At(right + 50.0, place + 13.0), Anchor::Start, Letter::Small, &cut(&what(mark)));
        });
    }
    svg
}

/// Cuts a text that would run off the drawing; the list after it has the whole.
fn cut(text: &str) -> String {
    const LONGEST: usize = 88;
    if text.chars().count() <= LONGEST {
        return text.to_owned();
    }
    text.chars().take(LONGEST - 1).chain(std::iter::once('…')).collect()
}
