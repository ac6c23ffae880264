//! What a proposal learns from the inspection of its own draft. No rule is named here: the text of the rule that was not met tells
//! which field it asks for, so that a ruleset of one's own is followed as a shipped one is.

use std::collections::{BTreeMap, BTreeSet};

use super::item::{Proposed, Written};
use crate::calc::Code;
use crate::inspection::Inspected;
use crate::inspection::finding::{Finding, Outcome, Weight};
use crate::model::{Filled, Type};
use crate::quantity::{Dimension, Quantity};
use crate::script::{Shown, Verb};

/// How a circuit is wired.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// In the cable of the place's or the shop's habit.
    #[default]
    Cable,
    /// In metal-clad cable.
    Armored,
    /// In armored cable with its armor as the ground.
    SteelArmored,
    /// In metal tubing.
    Tubing,
}

/// Choices that go beyond the plain proposal, each with the citation that brought it about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Fields to set: by item and key.
    pub set: BTreeMap<(String, &'static str), (Written, String)>,
    /// How circuits are wired, by circuit.
    pub methods: BTreeMap<String, Method>,
    /// Conductor sizes larger than the breaker asks for: steps up, by circuit.
    pub larger: BTreeMap<String, usize>,
    /// Most outlets on a circuit, by what it serves.
    pub outlets: BTreeMap<String, usize>,
    /// Receptacles beyond those that cover the walls, by room.
    pub further: BTreeMap<String, usize>,
    /// Boxes whose height has to go by the reach of people.
    pub within_reach: BTreeSet<String>,
    /// Standard ratings above the least, by appliance.
    pub ratings: BTreeMap<String, usize>,
    /// Appliances that need a switch.
    pub controlled: BTreeSet<String>,
    /// How far from a tub that switch is, by appliance.
    pub from_tub: BTreeMap<String, String>,
}

/// Fields that a proposal may decide, because they say what to buy.
const TO_BUY: [&str; 11] = [
    "tamper_resistant",
    "weather_resistant",
    "in_use_cover",
    "extra_duty_cover",
    "interconnected",
    "battery_backed",
    "wet_rated",
    "damp_rated",
    "luminaire_rated",
    "fan_rated",
    "enclosed",
];

impl Choices {
    /// Learns from the inspection of a draft; returns whether anything new came of it.
    pub fn learn(&mut self, inspected: &Inspected, items: &[Proposed]) -> bool {
        let before = self.clone();
        let by_id: BTreeMap<&str, &Proposed> = items.iter().map(|item| (item.id.as_str(), item)).collect();
        for finding in &inspected.report.findings {
            match finding.outcome {
                Outcome::ToMeasure => self.bought(finding, &by_id, inspected),
                Outcome::Correction => self.correct(finding, &by_id, inspected, &before),
                Outcome::Excepted | Outcome::Met | Outcome::Permitted => {}
            }
        }
        self.even_out(items, &by_id);
        *self != before
    }

    /// Shares outlets out evenly where a last circuit would get a few that the others have no room for.
    fn even_out(&mut self, items: &[Proposed], by_id: &BTreeMap<&str, &Proposed>) {
        for serves in ["general", "lighting"] {
            let circuits = items.iter().filter(|item| item.kind == "circuit" && field(item, "serves") == Some(serves));
            let loads: Vec<usize> = circuits.map(|circuit| outlets_on(&circuit.id, by_id)).collect();
            let (Some(least), Some(most)) = (loads.iter().min(), loads.iter().max()) else { continue };
            if least * 2 < *most {
                let even = loads.iter().sum::<usize>().div_ceil(loads.len());
                let limit = self.outlets.entry(serves.to_owned()).or_insert(even);
                *limit = (*limit).min(even);
            }
        }
    }

    /// Sets what nobody recorded and a proposal may decide.
    fn bought(&mut self, finding: &Finding, items: &BTreeMap<&str, &Proposed>, inspected: &Inspected) {
        for missing in &finding.missing {
            let Some(item) = items.get(missing.item.as_str()) else { continue };
            let Some(&key) = TO_BUY.iter().find(|key| **key == missing.field) else { continue };
            let job = &inspected.job;
            let spec = job.schema.kind(item.kind).map(|kind| job.schema.spec(kind));
            let planned = spec.is_some_and(|spec| {
                spec.fields.iter().any(|field| {
                    field.name == key
                        && field.ty == Type::Flag
                        && matches!(field.filled, Filled::Written { as_built: false, .. })
                })
            });
            if planned {
                self.flag(&item.id, key, &finding.cite);
            }
        }
    }

    fn flag(&mut self, id: &str, key: &'static str, cite: &str) {
        self.set.entry((id.to_owned(), key)).or_insert_with(|| (Written::Flag(true), cite.to_owned()));
    }

    /// Puts right what a draft does not meet; one step a round, however many findings ask for it.
    fn correct(
        &mut self,
        finding: &Finding,
        items: &BTreeMap<&str, &Proposed>,
        inspected: &Inspected,
        before: &Choices,
    ) {
        let asked = inspected.job.files.text(finding.rule_at);
        let own = finding.item.split('/').next().unwrap_or_default();
        let circuit = circuit_of(own, items);
        if let Some((_, breaker)) = circuit.and_then(|id| Some((id, items.get(id)?))) {
            if asked.contains("is_gfci_protected") {
                return self.flag(&breaker.id, "gfci", &finding.cite);
            }
            if asked.contains("circuit.afci") || asked.contains("is_afci_protected") {
                return self.flag(&breaker.id, "afci", &finding.cite);
            }
        }
        let wired = |circuit: &&str| {
            items.values().any(|item| matches!(item.kind, "cable" | "raceway") && is_on(item, circuit))
        };
        if let Some(circuit) = circuit.filter(wired) {
            if asked.contains("wiring_method") || asked.contains("material") || asked.contains("route") {
                let next = match before.methods.get(circuit).copied().unwrap_or_default() {
                    Method::Cable => Method::Armored,
                    Method::Armored => Method::SteelArmored,
                    Method::SteelArmored | Method::Tubing => Method::Tubing,
                };
                self.methods.insert(circuit.to_owned(), next);
                return;
            }
            if asked.contains("size")
                || asked.contains("smallest_conductor")
                || asked.contains("voltage_drop")
                || finding.rule.contains("conductor")
            {
                let steps = before.larger.get(circuit).copied().unwrap_or(0) + 1;
                self.larger.insert(circuit.to_owned(), steps);
                return;
            }
        }
        if let Some(appliance) = circuit.and_then(|circuit| own_appliance(circuit, items))
            && asks_for_a_larger_breaker(asked)
        {
            let steps = before.ratings.get(appliance).copied().unwrap_or(0) + 1;
            self.ratings.insert(appliance.to_owned(), steps);
            return;
        }
        if finding.kind == "appliance" && asked.contains("controlled_by") {
            self.controlled.insert(own.to_owned());
            if let Some(length) = entry_after(asked, "from_tub >= code.").and_then(|key| {
                let book: &dyn Code = &*inspected.code.book;
                book.quantity_if(key, Dimension::Length).ok().flatten()
            }) {
                self.from_tub.insert(own.to_owned(), length.quantity.exact(super::units(&inspected.job)));
            }
            return;
        }
        let device = items.get(own);
        if asked.contains("is_gfci_protected")
            && let Some(device) = device.filter(|item| item.kind == "device")
        {
            return self.flag(&device.id, "gfci", &finding.cite);
        }
        if asked.contains("end.entry") {
            self.set.insert((own.to_owned(), "entry"), (Written::text("connector"), finding.cite.clone()));
            return;
        }
        if asked.contains("operable_") || asked.contains("centre") || asked.contains("top_edge") {
            let in_box = device.and_then(|item| field(item, "box")).unwrap_or(own);
            self.within_reach.insert(in_box.to_owned());
            return;
        }
        match finding.kind {
            "room" if asked.contains("receptacle") => {
                let more = before.further.get(own).copied().unwrap_or(0) + 1;
                self.further.insert(own.to_owned(), more);
            }
            "circuit" => {
                let serves = items.get(own).and_then(|item| field(item, "serves")).unwrap_or("general").to_owned();
                let on = outlets_on(own, items);
                // The rule says how many it allows, where it counts them; else one less is tried.
                let allowed = most(finding).and_then(Quantity::whole).and_then(|most| usize::try_from(most).ok());
                let fewer = allowed.or_else(|| in_proportion(finding, on));
                let fewer = fewer.filter(|fewer| *fewer < on).unwrap_or(on.saturating_sub(1)).max(1);
                let limit = self.outlets.entry(serves).or_insert(fewer);
                *limit = (*limit).min(fewer);
            }
            _ => {}
        }
    }

    /// Lays the choices over proposed items.
    pub fn lay_over(&self, items: &mut [Proposed]) {
        for item in items {
            for key in TO_BUY.into_iter().chain(["gfci", "afci"]) {
                if let Some((value, cite)) = self.set.get(&(item.id.clone(), key)) {
                    item.put(key, value.clone());
                    let cited = item.cite.get_or_insert_default();
                    if !cited.contains(cite.as_str()) {
                        if !cited.is_empty() {
                            cited.push_str("; ");
                        }
                        cited.push_str(cite);
                    }
                }
            }
        }
    }
}

/// Returns whether an inspection has a failed check that weighs a correction.
pub fn has_correction(inspected: &Inspected) -> bool {
    inspected
        .report
        .findings
        .iter()
        .any(|finding| finding.outcome == Outcome::Correction && finding.weight == Weight::Correction)
}

/// Returns a text field of a proposed item.
pub(super) fn field<'a>(item: &'a Proposed, key: &str) -> Option<&'a str> {
    item.fields.iter().find(|field| field.key == key).and_then(|field| match &field.value {
        Written::Text(text) => Some(text.as_str()),
        _ => None,
    })
}

/// Returns the circuit of a proposed item: its own, or itself where it is one.
fn circuit_of<'a>(id: &'a str, items: &BTreeMap<&'a str, &'a Proposed>) -> Option<&'a str> {
    let item = items.get(id)?;
    match item.kind {
        "circuit" => Some(item.id.as_str()),
        _ => field(item, "circuit"),
    }
}

/// Returns whether a proposed cable or raceway carries a circuit.
fn is_on(item: &Proposed, circuit: &str) -> bool {
    if field(item, "circuit") == Some(circuit) {
        return true;
    }
    let conductors = item.fields.iter().find(|field| field.key == "conductor").map(|field| &field.value);
    let Some(Written::List(conductors)) = conductors else { return false };
    conductors.iter().any(|strand| match strand {
        Written::Table(fields) => {
            fields.iter().any(|(key, value)| key == "circuit" && *value == Written::text(circuit))
        }
        _ => false,
    })
}

/// Returns the appliance that a proposed circuit is for.
fn own_appliance<'a>(circuit: &str, items: &BTreeMap<&'a str, &'a Proposed>) -> Option<&'a str> {
    let breaker = items.get(circuit).filter(|item| field(item, "serves") == Some("dedicated"))?;
    let of = items.values().find(|item| item.kind == "appliance" && field(item, "circuit") == Some(&breaker.id))?;
    Some(of.id.as_str())
}

/// Returns whether a comparison is met by a breaker of a higher rating.
fn asks_for_a_larger_breaker(asked: &str) -> bool {
    let side = |word: &str| asked.split_once(word).map(|(a, b)| (a.contains("rating"), b.contains("rating")));
    side(" at_least ") == Some((true, false))
        || side(" at_most ") == Some((false, true))
        || side(" one_of ").is_some_and(|(left, _)| left)
}

/// Returns the entry of the code whose name stands behind some words.
fn entry_after<'t>(asked: &'t str, words: &str) -> Option<&'t str> {
    let (_, rest) = asked.split_once(words)?;
    let end = rest.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '.')).unwrap_or(rest.len());
    rest.get(..end).filter(|key| !key.is_empty())
}

/// Returns the most that a check allows, if it bounds an amount from above.
fn most(finding: &Finding) -> Option<Quantity> {
    match (finding.verb, finding.allowed.first().map(|limit| &limit.value)) {
        (Verb::AtMost, Some(Shown::Quantity(most))) => Some(*most),
        _ => None,
    }
}

/// Returns how many of some outlets fit where the rule bounds what they take together, such as floor area.
fn in_proportion(finding: &Finding, on: usize) -> Option<usize> {
    let allowed = most(finding)?;
    let Shown::Quantity(found) = finding.found.as_ref()?.value else { return None };
    let comparable = allowed.dimension() == found.dimension() && allowed.amount() >= 0 && found.amount() > 0;
    let fits = i128::from(allowed.amount()) * i128::try_from(on).ok()? / i128::from(found.amount());
    usize::try_from(fits).ok().filter(|_| comparable)
}

fn outlets_on(circuit: &str, items: &BTreeMap<&str, &Proposed>) -> usize {
    let outlet = |item: &&&Proposed| {
        field(item, "circuit") == Some(circuit)
            && (item.kind == "luminaire" || field(item, "kind") == Some("receptacle"))
    };
    items.values().filter(outlet).count()
}
