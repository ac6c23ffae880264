//! Lights outside the doors that lead out, switched from inside.

use super::choices::field;
use super::draft::Draft;
use super::item::{Proposed, Written};
use super::lights::OUTSIDE;
use super::only::Part;
use crate::model::ItemIndex;
use crate::model::kinds::{luminaire, opening, outlet_box, site};

impl Draft<'_> {
    /// Lights porches, balconies and decks, and every entrance that the code wants lit, and says in each opening what lights it.
    pub(super) fn entrances(&mut self) {
        if !self.only.asks(Part::Lights) {
            return;
        }
        let mut lit: Vec<(ItemIndex, String)> = Vec::new();
        for &room in self.rooms() {
            if OUTSIDE.contains(&self.room_kind(room)) {
                self.light_of_place(room, &mut lit);
            }
        }
        let asked: Vec<ItemIndex> =
            self.of(opening::NAME).iter().copied().filter(|&door| self.wants_light(door)).collect();
        for door in asked {
            let known = lit.iter().find(|(at, _)| *at == door).map(|(_, light)| light.clone());
            let Some(light) = known.or_else(|| self.light_beside(door)).or_else(|| self.entrance_light(door)) else {
                continue;
            };
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

    /// Lights a porch, balcony or deck from a switch inside, beside a door that leads out.
    fn light_of_place(&mut self, room: ItemIndex, lit: &mut Vec<(ItemIndex, String)>) {
        if !self.lit(room).is_empty() {
            return;
        }
        let leads_here = |item: &&ItemIndex| self.job.link(**item, opening::TO) == Some(room);
        let out = |item: &&ItemIndex| {
            self.job.flag(**item, opening::OUTDOORS) == Some(true)
                && self.job.link(**item, opening::TO).is_none()
                && !lit.iter().any(|(door, _)| door == *item)
                && !matches!(self.job.text(**item, opening::KIND), Some("window" | "vehicle_door"))
        };
        let inside =
            |item: &&ItemIndex| self.job.link(**item, opening::ROOM).is_some_and(|room| !self.is_outside(room));
        let doors = self.of(opening::NAME);
        let door =
            doors.iter().filter(leads_here).find(inside).or_else(|| doors.iter().filter(out).find(inside)).copied();
        let Some(door) = door else { return };
        let why = format!("light outside the door to {}", self.room_name(room));
        if let Some(light) = self.light_outside(door, Some(room), why) {
            lit.push((door, light.clone()));
            let others =
                doors.iter().filter(|&&other| other != door && self.job.link(other, opening::TO) == Some(room));
            lit.extend(others.map(|&other| (other, light.clone())));
        }
    }

    /// Lights an entrance that has no porch.
    fn entrance_light(&mut self, door: ItemIndex) -> Option<String> {
        let to = self.job.link(door, opening::TO).filter(|&to| self.is_outside(to));
        let yard = self.rooms().iter().copied().find(|&room| self.room_kind(room) == "outdoors");
        let inside = self.job.link(door, opening::ROOM)?;
        let why = format!("light outside the door of {}", self.room_name(inside));
        self.light_outside(door, to.or(yard), why)
    }

    /// Adds a light outside a door, with its switch inside; returns the light.
    fn light_outside(&mut self, door: ItemIndex, at: Option<ItemIndex>, why: String) -> Option<String> {
        let inside = self.job.link(door, opening::ROOM)?;
        let circuit = self.feed("lighting", None);
        let cite = self.cite("lighting.entrance_kinds");
        let light = self.luminaire(at, "wall", why.clone(), cite.clone(), circuit.clone());
        if !self.only.asks(Part::Switches) {
            return Some(light);
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
