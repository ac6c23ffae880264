//! What a job lacks, proposed from the code in force: receptacles, switches, lights, alarms, circuits, cables.
//!
//! Three steps, none of which touches a file. [`propose`] plans from the job and the book alone. The caller writes the items into a
//! draft and has it inspected; [`lessons()`] reads from the findings what the rules of the place ask beyond the plan: protection,
//! marked devices, another wiring method, fewer outlets on a circuit. [`volumes::sizes`] sizes the boxes for what the draft puts into them.
//! Planned again with what was learned, the proposal settles in a few rounds; the caller takes back what has not put its own finding
//! right, as [`standings`] show. What only somebody on site can know is never proposed.

mod alarms;
mod appliance_outlets;
mod appliances;
mod cables;
mod choices;
mod circuits;
pub mod cover;
mod draft;
mod entrances;
mod item;
mod lessons;
mod lights;
mod only;
mod places;
mod receptacles;
mod runs;
pub mod volumes;
mod ways;

use std::collections::BTreeMap;

pub use choices::{Choices, Method};
pub use item::{Field, Proposed, Written, settle};
pub use lessons::{Change, Check, Lesson, Sort, Standing, lessons, standings};
pub use only::{Only, Part};

use crate::calc::Code;
use crate::model::Job;
use crate::model::kinds::{panel, site};
use crate::quantity::UnitSystem;

/// The order of kinds in a job file; a device or luminaire comes with its box.
const ORDER: [&str; 5] = ["panel", "circuit", "box", "cable", "raceway"];

/// What a job lacks, as far as it can be told.
#[derive(Clone, Debug, Default)]
pub struct Proposal {
    /// Items to add, and fields to add to items of the job.
    pub items: Vec<Proposed>,
    /// What can't be proposed.
    pub unproposed: Vec<Unproposed>,
}

/// Something that can't be proposed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unproposed {
    /// Id of the item that lacks it.
    pub item: String,
    /// Its kind word.
    pub kind: String,
    /// What, and why not.
    pub why: String,
    /// What the user can do.
    pub fix: Option<String>,
}

/// Proposes what a job lacks under a code, with the choices so far. The same input always gives the same proposal.
pub fn propose(
    job: &Job,
    book: &dyn Code,
    choices: &Choices,
    sizes: &BTreeMap<String, volumes::Size>,
    only: &Only,
) -> Proposal {
    let mut draft = draft::Draft::new(job, book, choices, only);
    draft.required_circuits();
    draft.appliances();
    draft.receptacles();
    draft.lights();
    draft.alarms();
    draft.panel();
    draft.label_circuits();
    draft.cables();
    let mut items = std::mem::take(&mut draft.items);
    for item in items.iter_mut().filter(|item| item.kind == "box" && item.onto.is_none()) {
        if let Some(size) = sizes.get(&item.id) {
            item.put(size.field.0, size.field.1.clone());
            if size.gangs > 1 {
                item.put("gangs", Written::Number(size.gangs));
            }
            if size.metal {
                item.put("material", Written::text("metal"));
                item.put("clamps", Written::Flag(false));
            }
        }
        if !sizes.get(&item.id).is_some_and(|size| size.metal) {
            item.fields.push(Field { key: "material", value: Written::text("nonmetallic"), unless: &["material"] });
            item.fields.push(Field { key: "clamps", value: Written::Flag(true), unless: &["clamps"] });
        }
    }
    choices.lay_over(&mut items);
    say_new(job, &mut items);
    Proposal { items: in_order(items), unproposed: std::mem::take(&mut draft.unproposed) }
}

/// Says of items in existing rooms, and of circuits of an existing panel, that they are new work.
fn say_new(job: &Job, items: &mut [Proposed]) {
    let is_existing = |id: &str| job.find(id).is_some_and(|item| job.is_existing(item));
    let panels = job.schema.kind(panel::NAME).map_or(&[][..], |kind| job.of_kind(kind));
    let first = panels.first().map(|&panel| job.id(panel));
    for item in items.iter_mut().filter(|item| item.onto.is_none()) {
        let old = match item.kind {
            "circuit" => choices::field(item, "panel").or(first).is_some_and(is_existing),
            "box" => choices::field(item, "room").is_some_and(is_existing),
            _ => false,
        };
        if old {
            item.put("existing", Written::Flag(false));
        }
    }
}

/// Puts items in the order of a job file: each box with what is in it behind it.
fn in_order(items: Vec<Proposed>) -> Vec<Proposed> {
    let place = |(own, item): (usize, &Proposed)| {
        let in_box = choices::field(item, "box").filter(|_| matches!(item.kind, "device" | "luminaire"));
        let at = in_box.and_then(|id| items.iter().position(|other| other.kind == "box" && other.id == id));
        let kind = if in_box.is_some() { "box" } else { item.kind };
        (ORDER.iter().position(|known| *known == kind), at.unwrap_or(own), own)
    };
    let mut order: Vec<_> = items.iter().enumerate().map(place).collect();
    order.sort_unstable();
    let mut items: Vec<Option<Proposed>> = items.into_iter().map(Some).collect();
    order.into_iter().filter_map(|(.., own)| items.get_mut(own).and_then(Option::take)).collect()
}

/// Returns the units in which a job is written.
pub fn units(job: &Job) -> UnitSystem {
    let site = job.schema.kind(site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
    match site.and_then(|site| job.text(site, site::UNITS)) {
        Some("metric") => UnitSystem::Metric,
        _ => UnitSystem::Customary,
    }
}
