//! Conductors against breakers, and receptacles against circuits, through real inspections of jobs made from public tables.
//!
//! Ampacities: public copies of Table 310.15(B)(16), which is Table 310.16 since 2020. Standard ratings: 240.6(A), from memory.
//! Most conductors in tubing: a public copy of Annex C, Table C.1. Configurations: the open standard NEMA WD 6, whose designations say series and amperes.

use std::sync::{Mutex, OnceLock};

use storystick_engine::book::RulesetText;
use storystick_engine::inspection::finding::Outcome;
use storystick_engine::inspection::{Inspector, JobText, Options};

/// Size, then copper at 60 and 75 degC, then aluminum at 60 and 75 degC.
pub(crate) const TABLE: [(&str, [u32; 4]); 15] = [
    ("8 AWG", [40, 50, 35, 40]),
    ("6 AWG", [55, 65, 40, 50]),
    ("4 AWG", [70, 85, 55, 65]),
    ("3 AWG", [85, 100, 65, 75]),
    ("2 AWG", [95, 115, 75, 90]),
    ("1 AWG", [110, 130, 85, 100]),
    ("1/0 AWG", [125, 150, 100, 120]),
    ("2/0 AWG", [145, 175, 115, 135]),
    ("3/0 AWG", [165, 200, 130, 155]),
    ("4/0 AWG", [195, 230, 150, 180]),
    ("250 kcmil", [215, 255, 170, 205]),
    ("300 kcmil", [240, 285, 195, 230]),
    ("350 kcmil", [260, 310, 210, 250]),
    ("400 kcmil", [280, 335, 225, 270]),
    ("500 kcmil", [320, 380, 260, 310]),
];

/// 240.6(A), as far as these conductors go.
pub(crate) const RATINGS: [u32; 28] = [
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600, 700, 800,
];

/// Returns the worst outcome of a rule on any item of a job; none where it has nothing to say.
pub(crate) fn outcome(rule: &str, job: &str) -> Option<Outcome> {
    static INSPECTOR: OnceLock<Mutex<Inspector>> = OnceLock::new();
    let shipped = || storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let inspector = INSPECTOR.get_or_init(|| Mutex::new(Inspector::new(shipped())));
    let mut inspector = inspector.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let mut options = Options::on(jiff::civil::date(2023, 6, 1));
    options.rules = vec![rule.to_owned()];
    options.met = true;
    let text = format!(
        "format = 1\n[site]\njurisdiction = \"us/model-2020\"\npermit_date = 2021-01-01\nstage = \"final\"\n{job}"
    );
    let job = JobText { name: String::from("job.toml"), text: text.into() };
    let prepared = inspector.prepare(job, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    let inspected = inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    inspected.report.findings.iter().map(|finding| finding.outcome).min()
}

/// The standard rating at or next above an ampacity (240.4(B)), and the one beyond it.
pub(crate) fn next(ampacity: u32) -> [u32; 2] {
    let at = RATINGS.iter().position(|rating| *rating >= ampacity).unwrap();
    [RATINGS[at], RATINGS[at + 1]]
}

#[test]
fn wire_in_raceway_stands_behind_the_next_standard_rating_and_no_larger_one() {
    let mut tried = 0;
    for (size, amperes) in TABLE {
        let columns = [("copper", 60), ("copper", 75), ("aluminum", 60), ("aluminum", 75)];
        for ((material, terminals), ampacity) in columns.into_iter().zip(amperes) {
            let [fits, larger] = next(ampacity);
            for (rating, expected) in [(ampacity, Outcome::Met), (fits, Outcome::Met), (larger, Outcome::Correction)] {
                let job = format!(
                    "circuit = [{{ id = \"1\", rating = \"{rating} A\", terminals = \"{terminals} degC\" }}]\n\
                     panel = [{{ id = \"P\" }}]\nbox = [{{ id = \"B\" }}]\n\
                     raceway = [{{ id = \"W\", wiring_method = \"PVC_40\", trade_size = \"2 in\", from = \"P\", to = \"B\", \
                     conductor = [{{ circuit = \"1\", size = \"{size}\", number = 2, material = \"{material}\" }}] }}]\n"
                );
                // The tables of a document are read in a job of its own: `[site]` ends with its keys.
                let job = job_at_top(&job);
                let found = outcome("raceway-conductors-fit-breaker", &job);
                assert_eq!(found, Some(expected), "{size} {material} at {terminals} degC on {rating} A");
                tried += 1;
            }
        }
    }
    assert_eq!(tried, TABLE.len() * 12);
}

/// Returns arrays of inline tables as arrays of tables, which may stand behind `[site]`.
pub(crate) fn job_at_top(job: &str) -> String {
    let table: toml::Table = job.parse().unwrap();
    toml::to_string(&table).unwrap()
}

#[test]
fn nonmetallic_cable_goes_by_sixty_degrees_whatever_its_terminals() {
    for (make, size) in [("8/2", 0), ("6/2", 1), ("4/2", 2), ("2/2", 4)] {
        let [fits, larger] = next(TABLE[size].1[0]);
        for (rating, expected) in [(fits, Outcome::Met), (larger, Outcome::Correction)] {
            let job = format!(
                "circuit = [{{ id = \"1\", rating = \"{rating} A\", terminals = \"75 degC\" }}]\n\
                 panel = [{{ id = \"P\" }}]\nbox = [{{ id = \"B\" }}]\n\
                 cable = [{{ id = \"C\", wiring_method = \"NM\", make = \"{make}\", material = \"copper\", circuit = \"1\", \
                 from = \"P\", to = \"B\" }}]\n"
            );
            let found = outcome("cable-fits-breaker", &job_at_top(&job));
            assert_eq!(found, Some(expected), "{make} on {rating} A");
        }
    }
}

/// Returns voltage and amperes of a configuration by its designation: the series (1 and 5 for 125 V, 6 for 250 V, 10 and 14 for
/// 125/250 V, TT for 125 V), then the amperes.
fn by_designation(configuration: &str) -> (u32, u32) {
    let (series, amperes) = configuration.trim_start_matches('L').split_once('-').unwrap();
    let volts = match series {
        "1" | "5" | "TT" => 120,
        "6" | "10" | "14" => 240,
        other => panic!("series {other}"),
    };
    (volts, amperes.trim_end_matches('R').parse().unwrap())
}

#[test]
fn a_configuration_has_the_volts_and_amperes_of_its_designation() {
    let all = [
        "1-15R", "5-15R", "5-20R", "6-15R", "6-20R", "6-30R", "6-50R", "10-30R", "10-50R", "14-20R", "14-30R",
        "14-50R", "14-60R", "L5-15R", "L5-20R", "L5-30R", "L6-15R", "L6-20R", "L6-30R", "L14-20R", "L14-30R", "TT-30R",
    ];
    for configuration in all {
        let (volts, amperes) = by_designation(configuration);
        let job = |volts: u32, amperes: u32| {
            job_at_top(&format!(
                "circuit = [{{ id = \"1\", rating = \"{amperes} A\", voltage = \"{volts} V\" }}]\n\
                 panel = [{{ id = \"P\" }}]\n\
                 device = [{{ id = \"R\", kind = \"receptacle\", circuit = \"1\", configuration = \"{configuration}\" }}]\n"
            ))
        };
        let other = if volts == 120 { 240 } else { 120 };
        let volts_rule = "receptacle-made-for-voltage";
        assert_eq!(outcome(volts_rule, &job(volts, amperes)), Some(Outcome::Met), "{configuration}");
        assert_eq!(outcome(volts_rule, &job(other, amperes)), Some(Outcome::Correction), "{configuration}");
        let rating_rule = "receptacle-configuration-fits-circuit";
        assert_eq!(outcome(rating_rule, &job(volts, amperes)), Some(Outcome::Met), "{configuration}");
        let smaller = if amperes == 15 { 30 } else { 60 };
        if amperes < 50 {
            assert_eq!(outcome(rating_rule, &job(volts, smaller)), Some(Outcome::Correction), "{configuration}");
        }
    }
}

/// Table C.1 of Annex C: most THHN conductors of one size in electrical metallic tubing, by trade size from 1/2 to 2 in. From a public
/// page that prints the table.
const TUBING: [(&str, [u32; 6]); 9] = [
    ("14 AWG", [12, 22, 35, 61, 84, 138]),
    ("12 AWG", [9, 16, 26, 45, 61, 101]),
    ("10 AWG", [5, 10, 16, 28, 38, 63]),
    ("8 AWG", [3, 6, 9, 16, 22, 36]),
    ("6 AWG", [2, 4, 7, 12, 16, 26]),
    ("4 AWG", [1, 2, 4, 7, 10, 16]),
    ("3 AWG", [1, 1, 3, 6, 8, 13]),
    ("2 AWG", [1, 1, 3, 5, 7, 11]),
    ("1 AWG", [1, 1, 1, 4, 5, 8]),
];

#[test]
fn tubing_holds_what_annex_c_says_and_not_one_more() {
    for (size, most) in TUBING {
        for (trade_size, most) in ["1/2 in", "3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in"].into_iter().zip(most) {
            for (number, expected) in [(most, Outcome::Met), (most + 1, Outcome::Correction)] {
                let job = job_at_top(&format!(
                    "panel = [{{ id = \"P\" }}]\nbox = [{{ id = \"B\" }}]\n\
                     raceway = [{{ id = \"W\", wiring_method = \"EMT\", trade_size = \"{trade_size}\", length = \"40 ft\", \
                     from = \"P\", to = \"B\", \
                     conductor = [{{ size = \"{size}\", number = {number}, insulation = \"THHN\" }}] }}]\n"
                ));
                let found = outcome("raceway-not-overfilled", &job);
                assert_eq!(found, Some(expected), "{number} of {size} in {trade_size}");
            }
        }
    }
}

/// Series of NEMA WD 6, from public charts: poles, wires, whether one of the wires is a ground. A pole is a conductor under tension: of
/// series 5 (2-pole, 3-wire) hot and neutral, of series 6 both legs, of series 10 and 14 both legs and the neutral.
const SERIES: [(&str, usize, usize, &[&str]); 9] = [
    ("1-15R", 2, 2, &["hot to neutral"]),
    ("5-20R", 2, 3, &["hot to neutral", "hot to ground"]),
    ("L5-30R", 2, 3, &["hot to neutral", "hot to ground"]),
    ("TT-30R", 2, 3, &["hot to neutral", "hot to ground"]),
    ("6-50R", 2, 3, &["leg to leg", "each leg to ground"]),
    ("L6-30R", 2, 3, &["leg to leg", "each leg to ground"]),
    ("10-50R", 3, 3, &["leg to leg", "each leg to neutral"]),
    ("14-30R", 3, 4, &["leg to leg", "each leg to neutral", "each leg to ground"]),
    ("L14-30R", 3, 4, &["leg to leg", "each leg to neutral", "each leg to ground"]),
];

#[test]
fn the_test_record_asks_for_a_voltage_between_every_two_kinds_of_contacts_that_a_configuration_has() {
    for (name, poles, wires, pairs) in SERIES {
        let shipped = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
        let mut inspector = Inspector::new(shipped);
        let mut options = Options::on(jiff::civil::date(2023, 6, 1));
        options.met = true;
        let text = format!(
            "format = 1\n[site]\njurisdiction = \"us/model-2020\"\npermit_date = 2021-01-01\nstage = \"layout\"\n\
             [[circuit]]\nid = \"1\"\n[[device]]\nid = \"R1\"\nkind = \"receptacle\"\ncircuit = \"1\"\nconfiguration = \"{name}\"\n"
        );
        let job = JobText { name: String::from("job.toml"), text: text.into() };
        let prepared = inspector.prepare(job, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
        let inspected =
            inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
        let library = inspector.library();
        let desk =
            storystick_engine::sheet::Desk::new(&inspected.job, &inspected.code.book, &inspected.report, library);
        let record = storystick_engine::sheet::test_record(&desk);
        let circuit = record.circuits.iter().find(|circuit| circuit.circuit == "1").unwrap();
        let voltage = circuit.readings.iter().find(|reading| reading.reading == "voltage").unwrap();
        assert_eq!(voltage.at, [format!("{name} R1: {}", pairs.join(", "))]);
        // The contacts that the pairs name are the wires of the series: two legs where there are any.
        let has = |word: &str| usize::from(pairs.iter().any(|pair| pair.contains(word)));
        assert_eq!(2 * has("leg") + has("hot") + has("neutral") + has("ground"), wires, "{name}");
        assert_eq!(wires - has("ground"), poles, "{name}");
    }
}
