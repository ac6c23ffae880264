//! General-purpose outline symbols as published electrical drawing standards have them: a circle with two lines is a duplex
//! receptacle, S3 a three-way switch. A legend goes with every drawing that uses them.

use storystick_engine::sheet::markout::{Shape, Sign};

use super::svg::{Anchor, At, Ink, Letter, Svg};

/// Draws a symbol round a point; `r` is the radius of its circle.
pub(crate) fn draw(svg: &mut Svg, sign: &Sign, at: At, r: f64) {
    let At(x, y) = at;
    let round = |svg: &mut Svg| {
        svg.circle(at, r, Ink::Ground);
        svg.circle(at, r, Ink::Symbol);
    };
    match sign.shape {
        Shape::SingleReceptacle => {
            round(svg);
            bars(svg, at, r, &[0.0]);
        }
        Shape::DuplexReceptacle => {
            round(svg);
            bars(svg, at, r, &[-0.36, 0.36]);
        }
        Shape::SplitReceptacle => {
            round(svg);
            svg.poly(
                &[At(x - 0.8 * r, y + 0.36 * r), At(x, y + r), At(x + 0.8 * r, y + 0.36 * r)],
                true,
                Ink::SymbolFill,
            );
            bars(svg, at, r, &[-0.36, 0.36]);
        }
        Shape::SpecialReceptacle => {
            round(svg);
            bars(svg, at, r, &[-0.5, 0.0, 0.5]);
        }
        Shape::Switch => {
            svg.circle(at, r, Ink::Ground);
            let shift = 2.2 * sign.letters.chars().count() as f64;
            svg.text(At(x - shift, y + r * 0.62), Anchor::Middle, Letter::Strong, "S");
            svg.text(At(x - shift + 4.5, y + r * 0.62 + 3.0), Anchor::Start, Letter::Symbol, &sign.letters);
        }
        Shape::Luminaire => {
            rays(svg, at, r);
            svg.circle(at, 0.62 * r, Ink::Ground);
            svg.circle(at, 0.62 * r, Ink::Symbol);
        }
        Shape::WallLuminaire => {
            rays(svg, at, r);
            svg.circle(at, 0.62 * r, Ink::Ground);
            svg.circle(at, 0.62 * r, Ink::Symbol);
            svg.line(At(x - r, y - 1.3 * r), At(x + r, y - 1.3 * r), Ink::Symbol);
        }
        Shape::Recessed => {
            svg.rect(At(x - r, y - r), 2.0 * r, 2.0 * r, Ink::Ground);
            svg.rect(At(x - r, y - r), 2.0 * r, 2.0 * r, Ink::Symbol);
            svg.circle(at, 0.6 * r, Ink::Symbol);
        }
        Shape::CeilingFan => {
            round(svg);
            for (dx, dy) in [(0.0, -1.0), (0.87, 0.5), (-0.87, 0.5)] {
                svg.line(at, At(x + dx * r, y + dy * r), Ink::Symbol);
            }
            svg.circle(at, 0.25 * r, Ink::SymbolFill);
        }
        Shape::Lettered => {
            round(svg);
            svg.text(At(x, y + 3.2), Anchor::Middle, Letter::Symbol, &sign.letters);
        }
        Shape::Disconnect => {
            svg.rect(At(x - r, y - r), 2.0 * r, 2.0 * r, Ink::Ground);
            svg.rect(At(x - r, y - r), 2.0 * r, 2.0 * r, Ink::Symbol);
            svg.text(At(x, y + 3.2), Anchor::Middle, Letter::Symbol, &sign.letters);
        }
    }
    if !sign.letters.is_empty() && !matches!(sign.shape, Shape::Switch | Shape::Lettered | Shape::Disconnect) {
        svg.text(At(x + 1.45 * r, y + 3.2), Anchor::Start, Letter::Symbol, &sign.letters);
    }
}

/// Lines across a circle that stand out of it on both sides.
fn bars(svg: &mut Svg, At(x, y): At, r: f64, places: &[f64]) {
    for place in places {
        let half = if place.abs() < 0.1 { 1.35 * r } else { 1.3 * r };
        svg.line(At(x - half, y + place * r), At(x + half, y + place * r), Ink::Symbol);
    }
}

fn rays(svg: &mut Svg, At(x, y): At, r: f64) {
    for (dx, dy) in [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)] {
        svg.line(At(x + dx * 0.62 * r, y + dy * 0.62 * r), At(x + dx * 1.25 * r, y + dy * 1.25 * r), Ink::Symbol);
    }
}

/// Returns one symbol as a little drawing for a legend.
pub(crate) fn alone(sign: &Sign) -> Svg {
    let mut svg = Svg::new(At(52.0, 26.0), sign.meaning.clone(), "", "symbol");
    draw(&mut svg, sign, At(14.0, 13.0), 7.5);
    svg
}
