//! A job with heat tape, held against rules that only this program knows.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use storystick_engine::inspection::finding::Outcome;
use storystick_engine::inspection::{JobText, Options};
use storystick_engine::quantity::UnitSystem;

const JOB: &str = r#"format = 1
[site]
jurisdiction = "pipe"
permit_date = 2023-05-10
stage = "final"
[[panel]]
id = "P1"
[[circuit]]
id = "7"
rating = "30 A"
[[heat_tape]]
id = "T1"
circuit = "7"
pipe_run = "4 ft"
pipe_rise = "3 ft"
length = "4 ft 11 in"
"#;

fn outcomes(job: &str) -> Vec<(String, Outcome, Option<String>)> {
    let mut inspector = storystick_embedding::inspector().unwrap();
    let mut options = Options::on(jiff::civil::date(2023, 6, 1));
    options.met = true;
    let text = JobText { name: String::from("job.toml"), text: job.into() };
    let prepared = inspector.prepare(text, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems));
    let inspected = inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems));
    assert!(inspected.report.faults.is_empty(), "{:?}", inspected.report.faults);
    let mut all: Vec<_> = inspected
        .report
        .findings
        .into_iter()
        .map(|finding| {
            (finding.rule, finding.outcome, finding.margin.map(|margin| margin.print(UnitSystem::Customary)))
        })
        .collect();
    all.sort();
    all
}

#[test]
fn its_rules_decide_by_its_fields_and_its_function() {
    // Three and four make five: the tape lacks an inch.
    let expected = [
        ("heat-tape-breaker-small-enough", Outcome::Correction, Some("-10 A")),
        ("heat-tape-covers-pipe", Outcome::Correction, Some("-1 in")),
        ("heat-tape-ground-fault-protected", Outcome::ToMeasure, None),
    ];
    let expected = expected.map(|(rule, outcome, margin)| (rule.to_owned(), outcome, margin.map(str::to_owned)));
    assert_eq!(outcomes(JOB), expected);
    let right = JOB.replace("4 ft 11 in", "5 ft").replace("30 A", "20 A") + "ground_fault_protected = true\n";
    assert!(outcomes(&right).iter().all(|(_, outcome, _)| *outcome == Outcome::Met));
}

#[test]
fn a_misspelt_field_of_the_new_kind_is_an_error_at_its_place() {
    let mut inspector = storystick_embedding::inspector().unwrap();
    let options = Options::on(jiff::civil::date(2023, 6, 1));
    let text = JobText { name: String::from("job.toml"), text: JOB.replace("pipe_rise", "pipe_rize").into() };
    let prepared = inspector.prepare(text, &options).unwrap();
    let failure = inspector.inspect(&prepared, &options).unwrap_err();
    let problem = failure.problems.first().unwrap();
    assert_eq!(failure.files.text(problem.span), "pipe_rize");
    assert!(problem.help.as_ref().unwrap().contains("pipe_rise"), "{problem:?}");
}
