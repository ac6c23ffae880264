//! The circuit directory as text: positions in two columns as in the panel, then a line for each circuit.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::{Directory, Slot};

use super::table::{Table, remarks};
use crate::render::wrap::wrap;

/// Returns the directory of a panel.
pub(crate) fn text(paper: &Directory, units: UnitSystem, columns: usize) -> String {
    let heading = format!("Panel {} · {} · {}", paper.panel, paper.room, paper.rating);
    let mut out = wrap(&heading, columns, "  ");
    if let Some(source) = &paper.fed_by {
        out.push_str(&format!("supplied from panel {source}\n"));
    }
    out.push('\n');
    let mut card = Table::new(["left", "#", "#", "right"]);
    for pair in paper.slots.chunks(2) {
        let of = |at: usize| pair.get(at).map_or_else(String::new, card_line);
        let number = |at: usize| pair.get(at).map_or_else(String::new, |slot| slot.position.to_string());
        card.row([of(0), number(0), number(1), of(1)]);
    }
    out.push_str(&card.draw(columns));
    out.push('\n');
    let mut table = Table::new(["circuit", "breaker", "wire", "protection", "leg", "load", "rooms"]);
    let slots = paper.slots.iter().chain(&paper.unplaced).flat_map(Slot::all);
    for slot in slots.filter(|slot| slot.circuit.is_some() && !slot.further_pole) {
        table.row([
            slot.circuit.clone().unwrap_or_default(),
            slot.breaker.clone(),
            slot.wire.clone(),
            slot.protection.clone(),
            leg(slot),
            slot.load.map_or_else(|| String::from("not stated"), |load| load.print(units)),
            slot.rooms.join(", "),
        ]);
    }
    out.push_str(&table.draw(columns));
    out.push('\n');
    let [one, two] = &paper.legs;
    let share = paper.imbalance.map_or_else(String::new, |share| format!(", {} apart", share.print(units)));
    out.push_str(&format!("Stated load: leg 1 {}, leg 2 {}{share}\n\n", one.load.print(units), two.load.print(units)));
    out.push_str(&remarks("Before the card goes into the door:", &paper.remarks, columns));
    out
}

/// Returns what stands on the card at a position; both halves of a tandem breaker are told.
pub(crate) fn card_line(slot: &Slot) -> String {
    slot.all().map(one_line).collect::<Vec<_>>().join(" / ")
}

fn one_line(slot: &Slot) -> String {
    let proposed = if slot.proposed && slot.circuit.is_some() { " (proposed)" } else { "" };
    let outlets = if slot.outlets.is_empty() { String::new() } else { format!(" ({})", slot.outlets.join(", ")) };
    match slot.further_pole {
        true => format!("{} (same breaker)", slot.label),
        false => format!("{}{outlets}{proposed}", slot.label),
    }
}

/// Returns the leg or legs of a circuit.
pub(crate) fn leg(slot: &Slot) -> String {
    match (slot.breaker.ends_with("2-pole"), slot.leg) {
        (true, _) => String::from("both"),
        (false, Some(leg)) => leg.to_string(),
        (false, None) => String::new(),
    }
}
