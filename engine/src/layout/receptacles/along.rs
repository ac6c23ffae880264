//! The fewest receptacles that cover walls and counters.

use super::Outlet;
use crate::calc::coverage::{Stretch, counter_coverage, wall_coverage};
use crate::calc::{Outline, Sheet};
use crate::layout::cover::{evened, fewest_places};
use crate::layout::draft::Draft;
use crate::layout::item::Written;
use crate::layout::places::Place;
use crate::model::ItemIndex;
use crate::model::kinds::{counter, counter_break, room};
use crate::quantity::Dimension;

impl Draft<'_> {
    pub(super) fn along_walls(&mut self, room: ItemIndex) {
        let kind = self.room_kind(room);
        let finished = self.job.flag(room, room::FINISHED);
        let lived_in = self.lists("receptacle.wall_rooms", kind) && finished != Some(false);
        if !(lived_in || self.lists("receptacle.wall_rooms_if_finished", kind) && finished == Some(true)) {
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

    pub(super) fn places(
        &self,
        outline: &Outline,
        stretch: &Stretch,
        stand: &[i64],
        reach: i64,
        below: i64,
    ) -> Vec<Place> {
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

    pub(super) fn along_counters(&mut self, room: ItemIndex) {
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
        let Some(least) = self.value(asked, Dimension::Length) else {
            self.worktop(room, item, last);
            return;
        };
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

    /// Receptacles over a counter where the code says nothing of counters: one about every metre, clear of sink and range. Common
    /// practice, no source.
    fn worktop(&mut self, room: ItemIndex, item: ItemIndex, last: &mut Option<String>) {
        let said = self.has_list("counter.rooms") || self.value("counter.reach", Dimension::Length).is_some();
        let (Some(wall), Some(length)) = (self.job.link(item, counter::WALL), self.amount(item, counter::LENGTH))
        else {
            return;
        };
        if said || self.job.links(item, counter::DEVICES).next().is_some() {
            return;
        }
        let at = self.amount(item, counter::AT).unwrap_or(0);
        let below = self.amount(item, counter::HEIGHT).unwrap_or(self.practice(36, 900)) + self.practice(14, 350);
        let clear = self.practice(12, 300);
        let gaps: Vec<(i64, i64)> = self
            .job
            .links(item, counter::BREAKS)
            .filter_map(|gap| {
                let from = self.amount(gap, counter_break::AT)?;
                Some((from - clear, from + self.amount(gap, counter_break::WIDTH)? + clear))
            })
            .collect();
        let edge = self.practice(6, 150);
        let step = self.step();
        let number = (length / self.practice(40, 1000)).max(2);
        for n in 0..number {
            let middle = length * (2 * n + 1) / (2 * number) / step * step;
            let reach = length / number / 2 / step;
            let free = |along: &i64| {
                (edge..=length - edge).contains(along)
                    && !gaps.iter().any(|(from, to)| (from..=to).contains(&along))
                    && !self.in_opening(wall, at + along, below)
                    && self.is_clear(wall, at + along)
            };
            let found = (0..=reach).flat_map(|k| [middle + k * step, middle - k * step]).find(free);
            let Some(along) = found else { continue };
            let why =
                String::from("over the counter; no number is asked for here, one about every metre is common practice");
            let place = Some(Place { wall, along: at + along });
            let serves = self.serves(room);
            let outlet = Outlet { room, place, purpose: "counter_receptacle", serves, why, cite: None };
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
}
