//! The make-up of a box: cables with their conductors on the left, splices in the middle, terminals on the right. Every conductor
//! is named in words and has a line of its own, so that the drawing reads in black and white.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::BoxSheet;
use storystick_engine::wiring::Colour;

use super::spread::spread;
use super::svg::{Anchor, At, Ink, Letter, Svg};

const ROW: f64 = 21.0;
const TOP: f64 = 46.0;
/// Where conductors leave their sheath, where splices stand, where terminals begin, and the right side of the box.
const SHEATH: f64 = 96.0;
const LABELS: f64 = 112.0;
const LEAVE: f64 = 340.0;
const SPLICE: f64 = 470.0;
const TERMINAL: f64 = 640.0;
const RIGHT: f64 = 830.0;

/// A point that a line can run to.
struct Node {
    name: String,
    y: f64,
    colour: Colour,
}

/// Draws the make-up of a box.
pub(crate) fn draw(one: &BoxSheet, units: UnitSystem) -> Svg {
    let sheet = &one.sheet;
    let (wires, cables) = wires(one);
    let terminals = terminals(one);
    let rows = wires.last().map_or(0.0, |wire| wire.y).max(terminals.last().map_or(0.0, |last| last.1));
    let bottom = rows + 26.0;
    let words = sheet.steps.join(". ");
    let mut svg = Svg::new(At(RIGHT + 12.0, bottom + 14.0), format!("{}: make-up", sheet.id), words, "makeup");
    let built = if sheet.as_built { "as built" } else { "as planned" };
    svg.text(At(8.0, 16.0), Anchor::Start, Letter::Strong, &format!("{} · {} · {built}", sheet.id, one.room));
    let receptacles = one.receptacles.iter().map(|text| format!(" · {text}")).collect::<String>();
    svg.text(At(8.0, 31.0), Anchor::Start, Letter::Small, &format!("{}{receptacles}", one.part));
    svg.rect(At(SHEATH + 8.0, TOP - 8.0), RIGHT - SHEATH - 8.0, bottom - TOP + 8.0, Ink::Wire("encl"));
    for (name, first, last) in &cables {
        let (top, high) = (first - 9.0, last - first + 18.0);
        svg.rect(At(8.0, top), SHEATH, high, Ink::Wire("sheath"));
        svg.text(At(14.0, top + 14.0), Anchor::Start, Letter::Strong, name);
    }
    let labels = splices(&mut svg, one, &wires, &terminals, bottom);
    landings(&mut svg, one, &wires, &terminals);
    connectors(&mut svg, &labels);
    for (wire, conductor) in wires.iter().zip(&sheet.conductors) {
        run(&mut svg, At(SHEATH + 8.0, wire.y), At(LABELS - 2.0, wire.y), wire.colour);
        let size = conductor.size.map_or_else(String::new, |size| format!(" {}", size.print(units)));
        let mark = if conductor.re_mark { ", re-mark" } else { "" };
        let text = format!("{}{size} · {}{mark}", wire.colour.word(), conductor.function);
        svg.text(At(LABELS + 4.0, wire.y + 4.0), Anchor::Start, Letter::Small, &cut(&text, 40));
        if sheet.caps.contains(&wire.name) {
            run(&mut svg, At(LEAVE, wire.y), At(LEAVE + 26.0, wire.y), wire.colour);
            dome(&mut svg, At(LEAVE + 34.0, wire.y));
            svg.text(At(LEAVE + 46.0, wire.y + 4.0), Anchor::Start, Letter::Small, "cap");
        }
    }
    svg
}

/// Places the conductors, cable by cable.
fn wires(one: &BoxSheet) -> (Vec<Node>, Vec<(String, f64, f64)>) {
    let mut y = TOP + 8.0;
    let mut wires: Vec<Node> = Vec::new();
    let mut cables: Vec<(String, f64, f64)> = Vec::new();
    for conductor in &one.sheet.conductors {
        let cable = conductor.name.rsplit_once('.').map_or(conductor.name.as_str(), |(cable, _)| cable);
        match cables.last_mut().filter(|last| last.0 == cable) {
            Some(last) => last.2 = y,
            None => {
                if !cables.is_empty() {
                    y += 12.0;
                }
                cables.push((cable.to_owned(), y, y));
            }
        }
        wires.push(Node { name: conductor.name.clone(), y, colour: conductor.colour });
        y += ROW;
    }
    (wires, cables)
}

/// Places the terminals, device by device: name, place, and whether it heads a device.
fn terminals(one: &BoxSheet) -> Vec<(String, f64)> {
    let pigtails = one.sheet.splices.iter().flat_map(|splice| &splice.pigtails);
    let landed = one.sheet.landings.iter().flat_map(|landing| {
        let jumper = one.sheet.conductors.iter().all(|conductor| conductor.name != landing.from);
        [jumper.then_some(&landing.from), Some(&landing.terminal)].into_iter().flatten()
    });
    let mut names: Vec<&String> = pigtails.chain(landed).collect();
    names.sort();
    names.dedup();
    let mut y = TOP + 8.0;
    let mut places = Vec::new();
    let mut device = None;
    for name in names {
        let own = name.rsplit_once('.').map_or(name.as_str(), |(device, _)| device);
        if device != Some(own) {
            y += if device.is_some() { 30.0 } else { 18.0 };
            device = Some(own);
        }
        places.push((name.clone(), y));
        y += ROW;
    }
    places
}

fn y_of(terminals: &[(String, f64)], name: &str) -> Option<f64> {
    terminals.iter().find(|(known, _)| known == name).map(|(_, y)| *y)
}

/// Place, conductors, title and text of a splice.
type SpliceLabel = (f64, usize, String, String);

fn splices(
    svg: &mut Svg,
    one: &BoxSheet,
    wires: &[Node],
    terminals: &[(String, f64)],
    bottom: f64,
) -> Vec<SpliceLabel> {
    let mut labels = Vec::new();
    let sheet = &one.sheet;
    let members = |at: usize| -> Vec<&Node> {
        let names = sheet.splices.get(at).map(|splice| splice.conductors.as_slice()).unwrap_or_default();
        wires.iter().filter(|wire| names.contains(&wire.name)).collect()
    };
    let wanted: Vec<f64> = (0..sheet.splices.len())
        .map(|at| {
            let own = members(at);
            own.iter().map(|wire| wire.y).sum::<f64>() / own.len().max(1) as f64
        })
        .collect();
    // Splices stand as far apart as the box leaves room for, so that their labels stay clear of the lines.
    let gap = ((bottom - TOP - 40.0) / (wanted.len().max(2) - 1) as f64).clamp(40.0, 76.0);
    let places = spread(&wanted, gap, TOP + 14.0, bottom - 26.0);
    for (at, (splice, &y)) in sheet.splices.iter().zip(&places).enumerate() {
        let own = members(at);
        for (number, wire) in own.iter().enumerate() {
            let into = y + 3.5 * (number as f64 - (own.len() as f64 - 1.0) / 2.0);
            sway(svg, At(LEAVE, wire.y), At(SPLICE, into), wire.colour);
        }
        let colour = own.first().map_or(Colour::Black, |wire| wire.colour);
        for pigtail in &splice.pigtails {
            if let Some(to) = y_of(terminals, pigtail) {
                sway(svg, At(SPLICE + 16.0, y), At(TERMINAL, to), colour);
            }
        }
        let size = splice.connector.as_ref().map_or_else(String::new, |size| format!(" · {size}"));
        let title = format!("splice of {} conductors: {}", splice.count, splice.function);
        labels.push((y, splice.count, title, format!("{}× {}{size}", splice.count, splice.function)));
    }
    labels
}

/// Draws the connectors with their labels over all lines.
fn connectors(svg: &mut Svg, labels: &[SpliceLabel]) {
    for (y, count, title, text) in labels {
        svg.group(&[("splice", count.to_string())], title, |svg| {
            dome(svg, At(SPLICE + 6.0, *y));
            svg.text(At(SPLICE + 8.0, y + 21.0), Anchor::Middle, Letter::Halo, &cut(text, 38));
        });
    }
}

fn landings(svg: &mut Svg, one: &BoxSheet, wires: &[Node], terminals: &[(String, f64)]) {
    for landing in &one.sheet.landings {
        let Some(to) = y_of(terminals, &landing.terminal) else { continue };
        if let Some(wire) = wires.iter().find(|wire| wire.name == landing.from) {
            sway(svg, At(LEAVE, wire.y), At(TERMINAL, to), wire.colour);
        } else if let Some(from) = y_of(terminals, &landing.from) {
            // A jumper between two terminals.
            svg.curve(At(TERMINAL, from), At(TERMINAL - 34.0, (from + to) / 2.0), At(TERMINAL, to), Ink::Symbol);
        }
    }
    let mut device = None;
    for (name, y) in terminals {
        let (own, screw) = name.rsplit_once('.').unwrap_or((name, ""));
        if device != Some(own) {
            let last = terminals.iter().filter(|(other, _)| other.rsplit_once('.').is_some_and(|(it, _)| it == own));
            let end = last.map(|(_, y)| *y).fold(*y, f64::max);
            svg.rect(At(TERMINAL, y - 26.0), RIGHT - TERMINAL - 14.0, end - y + 38.0, Ink::Counter);
            svg.text(At(TERMINAL + 10.0, y - 12.0), Anchor::Start, Letter::Strong, own);
            device = Some(own);
        }
        svg.circle(At(TERMINAL, *y), 5.0, Ink::Box);
        svg.line(At(TERMINAL - 3.0, *y), At(TERMINAL + 3.0, *y), Ink::Symbol);
        svg.text(At(TERMINAL + 12.0, y + 4.0), Anchor::Start, Letter::Plain, &screw.replace('_', " "));
    }
}

/// Draws a wire connector.
fn dome(svg: &mut Svg, At(x, y): At) {
    svg.poly(
        &[At(x - 9.0, y - 9.0), At(x + 7.0, y - 5.0), At(x + 12.0, y), At(x + 7.0, y + 5.0), At(x - 9.0, y + 9.0)],
        true,
        Ink::Wire("cap"),
    );
}

fn class(colour: Colour) -> Ink {
    Ink::Wire(match colour {
        Colour::Black => "w w-black",
        Colour::White => "w w-white",
        Colour::Red => "w w-red",
        Colour::Blue => "w w-blue",
        Colour::Yellow => "w w-yellow",
        Colour::Orange => "w w-orange",
        Colour::Brown => "w w-brown",
        Colour::Bare => "w w-bare",
    })
}

/// Returns the line under a conductor that would not show on its ground.
fn edge(colour: Colour) -> Option<Ink> {
    match colour {
        Colour::White => Some(Ink::Wire("w w-under")),
        Colour::Black => Some(Ink::Wire("w w-edge")),
        _ => None,
    }
}

/// Draws a level piece of a conductor. White is a hollow line, so that it shows on paper; black has a pale edge on a dark screen.
pub(super) fn run(svg: &mut Svg, from: At, to: At, colour: Colour) {
    if let Some(edge) = edge(colour) {
        svg.line(from, to, edge);
    }
    svg.line(from, to, class(colour));
}

fn sway(svg: &mut Svg, from: At, to: At, colour: Colour) {
    if let Some(edge) = edge(colour) {
        svg.sway(from, to, edge);
    }
    svg.sway(from, to, class(colour));
}

pub(super) fn cut(text: &str, longest: usize) -> String {
    if text.chars().count() <= longest {
        return text.to_owned();
    }
    text.chars().take(longest - 1).chain(std::iter::once('…')).collect()
}
