//! One run of cable or tubing: its conductors, its ends, its length.

use super::Unproposed;
use super::cables::Node;
use super::choices::{Method, field};
use super::draft::Draft;
use super::item::{Proposed, Written};
use crate::calc::Traced;
use crate::calc::protection::{conductors_that_carry, equipment_ground};
use crate::model::ItemIndex;
use crate::model::kinds::{room, site};
use crate::quantity::{Conductor, Dimension, Quantity};
use crate::source::Span;

impl Draft<'_> {
    /// Returns the size of conductor for a circuit: the smallest that its breaker may protect, or that the nameplate asks for.
    fn size(&self, circuit: &str) -> Option<Quantity> {
        let feed = self.feed_of(circuit)?;
        let rating = feed.rating?;
        let larger = self.choices.larger.get(circuit).copied().unwrap_or(0);
        let ambient = self.ctx.site().and_then(|site| self.ctx.given(site, site::AMBIENT));
        let carrying = |current: Quantity| {
            let sizes = conductors_that_carry(current, ambient, self.book).ok()?;
            sizes.get(larger).or(sizes.last()).copied()
        };
        if let Some(size) = feed.carries.and_then(carrying) {
            return Some(size);
        }
        if let Ok(rows) = self.book.table("protection.copper_max", Dimension::Conductor, Dimension::Current) {
            let least = self.value("circuit.smallest_copper", Dimension::Conductor).map_or(0, |size| size.amount());
            let mut fits = rows
                .iter()
                .filter(|(size, most)| size.amount() >= least && most.amount() >= rating.amount())
                .map(|(size, _)| *size);
            return match fits.clone().count() {
                0 => carrying(rating),
                _ => fits.nth(larger).or_else(|| carrying(rating)),
            };
        }
        let rows = self.book.table("circuits.standard_sizes", Dimension::Current, Dimension::Conductor).ok()?;
        let fits = rows.iter().filter(|(at, _)| at.amount() >= rating.amount());
        fits.map(|(_, size)| size.quantity).nth(larger)
    }

    /// Notes once that nothing tells the conductors of a circuit.
    fn no_size(&mut self, circuit: &str) {
        if self.unproposed.iter().any(|known| known.kind == "circuit" && known.item == circuit) {
            return;
        }
        let rating = self.feed_of(circuit).and_then(|feed| feed.rating);
        let (why, fix) = match rating {
            Some(rating) => (
                format!("no cable: the code in force has no conductor for {}", self.shown(rating)),
                "choose the cable by the manufacturer's and the standard's tables, and write it",
            ),
            None => (String::from("no cable: its rating is not written"), "write `rating` of the circuit"),
        };
        self.unproposed.push(Unproposed {
            item: circuit.to_owned(),
            kind: String::from("circuit"),
            why,
            fix: Some(fix.to_owned()),
        });
    }

    /// Returns the size of the equipment ground that is pulled with conductors of a size: theirs, or what the breaker asks for.
    fn ground(&self, circuit: &str, size: Quantity) -> Quantity {
        let rating = self.feed_of(circuit).and_then(|feed| feed.rating);
        let rating = rating.map(|rating| Traced::new(Dimension::Current, rating.amount(), Span::NONE));
        let asked = rating.and_then(|rating| equipment_ground(rating, "copper", self.book).ok());
        asked.map_or(size, |asked| if asked.amount() > size.amount() { asked.quantity } else { size })
    }

    fn is_wet(&self, room: Option<ItemIndex>) -> bool {
        room.is_some_and(|room| {
            self.job.text(room, room::DAMP) == Some("wet") || self.lists("places.wet", self.room_kind(room))
        })
    }

    /// Adds one run, of cable or of tubing, from the last box or the panel.
    pub(super) fn run(&mut self, circuit: &str, panel: &str, from: Option<&Node>, to: &Node, conductors: i64) {
        let Some(size) = self.size(circuit) else {
            self.no_size(circuit);
            return;
        };
        let id = self.fresh(&format!("{circuit}C"));
        let method = self.choices.methods.get(circuit).copied().unwrap_or_default();
        let start = from.map_or(panel, |node| node.id.as_str());
        let length = self.way(from, to, panel);
        let why = match from {
            None => format!("home run of circuit {circuit}"),
            Some(_) => format!("circuit {circuit} goes on"),
        };
        let wet = to.appliance && self.is_wet(to.room);
        if method == Method::Tubing {
            let item = Proposed::new("raceway", id, why).text("from", start).text("to", &to.id);
            let earth = self.ground(circuit, size);
            let insulation = if wet { "THWN" } else { "THHN" };
            let strands = |count: i64, ground: bool| {
                let mut table = vec![
                    (String::from("circuit"), Written::text(circuit)),
                    (String::from("size"), Written::Text(self.shown(if ground { earth } else { size }))),
                    (String::from("number"), Written::Number(count)),
                    (String::from("insulation"), Written::text(insulation)),
                ];
                if ground {
                    table.push((String::from("is_ground"), Written::Flag(true)));
                }
                Written::Table(table)
            };
            let trade = self.length(self.practice(1, 25) * 3 / 4 / 100_000 * 100_000);
            let trade = if self.step() == 10_000_000 { trade } else { Written::text("3/4 in") };
            let mut item = item
                .text("wiring_method", "EMT")
                .with("trade_size", trade)
                .with("length", length)
                .with("conductor", Written::List(vec![strands(conductors, false), strands(1, true)]));
            if wet {
                item = item.with("wet", Written::Flag(true));
            }
            self.push(item);
            return;
        }
        let make = Conductor::of(size).map(|conductor| match conductor.gauge() {
            Some(gauge) if conductor.print().ends_with("AWG") && gauge > 0 => format!("{gauge}/{conductors}"),
            _ => format!("{}/{conductors}", conductor.print()),
        });
        let Some(make) = make else { return };
        let mut item = Proposed::new("cable", id, why).text("make", make).text("circuit", circuit);
        let ambient = self.has_list("nm.cables");
        item = match method {
            Method::Armored => item.text("wiring_method", "MC"),
            Method::SteelArmored => item.text("wiring_method", "AC"),
            // The last piece to a unit outdoors runs exposed: common practice, no source.
            _ if wet && ambient => item.text("wiring_method", "MC").text("route", "exposed"),
            _ if ambient => item.unless("wiring_method", Written::text("NM"), &["wiring_method"]),
            _ => item,
        };
        if conductors == 2 && self.is_two_pole(circuit) {
            item = item.with("white_is_hot", Written::Flag(true));
        }
        if field(&item, "route").is_none() {
            item = item.unless("route", Written::text("bored_holes"), &["route"]);
        }
        item = item
            .unless("material", Written::text("copper"), &["material"])
            .with("length", length)
            .with("from", self.end(start, from.is_none(), method))
            .with("to", self.end(&to.id, to.appliance, method));
        self.push(item);
    }

    /// Returns one end of a cable, with how it is held.
    fn end(&self, at: &str, no_box: bool, method: Method) -> Written {
        let wanted = self.choices.set.keys().any(|(_, key)| *key == "entry");
        let entry = if no_box || wanted || method != Method::Cable { "connector" } else { "internal_clamp" };
        Written::Table(vec![(String::from("at"), Written::text(at)), (String::from("entry"), Written::text(entry))])
    }
}
