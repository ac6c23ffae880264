//! The sheet of a panel as text: positions in two columns as in the cabinet, then a line for each cable, the bars and the steps.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::PanelSheet;
use storystick_engine::sheet::panel::{BreakerCircuit, BreakerKind, PANEL_CAUTION, PanelBreaker, PanelConductor};
use storystick_engine::wiring::{Colour, Lands};

use super::table::{Table, remarks};
use crate::render::wrap::{width, wrap};

/// Returns the sheets of panels.
pub(crate) fn text(sheets: &[PanelSheet], units: UnitSystem, columns: usize) -> String {
    let mut out = String::new();
    if !sheets.is_empty() {
        out.push_str(&wrap(PANEL_CAUTION, columns, ""));
        out.push('\n');
    }
    for sheet in sheets {
        out.push_str(&of_panel(sheet, units, columns));
    }
    out
}

/// Returns the heading of a panel: `bus 200 A, main 200 A · service · 40 spaces, 31 taken`.
pub(crate) fn heading(sheet: &PanelSheet) -> String {
    let supply = sheet.fed_by.as_ref().map_or_else(|| String::from("service"), |by| format!("fed from panel {by}"));
    let spaces = match sheet.spaces {
        Some(spaces) => format!("{spaces} spaces, {} open", sheet.open.len()),
        None => String::from("spaces not recorded"),
    };
    let built = match sheet.conductors.iter().filter(|one| one.seen).count() {
        0 => String::from("as planned"),
        seen => format!("{seen} of {} conductors seen", sheet.conductors.len()),
    };
    [sheet.rating.clone(), supply, spaces, built]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" · ")
}

fn of_panel(sheet: &PanelSheet, units: UnitSystem, columns: usize) -> String {
    let mut out = wrap(&format!("PANEL {} · {} · {}", sheet.id, sheet.room, heading(sheet)), columns, "  ");
    out.push('\n');
    out.push_str(&face(sheet, units, columns));
    let mut unplaced = sheet.breakers.iter().filter(|one| one.positions.is_empty()).peekable();
    if unplaced.peek().is_some() {
        out.push_str("No position yet:\n");
    }
    for one in unplaced {
        let lines: Vec<String> = one.circuits.iter().map(|circuit| line(one, circuit, units)).collect();
        out.push_str(&wrap(&format!("- {}", lines.join("; ")), columns, "  "));
    }
    out.push('\n');
    let mut table = Table::new(["cable", "make", "hots", "neutral", "ground"]);
    for cable in cables(sheet) {
        table.row(row(&cable));
    }
    if !table.is_empty() {
        out.push_str(&table.draw(columns));
        out.push_str(if sheet.conductors.iter().any(|one| one.seen) { "* seen to land there\n\n" } else { "\n" });
    }
    for text in bars(sheet) {
        out.push_str(&wrap(&text, columns, "  "));
    }
    for (at, step) in sheet.steps.iter().enumerate() {
        out.push_str(&wrap(&format!("{}. {step}", at + 1), columns, "   "));
    }
    out.push_str(&remarks("Settle first:", &sheet.remarks, columns));
    out.push_str(&remarks("Wrong in this panel:", &sheet.faults, columns));
    out.push_str(&remarks("Seen otherwise than planned:", &sheet.differences, columns));
    out.push('\n');
    out
}

/// Returns what the bars take.
pub(crate) fn bars(sheet: &PanelSheet) -> [String; 2] {
    let (neutral, ground) = (sheet.neutral_bar, sheet.ground_bar);
    let there = |terminals: Option<i64>| terminals.map_or_else(String::new, |count| format!(" of {count}"));
    let pigtails = match neutral.pigtails {
        0 => String::new(),
        count => format!(" + {} of breakers", some(count, "pigtail")),
    };
    [
        format!(
            "Neutral bar: {}{pigtails}, {}{}",
            some(neutral.conductors, "neutral"),
            some(neutral.screws, "screw"),
            there(neutral.terminals)
        ),
        format!(
            "Ground bar: {}, {}{}",
            some(ground.conductors, "ground"),
            some(ground.screws, "screw"),
            there(ground.terminals)
        ),
    ]
}

fn some(count: i64, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

/// The conductors of one cable or raceway.
pub(crate) type Cable<'a> = Vec<&'a PanelConductor>;

/// Returns the conductors cable by cable.
pub(crate) fn cables(sheet: &PanelSheet) -> Vec<Cable<'_>> {
    sheet.conductors.chunk_by(|a, b| a.run == b.run).map(|some| some.iter().collect()).collect()
}

/// Returns the row of a cable: its id, its make, and what of it lands on breakers, for the neutral and for the ground.
pub(crate) fn row(cable: &Cable<'_>) -> [String; 5] {
    let of = |fits: fn(&Lands) -> bool| {
        let own = cable.iter().filter(|one| fits(&one.lands));
        own.map(|one| landed(one)).collect::<Vec<_>>().join(", ")
    };
    let first = cable.first();
    [
        first.map_or_else(String::new, |one| one.run.clone()),
        first.map_or_else(String::new, |one| one.make.clone()),
        of(|lands| matches!(lands, Lands::Breaker(..) | Lands::Lug(_) | Lands::Cap)),
        of(|lands| matches!(lands, Lands::NeutralBar | Lands::BreakerNeutral(_) | Lands::NeutralLug)),
        of(|lands| matches!(lands, Lands::GroundBar)),
    ]
}

/// Returns a conductor with where it lands: `black → 9`, `white → bar, screw 7`.
fn landed(one: &PanelConductor) -> String {
    let to = match (one.lands, one.position) {
        (Lands::Breaker(..), Some(at)) => at.to_string(),
        (Lands::BreakerNeutral(_), Some(at)) => format!("breaker {at}"),
        (Lands::NeutralBar, _) if one.color == Colour::Bare => one.to.clone(),
        (Lands::NeutralBar | Lands::GroundBar, _) => String::from("bar"),
        _ => one.to.clone(),
    };
    let screw = one.screw.map_or_else(String::new, |screw| format!(", screw {screw}"));
    let mark = if one.re_mark { " (re-mark)" } else { "" };
    format!("{}{mark} → {to}{screw}{}", one.color.word(), if one.seen { "*" } else { "" })
}

/// Returns the line of a circuit on a breaker: `20 A 1-pole AFCI · circuit 9`.
pub(crate) fn line(breaker: &PanelBreaker, circuit: &BreakerCircuit, units: UnitSystem) -> String {
    let rating = circuit.rating.map_or_else(|| String::from("? A"), |rating| rating.print(units));
    let kind = match (breaker.kind, circuit.poles) {
        (BreakerKind::Quad, poles @ 2..) => format!("quad, {poles}-pole"),
        (kind, _) => kind.name().to_owned(),
    };
    let protection = circuit.protection.join(" ");
    let gap = if protection.is_empty() { "" } else { " " };
    format!("{rating} {kind}{gap}{protection} · circuit {}", circuit.id)
}

/// Returns what a circuit serves, with the configuration of its receptacles.
pub(crate) fn serves(circuit: &BreakerCircuit) -> String {
    let outlets = match circuit.outlets.as_slice() {
        [] => String::new(),
        outlets => format!(" ({})", outlets.join(", ")),
    };
    let proposed = if circuit.proposed && !circuit.spare { " (proposed)" } else { "" };
    format!("{}{outlets}{proposed}", circuit.label)
}

/// Returns the hots that land on a position.
pub(crate) fn hots(sheet: &PanelSheet, position: i64) -> Vec<&PanelConductor> {
    let on = |one: &&PanelConductor| one.position == Some(position) && matches!(one.lands, Lands::Breaker(..));
    sheet.conductors.iter().filter(on).collect()
}

/// Returns the hots that land on a position as text: `black of 1-HR`.
pub(crate) fn hot_words(sheet: &PanelSheet, position: i64) -> Vec<String> {
    let word = |one: &&PanelConductor| {
        let mark = if one.re_mark { ", re-mark" } else { "" };
        format!("{} of {}{mark}", one.color.word(), one.run)
    };
    hots(sheet, position).iter().map(word).collect()
}

/// Returns the breaker on a position.
pub(crate) fn breaker_at(sheet: &PanelSheet, position: i64) -> Option<&PanelBreaker> {
    sheet.breakers.iter().find(|one| one.positions.contains(&position))
}

/// Returns what stands at a position.
fn cell(sheet: &PanelSheet, position: i64, units: UnitSystem) -> Vec<String> {
    let Some(breaker) = breaker_at(sheet, position) else {
        let blank = sheet.open.contains(&position);
        return if blank { vec![String::from("open: blank")] } else { Vec::new() };
    };
    let mut lines = Vec::new();
    for circuit in breaker.at(position) {
        if circuit.positions.first() == Some(&position) {
            lines.push(line(breaker, circuit, units));
            lines.push(serves(circuit));
        } else {
            lines.push(format!("circuit {}, second pole", circuit.id));
        }
    }
    lines.extend(hot_words(sheet, position));
    lines
}

/// Returns the face of the panel: odd positions on the left, even ones on the right.
fn face(sheet: &PanelSheet, units: UnitSystem, columns: usize) -> String {
    // Between both sides stand the numbers: ` 41 │ 42 `.
    const MIDDLE: usize = 9;
    let half = columns.saturating_sub(MIDDLE) / 2;
    let mut out = String::new();
    for left in (1..=sheet.positions).step_by(2) {
        let sides = [left, left + 1].map(|at| fold(&cell(sheet, at, units), half));
        let high = sides.iter().map(Vec::len).max().unwrap_or(0).max(1);
        for line in 0..high {
            let part = |side: usize| sides.get(side).and_then(|lines| lines.get(line)).map_or("", String::as_str);
            let number = |at: i64| match line {
                0 if at <= sheet.positions => at.to_string(),
                _ => String::new(),
            };
            let (one, two) = (part(0), part(1));
            let blank = " ".repeat(half.saturating_sub(width(one)));
            let text = format!("{one}{blank} {:>2} │ {:<2} {two}", number(left), number(left + 1));
            out.push_str(text.trim_end());
            out.push('\n');
        }
        if left + 2 <= sheet.positions {
            // No line goes through a breaker that takes both positions.
            let through = |at: i64| breaker_at(sheet, at).is_some_and(|one| one.positions.contains(&(at + 2)));
            let rule = |at: i64| if through(at) { " " } else { "─" }.repeat(half + 4);
            let middle = match (through(left), through(left + 1)) {
                (true, true) => "│",
                (true, false) => "├",
                (false, true) => "┤",
                (false, false) => "┼",
            };
            out.push_str(format!("{}{middle}{}", rule(left), rule(left + 1)).trim_end());
            out.push('\n');
        }
    }
    out
}

fn fold(lines: &[String], wide: usize) -> Vec<String> {
    lines.iter().flat_map(|line| super::table::fold(line, wide)).collect()
}
