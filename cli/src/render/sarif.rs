//! Reports as SARIF 2.1.0 (OASIS). A correction is kind `fail`; what is to be measured is kind `open` with level `none`.
//!
//! Met checks are left out unless asked for: common readers list every result as an alert, whatever its kind.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use storystick_engine::inspection::Failure;
use storystick_engine::inspection::compare::Comparison;
use storystick_engine::inspection::finding::{Finding, Outcome, Report, Weight};
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};
use storystick_engine::told::Words;

use super::since::Compared;

/// Returns a file name as a relative, escaped address. Absolute names lose their root, so that two machines agree.
fn address(name: &str) -> String {
    let slashed = name.replace('\\', "/");
    let relative = slashed.trim_start_matches("./").trim_start_matches('/').replacen("ruleset:", "rulesets/", 1);
    let mut text = String::with_capacity(relative.len());
    for byte in relative.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => text.push(char::from(byte)),
            _ => text.push_str(&format!("%{byte:02X}")),
        }
    }
    text
}

fn location(files: &Files, span: Span) -> Option<Value> {
    let place = files.place(span)?;
    let mut region = json!({ "startLine": place.line, "startColumn": place.column });
    let shown = files.text(span);
    if !shown.is_empty() && !shown.contains('\n') {
        region["endColumn"] = json!(place.column + shown.chars().count());
    }
    Some(json!({ "physicalLocation": { "artifactLocation": { "uri": address(place.file) }, "region": region } }))
}

fn kind_and_level(finding: &Finding) -> (&'static str, &'static str) {
    match (finding.outcome, finding.weight) {
        (Outcome::Met | Outcome::Excepted, _) => ("pass", "none"),
        (Outcome::ToMeasure, _) => ("open", "none"),
        (_, Weight::Correction) => ("fail", "error"),
        (_, Weight::Caution) => ("fail", "warning"),
        (_, Weight::Note) => ("fail", "note"),
    }
}

fn result(
    words: &Words<'_>,
    job: &str,
    finding: &Finding,
    since: Option<&Comparison>,
    rules: &mut BTreeMap<String, (usize, Value)>,
) -> Option<Value> {
    let files = &words.job().files;
    let next = rules.len();
    let (index, _) = rules.entry(finding.rule.clone()).or_insert_with(|| {
        let about = format!("{} ({})", finding.rule, finding.cite);
        let rule = json!({
            "id": finding.rule,
            "shortDescription": { "text": about },
            "properties": { "ruleset": finding.ruleset, "cite": finding.cite, "weight": finding.weight.word() },
        });
        (next, rule)
    });
    let (kind, level) = kind_and_level(finding);
    let mut text = words.message(finding);
    if let Some(fix) = &finding.fix {
        text = format!("{text}. To put right: {fix}");
    }
    let related: Vec<Value> = finding
        .set_by
        .iter()
        .filter_map(|set| {
            let mut at = location(files, set.span)?;
            at["message"] = json!({ "text": format!("{}: {} ({})", set.title, set.value, set.cite) });
            Some(at)
        })
        .collect();
    let mut result = json!({
        "ruleId": finding.rule,
        "ruleIndex": *index,
        "kind": kind,
        "level": level,
        "message": { "text": text },
        // A reader refuses a result without a place, so a finding without one is reported by its job alone.
        "locations": [location(files, finding.at)?],
        "partialFingerprints": { "ruleAndItem/v1": format!("{job}/{}/{}/{}", finding.rule, finding.item, words.path(finding)) },
        "properties": {
            "item": finding.item, "room": finding.room, "stage": finding.stage.word(), "found": words.found(finding),
            "allowed": words.allowed(finding), "margin": words.margin(finding), "unverified": words.unverified(finding),
        },
    });
    if let Some(since) = since.filter(|_| finding.outcome == Outcome::Correction) {
        let new = since.new.iter().any(|(rule, item)| *rule == finding.rule && *item == finding.item);
        result["baselineState"] = json!(if new { "new" } else { "unchanged" });
    }
    if !related.is_empty() {
        result["relatedLocations"] = json!(related);
    }
    if let Some(permit) = finding.permit.as_ref().filter(|permit| !permit.lapsed) {
        let why = format!("{}: {} (until {})", permit.granted_by, permit.reason, permit.until);
        result["suppressions"] = json!([{ "kind": "inSource", "status": "accepted", "justification": why }]);
    }
    Some(result)
}

/// Returns what stands before the runs of a log: a run for each job, then one for each file that could not be used.
pub(crate) fn head() -> String {
    let schema = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
    format!("{{\n  \"$schema\": \"{schema}\",\n  \"runs\": [")
}

/// Returns what stands behind the runs.
pub(crate) fn tail(no_runs: bool) -> String {
    format!("{},\n  \"version\": \"2.1.0\"\n}}\n", super::stream::end(no_runs))
}

fn notification(files: &Files, problem: &Problem) -> Value {
    json!({
        "level": "error",
        "message": { "text": problem.message },
        "locations": location(files, problem.span).into_iter().collect::<Vec<_>>(),
    })
}

/// Returns the run of a file that could not be used.
pub(crate) fn not_read(file: &str, failure: &Failure) -> Value {
    let told: Vec<Value> = failure.problems.iter().map(|problem| notification(&failure.files, problem)).collect();
    json!({
        "tool": { "driver": { "name": "storystick", "semanticVersion": env!("CARGO_PKG_VERSION") } },
        "columnKind": "unicodeCodePoints",
        "artifacts": [{ "location": { "uri": address(file) } }],
        "invocations": [{ "executionSuccessful": false, "toolExecutionNotifications": told }],
        "results": [],
    })
}

/// Returns the run of a job.
pub(crate) fn run(report: &Report, words: &Words<'_>, compared: Option<&Compared>) -> Value {
    let files = &words.job().files;
    let mut rules = BTreeMap::new();
    let since = compared.and_then(|compared| compared.comparison.as_ref());
    let results: Vec<Value> =
        report.findings.iter().filter_map(|finding| result(words, &report.job, finding, since, &mut rules)).collect();
    let mut rules: Vec<(usize, Value)> = rules.into_values().collect();
    rules.sort_by_key(|(index, _)| *index);
    let faults: Vec<Value> = report.faults.iter().map(|fault| notification(files, fault)).collect();
    json!({
        "tool": { "driver": {
            "name": "storystick",
            "semanticVersion": env!("CARGO_PKG_VERSION"),
            "rules": rules.into_iter().map(|(_, rule)| rule).collect::<Vec<_>>(),
        } },
        "columnKind": "unicodeCodePoints",
        "invocations": [{ "executionSuccessful": report.faults.is_empty(), "toolExecutionNotifications": faults }],
        "properties": {
            "job": report.job, "jurisdiction": report.code.jurisdiction, "edition": report.code.edition,
            "permitDate": report.code.permit_date, "stage": report.stage.word(),
            "rulesets": report.code.rulesets.iter().map(|layer| json!({
                "id": layer.id, "version": layer.version, "content": layer.content, "draft": layer.draft,
            })).collect::<Vec<_>>(),
            "notice": super::json::NOTICE,
        },
        "results": results,
    })
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn addresses_are_relative_and_escaped() {
        assert_eq!(address("/home/x/lot 14.toml"), "home/x/lot%2014.toml");
        assert_eq!(address("./a/½.toml"), "a/%C2%BD.toml");
        assert_eq!(address("ruleset:us/model-2020/code/nm.toml"), "rulesets/us/model-2020/code/nm.toml");
    }
}
