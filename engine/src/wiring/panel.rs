//! What lands where in a panel: planned by what each conductor is for, and as somebody saw it.

use std::collections::{BTreeMap, BTreeSet};

use super::as_built::name;
use super::joint::{Joint, MakeUp};
use super::network::{Colour, Network, PlaceId, PlaceKind, Point, PointId, Terminal, UnitId, UnitKind, WireId};
use super::signal::Signal;
use super::{Wiring, units};
use crate::model::kinds::{circuit, panel, panel_landing};
use crate::model::{Cell, ItemIndex, Job};
use crate::problem::{Problem, did_you_mean};
use crate::source::Span;

/// Where a conductor lands in a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lands {
    /// A pole, 0 or 1, of the breaker of a circuit.
    Breaker(ItemIndex, u8),
    /// The neutral terminal of the GFCI or AFCI breaker of a circuit.
    BreakerNeutral(ItemIndex),
    /// The neutral bar.
    NeutralBar,
    /// The ground bar.
    GroundBar,
    /// A lug of the feeder that supplies the panel, 0 or 1.
    Lug(u8),
    /// The neutral lug of that feeder.
    NeutralLug,
    /// A cap of its own.
    Cap,
}

/// A conductor that somebody saw land.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Landed {
    /// The panel.
    pub place: PlaceId,
    /// The end of the conductor.
    pub point: PointId,
    /// Where it lands.
    pub lands: Lands,
    /// The number of the screw on a bar, where it is written.
    pub screw: Option<u32>,
    /// Where it is written.
    pub span: Span,
}

/// A conductor in a panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanelWire {
    /// Its end.
    pub point: PointId,
    /// The conductor.
    pub wire: WireId,
    /// What it is for, where the wiring of its circuit could be worked out.
    pub function: Option<Signal>,
    /// Where it is planned to land.
    pub planned: Lands,
    /// Whether the plan goes by its color alone, since the circuit is not wired through in the job.
    pub by_color: bool,
    /// Where somebody saw it land.
    pub seen: Option<Landed>,
}

impl PanelWire {
    /// Returns where it lands: as seen, else as planned.
    pub fn lands(&self) -> Lands {
        self.seen.as_ref().map_or(self.planned, |seen| seen.lands)
    }

    /// Returns whether it is a neutral by the plan.
    pub fn is_neutral(&self) -> bool {
        matches!(self.planned, Lands::NeutralBar | Lands::BreakerNeutral(_) | Lands::NeutralLug)
    }
}

/// Returns whether the breaker of a circuit takes the neutral of the circuit.
pub fn takes_neutral(job: &Job, item: ItemIndex) -> bool {
    let yes = |field| job.flag(item, field) == Some(true);
    (yes(circuit::GFCI) || yes(circuit::AFCI)) && job.flag(item, circuit::BREAKER_TAKES_NEUTRAL) != Some(false)
}

/// Returns the conductors in a panel, in the order of the job file.
pub fn panel_wires(job: &Job, wiring: &Wiring, place: PlaceId) -> Vec<PanelWire> {
    let net = &wiring.network;
    let here = Here::new(job, net, place);
    let seen: BTreeMap<PointId, &Landed> =
        wiring.landed.iter().filter(|landed| landed.place == place).map(|landed| (landed.point, landed)).collect();
    let ends = net.place(place).points.iter().filter_map(|&point| match net.point(point) {
        Point::End(wire, _) => Some((point, wire)),
        Point::Terminal(..) => None,
    });
    ends.map(|(point, wire)| {
        let function = wiring.plan.functions.get(wire.at()).copied().flatten();
        let run = net.run(net.wire(wire).run);
        // A run that nothing recorded is fed by has no functions; its colors say enough of it.
        let used = |wire: &WireId| wiring.plan.functions.get(wire.at()).copied().flatten().is_some();
        let whole =
            run.circuits.iter().any(|circuit| wiring.plan.whole.contains(circuit)) && run.wires.iter().any(used);
        let bare = net.wire(wire).colour == Colour::Bare;
        let (planned, by_color) = match function {
            _ if bare => (Lands::GroundBar, false),
            Some(signal) => (here.of_signal(signal, wire), false),
            None if whole => (Lands::Cap, false),
            None => (here.by_color(wire), true),
        };
        let seen = seen.get(&point).map(|landed| (*landed).clone());
        PanelWire { point, wire, function, planned, by_color, seen }
    })
    .collect()
}

struct Here<'a> {
    job: &'a Job,
    net: &'a Network,
    place: PlaceId,
    /// The breakers in the panel by their circuits, and the lugs of its feeder under the panel itself.
    units: BTreeMap<ItemIndex, UnitId>,
}

impl<'a> Here<'a> {
    fn new(job: &'a Job, net: &'a Network, place: PlaceId) -> Here<'a> {
        let units = net.place(place).points.iter().filter_map(|&point| match net.point(point) {
            Point::Terminal(id, _) => Some((net.unit(id).item, id)),
            Point::End(..) => None,
        });
        Here { job, net, place, units: units.collect() }
    }

    /// Returns the breaker of a circuit, if it is in this panel.
    fn breaker(&self, circuit: ItemIndex) -> Option<UnitId> {
        self.units.get(&circuit).copied().filter(|&id| self.net.unit(id).kind == UnitKind::Breaker)
    }

    /// Returns the circuits of a run whose breakers are here.
    fn circuits(&self, wire: WireId) -> impl Iterator<Item = ItemIndex> + '_ {
        let run = self.net.run(self.net.wire(wire).run);
        run.circuits.iter().copied().filter(|&circuit| self.breaker(circuit).is_some())
    }

    fn neutral_of(&self, wire: WireId) -> Lands {
        let mut circuits = self.circuits(wire).peekable();
        if circuits.peek().is_none() {
            return Lands::NeutralLug;
        }
        circuits.find(|&circuit| takes_neutral(self.job, circuit)).map_or(Lands::NeutralBar, Lands::BreakerNeutral)
    }

    fn hot_of(&self, circuit: ItemIndex, pole: u8) -> Lands {
        if self.breaker(circuit).is_some() { Lands::Breaker(circuit, pole) } else { Lands::Lug(pole) }
    }

    fn of_signal(&self, signal: Signal, wire: WireId) -> Lands {
        match signal {
            Signal::Hot(circuit, pole) => self.hot_of(circuit, pole),
            signal if signal.is_grounded() => self.neutral_of(wire),
            Signal::Ground => Lands::GroundBar,
            // Nothing else has a place in a panel.
            _ => Lands::Cap,
        }
    }

    /// Returns where a conductor lands by its color: black first, red second, white neutral, or second where there is no red.
    fn by_color(&self, wire: WireId) -> Lands {
        let net = self.net;
        let run = net.run(net.wire(wire).run);
        let Some(&first) = run.circuits.first() else { return Lands::Cap };
        let two = units::is_two_pole(self.job, first);
        let insulated = run.wires.iter().filter(|wire| net.wire(**wire).colour != Colour::Bare).count();
        match (net.wire(wire).colour, run.circuits.get(1)) {
            (Colour::Black, _) => self.hot_of(first, 0),
            (Colour::White, None) if two && insulated == 2 => self.hot_of(first, 1),
            (Colour::White, _) => self.neutral_of(wire),
            (Colour::Red, None) if two => self.hot_of(first, 1),
            (Colour::Red, Some(&second)) => self.hot_of(second, 0),
            (Colour::Bare, _) => Lands::GroundBar,
            _ => Lands::Cap,
        }
    }

    fn terminal(&self, item: ItemIndex, name: Terminal) -> Option<PointId> {
        self.net.unit(*self.units.get(&item)?).terminal(name)
    }

    /// Returns the terminal that landing there means to the current; none where it makes no difference to the plan.
    fn target(&self, landed: &Landed, wire: WireId) -> Option<PointId> {
        let panel = self.net.place(self.place).item;
        let is_service = self.job.link(panel, panel::FED_BY).is_none();
        let bare = self.net.wire(wire).colour == Colour::Bare;
        let own = |name| {
            let first = self.circuits(wire).next();
            self.terminal(first.unwrap_or(panel), name)
        };
        match landed.lands {
            Lands::Breaker(circuit, pole) => {
                let name = if pole == 0 { Terminal::Breaker } else { Terminal::Breaker2 };
                self.terminal(circuit, name)
            }
            Lands::BreakerNeutral(circuit) => self.terminal(circuit, Terminal::Neutral),
            // In service equipment both bars are one.
            Lands::NeutralBar | Lands::NeutralLug if bare && is_service => None,
            Lands::NeutralBar | Lands::NeutralLug => own(Terminal::Neutral),
            Lands::GroundBar if bare => None,
            Lands::GroundBar => own(if is_service { Terminal::Neutral } else { Terminal::Ground }),
            Lands::Lug(pole) => {
                let name = if pole == 0 { Terminal::Hot } else { Terminal::Hot2 };
                self.terminal(panel, name)
            }
            Lands::Cap => None,
        }
    }
}

/// Moves the conductors that were seen elsewhere than planned to where they were seen.
pub(super) fn apply(job: &Job, net: &Network, landed: &[Landed], makeups: &mut [MakeUp]) {
    let mut places: BTreeMap<PlaceId, Here<'_>> = BTreeMap::new();
    for one in landed {
        let Point::End(wire, _) = net.point(one.point) else { continue };
        let Some(makeup) = makeups.get_mut(one.place.at()) else { continue };
        let here = places.entry(one.place).or_insert_with(|| Here::new(job, net, one.place));
        let target = here.target(one, wire);
        if target.is_none() && one.lands != Lands::Cap {
            continue;
        }
        let joined = |joint: &Joint, point: PointId| joint.points.contains(&point);
        let as_planned = |joint: &Joint| target.is_some_and(|target| joined(joint, target) && joined(joint, one.point));
        if makeup.joints.iter().any(as_planned) {
            continue;
        }
        for joint in &mut makeup.joints {
            joint.points.retain(|&point| point != one.point);
        }
        makeup.joints.retain(|joint| joint.points.len() > 1);
        makeup.caps.retain(|&point| point != one.point);
        match target {
            None => makeup.caps.push(one.point),
            Some(target) => match makeup.joints.iter_mut().find(|joint| joined(joint, target)) {
                Some(joint) => joint.points.push(one.point),
                None => {
                    let points = vec![target, one.point];
                    makeup.joints.push(Joint { function: None, points, span: one.span });
                }
            },
        }
    }
}

/// Reads the landings that job files write for panels.
pub(super) fn read(job: &Job, net: &Network) -> (Vec<Landed>, Vec<Problem>) {
    let mut all: Vec<Landed> = Vec::new();
    let mut problems = Vec::new();
    let mut places: BTreeMap<PlaceId, Inside<'_>> = BTreeMap::new();
    for &item in super::build::items(job, panel_landing::NAME) {
        let place = job.link(item, panel_landing::PANEL).and_then(|panel| net.find_place(panel));
        let Some(place) = place.filter(|&place| net.place(place).kind == PlaceKind::Panel) else { continue };
        let cells = [job.cell(item, panel_landing::CONDUCTOR), job.cell(item, panel_landing::TERMINAL)];
        if cells.iter().any(|cell| cell.is_missing()) {
            continue;
        }
        let inside = places.entry(place).or_insert_with(|| Inside::new(job, net, place));
        match (inside.conductor(cells[0]), inside.terminal(cells[1])) {
            (Ok(point), Ok((lands, screw))) => {
                inside.used.insert(point);
                all.push(Landed { place, point, lands, screw, span: cells[1].span() });
            }
            (point, lands) => problems.extend([point.err(), lands.err()].into_iter().flatten()),
        }
    }
    (all, problems)
}

/// A panel while its landings are read.
struct Inside<'a> {
    here: Here<'a>,
    /// The conductors in it by their names.
    names: Vec<(String, PointId)>,
    used: BTreeSet<PointId>,
}

impl<'a> Inside<'a> {
    fn new(job: &'a Job, net: &'a Network, place: PlaceId) -> Inside<'a> {
        let ends = net.place(place).points.iter().copied().filter(|&point| matches!(net.point(point), Point::End(..)));
        let names = ends.map(|point| (name(job, net, point), point)).collect();
        Inside { here: Here::new(job, net, place), names, used: BTreeSet::new() }
    }

    fn panel(&self) -> &'a str {
        self.here.job.id(self.here.net.place(self.here.place).item)
    }

    fn conductor(&self, cell: Cell) -> Result<PointId, Problem> {
        let text = self.here.job.symbols.text(cell.to_symbol());
        let wanted = text.replace(".green", ".bare");
        let fits = || self.names.iter().filter(|(name, _)| *name == text || *name == wanted).map(|(_, point)| *point);
        let panel = self.panel();
        // Conductors of one color in a raceway have one name: they are taken in turn.
        match (fits().find(|point| !self.used.contains(point)), fits().next()) {
            (Some(point), _) => Ok(point),
            (None, Some(_)) => Err(Problem::new(cell.span(), format!("`{text}` lands in panel `{panel}` twice"))
                .label("written before")
                .help("a conductor lands on one terminal: take one of the two lines out")),
            (None, None) => {
                let help = did_you_mean(text, self.names.iter().map(|(name, _)| name.as_str())).unwrap_or_else(|| {
                    String::from("write a conductor as `CABLE/from.black`, by the end that is at the panel")
                });
                Err(Problem::new(cell.span(), format!("no conductor `{text}` comes into panel `{panel}`"))
                    .label("nothing of this name")
                    .help(help))
            }
        }
    }

    /// Reads `1.breaker`, `neutral_bar.7` and the like.
    fn terminal(&self, cell: Cell) -> Result<(Lands, Option<u32>), Problem> {
        let here = &self.here;
        let job = here.job;
        let text = job.symbols.text(cell.to_symbol());
        let plain = match text {
            "neutral_bar" => Some(Lands::NeutralBar),
            "ground_bar" => Some(Lands::GroundBar),
            "neutral_lug" => Some(Lands::NeutralLug),
            "lug" | "lug_1" => Some(Lands::Lug(0)),
            "lug_2" => Some(Lands::Lug(1)),
            "cap" => Some(Lands::Cap),
            _ => None,
        };
        if let Some(lands) = plain {
            return Ok((lands, None));
        }
        let split = text.rsplit_once('.');
        let bar = match split {
            Some(("neutral_bar", _)) => Some(Lands::NeutralBar),
            Some(("ground_bar", _)) => Some(Lands::GroundBar),
            _ => None,
        };
        if let (Some(lands), Some((_, screw))) = (bar, split) {
            let number = screw.parse::<u32>().ok().filter(|number| *number > 0);
            return number.map(|number| (lands, Some(number))).ok_or_else(|| {
                Problem::new(cell.span(), format!("`{screw}` is no number of a screw"))
                    .label("the screws of a bar are counted from 1")
                    .help("write `neutral_bar.7`, or `neutral_bar` where the screw is not known")
            });
        }
        let ids: Vec<&str> =
            here.units.keys().filter(|&&item| here.breaker(item).is_some()).map(|&item| job.id(item)).collect();
        let lands = split.and_then(|(id, word)| {
            let circuit = job.find(id).filter(|&circuit| here.breaker(circuit).is_some())?;
            match word {
                "breaker" | "breaker_1" => Some(Lands::Breaker(circuit, 0)),
                "breaker_2" if units::is_two_pole(job, circuit) => Some(Lands::Breaker(circuit, 1)),
                "neutral" => Some(Lands::BreakerNeutral(circuit)),
                _ => None,
            }
        });
        lands.map(|lands| (lands, None)).ok_or_else(|| {
            let panel = self.panel();
            let words = ["neutral_bar", "ground_bar", "neutral_lug", "lug", "lug_2", "cap"].map(String::from);
            let of = |id: &&str| [format!("{id}.breaker"), format!("{id}.breaker_2"), format!("{id}.neutral")];
            let known: Vec<String> = words.into_iter().chain(ids.iter().flat_map(of)).collect();
            let near = did_you_mean(text, known.iter().map(String::as_str)).filter(|_| known.len() < 40);
            let help = near.unwrap_or_else(|| {
                String::from("write `1.breaker` or `1.neutral` for the breaker of circuit 1, `neutral_bar.7` or `ground_bar.3` for a screw of a bar")
            });
            Problem::new(cell.span(), format!("there is no terminal `{text}` in panel `{panel}`"))
                .label("nothing of this name")
                .help(help)
        })
    }
}
