//! The test record: which readings to take on each circuit, what is acceptable and by whom, and what is recorded so far.
//!
//! What is acceptable stands in the book (`tests.*`); an entry that no ruleset in force sets leaves its column without a limit.

use super::Desk;
use super::figure::Figure;
use crate::model::ItemIndex;
use crate::model::kinds::{circuit, device};

/// What is acceptable for a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// The reading.
    pub reading: &'static str,
    /// How it is taken.
    pub how: &'static str,
    /// What is acceptable, in words; none where no ruleset in force says.
    pub acceptable: Option<String>,
    /// Citation and source.
    pub source: String,
    /// Whether it was compared with the law or with a page of the authority.
    pub verified: bool,
}

/// One reading on one circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The reading.
    pub reading: &'static str,
    /// What it is taken at; empty for the circuit as a whole.
    pub at: Vec<String>,
    /// What the job file records so far.
    pub recorded: Vec<String>,
    /// Whether the circuit has nothing to take this reading at.
    pub not_applicable: bool,
}

/// The readings of one circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CircuitReadings {
    /// Id of the circuit.
    pub circuit: String,
    /// Its label.
    pub label: String,
    /// Breaker.
    pub breaker: String,
    /// Its readings, in the order in which they are taken.
    pub readings: Vec<Reading>,
}

/// The test record of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestRecord {
    /// What is acceptable, in the order in which readings are taken: dead first, then live.
    pub limits: Vec<Limit>,
    /// Circuit by circuit.
    pub circuits: Vec<CircuitReadings>,
}

/// A reading: what is read, how, and the entries of the book behind it, each with the words that go before its value.
type Known = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

/// The readings in the order in which they are taken, with the entries of the book that say what is acceptable.
const READINGS: [Known; 7] = [
    ("ground continuity", "dead: low-ohm meter, panel to each outlet", &[("at most", "tests.ground_continuity_most")]),
    (
        "insulation",
        "dead, loads and electronics off: every conductor to every other and to ground",
        &[("at least", "tests.insulation_least"), ("tested with", "tests.insulation_voltage")],
    ),
    ("switching", "dead: the path in each position of each switch", &[]),
    (
        "voltage",
        "live: hot to neutral and hot to ground; on 240 V leg to leg as well; neutral to ground under load",
        &[
            ("at least", "tests.voltage_low"),
            ("at most", "tests.voltage_high"),
            ("leg to leg at least", "tests.leg_voltage_low"),
            ("at most", "tests.leg_voltage_high"),
            ("neutral to ground at most", "tests.neutral_to_ground_most"),
        ],
    ),
    ("polarity", "live: every receptacle", &[]),
    (
        "GFCI trip",
        "live: own button, then a tester downstream; what it protects goes dead and comes back on reset",
        &[("trips between", "tests.gfci_trip_low"), ("and", "tests.gfci_trip_high")],
    ),
    ("AFCI trip", "live: own button; a plug-in indicator does not decide", &[]),
];

/// Returns the test record of a job.
pub fn test_record(desk: &Desk<'_>) -> TestRecord {
    let limits = READINGS.iter().map(|&(reading, how, keys)| limit(desk, reading, how, keys)).collect();
    let circuits = desk.items(circuit::NAME).iter().copied();
    let circuits = circuits
        .filter(|&it| desk.job.text(it, circuit::SERVES) != Some("spare"))
        .filter(|&it| is_worked_on(desk, it))
        .map(|it| of_circuit(desk, it))
        .collect();
    TestRecord { limits, circuits }
}

/// Returns whether a circuit is new, or has new outlets: an old one that is left as it is is not tested.
fn is_worked_on(desk: &Desk<'_>, item: ItemIndex) -> bool {
    let job = desk.job;
    let mut on =
        [circuit::DEVICES, circuit::LUMINAIRES, circuit::APPLIANCES].into_iter().flat_map(|of| job.links(item, of));
    !job.is_existing(item) || on.any(|it| !job.is_existing(it))
}

fn limit(desk: &Desk<'_>, reading: &'static str, how: &'static str, keys: &[(&str, &str)]) -> Limit {
    let figures: Vec<(&str, Figure)> = keys.iter().map(|&(word, key)| (word, desk.figure(key))).collect();
    let set: Vec<&(&str, Figure)> = figures.iter().filter(|(_, figure)| figure.quantity.is_some()).collect();
    let words: Vec<String> =
        set.iter().filter_map(|(word, figure)| Some(format!("{word} {}", desk.print(figure.quantity?)))).collect();
    let mut sources: Vec<String> =
        set.iter().map(|(_, figure)| format!("{} ({})", figure.cite, figure.source)).collect();
    sources.dedup();
    Limit {
        reading,
        how,
        acceptable: match (keys.is_empty(), words.is_empty()) {
            (true, _) => Some(String::from("pass")),
            (false, true) => None,
            (false, false) => Some(words.join(", ")),
        },
        source: sources.join("; "),
        verified: !set.is_empty() && set.iter().all(|(_, figure)| figure.verified),
    }
}

/// Returns what voltages to take at the receptacles of a circuit, configuration by configuration: `14-50R K-1: leg to leg, each leg to
/// neutral, each leg to ground`. Empty where nothing is known of them.
fn voltages(desk: &Desk<'_>, devices: &[ItemIndex]) -> Vec<String> {
    let mut by_configuration: Vec<(&str, Vec<&str>)> = Vec::new();
    for &item in devices {
        let Some(name) = desk.configuration(item) else { continue };
        match by_configuration.iter_mut().find(|(known, _)| *known == name) {
            Some((_, ids)) => ids.push(desk.job.id(item)),
            None => by_configuration.push((name, vec![desk.job.id(item)])),
        }
    }
    let line = |(name, ids): (&str, Vec<&str>)| {
        let pairs = pairs(desk.contacts(name)?);
        let where_ = if ids.len() > MOST_NAMED { format!("each of {}", ids.len()) } else { ids.join(", ") };
        Some(format!("{name} {where_}: {}", pairs.join(", ")))
    };
    by_configuration.into_iter().filter_map(line).collect()
}

/// More receptacles of one configuration are counted, not named.
const MOST_NAMED: usize = 3;

/// Returns the pairs of contacts between which voltage is read.
fn pairs(contacts: &str) -> Vec<&'static str> {
    let has = |word: &str| contacts.split(' ').any(|contact| contact == word);
    let known = [
        ("leg", "leg", "leg to leg"),
        ("leg", "neutral", "each leg to neutral"),
        ("leg", "ground", "each leg to ground"),
        ("hot", "neutral", "hot to neutral"),
        ("hot", "ground", "hot to ground"),
    ];
    known.into_iter().filter(|(one, other, _)| has(one) && has(other)).map(|(.., words)| words).collect()
}

fn of_circuit(desk: &Desk<'_>, item: ItemIndex) -> CircuitReadings {
    let job = desk.job;
    let devices: Vec<ItemIndex> = job.links(item, circuit::DEVICES).collect();
    let ids = |wanted: &dyn Fn(ItemIndex) -> bool| -> Vec<String> {
        devices.iter().filter(|&&it| wanted(it)).map(|&it| job.id(it).to_owned()).collect()
    };
    let recorded = |field, yes: &str, no: &str| -> Vec<String> {
        let known = devices.iter().filter_map(|&it| Some((it, job.flag(it, field)?)));
        known.map(|(it, ok)| format!("{} {}", job.id(it), if ok { yes } else { no })).collect()
    };
    let kind = |it: ItemIndex| job.text(it, device::KIND).unwrap_or_default();
    let receptacles = ids(&|it| kind(it) == "receptacle");
    let switches = ids(&|it| matches!(kind(it), "switch" | "dimmer" | "fan_control" | "timer" | "occupancy_sensor"));
    let breaker = |field| job.flag(item, field) == Some(true);
    let mut gfci = ids(&|it| job.flag(it, device::GFCI) == Some(true));
    let mut afci = ids(&|it| job.flag(it, device::AFCI) == Some(true));
    for (has, list) in [(breaker(circuit::GFCI), &mut gfci), (breaker(circuit::AFCI), &mut afci)] {
        if has {
            list.insert(0, String::from("breaker"));
        }
    }
    let tripped = |list: &[String]| -> Vec<String> {
        let known = devices.iter().filter(|&&it| list.iter().any(|id| id == job.id(it)));
        let known = known.filter_map(|&it| Some((it, job.flag(it, device::TEST_TRIPPED)?)));
        known.map(|(it, ok)| format!("{} {}", job.id(it), if ok { "tripped" } else { "did not trip" })).collect()
    };
    let readings = READINGS
        .iter()
        .map(|&(reading, ..)| {
            let (at, recorded) = match reading {
                "ground continuity" => (receptacles.clone(), recorded(device::GROUNDED, "connected", "not connected")),
                "switching" => (switches.clone(), Vec::new()),
                "voltage" => (voltages(desk, &devices), Vec::new()),
                "polarity" => (receptacles.clone(), recorded(device::POLARITY_OK, "right", "wrong")),
                "GFCI trip" => (gfci.clone(), tripped(&gfci)),
                "AFCI trip" => (afci.clone(), tripped(&afci)),
                _ => (Vec::new(), Vec::new()),
            };
            let wants_devices = matches!(reading, "switching" | "polarity" | "GFCI trip" | "AFCI trip");
            Reading { reading, not_applicable: wants_devices && at.is_empty(), at, recorded }
        })
        .collect();
    let rating = job.quantity(item, circuit::RATING).map_or_else(|| String::from("?"), |rating| desk.print(rating));
    let poles = desk.count(item, circuit::POLES).unwrap_or(1);
    CircuitReadings {
        circuit: job.id(item).to_owned(),
        label: job.text(item, circuit::LABEL).unwrap_or("(no label yet)").to_owned(),
        breaker: format!("{rating}, {poles}-pole"),
        readings,
    }
}
