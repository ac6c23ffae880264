//! Boxes for appliances: the receptacle behind or beside one, the switch or disconnect in its way.

use super::Unproposed;
use super::appliances::Local;
use super::choices::field;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::places::Place;
use super::receptacles::Outlet;
use crate::calc::{Datum, Match};
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, circuit, counter, counter_break, room, wall};

/// Kinds whose receptacle the appliance itself hides: common practice, no source.
const STANDS_BEFORE: [&str; 5] = ["range", "dryer", "clothes_washer", "refrigerator", "freezer"];

impl Draft<'_> {
    /// Adds the receptacle of an appliance, behind or beside it, and its switch if it has one.
    pub(super) fn appliance_receptacle(&mut self, item: ItemIndex, circuit: &str) {
        let kind = self.appliance_kind(item).to_owned();
        let room = self.job.link(item, appliance::ROOM);
        let Some(room) = room else {
            self.unproposed.push(Unproposed {
                item: self.job.id(item).to_owned(),
                kind: String::from("appliance"),
                why: String::from("no receptacle: nobody wrote the room it stands in"),
                fix: Some(String::from("write `room` of the appliance")),
            });
            return;
        };
        let local = self.local(item, true);
        // The switch comes first on the circuit.
        let switch_at = self.items.len();
        let low = matches!(kind.as_str(), "range" | "cooktop");
        let height = low.then(|| self.practice(6, 150));
        let place = self.appliance_place(item, room);
        let why = format!("receptacle for the {}", kind.replace('_', " "));
        let outlet = Outlet { room, place, purpose: "appliance", serves: "dedicated", why, cite: None };
        let name = self.receptacle(outlet, Some(circuit.to_owned()), height);
        let rating = self.feed_of(circuit).and_then(|feed| feed.rating);
        let alone = self.feed_of(circuit).is_some_and(|feed| feed.serves == "dedicated");
        let two_pole = self.is_two_pole(circuit);
        let largest = rating.and_then(|rating| {
            self.book.row("receptacle.ratings_largest", Datum::Quantity(rating), Match::Exact).flatten()
        });
        let largest = match largest.map(|clause| clause.datum) {
            Some(Datum::Quantity(largest)) => Some(self.shown(largest)),
            _ => rating.map(|rating| self.shown(rating)),
        };
        let volts = self.text_of_circuit(circuit, "voltage", circuit::VOLTAGE);
        // Receptacles for more than general circuits are wider than one gang: common practice, no source.
        let general = self.book.list("circuit.general_ratings").unwrap_or_default();
        let wide = !general.is_empty()
            && rating.is_some_and(|rating| general.iter().all(|clause| clause.datum != Datum::Quantity(rating)));
        let id = self.job.id(item).to_owned();
        let Some(device) = self.items.iter_mut().rev().find(|it| it.id == name) else { return };
        device.put("serves_appliance", Written::Text(id));
        if alone {
            device.put("contacts", Written::Number(1));
            if let Some(largest) = largest {
                device.put("rating", Written::Text(largest));
            }
        }
        if two_pole && let Some(volts) = volts {
            device.put("voltage", Written::Text(volts));
        }
        if STANDS_BEFORE.contains(&kind.as_str()) {
            device.put("behind_appliance", Written::Flag(true));
        }
        if matches!(kind.as_str(), "dishwasher" | "disposer" | "trash_compactor") {
            device.put("in_cabinet", Written::Flag(true));
        }
        device.put("is_exempt_from_reach", Written::Flag(true));
        if wide && alone {
            device.put("gangs", Written::Number(2));
        }
        if local.is_some() {
            device.put("switched", Written::text("whole"));
        }
        let in_box = field(device, "box").map(str::to_owned);
        if wide
            && alone
            && let Some(item) = self.items.iter_mut().find(|it| Some(it.id.as_str()) == in_box.as_deref())
        {
            item.put("gangs", Written::Number(2));
        }
        if let Some(local) = local {
            let after = self.items.split_off(switch_at);
            self.local_control(item, circuit, local, vec![name]);
            self.items.extend(after);
        }
    }

    /// Adds a switch, thermostat or disconnect that controls an appliance or its receptacle.
    pub(super) fn local_control(&mut self, item: ItemIndex, circuit: &str, local: Local, controls: Vec<String>) {
        let room = self.job.link(item, appliance::ROOM);
        let stem = room.map_or_else(|| self.job.id(item).to_owned(), |room| self.job.id(room).to_owned());
        let id = self.fresh(&stem);
        let mut new = Proposed::new("box", &id, local.why.replace("{}", &self.appliance_kind(item).replace('_', " ")))
            .cited(local.cite);
        if let Some(room) = room {
            new = new.text("room", self.job.id(room));
            new = self.placed(new, self.control_place(item, room));
        }
        new = new.text("purpose", local.purpose);
        let height = match (local.kind, local.purpose) {
            ("disconnect", "appliance") | ("thermostat", _) => Some(self.practice(48, 1200)),
            _ => None,
        };
        new = self.box_height(new, &id, local.purpose, height);
        self.push(new);
        let two_pole = self.is_two_pole(circuit);
        let mut device = Proposed::new("device", format!("{id}S1"), "").text("box", &id).text("kind", local.kind);
        if local.kind != "disconnect" {
            device = device.text("action", if two_pole { "double_pole" } else { "single_pole" });
        }
        device = device.text("circuit", circuit);
        if let Some(rating) = self.feed_of(circuit).and_then(|feed| feed.rating) {
            device = device.unless("rating", Written::Text(self.shown(rating)), &["rating"]);
        }
        if two_pole && let Some(volts) = self.text_of_circuit(circuit, "voltage", circuit::VOLTAGE) {
            device = device.text("voltage", volts);
        }
        if let Some(away) = self.choices.from_tub.get(self.job.id(item)) {
            device = device.text("from_tub", away);
        }
        if local.kind == "disconnect" {
            device = device.with("is_exempt_from_reach", Written::Flag(true));
        }
        self.push(device.with("controls", Written::List(controls.into_iter().map(Written::Text).collect())));
    }

    /// Returns whether a circuit, written or proposed, has a breaker of two poles.
    pub(super) fn is_two_pole(&self, circuit: &str) -> bool {
        if let Some(item) = self.job.find(circuit) {
            return self.job.quantity(item, circuit::POLES).is_some_and(|poles| poles.whole() == Some(2));
        }
        let proposed = self.items.iter().find(|item| item.kind == "circuit" && item.id == circuit);
        proposed.is_some_and(|item| {
            item.fields.iter().any(|field| field.key == "poles" && field.value == Written::Number(2))
        })
    }

    fn text_of_circuit(&self, circuit: &str, key: &str, at: crate::model::FieldId) -> Option<String> {
        if let Some(item) = self.job.find(circuit) {
            return self.job.quantity(item, at).map(|quantity| self.shown(quantity));
        }
        let proposed = self.items.iter().find(|item| item.kind == "circuit" && item.id == circuit)?;
        field(proposed, key).map(str::to_owned)
    }

    /// Returns where the outlet of an appliance goes: at the place that a counter leaves for it, else where a wall is free.
    fn appliance_place(&self, item: ItemIndex, room: ItemIndex) -> Option<Place> {
        if let (Some(wall), Some(along)) = (self.job.link(item, appliance::WALL), self.amount(item, appliance::ALONG)) {
            return Some(Place { wall, along });
        }
        let wanted = match self.appliance_kind(item) {
            kind @ ("range" | "cooktop" | "refrigerator") => kind,
            "dishwasher" | "disposer" | "trash_compactor" => "sink",
            _ => return self.free_place(room),
        };
        self.at_gap(room, wanted).or_else(|| self.free_place(room))
    }

    /// Returns where the control of an appliance goes: beside the sink for what is under it, else where a wall is free.
    fn control_place(&self, item: ItemIndex, room: ItemIndex) -> Option<Place> {
        if self.appliance_kind(item) == "disposer"
            && let Some(place) = self.at_gap(room, "sink")
        {
            let beyond = Place { along: place.along + self.practice(24, 600), ..place };
            let length = self.amount(place.wall, wall::LENGTH).unwrap_or(0);
            if beyond.along < length && !self.in_opening(place.wall, beyond.along, self.practice(60, 1500)) {
                return Some(beyond);
            }
        }
        self.free_place(room)
    }

    /// Returns the middle of a gap in a counter of a room, a little aside where a box is there already.
    fn at_gap(&self, room: ItemIndex, kind: &str) -> Option<Place> {
        let mut gaps = self.job.links(room, room::COUNTERS).flat_map(|item| {
            let gaps = self.job.links(item, counter::BREAKS);
            gaps.filter(move |&gap| self.job.text(gap, counter_break::KIND) == Some(kind)).map(move |gap| (item, gap))
        });
        let (item, gap) = gaps.next()?;
        let wall = self.job.link(item, counter::WALL)?;
        let (at, width) = (self.amount(gap, counter_break::AT)?, self.amount(gap, counter_break::WIDTH)?);
        let middle = self.amount(item, counter::AT).unwrap_or(0) + at + width / 2;
        let step = self.practice(6, 150);
        let length = self.amount(wall, wall::LENGTH)?;
        let tries = (0..6).flat_map(|n| [middle + n * step, middle - n * step]);
        let along = tries.into_iter().find(|&along| (0..=length).contains(&along) && self.is_clear(wall, along))?;
        Some(Place { wall, along: along / self.step() * self.step() })
    }
}
