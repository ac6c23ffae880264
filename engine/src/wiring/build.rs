//! The network of a job.

use std::collections::BTreeMap;

use super::network::{Colour, Core, Network, PlaceId, PlaceKind, Run, Source, Terminal, UnitKind};
use super::units;
use crate::model::kinds::{
    appliance, cable, cable_end, circuit, device, luminaire, outlet_box, panel, raceway, raceway_conductor,
};
use crate::model::{FieldId, ItemIndex, Job};

/// Builds the network of a job. A run whose ends or number of conductors nobody recorded is left out.
pub(super) fn network(job: &Job) -> Network {
    let mut build = Build { job, net: Network::default(), places: BTreeMap::new() };
    for (kind, place) in [(panel::NAME, PlaceKind::Panel), (outlet_box::NAME, PlaceKind::Box)] {
        for &item in items(job, kind) {
            let id = build.net.add_place(item, place);
            build.places.insert(item, id);
        }
    }
    build.shared_neutrals();
    for &item in items(job, cable::NAME) {
        build.cable(item);
    }
    for &item in items(job, raceway::NAME) {
        build.raceway(item);
    }
    for &item in items(job, circuit::NAME) {
        build.breaker(item);
    }
    for &item in items(job, outlet_box::NAME) {
        if job.text(item, outlet_box::MATERIAL) == Some("metal") {
            build.unit(item, UnitKind::MetalBox, Some(item), None);
        }
    }
    for &item in items(job, device::NAME) {
        if let Some(kind) = units::device_kind(job, item) {
            build.unit(item, kind, job.link(item, device::BOX), job.link(item, device::CIRCUIT));
        }
    }
    for &item in items(job, luminaire::NAME) {
        let at = job.link(item, luminaire::BOX).or(Some(item));
        build.unit(item, UnitKind::Load, at, job.link(item, luminaire::CIRCUIT));
    }
    for &item in items(job, appliance::NAME) {
        let circuit = job.link(item, appliance::CIRCUIT);
        let two_pole = circuit.is_some_and(|circuit| units::is_two_pole(job, circuit));
        build.unit(item, if two_pole { UnitKind::Load240 } else { UnitKind::Load }, Some(item), circuit);
    }
    build.net
}

/// Returns the items of a kind.
pub(super) fn items<'a>(job: &'a Job, kind: &str) -> &'a [ItemIndex] {
    job.schema.kind(kind).map_or(&[], |kind| job.of_kind(kind))
}

struct Build<'a> {
    job: &'a Job,
    net: Network,
    places: BTreeMap<ItemIndex, PlaceId>,
}

impl Build<'_> {
    /// The circuit first in the file stands for the neutral that several share.
    fn shared_neutrals(&mut self) {
        for &item in items(self.job, circuit::NAME) {
            if let Some(other) = self.job.link(item, circuit::MULTIWIRE_WITH) {
                self.share(item, other);
            }
        }
        for &item in items(self.job, cable::NAME) {
            let both = (self.job.link(item, cable::CIRCUIT), self.job.link(item, cable::SECOND_CIRCUIT));
            // Four insulated conductors can hold two neutrals; three can't.
            if let (Some(first), Some(second)) = both
                && whole(self.job, item, cable::CONDUCTORS) == Some(3)
            {
                self.share(first, second);
            }
        }
    }

    fn share(&mut self, first: ItemIndex, second: ItemIndex) {
        let owner = self.net.neutral_owner(first).min(self.net.neutral_owner(second));
        for circuit in [first, second] {
            let before = self.net.neutral_owner(circuit);
            for other in self.net.neutral_of.values_mut().filter(|other| **other == before) {
                *other = owner;
            }
            self.net.neutral_of.insert(circuit, owner);
        }
    }

    fn place(&mut self, item: ItemIndex) -> PlaceId {
        let net = &mut self.net;
        *self.places.entry(item).or_insert_with(|| net.add_place(item, PlaceKind::Compartment))
    }

    fn cable(&mut self, item: ItemIndex) {
        let job = self.job;
        let mut ends = [None, None];
        for end in job.links(item, cable::ENDS) {
            let at = [cable_end::BOX, cable_end::PANEL, cable_end::LUMINAIRE, cable_end::APPLIANCE]
                .into_iter()
                .find_map(|field| job.link(end, field));
            let side = usize::from(job.text(end, cable_end::SIDE) == Some("to"));
            ends[side] = at.map(|at| (self.at_box(at), end));
        }
        let (Some((from, from_end)), Some((to, to_end))) = (ends[0], ends[1]) else { return };
        let Some(count) = whole(job, item, cable::CONDUCTORS) else { return };
        let core = Core { size: job.quantity(item, cable::SIZE), stranded: job.flag(item, cable::STRANDED) };
        let mut wires: Vec<_> = Colour::insulated(count as usize).into_iter().map(|colour| (colour, core)).collect();
        if job.flag(item, cable::GROUND) != Some(false) {
            let size = job.quantity(item, cable::GROUND_SIZE).or(core.size);
            wires.push((Colour::Bare, Core { size, stranded: None }));
        }
        let circuits: Vec<ItemIndex> =
            [cable::CIRCUIT, cable::SECOND_CIRCUIT].into_iter().filter_map(|field| job.link(item, field)).collect();
        let places = [self.place(from), self.place(to)];
        self.net.add_run(
            Run { item, circuits, ends: places, end_items: [from_end, to_end], wires: Vec::new(), is_raceway: false },
            &wires,
        );
    }

    /// A cable that is written as ending at a luminaire which hangs on a box ends in that box.
    fn at_box(&self, item: ItemIndex) -> ItemIndex {
        let is_luminaire = self.job.schema.kind(luminaire::NAME) == Some(self.job.item(item).kind);
        if is_luminaire { self.job.link(item, luminaire::BOX).unwrap_or(item) } else { item }
    }

    /// One run for each circuit whose conductors a raceway holds; the grounding conductor goes with the first.
    fn raceway(&mut self, item: ItemIndex) {
        let job = self.job;
        let at = |field: FieldId| job.text(item, field).and_then(|id| job.find(id)).map(|at| self.at_box(at));
        let (Some(from), Some(to)) = (at(raceway::FROM), at(raceway::TO)) else { return };
        let mut by_circuit: BTreeMap<ItemIndex, Vec<Core>> = BTreeMap::new();
        let mut grounds = Vec::new();
        for conductor in job.links(item, raceway::CONDUCTORS) {
            let core = Core {
                size: job.quantity(conductor, raceway_conductor::SIZE),
                stranded: job.flag(conductor, raceway_conductor::STRANDED),
            };
            let count = whole(job, conductor, raceway_conductor::COUNT).unwrap_or(0).clamp(0, 1000) as usize;
            if job.flag(conductor, raceway_conductor::IS_GROUND) == Some(true) {
                grounds.push(core);
            } else if let Some(circuit) = job.link(conductor, raceway_conductor::CIRCUIT) {
                by_circuit.entry(circuit).or_default().extend(std::iter::repeat_n(core, count));
            }
        }
        let metal = matches!(job.text(item, raceway::WIRING_METHOD), Some("EMT" | "RMC" | "IMC"));
        // A metal raceway is itself the grounding path where no conductor is pulled for it.
        let mut ground = grounds.first().copied().or(metal.then_some(Core::default()));
        let places = [self.place(from), self.place(to)];
        for (circuit, cores) in by_circuit {
            let mut colours = Colour::insulated(cores.len());
            // Colours are free in a raceway: two ungrounded conductors take no white one.
            if let ([_, second], true) = (colours.as_mut_slice(), units::is_two_pole(job, circuit)) {
                *second = Colour::Red;
            }
            let mut wires: Vec<_> = colours.into_iter().zip(cores).collect();
            wires.extend(ground.take().map(|core| (Colour::Bare, core)));
            self.net.add_run(
                Run {
                    item,
                    circuits: vec![circuit],
                    ends: places,
                    end_items: [item, item],
                    wires: Vec::new(),
                    is_raceway: true,
                },
                &wires,
            );
        }
    }

    fn breaker(&mut self, item: ItemIndex) {
        let only = match items(self.job, panel::NAME) {
            [only] => Some(*only),
            _ => None,
        };
        let Some(panel) = self.job.link(item, circuit::PANEL).or(only) else { return };
        let place = self.place(panel);
        let two = units::is_two_pole(self.job, item);
        let terminals = units::terminals(UnitKind::Breaker, two, false, false);
        let unit = self.net.add_unit(item, UnitKind::Breaker, place, Some(item), &terminals);
        let positions: Vec<i64> = {
            let cell = self.job.cell(item, circuit::POSITIONS);
            let cells = if cell.is_missing() { &[] } else { self.job.list(cell.to_list()) };
            cells.iter().filter_map(|cell| cell.to_quantity(crate::quantity::Dimension::Number).whole()).collect()
        };
        // Positions count down both sides of the panel, two to a row, and the rows take the legs in turn.
        let leg = positions.first().map_or(0, |first| (first - 1).div_euclid(2).rem_euclid(2) as u8);
        let sources = [
            (Terminal::Breaker, Source::Line { circuit: item, pole: 0, leg }),
            (Terminal::Breaker2, Source::Line { circuit: item, pole: 1, leg: 1 - leg }),
            (Terminal::Neutral, Source::Neutral(self.net.neutral_owner(item))),
            (Terminal::Ground, Source::Ground),
        ];
        for (name, source) in sources {
            if let Some(point) = self.net.unit(unit).terminal(name) {
                self.net.sources.push((point, source));
            }
        }
        if self.job.text(item, circuit::SERVES) == Some("feeder") {
            let to = self.net.runs().find(|(_, run)| run.circuits.contains(&item)).and_then(|(_, run)| {
                run.ends.into_iter().find(|&end| end != place && self.net.place(end).kind == PlaceKind::Panel)
            });
            if let Some(to) = to {
                let terminals = units::terminals(UnitKind::Load240, true, false, true);
                let panel = self.net.place(to).item;
                self.net.add_unit(panel, UnitKind::Load240, to, Some(item), &terminals);
            }
        }
    }

    /// Adds a unit where a cable of the job can reach it; one that is nowhere has no unit.
    fn unit(&mut self, item: ItemIndex, kind: UnitKind, at: Option<ItemIndex>, circuit: Option<ItemIndex>) {
        let Some(place) = at.and_then(|at| self.places.get(&at).copied()) else { return };
        let here = |net: &Network, least: usize, other: bool| {
            net.runs.iter().any(|run| {
                run.ends.contains(&place)
                    && circuit.is_some_and(|circuit| run.circuits.contains(&circuit))
                    && (!other
                        || run.wires.iter().filter(|wire| net.wire(**wire).colour != Colour::Bare).count() >= least)
            })
        };
        let job = self.job;
        let is_device = job.schema.kind(device::NAME) == Some(job.item(item).kind);
        let alarm = is_device && matches!(job.text(item, device::KIND), Some("smoke_alarm" | "co_alarm"));
        let signal = alarm && job.flag(item, device::INTERCONNECTED) == Some(true) && here(&self.net, 3, true);
        let neutral = here(&self.net, 3, true);
        let terminals = units::terminals(kind, neutral, signal, !alarm);
        self.net.add_unit(item, kind, place, circuit, &terminals);
    }
}

fn whole(job: &Job, item: ItemIndex, field: FieldId) -> Option<i64> {
    job.quantity(item, field).and_then(|quantity| quantity.whole())
}
