//! Make-up as it was built: splices, landings and caps written in the job file, and how they differ from the plan.

use std::collections::{BTreeMap, BTreeSet};

use super::derive::Derivation;
use super::joint::{Joint, MakeUp};
use super::network::{Element, Network, PlaceId, Point, PointId};
use crate::model::kinds::{cap, landing, splice};
use crate::model::{Cell, ItemIndex, Job};
use crate::problem::{Problem, did_you_mean};
use crate::source::Span;

/// Returns the make-up of every place, as built where it is written, and what is wrong with what is written.
pub(super) fn makeups(job: &Job, net: &Network, plan: &Derivation) -> (Vec<MakeUp>, Vec<Problem>) {
    let mut read = Read { job, net, built: BTreeMap::new(), problems: Vec::new() };
    read.all();
    let mut makeups = plan.makeups.clone();
    for (place, makeup) in read.built {
        if let Some(slot) = makeups.get_mut(place.at()) {
            *slot = makeup;
        }
    }
    (makeups, read.problems)
}

struct Read<'a> {
    job: &'a Job,
    net: &'a Network,
    built: BTreeMap<PlaceId, MakeUp>,
    problems: Vec<Problem>,
}

impl Read<'_> {
    fn all(&mut self) {
        let job = self.job;
        for &item in super::build::items(job, splice::NAME) {
            let Some(place) = self.place(job.link(item, splice::BOX)) else { continue };
            let cell = job.cell(item, splice::JOINS);
            let cells = if cell.is_missing() { &[] } else { job.list(cell.to_list()) };
            let points: Vec<PointId> = cells.iter().filter_map(|&cell| self.point(place, cell)).collect();
            self.joint(place, points, cell.span());
        }
        for &item in super::build::items(job, landing::NAME) {
            let Some(place) = self.place(job.link(item, landing::BOX)) else { continue };
            let cells = [job.cell(item, landing::CONDUCTOR), job.cell(item, landing::TERMINAL)];
            let points: Vec<PointId> = cells.into_iter().filter_map(|cell| self.point(place, cell)).collect();
            self.joint(place, points, cells[0].span());
        }
        for &item in super::build::items(job, cap::NAME) {
            let Some(place) = self.place(job.link(item, cap::BOX)) else { continue };
            if let Some(point) = self.point(place, job.cell(item, cap::CONDUCTOR)) {
                self.of(place).caps.push(point);
            }
        }
    }

    fn place(&self, item: Option<ItemIndex>) -> Option<PlaceId> {
        self.net.find_place(item?)
    }

    fn of(&mut self, place: PlaceId) -> &mut MakeUp {
        self.built.entry(place).or_insert_with(|| MakeUp {
            place,
            joints: Vec::new(),
            caps: Vec::new(),
            as_built: true,
        })
    }

    fn joint(&mut self, place: PlaceId, points: Vec<PointId>, span: Span) {
        self.of(place).joints.push(Joint { function: None, points, span });
    }

    /// Reads `C1/to.black` or `R1.brass`.
    fn point(&mut self, place: PlaceId, cell: Cell) -> Option<PointId> {
        if cell.is_missing() {
            return None;
        }
        let text = self.job.symbols.text(cell.to_symbol());
        let here = &self.net.place(place).points;
        let names: Vec<(String, PointId)> =
            here.iter().map(|&point| (name(self.job, self.net, point), point)).collect();
        let wanted = text.replace(".green", ".bare");
        // A green conductor is the equipment grounding one; a device's green screw keeps its name.
        let mut fits =
            names.iter().filter(|(name, _)| name == text).chain(names.iter().filter(|(name, _)| *name == wanted));
        let used: BTreeSet<PointId> = self
            .built
            .get(&place)
            .map(|makeup| {
                makeup
                    .joints
                    .iter()
                    .flat_map(|joint| joint.points.iter().copied())
                    .chain(makeup.caps.iter().copied())
                    .collect()
            })
            .unwrap_or_default();
        // Conductors of one colour in a raceway have one name: they are taken in turn.
        let first = fits.clone().find(|(_, point)| !used.contains(point)).or_else(|| fits.next());
        if let Some((_, point)) = first {
            return Some(*point);
        }
        let box_id = self.job.id(self.net.place(place).item);
        let problem =
            Problem::new(cell.span(), format!("there is no conductor or terminal `{text}` in box `{box_id}`"));
        let help = did_you_mean(text, names.iter().map(|(name, _)| name.as_str())).unwrap_or_else(|| {
            String::from("write a conductor as `CABLE/from.black` or `CABLE/to.white`, a terminal as `DEVICE.brass`")
        });
        self.problems.push(problem.label("nothing of this name").help(help));
        None
    }
}

/// Returns the name of a conductor's end or a terminal, as job files write it.
pub fn name(job: &Job, net: &Network, point: PointId) -> String {
    match net.point(point) {
        Point::End(wire, side) => {
            let wire = net.wire(wire);
            let end = net.run(wire.run).end_items[usize::from(side.min(1))];
            format!("{}.{}", job.id(end), wire.colour.word())
        }
        Point::Terminal(unit, terminal) => format!("{}.{}", job.id(net.unit(unit).item), terminal.word()),
    }
}

/// Writes a make-up as the keys of its box in a job file.
pub fn write(job: &Job, net: &Network, makeup: &MakeUp) -> String {
    let quoted = |point: PointId| format!("\"{}\"", name(job, net, point));
    let mut splices = Vec::new();
    let mut landings = Vec::new();
    for joint in &makeup.joints {
        match (joint.ends(net).collect::<Vec<_>>().as_slice(), joint.terminals(net).collect::<Vec<_>>().as_slice()) {
            ([end], [terminal]) => {
                landings.push(format!("{{ conductor = {}, terminal = {} }}", quoted(*end), quoted(*terminal)));
            }
            _ => {
                let points: Vec<String> = joint.points.iter().map(|&point| quoted(point)).collect();
                splices.push(format!("{{ joins = [{}] }}", points.join(", ")));
            }
        }
    }
    let caps: Vec<String> = makeup.caps.iter().map(|&point| format!("{{ conductor = {} }}", quoted(point))).collect();
    let mut text = String::new();
    for (key, list) in [("splice", splices), ("landing", landings), ("cap", caps)] {
        if !list.is_empty() {
            text.push_str(&format!("{key} = [\n  {},\n]\n", list.join(",\n  ")));
        }
    }
    text
}

/// Where a box as built and the plan differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The box.
    pub place: PlaceId,
    /// Conductors and terminals that the plan joins, as names.
    pub planned: Vec<String>,
    /// For each group into which they fell as built, the names in it, with what else is joined to it.
    pub built: Vec<Vec<String>>,
    /// Where the first of them is written.
    pub span: Span,
}

/// Compares boxes written as built with the plan. Terminals that are one inside their device count as one.
pub fn compare(job: &Job, net: &Network, plan: &Derivation, makeups: &[MakeUp]) -> Vec<Difference> {
    let mut same: BTreeMap<PointId, PointId> = BTreeMap::new();
    for inside in &net.elements {
        match inside.element {
            Element::Tie(a, b) => _ = same.insert(b, a),
            // The two screws of a single-pole switch may be swapped.
            Element::Contact(..) | Element::Trip(..) | Element::Load(..) => {}
        }
    }
    let canonical = |point: PointId| same.get(&point).copied().unwrap_or(point);
    let mut differences = Vec::new();
    for makeup in makeups.iter().filter(|makeup| makeup.as_built) {
        let Some(planned) = plan.makeups.get(makeup.place.at()) else { continue };
        let group = |joints: &[Joint]| -> Vec<BTreeSet<PointId>> {
            let mut groups: Vec<BTreeSet<PointId>> = Vec::new();
            for joint in joints {
                let points: BTreeSet<PointId> = joint.points.iter().map(|&point| canonical(point)).collect();
                let (touching, mut apart): (Vec<_>, Vec<_>) =
                    groups.into_iter().partition(|group| !group.is_disjoint(&points));
                apart.push(touching.into_iter().fold(points, |all, group| all.union(&group).copied().collect()));
                groups = apart;
            }
            groups
        };
        let built = group(&makeup.joints);
        for wanted in group(&planned.joints) {
            if wanted.len() < 2 || built.contains(&wanted) {
                continue;
            }
            let names =
                |points: &BTreeSet<PointId>| points.iter().map(|&point| name(job, net, point)).collect::<Vec<_>>();
            let parts: Vec<Vec<String>> = built.iter().filter(|group| !group.is_disjoint(&wanted)).map(names).collect();
            let span = makeup
                .joints
                .iter()
                .find(|joint| joint.points.iter().any(|&point| wanted.contains(&canonical(point))))
                .map_or(job.item(net.place(makeup.place).item).header, |joint| joint.span);
            differences.push(Difference { place: makeup.place, planned: names(&wanted), built: parts, span });
        }
    }
    differences
}
