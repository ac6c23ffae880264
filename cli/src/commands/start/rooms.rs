//! Rooms in answers: `bedroom 12x14 "North bedroom" @2`, with doors, windows and counters after them.

use storystick_engine::model::kinds::{opening, room};
use storystick_engine::problem::{Problem, did_you_mean};
use storystick_engine::quantity::{self, Dimension, Quantity, UnitSystem};
use storystick_engine::source::Span;

use super::appliances::appliances;
use super::line::{Line, kind, words, wrong};

/// What can stand after a room.
pub(super) const PARTS: [&str; 22] = [
    "door",
    "doorway",
    "sliding-door",
    "vehicle-door",
    "window",
    "fireplace",
    "cabinet",
    "counter",
    "island",
    "sink",
    "range",
    "tub",
    "no-tub",
    "basin",
    "laundry",
    "bays",
    "risers",
    "finished",
    "unfinished",
    "existing",
    "detached",
    "appliances",
];

pub(super) const WALLS: [&str; 4] = ["north", "east", "south", "west"];

/// A room.
#[derive(Debug)]
pub(super) struct Room {
    pub(super) id: String,
    pub(super) kind: String,
    pub(super) name: Option<String>,
    pub(super) storey: Option<i64>,
    pub(super) length: Quantity,
    pub(super) width: Quantity,
    pub(super) flags: Vec<(&'static str, String)>,
    pub(super) openings: Vec<String>,
    pub(super) counters: Vec<Counter>,
    pub(super) basins: Vec<String>,
    /// Its appliances: kind, and the fields of each as the job file writes them.
    pub(super) appliances: Vec<(String, String)>,
    /// Rooms that its doors lead to.
    pub(super) leads: Vec<(String, Span)>,
    pub(super) at: Span,
    readable: bool,
    /// Whether it is in a building that stands apart from the house.
    detached: bool,
}

/// A counter with what interrupts it.
#[derive(Debug)]
pub(super) struct Counter {
    pub(super) head: String,
    pub(super) breaks: Vec<String>,
}

/// Returns whether a word begins a part of a room.
pub(super) fn is_part(word: &str) -> bool {
    PARTS.contains(&word)
}

/// Reads a length; a bare number is in feet, or in metres where the answers are metric.
pub(super) fn length(text: &str, units: UnitSystem) -> Option<Quantity> {
    let bare = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    let unit = match units {
        UnitSystem::Metric => "m",
        UnitSystem::Customary => "ft",
    };
    let spaced = text.find(|c: char| c.is_ascii_alphabetic()).map(|at| {
        let (number, unit) = text.split_at(at);
        format!("{number} {unit}")
    });
    let text = if bare { format!("{text} {unit}") } else { spaced.unwrap_or_else(|| text.to_owned()) };
    quantity::parse(&text, Dimension::Length).ok().filter(|length| length.amount() >= 0)
}

fn shown(length: Quantity, units: UnitSystem) -> String {
    length.exact(units)
}

/// Reads a room.
///
/// # Errors
/// What is wrong with the answer.
pub(super) fn room(line: &Line<'_>, units: UnitSystem, before: &[Room]) -> Result<Room, Box<Problem>> {
    const SHAPE: &str =
        "write kind, length and width, and if you like a name and a storey: `bedroom 12x14 \"North bedroom\" @2`";
    let (plain, name) = match line.rest.split_once('"') {
        None => (line.rest.to_owned(), None),
        Some((start, rest)) => {
            let Some((name, end)) = rest.split_once('"') else {
                return Err(wrong(line, String::from("the name of the room has no end"), "close it with `\"`"));
            };
            (format!("{start} {end}"), Some(name.trim().to_owned()).filter(|name| !name.is_empty()))
        }
    };
    let spec = room::spec();
    let (kind, rest) = kind(line, &plain, "room", words(&spec, "kind"))?;
    let parts = rest.split_whitespace();
    let (mut size, mut storey) = (None, None);
    for part in parts {
        if let Some(number) = part.strip_prefix('@') {
            storey = Some(number.parse::<i64>().ok().filter(|number| (0..=9).contains(number)).ok_or_else(|| {
                wrong(
                    line,
                    format!("`{part}` is no storey"),
                    "write `@0` for a basement, `@1` for the ground floor, `@2` above it",
                )
            })?);
        } else if size.is_none() {
            let sides =
                part.split_once(['x', 'X', '×']).and_then(|(a, b)| Some((length(a, units)?, length(b, units)?)));
            let positive = |pair: &(Quantity, Quantity)| pair.0.amount() > 0 && pair.1.amount() > 0;
            size = Some(sides.filter(positive).ok_or_else(|| {
                wrong(
                    line,
                    format!("`{part}` is no size of a room"),
                    "write length and width with an x between, such as `12x14` or `3.6mx4.2m`",
                )
            })?);
        } else {
            return Err(wrong(line, format!("`{part}` does not belong here"), SHAPE));
        }
    }
    let Some((long, wide)) = size else { return Err(wrong(line, String::from("the room has no size"), SHAPE)) };
    let stem = slug(name.as_deref().unwrap_or(&kind));
    let stem = if stem.is_empty() { slug(&kind) } else { stem };
    let taken = |id: &str| before.iter().any(|room| room.id == id);
    let id = if taken(&stem) {
        (2..).map(|n| format!("{stem}-{n}")).find(|id| !taken(id)).unwrap_or_default()
    } else {
        stem
    };
    Ok(Room {
        id,
        kind,
        name,
        storey,
        length: long,
        width: wide,
        flags: Vec::new(),
        openings: Vec::new(),
        counters: Vec::new(),
        basins: Vec::new(),
        appliances: Vec::new(),
        leads: Vec::new(),
        at: line.at,
        readable: true,
        detached: false,
    })
}

fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    out.trim_end_matches('-').to_owned()
}

impl Room {
    /// Stands in for a room that could not be read, so that what follows it is read too.
    pub(super) fn unread(line: &Line<'_>) -> Room {
        let none = Quantity::new(Dimension::Length, i64::MAX);
        Room {
            id: String::new(),
            kind: String::new(),
            name: None,
            storey: None,
            length: none,
            width: none,
            flags: Vec::new(),
            openings: Vec::new(),
            counters: Vec::new(),
            basins: Vec::new(),
            appliances: Vec::new(),
            leads: Vec::new(),
            at: line.at,
            readable: false,
            detached: false,
        }
    }

    /// Returns whether the work leaves the room as it is.
    pub(super) fn is_existing(&self) -> bool {
        self.flags.iter().any(|(flag, _)| *flag == "existing")
    }

    /// Returns whether it is in a building that stands apart from the house.
    pub(super) fn is_detached(&self) -> bool {
        self.detached
    }

    /// Returns the id of the building of a room that stands apart.
    pub(super) fn building(&self) -> String {
        format!("{}-building", self.id)
    }

    /// Returns whether a value of the job file stands for this room.
    pub(super) fn says(&self, written: &str) -> bool {
        self.id == written || self.kind == written
    }

    /// Adds a door, a window, a counter or another part.
    ///
    /// # Errors
    /// What is wrong with the answer.
    pub(super) fn add(&mut self, line: &Line<'_>, units: UnitSystem) -> Result<(), Box<Problem>> {
        let parts: Vec<&str> = line.rest.split_whitespace().collect();
        match line.key {
            "detached" => self.detached = true,
            "existing" => self.flags.push(("existing", String::from("true"))),
            "finished" => self.flags.push(("finished", String::from("true"))),
            "unfinished" => self.flags.push(("finished", String::from("false"))),
            "laundry" => self.flags.push(("has_laundry", String::from("true"))),
            "basin" => {
                let (wall, at, wide) = self.on_wall(line, &parts, units)?;
                self.basins.push(format!("wall = \"{wall}\", at = \"{at}\", width = \"{wide}\""));
            }
            "appliances" => self.appliances.extend(appliances(line, units)?),
            "no-tub" => self.flags.push(("has_tub_or_shower", String::from("false"))),
            "tub" => {
                self.flags.push(("has_tub_or_shower", String::from("true")));
                if !parts.is_empty() {
                    self.opening(line, "tub", &parts, units)?;
                }
            }
            "bays" | "risers" => {
                let number = line.rest.parse::<u8>().ok().filter(|number| *number > 0);
                let number = number.ok_or_else(|| {
                    wrong(line, format!("expected a number, not `{}`", line.rest), format!("such as `{} 2`", line.key))
                })?;
                self.flags.push((if line.key == "bays" { "car_spaces" } else { "risers" }, number.to_string()));
            }
            "sink" | "range" if !parts.is_empty() && !self.counters.is_empty() => {
                let (at, width) = pair(line, &parts, units)?;
                let kind = line.key;
                if let Some(counter) = self.counters.last_mut() {
                    counter.breaks.push(format!("{{ kind = \"{kind}\", at = \"{at}\", width = \"{width}\" }}"));
                }
                if kind == "sink" && !self.flags.iter().any(|(flag, _)| *flag == "has_sink") {
                    self.flags.push(("has_sink", String::from("true")));
                }
            }
            "sink" => self.flags.push(("has_sink", String::from("true"))),
            "range" => {
                return Err(wrong(
                    line,
                    String::from("a range stands in a counter, and the room has none before it"),
                    "write `counter south 0 14ft`, then `range 1 30in`",
                ));
            }
            "island" => {
                let (Some(long), Some(deep)) = (
                    parts.first().and_then(|text| length(text, units)),
                    parts.get(1).and_then(|text| length(text, units)),
                ) else {
                    return Err(wrong(
                        line,
                        String::from("an island has a length and a depth"),
                        "write `island 6ft 3ft`",
                    ));
                };
                let head = format!(
                    "kind = \"island\", length = \"{}\", depth = \"{}\"",
                    shown(long, units),
                    shown(deep, units)
                );
                self.counters.push(Counter { head, breaks: Vec::new() });
            }
            "counter" => {
                let (wall, at, long) = self.on_wall(line, &parts, units)?;
                let head = format!("kind = \"wall\", wall = \"{wall}\", at = \"{at}\", length = \"{long}\"");
                self.counters.push(Counter { head, breaks: Vec::new() });
            }
            key => self.opening(line, key, &parts, units)?,
        }
        Ok(())
    }

    fn opening(&mut self, line: &Line<'_>, key: &str, parts: &[&str], units: UnitSystem) -> Result<(), Box<Problem>> {
        let kind = if key == "cabinet" { String::from("fixed_cabinet") } else { key.replace('-', "_") };
        debug_assert!(words(&opening::spec(), "kind").contains(&kind.as_str()), "every part is a kind of opening");
        let (wall, at, wide) = self.on_wall(line, parts, units)?;
        let mut text = format!("wall = \"{wall}\", kind = \"{kind}\", at = \"{at}\", width = \"{wide}\"");
        let mut rest = parts.iter().skip(3);
        while let Some(&word) = rest.next() {
            match word {
                "latch-start" => text.push_str(", latch = \"start\""),
                "latch-end" => text.push_str(", latch = \"end\""),
                "outdoors" => text.push_str(", outdoors = true"),
                "sill" | "height" => match rest.next().and_then(|text| length(text, units)) {
                    Some(high) => text.push_str(&format!(", {word} = \"{}\"", shown(high, units))),
                    None => {
                        return Err(wrong(
                            line,
                            format!("`{word}` lacks its height"),
                            "write `sill 24in`, `height 5ft`",
                        ));
                    }
                },
                "to" => match rest.next() {
                    Some(&id) => {
                        self.leads.push((id.to_owned(), line.at));
                        text.push_str(&format!(", to = \"{}\"", slug(id)));
                    }
                    None => {
                        return Err(wrong(
                            line,
                            String::from("the door leads to no room"),
                            "write the id of a room after `to`",
                        ));
                    }
                },
                other => {
                    let known = ["latch-start", "latch-end", "outdoors", "sill", "height", "to"];
                    let help = did_you_mean(other, known)
                        .unwrap_or_else(|| format!("after the width may stand: {}", known.join(", ")));
                    return Err(wrong(line, format!("`{other}` does not belong here"), help));
                }
            }
        }
        if text.contains("outdoors = true")
            && key != "window"
            && !self.flags.iter().any(|(flag, _)| *flag == "has_exterior_door")
        {
            self.flags.push(("has_exterior_door", String::from("true")));
        }
        self.openings.push(text);
        Ok(())
    }

    /// Reads wall, beginning and width, and holds them against the wall.
    fn on_wall(
        &self,
        line: &Line<'_>,
        parts: &[&str],
        units: UnitSystem,
    ) -> Result<(String, String, String), Box<Problem>> {
        let wall = parts.first().copied().unwrap_or_default();
        let Some(number) = WALLS.iter().position(|known| *known == wall) else {
            let help =
                did_you_mean(wall, WALLS).unwrap_or_else(|| String::from("walls are north, east, south and west"));
            return Err(wrong(line, format!("there is no wall `{wall}`"), help));
        };
        let rest: Vec<&str> = parts.iter().skip(1).copied().collect();
        let lengths =
            rest.first().and_then(|text| length(text, units)).zip(rest.get(1).and_then(|text| length(text, units)));
        let Some((at, wide)) = lengths else {
            let help =
                format!("write where it begins from the wall's start and how wide it is: `{} {wall} 3 32in`", line.key);
            return Err(wrong(line, format!("`{}` lacks its place or width", line.key), help));
        };
        let of = if number % 2 == 0 { self.length } else { self.width };
        if at.amount().saturating_add(wide.amount()) > of.amount() {
            let help = format!(
                "the wall is {} long; it runs clockwise, with the room on its right-hand side",
                shown(of, units)
            );
            return Err(wrong(line, format!("this does not fit into the {wall} wall"), help));
        }
        Ok((wall.to_owned(), shown(at, units), shown(wide, units)))
    }
}

fn pair(line: &Line<'_>, parts: &[&str], units: UnitSystem) -> Result<(String, String), Box<Problem>> {
    match (parts.first().and_then(|text| length(text, units)), parts.get(1).and_then(|text| length(text, units))) {
        (Some(at), Some(width)) => Ok((shown(at, units), shown(width, units))),
        _ => Err(wrong(
            line,
            format!("`{}` in a counter has a place and a width", line.key),
            format!("write `{} 6 33in`: where it begins from the counter's start, and how wide it is", line.key),
        )),
    }
}

/// Checks what rooms say of each other.
pub(super) fn check(rooms: &[Room], storeys: Option<i64>, problems: &mut Vec<Problem>) {
    for room in rooms.iter().filter(|room| room.readable) {
        if let (Some(storeys), Some(storey)) = (storeys, room.storey)
            && storey > storeys
        {
            problems.push(
                Problem::new(room.at, format!("storey {storey} is above the {storeys} of the dwelling"))
                    .label("this answer"),
            );
        }
        let ids = || rooms.iter().filter(|room| room.readable).map(|room| room.id.as_str());
        for (to, at) in &room.leads {
            if !ids().any(|id| id == slug(to)) {
                let help = did_you_mean(to, ids())
                    .unwrap_or_else(|| format!("rooms here: {}", ids().collect::<Vec<_>>().join(", ")));
                problems.push(
                    Problem::new(*at, format!("the door leads to `{to}`, and there is no such room"))
                        .label("this answer")
                        .help(help),
                );
            }
        }
    }
}
