//! Reports as JUnit XML: a suite for each job and ruleset, a case for each rule and item, to measure = skipped.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use storystick_engine::inspection::Failure;
use storystick_engine::inspection::finding::{Finding, Outcome, Report, Weight};
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::told::Words;

/// Escapes a text for XML and drops what XML 1.0 cannot hold.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if (c as u32) < 0x20 || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

/// The checks of one rule on one item. Readers show one failure a case, so they are joined.
struct Case<'a> {
    findings: Vec<&'a Finding>,
}

impl Case<'_> {
    fn failures(&self) -> impl Iterator<Item = &&Finding> {
        self.findings.iter().filter(|f| f.outcome == Outcome::Correction && f.weight == Weight::Correction)
    }

    fn open(&self) -> impl Iterator<Item = &&Finding> {
        self.findings.iter().filter(|f| matches!(f.outcome, Outcome::ToMeasure | Outcome::Permitted))
    }
}

fn sentence(words: &Words<'_>, finding: &Finding) -> String {
    let files = &words.job().files;
    let place =
        files.place(finding.at).map_or_else(String::new, |at| format!(" at {}:{}:{}", at.file, at.line, at.column));
    let fix = finding.fix.as_ref().map_or_else(String::new, |fix| format!("; to put right: {fix}"));
    format!("{}{place} ({}){fix}", words.message(finding), finding.cite)
}

/// What stands before the suites.
pub(crate) const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"storystick\">\n";

/// What stands behind the suites.
pub(crate) const TAIL: &str = "</testsuites>\n";

/// Returns the suites of a job. Give it a report that holds its met checks.
pub(crate) fn job(report: &Report, words: &Words<'_>) -> String {
    let mut text = String::new();
    let mut suites: BTreeMap<&str, BTreeMap<(&str, &str), Case<'_>>> = BTreeMap::new();
    for finding in &report.findings {
        suites
            .entry(&finding.ruleset)
            .or_default()
            .entry((&finding.rule, &finding.item))
            .or_insert_with(|| Case { findings: Vec::new() })
            .findings
            .push(finding);
    }
    for (ruleset, cases) in &suites {
        suite(&mut text, report, words, ruleset, cases);
    }
    faults(&mut text, &format!("{}: faults of rules", report.job), &report.faults, &words.job().files);
    text
}

/// Returns the suite of a file that could not be used.
pub(crate) fn not_read(file: &str, failure: &Failure) -> String {
    let mut text = String::new();
    faults(&mut text, &format!("{file}: not read"), &failure.problems, &failure.files);
    text
}

fn suite(
    text: &mut String,
    report: &Report,
    words: &Words<'_>,
    ruleset: &str,
    cases: &BTreeMap<(&str, &str), Case<'_>>,
) {
    let failures = cases.values().filter(|case| case.failures().next().is_some()).count();
    let skipped =
        cases.values().filter(|case| case.failures().next().is_none() && case.open().next().is_some()).count();
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "  <testsuite name=\"{}: {}\" tests=\"{}\" failures=\"{failures}\" errors=\"0\" skipped=\"{skipped}\">",
        escape(&report.job),
        escape(ruleset),
        cases.len()
    );
    for ((rule, item), case) in cases {
        let _ = write!(text, "    <testcase classname=\"{}\" name=\"{}\"", escape(rule), escape(item));
        let failed: Vec<String> = case.failures().map(|f| sentence(words, f)).collect();
        let open: Vec<String> = case.open().map(|f| sentence(words, f)).collect();
        if let Some(first) = failed.first() {
            let _ = writeln!(
                text,
                ">\n      <failure type=\"correction\" message=\"{}\">{}</failure>\n    </testcase>",
                escape(first),
                escape(&failed.join(" | "))
            );
        } else if let Some(first) = open.first() {
            let _ = writeln!(text, ">\n      <skipped message=\"{}\"/>\n    </testcase>", escape(first));
        } else {
            text.push_str("/>\n");
        }
    }
    text.push_str("  </testsuite>\n");
}

fn faults(text: &mut String, suite: &str, faults: &[Problem], files: &Files) {
    if faults.is_empty() {
        return;
    }
    let count = faults.len();
    let _ = writeln!(
        text,
        "  <testsuite name=\"{}\" tests=\"{count}\" failures=\"0\" errors=\"{count}\" skipped=\"0\">",
        escape(suite)
    );
    for fault in faults {
        let name = files.place(fault.span).map_or_else(String::new, |at| format!("{}:{}", at.file, at.line));
        let _ = writeln!(
            text,
            "    <testcase classname=\"faults\" name=\"{}\">\n      <error message=\"{}\"/>\n    </testcase>",
            escape(&name),
            escape(&fault.message)
        );
    }
    text.push_str("  </testsuite>\n");
}
