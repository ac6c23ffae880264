//! The take-off as text.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::{Amount, Figure, TakeOff, TakeOffLine};

use super::table::{Table, remarks};

/// Returns the take-off in total or room by room.
pub(crate) fn text(paper: &TakeOff, units: UnitSystem, by_room: bool, columns: usize) -> String {
    let mut out = if by_room { rooms(paper, units, columns) } else { total(paper, units, columns) };
    out.push_str(&remarks("Not counted, or counted with a doubt:", &paper.open, columns));
    let figures: Vec<String> = paper.figures.iter().map(figure).collect();
    out.push_str(&remarks("Figures that went into it:", &figures, columns));
    out
}

/// Returns a figure with its source and whether it is verified.
pub(crate) fn figure(figure: &Figure) -> String {
    let doubt = if figure.verified { "" } else { ", unverified" };
    let value = figure.text.as_deref().unwrap_or("not set");
    format!("{} = {value} ({}; {}{doubt})", figure.key, figure.cite, figure.source)
}

fn total(paper: &TakeOff, units: UnitSystem, columns: usize) -> String {
    let mut out = String::new();
    let mut group = None;
    let mut table = Table::new(["part", "net", "order"]);
    for line in &paper.lines {
        if group != Some(line.group) {
            out.push_str(&drawn(&table, columns));
            table = Table::new(["part", "net", "order"]);
            out.push_str(&format!("{}\n", line.group.heading().to_uppercase()));
            group = Some(line.group);
        }
        table.row([line.what.clone(), line.net.print(units), order(line, units)]);
    }
    out.push_str(&drawn(&table, columns));
    out
}

/// Returns what to order: `264 ft (2 coils)`.
pub(crate) fn order(line: &TakeOffLine, units: UnitSystem) -> String {
    let coils = match line.coils {
        Some(1) => String::from(" (1 coil)"),
        Some(coils) => format!(" ({coils} coils)"),
        None => String::new(),
    };
    let mut order = match line.order {
        // Orders are whole feet: inches would only blur them.
        Amount::Length(_) => {
            let (number, unit) = line.order.cells(units);
            format!("{number} {unit}")
        }
        Amount::Count(_) => line.order.print(units),
    };
    order.push_str(&coils);
    order
}

fn rooms(paper: &TakeOff, units: UnitSystem, columns: usize) -> String {
    let mut names: Vec<&str> = Vec::new();
    for part in paper.lines.iter().flat_map(|line| &line.rooms) {
        if !names.contains(&part.room.as_str()) {
            names.push(&part.room);
        }
    }
    let mut out = String::new();
    for name in names {
        let mut table = Table::new(["part", "net", "for"]);
        for line in &paper.lines {
            for part in line.rooms.iter().filter(|part| part.room == name) {
                table.row([line.what.clone(), part.amount.print(units), part.items.join(", ")]);
            }
        }
        out.push_str(&format!("{}\n", name.to_uppercase()));
        out.push_str(&drawn(&table, columns));
    }
    out
}

fn drawn(table: &Table, columns: usize) -> String {
    if table.is_empty() { String::new() } else { table.draw(columns) + "\n" }
}
