//! Lights outside the doors that lead out, switched from inside.

use super::choices::field;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::lights::{FED_BY_TRAVELERS, OUTSIDE};
use super::only::Part;
use crate::model::ItemIndex;
use crate::model::kinds::{luminaire, opening, outlet_box, site};

/// A door that has to be lit outside.
pub(super) struct Dark {
    door: ItemIndex,
    /// The place outside.
    at: Option<ItemIndex>,
    why: String,
}

/// A door with the light proposed outside it.
pub(super) struct Lit {
    door: ItemIndex,
    at: Option<ItemIndex>,
    light: String,
}

impl Draft<'_> {
    /// Returns what has to be lit outside: porches, balconies and decks, and every entrance that the code wants lit.
    pub(super) fn dark_entrances(&self) -> Vec<Dark> {
        let mut dark: Vec<Dark> = Vec::new();
        if !self.only.asks(Part::Lights) {
            return dark;
        }
        for &room in &self.rooms() {
            if OUTSIDE.contains(&self.room_kind(room))
                && let Some(door) = self.door_to(room, &dark)
            {
                let why = format!("light outside the door to {}", self.room_name(room));
                dark.push(Dark { door, at: Some(room), why });
            }
        }
        let yard = self.all_rooms().iter().copied().find(|&room| self.room_kind(room) == "outdoors");
        for &door in self.of(opening::NAME) {
            let to = self.job.link(door, opening::TO);
            let known = dark.iter().any(|it| it.door == door || (to.is_some() && it.at == to));
            if let (false, true, Some(inside)) = (known, self.wants_light(door), self.job.link(door, opening::ROOM))
                && self.light_beside(door).is_none()
            {
                let why = format!("light outside the door of {}", self.room_name(inside));
                dark.push(Dark { door, at: to.filter(|&to| self.is_outside(to)).or(yard), why });
            }
        }
        dark
    }

    /// Lights the entrances of a room, or those that are left: on the circuit of the room's own light, as long as that has room.
    pub(super) fn light_entrances(&mut self, of: Option<ItemIndex>, dark: &mut Vec<Dark>, lit: &mut Vec<Lit>) {
        let mine = |it: &Dark| of.is_none() || self.job.link(it.door, opening::ROOM) == of;
        let (now, later): (Vec<Dark>, Vec<Dark>) = std::mem::take(dark).into_iter().partition(mine);
        *dark = later;
        for one in now {
            if let Some(light) = self.light_outside(one.door, one.at, one.why) {
                lit.push(Lit { door: one.door, at: one.at, light });
            }
        }
    }

    /// Says in each opening what lights it outside.
    pub(super) fn name_entrance_lights(&mut self, lit: &[Lit]) {
        if !self.only.asks(Part::Lights) {
            return;
        }
        for &door in self.of(opening::NAME) {
            if !self.wants_light(door) {
                continue;
            }
            let to = self.job.link(door, opening::TO);
            let own =
                lit.iter().find(|it| it.door == door).or_else(|| lit.iter().find(|it| to.is_some() && it.at == to));
            let Some(light) = own.map(|it| it.light.clone()).or_else(|| self.light_beside(door)) else { continue };
            let header = self.job.item(door).header;
            let filled = Proposed::onto("opening", self.job.id(door), header, "what lights it outside")
                .cited(self.cite("lighting.entrance_kinds"))
                .text("lit_by", light);
            self.push(filled);
        }
    }

    /// Returns whether the code wants a light outside an opening, and the job does not say which it is.
    fn wants_light(&self, door: ItemIndex) -> bool {
        let kind = self.job.text(door, opening::KIND).unwrap_or_default();
        let inside = self.job.link(door, opening::ROOM);
        let accessory = self.ctx.site().is_some_and(|site| self.job.text(site, site::DWELLING) == Some("accessory"));
        self.job.flag(door, opening::OUTDOORS) == Some(true)
            && self.job.link(door, opening::LIT_BY).is_none()
            && !self.job.is_existing(door)
            && self.lists("lighting.entrance_kinds", kind)
            && !accessory
            && inside.is_some_and(|room| !self.lists("lighting.entrances_not_asked", self.room_kind(room)))
    }

    /// Returns the light of the job that is outside a door: that of the place it leads to, or the only one outside that a switch in its
    /// room works.
    fn light_beside(&self, door: ItemIndex) -> Option<String> {
        if let Some(to) = self.job.link(door, opening::TO)
            && let Some(&light) = self.lit(to).first()
        {
            return Some(self.job.id(light).to_owned());
        }
        let inside = self.job.link(door, opening::ROOM)?;
        let outside = |light: &ItemIndex| {
            let room = self.job.link(*light, luminaire::ROOM);
            let room = room.or_else(|| self.job.link(self.job.link(*light, luminaire::BOX)?, outlet_box::ROOM));
            room.is_some_and(|room| self.is_outside(room))
        };
        let from_here = |light: &ItemIndex| {
            self.job.links(*light, luminaire::CONTROLLED_BY).any(|it| self.room_of_device(it) == Some(inside))
        };
        let mut found = self.of(luminaire::NAME).iter().copied().filter(|light| outside(light) && from_here(light));
        let one = found.next()?;
        found.next().is_none().then(|| self.job.id(one).to_owned())
    }

    fn is_outside(&self, room: ItemIndex) -> bool {
        let kind = self.room_kind(room);
        OUTSIDE.contains(&kind) || kind == "outdoors"
    }

    /// Returns a door inside which a porch, balcony or deck is lit from; nothing where it has a light.
    fn door_to(&self, room: ItemIndex, dark: &[Dark]) -> Option<ItemIndex> {
        if !self.lit(room).is_empty() {
            return None;
        }
        let leads_here = |item: &&ItemIndex| self.job.link(**item, opening::TO) == Some(room);
        let out = |item: &&ItemIndex| {
            self.job.flag(**item, opening::OUTDOORS) == Some(true)
                && self.job.link(**item, opening::TO).is_none()
                && !dark.iter().any(|it| it.door == **item)
                && !matches!(self.job.text(**item, opening::KIND), Some("window" | "vehicle_door"))
        };
        let inside =
            |item: &&ItemIndex| self.job.link(**item, opening::ROOM).is_some_and(|room| !self.is_outside(room));
        let doors = self.of(opening::NAME);
        doors.iter().filter(leads_here).find(inside).or_else(|| doors.iter().filter(out).find(inside)).copied()
    }

    /// Adds a light outside a door, with its switch inside; returns the light.
    fn light_outside(&mut self, door: ItemIndex, at: Option<ItemIndex>, why: String) -> Option<String> {
        let inside = self.job.link(door, opening::ROOM)?;
        let circuit = self.feed("lighting", None);
        let cite = self.cite("lighting.entrance_kinds");
        let light = self.luminaire(at, "wall", why.clone(), cite.clone(), circuit.clone());
        if let Some(in_box) = self.items.iter().find(|item| item.id == light).and_then(|item| field(item, "box")) {
            self.outside.push((in_box.to_owned(), door));
        }
        if !self.only.asks(Part::Switches) {
            return Some(light);
        }
        let beside = self
            .switch_boxes
            .iter()
            .find(|(at, _, action)| *at == door && *action != FED_BY_TRAVELERS)
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
                self.switch_in(&id, "single_pole", std::slice::from_ref(&light), circuit);
            }
            None => {
                let place = self.beside_door(door);
                let controls = std::slice::from_ref(&light);
                self.switch(inside, (place, None), "single_pole", controls, circuit, why, cite);
            }
        }
        Some(light)
    }
}
