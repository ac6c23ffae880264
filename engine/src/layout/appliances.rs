//! What the appliances of a job need: a circuit, a receptacle or a wired outlet, a control and a disconnecting means.

use super::choices::field;
use super::circuits::NewCircuit;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use super::places::Place;
use super::{Unproposed, receptacles::Outlet};
use crate::calc::protection::{circuit_of_appliance, is_plugged, shares_circuit};
use crate::calc::{Datum, Match};
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, cable_end, circuit, counter, counter_break, device, outlet_box, room, wall};
use crate::quantity::Dimension;

/// Kinds whose receptacle the appliance itself hides: common practice, no source.
const STANDS_BEFORE: [&str; 5] = ["range", "dryer", "clothes_washer", "refrigerator", "freezer"];

/// A device between circuit and appliance.
struct Local {
    kind: &'static str,
    purpose: &'static str,
    why: &'static str,
    cite: Option<String>,
}

impl Draft<'_> {
    pub(super) fn appliances(&mut self) {
        if !self.only.asks(Part::Appliances) {
            return;
        }
        for &item in self.of(appliance::NAME) {
            self.appliance(item);
        }
    }

    fn appliance_kind(&self, item: ItemIndex) -> &str {
        self.job.text(item, appliance::KIND).unwrap_or_default()
    }

    fn appliance(&mut self, item: ItemIndex) {
        let plugged = is_plugged(&self.ctx, item);
        let written = self.job.link(item, appliance::CIRCUIT).map(|circuit| self.job.id(circuit).to_owned());
        let Some(circuit) = written.clone().or_else(|| self.circuit_for(item, plugged)) else { return };
        let header = self.job.item(item).header;
        let mut filled = Proposed::onto("appliance", self.job.id(item), header, "what feeds it");
        if written.is_none() {
            filled = filled.text("circuit", &circuit);
        }
        let local = self.local(item, plugged);
        if let Some((word, cite)) = self.disconnect(item, &circuit, plugged, local.as_ref()) {
            filled = filled.text("disconnect", word).cited(cite);
        }
        let outlet = !self.has_outlet(item, &circuit, plugged);
        if outlet && self.job.flag(item, appliance::CORD_AND_PLUG).is_none() {
            filled = filled.with("cord_and_plug", Written::Flag(plugged));
        }
        if !filled.fields.is_empty() {
            self.push(filled);
        }
        if plugged {
            if outlet {
                self.appliance_receptacle(item, &circuit);
            }
        } else if let Some(local) = local {
            let on = self.job.id(item).to_owned();
            self.local_control(item, &circuit, local, vec![on]);
        }
    }

    /// Returns the circuit for an appliance that has none: one that serves the purpose, or one of its own.
    fn circuit_for(&mut self, item: ItemIndex, plugged: bool) -> Option<String> {
        let kind = self.appliance_kind(item).to_owned();
        let room = self.job.link(item, appliance::ROOM);
        let full = self.value("circuit.two_pole_from", Dimension::Voltage);
        let written = self.job.quantity(item, appliance::VOLTAGE);
        let small = match (written, full) {
            (Some(voltage), Some(full)) => voltage.amount() < full.amount(),
            _ => kind == "clothes_washer",
        };
        if plugged && small {
            let laundry = if self.has_list("circuit.laundry_appliances") {
                self.lists("circuit.laundry_appliances", &kind)
            } else {
                kind == "clothes_washer"
            };
            let serves = if laundry {
                Some("laundry")
            } else if self.lists("appliance.may_burn_gas", &kind) && self.lists("circuit.cooking", &kind) {
                // Its igniter and clock: the code lets them be on a small-appliance circuit.
                Some("small_appliance")
            } else {
                None
            };
            if let Some(serves) = serves.filter(|serves| self.rating_is_set(serves)) {
                return self.feed(serves, None);
            }
        }
        if shares_circuit(&self.ctx, item) {
            let serves = room.map_or("general", |room| self.serves(room));
            return self.feed(serves, None);
        }
        let steps = self.choices.ratings.get(self.job.id(item)).copied().unwrap_or(0);
        let found = match circuit_of_appliance(&self.ctx, item, plugged, steps) {
            Ok(found) => found,
            Err(problem) => {
                self.unproposed.push(Unproposed {
                    item: self.job.id(item).to_owned(),
                    kind: String::from("appliance"),
                    why: format!("no circuit: {}", problem.message),
                    fix: problem.help.clone(),
                });
                return None;
            }
        };
        let asked = ["circuit.own_circuit", "circuit.individual"].into_iter().find(|list| self.lists(list, &kind));
        let words = kind.replace('_', " ");
        let mut what = format!("the {words} has a circuit of its own");
        if !found.by_nameplate {
            what.push_str("; no load is written: compare the usual breaker with the nameplate");
        }
        let mut label = words;
        if let Some(first) = label.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        if let Some(room) = room {
            label = format!("{label} in {}", self.room_name(room));
        }
        Some(self.add_circuit(NewCircuit {
            serves: "dedicated",
            what,
            cite: asked.and_then(|key| self.cite(key)),
            rating: Some(found.rating),
            voltage: found.voltage.or_else(|| self.voltage()),
            poles: found.poles,
            carries: (found.carries != found.rating).then_some(found.carries),
            label,
        }))
    }

    /// Returns whether something feeds an appliance already.
    fn has_outlet(&self, item: ItemIndex, circuit: &str, plugged: bool) -> bool {
        if self.job.links(item, appliance::RECEPTACLES).next().is_some() || self.is_cabled(item) {
            return true;
        }
        // A receptacle of the same circuit in the same room may be for it, though nobody wrote so.
        let room = self.job.link(item, appliance::ROOM);
        let on = self.job.find(circuit);
        plugged
            && on.is_some_and(|on| {
                self.job.links(on, circuit::DEVICES).any(|it| {
                    self.job.text(it, device::KIND) == Some("receptacle")
                        && (room.is_none() || self.room_of_device(it) == room)
                })
            })
    }

    pub(super) fn room_of_device(&self, item: ItemIndex) -> Option<ItemIndex> {
        let own = self.job.link(item, device::ROOM);
        own.or_else(|| self.job.link(self.job.link(item, device::BOX)?, outlet_box::ROOM))
    }

    /// Returns whether a cable ends at an appliance.
    pub(super) fn is_cabled(&self, item: ItemIndex) -> bool {
        self.of(cable_end::NAME).iter().any(|&end| self.job.link(end, cable_end::APPLIANCE) == Some(item))
            || !self.ctx.index.raceways_at(self.job, item).is_empty()
    }

    /// Returns the device that has to stand between the circuit and an appliance, if none does.
    fn local(&self, item: ItemIndex, plugged: bool) -> Option<Local> {
        if self.job.links(item, appliance::CONTROLLED_BY).next().is_some() {
            return None;
        }
        let kind = self.appliance_kind(item);
        let means = self.job.text(item, appliance::DISCONNECT);
        let in_sight = means.is_none_or(|means| means == "switch_in_sight");
        let cite = |key: &str| self.cite(key);
        let local = |kind, purpose, why, cite| Some(Local { kind, purpose, why, cite });
        if self.choices.controlled.contains(self.job.id(item)) {
            return local("switch", "switch", "switch for the {}, in sight", None);
        }
        if kind == "disposer" && self.only.asks(Part::Switches) {
            return local("switch", "switch", "wall switch for the {}: common practice", None);
        }
        if plugged {
            return None;
        }
        if in_sight && self.lists("appliance.outdoor_units", kind) {
            let cite = cite("appliance.disconnects_in_sight");
            return local("disconnect", "appliance", "disconnect within sight of the {}", cite);
        }
        match kind {
            "furnace" | "air_handler" if in_sight && self.lists("appliance.need_disconnect", kind) => {
                local("disconnect", "switch", "disconnect at the {}", cite("appliance.need_disconnect"))
            }
            "electric_heat" if self.lists("appliance.need_disconnect", kind) => {
                local("thermostat", "thermostat", "line-voltage thermostat for the {}: common practice", None)
            }
            "bath_heater" if self.only.asks(Part::Switches) => {
                local("switch", "switch", "wall switch for the {}: common practice", None)
            }
            _ if means == Some("switch_in_sight") => {
                local("disconnect", "appliance", "disconnect in sight of the {}, as its job says", None)
            }
            _ => None,
        }
    }

    /// Returns the word for the disconnecting means that an appliance lacks, with its citation.
    fn disconnect(
        &self,
        item: ItemIndex,
        circuit: &str,
        plugged: bool,
        local: Option<&Local>,
    ) -> Option<(&'static str, Option<String>)> {
        if self.job.text(item, appliance::DISCONNECT).is_some() {
            return None;
        }
        let kind = self.appliance_kind(item);
        let load = self.job.quantity(item, appliance::LOAD);
        let small = match (load, self.value("appliance.largest_on_breaker", Dimension::Power)) {
            (Some(load), Some(most)) => load.amount() <= most.amount(),
            _ => false,
        };
        let rating = self.feed_of(circuit).and_then(|feed| feed.rating);
        let charger = kind == "ev_charger"
            && match (rating, self.value("appliance.charger_disconnect_from", Dimension::Current)) {
                (Some(rating), Some(from)) => rating.amount() > from.amount(),
                _ => false,
            };
        let list = if charger {
            "appliance.charger_disconnects"
        } else if self.lists("appliance.outdoor_units", kind) {
            "appliance.disconnects_in_sight"
        } else if self.lists("appliance.need_disconnect", kind) && !small {
            "appliance.disconnects"
        } else {
            return None;
        };
        let by_device = local.is_some_and(|local| local.kind == "disconnect");
        let words: &[&'static str] = match (plugged, by_device) {
            (true, _) => &["plug"],
            (false, true) => &["switch_in_sight"],
            (false, false) => &["breaker_lockable", "breaker_in_sight"],
        };
        let word = words.iter().copied().find(|word| self.lists(list, word))?;
        Some((word, self.cite(list)))
    }

    /// Adds the receptacle of an appliance, behind or beside it, and its switch if it has one.
    fn appliance_receptacle(&mut self, item: ItemIndex, circuit: &str) {
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
    fn local_control(&mut self, item: ItemIndex, circuit: &str, local: Local, controls: Vec<String>) {
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
