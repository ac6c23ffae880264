//! A room from above, with the symbols of its boxes and dashed lines from switches to what they control.

use storystick_engine::sheet::markout::{Corner, Plan, PlanBox, PlanOpening, PlanShape};

use super::spread::spread;
use super::svg::{Anchor, At, Ink, Letter, Svg};
use super::symbol;

const MARGIN: f64 = 62.0;
const LARGEST: f64 = 470.0;
const LARGEST_SCALE: f64 = 30.0;
const FOOT: f64 = 304_800_000.0;
/// How far symbols in the middle stand apart.
const PITCH: f64 = 64.0;
/// How far inside the wall a symbol stands.
const INSET: f64 = 15.0;

struct Scale {
    per_nm: f64,
    from: Corner,
}

impl Scale {
    fn at(&self, corner: Corner) -> At {
        let part = |value: i64, from: i64| MARGIN + (value - from) as f64 * self.per_nm;
        At(part(corner.x, self.from.x), part(corner.y, self.from.y))
    }
}

/// Draws a plan.
pub(crate) fn draw(plan: &Plan, room: &str) -> Svg {
    let least = |of: fn(&Corner) -> i64| plan.corners.iter().map(of).min().unwrap_or(0);
    let most = |of: fn(&Corner) -> i64| plan.corners.iter().map(of).max().unwrap_or(0);
    let (left, top) = (least(|c| c.x), least(|c| c.y));
    let (wide, deep) = ((most(|c| c.x) - left).max(1) as f64, (most(|c| c.y) - top).max(1) as f64);
    let per_nm = (LARGEST / wide).min(LARGEST / deep).min(LARGEST_SCALE / FOOT);
    let scale = Scale { per_nm, from: Corner { x: left, y: top } };
    let size = At(wide * per_nm + 2.0 * MARGIN, deep * per_nm + 2.0 * MARGIN);
    let boxes: Vec<&str> = plan.boxes.iter().map(|it| it.id.as_str()).collect();
    let words = format!("Plan with the boxes {}. The tables of the walls say the same.", boxes.join(", "));
    let mut svg = Svg::new(size, format!("{room}: plan"), words, "plan");
    let corners: Vec<At> = plan.corners.iter().map(|&corner| scale.at(corner)).collect();
    svg.poly(&corners, true, Ink::Wall);
    for shape in &plan.shapes {
        draw_shape(&mut svg, &scale, shape);
    }
    for opening in &plan.openings {
        draw_opening(&mut svg, &scale, opening);
    }
    let centre = At(MARGIN + wide * per_nm / 2.0, MARGIN + deep * per_nm / 2.0);
    let places = places(plan, &scale, centre, wide * per_nm);
    for &(from, to) in &plan.controls {
        if let (Some(&a), Some(&b)) = (places.get(from), places.get(to)) {
            let bend = ((b.1 - a.1) * 0.18, (a.0 - b.0) * 0.18);
            svg.curve(a, At((a.0 + b.0) / 2.0 + bend.0, (a.1 + b.1) / 2.0 + bend.1), b, Ink::Control);
        }
    }
    for (one, &place) in plan.boxes.iter().zip(&places) {
        draw_box(&mut svg, one, place);
    }
    labels(&mut svg, plan, &scale, &places);
    svg
}

/// Draws a counter, basin or appliance with its name in the middle.
fn draw_shape(svg: &mut Svg, scale: &Scale, shape: &PlanShape) {
    let corners = shape.corners.map(|corner| scale.at(corner));
    svg.poly(&corners, true, Ink::Counter);
    if shape.what.is_empty() {
        return;
    }
    let [a, _, c, _] = corners;
    let what = if shape.placed { shape.what.clone() } else { format!("{}: place not recorded", shape.what) };
    let middle = At((a.0 + c.0) / 2.0, (a.1 + c.1) / 2.0 + 3.0);
    if (a.0 - c.0).abs() >= (a.1 - c.1).abs() {
        svg.text(middle, Anchor::Middle, Letter::Small, &what);
    } else {
        svg.turned(At(middle.0 + 1.0, middle.1), -90.0, Anchor::Middle, Letter::Small, &what);
    }
}

fn draw_opening(svg: &mut Svg, scale: &Scale, opening: &PlanOpening) {
    let (a, b) = (scale.at(opening.from), scale.at(opening.to));
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let long = (dx * dx + dy * dy).sqrt().max(0.01);
    let (nx, ny) = (-dy / long, dx / long);
    let gap = [
        At(a.0 - nx * 3.0, a.1 - ny * 3.0),
        At(b.0 - nx * 3.0, b.1 - ny * 3.0),
        At(b.0 + nx * 3.0, b.1 + ny * 3.0),
        At(a.0 + nx * 3.0, a.1 + ny * 3.0),
    ];
    match opening.kind.as_str() {
        "window" => {
            svg.poly(&gap, true, Ink::Opening);
            svg.line(a, b, Ink::Dimension);
        }
        "door" => {
            svg.poly(&gap, true, Ink::Ground);
            if let Some(at_start) = opening.latch_at_start {
                let (hinge, latch) = if at_start { (b, a) } else { (a, b) };
                let leaf = At(hinge.0 + nx * long, hinge.1 + ny * long);
                svg.line(hinge, leaf, Ink::Symbol);
                svg.arc(leaf, latch, long, at_start == (nx * dy - ny * dx > 0.0), Ink::Dimension);
            }
        }
        "fixed_cabinet" | "tub" | "shower" | "fireplace" => {
            let deep = 18.0_f64.min(long);
            let face = [a, b, At(b.0 + nx * deep, b.1 + ny * deep), At(a.0 + nx * deep, a.1 + ny * deep)];
            svg.poly(&face, true, Ink::Opening);
        }
        _ => svg.poly(&gap, true, Ink::Ground),
    }
}

/// Places symbols inside the walls; those whose place is not recorded stand in rows in the middle.
fn places(plan: &Plan, scale: &Scale, centre: At, wide: f64) -> Vec<At> {
    let loose = plan.boxes.iter().filter(|one| one.at.is_none()).count();
    let in_row = ((wide / PITCH) as usize).clamp(1, 6).min(loose.max(1));
    let rows = loose.div_ceil(in_row);
    let mut next = 0;
    let mut taken: Vec<At> = Vec::new();
    plan.boxes
        .iter()
        .map(|one| match (one.at, normal(one)) {
            (Some(at), Some((nx, ny))) => {
                let At(x, y) = scale.at(at);
                let mut inset = INSET;
                // Boxes one above the other stand one behind the other on the plan.
                while taken.iter().any(|it| (it.0 - x - nx * inset).abs() + (it.1 - y - ny * inset).abs() < 14.0) {
                    inset += 17.0;
                }
                let place = At(x + nx * inset, y + ny * inset);
                taken.push(place);
                place
            }
            _ => {
                let (row, column) = (next / in_row, next % in_row);
                let here = in_row.min(loose - row * in_row);
                next += 1;
                At(
                    centre.0 + PITCH * (column as f64 - (here as f64 - 1.0) / 2.0),
                    centre.1 + 36.0 * (row as f64 - (rows as f64 - 1.0) / 2.0),
                )
            }
        })
        .collect()
}

/// Returns the direction from a wall into its room.
fn normal(one: &PlanBox) -> Option<(f64, f64)> {
    let along = one.direction?;
    let (dx, dy) = (along.x as f64, along.y as f64);
    let long = (dx * dx + dy * dy).sqrt();
    (long > 0.0).then(|| (-dy / long, dx / long))
}

fn draw_box(svg: &mut Svg, one: &PlanBox, At(x, y): At) {
    let title = one.signs.iter().map(|sign| sign.meaning.clone()).collect::<Vec<_>>().join(" + ");
    svg.group(&[("planbox", one.id.clone())], &format!("{}: {title}", one.id), |svg| {
        let (nx, ny) = normal(one).unwrap_or((0.0, 1.0));
        // Several devices in one box stand one behind the other, away from the wall.
        for (number, sign) in one.signs.iter().enumerate() {
            let away = number as f64 * 17.0;
            let (px, py) = if one.at.is_some() { (x + nx * away, y + ny * away) } else { (x + away, y) };
            let mut plain = sign.clone();
            if !matches!(sign.letters.as_str(), "2" | "3" | "4" | "D" | "D3" | "F" | "T" | "OS")
                && sign.letters.len() > 2
            {
                plain.letters.clear();
            }
            symbol::draw(svg, &plain, At(px, py), 6.5);
        }
    });
}

/// Writes ids outside the walls, or under symbols in the middle.
fn labels(svg: &mut Svg, plan: &Plan, scale: &Scale, places: &[At]) {
    // Walls by direction: those that run up or down the sheet have their ids in a column, the others in a row.
    let mut sides: Vec<(bool, bool, Vec<usize>)> = Vec::new();
    for (number, one) in plan.boxes.iter().enumerate() {
        let Some((nx, ny)) = normal(one) else {
            if let Some(&At(x, y)) = places.get(number) {
                svg.text(At(x, y + 18.0), Anchor::Middle, letter(one), &id(one));
            }
            continue;
        };
        let key = (nx.abs() > ny.abs(), if nx.abs() > ny.abs() { nx > 0.0 } else { ny > 0.0 });
        match sides.iter_mut().find(|side| (side.0, side.1) == key) {
            Some(side) => side.2.push(number),
            None => sides.push((key.0, key.1, vec![number])),
        }
    }
    for (column, inward, members) in sides {
        let wanted: Vec<f64> = members
            .iter()
            .filter_map(|&number| Some(scale.at(plan.boxes.get(number)?.at?)))
            .map(|at| if column { at.1 } else { at.0 })
            .collect();
        let high = if column { svg.width().max(LARGEST + 2.0 * MARGIN) } else { svg.width() - 12.0 };
        let gap = if column { 12.0 } else { 34.0 };
        for (&number, place) in members.iter().zip(spread(&wanted, gap, 12.0, high)) {
            let Some(one) = plan.boxes.get(number) else { continue };
            let Some(at) = one.at.map(|at| scale.at(at)) else { continue };
            let away = if inward { -10.0 } else { 10.0 };
            if column {
                let anchor = if inward { Anchor::End } else { Anchor::Start };
                svg.text(At(at.0 + away, place + 4.0), anchor, letter(one), &id(one));
            } else {
                let y = if inward { at.1 - 10.0 } else { at.1 + 18.0 };
                svg.text(At(place, y), Anchor::Middle, letter(one), &id(one));
            }
        }
    }
}

fn id(one: &PlanBox) -> String {
    if one.flagged { format!("! {}", one.id) } else { one.id.clone() }
}

fn letter(one: &PlanBox) -> Letter {
    if one.flagged { Letter::Flag } else { Letter::Small }
}
