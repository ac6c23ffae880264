//! The job file of the answers: valid, short, with a comment where something is to be added.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use storystick_engine::quantity::UnitSystem;
use toml_edit::Value;

use super::answers::Told;
use super::panel::{Panel, Which};

fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}

/// Returns the text of the job file.
pub(super) fn job(told: &Told) -> String {
    let mut out = String::new();
    if let Some(name) = &told.name {
        let _ = writeln!(out, "# {}", name.replace(['\n', '\r'], " "));
    }
    out.push_str("format = 1\n\n[site]\n");
    if let Some(name) = &told.name {
        let _ = writeln!(out, "name = {}", quoted(name));
    }
    let _ = writeln!(out, "permit_date = {}", told.permit_date.0);
    let _ = writeln!(out, "jurisdiction = {}", quoted(&told.place.0));
    if let Some((shop, _)) = &told.shop {
        let _ = writeln!(out, "shop = {}", quoted(shop));
    }
    let _ = writeln!(
        out,
        "stage = {} # layout, rough_in, trim_out, final: raise it as the work goes on",
        quoted(&told.stage)
    );
    if told.remodel || told.has_existing_panel() || told.rooms.iter().any(|room| room.is_existing()) {
        out.push_str("new_work = false # an existing dwelling: what is there already says `existing = true`\n");
    }
    if told.accessible {
        out.push_str("accessible = true\n");
    }
    if told.units == UnitSystem::Metric {
        out.push_str("units = \"metric\"\n");
    }
    panels(told, &mut out);
    buildings(told, &mut out);
    if told.rooms.is_empty() {
        out.push_str("\n# Rooms: [[room]] with id, kind, length and width.\n");
    } else {
        out.push_str("\n# Rooms. Walls run clockwise from the north wall; `at` is from a wall's start, with the room on its right.\n");
    }
    for room in &told.rooms {
        let _ = write!(out, "\n[[room]]\nid = {}\nkind = {}\n", quoted(&room.id), quoted(&room.kind));
        if let Some(name) = &room.name {
            let _ = writeln!(out, "name = {}", quoted(name));
        }
        if let Some(storey) = room.storey {
            let _ = writeln!(out, "storey = {storey}");
        }
        let _ = writeln!(out, "length = {}", quoted(&room.length.exact(told.units)));
        let _ = writeln!(out, "width = {}", quoted(&room.width.exact(told.units)));
        for (flag, value) in &room.flags {
            let _ = writeln!(out, "{flag} = {value}");
        }
        if room.is_detached() {
            let _ = writeln!(out, "building = {}", quoted(&room.building()));
        }
        list(&mut out, "opening", room.openings.iter().map(String::as_str));
        list(&mut out, "basin", room.basins.iter().map(String::as_str));
        let counters: Vec<String> = room
            .counters
            .iter()
            .map(|counter| match counter.breaks.as_slice() {
                [] => counter.head.clone(),
                breaks => format!("{}, break = [{}]", counter.head, breaks.join(", ")),
            })
            .collect();
        list(&mut out, "counter", counters.iter().map(String::as_str));
    }
    appliances(told, &mut out);
    out
}

/// Writes the panel of the dwelling and those that it feeds, each of these with its feeder.
fn panels(told: &Told, out: &mut String) {
    if let Some((panel, _)) = &told.panel {
        let existing = panel.which == Which::Existing;
        out.push_str("\n[[panel]]\nid = \"P1\"\n");
        out.push_str(if existing { "existing = true\n" } else { "" });
        of_panel(panel, told, out);
        match &panel.free {
            Some(free) => {
                let free: Vec<String> = free.iter().map(i64::to_string).collect();
                let _ = writeln!(out, "free_positions = [{}]", free.join(", "));
            }
            None if existing => {
                out.push_str("# free_positions = [20, 22]: the positions that new breakers can take\n");
            }
            None => {}
        }
    }
    for (number, (panel, _)) in (2..).zip(&told.sub_panels) {
        let _ = writeln!(out, "\n[[panel]]\nid = \"P{number}\"\nfed_by = \"P1\"");
        of_panel(panel, told, out);
        let _ = writeln!(out, "\n[[feeder]]\nid = \"F{number}\"\nfrom = \"P1\"\nto = \"P{number}\"");
        match &panel.fed {
            Some(fed) => {
                let _ = writeln!(out, "breaker = {}", quoted(&fed.exact(told.units)));
            }
            None => out.push_str("# breaker = \"60 A\": the breaker that it starts from\n"),
        }
        out.push_str("# its wires: wiring_method, size, material, wires, ground_size, length\n");
    }
}

/// Writes what is said of a panel.
fn of_panel(panel: &Panel, told: &Told, out: &mut String) {
    if let Some(room) = &panel.room {
        let _ = writeln!(out, "room = {}", quoted(room));
    }
    let _ = writeln!(out, "rating = {}", quoted(&panel.rating.exact(told.units)));
    if let Some(main) = &panel.main {
        let _ = writeln!(out, "main = {}", quoted(&main.exact(told.units)));
    }
    if let Some(spaces) = panel.spaces {
        let _ = writeln!(out, "spaces = {spaces}");
    }
}

/// Writes the buildings of the rooms that stand apart from the house.
fn buildings(told: &Told, out: &mut String) {
    for room in told.rooms.iter().filter(|room| room.is_detached()) {
        let _ = writeln!(out, "\n[[building]]\nid = {}\nkind = \"detached\"", quoted(&room.building()));
        out.push_str("# how it is supplied, shut off and grounded: supply, disconnect, disconnect_place; `[[electrode]]` with its `building`\n");
    }
}

/// Writes the appliances of all rooms, each with an id of its own.
fn appliances(told: &Told, out: &mut String) {
    let mut taken: BTreeSet<String> = told.rooms.iter().map(|room| room.id.clone()).collect();
    for room in &told.rooms {
        for (kind, fields) in &room.appliances {
            let stem = kind.replace('_', "-");
            let mut id = stem.clone();
            let mut number = 2;
            while !taken.insert(id.clone()) {
                id = format!("{stem}-{number}");
                number += 1;
            }
            let (id, of) = (quoted(&id), quoted(&room.id));
            let _ = write!(out, "\n[[appliance]]\nid = {id}\nroom = {of}\nkind = {}\n{fields}", quoted(kind));
            // In a room that is left as it is, what is named without a word is what the work brings.
            if room.is_existing() && !fields.contains("existing = true") {
                out.push_str("existing = false\n");
            }
        }
    }
}

fn list<'a>(out: &mut String, key: &str, items: impl Iterator<Item = &'a str>) {
    let items: Vec<&str> = items.collect();
    if items.is_empty() {
        return;
    }
    let _ = writeln!(out, "{key} = [");
    for item in items {
        let _ = writeln!(out, "  {{ {item} }},");
    }
    out.push_str("]\n");
}
