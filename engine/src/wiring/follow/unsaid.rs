//! Circuits of which the job file leaves something unsaid that the wiring turns on: they are not followed as if it were not there.

use std::collections::BTreeMap;

use super::super::build::items;
use super::super::network::Network;
use super::super::units::{can_control, device_kind};
use crate::model::kinds::{circuit, device, luminaire};
use crate::model::{FieldId, ItemIndex, Job};

/// By circuit the first item and field that would have to be recorded to follow it.
pub type Unsaid = BTreeMap<ItemIndex, (ItemIndex, FieldId)>;

/// Returns the circuits with a device or luminaire that is in no box on record, and with a switch of which nobody wrote what it
/// controls. An item of which nobody wrote the circuit leaves those open that come to its box, or all where none does: it may be on any.
pub(super) fn unsaid(job: &Job, net: &Network) -> Unsaid {
    let mut list = List { job, net, unsaid: Unsaid::new() };
    for &item in items(job, device::NAME) {
        if device_kind(job, item).is_none() {
            continue;
        }
        list.placed(item, device::BOX, device::CIRCUIT);
        if can_control(job, item) && list.lacks(item, device::LIGHTS) {
            list.add(job.link(item, device::CIRCUIT), (item, device::LIGHTS));
        }
    }
    for &item in items(job, luminaire::NAME) {
        list.placed(item, luminaire::BOX, luminaire::CIRCUIT);
    }
    list.unsaid
}

struct List<'a> {
    job: &'a Job,
    net: &'a Network,
    unsaid: Unsaid,
}

impl List<'_> {
    fn lacks(&self, item: ItemIndex, field: FieldId) -> bool {
        self.job.cell(item, field).is_missing()
    }

    /// Adds the circuits that an item leaves open for want of its box or its circuit.
    fn placed(&mut self, item: ItemIndex, in_box: FieldId, on: FieldId) {
        let (job, net) = (self.job, self.net);
        if !self.lacks(item, in_box) && !self.lacks(item, on) {
            return;
        }
        let place = job.link(item, in_box).or(Some(item)).and_then(|at| net.find_place(at));
        if place.is_none() && self.lacks(item, in_box) {
            self.add(job.link(item, on), (item, in_box));
        }
        if !self.lacks(item, on) {
            return;
        }
        let coming = net.runs.iter().filter(|run| place.is_some_and(|place| run.ends.contains(&place)));
        let mut coming: Vec<ItemIndex> = coming.flat_map(|run| run.circuits.iter().copied()).collect();
        if coming.is_empty() {
            coming.extend(items(job, circuit::NAME));
        }
        self.add(coming, (item, on));
    }

    fn add(&mut self, circuits: impl IntoIterator<Item = ItemIndex>, what: (ItemIndex, FieldId)) {
        for circuit in circuits {
            self.unsaid.entry(circuit).or_insert(what);
        }
    }
}
