//! Receptacles: along walls and counters as few as cover them, and where a room must have its own.

mod along;
mod own;

use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use super::places::Place;
use crate::calc::{Datum, Match};
use crate::model::ItemIndex;

/// What a receptacle is for.
pub(super) struct Outlet<'s> {
    pub(super) room: ItemIndex,
    pub(super) place: Option<Place>,
    pub(super) purpose: &'static str,
    pub(super) serves: &'s str,
    pub(super) why: String,
    pub(super) cite: Option<String>,
}

impl Draft<'_> {
    pub(super) fn receptacles(&mut self) {
        if !self.only.asks(Part::Receptacles) {
            return;
        }
        for &room in &self.rooms() {
            self.along_counters(room);
            self.along_walls(room);
            self.own(room);
            self.further(room);
        }
    }

    /// Returns what feeds a receptacle in a room.
    pub(super) fn serves(&self, room: ItemIndex) -> &'static str {
        let kind = self.room_kind(room);
        let fed = |list: &str, serves: &'static str| self.lists(list, kind).then_some(serves);
        fed("places.food", "small_appliance")
            .or_else(|| fed("circuit.laundry_rooms", "laundry").or_else(|| fed("receptacle.laundry_rooms", "laundry")))
            .or_else(|| fed("places.bath", "bathroom"))
            .or_else(|| fed("places.garage", "garage"))
            .or_else(|| fed("places.outdoors", "outdoors").or_else(|| fed("receptacle.outdoor_places", "outdoors")))
            .unwrap_or("general")
    }

    fn outlet(&mut self, outlet: Outlet<'_>) -> String {
        let circuit = self.feed(outlet.serves, None);
        self.receptacle(outlet, circuit, None)
    }

    /// Adds a box with one receptacle; returns the id of the receptacle.
    pub(super) fn receptacle(&mut self, outlet: Outlet<'_>, circuit: Option<String>, height: Option<i64>) -> String {
        let id = self.fresh(self.job.id(outlet.room));
        let mut item = Proposed::new("box", &id, outlet.why).cited(outlet.cite).text("room", self.job.id(outlet.room));
        item = self.placed(item, outlet.place).text("purpose", outlet.purpose);
        item = self.box_height(item, &id, outlet.purpose, height);
        if self.lists("places.bath", self.room_kind(outlet.room)) && !self.choices.within_reach.contains(&id) {
            // Over the basin, whatever the shop's height for receptacles: common practice, no source.
            item.put("height", self.length(self.practice(42, 1050)));
        }
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
