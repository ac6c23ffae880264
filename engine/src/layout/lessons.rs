//! What a proposal learns from the inspection of its own draft.
//!
//! No rule is named here, and no text of one is read: [`asks`](crate::inspection::asks) tells of which fields a failed check asks what,
//! and this file knows which choice of a proposal changes which field, and which way. Where none does, the finding is left to the person.

use std::collections::{BTreeMap, BTreeSet};

use super::choices::{Choices, Method, field};
use super::item::{Proposed, Written};
use crate::inspection::Inspected;
use crate::inspection::asks::{Asks, Goal, Members, Wanted, asks, meets};
use crate::inspection::finding::{Finding, Outcome, Read};
use crate::model::{Filled, ItemIndex, Type};
use crate::quantity::{Dimension, Quantity};
use crate::script::Shown;

/// Fields that a proposal may decide, because they say what to buy.
pub(super) const TO_BUY: [&str; 11] = [
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

/// What a breaker or a device protects against.
pub(super) const PROTECTION: [&str; 2] = ["gfci", "afci"];

/// Most steps that conductors are made larger than the breaker asks for.
const LARGER_MOST: usize = 3;
/// Most standard ratings that a breaker is chosen above the least.
const RATINGS_MOST: usize = 4;
/// Most receptacles that a room gets beyond those that cover its walls.
const FURTHER_MOST: usize = 8;

/// The check that taught something: the rule and the number of the check in it.
pub type Check = (String, u8);

/// What kind of choice a lesson makes, and on what: what is not tried again once it has been taken back.
pub type Sort = (u8, String);

/// One choice, and the check whose findings brought it about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// The check; none where circuits are only evened out.
    pub check: Option<Check>,
    /// The choice.
    pub change: Change,
}

/// A choice that a proposal can make.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A field gets a value.
    Set {
        /// The item.
        item: String,
        /// The field.
        key: &'static str,
        /// The value.
        value: Written,
        /// Citation of the rule.
        cite: String,
    },
    /// A circuit is wired in another way.
    Method {
        /// The circuit.
        circuit: String,
        /// How.
        method: Method,
    },
    /// A circuit gets the next larger conductors.
    Larger {
        /// The circuit.
        circuit: String,
    },
    /// Circuits of a purpose take no more than so many outlets.
    Outlets {
        /// What they serve.
        serves: String,
        /// How many.
        most: usize,
    },
    /// A room gets one more receptacle.
    Further {
        /// The room.
        room: String,
    },
    /// The height of a box goes by the reach of people.
    WithinReach {
        /// The box.
        in_box: String,
    },
    /// An appliance gets a breaker of the next higher standard rating.
    Rating {
        /// The appliance.
        appliance: String,
    },
    /// An appliance gets a switch.
    Controlled {
        /// The appliance.
        appliance: String,
    },
    /// That switch is so far from the tub.
    FromTub {
        /// The appliance.
        appliance: String,
        /// How far.
        length: String,
    },
}

impl Change {
    /// Returns what is not tried again once it has been taken back.
    pub fn sort(&self) -> Sort {
        match self {
            Change::Set { item, key, .. } => (0, format!("{item} {key}")),
            Change::Method { circuit, .. } => (1, circuit.clone()),
            Change::Larger { circuit } => (2, circuit.clone()),
            Change::Rating { appliance } => (3, appliance.clone()),
            Change::Controlled { appliance } => (4, appliance.clone()),
            Change::FromTub { appliance, .. } => (5, appliance.clone()),
            Change::WithinReach { in_box } => (6, in_box.clone()),
            Change::Further { room } => (7, room.clone()),
            Change::Outlets { serves, .. } => (8, serves.clone()),
        }
    }

    /// Returns whether items come and go by it, so that what was learned of single items in the same draft may be of others in the next.
    pub fn moves_items(&self) -> bool {
        matches!(self, Change::Controlled { .. } | Change::Further { .. } | Change::Outlets { .. })
    }

    /// Returns whether the first step may show nothing, and a few more are worth a try.
    pub fn is_ladder(&self) -> bool {
        matches!(self, Change::Method { .. } | Change::Larger { .. } | Change::Rating { .. } | Change::Outlets { .. })
    }
}

/// How a check stands in an inspection. Less is better: fewer corrections, then missed by less, then less left open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Standing {
    /// Its corrections.
    pub corrections: usize,
    /// By how much they miss together, in base units.
    pub short: i128,
    /// How many values are not recorded that would decide it.
    pub open: usize,
}

/// Returns how each check stands that is not met everywhere.
pub fn standings(inspected: &Inspected) -> BTreeMap<Check, Standing> {
    let mut standings: BTreeMap<Check, Standing> = BTreeMap::new();
    for finding in &inspected.report.findings {
        let standing = standings.entry((finding.rule.clone(), finding.check)).or_default();
        match finding.outcome {
            Outcome::Correction => {
                standing.corrections += 1;
                let short = asks(finding, &inspected.code.book).short.map_or(0, Quantity::amount);
                standing.short += i128::from(short);
            }
            Outcome::ToMeasure => standing.open += finding.missing.len().max(1),
            _ => {}
        }
    }
    standings
}

/// Returns what a draft teaches beyond the choices that were made for it: for each finding the nearest choice that may put it right and
/// that has not been taken back before.
pub fn lessons(
    inspected: &Inspected,
    items: &[Proposed],
    choices: &Choices,
    taken_back: &BTreeSet<(Option<Check>, Sort)>,
) -> Vec<Lesson> {
    let by_id = items.iter().map(|item| (item.id.as_str(), item)).collect();
    let class = Class { inspected, items: by_id, choices };
    let mut learned: Vec<Lesson> = Vec::new();
    for finding in &inspected.report.findings {
        let check = Some((finding.rule.clone(), finding.check));
        let may = match finding.outcome {
            Outcome::Correction => class.corrected(finding),
            Outcome::ToMeasure => class.bought(finding).into_iter().map(|change| (0, change)).collect(),
            _ => Vec::new(),
        };
        let is_new = |change: &Change| !class.is_made(change) && !taken_back.contains(&(check.clone(), change.sort()));
        let may: Vec<(u8, Change)> = may.into_iter().filter(|(_, change)| is_new(change)).collect();
        let Some(nearest) = may.iter().map(|(rank, _)| *rank).min() else { continue };
        for (_, change) in may.into_iter().filter(|(rank, _)| *rank == nearest) {
            add(&mut learned, Lesson { check: check.clone(), change });
        }
    }
    for change in class.evened_out() {
        if !taken_back.contains(&(None, change.sort())) {
            add(&mut learned, Lesson { check: None, change });
        }
    }
    learned
}

/// Adds a lesson unless the same choice is made already; of two limits the lower one counts anyway.
fn add(learned: &mut Vec<Lesson>, lesson: Lesson) {
    let same = |known: &Lesson| match (&known.change, &lesson.change) {
        (Change::Outlets { .. }, Change::Outlets { .. }) => *known == lesson,
        (a, b) => a.sort() == b.sort(),
    };
    if !learned.iter().any(same) {
        learned.push(lesson);
    }
}

/// What is learned from.
struct Class<'a> {
    inspected: &'a Inspected,
    items: BTreeMap<&'a str, &'a Proposed>,
    choices: &'a Choices,
}

impl<'a> Class<'a> {
    /// Returns what nobody recorded and a proposal may decide.
    fn bought(&self, finding: &Finding) -> Vec<Change> {
        let mut changes = Vec::new();
        for missing in &finding.missing {
            let Some(item) = self.items.get(missing.item.as_str()) else { continue };
            if let Some(&key) = TO_BUY.iter().find(|key| **key == missing.field) {
                if self.is_planned_flag(item.kind, key) {
                    changes.push(self.flag(&item.id, key, &finding.cite));
                }
            } else if missing.field == "from_tub" {
                changes.extend(self.away_from_tub(finding, missing.index));
            }
        }
        changes
    }

    /// Returns whether a field is a yes or no that can be decided before anything is built.
    fn is_planned_flag(&self, kind: &str, key: &str) -> bool {
        let schema = &self.inspected.job.schema;
        let spec = schema.kind(kind).and_then(|kind| Some(schema.field_spec(kind, schema.field(kind, key)?)));
        spec.is_some_and(|spec| spec.ty == Type::Flag && matches!(spec.filled, Filled::Written { as_built: false, .. }))
    }

    /// Returns how far from the tub the switch of an appliance goes: as far as the one length of the code that the check reads.
    fn away_from_tub(&self, finding: &Finding, switch: ItemIndex) -> Option<Change> {
        let job = &self.inspected.job;
        let controls = job.schema.field(job.item(switch).kind, "controlled_appliances")?;
        let appliance =
            job.links(switch, controls).map(|it| job.id(it)).find(|id| self.choices.controlled.contains(*id))?;
        let mut lengths = finding.reads.iter().filter_map(|read| self.length_read(read));
        let (Some(length), None) = (lengths.next(), lengths.next()) else { return None };
        let length = length.exact(super::units(job));
        let change = Change::FromTub { appliance: appliance.to_owned(), length: length.clone() };
        (self.choices.from_tub.get(appliance) != Some(&length)).then_some(change)
    }

    fn length_read(&self, read: &Read) -> Option<Quantity> {
        use crate::book::{Scalar, Value};
        let Read::Entry { entry, row } = *read else { return None };
        let value = match (&self.inspected.code.book.entry(entry)?.value, row) {
            (Value::Scalar(value), _) => *value,
            (Value::Table(table), Some(row)) => table.rows().get(row)?.value,
            _ => return None,
        };
        match value {
            Scalar::Quantity(length) if length.dimension() == Dimension::Length => Some(length),
            _ => None,
        }
    }

    fn flag(&self, id: &str, key: &'static str, cite: &str) -> Change {
        Change::Set { item: id.to_owned(), key, value: Written::Flag(true), cite: cite.to_owned() }
    }

    /// Returns the choices that may put a correction right, each with its rank: the nearest first.
    fn corrected(&self, finding: &Finding) -> Vec<(u8, Change)> {
        let asked: Asks = asks(finding, &self.inspected.code.book);
        let mut may: Vec<(u8, Change)> = Vec::new();
        for wanted in &asked.fields {
            may.extend(self.field(finding, wanted));
        }
        for members in &asked.members {
            may.extend(self.fewer(members));
        }
        for &(item, list) in &asked.lists {
            may.extend(self.more(item, list));
        }
        // Larger conductors may take a circuit out of a rule for small ones: tried when nothing nearer is left.
        for read in &finding.reads {
            if let Read::Field { item, field, .. } = *read
                && matches!(self.names(item, field), ("cable", "size") | ("circuit", "smallest_conductor"))
            {
                may.extend(self.larger(item).map(|change| (10, change)));
            }
        }
        may
    }

    /// Returns whether a choice is made already, so that making it again changes nothing.
    fn is_made(&self, change: &Change) -> bool {
        match change {
            Change::Set { item, key, .. } => self.choices.set.contains_key(&(item.clone(), *key)),
            Change::WithinReach { in_box } => self.choices.within_reach.contains(in_box),
            Change::Controlled { appliance } => self.choices.controlled.contains(appliance),
            Change::Outlets { serves, most } => self.choices.outlets.get(serves).is_some_and(|limit| limit <= most),
            _ => false,
        }
    }

    fn names(&self, item: ItemIndex, field: crate::model::FieldId) -> (&'static str, &'static str) {
        let job = &self.inspected.job;
        let kind = job.item(item).kind;
        (job.schema.spec(kind).name, job.schema.field_spec(kind, field).name)
    }

    /// Returns the choice that changes a field the way it is asked to.
    fn field(&self, finding: &Finding, wanted: &Wanted) -> Option<(u8, Change)> {
        let job = &self.inspected.job;
        let (item, id) = (wanted.item, job.id(wanted.item));
        match (self.names(item, wanted.field), &wanted.goal) {
            ((_, "is_gfci_protected" | "gfci"), Goal::Flag(true)) => self.protected(finding, item, "gfci"),
            ((_, "is_afci_protected" | "afci"), Goal::Flag(true)) => self.protected(finding, item, "afci"),
            (("cable", "wiring_method" | "route"), _) => Some((2, self.other_method(item, wanted)?)),
            (
                ("cable", "size" | "ground_size" | "ampacity")
                | ("raceway_conductor", "size")
                | ("circuit", "smallest_conductor"),
                goal,
            ) if asks_for_more(goal, &wanted.is) => Some((3, self.larger(item)?)),
            (("circuit", "voltage_drop"), Goal::AtMost(_)) => Some((3, self.larger(item)?)),
            (("circuit", "rating"), goal) if asks_for_more(goal, &wanted.is) => Some((4, self.higher(id)?)),
            (("cable_end", "entry"), goal @ (Goal::OneOf(_) | Goal::NoneOf(_)))
                if meets(&Shown::Text(String::from("connector")), goal) =>
            {
                let cable = self.linked(item, "cable").map(|cable| job.id(cable))?;
                self.proposed(cable)?;
                let value = Written::text("connector");
                Some((6, Change::Set { item: cable.to_owned(), key: "entry", value, cite: finding.cite.clone() }))
            }
            (
                ("device", "operable_part" | "operable_height" | "operable_low" | "operable_high")
                | ("box", "centre" | "top_edge" | "bottom_edge"),
                Goal::AtMost(_) | Goal::AtLeast(_),
            ) => {
                let in_box = self.linked(item, "box").unwrap_or(item);
                let in_box = self.proposed(job.id(in_box))?.id.clone();
                Some((7, Change::WithinReach { in_box }))
            }
            (("room", "receptacles_counted"), Goal::AtLeast(_))
            | (("room", "wall_uncovered" | "longest_bare_wall"), Goal::AtMost(_)) => self.further(id),
            (("circuit", "area_served" | "load" | "load_counted"), Goal::AtMost(to)) => {
                let on = self.outlets_on(id);
                let number = to.and_then(|to| share(on, to, &wanted.is));
                self.outlets(id, number)
            }
            _ => None,
        }
    }

    /// Returns the protection of an item: at its breaker, else in the device itself.
    fn protected(&self, finding: &Finding, item: ItemIndex, key: &'static str) -> Option<(u8, Change)> {
        let job = &self.inspected.job;
        if let Some(breaker) = self.circuit_of(item).and_then(|circuit| self.proposed(job.id(circuit))) {
            return Some((0, self.flag(&breaker.id, key, &finding.cite)));
        }
        let device = self.proposed(job.id(item)).filter(|item| key == "gfci" && item.kind == "device")?;
        Some((1, self.flag(&device.id, key, &finding.cite)))
    }

    /// Returns the next way to wire the circuit of a cable that the rule may take.
    fn other_method(&self, cable: ItemIndex, wanted: &Wanted) -> Option<Change> {
        let job = &self.inspected.job;
        self.proposed(job.id(cable))?;
        let circuit = job.id(self.circuit_of(cable)?);
        let now = self.choices.methods.get(circuit).copied().unwrap_or_default();
        let fits = |word: &str| match &wanted.goal {
            Goal::Other => true,
            goal => self.names(cable, wanted.field).1 == "wiring_method" && meets(&Shown::Text(word.to_owned()), goal),
        };
        let cables = [(Method::Armored, "MC"), (Method::SteelArmored, "AC")];
        let next = cables.into_iter().find(|(method, word)| *method > now && fits(word)).map(|(method, _)| method);
        // In tubing there is no cable that could be of a wrong sort or take a wrong route.
        let method = next.unwrap_or(Method::Tubing);
        (method > now).then(|| Change::Method { circuit: circuit.to_owned(), method })
    }

    /// Returns larger conductors for the circuit of an item, where its runs are proposed.
    fn larger(&self, item: ItemIndex) -> Option<Change> {
        let circuit = self.inspected.job.id(self.circuit_of(item)?);
        let runs = self.items.values().any(|item| matches!(item.kind, "cable" | "raceway") && is_on(item, circuit));
        let few = self.choices.larger.get(circuit).is_none_or(|steps| *steps < LARGER_MOST);
        (runs && few).then(|| Change::Larger { circuit: circuit.to_owned() })
    }

    /// Returns a breaker of a higher rating, where the circuit is proposed for one appliance.
    fn higher(&self, circuit: &str) -> Option<Change> {
        let breaker = self.proposed(circuit).filter(|item| field(item, "serves") == Some("dedicated"))?;
        let fed = |item: &&&Proposed| item.kind == "appliance" && field(item, "circuit") == Some(&breaker.id);
        let appliance = self.items.values().find(fed)?.id.clone();
        let few = self.choices.ratings.get(&appliance).is_none_or(|steps| *steps < RATINGS_MOST);
        few.then_some(Change::Rating { appliance })
    }

    fn further(&self, room: &str) -> Option<(u8, Change)> {
        let few = self.choices.further.get(room).is_none_or(|more| *more < FURTHER_MOST);
        few.then(|| (8, Change::Further { room: room.to_owned() }))
    }

    /// Returns the choice that gives a list more members.
    fn more(&self, item: ItemIndex, list: crate::model::FieldId) -> Option<(u8, Change)> {
        let id = self.inspected.job.id(item);
        match self.names(item, list) {
            ("appliance", "controlled_by") => Some((5, Change::Controlled { appliance: id.to_owned() })),
            ("room", "devices" | "boxes") => self.further(id),
            _ => None,
        }
    }

    /// Returns the choice that leaves fewer outlets on a circuit.
    fn fewer(&self, members: &Members) -> Option<(u8, Change)> {
        let job = &self.inspected.job;
        let first = *members.counted.first().filter(|_| !members.more)?;
        let outlet = |&item: &ItemIndex| matches!(job.schema.spec(job.item(item).kind).name, "device" | "luminaire");
        let circuit = self.circuit_of(first)?;
        if !members.counted.iter().all(|item| outlet(item) && self.circuit_of(*item) == Some(circuit)) {
            return None;
        }
        let circuit = job.id(circuit);
        let on = self.outlets_on(circuit);
        let number = members.number.and_then(|number| {
            let too_many = i64::try_from(members.counted.len()).ok()?.checked_sub(number)?;
            on.checked_sub(usize::try_from(too_many).ok()?)
        });
        self.outlets(circuit, number)
    }

    /// Returns fewer outlets for circuits like this one: so many, or one less where that can't be told.
    fn outlets(&self, circuit: &str, number: Option<usize>) -> Option<(u8, Change)> {
        let breaker = self.proposed(circuit)?;
        let serves = field(breaker, "serves").filter(|serves| *serves != "dedicated")?.to_owned();
        let on = self.outlets_on(circuit);
        let most = number.filter(|number| *number < on).unwrap_or(on.saturating_sub(1)).max(1);
        (most < on).then_some((9, Change::Outlets { serves, most }))
    }

    /// Shares outlets out evenly where a last circuit would get a few that the others have no room for.
    fn evened_out(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for serves in ["general", "lighting"] {
            let of = |item: &&&Proposed| item.kind == "circuit" && field(item, "serves") == Some(serves);
            let loads: Vec<usize> =
                self.items.values().filter(of).map(|circuit| self.outlets_on(&circuit.id)).collect();
            let (Some(least), Some(most)) = (loads.iter().min(), loads.iter().max()) else { continue };
            if least * 2 < *most {
                let even = loads.iter().sum::<usize>().div_ceil(loads.len());
                let change = Change::Outlets { serves: serves.to_owned(), most: even };
                if !self.is_made(&change) {
                    changes.push(change);
                }
            }
        }
        changes
    }

    fn outlets_on(&self, circuit: &str) -> usize {
        let outlet = |item: &&&Proposed| {
            field(item, "circuit") == Some(circuit)
                && (item.kind == "luminaire" || field(item, "kind") == Some("receptacle"))
        };
        self.items.values().filter(outlet).count()
    }

    /// Returns a proposed item that is not in the job: its fields are a proposal's to choose.
    fn proposed(&self, id: &str) -> Option<&'a Proposed> {
        self.items.get(id).copied().filter(|item| item.onto.is_none())
    }

    fn linked(&self, item: ItemIndex, link: &str) -> Option<ItemIndex> {
        let job = &self.inspected.job;
        job.link(item, job.schema.field(job.item(item).kind, link)?)
    }

    /// Returns the circuit of an item: itself where it is one, else the one it names or the one of its cable.
    fn circuit_of(&self, item: ItemIndex) -> Option<ItemIndex> {
        let job = &self.inspected.job;
        match job.schema.spec(job.item(item).kind).name {
            "circuit" => Some(item),
            "cable_end" => self.circuit_of(self.linked(item, "cable")?),
            _ => self.linked(item, "circuit"),
        }
    }
}

/// Returns whether a goal is met by a larger amount than there is.
fn asks_for_more(goal: &Goal, is: &Shown) -> bool {
    match (goal, is) {
        (Goal::AtLeast(_), _) => true,
        (Goal::OneOf(members), Shown::Quantity(is)) => {
            members.iter().any(|member| matches!(member, Shown::Quantity(one) if one.amount() > is.amount()))
        }
        _ => false,
    }
}

/// Returns how many of some outlets fit where they take a whole together that is bounded, such as floor area.
fn share(on: usize, to: Quantity, is: &Shown) -> Option<usize> {
    let Shown::Quantity(is) = is else { return None };
    let comparable = to.dimension() == is.dimension() && to.amount() >= 0 && is.amount() > 0;
    let fits = i128::from(to.amount()) * i128::try_from(on).ok()? / i128::from(is.amount().max(1));
    usize::try_from(fits).ok().filter(|_| comparable)
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
