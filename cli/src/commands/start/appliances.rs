//! Appliances in answers: `appliances range 8.8kW 240V, dishwasher 1150VA, refrigerator`, after the room they stand in.

use storystick_engine::model::kinds::appliance;
use storystick_engine::problem::Problem;
use storystick_engine::quantity::{self, Dimension, UnitSystem};

use super::line::{Line, kind, words, wrong};
use super::rooms::{WALLS, length};

const SHAPE: &str = "write the kind, then what its nameplate says: `range 8800VA 240V`, `heat_pump 13A 240V minimum 17A breaker 25A`; \
                     `plug` or `wired` tells how it is joined, `existing` that it is there already, `north 6ft` where its middle is on a wall";

/// Reads the appliances of a room; each is the fields of its table in the job file, without id and room.
///
/// # Errors
/// What is wrong with the answer.
pub(super) fn appliances(line: &Line<'_>, units: UnitSystem) -> Result<Vec<(String, String)>, Box<Problem>> {
    let pieces = line.rest.split(',').map(str::trim).filter(|piece| !piece.is_empty());
    let found: Vec<(String, String)> = pieces.map(|piece| one(line, piece, units)).collect::<Result<_, _>>()?;
    if found.is_empty() {
        return Err(wrong(line, String::from("no appliance is named"), SHAPE));
    }
    Ok(found)
}

/// Reads one appliance: its kind, and its fields.
fn one(line: &Line<'_>, piece: &str, units: UnitSystem) -> Result<(String, String), Box<Problem>> {
    let spec = appliance::spec();
    let (kind, rest) = kind(line, piece, "appliance", words(&spec, "kind"))?;
    let mut parts = rest.split_whitespace();
    let mut fields = String::new();
    let mut place = String::new();
    let mut put = |key: &str, text: &str, dimension: Dimension| {
        let spaced = text.find(|c: char| c.is_ascii_alphabetic()).map(|at| {
            let (number, unit) = text.split_at(at);
            format!("{number} {unit}")
        });
        let read = quantity::parse(&spaced.unwrap_or_else(|| text.to_owned()), dimension).ok()?;
        (read.amount() > 0).then(|| fields.push_str(&format!("{key} = \"{}\"\n", read.exact(units))))
    };
    while let Some(part) = parts.next() {
        let read = match part {
            "minimum" => put("min_ampacity", parts.next().unwrap_or_default(), Dimension::Current),
            "breaker" => put("max_breaker", parts.next().unwrap_or_default(), Dimension::Current),
            "plug" | "wired" | "existing" => Some(()),
            wall if WALLS.contains(&wall) => parts.next().and_then(|text| length(text, units)).map(|along| {
                place = format!("wall = \"{wall}\"\nalong = \"{}\"\n", along.exact(units));
            }),
            _ => put("load", part, Dimension::Power)
                .or_else(|| put("voltage", part, Dimension::Voltage))
                .or_else(|| put("current", part, Dimension::Current)),
        };
        if read.is_none() {
            return Err(wrong(line, format!("`{part}` does not belong to a {}", kind.replace('_', " ")), SHAPE));
        }
    }
    fields.push_str(&place);
    let joined = piece.split_whitespace().find(|part| matches!(*part, "plug" | "wired"));
    if let Some(joined) = joined {
        fields.push_str(&format!("cord_and_plug = {}\n", joined == "plug"));
    }
    if piece.split_whitespace().any(|part| part == "existing") {
        fields.push_str("existing = true\n");
    }
    Ok((kind, fields))
}
