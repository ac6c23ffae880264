//! Which switches control which loads.

use std::collections::BTreeMap;

use super::gap::Gap;
use super::network::{Network, Terminal, UnitId, UnitKind};
use crate::model::kinds::device;
use crate::model::{ItemIndex, Job};

/// Switches that together control the same loads.
#[derive(Clone, Debug)]
pub struct Group {
    /// The switches; several stand in the order in which the current meets them.
    pub switches: Vec<UnitId>,
    /// What they control, each with the terminal that the switched leg lands on.
    pub loads: Vec<(UnitId, Terminal)>,
    /// The circuit.
    pub circuit: ItemIndex,
    /// The GFCI device whose load terminals feed it.
    pub behind: Option<UnitId>,
}

impl Group {
    /// Returns whether it opens both conductors of a two-pole circuit.
    pub fn is_tied(&self, net: &Network) -> bool {
        self.switches.iter().any(|&unit| net.unit(unit).kind == UnitKind::DoublePole)
    }
}

/// Finds the control groups of a job, in the order of their first load, and what can't be a group.
pub(super) fn groups(job: &Job, net: &Network) -> (Vec<Group>, Vec<Gap>) {
    let mut of_load: BTreeMap<UnitId, Vec<UnitId>> = BTreeMap::new();
    for (switch, unit) in net.units().filter(|(_, unit)| unit.is_switch()) {
        for field in [device::LIGHTS, device::CONTROLLED_DEVICES, device::CONTROLLED_APPLIANCES] {
            for load in job.links(unit.item, field).filter_map(|item| net.find_unit(item)) {
                of_load.entry(load).or_default().push(switch);
            }
        }
    }
    let mut by_switches: BTreeMap<Vec<UnitId>, Group> = BTreeMap::new();
    let mut gaps = Vec::new();
    for (load, mut switches) in of_load {
        switches.sort_unstable();
        switches.dedup();
        let unit = net.unit(load);
        let Some(circuit) = unit.circuit else { continue };
        let behind = switches.first().and_then(|&first| gfci_above(job, net, first));
        let group = by_switches.entry(switches.clone()).or_insert_with(|| Group {
            switches,
            loads: Vec::new(),
            circuit,
            behind,
        });
        if let Some(terminal) = leg_terminal(job, net, load) {
            group.loads.push((load, terminal));
        }
    }
    let mut groups = Vec::new();
    let mut taken: BTreeMap<UnitId, ()> = BTreeMap::new();
    for (_, mut group) in by_switches {
        if let Err(gap) = settle(job, net, &mut group, &mut taken) {
            gaps.push(gap);
        } else {
            groups.push(group);
        }
    }
    (groups, gaps)
}

/// The GFCI device that a device's conductors come from.
pub(super) fn gfci_above(job: &Job, net: &Network, unit: UnitId) -> Option<UnitId> {
    let item = net.unit(unit).item;
    let is_device = job.schema.kind(device::NAME) == Some(job.item(item).kind);
    let above = is_device.then(|| job.link(item, device::GFCI_FROM)).flatten()?;
    net.find_unit(above).filter(|&above| above != unit && matches!(net.unit(above).kind, UnitKind::Gfci { .. }))
}

/// The terminal of a controlled load that its switched leg lands on.
fn leg_terminal(job: &Job, net: &Network, load: UnitId) -> Option<Terminal> {
    let unit = net.unit(load);
    Some(match unit.kind {
        UnitKind::Receptacle { .. } if job.text(unit.item, device::SWITCHED) == Some("half") => Terminal::Brass2,
        UnitKind::Receptacle { .. } => Terminal::Brass,
        UnitKind::Gfci { .. } => Terminal::LineHot,
        UnitKind::Load | UnitKind::Load240 | UnitKind::Receptacle240 => Terminal::Hot,
        _ => return None,
    })
}

/// Holds that the switches of a group fit together, and puts them in an order that can work.
fn settle(job: &Job, net: &Network, group: &mut Group, taken: &mut BTreeMap<UnitId, ()>) -> Result<(), Gap> {
    let item = net.unit(group.switches[0]).item;
    let names =
        |units: &[UnitId]| units.iter().map(|&unit| job.id(net.unit(unit).item)).collect::<Vec<_>>().join("`, `");
    let gap = |message: String, help: &str| Gap::new(job, group.circuit, item, message).help(help);
    if let Some(&again) = group.switches.iter().find(|switch| taken.contains_key(switch)) {
        let message = format!("switch `{}` controls loads that other switches control only in part", names(&[again]));
        return Err(gap(message, "switches that work together must all control the same loads; set `controls` alike"));
    }
    taken.extend(group.switches.iter().map(|&switch| (switch, ())));
    let kind = |unit: &UnitId| net.unit(*unit).kind;
    let count = |wanted: UnitKind| group.switches.iter().filter(|unit| kind(unit) == wanted).count();
    let (three, four, all) = (count(UnitKind::ThreeWay), count(UnitKind::FourWay), group.switches.len());
    let across = group.loads.iter().any(|(unit, _)| matches!(kind(unit), UnitKind::Load240 | UnitKind::Receptacle240));
    if across != group.is_tied(net) {
        let message = format!("`{}` and what it controls don't open the same conductors", names(&group.switches));
        return Err(gap(
            message,
            "a load across both ungrounded conductors takes a two-pole switch, others a single-pole one",
        ));
    }
    match (all, three, four) {
        (1, 0, 0) => Ok(()),
        (_, 2, _) if three + four == all => {
            group.switches.sort_by_key(|unit| kind(unit) == UnitKind::FourWay);
            let last = group.switches.remove(1);
            group.switches.push(last);
            Ok(())
        }
        (1, 1, 0) => Err(gap(
            format!("three-way switch `{}` has no mate", names(&group.switches)),
            "give a second three-way switch that controls the same, or make it single-pole",
        )),
        _ => Err(gap(
            format!("`{}` can't control the same load together", names(&group.switches)),
            "two three-way switches, with any four-way ones between them, control a load from several places",
        )),
    }
}
