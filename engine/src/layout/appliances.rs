//! What the appliances of a job need: a circuit, a receptacle or a wired outlet, a control and a disconnecting means.

use super::Unproposed;
use super::circuits::NewCircuit;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use crate::calc::protection::{circuit_of_appliance, is_plugged, shares_circuit};
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, cable_end, circuit, device, outlet_box};
use crate::quantity::Dimension;

/// A device between circuit and appliance.
pub(super) struct Local {
    pub(super) kind: &'static str,
    pub(super) purpose: &'static str,
    pub(super) why: &'static str,
    pub(super) cite: Option<String>,
}

impl Draft<'_> {
    pub(super) fn appliances(&mut self) {
        if !self.only.asks(Part::Appliances) {
            return;
        }
        for &item in self.of(appliance::NAME).iter().filter(|&&item| !self.job.is_existing(item)) {
            self.appliance(item);
        }
    }

    pub(super) fn appliance_kind(&self, item: ItemIndex) -> &str {
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
        let asked = ["circuit.own_circuit", "circuit.individual", "circuit.individual_by_practice"]
            .into_iter()
            .find(|list| self.lists(list, &kind));
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
    pub(super) fn local(&self, item: ItemIndex, plugged: bool) -> Option<Local> {
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
}
