//! The mark-out as text: the story stick, then every wall with its boxes in order.

use storystick_engine::quantity::{Quantity, UnitSystem};
use storystick_engine::sheet::MarkOut;
use storystick_engine::sheet::markout::{BoxMark, Elevation, StickMark};

use super::table::{Table, remarks};
use crate::render::wrap::wrap;

/// Returns the mark-out of all rooms, or of those named.
pub(crate) fn text(paper: &MarkOut, units: UnitSystem, rooms: &[String], columns: usize) -> String {
    let point = paper.mark.map_or("centre", |mark| mark.word());
    let mut out = remarks("To know first:", &paper.open, columns);
    out.push_str(&format!("STORY STICK — heights to the {point} of the box, from the floor up\n"));
    let mut table = Table::new(["#", "above finished floor", "above subfloor", "what", "where"]);
    for mark in &paper.stick.marks {
        table.row([
            mark.number.to_string(),
            mark.height.print(units),
            shown(mark.from_subfloor, units),
            what(mark),
            mark.rooms.iter().map(|(room, ids)| format!("{room} ({})", ids.len())).collect::<Vec<_>>().join(", "),
        ]);
    }
    out.push_str(&table.draw(columns));
    out.push('\n');
    for room in paper.rooms.iter().filter(|room| rooms.is_empty() || rooms.contains(&room.id)) {
        out.push_str(&format!("{}\n", room.name.to_uppercase()));
        for wall in room.walls.iter().filter(|wall| wall.has_work()) {
            out.push_str(&of_wall(wall, units, point, columns));
        }
        if !room.elsewhere.is_empty() {
            out.push_str("· not on a wall\n");
            let mut table = Table::new(["box", "what", "in", "height", "circuit"]);
            for mark in &room.elsewhere {
                table.row([
                    mark.id.clone(),
                    mark.what.clone(),
                    mark.mounted.clone(),
                    shown(mark.mark, units),
                    mark.circuits.join(", "),
                ]);
            }
            out.push_str(&table.draw(columns));
        }
        out.push_str(&remarks("", &room.open, columns));
        out.push('\n');
    }
    out
}

/// Returns what goes to a mark of the stick, with how many.
pub(crate) fn what(mark: &StickMark) -> String {
    mark.what.iter().map(|(what, count)| format!("{count} {what}")).collect::<Vec<_>>().join(", ")
}

/// Returns a quantity, or a dash for one that is not recorded.
pub(crate) fn shown(quantity: Option<Quantity>, units: UnitSystem) -> String {
    quantity.map_or_else(|| String::from("—"), |quantity| quantity.print(units))
}

/// Returns the heading of a wall: `north wall, 14 ft, boxes 1/2 in proud of the stud`.
pub(crate) fn heading(wall: &Elevation, units: UnitSystem) -> String {
    let set_out = wall.set_out.map_or_else(
        || String::from("set-out not recorded"),
        |board| format!("box fronts {} proud of the studs", board.print(units)),
    );
    let side = if wall.from_outside { ", seen from outside: distances run from the right" } else { "" };
    format!("{} wall, {}, {set_out}{side}", wall.name, wall.length.print(units))
}

fn of_wall(wall: &Elevation, units: UnitSystem, point: &str, columns: usize) -> String {
    let mut out = wrap(&format!("· {}", heading(wall, units)), columns, "  ");
    let mut table = Table::new(["box", "along", point, "what", "circuit", "to see to"]);
    for mark in &wall.boxes {
        table.row([
            mark.id.clone(),
            shown(mark.along, units),
            shown(mark.mark, units),
            mark.what.clone(),
            mark.circuits.join(", "),
            notes(mark),
        ]);
    }
    if !table.is_empty() {
        out.push_str(&table.draw(columns));
    }
    for bare in &wall.bare {
        let what = if bare.counter { "counter" } else { "wall" };
        let (from, to) = (bare.from.print(units), bare.to.print(units));
        let text = format!("! {what} out of reach of a receptacle from {from} to {to}");
        out.push_str(&wrap(&text, columns, "  "));
    }
    out
}

/// Returns what is to be seen to at a box.
pub(crate) fn notes(mark: &BoxMark) -> String {
    let mut notes: Vec<String> = mark.corrections.iter().map(|text| format!("! {text}")).collect();
    if !mark.lacks.is_empty() {
        notes.push(format!("not recorded: {}", mark.lacks.join(", ")));
    }
    if mark.to_measure > 0 {
        notes.push(format!("{} to measure", mark.to_measure));
    }
    notes.join("; ")
}
