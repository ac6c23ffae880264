//! Reports as JSON. The shape is promised by its `schema` number.

use serde::Serialize;
use storystick_engine::inspection::Failure;
use storystick_engine::inspection::finding::{Finding, Report, RulesetInForce, SetBy};
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};

use super::since::Compared;
use super::stream;

/// Number of this shape; it grows when a field changes its meaning or goes away.
pub(crate) const SCHEMA: u32 = 1;

/// Says on every paper what the program does not do.
pub(crate) const NOTICE: &str = "Prepared to help a qualified person check the work; it approves nothing. Local code and the authority having jurisdiction decide.";

/// A place with one-based line and column (in characters), and the path of keys.
#[derive(Serialize)]
pub(crate) struct At {
    file: String,
    line: usize,
    column: usize,
    #[serde(skip_serializing_if = "String::is_empty")]
    path: String,
}

impl At {
    /// Returns the place of a span, if it is in a file.
    pub(crate) fn of(files: &Files, span: Span, path: &str) -> Option<At> {
        let place = files.place(span)?;
        Some(At { file: place.file, line: place.line, column: place.column, path: path.to_owned() })
    }
}

#[derive(Serialize)]
struct Chain<'a> {
    ruleset: &'a str,
    title: &'a str,
    file: Option<String>,
    line: Option<usize>,
    cite: &'a str,
    value: &'a str,
    in_force: Option<&'a str>,
    checked: &'a str,
}

fn chain<'a>(files: &Files, set: &'a SetBy) -> Chain<'a> {
    let place = files.place(set.span);
    Chain {
        ruleset: &set.ruleset,
        title: &set.title,
        line: place.as_ref().map(|place| place.line),
        file: place.map(|place| place.file),
        cite: &set.cite,
        value: &set.value,
        in_force: set.in_force.as_deref(),
        checked: &set.checked,
    }
}

/// Returns a ruleset in force.
pub(crate) fn ruleset(layer: &RulesetInForce) -> serde_json::Value {
    serde_json::json!({
        "id": layer.id, "title": layer.title, "kind": layer.kind, "version": layer.version,
        "content": layer.content, "reviewed": layer.reviewed, "draft": layer.draft,
    })
}

/// Returns a finding.
pub(crate) fn finding(files: &Files, finding: &Finding) -> serde_json::Value {
    let missing: Vec<_> = finding
        .missing
        .iter()
        .map(|missing| {
            serde_json::json!({
                "item": missing.item, "field": missing.field, "limit": missing.limit, "at": At::of(files, missing.span, &missing.item),
            })
        })
        .collect();
    let permit = finding.permit.as_ref().map(|permit| {
        serde_json::json!({
            "granted_by": permit.granted_by, "reason": permit.reason, "until": permit.until, "lapsed": permit.lapsed,
            "at": At::of(files, permit.span, ""),
        })
    });
    serde_json::json!({
        "rule": finding.rule,
        "ruleset": finding.ruleset,
        "outcome": finding.outcome.word(),
        "weight": finding.weight.word(),
        "stage": finding.stage.word(),
        "kind": finding.kind,
        "item": finding.item,
        "room": finding.room,
        "cite": finding.cite,
        "found": finding.found,
        "allowed": finding.allowed,
        "margin": finding.margin,
        "message": finding.message,
        "fix": finding.fix,
        "at": At::of(files, finding.at, &finding.path),
        "rule_at": At::of(files, finding.rule_at, ""),
        "set_by": finding.set_by.iter().map(|set| chain(files, set)).collect::<Vec<_>>(),
        "missing": missing,
        "unverified": finding.unverified,
        "permission": permit,
    })
}

fn problems(list: &[Problem], files: &Files) -> Vec<serde_json::Value> {
    let one = |problem: &Problem| serde_json::json!({ "message": problem.message, "help": problem.help, "at": At::of(files, problem.span, "") });
    list.iter().map(one).collect()
}

/// Returns one job's report as a JSON value; its findings are those of the report, met ones too when it holds them.
pub(crate) fn job(report: &Report, files: &Files, compared: Option<&Compared>) -> serde_json::Value {
    let tally = &report.tally;
    let mut job = serde_json::json!({
        "job": report.job,
        "file": report.file,
        "stage": report.stage.word(),
        "code": {
            "jurisdiction": report.code.jurisdiction,
            "edition": report.code.edition,
            "permit_date": report.code.permit_date,
            "rulesets": report.code.rulesets.iter().map(ruleset).collect::<Vec<_>>(),
        },
        "tally": {
            "met": tally.met, "correction": tally.correction, "caution": tally.caution, "note": tally.note,
            "to_measure": tally.to_measure, "permitted": tally.permitted,
        },
        "findings": report.findings.iter().map(|one| finding(files, one)).collect::<Vec<_>>(),
        "not_applicable": report.not_applicable.iter().map(|rule| serde_json::json!({
            "rule": rule.rule, "ruleset": rule.ruleset, "cite": rule.cite, "left_alone": rule.left_alone,
        })).collect::<Vec<_>>(),
        "notices": problems(&report.notices, files),
        "faults": problems(&report.faults, files),
    });
    if let Some(compared) = compared {
        job["since"] = super::since::json(compared);
    }
    job
}

/// Returns what stands before the jobs.
pub(crate) fn head() -> String {
    let notice = serde_json::Value::from(NOTICE);
    let version = env!("CARGO_PKG_VERSION");
    format!(
        "{{\n  \"schema\": {SCHEMA},\n  \"program\": \"storystick\",\n  \"version\": \"{version}\",\n  \"notice\": {notice},\n  \"jobs\": ["
    )
}

/// Returns what stands between the jobs and the files that could not be read or used.
pub(crate) fn middle(no_jobs: bool) -> String {
    format!("{},\n  \"unread\": [", stream::end(no_jobs))
}

/// Returns what stands behind them.
pub(crate) fn tail(none_unread: bool) -> String {
    format!("{}\n}}\n", stream::end(none_unread))
}

/// Returns a file that could not be read or used.
pub(crate) fn unread(file: &str, failure: &Failure) -> serde_json::Value {
    serde_json::json!({ "file": file, "problems": problems(&failure.problems, &failure.files) })
}

#[cfg(test)]
mod tests {
    use super::{head, middle, tail};

    #[test]
    fn nothing_inspected_is_sound_json_too() {
        let text = [head(), middle(true), tail(true)].concat();
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["jobs"], serde_json::json!([]));
        assert_eq!(value["unread"], serde_json::json!([]));
        assert_eq!(value["notice"], super::NOTICE);
    }
}
