//! Reports as JSON. The shape is promised by its `schema` number.

use std::borrow::Cow;

use serde::{Serialize, Serializer};
use storystick_engine::inspection::Failure;
use storystick_engine::inspection::finding::{CodeInForce, Finding, Report, RulesetInForce, SetBy, Tally};
use storystick_engine::model::ItemIndex;
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};
use storystick_engine::told::Words;

use super::json_values::{self, Field};
use super::since::Compared;
use super::stream;

/// Number of this shape; it grows when a field changes its meaning or goes away.
pub(crate) const SCHEMA: u32 = 2;

/// Says on every paper what the program does not do.
pub(crate) const NOTICE: &str = "Prepared to help a qualified person check the work; it approves nothing. Local code and the authority having jurisdiction decide.";

/// A place with one-based line and column (in characters), and the path of keys.
#[derive(Serialize)]
pub(crate) struct At<'a> {
    column: usize,
    file: &'a str,
    line: usize,
    #[serde(skip_serializing_if = "str::is_empty")]
    path: Cow<'a, str>,
}

impl<'a> At<'a> {
    /// Returns the place of a span, if it is in a file.
    pub(crate) fn of(files: &'a Files, span: Span, path: impl Into<Cow<'a, str>>) -> Option<At<'a>> {
        let place = files.place(span)?;
        Some(At { column: place.column, file: place.file, line: place.line, path: path.into() })
    }
}

/// A list that is made while it is written.
struct Each<I>(I);

impl<I> Serialize for Each<I>
where
    I: Iterator<Item: Serialize> + Clone,
{
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.clone())
    }
}

// Members stand in the order of the alphabet, as they do in every other result of the program.

#[derive(Serialize)]
struct Chain<'a> {
    checked: &'a str,
    cite: &'a str,
    file: Option<&'a str>,
    in_force: Option<&'a str>,
    line: Option<usize>,
    ruleset: &'a str,
    title: &'a str,
    value: &'a str,
}

fn chain<'a>(files: &'a Files, set: &'a SetBy) -> Chain<'a> {
    let place = files.place(set.span);
    Chain {
        checked: &set.checked,
        cite: &set.cite,
        file: place.map(|place| place.file),
        in_force: set.in_force.as_deref(),
        line: place.map(|place| place.line),
        ruleset: &set.ruleset,
        title: &set.title,
        value: &set.value,
    }
}

#[derive(Serialize)]
struct Layer<'a> {
    content: &'a str,
    draft: Option<&'a str>,
    id: &'a str,
    kind: &'a str,
    reviewed: &'a str,
    title: &'a str,
    version: &'a str,
}

/// Returns a ruleset in force.
pub(crate) fn ruleset(layer: &RulesetInForce) -> impl Serialize {
    Layer {
        content: &layer.content,
        draft: layer.draft.as_deref(),
        id: &layer.id,
        kind: &layer.kind,
        reviewed: &layer.reviewed,
        title: &layer.title,
        version: &layer.version,
    }
}

#[derive(Serialize)]
struct Lacking<'a> {
    at: Option<At<'a>>,
    field: &'a str,
    item: &'a str,
    limit: Option<String>,
}

#[derive(Serialize)]
struct Granted<'a> {
    at: Option<At<'a>>,
    granted_by: &'a str,
    lapsed: bool,
    reason: &'a str,
    until: &'a str,
}

#[derive(Serialize)]
struct Exception<'a> {
    name: &'a str,
    section: &'a str,
}

#[derive(Serialize)]
struct Presumption<'a> {
    because: &'a str,
    #[serde(flatten)]
    of: Field<'a>,
    text: String,
}

#[derive(Serialize)]
struct Found<'a, M, S> {
    allowed: Option<json_values::Allowed>,
    also: Vec<&'a str>,
    at: Option<At<'a>>,
    check: u8,
    cite: &'a str,
    exception: Option<Exception<'a>>,
    fix: Option<&'a str>,
    found: Option<json_values::Value>,
    item: &'a str,
    kind: &'a str,
    look: Option<&'a str>,
    margin: Option<json_values::Value>,
    message: String,
    missing: M,
    outcome: &'a str,
    partners: Vec<&'a str>,
    permission: Option<Granted<'a>>,
    presumed: Vec<Presumption<'a>>,
    reads: Vec<json_values::Source<'a>>,
    room: Option<&'a str>,
    rule: &'a str,
    rule_at: Option<At<'a>>,
    ruleset: &'a str,
    set_by: S,
    stage: &'a str,
    unverified: Option<String>,
    verb: &'a str,
    weight: &'a str,
    working: json_values::Workings<'a>,
}

/// Returns a finding.
pub(crate) fn finding<'a>(words: &Words<'a>, finding: &'a Finding) -> impl Serialize {
    let job = words.job();
    let files = &job.files;
    let missing: Vec<Lacking<'a>> = finding
        .missing
        .iter()
        .map(|missing| Lacking {
            at: At::of(files, missing.span, missing.item.as_str()),
            field: &missing.field,
            item: &missing.item,
            limit: words.limit(finding, missing),
        })
        .collect();
    let permission = finding.permit.as_ref().map(|permit| Granted {
        at: At::of(files, permit.span, ""),
        granted_by: &permit.granted_by,
        lapsed: permit.lapsed,
        reason: &permit.reason,
        until: &permit.until,
    });
    let presumed = finding.presumed.iter().map(|one| Presumption {
        because: &one.because,
        of: Field::of(words, one.item, one.field),
        text: words.value(&one.value),
    });
    let ids = |items: &[ItemIndex]| items.iter().map(|item| job.id(*item)).collect();
    Found {
        allowed: json_values::allowed(words, finding),
        also: ids(&finding.also),
        at: At::of(files, finding.at, words.path(finding)),
        check: finding.check,
        cite: &finding.cite,
        exception: finding.excepted.as_ref().map(|one| Exception { name: &one.name, section: &one.section }),
        fix: finding.fix.as_deref(),
        found: json_values::found(words, finding),
        item: &finding.item,
        kind: finding.kind,
        look: finding.look.as_deref(),
        margin: finding.margin.map(|margin| json_values::Value::amount(words, margin)),
        message: words.message(finding),
        missing,
        outcome: finding.outcome.word(),
        partners: ids(&finding.partners),
        permission,
        presumed: presumed.collect(),
        reads: json_values::reads(words, finding),
        room: finding.room.as_deref(),
        rule: &finding.rule,
        rule_at: At::of(files, finding.rule_at, ""),
        ruleset: &finding.ruleset,
        set_by: Each(finding.set_by.iter().map(|set| chain(files, set))),
        stage: finding.stage.word(),
        unverified: words.unverified(finding),
        verb: finding.verb.word(),
        weight: finding.weight.word(),
        working: json_values::workings(words, finding),
    }
}

#[derive(Serialize)]
struct Wrong<'a> {
    at: Option<At<'a>>,
    help: Option<&'a str>,
    message: &'a str,
}

fn problems<'a>(list: &'a [Problem], files: &'a Files) -> impl Serialize {
    Each(list.iter().map(|problem| Wrong {
        at: At::of(files, problem.span, ""),
        help: problem.help.as_deref(),
        message: &problem.message,
    }))
}

#[derive(Serialize)]
struct Counts {
    caution: usize,
    correction: usize,
    excepted: usize,
    met: usize,
    note: usize,
    permitted: usize,
    presumed: usize,
    to_measure: usize,
}

/// Returns how many checks had which outcome.
pub(crate) fn tally(tally: &Tally) -> impl Serialize {
    Counts {
        caution: tally.caution,
        correction: tally.correction,
        excepted: tally.excepted,
        met: tally.met,
        note: tally.note,
        permitted: tally.permitted,
        presumed: tally.presumed,
        to_measure: tally.to_measure,
    }
}

#[derive(Serialize)]
struct InForce<'a, R> {
    edition: &'a str,
    jurisdiction: &'a str,
    permit_date: &'a str,
    rulesets: R,
}

/// Returns the code that a job was held against.
pub(crate) fn code(code: &CodeInForce) -> impl Serialize {
    InForce {
        edition: &code.edition,
        jurisdiction: &code.jurisdiction,
        permit_date: &code.permit_date,
        rulesets: Each(code.rulesets.iter().map(ruleset)),
    }
}

#[derive(Serialize)]
struct LeftOut<'a> {
    cite: &'a str,
    left_alone: usize,
    rule: &'a str,
    ruleset: &'a str,
}

#[derive(Serialize)]
struct Existing<'a> {
    faults_only: &'a [String],
    items: Vec<&'a str>,
    kind: &'a str,
    not_applied: &'a [String],
}

#[derive(Serialize)]
struct OfJob<'a, A, C, E, P, F, N, T> {
    assumed: A,
    code: C,
    existing_work: E,
    faults: P,
    file: &'a str,
    findings: F,
    job: &'a str,
    not_applicable: N,
    notices: P,
    #[serde(skip_serializing_if = "Option::is_none")]
    since: Option<serde_json::Value>,
    stage: &'a str,
    tally: T,
}

/// Returns one job's report; its findings are those of the report, met ones too when it holds them.
pub(crate) fn job<'a>(report: &'a Report, words: &'a Words<'a>, compared: Option<&Compared>) -> impl Serialize {
    let files = &words.job().files;
    OfJob {
        assumed: Each(report.assumed.iter().map(|one| json_values::taken(words, one))),
        code: code(&report.code),
        existing_work: Each(report.existing.iter().map(|one| Existing {
            faults_only: &one.faults_only,
            items: one.items.iter().map(|&item| words.job().id(item)).collect(),
            kind: one.kind,
            not_applied: &one.rules,
        })),
        faults: problems(&report.faults, files),
        file: &report.file,
        findings: Each(report.findings.iter().map(|one| finding(words, one))),
        job: &report.job,
        not_applicable: Each(report.not_applicable.iter().map(|rule| LeftOut {
            cite: &rule.cite,
            left_alone: rule.left_alone,
            rule: &rule.rule,
            ruleset: &rule.ruleset,
        })),
        notices: problems(&report.notices, files),
        since: compared.map(super::since::json),
        stage: report.stage.word(),
        tally: tally(&report.tally),
    }
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

#[derive(Serialize)]
struct Unread<'a, P> {
    file: &'a str,
    problems: P,
}

/// Returns a file that could not be read or used.
pub(crate) fn unread(file: &str, failure: &Failure) -> impl Serialize {
    Unread { file, problems: problems(&failure.problems, &failure.files) }
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
