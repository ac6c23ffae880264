//! Lighting outlets with their switches at the doors.

use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use super::places::Place;
use crate::model::ItemIndex;
use crate::model::kinds::{luminaire, opening, room};

/// Rooms that get no light of their own.
const UNLIT: [&str; 7] = ["closet", "crawl_space", "attic", "carport", "outdoors", "boathouse", "other"];
/// Rooms outside, whose light is switched from inside.
pub(super) const OUTSIDE: [&str; 3] = ["porch", "balcony", "deck"];
/// Noted beside a door where the second of two three-way switches stands: its box has no conductor that is always hot.
pub(super) const FED_BY_TRAVELERS: &str = "fed by travelers";

impl Draft<'_> {
    pub(super) fn lights(&mut self) {
        let (mut dark, mut lit) = (self.dark_entrances(), Vec::new());
        for &room in &self.rooms() {
            let kind = self.room_kind(room);
            let stored = self.job.flag(room, room::HAS_STORAGE) == Some(true)
                || self.job.flag(room, room::HAS_EQUIPMENT) == Some(true);
            let unlit = UNLIT.contains(&kind) && !(stored && self.lists("places.attics", kind));
            if unlit || OUTSIDE.contains(&kind) || self.job.flag(room, room::POWERED) == Some(false) {
                continue;
            }
            self.light(room);
            self.light_entrances(Some(room), &mut dark, &mut lit);
        }
        self.light_entrances(None, &mut dark, &mut lit);
        self.name_entrance_lights(&lit);
    }

    /// Returns the luminaires of a room that light it.
    pub(super) fn lit(&self, room: ItemIndex) -> Vec<ItemIndex> {
        let lights = |&item: &ItemIndex| {
            let kind = self.job.text(item, luminaire::KIND).unwrap_or_default();
            !matches!(kind, "exhaust_fan" | "under_cabinet") && !self.lists("lighting.not_lighting", kind)
        };
        self.job.links(room, room::LUMINAIRES).filter(lights).collect()
    }

    fn has_control(&self, light: ItemIndex) -> bool {
        self.job.links(light, luminaire::CONTROLLED_BY).next().is_some()
    }

    fn light(&mut self, room: ItemIndex) {
        let there = self.lit(room);
        if there.iter().any(|&light| self.has_control(light)) {
            return;
        }
        let asked = ["lighting.rooms", "lighting.other_places", "places.attics"]
            .into_iter()
            .find(|key| self.lists(key, self.room_kind(room)));
        let cite = asked.and_then(|key| self.cite(key));
        let (circuit, lights) = match there.first() {
            Some(&first) => {
                let circuit = self.job.link(first, luminaire::CIRCUIT).map(|it| self.job.id(it).to_owned());
                (circuit, there.iter().map(|&it| self.job.id(it).to_owned()).collect())
            }
            None if self.only.asks(Part::Lights) => {
                let circuit = self.feed("lighting", None);
                let why = format!("a lighting outlet for {}", self.room_name(room));
                (circuit.clone(), vec![self.luminaire(Some(room), "ceiling", why, cite.clone(), circuit)])
            }
            None => return,
        };
        if self.only.asks(Part::Switches) {
            self.switches(room, &lights, circuit, cite);
        }
    }

    pub(super) fn luminaire(
        &mut self,
        room: Option<ItemIndex>,
        mounted: &'static str,
        why: String,
        cite: Option<String>,
        circuit: Option<String>,
    ) -> String {
        let id = self.fresh(room.map_or("outside", |room| self.job.id(room)));
        let mut item = Proposed::new("box", &id, why).cited(cite);
        if let Some(room) = room {
            item = item.text("room", self.job.id(room));
        }
        item = item.text("purpose", "luminaire").text("mounted", mounted);
        if room.is_none() {
            item = item.with("wet_rated", Written::Flag(true));
        }
        item.fields.retain(|field| !(field.key == "mounted" && mounted == "wall"));
        self.push(item);
        let name = format!("{id}L");
        let kind = if mounted == "wall" { "wall" } else { "surface" };
        let mut item = Proposed::new("luminaire", &name, "").text("box", &id).text("kind", kind).unless(
            "lamp",
            Written::text("led"),
            &["lamp"],
        );
        if room.is_none() {
            item = item.with("wet_rated", Written::Flag(true));
        }
        if let Some(circuit) = circuit {
            item = item.text("circuit", circuit);
        }
        self.push(item);
        name
    }

    /// Adds the switches for the lights of a room: at its door, or three-way at the two that are farthest apart.
    pub(super) fn switches(
        &mut self,
        room: ItemIndex,
        lights: &[String],
        circuit: Option<String>,
        cite: Option<String>,
    ) {
        let small = matches!(self.room_kind(room), "bathroom" | "half_bath" | "closet" | "pantry" | "storage");
        let placed: Vec<(ItemIndex, Place)> = self
            .doors(room)
            .into_iter()
            .filter(|&door| !self.to_closet(door))
            .filter_map(|door| Some((door, self.beside_door(door)?)))
            .collect();
        let stair = self.room_kind(room) == "stairway"
            && self.count(&["lighting.stair_risers"]).is_none_or(|least| {
                self.amount(room, room::RISERS)
                    .is_none_or(|risers| usize::try_from(risers / 1_000_000_000).is_ok_and(|risers| risers >= least))
            });
        let pair = if small { None } else { self.farthest_pair(room, &placed) };
        match pair {
            Some((mut a, mut b)) => {
                // The circuit comes in at a door that leads out, where the light outside is switched as well.
                let leads_out = |door: ItemIndex| self.job.flag(door, opening::OUTDOORS) == Some(true);
                if leads_out(b.0) && !leads_out(a.0) {
                    std::mem::swap(&mut a, &mut b);
                }
                let why = String::from("three-way at both ways through the room");
                for (door, place) in [a, b] {
                    let at = (Some(place), Some(door));
                    self.switch(room, at, "three_way", lights, circuit.clone(), why.clone(), cite.clone());
                }
                if let Some(second) = self.switch_boxes.last_mut() {
                    second.2 = FED_BY_TRAVELERS;
                }
            }
            None if stair => {
                let cite = self.cite("lighting.stair_controls").or(cite);
                let why = "three-way at each level of the stair; set its place where the stair begins and ends";
                for number in 0..2 {
                    let at = placed.get(number).map_or((None, None), |&(door, place)| (Some(place), Some(door)));
                    self.switch(room, at, "three_way", lights, circuit.clone(), why.to_owned(), cite.clone());
                }
            }
            None => {
                let at = placed.first().map_or((None, None), |&(door, place)| (Some(place), Some(door)));
                let why = match at.0 {
                    Some(_) => "at the latch side of the door",
                    None => "no door with wall beside it is written here: set it at the latch side of the door",
                };
                self.switch(room, at, "single_pole", lights, circuit, why.to_owned(), cite);
            }
        }
    }

    fn to_closet(&self, door: ItemIndex) -> bool {
        self.job.link(door, opening::TO).is_some_and(|to| matches!(self.room_kind(to), "closet" | "pantry" | "storage"))
    }

    #[allow(clippy::type_complexity, reason = "a pair of doors with their places")]
    fn farthest_pair(
        &self,
        room: ItemIndex,
        placed: &[(ItemIndex, Place)],
    ) -> Option<((ItemIndex, Place), (ItemIndex, Place))> {
        let outline = self.outline(room)?;
        // Straight across: two doors that face each other over a narrow hall are near, though far apart along its walls.
        let spot = |place: &Place| {
            let side = outline.side(place.wall).filter(|side| side.length > 0)?;
            let part = |from: i64, to: i64| {
                let way = i128::from(to - from) * i128::from(place.along) / i128::from(side.length);
                i128::from(from) + way
            };
            Some((part(side.from.0, side.to.0), part(side.from.1, side.to.1)))
        };
        let mut best = None;
        for (n, &a) in placed.iter().enumerate() {
            for &b in placed.iter().skip(n + 1) {
                let (Some(from), Some(to)) = (spot(&a.1), spot(&b.1)) else { continue };
                let apart = (from.0 - to.0).pow(2) + (from.1 - to.1).pow(2);
                if best.as_ref().is_none_or(|(most, _)| apart > *most) {
                    best = Some((apart, (a, b)));
                }
            }
        }
        best.map(|(_, pair)| pair)
    }

    #[allow(clippy::too_many_arguments, reason = "what a switch is: where, how, for what, fed by what, and why")]
    pub(super) fn switch(
        &mut self,
        room: ItemIndex,
        at: (Option<Place>, Option<ItemIndex>),
        action: &'static str,
        lights: &[String],
        circuit: Option<String>,
        why: String,
        cite: Option<String>,
    ) {
        let id = self.fresh(self.job.id(room));
        let mut item = Proposed::new("box", &id, why).cited(cite).text("room", self.job.id(room));
        item = self.placed(item, at.0).text("purpose", "switch");
        item = self.box_height(item, &id, "switch", None);
        self.push(item);
        if let Some(door) = at.1 {
            self.switch_boxes.push((door, id.clone(), action));
        }
        self.switch_in(&id, action, lights, circuit);
    }

    pub(super) fn switch_in(&mut self, in_box: &str, action: &'static str, lights: &[String], circuit: Option<String>) {
        let mut number = 1;
        let id = loop {
            let id = format!("{in_box}S{number}");
            if self.take(&id) {
                break id;
            }
            number += 1;
        };
        let mut item =
            Proposed::new("device", id, "").text("box", in_box).text("kind", "switch").text("action", action);
        if let Some(circuit) = circuit {
            let rating = self.feed_of(&circuit).and_then(|feed| feed.rating);
            item = item.text("circuit", circuit);
            if let Some(rating) = rating {
                item = item.unless("rating", Written::Text(self.shown(rating)), &["rating"]);
            }
        }
        self.push(item.with("controls", Written::List(lights.iter().map(Written::text).collect())));
    }
}
