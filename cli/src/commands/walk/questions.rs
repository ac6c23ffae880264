//! What a walk asks, in the order of the walk: room by room, first what is to measure, then what is to look at.

use storystick_engine::inspection::finding::{Finding, Outcome};
use storystick_engine::model::kinds::room;
use storystick_engine::model::{FieldSpec, Filled, Type};
use storystick_engine::quantity::{Dimension, UnitSystem};
use storystick_engine::sheet::Desk;

/// What a question is about; the same thing is asked once, however many rules want to know it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Key {
    /// A field of an item.
    Field {
        /// Id of the item.
        item: String,
        /// Name by which a job file writes the field.
        field: String,
    },
    /// What a rule asks eyes to decide of an item.
    Look {
        /// Id of the rule.
        rule: String,
        /// Id of the item.
        item: String,
    },
}

/// What an answer has to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Wants {
    /// `ok` or `no`, signed.
    Look,
    /// Yes or no.
    Flag,
    /// One of some words.
    Word(&'static [&'static str]),
    /// An amount.
    Amount(Dimension),
    /// Amounts, parted by commas.
    Amounts(Dimension),
    /// A text or the id of an item.
    Text,
    /// Texts or ids, parted by commas.
    Texts,
}

/// A question.
#[derive(Clone, Debug)]
pub(super) struct Question {
    pub(super) key: Key,
    /// Name of the room.
    pub(super) room: String,
    /// Kind word of the item.
    pub(super) kind: String,
    /// What to measure or to look at.
    pub(super) what: String,
    /// A sentence on it.
    pub(super) about: String,
    /// Limits with their citations.
    pub(super) limits: Vec<String>,
    pub(super) wants: Wants,
}

/// Returns all that is open in the rooms that are walked.
pub(super) fn open(desk: &Desk<'_>, only: &[String]) -> Vec<Question> {
    let rooms = desk.items(room::NAME);
    let mut by_room: Vec<(Vec<Question>, Vec<Question>)> = vec![Default::default(); rooms.len() + 1];
    for finding in desk.report.findings.iter().filter(|finding| finding.outcome == Outcome::ToMeasure) {
        let room = desk.room_of(finding.index);
        let at = room.and_then(|room| rooms.iter().position(|&it| it == room)).unwrap_or(rooms.len());
        let name = desk.place_name(finding.index);
        if !only.is_empty() && !only.iter().any(|one| *one == name || room.is_some_and(|it| desk.job.id(it) == one)) {
            continue;
        }
        let Some((measures, looks)) = by_room.get_mut(at) else { continue };
        if finding.missing.is_empty() {
            looks.push(look(desk, finding, name));
        } else {
            measure(desk, finding, &name, measures);
        }
    }
    by_room.into_iter().flat_map(|(measures, looks)| measures.into_iter().chain(looks)).collect()
}

fn look(desk: &Desk<'_>, finding: &Finding, room: String) -> Question {
    Question {
        key: Key::Look { rule: finding.rule.clone(), item: finding.item.clone() },
        room,
        kind: desk.words().kind(finding.index).to_owned(),
        what: finding.look.clone().unwrap_or_else(|| finding.says.clone()),
        about: String::new(),
        limits: vec![finding.cite.clone()],
        wants: Wants::Look,
    }
}

fn measure(desk: &Desk<'_>, finding: &Finding, room: &str, list: &mut Vec<Question>) {
    for missing in &finding.missing {
        let limit = match desk.words().limit(finding, missing) {
            Some(limit) => format!("{limit} ({})", finding.cite),
            None => format!("needed for {} ({})", finding.rule, finding.cite),
        };
        let Some((spec, kind)) = field(desk, &missing.item, &missing.field) else { continue };
        let key = Key::Field { item: missing.item.clone(), field: spec.name.to_owned() };
        match list.iter_mut().find(|known| known.key == key) {
            Some(known) if known.limits.contains(&limit) => {}
            Some(known) => known.limits.push(limit),
            None => list.push(Question {
                key,
                room: room.to_owned(),
                kind: kind.to_owned(),
                what: spec.name.replace('_', " "),
                about: spec.doc.to_owned(),
                limits: vec![limit],
                wants: wants(spec),
            }),
        }
    }
}

/// Returns the field that a job file writes for a missing one: `make` for `size`. What is computed can't be asked for.
fn field<'a>(desk: &Desk<'a>, item: &str, name: &str) -> Option<(&'a FieldSpec, &'static str)> {
    let job = desk.job;
    let kind = job.item(job.find(item)?).kind;
    let spec = job.schema.spec(kind);
    let of = |name: &str| spec.fields.iter().find(|field| field.name == name);
    let found = of(name)?;
    let written = match found.filled {
        Filled::By(key) => of(key)?,
        Filled::Written { .. } | Filled::Key { .. } => found,
        Filled::Inverse { .. } | Filled::Through(_) | Filled::Nesting | Filled::Derived => return None,
    };
    Some((written, spec.word))
}

fn wants(spec: &FieldSpec) -> Wants {
    match &spec.ty {
        Type::Flag => Wants::Flag,
        Type::Word(words) => Wants::Word(words),
        Type::Quantity(dimension) => Wants::Amount(*dimension),
        Type::List(of) => match **of {
            Type::Quantity(dimension) => Wants::Amounts(dimension),
            _ => Wants::Texts,
        },
        Type::Text | Type::Item(_) => Wants::Text,
    }
}

/// Returns the unit that a bare number takes. Degrees have none: which of the two scales is meant must be said.
pub(super) fn unit(dimension: Dimension, units: UnitSystem) -> Option<&'static str> {
    let metric = units == UnitSystem::Metric;
    let of = |customary, other| Some(if metric { other } else { customary });
    match dimension {
        Dimension::Number | Dimension::Temperature | Dimension::Date => None,
        Dimension::Ratio => Some("%"),
        Dimension::Length => of("in", "mm"),
        Dimension::Area => of("ft2", "m2"),
        Dimension::Volume => of("in3", "cm3"),
        Dimension::Current => Some("A"),
        Dimension::Voltage => Some("V"),
        Dimension::Power => Some("VA"),
        Dimension::PowerPerArea => of("VA/ft2", "VA/m2"),
        Dimension::Resistance => Some("ohm"),
        Dimension::ResistancePerLength => of("ohm/kft", "ohm/km"),
        Dimension::Conductor => of("AWG", "mm2"),
        Dimension::Angle => Some("deg"),
        Dimension::Mass => of("lb", "kg"),
        Dimension::Force => of("lbf", "N"),
        Dimension::Torque => of("lbf-in", "N-m"),
        Dimension::Time => Some("s"),
    }
}

impl Wants {
    /// Returns what to type, for the prompt.
    pub(super) fn prompt(&self, units: UnitSystem) -> String {
        let amount = |dimension: &Dimension| match (unit(*dimension, units), dimension) {
            (Some(unit), _) => unit.to_owned(),
            (None, Dimension::Number) => String::from("a number"),
            (None, Dimension::Date) => String::from("a day, such as 2023-06-01"),
            (None, _) => String::from("with its unit, C or F"),
        };
        match self {
            Wants::Look => String::from("ok or no"),
            Wants::Flag => String::from("yes or no"),
            Wants::Word(words) => words.join(", "),
            Wants::Amount(dimension) => amount(dimension),
            Wants::Amounts(dimension) => format!("{}, parted by commas", amount(dimension)),
            Wants::Text => String::from("a word or an id"),
            Wants::Texts => String::from("ids, parted by commas"),
        }
    }
}
