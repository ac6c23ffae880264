//! Questions on the terms of the code: things of the job, and invented examples, are sorted under terms.

use serde::Deserialize;
use storystick_engine::inspection::Inspected;
use storystick_engine::model::ItemIndex;
use storystick_engine::model::kinds::{appliance, circuit, device, luminaire, outlet_box, room};
use storystick_engine::wiring::{self, Colour, PlaceKind, Point, Wiring};

use crate::teach::papers::Question;
use crate::teach::seed::Seed;
use crate::teach::{self, TERMS};

const DEFINITIONS: &str = "definitions";

/// Examples of the bank that are asked for besides things of the job.
const EXAMPLES: usize = 4;

/// The bank of terms.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Terms {
    pub(crate) term: Vec<Term>,
}

/// A term.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Term {
    /// The term.
    pub(crate) id: String,
    /// The terms it is told from are of the same group.
    pub(crate) group: String,
    /// Where the code has it.
    pub(crate) cites: String,
    /// What it means, in our own words.
    pub(crate) means: String,
    /// Invented examples.
    pub(crate) examples: Vec<String>,
}

impl Term {
    fn why(&self) -> String {
        format!("{} (in our own words, not compared with {}, which counts)", self.means, self.cites)
    }
}

/// Returns the questions: one on a thing of the job for each group of terms that it has something of, and some of the bank.
///
/// # Errors
/// When the bank can't be read.
pub(super) fn questions(inspected: &Inspected, seed: &mut Seed) -> Result<Vec<Question>, String> {
    let terms: Terms = teach::read("terms", TERMS)?;
    let of_job: [(&str, Sorted); 5] = [
        ("conductor", conductor(inspected, seed)),
        ("circuit", of_circuit(inspected, seed)),
        ("point", point(inspected, seed)),
        ("location", location(inspected, seed)),
        ("room", of_room(inspected, seed)),
    ];
    let mut list = Vec::new();
    for (group, sorted) in of_job {
        if let Some((asks, term)) = sorted {
            let why = terms.term.iter().find(|one| one.id == term).map_or_else(String::new, Term::why);
            list.push(Question { why, ..Question::new(DEFINITIONS, group, asks, term).choose(choices(&terms, group)) });
        }
    }
    let mut bank: Vec<(&Term, &String)> =
        terms.term.iter().flat_map(|term| term.examples.iter().map(move |example| (term, example))).collect();
    seed.shuffle(&mut bank);
    for (at, (term, example)) in bank.into_iter().take(EXAMPLES).enumerate() {
        let asks = format!("Which term of the code ({}) fits? {example}", term.cites);
        let question = Question::new(DEFINITIONS, at + 1, asks, term.id.clone()).choose(choices(&terms, &term.group));
        list.push(Question { why: term.why(), ..question });
    }
    Ok(list)
}

fn choices(terms: &Terms, group: &str) -> Vec<String> {
    terms.term.iter().filter(|term| term.group == group).map(|term| term.id.clone()).collect()
}

/// A question and the term that answers it.
type Sorted = Option<(String, &'static str)>;

fn items(inspected: &Inspected, kind: &str, seed: &mut Seed) -> Vec<ItemIndex> {
    let job = &inspected.job;
    let mut items = job.schema.kind(kind).map_or_else(Vec::new, |kind| job.of_kind(kind).to_vec());
    seed.shuffle(&mut items);
    items
}

/// A conductor in a box, by what the wiring uses it for: a white one may be ungrounded.
fn conductor(inspected: &Inspected, seed: &mut Seed) -> Sorted {
    let job = &inspected.job;
    let wiring = Wiring::of(job);
    let net = &wiring.network;
    let mut ends = Vec::new();
    for (_, place) in net.places().filter(|(_, place)| place.kind == PlaceKind::Box) {
        for &at in &place.points {
            let Point::End(id, _) = net.point(at) else { continue };
            let term = match (net.wire(id).colour, wiring.plan.functions.get(id.at()).copied().flatten()) {
                (Colour::Bare, _) => "equipment grounding conductor",
                (_, Some(signal)) if signal.is_grounded() => "grounded conductor",
                (_, Some(signal)) if signal.is_ungrounded() => "ungrounded conductor",
                _ => continue,
            };
            ends.push((place.item, at, term));
        }
    }
    // Each term is as likely as the others, however many conductors are of it.
    let wanted = seed.one(&["equipment grounding conductor", "grounded conductor", "ungrounded conductor"]).copied()?;
    ends.retain(|(_, _, term)| *term == wanted);
    let (place, at, term) = *seed.one(&ends)?;
    let asks =
        format!("What is conductor {} in box {}, as the box is made up?", wiring::name(job, net, at), job.id(place));
    Some((asks, term))
}

fn of_circuit(inspected: &Inspected, seed: &mut Seed) -> Sorted {
    let job = &inspected.job;
    let circuits = items(inspected, circuit::NAME, seed);
    let shares: Vec<ItemIndex> = circuits.iter().filter_map(|&at| job.link(at, circuit::MULTIWIRE_WITH)).collect();
    circuits.into_iter().find_map(|at| {
        let devices: Vec<ItemIndex> = job.links(at, circuit::DEVICES).collect();
        let receptacles = devices.iter().filter(|&&it| job.text(it, device::KIND) == Some("receptacle")).count();
        let others = devices.len() - receptacles;
        let lights = job.links(at, circuit::LUMINAIRES).count();
        let appliances = job.links(at, circuit::APPLIANCES).count();
        let term = match job.text(at, circuit::SERVES)? {
            "feeder" => "feeder",
            "spare" => return None,
            _ if job.link(at, circuit::MULTIWIRE_WITH).is_some() || shares.contains(&at) => "multiwire branch circuit",
            _ if appliances == 1 && lights == 0 && receptacles <= 1 => "individual branch circuit",
            "small_appliance" if lights == 0 => "appliance branch circuit",
            "general" | "lighting" if lights > 0 && lights + receptacles > 1 => "general-purpose branch circuit",
            _ => return None,
        };
        let shared = if term == "multiwire branch circuit" { "a neutral shared with another circuit" } else { "a neutral of its own or none" };
        let asks = format!(
            "What is circuit {}, with {receptacles} receptacles, {lights} luminaires, {appliances} appliances and {others} other \
             devices, and {shared}?",
            job.id(at)
        );
        Some((asks, term))
    })
}

fn point(inspected: &Inspected, seed: &mut Seed) -> Sorted {
    let job = &inspected.job;
    let mut all: Vec<(String, &'static str)> = Vec::new();
    for it in items(inspected, device::NAME, seed) {
        match (job.text(it, device::KIND), job.link(it, device::BOX)) {
            (Some("receptacle"), Some(at)) => {
                all.push((
                    format!("the point in box {} where receptacle {} takes current", job.id(at), job.id(it)),
                    "receptacle outlet",
                ));
            }
            (Some("switch" | "dimmer"), _) => all.push((format!("switch {}", job.id(it)), "device")),
            _ => {}
        }
    }
    for it in items(inspected, luminaire::NAME, seed) {
        if let Some(at) = job.link(it, luminaire::BOX) {
            all.push((
                format!("the point in box {} that luminaire {} hangs on", job.id(at), job.id(it)),
                "lighting outlet",
            ));
        }
        all.push((format!("luminaire {} itself", job.id(it)), "utilization equipment"));
    }
    let appliances = items(inspected, appliance::NAME, seed);
    all.extend(appliances.into_iter().map(|it| (format!("appliance {}", job.id(it)), "utilization equipment")));
    let terms = ["receptacle outlet", "lighting outlet", "device", "utilization equipment"];
    let wanted = seed.one(&terms).copied()?;
    all.retain(|(_, term)| *term == wanted);
    let (what, term) = seed.one(&all)?;
    Some((format!("What is {what}?"), *term))
}

fn location(inspected: &Inspected, seed: &mut Seed) -> Sorted {
    let job = &inspected.job;
    let mut rooms = items(inspected, room::NAME, seed);
    // Wet and damp places are few: they come first, so that they are asked about where there are any.
    let damp = |it: ItemIndex| job.text(it, room::DAMP).unwrap_or("dry");
    if seed.below(2) == 0 {
        rooms.sort_by_key(|&it| damp(it) == "dry");
    }
    let has_box = |it: &ItemIndex| {
        job.schema
            .kind(outlet_box::NAME)
            .is_some_and(|kind| job.of_kind(kind).iter().any(|&at| job.link(at, outlet_box::ROOM) == Some(*it)))
    };
    let it = rooms.iter().copied().find(has_box).or_else(|| rooms.first().copied())?;
    let term = match damp(it) {
        "wet" => "wet location",
        "damp" => "damp location",
        _ => "dry location",
    };
    let kind = job.text(it, room::KIND).unwrap_or("room").replace('_', " ");
    Some((
        format!(
            "What kind of location is a box in {} ({kind}) in, by what the job records of its moisture?",
            job.id(it)
        ),
        term,
    ))
}

fn of_room(inspected: &Inspected, seed: &mut Seed) -> Sorted {
    let job = &inspected.job;
    let mut rooms = items(inspected, room::NAME, seed);
    let term = |it: ItemIndex| match job.text(it, room::KIND) {
        Some("bathroom") => "bathroom",
        Some("kitchen") => "kitchen",
        _ => "neither bathroom nor kitchen",
    };
    if seed.below(3) > 0 {
        rooms.sort_by_key(|&it| term(it) == "neither bathroom nor kitchen");
    }
    let has = |it: ItemIndex, field| job.flag(it, field) == Some(true);
    let cooks = |it: ItemIndex| {
        let kinds = ["range", "cooktop", "wall_oven", "oven"];
        job.links(it, room::APPLIANCES)
            .any(|at| job.text(at, appliance::KIND).is_some_and(|kind| kinds.contains(&kind)))
    };
    // A room of which the job does not record what makes it one is no fair question.
    rooms.retain(|&it| match term(it) {
        "bathroom" => has(it, room::HAS_SINK) && has(it, room::HAS_TUB_OR_SHOWER),
        "kitchen" => has(it, room::HAS_SINK) || cooks(it),
        _ => !(has(it, room::HAS_SINK) && has(it, room::HAS_TUB_OR_SHOWER)),
    });
    let it = *rooms.first()?;
    let yes = |field| if has(it, field) { "a" } else { "no" };
    let cooks = cooks(it);
    let asks = format!(
        "Room {} has {} sink or basin, {} tub or shower, and {} range, cooktop or oven on the plan. What is it, by its use on the plan?",
        job.id(it),
        yes(room::HAS_SINK),
        yes(room::HAS_TUB_OR_SHOWER),
        if cooks { "a" } else { "no" }
    );
    Some((asks, term(it)))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_term_has_another_in_its_group_and_every_example_one_term() {
        let terms: Terms = teach::read("terms", TERMS).unwrap();
        for term in &terms.term {
            assert!(choices(&terms, &term.group).len() > 1, "{}: nothing to tell it from", term.id);
            assert!(!term.examples.is_empty() && !term.means.is_empty() && !term.cites.is_empty(), "{}", term.id);
        }
        let examples: Vec<&String> = terms.term.iter().flat_map(|term| &term.examples).collect();
        let alone: BTreeSet<&&String> = examples.iter().collect();
        assert_eq!(alone.len(), examples.len());
    }
}
