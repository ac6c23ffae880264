//! Receptacles: along walls and counters as few as cover them, and where a room must have its own.

use super::cover::{evened, fewest_places};
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use super::places::Place;
use crate::calc::coverage::{Stretch, counter_coverage, wall_coverage};
use crate::calc::{Datum, Match, Outline, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::{counter, device, room, wall};
use crate::quantity::Dimension;

/// What a receptacle is for.
struct Outlet<'s> {
    room: ItemIndex,
    place: Option<Place>,
    purpose: &'static str,
    serves: &'s str,
    why: String,
    cite: Option<String>,
}

impl Draft<'_> {
    pub(super) fn receptacles(&mut self) {
        if !self.only.asks(Part::Receptacles) {
            return;
        }
        for &room in self.rooms() {
            self.along_counters(room);
            self.along_walls(room);
            self.own(room);
            self.further(room);
        }
    }

    /// Returns what feeds a receptacle in a room.
    fn serves(&self, room: ItemIndex) -> &'static str {
        let kind = self.room_kind(room);
        let fed = |list: &str, serves: &'static str| self.lists(list, kind).then_some(serves);
        fed("places.food", "small_appliance")
            .or_else(|| fed("circuit.laundry_rooms", "laundry").or_else(|| fed("receptacle.laundry_rooms", "laundry")))
            .or_else(|| fed("places.bath", "bathroom"))
            .or_else(|| fed("places.garage", "garage"))
            .or_else(|| fed("places.outdoors", "outdoors").or_else(|| fed("receptacle.outdoor_places", "outdoors")))
            .unwrap_or("general")
    }

    fn along_walls(&mut self, room: ItemIndex) {
        let kind = self.room_kind(room);
        if !self.lists("receptacle.wall_rooms", kind) || self.job.flag(room, room::FINISHED) == Some(false) {
            return;
        }
        let Ok(coverage) = wall_coverage(&self.ctx, room, &mut Sheet::none()) else { return };
        let cite = self.cite("receptacle.wall_reach");
        let below = self.practice(26, 660);
        let serves = self.serves(room);
        for space in coverage.spaces.iter().filter(|space| space.required) {
            let stand: Vec<i64> = space.receptacles.iter().map(|(at, _)| *at).collect();
            let places = self.places(&coverage.outline, &space.stretch, &stand, coverage.reach, below);
            let reach = self.shown(crate::quantity::Quantity::new(Dimension::Length, coverage.reach));
            for place in places {
                let why = format!("no point of this wall space more than {reach} from a receptacle");
                self.outlet(Outlet {
                    room,
                    place: Some(place),
                    purpose: "receptacle",
                    serves,
                    why,
                    cite: cite.clone(),
                });
            }
        }
    }

    fn places(&self, outline: &Outline, stretch: &Stretch, stand: &[i64], reach: i64, below: i64) -> Vec<Place> {
        let candidates = self.candidates(outline, stretch, below);
        // Where studs and corners leave a part out of reach, a box goes on a bracket between them.
        let clear =
            |at: &i64| outline.at(stretch.from + at).is_some_and(|(wall, along)| !self.in_opening(wall, along, below));
        let anywhere: Vec<i64> = (0..=stretch.length / self.step()).map(|n| n * self.step()).filter(clear).collect();
        let found = fewest_places(stretch.length, stretch.closed, stand, &candidates, reach)
            .map(|places| (places, &candidates))
            .or_else(|| {
                fewest_places(stretch.length, stretch.closed, stand, &anywhere, reach).map(|places| (places, &anywhere))
            });
        let Some((places, candidates)) = found else { return Vec::new() };
        let places = if stand.is_empty() && !stretch.closed {
            evened(stretch.length, candidates, places, reach)
        } else {
            places
        };
        let place = |at: i64| outline.at(stretch.from + at).map(|(wall, along)| Place { wall, along });
        places.into_iter().filter_map(place).collect()
    }

    fn along_counters(&mut self, room: ItemIndex) {
        if self.has_list("counter.rooms") && !self.lists("counter.rooms", self.room_kind(room)) {
            return;
        }
        let counters: Vec<ItemIndex> = self.job.links(room, room::COUNTERS).collect();
        let mut last: Option<String> = None;
        let mut done: Vec<(i64, i64)> = Vec::new();
        for item in counters {
            if self.job.text(item, counter::KIND) != Some("wall") {
                self.island(room, item, &mut last);
                continue;
            }
            let Ok(coverage) = counter_coverage(&self.ctx, item, &mut Sheet::none()) else {
                self.over_counter(room, item, &mut last);
                continue;
            };
            let reach = coverage.reach;
            let below = self.amount(item, counter::HEIGHT).unwrap_or(self.practice(36, 900)) + self.practice(14, 350);
            for space in coverage.spaces.iter().filter(|space| space.required) {
                // Counters that meet in a corner share a stretch: once is enough.
                let key = (space.stretch.from, space.stretch.length);
                if done.contains(&key) {
                    continue;
                }
                done.push(key);
                let stand: Vec<i64> = space.receptacles.iter().map(|(at, _)| *at).collect();
                let places = self.places(&coverage.outline, &space.stretch, &stand, reach, below);
                let shown = self.shown(crate::quantity::Quantity::new(Dimension::Length, reach));
                for place in places {
                    let why = format!("no point of this counter more than {shown} from a receptacle");
                    let cite = self.cite("counter.reach");
                    let outlet = Outlet {
                        room,
                        place: Some(place),
                        purpose: "counter_receptacle",
                        serves: "small_appliance",
                        why,
                        cite,
                    };
                    self.counter_outlet(outlet, item, &mut last);
                }
            }
        }
    }

    /// Receptacles over a counter where the code asks for some but sets no distance: one on each circuit that has to serve it.
    fn over_counter(&mut self, room: ItemIndex, item: ItemIndex, last: &mut Option<String>) {
        let asked = "receptacle.counter_width";
        let Some(least) = self.value(asked, Dimension::Length) else { return };
        let (Some(wall), Some(length)) = (self.job.link(item, counter::WALL), self.amount(item, counter::LENGTH))
        else {
            return;
        };
        if length < least.amount() || self.job.links(item, counter::DEVICES).next().is_some() {
            return;
        }
        let at = self.amount(item, counter::AT).unwrap_or(0);
        let number = self.count(&["circuits.counter_number"]).map_or(1, |number| i64::try_from(number).unwrap_or(1));
        for n in 0..number {
            let along = (at + length * (2 * n + 1) / (2 * number)) / self.step() * self.step();
            let why = String::from("over the counter, shared out over its circuits");
            let cite = self.cite(asked);
            let place = Some(Place { wall, along });
            let outlet = Outlet { room, place, purpose: "counter_receptacle", serves: "small_appliance", why, cite };
            self.counter_outlet(outlet, item, last);
        }
    }

    fn island(&mut self, room: ItemIndex, item: ItemIndex, last: &mut Option<String>) {
        let needed = crate::calc::coverage::receptacles_needed(&self.ctx, item, &mut Sheet::none());
        let counted = crate::calc::coverage::counter_receptacles(&self.ctx, item, &mut Sheet::none());
        let whole = |traced: crate::calc::Traced| traced.quantity.amount() / 1_000_000_000;
        let (Ok(needed), Ok(counted)) = (needed.map(whole), counted.map(whole)) else { return };
        let provided = self.job.flag(item, counter::PROVISION) == Some(true);
        let asked_once = i64::from(!provided && self.job.links(item, counter::DEVICES).next().is_none());
        for _ in counted..needed.max(counted + asked_once) {
            let why = String::from("this counter stands free of the walls and needs its own receptacle");
            let cite = self.cite("counter.free_standing");
            let outlet =
                Outlet { room, place: None, purpose: "counter_receptacle", serves: "small_appliance", why, cite };
            self.counter_outlet(outlet, item, last);
        }
    }

    /// Adds a receptacle that serves a counter; neighbours go on different circuits.
    fn counter_outlet(&mut self, outlet: Outlet<'_>, item: ItemIndex, last: &mut Option<String>) {
        let circuit = self.feed(outlet.serves, last.as_deref()).or_else(|| self.feed(outlet.serves, None));
        let above = self.practice(8, 200);
        let top = self.amount(item, counter::HEIGHT);
        let free = self.job.text(item, counter::KIND) != Some("wall");
        let id = self.receptacle(outlet, circuit.clone(), top.map(|top| top + above));
        let from_end = self.value("counter.peninsula_end", Dimension::Length);
        let peninsula = self.job.text(item, counter::KIND) == Some("peninsula");
        let above = self.length(above);
        let counter_id = self.job.id(item).to_owned();
        let end = from_end.filter(|_| peninsula).map(|end| self.length(end.amount() / 2));
        if let Some(device) = self.items.iter_mut().rev().find(|item| item.id == id) {
            device.put("counter", Written::Text(counter_id));
            if !free || top.is_some() {
                device.put("above_counter", above);
            }
            if let Some(end) = end {
                device.put("from_end", end);
            }
        }
        *last = circuit;
    }

    /// Receptacles that a room must have for what it is, wherever they stand.
    fn own(&mut self, room: ItemIndex) {
        let kind = self.room_kind(room);
        let there = self
            .job
            .links(room, room::DEVICES)
            .filter(|&it| self.job.text(it, device::KIND) == Some("receptacle"))
            .count();
        let powered = self.job.flag(room, room::POWERED) != Some(false);
        let proposed = self.items.iter().any(|item| {
            item.kind == "box"
                && super::choices::field(item, "room") == Some(self.job.id(room))
                && super::choices::field(item, "purpose") != Some("switch")
        });
        if self.lists("places.bath", kind) && there == 0 {
            let near = ["bath.from_basin", "receptacle.basin_reach"]
                .into_iter()
                .find(|key| self.value(key, Dimension::Length).is_some());
            if let Some(near) = near {
                let limit = self.value(near, Dimension::Length).map_or(0, |limit| limit.amount());
                let id =
                    self.plain(room, "beside the basin; its place goes by where the basin stands", self.cite(near));
                let from = self.length(limit / 3);
                self.amend(&id, "from_basin", from);
            }
            return;
        }
        if self.lists("places.garage", kind) && powered {
            let bays = self.amount(room, room::CAR_SPACES).map_or(1, |bays| bays / 1_000_000_000);
            for _ in i64::try_from(there).unwrap_or(0)..bays {
                self.plain(room, "one for each vehicle bay", self.cite("receptacle.garage_height"));
            }
            return;
        }
        if kind == "outdoors" {
            if let Some(sides) = self.count(&["receptacle.outdoor_sides", "receptacle.outdoor_number"]) {
                for side in ["front", "back"] {
                    let on_side = self
                        .job
                        .links(room, room::DEVICES)
                        .filter(|&it| self.job.text(it, device::SIDE) == Some(side))
                        .count();
                    for _ in on_side..sides {
                        let id = self.plain(
                            room,
                            &format!("outdoors at the {side}, in reach from the ground"),
                            self.cite("receptacle.outdoor_height"),
                        );
                        self.amend(&id, "side", Written::text(side));
                    }
                }
            }
            return;
        }
        if there > 0 || proposed {
            return;
        }
        let unfinished = kind == "basement" && self.job.flag(room, room::FINISHED) == Some(false);
        let long_hall = kind == "hallway" && self.long_hall(room);
        let spacing = self.has_list("receptacle.wall_rooms");
        let mut asked = None;
        for (holds, key) in [
            (self.lists("circuit.laundry_rooms", kind), "circuit.laundry_rooms"),
            (self.lists("receptacle.laundry_rooms", kind), "receptacle.laundry_rooms"),
            (self.lists("receptacle.attached_outdoor_rooms", kind), "receptacle.attached_outdoor_rooms"),
            (long_hall, "receptacle.hallway_from"),
            (unfinished || (kind == "accessory_building" && powered), "receptacle.fewest"),
            (self.job.flag(room, room::HAS_EQUIPMENT) == Some(true), "receptacle.from_equipment"),
        ] {
            if holds && asked.is_none() {
                asked = Some(key);
            }
        }
        if kind == "foyer" && self.large_foyer(room) {
            self.foyer(room);
            return;
        }
        if let Some(key) = asked {
            self.plain(room, "this room must have one", self.cite(key));
        } else if self.lists("heights.habitable_rooms", kind) && !spacing {
            // No book here says how many: two on opposite walls are common practice, no source.
            for _ in 0..2 {
                self.plain(room, "no spacing is asked for here; two on opposite walls are common practice", None);
            }
        } else if matches!(kind, "hallway" | "utility" | "workshop" | "storage") {
            self.plain(room, "common practice; the code in force asks for none here", None);
        }
    }

    fn long_hall(&self, room: ItemIndex) -> bool {
        let Some(from) = self.value("receptacle.hallway_from", Dimension::Length) else { return false };
        crate::calc::coverage::centre_line(&self.ctx, room, &mut Sheet::none())
            .is_ok_and(|line| line.quantity.amount() >= from.amount())
    }

    fn large_foyer(&self, room: ItemIndex) -> bool {
        let Some(from) = self.value("receptacle.foyer_from", Dimension::Area) else { return false };
        self.outline(room).is_some_and(|outline| outline.area > from.amount())
    }

    fn foyer(&mut self, room: ItemIndex) {
        let Some(from) = self.value("receptacle.foyer_wall_from", Dimension::Length) else { return };
        let walls: Vec<ItemIndex> = self.job.links(room, room::WALLS).collect();
        for item in walls {
            let length = self.amount(item, wall::LENGTH).unwrap_or(0);
            if length >= from.amount() && self.job.text(item, wall::KIND) != Some("open") {
                let place = Some(Place { wall: item, along: self.free_on(item, length) });
                let why = String::from("each wider wall of a large foyer has one");
                let cite = self.cite("receptacle.foyer_wall_from");
                self.outlet(Outlet { room, place, purpose: "receptacle", serves: "general", why, cite });
            }
        }
    }

    /// Returns a place on a wall that no opening takes, near its middle.
    fn free_on(&self, item: ItemIndex, length: i64) -> i64 {
        use crate::model::kinds::opening;
        let reach = self.practice(6, 150);
        let open = |along: i64| {
            self.job.links(item, wall::OPENINGS).any(|it| {
                let (Some(at), Some(width)) = (self.amount(it, opening::AT), self.amount(it, opening::WIDTH)) else {
                    return false;
                };
                (at - reach..=at + width + reach).contains(&along)
            })
        };
        let step = self.step();
        let middle = length / 2 / step * step;
        let corner = self.corner_clearance();
        let tries = (0..=length / step / 2).flat_map(|n| [middle + n * step, middle - n * step]);
        tries.into_iter().find(|&at| at >= corner && at <= length - corner && !open(at)).unwrap_or(middle)
    }

    /// Adds a receptacle somewhere in a room: near the middle of its walls in turn.
    fn plain(&mut self, room: ItemIndex, why: &str, cite: Option<String>) -> String {
        let walls: Vec<ItemIndex> = self
            .job
            .links(room, room::WALLS)
            .filter(|&item| matches!(self.job.text(item, wall::KIND), Some("wall" | "railing" | "fixed_panel")))
            .collect();
        let id = self.job.id(room);
        let before = self
            .items
            .iter()
            .filter(|item| item.kind == "box" && super::choices::field(item, "room") == Some(id))
            .count();
        // Opposite walls in turn.
        let order = [0_usize, 2, 1, 3];
        let turn = order.get(before % 4).copied().unwrap_or(0);
        let place = walls.get(turn % walls.len().max(1)).map(|&item| {
            let length = self.amount(item, wall::LENGTH).unwrap_or(0);
            Place { wall: item, along: self.free_on(item, length) }
        });
        let serves = self.serves(room);
        let outdoors = serves == "outdoors";
        let purpose = if outdoors { "outdoor_receptacle" } else { "receptacle" };
        self.outlet(Outlet { room, place, purpose, serves, why: why.to_owned(), cite })
    }

    /// Adds the receptacles that a rule of the place asked for in a draft.
    fn further(&mut self, room: ItemIndex) {
        let more = self.choices.further.get(self.job.id(room)).copied().unwrap_or(0);
        for _ in 0..more {
            self.plain(room, "the place asks for more in this room", None);
        }
    }

    fn outlet(&mut self, outlet: Outlet<'_>) -> String {
        let circuit = self.feed(outlet.serves, None);
        self.receptacle(outlet, circuit, None)
    }

    /// Adds a box with one receptacle; returns the id of the receptacle.
    fn receptacle(&mut self, outlet: Outlet<'_>, circuit: Option<String>, height: Option<i64>) -> String {
        let id = self.fresh(self.job.id(outlet.room));
        let mut item = Proposed::new("box", &id, outlet.why).cited(outlet.cite).text("room", self.job.id(outlet.room));
        item = self.placed(item, outlet.place).text("purpose", outlet.purpose);
        item = self.box_height(item, &id, outlet.purpose, height);
        self.push(item);
        let name = format!("{id}R");
        let mut device = Proposed::new("device", &name, "").text("box", &id).text("kind", "receptacle");
        if let Some(circuit) = circuit {
            let rating = self.feed_of(&circuit).and_then(|feed| feed.rating);
            device = device.text("circuit", circuit);
            let row = rating.and_then(|rating| {
                self.book.row("receptacle.ratings", Datum::Quantity(rating), Match::Exact).flatten()
            });
            if let Some(Datum::Quantity(least)) = row.map(|clause| clause.datum) {
                device = device.unless("rating", Written::Text(self.shown(least)), &["rating"]);
            }
        }
        self.push(device);
        name
    }

    /// Adds wall and place of a box.
    pub(super) fn placed(&self, item: Proposed, place: Option<Place>) -> Proposed {
        match place {
            Some(place) => item.text("wall", self.job.id(place.wall)).with("along", self.length(place.along)),
            None => item,
        }
    }

    /// Adds the height of a box: that of the shop or the job where they set one, within people's reach where the code asks for it.
    pub(super) fn box_height(&self, item: Proposed, id: &str, purpose: &str, height: Option<i64>) -> Proposed {
        // Common practice, no source: the middle of switches at 42 in or 1050 mm, of receptacles at 18 in or 460 mm.
        let habit = match purpose {
            "switch" => self.practice(42, 1050),
            "counter_receptacle" => self.practice(42, 1050),
            _ => self.practice(18, 460),
        };
        let height = self.length(height.unwrap_or(habit));
        if self.choices.within_reach.contains(id) {
            let low = self.practice(20, 500);
            let high = self.practice(40, 1000);
            let within =
                self.length(if purpose == "receptacle" || purpose == "outdoor_receptacle" { low } else { high });
            return item.with("height", within);
        }
        item.unless("height", height, &["height", "top", "bottom"]).unless(
            "body_height",
            self.length(self.practice(4, 90)),
            &["body_height"],
        )
    }

    fn amend(&mut self, id: &str, key: &'static str, value: Written) {
        if let Some(item) = self.items.iter_mut().find(|item| item.id == id) {
            item.put(key, value);
        }
    }
}
