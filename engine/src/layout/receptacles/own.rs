//! Receptacles that a room must have for what it is, wherever on its walls they stand.

use super::Outlet;
use crate::calc::Sheet;
use crate::layout::choices::field;
use crate::layout::draft::Draft;
use crate::layout::item::Written;
use crate::layout::places::Place;
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, basin, device, opening, room, wall};
use crate::quantity::Dimension;

impl Draft<'_> {
    /// Receptacles that a room must have for what it is, wherever they stand.
    pub(super) fn own(&mut self, room: ItemIndex) {
        let kind = self.room_kind(room);
        let there = self
            .job
            .links(room, room::DEVICES)
            .filter(|&it| self.job.text(it, device::KIND) == Some("receptacle"))
            .count();
        let powered = self.job.flag(room, room::POWERED) != Some(false);
        let proposed = self.items.iter().any(|item| {
            item.kind == "box"
                && field(item, "room") == Some(self.job.id(room))
                && matches!(field(item, "purpose"), Some("receptacle" | "counter_receptacle" | "outdoor_receptacle"))
        });
        // A receptacle for the washer is one for the laundry; the machines of a house are served from another one.
        let for_appliance = self.items.iter().any(|item| {
            field(item, "serves_appliance")
                .is_some_and(|id| self.job.find(id).and_then(|it| self.job.link(it, appliance::ROOM)) == Some(room))
        });
        let equipped = self.job.flag(room, room::HAS_EQUIPMENT) == Some(true)
            || self.job.links(room, room::APPLIANCES).any(|it| {
                self.job.text(it, appliance::KIND).is_some_and(|kind| self.lists("appliance.equipment", kind))
            });
        if self.lists("places.bath", kind) && there == 0 {
            let near = ["bath.from_basin", "receptacle.basin_reach"]
                .into_iter()
                .find(|key| self.value(key, Dimension::Length).is_some());
            if let Some(near) = near {
                let limit = self.value(near, Dimension::Length).map_or(0, |limit| limit.amount());
                if self.beside_basins(room, limit, near) {
                    return;
                }
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
                    // One on a porch counts as one outdoors.
                    let outside = |it: ItemIndex| {
                        self.room_of_device(it)
                            .is_some_and(|at| at == room || self.lists("places.outdoors", self.room_kind(at)))
                    };
                    let on_side = self
                        .of(device::NAME)
                        .iter()
                        .filter(|&&it| self.job.text(it, device::SIDE) == Some(side) && outside(it))
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
        // A basement of which nobody says whether it is finished gets what an unfinished one needs; the rest is asked.
        let unfinished = kind == "basement" && self.job.flag(room, room::FINISHED) != Some(true);
        let long_hall = kind == "hallway" && self.long_hall(room);
        let spacing = self.has_list("receptacle.wall_rooms");
        let mut asked = None;
        for (holds, key) in [
            (
                (self.lists("circuit.laundry_rooms", kind) || self.job.flag(room, room::HAS_LAUNDRY) == Some(true))
                    && !for_appliance,
                "circuit.laundry_rooms",
            ),
            (self.lists("receptacle.laundry_rooms", kind) && !for_appliance, "receptacle.laundry_rooms"),
            (self.lists("receptacle.attached_outdoor_rooms", kind), "receptacle.attached_outdoor_rooms"),
            (long_hall, "receptacle.hallway_from"),
            (unfinished || (kind == "accessory_building" && powered), "receptacle.fewest"),
            (equipped, "receptacle.from_equipment"),
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
    pub(super) fn free_on(&self, item: ItemIndex, length: i64) -> i64 {
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
    pub(super) fn plain(&mut self, room: ItemIndex, why: &str, cite: Option<String>) -> String {
        let walls: Vec<ItemIndex> = self
            .job
            .links(room, room::WALLS)
            .filter(|&item| matches!(self.job.text(item, wall::KIND), Some("wall" | "railing" | "fixed_panel")))
            .collect();
        let id = self.job.id(room);
        let before = self.items.iter().filter(|item| item.kind == "box" && field(item, "room") == Some(id)).count();
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

    /// Adds a receptacle beside each basin that stands on a wall and has none in reach yet; returns whether any basin does.
    fn beside_basins(&mut self, room: ItemIndex, reach: i64, key: &str) -> bool {
        let drawn: Vec<(ItemIndex, i64, i64)> = self
            .job
            .links(room, room::BASINS)
            .filter_map(|it| {
                let (at, width) = (self.amount(it, basin::AT)?, self.amount(it, basin::WIDTH)?);
                Some((self.job.link(it, basin::WALL)?, at, at + width))
            })
            .collect();
        // Clear of the edge of the basin: common practice, no source.
        let aside = self.practice(6, 150);
        let mut placed: Vec<(ItemIndex, i64)> = Vec::new();
        for &(wall, from, to) in &drawn {
            let served = |&(on, along): &(ItemIndex, i64)| on == wall && (from - along).max(along - to).max(0) <= reach;
            if placed.iter().any(served) {
                continue;
            }
            let length = self.amount(wall, wall::LENGTH).unwrap_or(0);
            let along = if to + aside < length { to + aside } else { (from - aside).max(0) };
            placed.push((wall, along));
            let (why, cite) = (String::from("beside the basin"), self.cite(key));
            let (purpose, serves) = ("receptacle", self.serves(room));
            self.outlet(Outlet { room, place: Some(Place { wall, along }), purpose, serves, why, cite });
        }
        !drawn.is_empty()
    }

    /// Adds the receptacles that a rule of the place asked for in a draft.
    pub(super) fn further(&mut self, room: ItemIndex) {
        let more = self.choices.further.get(self.job.id(room)).copied().unwrap_or(0);
        for _ in 0..more {
            self.plain(room, "the place asks for more in this room", None);
        }
    }
}
