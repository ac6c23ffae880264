//! Findings over rules of the tests' own: what they carry, what they say, and that a rule never falls silent.

use std::cell::Cell;

use jiff::civil::date;

use super::finding::{Finding, Outcome, Read};
use super::{Inspected, Inspector, JobText, Options};
use crate::book::RulesetText;
use crate::script::{Detail, Operator, Shown, Step, Verb, Verdict, Workings};

thread_local! {
    static BENDS: Cell<bool> = const { Cell::new(false) };
}

/// Returns what the explaining form of a rule says; where a test asks for it, something else than the fast form says.
pub(super) fn bent(mut explained: Vec<(Detail, Workings)>) -> Vec<(Detail, Workings)> {
    if BENDS.get() {
        explained.iter_mut().for_each(|(detail, _)| detail.verdict = Verdict::Met);
    }
    explained
}

const MANIFEST: &str = "id = \"own/edition\"\ntitle = \"Own edition\"\nkind = \"edition\"\nversion = \"1\"\n\
                        reviewed = 2023-01-02\nsource = \"invented for these tests\"\nchecked = \"law_text\"\n";

const PLACE: &str = "id = \"own/place\"\ntitle = \"Own place\"\nkind = \"jurisdiction\"\nversion = \"1\"\n\
                     reviewed = 2023-01-02\nsource = \"invented for these tests\"\nchecked = \"law_text\"\n\
                     [[adopts]]\nruleset = \"own/edition\"\nfrom = 2020-01-01\ncites = \"Ord. 1\"\n";

const ENTRIES: &str = "[load.factor]\nvalue = \"125 %\"\ncites = \"1\"\n[box.apart]\nvalue = \"24 in\"\ncites = \"2\"\n\
                       [box.top]\nvalue = \"48 in\"\ncites = \"3\"\n[name.times]\nvalue = 1\ncites = \"4\"\n\
                       [load.half]\nvalue = \"50 %\"\ncites = \"6\"\n[box.reach]\nvalue = \"2 in\"\ncites = \"5\"\n";

const JOB: &str = r#"format = 1
[site]
jurisdiction = "own/place"
permit_date = 2023-05-10
stage = "final"
[[panel]]
id = "P1"
[[circuit]]
id = "1"
panel = "P1"
rating = "20 A"
voltage = "120 V"
continuous_load = "2400 VA"
label = "kitchen"
[[circuit]]
id = "2"
panel = "P1"
label = "kitchen"
[[room]]
id = "den"
kind = "den"
length = "14 ft"
width = "12 ft"
[[box]]
id = "B1"
room = "den"
wall = "north"
along = "3 ft"
top = "50 in"
[[box]]
id = "B2"
room = "den"
wall = "north"
along = "4 ft"
top = "46 in"
"#;

fn inspected(rules: &str) -> Inspected {
    let files = [
        ("own/edition/ruleset.toml", MANIFEST),
        ("own/edition/code/entries.toml", ENTRIES),
        ("own/edition/rules/rules.rhai", rules),
        ("own/place/ruleset.toml", PLACE),
    ];
    let files = files.map(|(path, text)| RulesetText::in_folder("own", path, text));
    let mut inspector = Inspector::new(files.into());
    let mut options = Options::on(date(2023, 6, 1));
    options.met = true;
    let job = JobText { name: String::from("job.toml"), text: JOB.into() };
    let prepared = inspector.prepare(job, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems));
    inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems))
}

fn rule(kind: &str, body: &str) -> Inspected {
    let inspected =
        inspected(&format!("/// What it asks for.\nrule \"own\" on {kind} at final cites \"9\" {{ {body} }}\n"));
    assert!(inspected.report.faults.is_empty(), "{:?}", inspected.report.faults);
    inspected
}

fn of<'i>(inspected: &'i Inspected, item: &str) -> &'i Finding {
    inspected.report.findings.iter().find(|finding| finding.item == item).unwrap()
}

fn says(inspected: &Inspected, item: &str) -> String {
    inspected.words().message(of(inspected, item))
}

const LOAD: &str = "keep code.load.factor * circuit.continuous_load at_most circuit.rating * circuit.voltage;";

#[test]
fn what_is_reckoned_is_said_with_its_math_and_its_name() {
    let load = rule("circuit", LOAD);
    assert_eq!(says(&load, "1"), "continuous load: 125 % x 2400 VA = 3000 VA; 2400 VA max (20 A x 120 V)");
    let named = rule(
        "circuit",
        "let total_load = code.load.factor * circuit.continuous_load; keep total_load at_most circuit.rating * circuit.voltage;",
    );
    assert_eq!(says(&named, "1"), "total load: 125 % x continuous load 2400 VA = 3000 VA; 2400 VA max (20 A x 120 V)");
    let plain = rule("box", "keep box.top at_most code.box.top;");
    assert_eq!(says(&plain, "B1"), "top is 4 ft 2 in; 4 ft max");
    let nested = rule(
        "box",
        "let half = box.top * code.load.half; keep box.top - (half - code.box.reach) at_least code.box.top;",
    );
    assert_eq!(says(&nested, "B1"), "top 4 ft 2 in - (half 2 ft 1 in - 2 in) = 2 ft 3 in; 4 ft min");
}

#[test]
fn each_verb_has_its_words() {
    for (check, expected) in [
        ("keep box.along at_least code.box.top;", "along is 3 ft; 4 ft min"),
        ("keep box.along between code.box.top and code.box.top;", "along is 3 ft; must be 4 ft to 4 ft"),
        ("keep box.along equal_to code.box.top;", "along is 3 ft; must be 4 ft"),
        ("need box.along == code.box.top;", "what it asks for"),
    ] {
        assert_eq!(says(&rule("box", check), "B1"), expected, "{check}");
    }
}

#[test]
fn a_finding_carries_values_not_words() {
    let load = rule("circuit", LOAD);
    let finding = of(&load, "1");
    assert_eq!((finding.kind, finding.verb, finding.outcome), ("circuit", Verb::AtMost, Outcome::Correction));
    let found = finding.found.as_ref().unwrap();
    let Shown::Quantity(value) = found.value else { panic!("{found:?}") };
    assert_eq!(value.in_unit(load.words().units()), Some((3000.0, "VA")));
    let Step::Of { operator: Operator::Times, parts } = &found.step else { panic!("{found:?}") };
    assert!(matches!((&parts[0].step, &parts[1].step), (Step::Entry { .. }, Step::Field { .. })), "{parts:?}");
    assert_eq!(finding.margin.unwrap().dimension(), value.dimension());
    let job = &load.job;
    let names: Vec<&str> = finding
        .reads
        .iter()
        .filter_map(|read| match *read {
            Read::Field { kind, item, field } => {
                assert_eq!((item, kind), (finding.index, job.item(item).kind));
                Some(job.schema.field_spec(kind, field).name)
            }
            Read::Entry { .. } => None,
        })
        .collect();
    for name in ["continuous_load", "rating", "voltage"] {
        assert!(names.contains(&name), "{names:?}");
    }
}

#[test]
fn a_label_stands_under_each_written_value_and_never_says_what_was_made_of_it() {
    let load = rule("circuit", LOAD);
    let labels = load.words().labels(of(&load, "1"));
    let files = &load.job.files;
    let told: Vec<(&str, &str)> = labels.iter().map(|(span, says)| (files.text(*span), says.as_str())).collect();
    let expected =
        [("\"2400 VA\"", "continuous load 2400 VA"), ("\"20 A\"", "rating 20 A"), ("\"120 V\"", "voltage 120 V")];
    assert_eq!(told, expected);
}

#[test]
fn a_pair_is_told_once_and_names_its_partner() {
    let spaced = "need every b in box.room.boxes where b == box || distance(b.along, box.along) >= code.box.apart;";
    let boxes = rule("box", spaced);
    let wrong: Vec<&str> = boxes.report.findings.iter().map(|finding| finding.item.as_str()).collect();
    assert_eq!((wrong, boxes.report.tally.correction), (vec!["B1"], 1));
    let finding = of(&boxes, "B1");
    let other = boxes.job.find("B2").unwrap();
    assert_eq!((&finding.partners, &finding.also), (&vec![other], &vec![other]));
    assert_eq!(says(&boxes, "B1"), "what it asks for (box B2)");

    let labels = "keep (count c in circuit.panel.circuits where c.label == circuit.label) at_most code.name.times;";
    let circuits = rule("circuit", labels);
    assert_eq!(circuits.report.tally.correction, 1, "{:#?}", circuits.report.findings);
    assert_eq!(says(&circuits, "1"), "2 circuits (circuit 2); 1 max");
}

#[test]
fn when_both_forms_of_a_rule_disagree_the_rule_is_at_fault() {
    let text =
        "/// What it asks for.\nrule \"own\" on box at final cites \"9\" { keep box.top at_most code.box.top; }\n";
    assert!(inspected(text).report.faults.is_empty());
    BENDS.set(true);
    let bent = inspected(text);
    BENDS.set(false);
    let faults: Vec<&str> = bent.report.faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(faults, ["rule `own`: fast and full evaluation disagree on box `B1`; please report"]);
    assert!(bent.report.findings.iter().all(|finding| finding.item != "B1"));
}
