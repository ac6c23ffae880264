//! The sheet of a panel: the breaker at each position, what lands on breakers and bars, what stays open.

mod breakers;
mod steps;

use std::collections::BTreeMap;

pub(in crate::sheet) use breakers::breakers as breakers_of;
pub use breakers::{BreakerCircuit, BreakerKind, PanelBreaker};

use super::Desk;
use super::directory;
use crate::model::ItemIndex;
use crate::model::kinds::{cable, circuit, panel};
use crate::quantity::Quantity;
use crate::wiring::{Colour, Lands, PanelWire, Signal, Wiring, name, panel_wires};

/// Stands on every sheet of a panel.
pub const PANEL_CAUTION: &str = "Before you take the front off: main off, locked out and tagged, absence of voltage verified with a tester that was proved on a live \
source before and after. The lugs ahead of the main stay live with the main off; a sub-panel is dead only with the breaker of its \
feeder open. This sheet is worked out from the job file; the code in force, the authority having jurisdiction and the label of the \
panel stand above it.";

/// A conductor that lands in the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanelConductor {
    /// Its name: `C1/from.black`.
    pub name: String,
    /// Its cable or raceway, by id.
    pub run: String,
    /// The make of that cable: `12/2`; nothing for a raceway.
    pub make: String,
    /// Its color.
    pub color: Colour,
    /// Its size.
    pub size: Option<Quantity>,
    /// What it is for, in words; `spare` for one without function.
    pub function: String,
    /// Where it lands: as seen, else as planned.
    pub lands: Lands,
    /// That in words.
    pub to: String,
    /// The breaker position that it lands on.
    pub position: Option<i64>,
    /// The screw of a bar, where somebody wrote it.
    pub screw: Option<u32>,
    /// Whether somebody saw it land there.
    pub seen: bool,
    /// Whether the plan goes by its color alone.
    pub by_color: bool,
    /// Whether it is a white conductor that must be re-marked.
    pub re_mark: bool,
}

/// A bar of the panel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Bar {
    /// Neutrals that land on the neutral bar, grounds that land on the ground bar.
    pub conductors: i64,
    /// White pigtails of breakers on it besides.
    pub pigtails: i64,
    /// Screws that these need, and grounds on the neutral bar.
    pub screws: i64,
    /// Screws that it has, where that is recorded.
    pub terminals: Option<i64>,
}

/// The sheet of a panel.
#[derive(Clone, Debug)]
pub struct PanelSheet {
    /// The panel.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// Room it stands in.
    pub room: String,
    /// Rating of the bus and of the main breaker.
    pub rating: String,
    /// The panel that feeds it; none for service equipment.
    pub fed_by: Option<String>,
    /// Its spaces, where they are recorded.
    pub spaces: Option<i64>,
    /// Positions to show: its spaces, or up to the last breaker.
    pub positions: i64,
    /// Its breakers by position; those without one last.
    pub breakers: Vec<PanelBreaker>,
    /// Positions without a breaker.
    pub open: Vec<i64>,
    /// Conductors in it, cable by cable.
    pub conductors: Vec<PanelConductor>,
    /// The neutral bar.
    pub neutral_bar: Bar,
    /// The ground bar.
    pub ground_bar: Bar,
    /// Grounds that may share a screw: by the label, else by the code in force.
    pub grounds_per_screw: Option<i64>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What to settle before the work.
    pub remarks: Vec<String>,
    /// What is wrong in it, in sentences.
    pub faults: Vec<String>,
    /// Where what was seen differs from the plan.
    pub differences: Vec<String>,
    /// The caution.
    pub caution: &'static str,
}

/// Returns whether the code in force numbers the positions of panels, so that a sheet can be drawn.
pub fn has_panel_sheets(desk: &Desk<'_>) -> bool {
    desk.figure("panel.neighbors_apart").quantity.is_some()
}

/// Returns the sheets of all panels with circuits or cables, or of those asked for, in the order of the job file.
pub fn panel_sheets(desk: &Desk<'_>, only: &[ItemIndex]) -> Vec<PanelSheet> {
    if !has_panel_sheets(desk) {
        return Vec::new();
    }
    let panels = desk.items(panel::NAME).iter().copied().filter(|item| only.is_empty() || only.contains(item));
    panels
        .map(|item| of(desk, item))
        .filter(|sheet| !only.is_empty() || !sheet.breakers.is_empty() || !sheet.conductors.is_empty())
        .collect()
}

fn of(desk: &Desk<'_>, item: ItemIndex) -> PanelSheet {
    let job = desk.job;
    let wiring = desk.ctx.wiring();
    let breakers = breakers_of(desk, item);
    let last = breakers.iter().flat_map(|one| one.positions.last().copied()).max().unwrap_or(0);
    let spaces = desk.count(item, panel::SPACES);
    let positions = spaces.unwrap_or(0).max(last).min(200);
    let taken = |at: &i64| breakers.iter().any(|one| one.positions.contains(at));
    let open = (1..=spaces.unwrap_or(0).min(200)).filter(|at| !taken(at)).collect();
    let place = wiring.network.find_place(item);
    let wires = place.map_or_else(Vec::new, |place| panel_wires(job, wiring, place));
    let writer = Writer { desk, wiring, positions: numbers(desk, item) };
    let conductors: Vec<PanelConductor> = wires.iter().map(|wire| writer.conductor(wire)).collect();
    let unmarked = || desk.figure("panel.grounds_unmarked").quantity?.whole();
    let allowed = desk.count(item, panel::GROUNDS_ALLOWED).or_else(unmarked);
    let (neutral_bar, ground_bar) = bars(desk, item, &conductors, &breakers, allowed);
    let faults = wiring.followed.faults.iter().filter(|fault| fault.place == Some(item));
    let mut sheet = PanelSheet {
        item,
        id: job.id(item).to_owned(),
        room: desk.place_name(item),
        rating: directory::rating(desk, item),
        fed_by: job.link(item, panel::FED_BY).map(|panel| job.id(panel).to_owned()),
        spaces,
        positions,
        breakers,
        open,
        conductors,
        neutral_bar,
        ground_bar,
        grounds_per_screw: allowed,
        steps: Vec::new(),
        remarks: Vec::new(),
        faults: faults.map(|fault| fault.message.clone()).collect(),
        differences: wires.iter().filter_map(|wire| writer.difference(wire)).collect(),
        caution: PANEL_CAUTION,
    };
    sheet.steps = steps::steps(desk, &sheet);
    sheet.remarks = steps::remarks(&sheet);
    sheet
}

/// The positions of every circuit of a panel.
fn numbers(desk: &Desk<'_>, item: ItemIndex) -> BTreeMap<ItemIndex, Vec<i64>> {
    desk.job.links(item, panel::CIRCUITS).map(|circuit| (circuit, directory::positions(desk, circuit))).collect()
}

fn bars(
    desk: &Desk<'_>,
    item: ItemIndex,
    conductors: &[PanelConductor],
    breakers: &[PanelBreaker],
    allowed: Option<i64>,
) -> (Bar, Bar) {
    let on = |lands: Lands| conductors.iter().filter(|one| one.lands == lands).count() as i64;
    let protects = |one: &&PanelBreaker| one.circuits.iter().any(|circuit| !circuit.protection.is_empty());
    let plug_on = desk.job.flag(item, panel::PLUG_ON_NEUTRAL) == Some(true);
    let pigtails = if plug_on { 0 } else { breakers.iter().filter(protects).count() as i64 };
    let (on_neutral, grounds) = (on(Lands::NeutralBar), on(Lands::GroundBar));
    let bare = |one: &&PanelConductor| one.lands == Lands::NeutralBar && one.color == Colour::Bare;
    let neutral = Bar {
        conductors: on_neutral - conductors.iter().filter(bare).count() as i64,
        pigtails,
        screws: on_neutral + pigtails,
        terminals: desk.count(item, panel::NEUTRAL_TERMINALS),
    };
    let per_screw = allowed.unwrap_or(1).max(1);
    let ground = Bar {
        conductors: grounds,
        pigtails: 0,
        screws: (grounds + per_screw - 1) / per_screw,
        terminals: desk.count(item, panel::GROUND_TERMINALS),
    };
    (neutral, ground)
}

struct Writer<'d, 'a> {
    desk: &'d Desk<'a>,
    wiring: &'d Wiring,
    positions: BTreeMap<ItemIndex, Vec<i64>>,
}

impl Writer<'_, '_> {
    fn position(&self, lands: Lands) -> Option<i64> {
        let (circuit, pole) = match lands {
            Lands::Breaker(circuit, pole) => (circuit, usize::from(pole)),
            Lands::BreakerNeutral(circuit) => (circuit, 0),
            _ => return None,
        };
        self.positions.get(&circuit)?.get(pole).copied()
    }

    /// Says where a conductor lands: `breaker 9`, `neutral bar`.
    fn to(&self, lands: Lands) -> String {
        let breaker = |circuit: ItemIndex| match self.position(lands) {
            Some(at) => format!("breaker {at}"),
            None => format!("the breaker of circuit {}", self.desk.job.id(circuit)),
        };
        match lands {
            Lands::Breaker(circuit, 0) => breaker(circuit),
            Lands::Breaker(circuit, _) if self.position(lands).is_none() => {
                format!("second pole of {}", breaker(circuit))
            }
            Lands::Breaker(circuit, _) => breaker(circuit),
            Lands::BreakerNeutral(circuit) => format!("neutral of {}", breaker(circuit)),
            Lands::NeutralBar => String::from("neutral bar"),
            Lands::GroundBar => String::from("ground bar"),
            Lands::Lug(0) => String::from("lug 1"),
            Lands::Lug(_) => String::from("lug 2"),
            Lands::NeutralLug => String::from("neutral lug"),
            Lands::Cap => String::from("cap"),
        }
    }

    fn conductor(&self, wire: &PanelWire) -> PanelConductor {
        let (job, net) = (self.desk.job, &self.wiring.network);
        let one = net.wire(wire.wire);
        let run = net.run(one.run);
        let lands = wire.lands();
        let hot = matches!(wire.planned, Lands::Breaker(..) | Lands::Lug(_));
        let function = match (one.colour, wire.function) {
            (Colour::Bare, _) => String::from("equipment ground"),
            (_, Some(signal)) => signal.words(job, net, &self.wiring.plan.groups),
            (_, None) => self.by_color(wire),
        };
        let is_cable = self.desk.is(run.item, cable::NAME);
        let make = is_cable.then(|| job.text(run.item, cable::KEY_MAKE)).flatten();
        PanelConductor {
            name: name(job, net, wire.point),
            run: job.id(run.item).to_owned(),
            make: make.unwrap_or_default().to_owned(),
            color: one.colour,
            size: one.size,
            function,
            lands,
            to: self.to(lands),
            position: self.position(lands),
            screw: wire.seen.as_ref().and_then(|seen| seen.screw),
            seen: wire.seen.is_some(),
            by_color: wire.by_color,
            re_mark: one.colour == Colour::White && hot,
        }
    }

    /// What a conductor is for by its color, where its circuit is not wired through in the job.
    fn by_color(&self, wire: &PanelWire) -> String {
        let (job, net) = (self.desk.job, &self.wiring.network);
        let signal = match wire.planned {
            Lands::Breaker(circuit, pole) => Some(Signal::Hot(circuit, pole)),
            Lands::BreakerNeutral(circuit) => Some(Signal::Neutral(net.neutral_owner(circuit))),
            Lands::NeutralBar | Lands::NeutralLug => {
                let circuits = &net.run(net.wire(wire.wire).run).circuits;
                circuits.first().map(|&circuit| Signal::Neutral(net.neutral_owner(circuit)))
            }
            _ => None,
        };
        signal.map_or_else(|| String::from("spare"), |signal| signal.words(job, net, &self.wiring.plan.groups))
    }

    fn difference(&self, wire: &PanelWire) -> Option<String> {
        let seen = wire.seen.as_ref().filter(|seen| seen.lands != wire.planned)?;
        let name = name(self.desk.job, &self.wiring.network, wire.point);
        Some(format!("{name}: planned on {}, seen on {}", self.to(wire.planned), self.to(seen.lands)))
    }
}

/// The circuits of a panel that share a neutral, each pair once.
fn shared_neutrals(desk: &Desk<'_>, sheet: &PanelSheet) -> Vec<(ItemIndex, ItemIndex)> {
    let circuits = desk.job.links(sheet.item, panel::CIRCUITS);
    let pairs = circuits.filter_map(|one| {
        let partners = desk.ctx.index.multiwire_partners(one);
        Some((one, *partners.iter().find(|&&other| one < other)?))
    });
    pairs.filter(|(_, other)| desk.job.link(*other, circuit::PANEL) == Some(sheet.item)).collect()
}
