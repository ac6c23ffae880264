//! The take-off: what the job needs from the supply house, by room and in total.

use std::collections::BTreeMap;

use super::Desk;
use super::desk::WHOLE;
use super::makeup::make_ups;
use super::panel::breakers_of;
use super::runs::RunLength;
use crate::calc::{Code, Datum, Match};
use crate::model::ItemIndex;
use crate::model::kinds::{
    cable, cable_end, circuit, device, feeder, hole, luminaire, outlet_box, panel, raceway, raceway_conductor, room,
};
use crate::quantity::{Dimension, Quantity, UnitSystem};

use super::figure::Figure;

/// Groups of the list, in its order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Cable by kind and length.
    Cable,
    /// Raceways and the conductors in them.
    Raceway,
    /// Boxes.
    Boxes,
    /// Extension and plaster rings.
    Rings,
    /// Switches, receptacles, controls and alarms.
    Devices,
    /// Luminaires and fans.
    Luminaires,
    /// Plates and covers.
    Plates,
    /// Cable connectors by the cable that they hold, wire connectors by size.
    Connectors,
    /// Staples and nail plates.
    Fastenings,
    /// Panels and breakers.
    Breakers,
}

impl Group {
    /// All groups with their headings.
    pub const ALL: [(Group, &'static str); 10] = [
        (Group::Cable, "Cable"),
        (Group::Raceway, "Raceway"),
        (Group::Boxes, "Boxes"),
        (Group::Rings, "Rings"),
        (Group::Devices, "Devices"),
        (Group::Luminaires, "Luminaires"),
        (Group::Plates, "Plates and covers"),
        (Group::Connectors, "Connectors"),
        (Group::Fastenings, "Fastenings"),
        (Group::Breakers, "Panels and breakers"),
    ];

    /// Returns the heading.
    pub fn heading(self) -> &'static str {
        Group::ALL.iter().find(|(group, _)| *group == self).map_or("", |(_, heading)| heading)
    }
}

/// How much of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// So many.
    Count(i64),
    /// So long.
    Length(Quantity),
}

impl Amount {
    fn add(self, other: Amount) -> Amount {
        match (self, other) {
            (Amount::Count(a), Amount::Count(b)) => Amount::Count(a.saturating_add(b)),
            (Amount::Length(a), Amount::Length(b)) => Amount::Length(a.add(b).unwrap_or(a)),
            (a, _) => a,
        }
    }

    /// Returns the amount as people write it.
    pub fn print(self, units: UnitSystem) -> String {
        match self {
            Amount::Count(count) => count.to_string(),
            Amount::Length(length) => length.print(units),
        }
    }

    /// Returns the bare number and its unit for a spreadsheet: `152`, `ft`. Lengths are exact to the thousandth of the unit.
    pub fn cells(self, units: UnitSystem) -> (String, &'static str) {
        match self {
            Amount::Count(count) => (count.to_string(), "each"),
            Amount::Length(length) => {
                let (unit, name) = match units {
                    UnitSystem::Customary => (304_800_000_i64, "ft"),
                    UnitSystem::Metric => (1_000_000_000, "m"),
                };
                let thousandths =
                    (i128::from(length.amount()) * 1000 + i128::from(unit) / 2).div_euclid(i128::from(unit));
                let text = format!("{}.{:03}", thousandths / 1000, thousandths % 1000);
                (text.trim_end_matches('0').trim_end_matches('.').to_owned(), name)
            }
        }
    }
}

/// What one room needs of a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoomPart {
    /// Name of the room.
    pub room: String,
    /// How much.
    pub amount: Amount,
    /// Ids of the items that it is for.
    pub items: Vec<String>,
}

/// One line of the take-off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeOffLine {
    /// Its group.
    pub group: Group,
    /// The part.
    pub what: String,
    /// What each room needs, in the order of the rooms.
    pub rooms: Vec<RoomPart>,
    /// All rooms together.
    pub net: Amount,
    /// What to order: with waste, in whole feet or metres, for cable; as many as there are for the rest.
    pub order: Amount,
    /// Coils or lengths as they are sold, where the shop's book says how long one is.
    pub coils: Option<i64>,
}

/// The take-off of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeOff {
    /// Its lines, by group and part.
    pub lines: Vec<TakeOffLine>,
    /// The figures of the shop and the code that went into it.
    pub figures: Vec<Figure>,
    /// What could not be counted, and why.
    pub open: Vec<String>,
}

/// Returns the take-off of a job.
pub fn take_off(desk: &Desk<'_>) -> TakeOff {
    let mut count = Counting::new(desk);
    count.cables();
    count.raceways();
    count.feeders();
    count.boxes();
    count.connectors();
    count.plates();
    count.panels();
    count.finish()
}

/// The place of a room in the list; the whole dwelling comes last.
type RoomAt = usize;

/// What each room needs of one part, and the items that need it.
type ByRoom = BTreeMap<RoomAt, (Amount, Vec<String>)>;

struct Counting<'d, 'a> {
    desk: &'d Desk<'a>,
    slack_at_box: Figure,
    slack_at_panel: Figure,
    waste: Figure,
    sizes: BTreeMap<String, Quantity>,
    staple_every: Figure,
    parts: BTreeMap<(Group, String), ByRoom>,
    open: Vec<String>,
}

impl<'d, 'a> Counting<'d, 'a> {
    fn new(desk: &'d Desk<'a>) -> Counting<'d, 'a> {
        Counting {
            desk,
            slack_at_box: desk.figure("takeoff.slack_at_box"),
            slack_at_panel: desk.figure("takeoff.slack_at_panel"),
            waste: desk.figure("takeoff.waste"),
            sizes: BTreeMap::new(),
            staple_every: desk.figure("nm.secured_along_run"),
            parts: BTreeMap::new(),
            open: Vec::new(),
        }
    }

    fn add(&mut self, group: Group, what: String, at: Option<ItemIndex>, amount: Amount, item: &str) {
        let rooms = self.desk.items(room::NAME);
        let place = at.and_then(|at| rooms.iter().position(|&room| room == at)).unwrap_or(rooms.len());
        let part = self.parts.entry((group, what)).or_default();
        match part.get_mut(&place) {
            Some((sum, items)) => {
                *sum = sum.add(amount);
                items.push(item.to_owned());
            }
            None => {
                part.insert(place, (amount, vec![item.to_owned()]));
            }
        }
    }

    fn one(&mut self, group: Group, what: String, at: Option<ItemIndex>, item: ItemIndex) {
        let id = self.desk.job.id(item);
        self.add(group, what, at, Amount::Count(1), id);
    }

    fn cables(&mut self) {
        let desk = self.desk;
        let mut unknown: Vec<&str> = Vec::new();
        let mut reckoned: Vec<&str> = Vec::new();
        for item in new_items(desk, cable::NAME) {
            let id = desk.job.id(item);
            let at = desk.room_of_cable(item);
            let run = match desk.run_length(item) {
                RunLength::Recorded(length) => length,
                RunLength::AlongWalls(length) => {
                    reckoned.push(id);
                    length
                }
                RunLength::Unknown => {
                    unknown.push(id);
                    self.staples(item, None, at);
                    continue;
                }
            };
            let (panels, others) = desk.ends_of(item);
            let slack = |figure: &Figure| figure.amount(Dimension::Length).unwrap_or(0);
            let slack = panels
                .saturating_mul(slack(&self.slack_at_panel))
                .saturating_add(others.saturating_mul(slack(&self.slack_at_box)));
            let length = Quantity::new(Dimension::Length, run.amount().saturating_add(slack));
            let what = desk.cable_part(item);
            let method = desk.job.text(item, cable::WIRING_METHOD).unwrap_or_default();
            let coiled = (desk.book as &dyn Code).has_word("nm.cables", method) == Some(true);
            if let Some(size) = desk.job.quantity(item, cable::SIZE).filter(|_| coiled) {
                self.sizes.insert(what.clone(), size);
            }
            self.add(Group::Cable, what, at, Amount::Length(length), id);
            self.staples(item, Some(run), at);
        }
        if !reckoned.is_empty() {
            self.open.push(format!("length reckoned along the walls, not recorded: {}", reckoned.join(", ")));
        }
        if !unknown.is_empty() {
            self.open.push(format!("length not recorded, so not counted: {}", unknown.join(", ")));
        }
    }

    /// Staples: one at each end, and between them as often as the code in force asks, unless the route carries the cable.
    fn staples(&mut self, item: ItemIndex, run: Option<Quantity>, at: Option<ItemIndex>) {
        let desk = self.desk;
        let book: &dyn Code = desk.book;
        let method = desk.job.text(item, cable::WIRING_METHOD).unwrap_or_default();
        if book.has_word("nm.cables", method) != Some(true) {
            return;
        }
        let route = desk.job.text(item, cable::ROUTE);
        let carried = route.is_some_and(|route| book.has_word("nm.routes_without_staples", route) == Some(true));
        let ends = if matches!(route, Some("fished" | "in_raceway" | "underground")) { 0 } else { 2 };
        let between = match (carried, run, self.staple_every.quantity) {
            (true, ..) => 0,
            (false, Some(run), Some(every)) => run.parts_up(every).unwrap_or(0),
            _ => 0,
        };
        if ends + between > 0 {
            let id = desk.job.id(item);
            self.add(Group::Fastenings, String::from("staple for NM cable"), at, Amount::Count(ends + between), id);
        }
    }

    fn raceways(&mut self) {
        let desk = self.desk;
        for item in new_items(desk, raceway::NAME) {
            let id = desk.job.id(item);
            let ends = [raceway::TO, raceway::FROM];
            let at = ends.iter().find_map(|&end| desk.room_of(desk.job.find(desk.job.text(item, end)?)?));
            let Some(length) = desk.job.quantity(item, raceway::LENGTH) else {
                self.open.push(format!("length not recorded, so not counted: raceway {id} and its conductors"));
                continue;
            };
            let part = desk.raceway_part(item);
            self.add(Group::Raceway, part.clone(), at, Amount::Length(length), id);
            self.add(Group::Connectors, format!("connector for {part}"), at, Amount::Count(2), id);
            self.straps(item, &part, length, at);
            let slack: i64 = ends.iter().map(|&end| self.slack_at(desk.job.text(item, end))).sum();
            for conductor in desk.job.links(item, raceway::CONDUCTORS).filter(|&it| !desk.job.is_existing(it)) {
                let count = desk.count(conductor, raceway_conductor::COUNT).unwrap_or(1);
                let all = length.amount().saturating_add(slack).saturating_mul(count);
                let all = Quantity::new(Dimension::Length, all);
                self.add(Group::Raceway, desk.conductor_part(conductor), at, Amount::Length(all), id);
            }
        }
    }

    /// Feeders that are written with their own conductors, not as cables of the job or as conductors in its raceways.
    fn feeders(&mut self) {
        let desk = self.desk;
        for &item in desk.items(feeder::NAME) {
            let id = desk.job.id(item);
            let parts = desk.feeder_parts(item);
            if desk.job.quantity(item, feeder::SIZE).is_some() && desk.count(item, feeder::WIRES).is_none() {
                self.open.push(format!("number of wires not recorded: feeder {id}"));
            }
            let at = desk.job.link(item, feeder::TO).and_then(|panel| desk.room_of(panel));
            match desk.job.quantity(item, feeder::LENGTH) {
                Some(length) => {
                    let slack = self.slack_at_panel.amount(Dimension::Length).unwrap_or(0).saturating_mul(2);
                    for part in parts {
                        let all = length.amount().saturating_add(slack).saturating_mul(part.count);
                        let all = Quantity::new(Dimension::Length, all);
                        self.add(part.group, part.what, at, Amount::Length(all), id);
                    }
                }
                None if parts.is_empty() => {}
                None => self.open.push(format!("length not recorded, so not counted: feeder {id}")),
            }
        }
    }

    /// What a conductor is longer by at the end that has this id: more at a panel than at a box.
    fn slack_at(&self, end: Option<&str>) -> i64 {
        let desk = self.desk;
        let at_panel = end.and_then(|id| desk.job.find(id)).is_some_and(|end| desk.items(panel::NAME).contains(&end));
        let figure = if at_panel { &self.slack_at_panel } else { &self.slack_at_box };
        figure.amount(Dimension::Length).unwrap_or(0)
    }

    /// Straps of a raceway: one at each end, and between them as often as the code in force asks for its kind.
    fn straps(&mut self, item: ItemIndex, part: &str, length: Quantity, at: Option<ItemIndex>) {
        let desk = self.desk;
        let book: &dyn Code = desk.book;
        let kind = desk.job.text(item, raceway::WIRING_METHOD).unwrap_or_default();
        let every = book.row_of("tubing.secured_along_run", kind, Dimension::Length).ok().flatten();
        let between =
            every.and_then(|every| length.parts_up(every.quantity).ok()).map_or(0, |parts| (parts - 1).max(0));
        self.add(Group::Fastenings, format!("strap for {part}"), at, Amount::Count(2 + between), desk.job.id(item));
    }

    fn boxes(&mut self) {
        let desk = self.desk;
        for item in new_items(desk, outlet_box::NAME) {
            let at = desk.room_of(item);
            self.one(Group::Boxes, desk.box_part(item), at, item);
            if let Some(volume) = desk.job.quantity(item, outlet_box::RING_VOLUME) {
                self.one(Group::Rings, format!("ring, {}", desk.print(volume)), at, item);
            }
            if let Some(plate) = desk.plate_part(item) {
                self.one(Group::Plates, plate, at, item);
            }
        }
        for item in new_items(desk, device::NAME) {
            self.one(Group::Devices, desk.device_part(item), desk.room_of(item), item);
        }
        for item in new_items(desk, luminaire::NAME) {
            self.one(Group::Luminaires, desk.luminaire_part(item), desk.room_of(item), item);
        }
    }

    /// Connectors at cable entries, and wire connectors of the splices that the make-up sheets have.
    fn connectors(&mut self) {
        let desk = self.desk;
        for item in new_items(desk, cable_end::NAME) {
            if desk.job.text(item, cable_end::ENTRY) == Some("connector")
                && let Some(cable) = desk.job.link(item, cable_end::CABLE)
            {
                let method = desk.job.text(cable, cable::WIRING_METHOD).unwrap_or("cable");
                let make = desk.job.text(cable, cable::KEY_MAKE).unwrap_or("(make not recorded)");
                let at = desk.room_of(item);
                let id = desk.job.id(cable);
                self.add(Group::Connectors, format!("connector for {method} {make}"), at, Amount::Count(1), id);
            }
        }
        for one in make_ups(desk, &[]).into_iter().filter(|one| !desk.job.is_existing(one.sheet.item)) {
            let at = desk.room_of(one.sheet.item);
            for splice in &one.sheet.splices {
                let size =
                    splice.sizes.first().map_or_else(String::new, |&(_, size)| format!(" of {}", desk.print(size)));
                let what = match &splice.connector {
                    Some(connector) => format!("wire connector, {connector}"),
                    None => format!("wire connector for {} conductors{size}", splice.count),
                };
                self.add(Group::Connectors, what, at, Amount::Count(1), &one.sheet.id);
            }
        }
    }

    /// Plates over holes that are too near an edge.
    fn plates(&mut self) {
        let desk = self.desk;
        let limit = desk.figure("hole.edge_distance").amount(Dimension::Length);
        let mut unmeasured = 0;
        for item in new_items(desk, hole::NAME) {
            let edge = desk.job.quantity(item, hole::EDGE_DISTANCE).map(Quantity::amount);
            let near = match (edge, limit) {
                (Some(edge), Some(limit)) => Some(edge < limit),
                _ => None,
            };
            let plated = desk.job.flag(item, hole::PLATE) == Some(true);
            if plated || near == Some(true) {
                let at = desk.job.link(item, hole::CABLE).and_then(|cable| desk.room_of_cable(cable));
                self.one(Group::Fastenings, String::from("nail plate"), at, item);
            } else if near.is_none() {
                unmeasured += 1;
            }
        }
        if unmeasured > 0 {
            self.open.push(format!(
                "nail plates: {unmeasured} bored holes without a measured edge distance are not counted"
            ));
        }
    }

    fn panels(&mut self) {
        let desk = self.desk;
        for item in new_items(desk, panel::NAME) {
            let at = desk.room_of(item);
            let rating = desk.job.quantity(item, panel::RATING).map(|rating| desk.print(rating)).unwrap_or_default();
            let spaces = desk.count(item, panel::SPACES).map(|count| format!(", {count} spaces")).unwrap_or_default();
            let main = desk.job.quantity(item, panel::MAIN).map(|main| format!(", main {}", desk.print(main)));
            let rating = if rating.is_empty() { rating } else { format!(", {rating}") };
            let what = format!("panel{rating}{spaces}{}", main.unwrap_or_default());
            self.one(Group::Breakers, what, at, item);
        }
        for &item in desk.items(panel::NAME) {
            let at = desk.room_of(item);
            for breaker in breakers_of(desk, item) {
                let parts = desk.breaker_parts(&breaker);
                for (what, circuit) in parts.into_iter().filter(|(_, circuit)| !desk.job.is_existing(*circuit)) {
                    self.one(Group::Breakers, what, at, circuit);
                }
            }
        }
        let loose = new_items(desk, circuit::NAME).filter(|&it| desk.job.link(it, circuit::PANEL).is_none());
        for item in loose {
            self.one(Group::Breakers, desk.breaker_part(item), None, item);
        }
    }

    fn finish(mut self) -> TakeOff {
        let desk = self.desk;
        let rooms = desk.items(room::NAME);
        let waste = self.waste.amount(Dimension::Ratio).unwrap_or(0);
        let (sizes, parts) = (std::mem::take(&mut self.sizes), std::mem::take(&mut self.parts));
        let coil = |what: &str| coil(desk, *sizes.get(what)?);
        let line = |((group, what), by_room): ((Group, String), ByRoom)| {
            let mut net: Option<Amount> = None;
            let list: Vec<RoomPart> = by_room
                .into_iter()
                .map(|(at, (amount, items))| {
                    net = Some(net.map_or(amount, |sum| sum.add(amount)));
                    let room = rooms.get(at).map_or_else(|| WHOLE.to_owned(), |&room| desk.room_name(room));
                    RoomPart { room, amount, items }
                })
                .collect();
            let net = net.unwrap_or(Amount::Count(0));
            let order =
                if matches!(group, Group::Cable | Group::Raceway) { with_waste(net, waste, desk.units) } else { net };
            let coils = match (group, order) {
                (Group::Cable, Amount::Length(length)) => coil(&what).and_then(|coil| length.parts_up(coil).ok()),
                _ => None,
            };
            TakeOffLine { group, what, rooms: list, net, order, coils }
        };
        let lines: Vec<TakeOffLine> = parts.into_iter().map(line).collect();
        let lacks = [
            self.slack_at_box.lack("slack at a box is not counted"),
            self.slack_at_panel.lack("slack at a panel is not counted"),
            self.waste.lack("waste is not added"),
            self.staple_every.lack("staples along runs are not counted"),
        ];
        let mut open: Vec<String> = lacks.into_iter().flatten().collect();
        open.append(&mut self.open);
        open.extend(left_as_they_are(desk));
        let figures = [self.slack_at_box, self.slack_at_panel, self.waste, self.staple_every];
        TakeOff { lines, figures: figures.into_iter().filter(|figure| figure.text.is_some()).collect(), open }
    }
}

/// Returns the items of a kind that are new work: nothing is ordered for what is there already.
fn new_items<'d>(desk: &'d Desk<'_>, kind: &str) -> impl Iterator<Item = ItemIndex> + 'd {
    desk.items(kind).iter().copied().filter(|&item| !desk.job.is_existing(item))
}

/// Says how much existing work is left out, by kind.
fn left_as_they_are(desk: &Desk<'_>) -> Option<String> {
    let kinds =
        [panel::NAME, circuit::NAME, outlet_box::NAME, device::NAME, luminaire::NAME, cable::NAME, raceway::NAME];
    let parts: Vec<String> = kinds
        .into_iter()
        .filter_map(|kind| {
            let ids: Vec<&str> =
                desk.items(kind).iter().filter(|&&it| desk.job.is_existing(it)).map(|&it| desk.job.id(it)).collect();
            (!ids.is_empty()).then(|| format!("{kind} {}", ids.join(", ")))
        })
        .collect();
    (!parts.is_empty()).then(|| format!("existing, so not counted: {}", parts.join("; ")))
}

/// Returns the length of a coil of cable with conductors of a size, as the shop buys it.
fn coil(desk: &Desk<'_>, size: Quantity) -> Option<Quantity> {
    let book: &dyn Code = desk.book;
    match book.row("takeoff.coil", Datum::Quantity(size), Match::Exact)??.datum {
        Datum::Quantity(coil) => Some(coil),
        _ => None,
    }
}

/// Adds waste to a length and rounds it up to whole feet or metres.
fn with_waste(net: Amount, waste: i64, units: UnitSystem) -> Amount {
    let Amount::Length(length) = net else { return net };
    let one = 1_000_000_000_i128;
    let all = i128::from(length.amount()) * (one + i128::from(waste)) / one;
    let unit: i128 = match units {
        UnitSystem::Customary => 304_800_000,
        UnitSystem::Metric => one,
    };
    let rounded = (all + unit - 1).div_euclid(unit) * unit;
    Amount::Length(i64::try_from(rounded).map_or(length, |amount| Quantity::new(Dimension::Length, amount)))
}
