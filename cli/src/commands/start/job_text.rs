//! The job file of the answers: valid, short, with a comment where something is to be added.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use storystick_engine::quantity::UnitSystem;
use toml_edit::Value;

use super::answers::Told;

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
    if told.accessible {
        out.push_str("accessible = true\n");
    }
    if told.units == UnitSystem::Metric {
        out.push_str("units = \"metric\"\n");
    }
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
        list(&mut out, "opening", room.openings.iter().map(String::as_str));
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
