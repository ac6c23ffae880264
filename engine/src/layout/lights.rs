//! Lighting outlets with their switches at the doors, and alarms.

use super::choices::field;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use super::places::Place;
use crate::model::ItemIndex;
use crate::model::kinds::{device, luminaire, opening, room, site};
use crate::quantity::Dimension;

/// Rooms that get no light of their own.
const UNLIT: [&str; 7] = ["closet", "crawl_space", "attic", "carport", "outdoors", "boathouse", "other"];
/// Rooms outside, whose light is switched from inside.
const OUTSIDE: [&str; 3] = ["porch", "balcony", "deck"];

impl Draft<'_> {
    pub(super) fn lights(&mut self) {
        for &room in self.rooms() {
            let kind = self.room_kind(room);
            let stored = self.job.flag(room, room::HAS_STORAGE) == Some(true)
                || self.job.flag(room, room::HAS_EQUIPMENT) == Some(true);
            let unlit = UNLIT.contains(&kind) && !(stored && self.lists("places.attics", kind));
            if unlit || OUTSIDE.contains(&kind) || self.job.flag(room, room::POWERED) == Some(false) {
                continue;
            }
            self.light(room);
        }
        for &room in self.rooms() {
            if OUTSIDE.contains(&self.room_kind(room)) {
                self.outside_light(room);
            }
        }
    }

    /// Returns the luminaires of a room that light it.
    fn lit(&self, room: ItemIndex) -> Vec<ItemIndex> {
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
                (circuit.clone(), vec![self.luminaire(room, "ceiling", why, cite.clone(), circuit)])
            }
            None => return,
        };
        if self.only.asks(Part::Switches) {
            self.switches(room, &lights, circuit, cite);
        }
    }

    fn luminaire(
        &mut self,
        room: ItemIndex,
        mounted: &'static str,
        why: String,
        cite: Option<String>,
        circuit: Option<String>,
    ) -> String {
        let id = self.fresh(self.job.id(room));
        let mut item = Proposed::new("box", &id, why)
            .cited(cite)
            .text("room", self.job.id(room))
            .text("purpose", "luminaire")
            .text("mounted", mounted);
        item.fields.retain(|field| !(field.key == "mounted" && mounted == "wall"));
        self.push(item);
        let name = format!("{id}L");
        let kind = if mounted == "wall" { "wall" } else { "surface" };
        let mut item = Proposed::new("luminaire", &name, "").text("box", &id).text("kind", kind).unless(
            "lamp",
            Written::text("led"),
            &["lamp"],
        );
        if let Some(circuit) = circuit {
            item = item.text("circuit", circuit);
        }
        self.push(item);
        name
    }

    /// Adds the switches for the lights of a room: at its door, or three-way at the two that are farthest apart.
    fn switches(&mut self, room: ItemIndex, lights: &[String], circuit: Option<String>, cite: Option<String>) {
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
            Some((a, b)) => {
                let why = String::from("three-way at both ways through the room");
                for (door, place) in [a, b] {
                    let at = (Some(place), Some(door));
                    self.switch(room, at, "three_way", lights, circuit.clone(), why.clone(), cite.clone());
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
        let along = |place: &Place| outline.side(place.wall).map(|side| side.start + place.along);
        let mut best = None;
        for (n, &a) in placed.iter().enumerate() {
            for &b in placed.iter().skip(n + 1) {
                let (Some(x), Some(y)) = (along(&a.1), along(&b.1)) else { continue };
                let apart = (x - y).abs();
                let apart = apart.min(outline.length - apart);
                if best.as_ref().is_none_or(|(most, _)| apart > *most) {
                    best = Some((apart, (a, b)));
                }
            }
        }
        best.map(|(_, pair)| pair)
    }

    #[allow(clippy::too_many_arguments, reason = "what a switch is: where, how, for what, fed by what, and why")]
    fn switch(
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

    fn switch_in(&mut self, in_box: &str, action: &'static str, lights: &[String], circuit: Option<String>) {
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

    /// Lights a porch, balcony or deck from a switch inside, beside a door that leads out.
    fn outside_light(&mut self, room: ItemIndex) {
        if !self.lit(room).is_empty() || !self.only.asks(Part::Lights) {
            return;
        }
        let out = |item: &&ItemIndex| {
            self.job.flag(**item, opening::OUTDOORS) == Some(true) || self.job.link(**item, opening::TO) == Some(room)
        };
        let outside = |item: &ItemIndex| {
            self.job.link(*item, opening::ROOM).is_some_and(|room| OUTSIDE.contains(&self.room_kind(room)))
        };
        let door = self.of(opening::NAME).iter().filter(out).find(|item| !outside(item)).copied();
        let Some((door, inside)) = door.and_then(|door| Some((door, self.job.link(door, opening::ROOM)?))) else {
            return;
        };
        let circuit = self.feed("lighting", None);
        let cite = self.cite("lighting.entrance_kinds");
        let why = format!("light outside the door to {}", self.room_name(room));
        let light = self.luminaire(room, "wall", why.clone(), cite.clone(), circuit.clone());
        if !self.only.asks(Part::Switches) {
            return;
        }
        let beside = self
            .switch_boxes
            .iter()
            .find(|(at, _, action)| *at == door && *action == "single_pole")
            .map(|(_, id, _)| id.clone());
        let same = beside.filter(|id| {
            let on = self.items.iter().find(|item| item.kind == "device" && field(item, "box") == Some(id));
            on.and_then(|item| field(item, "circuit")) == circuit.as_deref()
        });
        match same {
            Some(id) => {
                if let Some(item) = self.items.iter_mut().find(|item| item.id == id) {
                    item.put("gangs", Written::Number(2));
                }
                self.switch_in(&id, "single_pole", &[light], circuit);
            }
            None => {
                let place = self
                    .beside_door(door)
                    .map(|place| Place { along: place.along + self.beyond(door, place), ..place });
                self.switch(inside, (place, None), "single_pole", &[light], circuit, why, cite);
            }
        }
    }

    /// Returns how far a second switch box stands from the first beside a door, away from the door.
    fn beyond(&self, door: ItemIndex, place: Place) -> i64 {
        let at = self.amount(door, opening::AT).unwrap_or(0);
        let step = self.practice(5, 130);
        if place.along < at { -step } else { step }
    }

    pub(super) fn alarms(&mut self) {
        if !self.only.asks(Part::Alarms) || !self.has_list("alarm.sleeping") {
            return;
        }
        let rooms = self.rooms();
        let sleeping: Vec<ItemIndex> =
            rooms.iter().copied().filter(|&it| self.lists("alarm.sleeping", self.room_kind(it))).collect();
        if sleeping.is_empty() {
            return;
        }
        let has = |kind: &str, room: ItemIndex| {
            self.job.links(room, room::DEVICES).any(|it| self.job.text(it, device::KIND) == Some(kind))
        };
        let outside = |room: ItemIndex| self.lists("alarm.outside_sleeping", self.room_kind(room));
        let storey = |room: ItemIndex| self.amount(room, room::STOREY).unwrap_or(1_000_000_000);
        let mut smoke: Vec<(ItemIndex, &str)> = sleeping
            .iter()
            .copied()
            .filter(|&room| !has("smoke_alarm", room))
            .map(|room| (room, "in every bedroom"))
            .collect();
        let mut beside: Vec<ItemIndex> = rooms.iter().copied().filter(|&room| outside(room)).collect();
        beside.sort_by_key(|&room| self.room_kind(room) != "hallway");
        if !beside.iter().any(|&room| has("smoke_alarm", room))
            && let Some(&room) = beside.first()
        {
            smoke.push((room, "outside the bedrooms"));
        }
        for &room in rooms {
            if self.lists("alarm.not_counted", self.room_kind(room)) {
                continue;
            }
            let level = storey(room);
            let served = rooms.iter().any(|&other| storey(other) == level && has("smoke_alarm", other))
                || smoke.iter().any(|(other, _)| storey(*other) == level);
            if !served {
                smoke.push((room, "on every storey"));
            }
        }
        let fuel = self.ctx.site().and_then(|site| self.job.flag(site, site::FUEL_OR_GARAGE)) == Some(true);
        let there = beside.iter().chain(&sleeping).any(|&room| has("co_alarm", room));
        let monoxide = beside.first().copied().or_else(|| sleeping.first().copied()).filter(|_| fuel && !there);
        let mut wanted: Vec<(ItemIndex, &str, &'static str)> =
            smoke.into_iter().map(|(room, why)| (room, why, "smoke_alarm")).collect();
        wanted.extend(monoxide.map(|room| (room, "outside the bedrooms, for there is fuel or a garage", "co_alarm")));
        if wanted.is_empty() {
            return;
        }
        // All alarms share one circuit with a light, so that nobody switches them off unnoticed.
        let on = self.of(device::NAME).iter().find(|&&it| self.job.text(it, device::KIND) == Some("smoke_alarm"));
        let circuit = on.and_then(|&it| self.job.link(it, device::CIRCUIT)).map(|it| self.job.id(it).to_owned());
        let lit = self.feeds.iter().find(|feed| feed.serves == "lighting").map(|feed| feed.id.clone());
        let circuit = circuit.or(lit).or_else(|| self.feed("lighting", None));
        let volts = self.first_value(&["afci.voltage"], Dimension::Voltage);
        for (room, why, kind) in wanted {
            let id = self.fresh(self.job.id(room));
            let cite = self.cite(if kind == "smoke_alarm" { "alarm.sleeping" } else { "alarm.outside_sleeping" });
            let item = Proposed::new("box", &id, why)
                .cited(cite)
                .text("room", self.job.id(room))
                .text("purpose", "alarm")
                .text("mounted", "ceiling");
            self.push(item);
            let mut item = Proposed::new("device", format!("{id}A"), "").text("box", &id).text("kind", kind);
            if let Some(circuit) = &circuit {
                item = item.text("circuit", circuit);
            }
            if let Some(volts) = volts {
                item = item.unless("voltage", Written::Text(self.shown(volts)), &["voltage"]);
            }
            self.push(item);
        }
    }
}
