//! Smoke and carbon monoxide alarms.

use super::draft::Draft;
use super::item::{Proposed, Written};
use super::only::Part;
use crate::model::ItemIndex;
use crate::model::kinds::{device, room, site};
use crate::quantity::Dimension;

impl Draft<'_> {
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
        for &room in &rooms {
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
