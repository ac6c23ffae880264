//! Panel and circuits: those the code requires, and as many more as the outlets take.

use super::Unproposed;
use super::draft::{Draft, Feed};
use super::item::{Proposed, Written};
use super::only::Part;
use crate::calc::Datum;
use crate::model::kinds::{appliance, circuit, panel, site};
use crate::model::{FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity};

/// Outlets on a circuit where no book sets a number: common practice, no source.
const OUTLETS_BY_HABIT: usize = 10;

/// Where the code keeps the rating of circuits for a purpose.
fn rating_keys(serves: &str) -> &'static [&'static str] {
    match serves {
        "small_appliance" => &["circuit.small_appliance_rating", "circuits.small_appliance_rating"],
        "laundry" => &["circuit.laundry_rating", "circuits.laundry_rating"],
        "bathroom" => &["circuit.bathroom_rating"],
        "garage" => &["circuit.garage_rating"],
        _ => &["circuits.lighting_small"],
    }
}

/// A circuit that is to be added.
pub(super) struct NewCircuit<'s> {
    pub(super) serves: &'s str,
    pub(super) what: String,
    pub(super) cite: Option<String>,
    pub(super) rating: Option<Quantity>,
    pub(super) voltage: Option<Quantity>,
    pub(super) poles: i64,
    pub(super) carries: Option<Quantity>,
    /// Beginning of its line in the directory; the circuit's number is added.
    pub(super) label: String,
}

impl Draft<'_> {
    pub(super) fn written_feeds(&self) -> Vec<Feed> {
        let of = |&item: &_| Feed {
            id: self.job.id(item).to_owned(),
            serves: self.job.text(item, circuit::SERVES).unwrap_or("dedicated").to_owned(),
            outlets: self.job.links(item, circuit::DEVICES).count() + self.job.links(item, circuit::LUMINAIRES).count(),
            rating: self.job.quantity(item, circuit::RATING),
            carries: None,
        };
        // Existing circuits are left as they are: nothing new is put on them.
        self.of(circuit::NAME).iter().filter(|&&item| !self.job.is_existing(item)).map(of).collect()
    }

    /// Returns the rating of a circuit for a purpose, with its citation.
    fn rating(&self, serves: &str) -> Option<(Quantity, Option<String>)> {
        for key in rating_keys(serves) {
            if let Some(rating) = self.value(key, Dimension::Current) {
                return Some((rating, self.cite(key)));
            }
        }
        let general = "circuit.general_ratings";
        let largest = serves == "outdoors";
        if let Some(rating) = self.in_list(general, Dimension::Current, largest) {
            return Some((rating, self.cite(general)));
        }
        // Standard final circuits by rating: lights on the smallest, sockets on the smallest that has an area.
        let table = if serves == "lighting" { "circuits.standard_sizes" } else { "circuits.area_by_rating" };
        let rows = self.book.rows(table)?;
        rows.into_iter().find_map(|(key, clause)| match key {
            Datum::Quantity(rating) => Some((rating, Some(clause.cite.to_owned()))),
            _ => None,
        })
    }

    /// Returns the most outlets that a circuit for a purpose takes.
    fn most(&self, serves: &str) -> usize {
        let habit = self.count(&["make_up.outlets_per_circuit"]).unwrap_or(OUTLETS_BY_HABIT);
        self.choices.outlets.get(serves).copied().unwrap_or(habit)
    }

    /// Proposes the panel and the circuits that the code requires.
    pub(super) fn required_circuits(&mut self) {
        if !self.only.asks(Part::Circuits) {
            return;
        }
        let washers = self
            .of(appliance::NAME)
            .iter()
            .filter(|&&item| !self.job.is_existing(item))
            .any(|&item| self.job.text(item, appliance::KIND).is_some_and(|kind| kind == "clothes_washer"));
        let kinds: Vec<&str> = self.rooms().iter().map(|&room| self.room_kind(room)).collect();
        let any = |list: &str, else_kind: &str| {
            kinds.iter().any(|kind| if self.has_list(list) { self.lists(list, kind) } else { *kind == else_kind })
        };
        let small = self.count(&["circuit.small_appliance_count", "circuits.small_appliance_number"]).unwrap_or(0);
        let small = if kinds.contains(&"kitchen")
            || self.value("circuits.small_appliance_number", Dimension::Number).is_some()
        {
            small
        } else {
            0
        };
        let one = |wanted: bool, serves: &'static str| usize::from(wanted && self.rating_is_set(serves));
        let wanted = [
            ("small_appliance", small, "the counters and tables of kitchen and dining"),
            ("laundry", one(any("circuit.laundry_rooms", "laundry") || washers, "laundry"), "the laundry"),
            ("bathroom", one(any("places.bath", "bathroom"), "bathroom"), "the bathroom receptacles"),
            ("garage", one(any("places.garage", "garage"), "garage"), "the garage receptacles"),
        ];
        for (serves, number, what) in wanted {
            let there = self.feeds.iter().filter(|feed| feed.serves == serves).count();
            for _ in there..number {
                self.new_circuit(serves, what);
            }
        }
    }

    pub(super) fn rating_is_set(&self, serves: &str) -> bool {
        rating_keys(serves).iter().any(|key| self.book.scalar(key).is_some())
    }

    /// Returns the circuit for one more outlet, a new one where those there are full. Nothing where circuits are not asked for and
    /// none fits.
    pub(super) fn feed(&mut self, serves: &str, unlike: Option<&str>) -> Option<String> {
        let serves = if matches!(serves, "general" | "lighting" | "outdoors") || self.rating_is_set(serves) {
            serves
        } else {
            "general"
        };
        let most = self.most(serves);
        let fits = |feed: &&mut Feed| feed.serves == serves && feed.outlets < most;
        let spread = serves == "small_appliance";
        let found = if spread {
            let other = |feed: &&mut Feed| unlike != Some(feed.id.as_str());
            self.feeds.iter_mut().filter(fits).filter(other).min_by_key(|feed| feed.outlets)
        } else {
            self.feeds.iter_mut().find(fits)
        };
        if let Some(feed) = found {
            feed.outlets += 1;
            return Some(feed.id.clone());
        }
        if !self.only.asks(Part::Circuits) {
            return None;
        }
        let what = match serves {
            "lighting" => "lights, so that a tripped receptacle circuit leaves them on",
            "outdoors" => "outdoor receptacles",
            "general" => "general receptacles",
            _ => "further outlets of this kind",
        };
        let id = self.new_circuit(serves, what);
        if let Some(feed) = self.feeds.iter_mut().find(|feed| feed.id == id) {
            feed.outlets += 1;
        }
        Some(id)
    }

    /// Returns whether circuits of a purpose exist.
    pub(super) fn feed_of(&self, id: &str) -> Option<&Feed> {
        self.feeds.iter().find(|feed| feed.id == id)
    }

    fn new_circuit(&mut self, serves: &str, what: &str) -> String {
        let rating = self.rating(serves);
        let cite = rating.as_ref().and_then(|(_, cite)| cite.clone());
        let new = NewCircuit {
            serves,
            what: what.to_owned(),
            cite,
            rating: rating.map(|(rating, _)| rating),
            voltage: self.voltage(),
            poles: 1,
            carries: None,
            label: words(serves).to_owned(),
        };
        self.add_circuit(new)
    }

    /// Adds a circuit at the first free positions of the panel; its id is the first of them.
    pub(super) fn add_circuit(&mut self, new: NewCircuit<'_>) -> String {
        let taken: Vec<i64> = self
            .of(circuit::NAME)
            .iter()
            .flat_map(|&item| self.positions(item))
            .chain(self.of(circuit::NAME).iter().filter_map(|&item| self.job.id(item).parse().ok()))
            .chain(self.positions.iter().copied())
            .collect();
        // Positions count down both sides of a panel: the next one on the same side is on the other leg.
        let of = |first: i64| (0..new.poles).map(move |pole| first + 2 * pole);
        let old_panel = self.of(panel::NAME).first().copied().filter(|&panel| self.job.is_existing(panel));
        let free = old_panel.map(|panel| self.numbers(panel, panel::FREE_POSITIONS));
        let is_free = |at: i64| free.as_ref().is_none_or(|free| free.contains(&at));
        let last = free.as_ref().map_or(i64::MAX, |free| free.iter().copied().max().unwrap_or(0));
        let mut found = None;
        let mut position = 1;
        while found.is_none() && position <= last {
            let fits = of(position).all(|at| is_free(at) && !taken.contains(&at));
            found = (fits && self.take(&position.to_string())).then_some(position);
            position += 1;
        }
        let (id, positions) = match found {
            Some(position) => (position.to_string(), of(position).collect()),
            None => (self.fresh("new"), Vec::new()),
        };
        self.positions.extend(positions.iter().copied());
        let mut item = Proposed::new("circuit", &id, new.what).cited(new.cite);
        if positions.is_empty() {
            self.without_position(&id, old_panel);
        } else {
            item = item.with("positions", Written::List(positions.into_iter().map(Written::Number).collect()));
        }
        // With a single panel it need not be written.
        if let [first, _, ..] = self.of(panel::NAME) {
            item = item.text("panel", self.job.id(*first));
        }
        if let Some(rating) = new.rating {
            item = item.text("rating", self.shown(rating));
        }
        if new.poles > 1 {
            item = item.with("poles", Written::Number(new.poles));
        }
        if let Some(voltage) = new.voltage {
            // A default of the job stands for the circuits of one pole.
            let unless: &'static [&'static str] = if new.poles > 1 { &[] } else { &["voltage"] };
            item = item.unless("voltage", Written::Text(self.shown(voltage)), unless);
        }
        item = item.text("serves", new.serves).text("label", format!("{}, circuit {id}", new.label));
        self.push(item);
        self.feeds.push(Feed {
            id: id.clone(),
            serves: new.serves.to_owned(),
            outlets: 0,
            rating: new.rating,
            carries: new.carries,
        });
        id
    }

    /// Says that there is no place for a circuit in an existing panel, or that nobody wrote which there are.
    fn without_position(&mut self, circuit: &str, panel: Option<ItemIndex>) {
        let Some(panel) = panel else { return };
        let id = self.job.id(panel);
        let known = !self.job.cell(panel, panel::FREE_POSITIONS).is_missing();
        let (why, fix) = match known {
            true => (
                format!("no position: panel {id} has no free ones left that fit"),
                String::from("make room in the panel, or plan a sub-panel"),
            ),
            false => (
                format!("no position: nobody wrote which ones are free in panel {id}"),
                format!("write `free_positions = [20, 22]` of panel {id}, and propose again"),
            ),
        };
        let (item, kind) = (circuit.to_owned(), String::from("circuit"));
        self.unproposed.push(Unproposed { item, kind, why, fix: Some(fix) });
    }

    fn positions(&self, item: ItemIndex) -> Vec<i64> {
        self.numbers(item, circuit::POSITIONS)
    }

    /// Returns the whole numbers in a list of an item.
    fn numbers(&self, item: ItemIndex, field: FieldId) -> Vec<i64> {
        let cell = self.job.cell(item, field);
        if cell.is_missing() {
            return Vec::new();
        }
        self.job
            .list(cell.to_list())
            .iter()
            .map(|cell| cell.to_quantity(Dimension::Number).amount() / 1_000_000_000)
            .collect()
    }

    pub(super) fn voltage(&self) -> Option<Quantity> {
        let written = self.ctx.site().and_then(|site| self.job.quantity(site, site::LINE_TO_NEUTRAL));
        written.or_else(|| {
            self.first_value(
                &["afci.voltage", "gfci.voltage", "circuits.lighting_voltage", "circuits.nominal_voltage"],
                Dimension::Voltage,
            )
        })
    }

    /// Proposes a panel where there is none, with spaces for the circuits and the spare ones of the shop.
    pub(super) fn panel(&mut self) {
        if !self.only.asks(Part::Circuits) || !self.of(panel::NAME).is_empty() {
            return;
        }
        let mut id = String::from("P1");
        if !self.take(&id) {
            id = self.fresh("P");
        }
        let stands = self.panel_room();
        let spare = self.count(&["make_up.spare_spaces"]).unwrap_or(0);
        // Panels come with an even number of spaces, hardly any with fewer than twelve; half as many again as are used are kept for
        // loads to come: common practice, no source.
        let spaces = (self.positions.len() * 3 / 2 + spare).next_multiple_of(2).max(12);
        let mut item = Proposed::new("panel", id, "no panel is written; its rating goes by the load calculation")
            .with("spaces", Written::Number(i64::try_from(spaces).unwrap_or(0)));
        if let Some(room) = stands {
            item = item.text("room", self.job.id(room));
        }
        self.push(item);
    }

    /// Returns the room in which a proposed panel stands.
    pub(super) fn panel_room(&self) -> Option<ItemIndex> {
        let house = ["utility", "laundry", "garage", "basement", "storage", "hallway"];
        house.iter().find_map(|kind| self.all_rooms().iter().copied().find(|&room| self.room_kind(room) == *kind))
    }

    /// Writes into proposed circuits which rooms they feed, and the floor area of these where the code bounds it.
    pub(super) fn label_circuits(&mut self) {
        let rooms_of = |id: &str, items: &[Proposed]| {
            let mut rooms: Vec<String> = Vec::new();
            for item in items.iter().filter(|item| super::choices::field(item, "circuit") == Some(id)) {
                let in_box = super::choices::field(item, "box");
                let room = items
                    .iter()
                    .find(|other| other.kind == "box" && Some(other.id.as_str()) == in_box)
                    .and_then(|found| super::choices::field(found, "room"));
                if let Some(room) = room
                    && !rooms.iter().any(|known| known == room)
                {
                    rooms.push(room.to_owned());
                }
            }
            rooms
        };
        let bounded = self.has_table("circuits.area_by_rating");
        let areas: Vec<Option<Quantity>> = self
            .items
            .iter()
            .map(|item| {
                let is_own = item.kind == "circuit" && super::choices::field(item, "serves") != Some("dedicated");
                let sockets = |other: &&Proposed| {
                    super::choices::field(other, "kind") == Some("receptacle")
                        && super::choices::field(other, "circuit") == Some(&item.id)
                };
                let served = bounded && is_own && self.items.iter().any(|other| sockets(&other));
                let rooms = served.then(|| rooms_of(&item.id, &self.items))?;
                let outline = |id: &String| self.job.find(id).and_then(|room| self.outline(room));
                let areas: Option<Vec<i64>> = rooms.iter().map(|id| Some(outline(id)?.area)).collect();
                Some(Quantity::new(Dimension::Area, areas?.iter().sum()))
            })
            .collect();
        let labels: Vec<Option<String>> = self
            .items
            .iter()
            .map(|item| {
                let serves = super::choices::field(item, "serves")
                    .filter(|serves| item.kind == "circuit" && *serves != "dedicated")?;
                let rooms: Vec<String> = rooms_of(&item.id, &self.items)
                    .iter()
                    .map(|id| self.job.find(id).map_or_else(|| id.clone(), |room| self.room_name(room)))
                    .collect();
                (!rooms.is_empty()).then(|| format!("{}, circuit {}: {}", words(serves), item.id, rooms.join(", ")))
            })
            .collect();
        let units = self.units;
        for ((item, label), area) in self.items.iter_mut().zip(labels).zip(areas) {
            if let Some(label) = label {
                item.put("label", Written::Text(label));
            }
            if let Some(area) = area {
                item.put("area_served", Written::Text(area.exact(units)));
            }
        }
    }
}

fn words(serves: &str) -> &'static str {
    match serves {
        "lighting" => "Lights",
        "small_appliance" => "Small appliances",
        "laundry" => "Laundry",
        "bathroom" => "Bathroom receptacles",
        "garage" => "Garage receptacles",
        "outdoors" => "Outdoor receptacles",
        _ => "Receptacles",
    }
}
