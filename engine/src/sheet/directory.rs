//! The circuit directory: what stands in the door of each panel, with breaker, wire, protection and load by leg.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::Desk;
use super::desk::words;
use crate::calc::{leg_loads, stated_load};
use crate::model::kinds::{appliance, cable, circuit, device, feeder, panel};
use crate::model::{Cell, FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity};

/// One position of a panel.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Slot {
    /// Its number.
    pub position: i64,
    /// The circuit on it.
    pub circuit: Option<String>,
    /// What stands in the directory: as written, or proposed from what the circuit feeds.
    pub label: String,
    /// Whether the label is proposed, since the job file has none.
    pub proposed: bool,
    /// Whether this is a further pole of the circuit on an earlier position.
    pub further_pole: bool,
    /// Breaker: `20 A, 1-pole`.
    pub breaker: String,
    /// Protection by the breaker: `AFCI GFCI`.
    pub protection: String,
    /// Cables from the panel: `12/2`.
    pub wire: String,
    /// Rooms that it serves.
    pub rooms: Vec<String>,
    /// Configurations of its receptacles, other than those of general use: `14-50R`.
    pub outlets: Vec<String>,
    /// Leg of the bus, 1 or 2.
    pub leg: Option<i64>,
    /// Load that the job states for it.
    pub load: Option<Quantity>,
    /// What else is on the position: the other half of a tandem breaker, other parts of a quad breaker.
    pub beside: Vec<Slot>,
}

impl Slot {
    /// Returns the slot and what is beside it.
    pub fn all(&self) -> impl Iterator<Item = &Slot> {
        std::iter::once(self).chain(&self.beside)
    }
}

/// Load on one leg of a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LegLoad {
    /// The leg, 1 or 2.
    pub leg: i64,
    /// Stated load of what is on it; two-pole circuits count half on each.
    pub load: Quantity,
}

/// The directory of a panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Directory {
    /// Id of the panel.
    pub panel: String,
    /// Room it stands in.
    pub room: String,
    /// Rating of the bus, and of the main breaker.
    pub rating: String,
    /// The panel that feeds it.
    pub fed_by: Option<String>,
    /// All positions in order: odd ones in the left column, even ones in the right.
    pub slots: Vec<Slot>,
    /// Circuits without a recorded position.
    pub unplaced: Vec<Slot>,
    /// Stated load by leg.
    pub legs: [LegLoad; 2],
    /// Difference of the legs as a share of the larger.
    pub imbalance: Option<Quantity>,
    /// What to put right before the card goes into the door.
    pub remarks: Vec<String>,
}

/// Returns the directories of all panels that feed circuits.
pub fn directories(desk: &Desk<'_>) -> Vec<Directory> {
    let panels = desk.items(panel::NAME).iter().copied();
    panels
        .filter(|&panel| desk.job.links(panel, panel::CIRCUITS).next().is_some())
        .map(|panel| of(desk, panel))
        .collect()
}

fn of(desk: &Desk<'_>, item: ItemIndex) -> Directory {
    let job = desk.job;
    let mut placed: BTreeMap<i64, Slot> = BTreeMap::new();
    let mut unplaced = Vec::new();
    let mut remarks = Vec::new();
    let mut labels: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut unloaded: Vec<String> = Vec::new();
    for circuit in job.links(item, panel::CIRCUITS) {
        let slot = slot(desk, circuit);
        let id = job.id(circuit).to_owned();
        let spare = job.text(circuit, circuit::SERVES) == Some("spare");
        if slot.proposed && !spare {
            remarks.push(format!("circuit {id} has no label yet; the one shown is proposed from what it feeds"));
        }
        if !spare {
            labels.entry(slot.label.to_lowercase()).or_default().push(id.clone());
        }
        let positions = positions(desk, circuit);
        let poles = desk.count(circuit, circuit::POLES).unwrap_or(1);
        if !positions.is_empty() && i64::try_from(positions.len()) != Ok(poles) {
            remarks.push(format!("circuit {id} has {poles} poles but {} positions", positions.len()));
        }
        if slot.load.is_none() && !spare {
            unloaded.push(id.clone());
        }
        let Some(first) = positions.first().copied() else {
            unplaced.push(slot);
            continue;
        };
        for at in positions {
            let further_pole = at != first;
            let slot = Slot { position: at, further_pole, ..slot.clone() };
            match placed.entry(at) {
                Entry::Vacant(free) => _ = free.insert(slot),
                Entry::Occupied(mut taken) => {
                    let other = taken.get().circuit.clone().unwrap_or_default();
                    let shares = |id: &str| job.find(id).is_some_and(|it| shares_space(desk, it));
                    if !shares(&other) || !shares(&id) {
                        remarks.push(format!("position {at} is taken by circuits {other} and {id}"));
                    }
                    taken.get_mut().beside.push(slot);
                }
            }
        }
    }
    for (label, ids) in labels.iter().filter(|(_, ids)| ids.len() > 1) {
        remarks.push(format!("circuits {} have the same label `{label}`: each needs its own", ids.join(", ")));
    }
    if !unplaced.is_empty() {
        remarks.push(String::from("circuits without a recorded position stand below the positions"));
    }
    if !unloaded.is_empty() {
        remarks.push(format!("no load is stated for circuits {}: the legs leave them out", unloaded.join(", ")));
    }
    let last = desk.count(item, panel::SPACES).unwrap_or(0).max(placed.keys().last().copied().unwrap_or(0));
    let free: Vec<i64> = numbers(desk, item, panel::FREE_POSITIONS);
    let slots = (1..=last.min(200))
        .map(|at| {
            let label = if job.is_existing(item) && !free.contains(&at) { "existing, not in the job" } else { "open" };
            placed.remove(&at).unwrap_or_else(|| Slot { position: at, label: String::from(label), ..Slot::default() })
        })
        .collect();
    let legs = leg_loads(&desk.ctx, item);
    let [first, second] = legs;
    Directory {
        panel: job.id(item).to_owned(),
        room: desk.place_name(item),
        rating: rating(desk, item),
        fed_by: job.link(item, panel::FED_BY).map(|panel| job.id(panel).to_owned()),
        slots,
        unplaced,
        imbalance: imbalance(legs.map(Quantity::amount)),
        legs: [LegLoad { leg: 1, load: first }, LegLoad { leg: 2, load: second }],
        remarks,
    }
}

impl Desk<'_> {
    /// Returns the feeder that starts from the breaker of a circuit.
    fn feeder_of(&self, circuit: ItemIndex) -> Option<ItemIndex> {
        let feeders = self.items(feeder::NAME).iter().copied();
        feeders.into_iter().find(|&item| self.job.link(item, feeder::CIRCUIT) == Some(circuit))
    }
}

fn imbalance([a, b]: [i64; 2]) -> Option<Quantity> {
    let most = a.max(b);
    let share = (i128::from((a - b).abs()) * 1_000_000_000).checked_div(i128::from(most))?;
    i64::try_from(share).ok().map(|share| Quantity::new(Dimension::Ratio, share))
}

pub(super) fn rating(desk: &Desk<'_>, item: ItemIndex) -> String {
    let of = |field, what: &str| desk.job.quantity(item, field).map(|rating| format!("{what} {}", desk.print(rating)));
    [of(panel::RATING, "bus"), of(panel::MAIN, "main")].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

pub(super) fn positions(desk: &Desk<'_>, item: ItemIndex) -> Vec<i64> {
    numbers(desk, item, circuit::POSITIONS)
}

/// Returns the positions in a list of an item.
fn numbers(desk: &Desk<'_>, item: ItemIndex, field: FieldId) -> Vec<i64> {
    let cell: Cell = desk.job.cell(item, field);
    let cells = if cell.is_missing() { &[] } else { desk.job.list(cell.to_list()) };
    cells.iter().filter_map(|cell| cell.to_quantity(Dimension::Number).whole()).filter(|at| *at > 0).collect()
}

pub(super) fn slot(desk: &Desk<'_>, item: ItemIndex) -> Slot {
    let job = desk.job;
    let poles = desk.count(item, circuit::POLES).unwrap_or(1);
    let rating = job.quantity(item, circuit::RATING).map_or_else(|| String::from("?"), |rating| desk.print(rating));
    let mut protection: Vec<&str> = Vec::new();
    for (field, word) in [(circuit::AFCI, "AFCI"), (circuit::GFCI, "GFCI")] {
        if job.flag(item, field) == Some(true) {
            protection.push(word);
        }
    }
    let shares = job.link(item, circuit::MULTIWIRE_WITH).map(|other| format!("neutral with {}", job.id(other)));
    let shares = shares.unwrap_or_default();
    if !shares.is_empty() {
        protection.push(&shares);
    }
    let mut wires: Vec<&str> =
        job.links(item, circuit::CABLES).filter_map(|it| job.text(it, cable::KEY_MAKE)).collect();
    let own = desk.feeder_of(item).map(|feeder| desk.feeder_parts(feeder));
    let own: Vec<String> = own.into_iter().flatten().map(|part| part.what).collect();
    wires.extend(own.iter().map(String::as_str));
    wires.sort_unstable();
    wires.dedup();
    let rooms = rooms(desk, item);
    let written = job.text(item, circuit::LABEL).map(str::trim).filter(|label| !label.is_empty());
    Slot {
        position: 0,
        circuit: Some(job.id(item).to_owned()),
        label: written.map_or_else(|| proposed(desk, item, &rooms), str::to_owned),
        proposed: written.is_none(),
        further_pole: false,
        breaker: format!("{rating}, {poles}-pole"),
        protection: protection.join(" "),
        wire: wires.join(", "),
        rooms,
        outlets: outlets(desk, item),
        leg: desk.derived(item, circuit::LEG).and_then(|cell| cell.to_quantity(Dimension::Number).whole()),
        load: load(desk, item),
        beside: Vec::new(),
    }
}

/// Whether the breaker of a circuit shares its space with others.
fn shares_space(desk: &Desk<'_>, item: ItemIndex) -> bool {
    [circuit::IS_TANDEM, circuit::IS_QUAD].into_iter().any(|field| desk.is_derived(item, field) == Some(true))
}

/// Returns the load that the job states for a circuit; none where it states none at all.
pub(super) fn load(desk: &Desk<'_>, item: ItemIndex) -> Option<Quantity> {
    stated_load(desk.job, item)
}

/// Returns the names of the rooms that a circuit serves, in the order in which they come up.
fn rooms(desk: &Desk<'_>, item: ItemIndex) -> Vec<String> {
    let job = desk.job;
    let all = job
        .links(item, circuit::DEVICES)
        .chain(job.links(item, circuit::LUMINAIRES))
        .chain(job.links(item, circuit::APPLIANCES));
    let mut names: Vec<String> = Vec::new();
    for name in all.filter_map(|it| desk.room_of(it)).map(|room| desk.room_name(room)) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// Returns the configurations of a circuit's receptacles, other than those of general use, each once.
fn outlets(desk: &Desk<'_>, item: ItemIndex) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in desk.job.links(item, circuit::DEVICES).filter_map(|it| desk.special_configuration(it)) {
        if !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
    names
}

/// Returns a label from what a circuit feeds: the rooms, then the kinds of things in them.
fn proposed(desk: &Desk<'_>, item: ItemIndex, rooms: &[String]) -> String {
    let job = desk.job;
    if job.text(item, circuit::SERVES) == Some("spare") {
        return String::from("Spare");
    }
    if let Some(panel) = job.link(item, circuit::FEEDS) {
        let place = desk.room_of(panel).map(|room| format!(", {}", desk.room_name(room))).unwrap_or_default();
        return format!("Panel {}{place}", job.id(panel));
    }
    let mut things: Vec<String> =
        job.links(item, circuit::APPLIANCES).filter_map(|it| job.text(it, appliance::KIND)).map(words).collect();
    if things.is_empty() {
        let receptacle = |it: ItemIndex| job.text(it, device::KIND) == Some("receptacle");
        if job.links(item, circuit::DEVICES).any(receptacle) {
            things.push(String::from("receptacles"));
        }
        if job.links(item, circuit::LUMINAIRES).next().is_some() {
            things.push(String::from("lights"));
        }
    }
    match (rooms.is_empty(), things.is_empty()) {
        (true, true) => String::from("(feeds nothing that the job records)"),
        (true, false) => things.join(" and "),
        (false, true) => rooms.join(", "),
        (false, false) => format!("{}: {}", rooms.join(", "), things.join(" and ")),
    }
}
