//! Mistakes that show at conductors, joints and bars: shorts, grounds, colours, loose ends.

use std::collections::BTreeSet;

use super::super::network::{Colour, Point, PointId, Source, Terminal, UnitKind, WireId};
use super::{FaultKind, Joined, Nets, View};
use crate::model::ItemIndex;
use crate::model::kinds::cable;
use crate::source::Span;

impl View<'_> {
    /// Sources that are joined, in whatever position.
    pub(super) fn sources(&mut self) {
        let mut clashes: Vec<(Vec<Source>, usize, String)> = Vec::new();
        for at in 0..self.nets.len() {
            if super::cluster::clash(self.nets.sources(at)) {
                clashes.push((self.nets.sources(at).to_vec(), at, String::new()));
            }
        }
        for cluster in &self.clusters {
            for (sources, state, net) in &cluster.clashes {
                let on: Vec<_> = cluster
                    .switches
                    .iter()
                    .enumerate()
                    .filter(|(at, _)| state >> at & 1 == 1)
                    .map(|(_, unit)| *unit)
                    .collect();
                let when = if on.is_empty() {
                    String::from(" with every switch off")
                } else {
                    format!(" with {} on", self.names(&on))
                };
                clashes.push((sources.clone(), *net, when));
            }
        }
        for (sources, net, when) in clashes {
            self.clash(&sources, net, &when);
        }
        self.same_leg();
    }

    fn clash(&mut self, sources: &[Source], net: usize, when: &str) {
        let lines: Vec<(ItemIndex, u8)> = sources
            .iter()
            .filter_map(|source| match source {
                Source::Line { circuit, leg, .. } => Some((*circuit, *leg)),
                _ => None,
            })
            .collect();
        let neutrals: Vec<ItemIndex> = sources
            .iter()
            .filter_map(|source| match source {
                Source::Neutral(owner) => Some(*owner),
                _ => None,
            })
            .collect();
        let ground = sources.contains(&Source::Ground);
        let place = self.culprit(net).or_else(|| self.any_place(net));
        let item = place.map(|(place, _)| place);
        let fix = "part the splice and join each conductor to those of its own function only";
        let job = self.job;
        let mut tell = |kind, circuit: ItemIndex, message: String| {
            self.tell(kind, item.unwrap_or(circuit), place, Some(circuit), message, fix);
        };
        if let Some(&(circuit, leg)) = lines.first() {
            let name = job.id(circuit);
            if !neutrals.is_empty() {
                tell(
                    FaultKind::ShortToNeutral,
                    circuit,
                    format!("the hot of circuit `{name}` is joined to the neutral{when}"),
                );
            }
            if ground {
                tell(
                    FaultKind::ShortToGround,
                    circuit,
                    format!("the hot of circuit `{name}` is joined to the ground{when}"),
                );
            }
            if lines.iter().any(|(_, other)| *other != leg) {
                tell(FaultKind::ShortLineToLine, circuit, format!("both legs are joined at circuit `{name}`{when}"));
            } else if let Some((other, _)) = lines.iter().find(|(other, _)| *other != circuit) {
                let other = job.id(*other);
                tell(
                    FaultKind::CircuitsJoined,
                    circuit,
                    format!(
                        "circuits `{name}` and `{other}` are joined{when}: either stays live with the other's breaker off"
                    ),
                );
            }
        }
        if let [first, second, ..] = neutrals[..] {
            let (name, other) = (job.id(first), job.id(second));
            tell(
                FaultKind::NeutralsJoined,
                first,
                format!("the neutrals of circuits `{name}` and `{other}` are joined{when}"),
            );
        }
        if let (Some(&owner), true) = (neutrals.first(), ground) {
            tell(
                FaultKind::NeutralGrounded,
                owner,
                format!("the neutral of circuit `{}` is joined to the ground past the service{when}", job.id(owner)),
            );
        }
    }

    fn any_place(&self, net: usize) -> Option<(ItemIndex, Span)> {
        let unit = self.net.units.iter().find(|unit| {
            unit.kind != UnitKind::Breaker && unit.terminals.iter().any(|&(_, point)| self.nets.net(point) == net)
        })?;
        Some((self.net.place(unit.place).item, Span::NONE))
    }

    fn same_leg(&mut self) {
        let mut told = BTreeSet::new();
        let lines: Vec<(ItemIndex, u8)> = self
            .net
            .sources
            .iter()
            .filter_map(|(_, source)| match source {
                Source::Line { circuit, leg, pole: 0 } => Some((*circuit, *leg)),
                _ => None,
            })
            .collect();
        for &(circuit, leg) in &lines {
            for &(other, other_leg) in &lines {
                let shared = self.net.neutral_owner(circuit) == self.net.neutral_owner(other);
                if circuit < other && shared && leg == other_leg && told.insert((circuit, other)) {
                    let message = format!(
                        "circuits `{}` and `{}` share a neutral and are on the same leg: their currents add in it",
                        self.id(circuit),
                        self.id(other)
                    );
                    self.tell(
                        FaultKind::SameLeg,
                        circuit,
                        None,
                        Some(circuit),
                        message,
                        "move one of the two breakers to a position on the other leg",
                    );
                }
            }
        }
    }

    /// Colours against what the conductor does, parallel conductors, loose ends.
    pub(super) fn conductors(&mut self) {
        let mut insulated = vec![false; self.nets.len()];
        for wire in self.net.wires.iter().filter(|wire| wire.colour != Colour::Bare) {
            insulated[self.nets.net(wire.ends[0])] = true;
        }
        for at in 0..self.net.wires.len() {
            self.colour(WireId(at as u32), &insulated);
        }
        for wire in self.nets.loops.clone() {
            let run = self.net.run(self.net.wire(wire).run);
            let (item, circuit, colour) = (run.item, run.circuits.first().copied(), self.net.wire(wire).colour);
            let message = format!(
                "the {} conductor of `{}` lies parallel to others of the same function",
                colour.word(),
                self.id(item)
            );
            self.tell(FaultKind::Parallel, item, None, circuit, message, "leave it unused and capped at both ends");
        }
        let mut joined = vec![false; self.net.points.len()];
        for makeup in self.makeups {
            for point in makeup
                .joints
                .iter()
                .filter(|joint| joint.points.len() > 1)
                .flat_map(|joint| &joint.points)
                .chain(&makeup.caps)
            {
                joined[point.at()] = true;
            }
        }
        for makeup in self.makeups.iter().filter(|makeup| makeup.as_built) {
            let place = self.net.place(makeup.place);
            for &point in &place.points {
                let Point::End(wire, _) = self.net.point(point) else { continue };
                let colour = self.net.wire(wire).colour;
                if !joined[point.at()] {
                    let run = self.net.run(self.net.wire(wire).run);
                    let (cable, circuit) = (run.item, run.circuits.first().copied());
                    let message = format!(
                        "the {} conductor of `{}` in box `{}` is neither joined nor capped",
                        colour.word(),
                        self.id(cable),
                        self.id(place.item)
                    );
                    self.tell(
                        FaultKind::Loose,
                        place.item,
                        Some((place.item, Span::NONE)),
                        circuit,
                        message,
                        "join it, or put a cap on it",
                    );
                }
            }
        }
    }

    fn colour(&mut self, id: WireId, insulated: &[bool]) {
        let wire = self.net.wire(id);
        let net = self.nets.net(wire.ends[0]);
        let (line, neutral) = self.ever[net];
        let run = self.net.run(wire.run);
        let (item, circuit, is_raceway) = (run.item, run.circuits.first().copied(), run.is_raceway);
        let name = self.id(item).to_string();
        match wire.colour {
            Colour::White if line => {
                let remarked = (!is_raceway).then(|| self.job.flag(item, cable::WHITE_REMARKED)).flatten();
                if remarked == Some(false) || is_raceway {
                    let at = (item, self.job.cell(item, cable::WHITE_REMARKED).span());
                    let message =
                        format!("the white conductor of `{name}` is used as an ungrounded one and is not re-marked");
                    self.tell(
                        FaultKind::WhiteNotMarked,
                        item,
                        Some(at).filter(|_| !is_raceway),
                        circuit,
                        message,
                        "re-mark it black or red with tape or paint where it can be seen, at both ends",
                    );
                }
                if self.returns(net) {
                    let message = format!("the white conductor of `{name}` brings the switched leg back to the load");
                    self.tell(
                        FaultKind::WhiteReturns,
                        item,
                        None,
                        circuit,
                        message,
                        "feed the switch over the re-marked white and return over another colour",
                    );
                }
            }
            // A neutral that is joined to the ground bar somewhere is told as such.
            Colour::Bare
                if line
                    || ((neutral || insulated[net])
                        && self.nets.sources(net).iter().all(|source| *source != Source::Ground)) =>
            {
                let message = format!("the bare conductor of `{name}` is used for current");
                self.tell(
                    FaultKind::BareUsed,
                    item,
                    None,
                    circuit,
                    message,
                    "keep it for grounding only; a cable with one more insulated conductor is needed",
                );
            }
            Colour::Bare | Colour::White => {}
            colour => {
                if self.nets.sources(net).iter().any(|source| matches!(source, Source::Neutral(_))) {
                    let message = format!("the {} conductor of `{name}` is used as the neutral", colour.word());
                    self.tell(
                        FaultKind::NeutralNotWhite,
                        item,
                        None,
                        circuit,
                        message,
                        "use a white or gray conductor for the neutral",
                    );
                }
            }
        }
    }

    /// Whether a net is a switched leg: live only over a switch, and at a load's ungrounded terminal.
    fn returns(&self, net: usize) -> bool {
        self.nets.sources(net).is_empty()
            && self.loads.iter().any(|load| self.nets.net(load.hot) == net)
            && self.net.units.iter().any(|unit| {
                unit.kind == UnitKind::SinglePole
                    && unit.terminals.iter().any(|&(_, point)| self.nets.net(point) == net)
            })
    }

    /// Devices, luminaires and metal boxes without a way to the ground bar.
    pub(super) fn grounds(&mut self) {
        let with_contacts = Nets::of(self.net, self.makeups, Joined { contacts: true, ..Joined::default() });
        let screws: Vec<(super::UnitId, PointId)> = self
            .net
            .units()
            .filter(|(_, unit)| unit.kind != UnitKind::Breaker)
            .flat_map(|(id, unit)| {
                unit.terminals.iter().filter(|(name, _)| name.is_grounding()).map(move |&(_, point)| (id, point))
            })
            .collect();
        for (unit, point) in screws {
            if self.nets.is_ground(point) {
                continue;
            }
            let here = self.net.unit(unit);
            // A metal box belongs to the circuits whose cables enter it.
            let circuit = here.circuit.or_else(|| {
                let run = self.net.runs.iter().find(|run| run.ends.contains(&here.place))?;
                run.circuits.first().copied()
            });
            let Some(circuit) = circuit else { continue };
            let (item, place) = (here.item, self.net.place(here.place).item);
            let (kind, says) = if self.ever[self.nets.net(point)].0 {
                (FaultKind::FrameLive, "has a hot conductor on its ground: its metal parts become live")
            } else if with_contacts.is_ground(point) {
                (FaultKind::GroundSwitched, "has a ground only while a switch is closed")
            } else {
                (FaultKind::GroundMissing, "has no ground")
            };
            let kind_word = self.job.schema.spec(self.job.item(item).kind).word;
            let message = format!("{kind_word} `{}` {says}", self.id(item));
            self.tell(
                kind,
                item,
                Some((place, Span::NONE)),
                Some(circuit),
                message,
                "splice all grounds in the box with a pigtail to every green screw and to a metal box",
            );
        }
    }

    /// Neutrals of multiwire circuits that would open with a device taken out.
    pub(super) fn neutrals_through_devices(&mut self) {
        let mut through = Vec::new();
        for (id, unit) in self.net.units() {
            let (Some(a), Some(b), Some(circuit)) =
                (unit.terminal(Terminal::Silver), unit.terminal(Terminal::Silver2), unit.circuit)
            else {
                continue;
            };
            let lands = |point: PointId| {
                self.makeups[unit.place.at()]
                    .joints
                    .iter()
                    .any(|joint| joint.points.len() > 1 && joint.points.contains(&point))
            };
            let shared =
                self.net.neutral_of.values().filter(|owner| **owner == self.net.neutral_owner(circuit)).count() > 1;
            if shared && lands(a) && lands(b) {
                let without = Nets::of(self.net, self.makeups, Joined { removed: Some(id), ..Joined::default() });
                if without.is_neutral(a) != without.is_neutral(b) {
                    through.push(id);
                }
            }
        }
        for unit in through {
            let message = format!(
                "the neutral of a multiwire circuit runs through `{}`: taking it out would open it",
                self.id(self.unit_item(unit))
            );
            self.tell_unit(
                FaultKind::NeutralThroughDevice,
                unit,
                message,
                "splice the neutrals and bring a pigtail to the device",
            );
        }
    }
}
