//! The answers that a job is started from: one on a line, all that is wrong with them told at once.

use jiff::civil::Date;
use storystick_engine::book::Shelf;
use storystick_engine::problem::{Problem, did_you_mean};
use storystick_engine::quantity::UnitSystem;
use storystick_engine::source::{File, Span};

use super::line::{Line, lines};
use super::panel::{self, Panel, Which};
use super::rooms::{self, Room};

/// The answers, each with its place.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) name: Option<String>,
    pub(super) place: (String, Span),
    pub(super) permit_date: (Date, Span),
    pub(super) shop: Option<(String, Span)>,
    pub(super) stage: String,
    pub(super) units: UnitSystem,
    pub(super) accessible: bool,
    /// Whether the work is in an existing dwelling.
    pub(super) remodel: bool,
    pub(super) panel: Option<(Panel, Span)>,
    /// Panels that the panel of the dwelling feeds.
    pub(super) sub_panels: Vec<(Panel, Span)>,
    pub(super) rooms: Vec<Room>,
}

impl Told {
    /// Returns whether the panel of the dwelling is there already.
    pub(super) fn has_existing_panel(&self) -> bool {
        self.panel.as_ref().is_some_and(|(panel, _)| panel.which == Which::Existing)
    }

    /// Returns where a value of the job file was answered.
    pub(super) fn place_of(&self, written: &str) -> Option<Span> {
        let plain = written.trim_matches('"');
        if plain == self.place.0 {
            return Some(self.place.1);
        }
        if let Some((shop, at)) = &self.shop
            && plain == shop
        {
            return Some(*at);
        }
        self.rooms.iter().find(|room| room.says(plain)).map(|room| room.at)
    }
}

/// What an answer can begin with, but for the parts of a room.
pub(super) const KEYS: [&str; 13] = [
    "name",
    "place",
    "permit-date",
    "shop",
    "stage",
    "units",
    "storeys",
    "accessible",
    "remodel",
    "panel",
    "existing-panel",
    "sub-panel",
    "room",
];

/// The answers one by one, as far as they can be used.
#[derive(Debug)]
pub(super) struct Each {
    name: Option<String>,
    place: Option<(String, Span)>,
    permit_date: Option<(Date, Span)>,
    shop: Option<(String, Span)>,
    stage: String,
    units: UnitSystem,
    accessible: bool,
    remodel: bool,
    panel: Option<(Panel, Span)>,
    sub_panels: Vec<(Panel, Span)>,
    storeys: Option<i64>,
    rooms: Vec<Room>,
    /// What is wrong with an answer whatever the others are.
    pub(super) problems: Vec<Problem>,
}

/// Reads answers.
///
/// # Errors
/// Everything that is wrong with them.
pub(super) fn read(file: &File, shelf: &Shelf) -> Result<Told, Vec<Problem>> {
    let mut each = each(file, shelf);
    rooms::check(&each.rooms, each.storeys, &mut each.problems);
    let lines = lines(file);
    let end = lines.last().map_or(Span::NONE, |line| line.at);
    let asked = |key: &str| lines.iter().any(|line| line.key == key);
    for (there, key, example) in [
        (asked("place"), "place", "place demo/harlow-county"),
        (asked("permit-date"), "permit-date", "permit-date 2023-05-10"),
    ] {
        if !there {
            each.problems.push(Problem::new(end, format!("no `{key}` is given")).help(format!(
                "add an answer such as `{example}`, or the flag `--{key}`; `storystick ruleset list` names the places"
            )));
        }
    }
    for (panel, at) in each.panel.iter().chain(&each.sub_panels) {
        let Some(room) = panel.room.as_ref().filter(|room| !each.rooms.iter().any(|known| known.id == **room)) else {
            continue;
        };
        let ids = each.rooms.iter().map(|room| room.id.as_str());
        let mut problem = Problem::new(*at, format!("the panel is in `{room}`, and there is no such room"));
        problem.help =
            did_you_mean(room, ids).or_else(|| Some(String::from("write the room as well, or leave `in` out")));
        each.problems.push(problem.label("this answer"));
    }
    let Each {
        name,
        place,
        permit_date,
        shop,
        stage,
        units,
        accessible,
        remodel,
        panel,
        sub_panels,
        rooms,
        problems,
        ..
    } = each;
    match (place, permit_date) {
        (Some(place), Some(permit_date)) if problems.is_empty() => {
            Ok(Told { name, place, permit_date, shop, stage, units, accessible, remodel, panel, sub_panels, rooms })
        }
        _ => Err(problems),
    }
}

/// Reads answers without holding them against each other.
pub(super) fn each(file: &File, shelf: &Shelf) -> Each {
    let mut problems: Vec<Problem> = Vec::new();
    let (mut name, mut place, mut date, mut shop) = (None, None, None, None);
    let (mut stage, mut accessible, mut storeys) = (String::from("layout"), false, None);
    let (mut remodel, mut panel, mut sub_panels) = (false, None, Vec::new());
    let mut rooms: Vec<Room> = Vec::new();
    let lines = lines(file);
    let units = match lines.iter().find(|line| line.key == "units") {
        Some(line) if line.rest == "metric" => UnitSystem::Metric,
        Some(line) if line.rest == "customary" => UnitSystem::Customary,
        Some(line) => {
            problems.push(one_of(line, "units", &["customary", "metric"]));
            UnitSystem::Customary
        }
        None => UnitSystem::Customary,
    };
    for line in &lines {
        match line.key {
            "name" => name = Some(line.rest.to_owned()),
            "place" => place = known(line, shelf, "place", &mut problems).map(|id| (id, line.at)),
            "shop" => shop = known(line, shelf, "shop", &mut problems).map(|id| (id, line.at)),
            "permit-date" => match line.rest.parse::<Date>() {
                Ok(day) => date = Some((day, line.at)),
                Err(_) => problems.push(
                    Problem::new(line.at, format!("`{}` is no date", line.rest))
                        .label("this answer")
                        .help("write a date as YEAR-MONTH-DAY, such as 2023-05-10"),
                ),
            },
            "stage" if ["layout", "rough_in", "trim_out", "final"].contains(&line.rest) => {
                line.rest.clone_into(&mut stage)
            }
            "stage" => problems.push(one_of(line, "stage", &["layout", "rough_in", "trim_out", "final"])),
            "units" => {}
            "storeys" => match line.rest.parse::<i64>() {
                Ok(number) if (1..=9).contains(&number) => storeys = Some(number),
                _ => problems.push(
                    Problem::new(line.at, format!("expected a number of storeys from 1 to 9, not `{}`", line.rest))
                        .label("this answer"),
                ),
            },
            "accessible" => accessible = !matches!(line.rest, "no" | "false"),
            "remodel" => remodel = !matches!(line.rest, "no" | "false"),
            "panel" | "existing-panel" => {
                let which = if line.key == "panel" { Which::New } else { Which::Existing };
                match panel::panel(line, which) {
                    Ok(_) if panel.is_some() => problems.push(
                        Problem::new(line.at, "the panel of the dwelling is written twice")
                            .label("this answer")
                            .help("a panel that it feeds is a `sub-panel`"),
                    ),
                    Ok(read) => panel = Some((read, line.at)),
                    Err(problem) => problems.push(*problem),
                }
            }
            "sub-panel" => match panel::panel(line, Which::Sub) {
                Ok(read) => sub_panels.push((read, line.at)),
                Err(problem) => problems.push(*problem),
            },
            "room" => match rooms::room(line, units, &rooms) {
                Ok(room) => rooms.push(room),
                Err(problem) => {
                    problems.push(*problem);
                    rooms.push(Room::unread(line));
                }
            },
            key if rooms::is_part(key) => match rooms.last_mut() {
                Some(room) => {
                    if let Err(problem) = room.add(line, units) {
                        problems.push(*problem);
                    }
                }
                None => problems.push(
                    Problem::new(line.at, format!("`{key}` belongs to a room, and no room stands before it"))
                        .label("this answer")
                        .help("write the room first: `room bedroom 12x14`"),
                ),
            },
            key => {
                let all = || KEYS.iter().copied().chain(rooms::PARTS);
                let help = did_you_mean(key, all()).unwrap_or_else(|| {
                    format!("an answer begins with one of: {}", all().collect::<Vec<_>>().join(", "))
                });
                problems
                    .push(Problem::new(line.at, format!("there is no answer `{key}`")).label("this answer").help(help));
            }
        }
    }
    Each {
        name,
        place,
        permit_date: date,
        shop,
        stage,
        units,
        accessible,
        remodel,
        panel,
        sub_panels,
        storeys,
        rooms,
        problems,
    }
}

fn one_of(line: &Line<'_>, what: &str, words: &[&str]) -> Problem {
    let all = format!("one of: {}", words.join(", "));
    let help = did_you_mean(line.rest, words.iter().copied()).map_or(all.clone(), |near| format!("{near}; {all}"));
    Problem::new(line.at, format!("`{}` is no {what}", line.rest)).label("this answer").help(help)
}

/// Returns a ruleset by its id; a problem with the nearest names where there is none.
fn known(line: &Line<'_>, shelf: &Shelf, what: &str, problems: &mut Vec<Problem>) -> Option<String> {
    let id = line.rest;
    if shelf.ids().any(|known| known == id) {
        return Some(id.to_owned());
    }
    let help = did_you_mean(id, shelf.ids()).map_or_else(
        || String::from("`storystick ruleset list` names them"),
        |near| format!("{near}; `storystick ruleset list` names all"),
    );
    problems.push(Problem::new(line.at, format!("there is no {what} `{id}`")).label("this answer").help(help));
    None
}
