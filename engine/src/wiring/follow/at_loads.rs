//! Mistakes that show at loads and switches: dead, reversed, in series, not controlled as intended; and uneven currents.

use std::collections::BTreeMap;

use super::super::network::{RunId, Source, Terminal, UnitId, UnitKind};
use super::path::Paths;
use super::{Cluster, FaultKind, Gets, Signal, View};
use crate::source::Span;

/// Most states of a cluster in which the way of the current is traced conductor by conductor.
const MOST_TRACED: usize = 64;

impl View<'_> {
    /// Whether a load is meant to lie across both legs.
    fn across(&self, load: usize) -> bool {
        let unit = self.net.unit(self.loads[load].unit);
        unit.terminal(Terminal::Hot2) == Some(self.loads[load].back)
    }

    /// The switches meant to control a load.
    fn meant_switches(&self, load: usize) -> &[UnitId] {
        let load = &self.loads[load];
        let Some(&(group, terminal)) = self.controlled.get(&load.unit) else { return &[] };
        let unit = self.net.unit(load.unit);
        let mine = match unit.kind {
            UnitKind::Receptacle { half: true } => unit.terminal(terminal) == Some(load.hot),
            _ => true,
        };
        if mine { &self.plan.groups[group].switches } else { &[] }
    }

    /// The circuit whose breaker is meant to feed a load.
    fn meant_circuit(&self, load: usize) -> Option<crate::model::ItemIndex> {
        let load = &self.loads[load];
        match &self.meant[load.hot.at()] {
            Some(Signal::Hot(circuit, _)) => Some(*circuit),
            Some(Signal::Leg(group)) => self.plan.groups.get(*group as usize).map(|group| group.circuit),
            _ => self.net.unit(load.unit).circuit,
        }
    }

    pub(super) fn loads(&mut self) {
        let clusters = std::mem::take(&mut self.clusters);
        for cluster in &clusters {
            for (number, &load) in cluster.loads.iter().enumerate() {
                self.load(cluster, number, load);
            }
            self.idle_switches(cluster);
        }
        self.clusters = clusters;
        self.neutral_breakers();
        self.neutrals_through_devices();
    }

    fn load(&mut self, cluster: &Cluster, number: usize, load: usize) {
        let (unit, across) = (self.loads[load].unit, self.across(load));
        let want = if across { Gets::Across } else { Gets::Full };
        let name = self.half_name(load);
        let gets = |what| cluster.gets.iter().any(|state| state[number] == what);
        let works: Vec<bool> = cluster.gets.iter().map(|state| state[number] == want).collect();
        let before = self.found.len();
        if gets(Gets::Reversed) {
            let message = format!("{name} has its hot on the grounded terminal and its neutral on the ungrounded one");
            self.tell_unit(
                FaultKind::Reversed,
                unit,
                message,
                "land the white on the silver screw or white lead, the hot on the brass screw or black lead",
            );
        }
        if gets(Gets::OverGround) {
            self.tell_unit(
                FaultKind::GroundCarriesCurrent,
                unit,
                format!("{name} returns its current over the ground"),
                "give it the neutral of its circuit",
            );
        }
        if gets(Gets::Series) {
            self.tell_unit(
                FaultKind::InSeries,
                unit,
                format!("{name} is in series with another load"),
                "bring hot and neutral to each load by themselves",
            );
        }
        if gets(if across { Gets::Full } else { Gets::Across }) {
            let volts = if across { "one leg and the neutral" } else { "both legs" };
            self.tell_unit(
                FaultKind::WrongVoltage,
                unit,
                format!("{name} lies between {volts}"),
                "check which conductors land on it",
            );
        }
        let seen = cluster.neutral_seen[number];
        let lives = cluster.hot_seen[number];
        if before == self.found.len() && !across && seen == 0 && lives && !cluster.ground_seen[number] {
            self.tell_unit(
                FaultKind::NeutralOpen,
                unit,
                format!("the neutral of {name} leads nowhere"),
                "splice its neutral to the neutral of its circuit",
            );
        } else if before == self.found.len() && !across && lives && seen > 0 && seen < cluster.gets.len() {
            self.tell_unit(
                FaultKind::NeutralSwitched,
                unit,
                format!("a switch opens the neutral of {name}, which stays live while it is off"),
                "let the switch open the hot, and run the neutral past it",
            );
        } else if before == self.found.len() && !works.contains(&true) {
            self.tell_unit(
                FaultKind::Dead,
                unit,
                format!("{name} never gets power, in any position of the switches"),
                "follow its hot back to the last box where it is live",
            );
        }
        if across && works.contains(&true) && cluster.live_off[number] {
            self.tell_unit(
                FaultKind::LiveWhenOff,
                unit,
                format!("{name} stays live on one leg while its switch is off"),
                "bring both ungrounded conductors through the switch",
            );
        }
        if works.contains(&true) {
            self.control(cluster, load, &works, &name);
        }
    }

    fn half_name(&self, load: usize) -> String {
        let load = &self.loads[load];
        let unit = self.net.unit(load.unit);
        let item = self.job.item(unit.item);
        let word = match unit.kind {
            UnitKind::Receptacle { half: true } if unit.terminal(Terminal::Brass2) == Some(load.hot) => {
                "lower half of receptacle"
            }
            UnitKind::Receptacle { half: true } => "upper half of receptacle",
            UnitKind::Receptacle { .. } | UnitKind::Receptacle240 | UnitKind::Gfci { .. } => "receptacle",
            _ => self.job.schema.spec(item.kind).word,
        };
        format!("{word} `{}`", self.job.id(unit.item))
    }

    /// Whether toggling a switch ever changes a load, and whether it does so in every state.
    fn influence(works: &[bool], switch: usize) -> (bool, bool) {
        let changes = |state: usize| works.get(state) != works.get(state ^ 1 << switch);
        ((0..works.len()).any(changes), (0..works.len()).all(changes))
    }

    fn control(&mut self, cluster: &Cluster, load: usize, works: &[bool], name: &str) {
        let unit = self.loads[load].unit;
        let meant = self.meant_switches(load).to_vec();
        let influence: Vec<(UnitId, bool, bool)> = cluster
            .switches
            .iter()
            .enumerate()
            .take(super::MOST_SWITCHES)
            .map(|(at, &switch)| {
                let (some, all) = View::influence(works, at);
                (switch, some, all)
            })
            .collect();
        let strange: Vec<UnitId> = influence
            .iter()
            .filter(|(switch, some, _)| *some && !meant.contains(switch))
            .map(|(switch, ..)| *switch)
            .collect();
        if meant.is_empty() {
            if !strange.is_empty() {
                let message = format!("{name} is switched by {}, which should not control it", self.names(&strange));
                self.tell_unit(FaultKind::SwitchedBySurprise, unit, message, "feed it ahead of the switch");
            }
            return;
        }
        let weak: Vec<UnitId> = meant
            .iter()
            .copied()
            .filter(|switch| !influence.iter().any(|(other, _, all)| other == switch && *all))
            .collect();
        let message = if !works.contains(&false) {
            format!("{name} stays on whatever {} does", self.names(&meant))
        } else if !strange.is_empty() {
            format!("{name} depends on {}, which should not control it", self.names(&strange))
        } else if !weak.is_empty() {
            format!("{name} does not follow {} in every position of the others", self.names(&weak))
        } else {
            return;
        };
        self.tell_unit(
            FaultKind::ControlWrong,
            unit,
            message,
            "check commons and travellers of its switches, and where its switched leg is spliced",
        );
    }

    /// Switches that control something on paper and change nothing.
    fn idle_switches(&mut self, cluster: &Cluster) {
        for (at, &switch) in cluster.switches.iter().enumerate().take(super::MOST_SWITCHES) {
            let active = (0..cluster.loads.len()).any(|number| {
                let gets = |state: usize| cluster.gets.get(state).map(|all| all[number]);
                (0..cluster.gets.len()).any(|state| gets(state) != gets(state ^ 1 << at))
            });
            let meant =
                self.plan.groups.iter().any(|group| group.switches.contains(&switch) && !group.loads.is_empty());
            if !active && meant {
                let message = format!("switch `{}` changes nothing", self.id(self.unit_item(switch)));
                self.tell_unit(
                    FaultKind::SwitchDoesNothing,
                    switch,
                    message,
                    "check that it breaks the hot between the feed and the switched leg",
                );
            }
        }
    }

    /// Switches with the neutral on a terminal.
    fn neutral_breakers(&mut self) {
        let switches: Vec<UnitId> = self
            .net
            .units()
            .filter(|(_, unit)| {
                unit.is_switch()
                    && unit.terminals.iter().any(|&(name, point)| !name.is_grounding() && self.nets.is_neutral(point))
            })
            .map(|(id, _)| id)
            .collect();
        for switch in switches {
            let message = format!("switch `{}` opens the neutral", self.id(self.unit_item(switch)));
            self.tell_unit(
                FaultKind::NeutralSwitched,
                switch,
                message,
                "let the switch open the hot, and splice the neutrals past it",
            );
        }
    }

    /// Alarms whose interconnect lead is not joined with that of the others, or is joined with anything else.
    pub(super) fn interconnects(&mut self) {
        let mut of_circuit: BTreeMap<crate::model::ItemIndex, Vec<(UnitId, usize)>> = BTreeMap::new();
        for (point, what) in self.net.points() {
            if let (Some(super::Signal::Interconnect(circuit)), super::super::Point::Terminal(unit, _)) =
                (self.meant[point.at()], what)
            {
                of_circuit.entry(circuit).or_default().push((unit, self.nets.net(point)));
            }
        }
        for alarms in of_circuit.into_values() {
            // The net that most of them are on is the one that the others have lost.
            let most = alarms
                .iter()
                .map(|(_, net)| *net)
                .max_by_key(|net| alarms.iter().filter(|(_, other)| other == net).count());
            for (unit, net) in alarms {
                let alone = Some(net) != most;
                if alone || self.ever[net] != (false, false) || !self.nets.sources(net).is_empty() {
                    let how = if alone {
                        "is not joined with those of the other alarms"
                    } else {
                        "is joined with a conductor of another function"
                    };
                    let message = format!("the interconnect lead of alarm `{}` {how}", self.id(self.unit_item(unit)));
                    self.tell_unit(
                        FaultKind::InterconnectBroken,
                        unit,
                        message,
                        "join the interconnect leads of all alarms with each other and with nothing else",
                    );
                }
            }
        }
    }

    /// Traces the current of every working load, conductor by conductor.
    pub(super) fn currents(&mut self) {
        let mut paths = Paths::of(self.net, self.makeups);
        let clusters = std::mem::take(&mut self.clusters);
        let mut uneven: BTreeMap<(RunId, UnitId), ()> = BTreeMap::new();
        let mut borrowed: BTreeMap<(UnitId, crate::model::ItemIndex, crate::model::ItemIndex), ()> = BTreeMap::new();
        let mut strange: BTreeMap<(UnitId, crate::model::ItemIndex, crate::model::ItemIndex), ()> = BTreeMap::new();
        for cluster in &clusters {
            for (number, &load) in cluster.loads.iter().enumerate() {
                let on = (0..cluster.gets.len())
                    .filter(|&state| matches!(cluster.gets[state][number], Gets::Full | Gets::Across));
                for state in on.take(MOST_TRACED) {
                    let position =
                        |unit: UnitId| cluster.switches.binary_search(&unit).map_or(2, |at| (state >> at & 1) as u8);
                    let line = |source| matches!(source, Source::Line { .. });
                    let bar = |source| matches!(source, Source::Neutral(_));
                    let mut count = BTreeMap::new();
                    let at = self.loads[load];
                    let from = paths.walk(at.hot, &position, line, true, &mut count);
                    let full = cluster.gets[state][number] == Gets::Full;
                    let to = if full {
                        paths.walk(at.back, &position, bar, false, &mut count)
                    } else {
                        paths.walk(at.back, &position, line, false, &mut count)
                    };
                    if let (Some(Source::Line { circuit, .. }), Some(own)) = (from, self.meant_circuit(load))
                        && circuit != own
                    {
                        strange.insert((at.unit, circuit, own), ());
                    }
                    if let (Some(Source::Line { circuit, .. }), Some(Source::Neutral(owner))) = (from, to)
                        && self.net.neutral_owner(circuit) != owner
                    {
                        borrowed.insert((at.unit, circuit, owner), ());
                    }
                    for (run, _) in count.into_iter().filter(|(_, sum)| *sum != 0) {
                        uneven.insert((run, at.unit), ());
                    }
                }
            }
        }
        self.clusters = clusters;
        for (unit, circuit, own) in strange.into_keys() {
            let message = format!(
                "`{}` belongs to circuit `{}` and is fed by circuit `{}`: it stays live when its own breaker is off",
                self.id(self.unit_item(unit)),
                self.id(own),
                self.id(circuit)
            );
            self.tell_unit(
                FaultKind::OtherCircuit,
                unit,
                message,
                "bring the hot of its own circuit to it, or write the circuit that it is to be on",
            );
        }
        for (unit, circuit, owner) in borrowed.into_keys() {
            let message = format!(
                "`{}` is fed by circuit `{}` and returns over the neutral of circuit `{}`",
                self.id(self.unit_item(unit)),
                self.id(circuit),
                self.id(owner)
            );
            self.tell_unit(
                FaultKind::NeutralBorrowed,
                unit,
                message,
                "join its neutral to the neutral of the circuit that feeds it",
            );
        }
        let mut told = std::collections::BTreeSet::new();
        for (run, unit) in uneven.into_keys() {
            if told.insert(run) {
                let (item, circuit, place) = {
                    let here = self.net.run(run);
                    (here.item, here.circuits.first().copied(), self.net.place(here.ends[1]).item)
                };
                let message = format!(
                    "the conductors of `{}` don't carry equal currents both ways: that of `{}` goes one way only",
                    self.id(item),
                    self.id(self.unit_item(unit))
                );
                self.tell(
                    FaultKind::NetCurrent,
                    item,
                    Some((place, Span::NONE)),
                    circuit,
                    message,
                    "keep all conductors of a circuit together in the same cable or raceway",
                );
            }
        }
    }
}
