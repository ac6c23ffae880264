//! A wall to scale: openings, counters, studs, boxes with the line at which each is marked, and distances along the floor as a
//! tape would read them.

use storystick_engine::quantity::{Fraction, Quantity, UnitSystem};
use storystick_engine::sheet::markout::{BoxMark, Elevation, MarkPoint, OpeningFace};

use super::spread::spread;
use super::svg::{Anchor, At, Ink, Letter, Svg};
use super::symbol;

/// How high a counter, basin or appliance without a recorded height is drawn: looks alone, no measure.
const COUNTER_TOP: f64 = 36.0 * INCH;
/// How wide an appliance without a recorded width is drawn.
const APPLIANCE_WIDE: f64 = 24.0 * INCH;
/// How high a basin is drawn from its top down.
const BASIN_HIGH: f64 = 8.0 * INCH;
const LEFT: f64 = 136.0;
const RIGHT: f64 = 26.0;
const TOP: f64 = 34.0;
/// Widest and narrowest drawing of a wall, and the scale that a short wall gets.
const WIDEST: f64 = 960.0;
const LARGEST_SCALE: f64 = 48.0;
/// Nanometres in a foot: the scale is in drawing units a foot, whatever the units of the paper.
const FOOT: f64 = 304_800_000.0;
const INCH: f64 = FOOT / 12.0;

/// Height shown above the highest thing where nobody recorded the ceiling.
const HEADROOM: f64 = 12.0 * INCH;

/// Puts lengths of a wall to scale.
struct Scale {
    per_nm: f64,
    left: f64,
    floor: f64,
    length: f64,
    mirrored: bool,
}

impl Scale {
    fn x(&self, along: f64) -> f64 {
        self.left + self.per_nm * if self.mirrored { self.length - along } else { along }
    }

    fn y(&self, height: f64) -> f64 {
        self.floor - self.per_nm * height
    }

    fn span(&self, at: f64, width: f64) -> (f64, f64) {
        let (a, b) = (self.x(at), self.x(at + width));
        (a.min(b), (a - b).abs())
    }
}

fn nm(quantity: Quantity) -> f64 {
    quantity.amount() as f64
}

/// Draws a wall.
pub(crate) fn draw(wall: &Elevation, room: &str, mark: Option<MarkPoint>, units: UnitSystem) -> Svg {
    let length = nm(wall.length).max(INCH);
    let high = wall.ceiling.map_or_else(|| highest(wall) + HEADROOM, nm).max(highest(wall)).max(12.0 * INCH);
    let per_nm = (WIDEST / length).min(LARGEST_SCALE / FOOT);
    let (wide, tall) = (length * per_nm, high * per_nm);
    let width = (LEFT + wide + RIGHT).max(330.0);
    let below = below(wall, units);
    let at = Scale { per_nm, left: LEFT, floor: TOP + tall, length, mirrored: wall.from_outside };
    let title = format!("{room}, {} wall", wall.name);
    let mut svg = Svg::new(
        At(width, TOP + tall + below),
        format!("{title}: elevation"),
        describe(wall, mark, units),
        "elevation",
    );
    let kind = if matches!(wall.kind.as_str(), "open" | "railing") { Ink::OpenSide } else { Ink::Wall };
    svg.rect(At(LEFT, TOP), wide, tall, kind);
    for stud in &wall.studs {
        let x = at.x(nm(*stud));
        svg.line(At(x, TOP), At(x, at.floor), Ink::Stud);
    }
    for opening in &wall.openings {
        draw_opening(&mut svg, &at, opening, high);
    }
    counters(&mut svg, &at, wall);
    standing(&mut svg, &at, wall);
    stories(&mut svg, &at, wall, wide, units);
    let mut taken = outlines(&at, wall);
    bare(&mut svg, &at, wall, units, &mut taken);
    boxes(&mut svg, &at, wall, units, &mut taken);
    tape(&mut svg, &at, wall, units, below);
    let ceiling = if wall.from_outside { None } else { Some(wall.ceiling) };
    let ceiling = ceiling.map_or_else(String::new, |ceiling| {
        ceiling.map_or_else(
            || String::from("ceiling height not recorded"),
            |high| format!("ceiling {}", high.print(units)),
        )
    });
    svg.text(At(LEFT, 14.0), Anchor::Start, Letter::Strong, &title);
    svg.text(At(LEFT, 28.0), Anchor::Start, Letter::Small, &ceiling);
    if wall.from_outside {
        svg.text(
            At(width - RIGHT, 14.0),
            Anchor::End,
            Letter::Small,
            "seen from outside: read the tape from the right",
        );
    }
    svg
}

/// Returns the highest edge of anything on a wall.
fn highest(wall: &Elevation) -> f64 {
    let boxes = wall.boxes.iter().filter_map(|mark| mark.top.or(mark.mark)).map(nm);
    let openings = wall.openings.iter().filter_map(|it| Some(nm(it.sill) + nm(it.height?)));
    let counters = wall.counters.iter().map(|it| it.height.map_or(COUNTER_TOP, nm));
    boxes.chain(openings).chain(counters).fold(0.0, f64::max)
}

/// Says in words what the drawing shows.
fn describe(wall: &Elevation, mark: Option<MarkPoint>, units: UnitSystem) -> String {
    let point = mark.map_or("centre", MarkPoint::word);
    let print = |quantity: Option<Quantity>| quantity.map_or_else(|| String::from("not recorded"), |q| q.print(units));
    let boxes: Vec<String> = wall
        .boxes
        .iter()
        .map(|it| format!("{} ({}) at {} along, {point} at {}", it.id, it.what, print(it.along), print(it.mark)))
        .collect();
    format!(
        "Wall {} long. Boxes: {}. The table after the drawing says the same.",
        wall.length.print(units),
        boxes.join("; ")
    )
}

fn draw_opening(svg: &mut Svg, at: &Scale, opening: &OpeningFace, high: f64) {
    let (x, wide) = at.span(nm(opening.at), nm(opening.width));
    let sill = nm(opening.sill);
    // A door without a height is drawn at the usual height of a door, for looks alone; a cabinet goes to the ceiling.
    let usual = match opening.kind.as_str() {
        "window" => (36.0 * INCH).min(high - sill),
        "fixed_cabinet" | "stair" => high - sill,
        "tub" => 20.0 * INCH,
        "fireplace" => 48.0 * INCH,
        _ => (80.0 * INCH).min(high - sill),
    };
    let tall = opening.height.map_or(usual, nm).max(INCH);
    let (top, bottom) = (at.y(sill + tall), at.y(sill));
    svg.rect(At(x, top), wide, bottom - top, Ink::Opening);
    match opening.kind.as_str() {
        "window" => {
            svg.line(At(x + wide / 2.0, top), At(x + wide / 2.0, bottom), Ink::Dimension);
            svg.line(At(x, (top + bottom) / 2.0), At(x + wide, (top + bottom) / 2.0), Ink::Dimension);
        }
        "door" => {
            if let Some(at_start) = opening.latch_at_start {
                // The two lines meet at the hinge side, as drawing practice has it.
                let hinge = if at_start != at.mirrored { x + wide } else { x };
                let latch = if at_start != at.mirrored { x } else { x + wide };
                svg.poly(&[At(latch, top), At(hinge, (top + bottom) / 2.0), At(latch, bottom)], false, Ink::Dimension);
            }
        }
        "doorway" | "stair" => {
            svg.line(At(x, top), At(x + wide, bottom), Ink::Dimension);
            svg.line(At(x + wide, top), At(x, bottom), Ink::Dimension);
        }
        _ => {}
    }
    let middle = At(x + wide / 2.0, (top + (bottom - top) * 0.3).min(bottom - 4.0));
    if wide < opening.name.len() as f64 * 5.6 {
        svg.turned(At(middle.0 + 3.5, middle.1), -90.0, Anchor::Middle, Letter::Small, &opening.name);
    } else {
        svg.text(middle, Anchor::Middle, Letter::Small, &opening.name);
    }
}

fn counters(svg: &mut Svg, at: &Scale, wall: &Elevation) {
    for counter in &wall.counters {
        let (x, wide) = at.span(nm(counter.at), nm(counter.length));
        let top = at.y(counter.height.map_or(COUNTER_TOP, nm));
        // The top is drawn 1 1/2 in thick and the base 4 in high: looks alone, no measure.
        svg.rect(At(x, top), wide, at.per_nm * 1.5 * INCH, Ink::Counter);
        svg.rect(At(x, top + at.per_nm * 1.5 * INCH), wide, at.floor - top - at.per_nm * 5.5 * INCH, Ink::Counter);
        for gap in &counter.breaks {
            let (gx, gw) = at.span(nm(gap.at), nm(gap.width));
            svg.rect(At(gx, top), gw, at.floor - top, Ink::Opening);
            svg.text(At(gx + gw / 2.0, top + 30.0), Anchor::Middle, Letter::Small, &gap.kind);
        }
        let name = match counter.height {
            Some(_) => counter.name.clone(),
            None => format!("{}: height not recorded", counter.name),
        };
        svg.text(At(x + 6.0, top + 46.0), Anchor::Start, Letter::Small, &name);
    }
}

/// Draws basins and appliances.
fn standing(svg: &mut Svg, at: &Scale, wall: &Elevation) {
    for one in &wall.standing {
        let wide = one.width.map_or(APPLIANCE_WIDE, nm);
        let (x, wide) = at.span(nm(one.along) - wide / 2.0, wide);
        let top = at.y(COUNTER_TOP);
        let high = if one.is_basin { at.per_nm * BASIN_HIGH } else { at.floor - top };
        svg.rect(At(x, top), wide, high, Ink::Counter);
        svg.text(At(x + wide / 2.0, top + 12.0), Anchor::Middle, Letter::Small, &one.what);
    }
}

fn bare(svg: &mut Svg, at: &Scale, wall: &Elevation, units: UnitSystem, taken: &mut Vec<Taken>) {
    for bare in &wall.bare {
        let (x, wide) = at.span(nm(bare.from), nm(bare.length()));
        let counter = wall.counters.iter().find_map(|counter| counter.height).filter(|_| bare.counter);
        let y = counter.map_or(at.floor - 12.0, |height| at.y(nm(height)) - 12.0);
        let what = if bare.counter { "counter" } else { "wall" };
        let title = format!("{what} out of reach of a receptacle: {}", bare.length().print(units));
        svg.group(&[("bare", what.to_owned())], &title, |svg| {
            svg.rect(At(x, y), wide, 10.0, Ink::Bare);
            let text = format!("! out of reach: {}", bare.length().print(units));
            let left = x + wide / 2.0 < at.left + 60.0;
            let anchor = if left { Anchor::Start } else { Anchor::Middle };
            let tx = if left { x } else { x + wide / 2.0 };
            let from = if left { tx } else { tx - 75.0 };
            let mut ty = y - 5.0;
            for _ in 0..6 {
                if is_free(taken, (from, ty - 11.0, from + 150.0, ty + 1.0)) {
                    break;
                }
                ty -= 14.0;
            }
            taken.push((from, ty - 11.0, from + 150.0, ty + 1.0));
            svg.text(At(tx, ty), anchor, Letter::Flag, &text);
        });
    }
}

/// Draws the stick at the left of the wall, a notch for every height, and the line at that height across the wall.
fn stories(svg: &mut Svg, at: &Scale, wall: &Elevation, wide: f64, units: UnitSystem) {
    let mut heights: Vec<Quantity> = wall.boxes.iter().filter_map(|mark| mark.mark).collect();
    heights.sort_by_key(|height| height.amount());
    heights.dedup();
    let x = LEFT - 30.0;
    let top = TOP.min(at.floor);
    svg.rect(At(x, top), 14.0, at.floor - top, Ink::Stick);
    let feet = ((at.floor - top) / (at.per_nm * FOOT)) as i64;
    for foot in 1..=feet {
        let y = at.y(foot as f64 * FOOT);
        svg.line(At(x, y), At(x + 7.0, y), Ink::Tick);
    }
    let wanted: Vec<f64> = heights.iter().map(|height| at.y(nm(*height))).collect();
    let places = spread(&wanted, 13.0, top, at.floor);
    for ((height, y), place) in heights.iter().zip(&wanted).zip(places) {
        svg.poly(&[At(x + 14.0, *y), At(x + 5.0, y - 4.0), At(x + 5.0, y + 4.0)], true, Ink::Notch);
        svg.line(At(x + 14.0, *y), At(LEFT + wide, *y), Ink::StoryLine);
        svg.poly(&[At(x, *y), At(x - 6.0, place)], false, Ink::Dimension);
        let text = height.print_nearest(units, Fraction::Sixteenth);
        svg.text(At(x - 8.0, place + 4.0), Anchor::End, Letter::Story, &text);
    }
}

/// Returns the width of a box of so many gangs: a device takes 1 13/16 in beside the next, a single box is 2 1/4 in wide. For
/// looks alone; nothing is measured from it.
fn box_width(gangs: i64) -> f64 {
    (2.25 + 1.8125 * (gangs - 1) as f64) * INCH
}

/// A rectangle that a label takes.
type Taken = (f64, f64, f64, f64);

/// Returns the rectangle of a box to scale, if its place is recorded.
fn outline(at: &Scale, mark: &BoxMark) -> Option<Taken> {
    let (along, height) = (mark.along?, mark.centre.or(mark.mark)?);
    let x = at.x(nm(along));
    let wide = (box_width(mark.gangs) * at.per_nm).max(5.0);
    let (top, bottom) = match (mark.top, mark.bottom) {
        (Some(top), Some(bottom)) => (at.y(nm(top)), at.y(nm(bottom))),
        _ => (at.y(nm(height)) - 3.0, at.y(nm(height)) + 3.0),
    };
    Some((x - wide / 2.0, top, x + wide / 2.0, bottom))
}

fn outlines(at: &Scale, wall: &Elevation) -> Vec<Taken> {
    wall.boxes.iter().filter_map(|mark| outline(at, mark)).collect()
}

/// Returns whether a label covers nothing.
fn is_free(taken: &[Taken], mine: Taken) -> bool {
    taken.iter().all(|it| it.2 <= mine.0 || it.0 >= mine.2 || it.3 <= mine.1 || it.1 >= mine.3)
}

fn boxes(svg: &mut Svg, at: &Scale, wall: &Elevation, units: UnitSystem, taken: &mut Vec<Taken>) {
    for mark in &wall.boxes {
        let (Some(along), Some(height)) = (mark.along, mark.centre.or(mark.mark)) else { continue };
        let Some((left, top, right, bottom)) = outline(at, mark) else { continue };
        let (x, wide) = ((left + right) / 2.0, right - left);
        let data = [
            ("box", mark.id.clone()),
            ("centre", height.amount().to_string()),
            ("along", along.amount().to_string()),
            ("scale", format!("{}", at.per_nm * INCH)),
            ("floor", format!("{}", at.floor)),
        ];
        svg.group(&data, &title(mark, units), |svg| {
            let ink = if mark.corrections.is_empty() { Ink::Box } else { Ink::FlaggedBox };
            svg.rect(At(x - wide / 2.0, top), wide, bottom - top, ink);
            signs(svg, at, mark, x, top, bottom, taken);
        });
    }
}

fn title(mark: &BoxMark, units: UnitSystem) -> String {
    let print = |quantity: Option<Quantity>| quantity.map_or_else(|| String::from("?"), |q| q.print(units));
    format!("{}: {}, {} along, centre {}", mark.id, mark.what, print(mark.along), print(mark.centre))
}

/// Draws the symbols of a box and its id where they cover no other.
fn signs(svg: &mut Svg, at: &Scale, mark: &BoxMark, x: f64, top: f64, bottom: f64, taken: &mut Vec<Taken>) {
    let r = 7.0;
    let pitch = 23.0;
    let count = mark.signs.len() as f64;
    let half = (count * pitch / 2.0).max(mark.id.len() as f64 * 3.6);
    let free = |y: f64, high: f64, taken: &[Taken]| {
        let mine = (x - half, y, x + half, y + high);
        is_free(taken, mine).then_some(mine)
    };
    // Symbols go below the box, or above it near the floor; the id goes on the other side. Each moves on until it is free.
    let low = bottom + 2.0 + 2.0 * r + 8.0 > at.floor;
    let place = |start: f64, step: f64, high: f64, taken: &mut Vec<Taken>| -> f64 {
        let mut y = start;
        for _ in 0..8 {
            if let Some(mine) = free(y, high, taken) {
                taken.push(mine);
                return y;
            }
            y += step;
        }
        y
    };
    let (sign_y, id_y) = if low {
        let signs = place(top - 2.0 * r - 6.0, -16.0, 2.0 * r + 4.0, taken);
        (signs, place(signs - 13.0, -12.0, 12.0, taken))
    } else {
        let ids = place(top - 14.0, -12.0, 12.0, taken);
        (place(bottom + 4.0, 16.0, 2.0 * r + 4.0, taken), ids)
    };
    let first = x - (count - 1.0) * pitch / 2.0;
    for (number, sign) in mark.signs.iter().enumerate() {
        symbol::draw(svg, sign, At(first + number as f64 * pitch, sign_y + r + 2.0), r);
    }
    let flag = if mark.corrections.is_empty() { String::new() } else { String::from("! ") };
    let letter = if mark.corrections.is_empty() { Letter::Strong } else { Letter::Flag };
    svg.text(At(x, id_y + 10.0), Anchor::Middle, letter, &format!("{flag}{}", mark.id));
}

/// Returns the room that the tape takes below the floor: that of its longest reading, set upright.
fn below(wall: &Elevation, units: UnitSystem) -> f64 {
    let readings = wall.boxes.iter().filter_map(|mark| mark.along);
    let longest =
        readings.map(|along| along.print_nearest(units, Fraction::Sixteenth).chars().count()).max().unwrap_or(0);
    50.0 + 6.4 * longest as f64
}

/// Distances along the floor, each from the wall's start, as a tape reads them; and the length of the wall.
fn tape(svg: &mut Svg, at: &Scale, wall: &Elevation, units: UnitSystem, below: f64) {
    let mut places: Vec<Quantity> = wall.boxes.iter().filter_map(|mark| mark.along).collect();
    places.sort_by_key(|along| along.amount());
    places.dedup();
    let wanted: Vec<f64> = places.iter().map(|along| at.x(nm(*along))).collect();
    let right = at.left + at.length * at.per_nm;
    let labels = spread(&wanted, 15.0, at.left - 4.0, right + 14.0);
    for ((along, x), label) in places.iter().zip(&wanted).zip(labels) {
        svg.poly(&[At(*x, at.floor), At(*x, at.floor + 7.0), At(label, at.floor + 17.0)], false, Ink::Dimension);
        let text = along.print_nearest(units, Fraction::Sixteenth);
        svg.turned(At(label + 4.0, at.floor + 20.0), -90.0, Anchor::End, Letter::Plain, &text);
    }
    let y = at.floor + below - 12.0;
    svg.line(At(at.left, y), At(right, y), Ink::Dimension);
    for x in [at.left, right] {
        svg.line(At(x - 4.0, y + 4.0), At(x + 4.0, y - 4.0), Ink::Dimension);
    }
    let middle = (at.left + right) / 2.0;
    svg.text(At(middle, y - 4.0), Anchor::Middle, Letter::Plain, &wall.length.print(units));
}
