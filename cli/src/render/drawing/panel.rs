//! The face of a panel with its front off: breakers in two columns, the conductors that land on each drawn in their color and named
//! beside it, and the screws of the bars below.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::PanelSheet;
use storystick_engine::sheet::panel::{BreakerKind, PanelBreaker, PanelConductor};
use storystick_engine::wiring::{Colour, Lands};

use super::makeup::{cut, run};
use super::svg::{Anchor, At, Ink, Letter, Svg};
use crate::render::paper::panel::{bars, breaker_at, heading, hot_words, serves};

/// Height of a space.
const ROW: f64 = 35.0;
const TOP: f64 = 50.0;
const WIDTH: f64 = 842.0;
/// Outer and inner edge of the breakers in the left column; the right one mirrors them.
const OUTER: f64 = 300.0;
const INNER: f64 = 408.0;
/// Where conductors end and their names begin.
const NAMES: f64 = 262.0;
/// Screws of a bar stand this far apart.
const PITCH: f64 = 18.0;
const SCREWS_IN_ROW: i64 = 45;

/// One side of the cabinet: where an offset from its outer edge stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

impl Side {
    fn of(position: i64) -> Side {
        if position % 2 == 1 { Side::Left } else { Side::Right }
    }

    /// Returns the place that stands at `x` on the left side.
    fn x(self, x: f64) -> f64 {
        match self {
            Side::Left => x,
            Side::Right => WIDTH - x,
        }
    }

    /// Returns the left edge of what stands from `x` on and is `wide` on the left side.
    fn edge(self, x: f64, wide: f64) -> f64 {
        match self {
            Side::Left => x,
            Side::Right => WIDTH - x - wide,
        }
    }

    fn outward(self) -> Anchor {
        match self {
            Side::Left => Anchor::Start,
            Side::Right => Anchor::End,
        }
    }

    fn inward(self) -> Anchor {
        match self {
            Side::Left => Anchor::End,
            Side::Right => Anchor::Start,
        }
    }
}

/// Draws a panel.
pub(crate) fn draw(sheet: &PanelSheet, units: UnitSystem) -> Svg {
    let rows = (sheet.positions + 1) / 2;
    let foot = TOP + rows as f64 * ROW + 14.0;
    let screws = [(sheet.neutral_bar, Lands::NeutralBar), (sheet.ground_bar, Lands::GroundBar)].map(|(bar, lands)| {
        let written = sheet.conductors.iter().filter(|one| one.lands == lands).filter_map(|one| one.screw).max();
        bar.screws.max(bar.terminals.unwrap_or(0)).max(written.map_or(0, i64::from)).clamp(0, 400)
    });
    let high = |screws: i64| 26.0 + ((screws + SCREWS_IN_ROW - 1) / SCREWS_IN_ROW) as f64 * 24.0;
    let bottom = foot + screws.map(high).iter().sum::<f64>() + 8.0;
    let words = sheet.steps.join(". ");
    let mut svg = Svg::new(At(WIDTH, bottom + 8.0), format!("Panel {}", sheet.id), words, "cabinet");
    svg.text(At(8.0, 16.0), Anchor::Start, Letter::Strong, &format!("Panel {} · {}", sheet.id, sheet.room));
    svg.text(At(8.0, 31.0), Anchor::Start, Letter::Small, &cut(&heading(sheet), 130));
    svg.rect(At(1.0, TOP - 10.0), WIDTH - 2.0, bottom - TOP + 12.0, Ink::Wire("encl"));
    for row in 0..rows {
        let y = TOP + row as f64 * ROW;
        let leg = format!("L{}", row % 2 + 1);
        svg.text(At(WIDTH / 2.0, y + ROW / 2.0 + 4.0), Anchor::Middle, Letter::Small, &leg);
    }
    for position in 1..=sheet.positions {
        if breaker_at(sheet, position).is_none() {
            blank(&mut svg, sheet, position);
        }
    }
    for breaker in sheet.breakers.iter().filter(|one| !one.positions.is_empty()) {
        body(&mut svg, breaker, units);
    }
    for position in 1..=sheet.positions {
        beside(&mut svg, sheet, position);
    }
    let [neutral, ground] = bars(sheet);
    let [neutral_screws, ground_screws] = screws;
    let end = bar(&mut svg, sheet, At(14.0, foot + 12.0), &neutral, neutral_screws, Lands::NeutralBar);
    bar(&mut svg, sheet, At(14.0, end + 12.0), &ground, ground_screws, Lands::GroundBar);
    svg
}

/// Returns the upper edge of a position.
fn top(position: i64) -> f64 {
    TOP + ((position - 1) / 2) as f64 * ROW
}

fn blank(svg: &mut Svg, sheet: &PanelSheet, position: i64) {
    let (side, y) = (Side::of(position), top(position));
    let wide = INNER - OUTER;
    svg.rect(At(side.edge(OUTER, wide), y + 3.0), wide, ROW - 6.0, Ink::Stud);
    number(svg, position);
    let word = if sheet.open.contains(&position) { "open: blank" } else { "" };
    svg.text(At(side.x(OUTER + 8.0), y + ROW / 2.0 + 4.0), side.outward(), Letter::Small, word);
}

fn number(svg: &mut Svg, position: i64) {
    let side = Side::of(position);
    svg.text(
        At(side.x(INNER - 4.0), top(position) + ROW / 2.0 + 4.0),
        side.inward(),
        Letter::Strong,
        &position.to_string(),
    );
}

/// Draws a breaker over the positions that it takes in one column, with a handle for each pole.
fn body(svg: &mut Svg, breaker: &PanelBreaker, units: UnitSystem) {
    let ids: Vec<&str> = breaker.circuits.iter().map(|one| one.id.as_str()).collect();
    let title = format!("circuit {}: {}", ids.join(", "), breaker.kind.name());
    let places: Vec<String> = breaker.positions.iter().map(i64::to_string).collect();
    svg.group(&[("breaker", places.join(" ")), ("kind", breaker.kind.word().to_owned())], &title, |svg| {
        // Positions that are no neighbors are drawn each by itself.
        for block in breaker.positions.chunk_by(|a, b| b - a == 2) {
            let (Some(&first), Some(&last)) = (block.first(), block.last()) else { continue };
            let (side, wide) = (Side::of(first), INNER - OUTER);
            let x = side.edge(OUTER, wide);
            let apart = matches!(breaker.kind, BreakerKind::TiedSingles | BreakerKind::OpensTogether);
            if apart {
                for &one in block {
                    svg.rect(At(x, top(one) + 3.0), wide, ROW - 6.0, Ink::Box);
                }
            } else {
                svg.rect(At(x, top(first) + 3.0), wide, top(last) - top(first) + ROW - 6.0, Ink::Box);
            }
            for &one in block {
                pole(svg, breaker, one, units);
            }
            let handle = side.edge(OUTER + 69.0, 6.0);
            if last > first && breaker.kind != BreakerKind::Quad {
                let ink = if breaker.kind == BreakerKind::OpensTogether { Ink::Stud } else { Ink::SymbolFill };
                svg.rect(At(handle, top(first) + ROW / 2.0), 6.0, top(last) - top(first), ink);
            }
        }
    });
}

/// Draws what stands on one pole: rating, protection, handle, number.
fn pole(svg: &mut Svg, breaker: &PanelBreaker, position: i64, units: UnitSystem) {
    let (side, y) = (Side::of(position), top(position));
    let halves: Vec<_> = breaker.at(position).collect();
    let split = matches!(breaker.kind, BreakerKind::Tandem | BreakerKind::Quad);
    let handles: &[f64] = if split { &[-7.5, 7.5] } else { &[0.0] };
    for offset in handles {
        svg.rect(At(side.edge(OUTER + 63.0, 18.0), y + ROW / 2.0 + offset - 5.0), 18.0, 10.0, Ink::Counter);
    }
    number(svg, position);
    if split && breaker.kind == BreakerKind::Tandem {
        let (from, to) = (side.x(OUTER), side.x(INNER - 22.0));
        svg.line(At(from, y + ROW / 2.0), At(to, y + ROW / 2.0), Ink::Dimension);
    }
    for (at, circuit) in halves.iter().enumerate() {
        let middle = if split { y + 12.5 + 14.0 * at as f64 } else { y + 15.0 };
        let own = circuit.positions.first() == Some(&position);
        let rating = circuit.rating.map_or_else(|| String::from("? A"), |rating| rating.print(units));
        let x = side.x(OUTER + 8.0);
        svg.text(At(x, middle + 2.0), side.outward(), Letter::Strong, &rating);
        if !split && own {
            svg.text(At(x, y + 28.5), side.outward(), Letter::Symbol, &cut(&circuit.protection.join("+"), 10));
        }
    }
}

/// Draws the conductors on a position, and writes beside it what it serves.
fn beside(svg: &mut Svg, sheet: &PanelSheet, position: i64) {
    let Some(breaker) = breaker_at(sheet, position) else { return };
    let (side, y) = (Side::of(position), top(position));
    let on = |one: &&PanelConductor| one.position == Some(position) && !matches!(one.lands, Lands::Cap);
    let wires: Vec<&PanelConductor> = sheet.conductors.iter().filter(on).collect();
    let gap = (20.0 / wires.len().max(1) as f64).min(12.0);
    for (at, wire) in wires.iter().enumerate() {
        let level = y + ROW / 2.0 + gap * (at as f64 - (wires.len() as f64 - 1.0) / 2.0);
        run(svg, At(side.x(NAMES + 6.0), level), At(side.x(OUTER), level), wire.color);
    }
    let own: Vec<_> = breaker.at(position).filter(|one| one.positions.first() == Some(&position)).collect();
    let what = match own.as_slice() {
        [] => String::from("(second pole)"),
        circuits => circuits.iter().map(|one| serves(one)).collect::<Vec<_>>().join(" / "),
    };
    let mut names = hot_words(sheet, position);
    let neutral = |one: &&&PanelConductor| matches!(one.lands, Lands::BreakerNeutral(_));
    names.extend(wires.iter().filter(neutral).map(|one| format!("{} of {} (neutral)", one.color.word(), one.run)));
    if names.is_empty() && !own.iter().all(|one| one.spare) {
        names.push(String::from("conductor not recorded"));
    }
    let x = side.x(10.0);
    svg.text(At(x, y + 15.0), side.outward(), Letter::Plain, &cut(&what, 38));
    svg.text(At(x, y + 28.0), side.outward(), Letter::Small, &cut(&names.join(", "), 46));
}

/// Draws a bar with its screws, and returns where it ends.
fn bar(svg: &mut Svg, sheet: &PanelSheet, At(x, y): At, title: &str, screws: i64, lands: Lands) -> f64 {
    svg.text(At(x, y), Anchor::Start, Letter::Strong, title);
    let lines = (screws + SCREWS_IN_ROW - 1) / SCREWS_IN_ROW;
    let taken: Vec<&PanelConductor> = sheet.conductors.iter().filter(|one| one.lands == lands).collect();
    let by_screw = |screw: i64| taken.iter().filter(move |one| one.screw.map(i64::from) == Some(screw));
    let most = if lands == Lands::NeutralBar { 1 } else { sheet.grounds_per_screw.unwrap_or(1) };
    // Conductors whose screw nobody wrote are drawn on the free screws, from the first on.
    let mut rest = taken.iter().filter(|one| one.screw.is_none());
    let mut pigtails = if lands == Lands::NeutralBar { sheet.neutral_bar.pigtails } else { 0 };
    for line in 0..lines {
        let level = y + 20.0 + line as f64 * 24.0;
        let count = (screws - line * SCREWS_IN_ROW).min(SCREWS_IN_ROW);
        svg.rect(At(x, level - 7.0), count as f64 * PITCH, 12.0, Ink::Wire("cap"));
        for at in 0..count {
            let center = x + (at as f64 + 0.5) * PITCH;
            let screw = line * SCREWS_IN_ROW + at + 1;
            let wire = by_screw(screw).next().or_else(|| rest.next());
            let color = match wire {
                Some(wire) => Some(wire.color),
                None if pigtails > 0 => {
                    pigtails -= 1;
                    Some(Colour::White)
                }
                None => None,
            };
            if let Some(color) = color {
                run(svg, At(center, level + 2.0), At(center, level + 14.0), color);
            }
            let crowded = by_screw(screw).count() as i64 > most;
            svg.circle(At(center, level - 1.0), 4.5, if crowded { Ink::FlaggedBox } else { Ink::Box });
            svg.line(At(center - 2.5, level - 1.0), At(center + 2.5, level - 1.0), Ink::Symbol);
        }
    }
    y + 12.0 + lines as f64 * 24.0
}
