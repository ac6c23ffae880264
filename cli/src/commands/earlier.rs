//! Reads an earlier result of `inspect --format json`.

use serde_json::Value;
use storystick_engine::inspection::compare::Earlier;
use storystick_engine::inspection::finding::{Outcome, Weight};
use storystick_engine::model::Stage;
use storystick_engine::world::World;

use crate::render::json::SCHEMA;
use crate::world::{self, Machine};

/// An earlier result.
#[derive(Debug)]
pub(crate) struct EarlierResult {
    /// Its file.
    pub(crate) file: String,
    jobs: Vec<Job>,
}

#[derive(Debug)]
struct Job {
    name: String,
    file: String,
    findings: Vec<Earlier>,
}

/// Reads an earlier result.
pub(crate) fn read(path: &str) -> Result<EarlierResult, String> {
    let text =
        Machine.read(path).map_err(|message| super::next::told(&message, &[super::next::EARLIER], world::columns()))?;
    let whole: Value = serde_json::from_str(&text).map_err(|error| format!("`{path}` is no JSON: {error}; {HOW}"))?;
    let schema = whole.get("schema").and_then(Value::as_u64);
    let jobs = whole.get("jobs").and_then(Value::as_array);
    let (Some(schema), Some(jobs)) = (schema, jobs) else {
        return Err(format!("`{path}` is no result of an inspection: it has no `schema` or no `jobs`; {HOW}"));
    };
    // What is read here is the same in every form so far.
    if !(1..=u64::from(SCHEMA)).contains(&schema) {
        return Err(format!("`{path}` has the form {schema}, and this version reads forms 1 to {SCHEMA}; {HOW}"));
    }
    let jobs: Option<Vec<Job>> = jobs.iter().map(job).collect();
    let jobs = jobs.ok_or_else(|| format!("`{path}` has a finding without its rule, item or outcome; {HOW}"))?;
    Ok(EarlierResult { file: path.to_owned(), jobs })
}

const HOW: &str = "make one with `storystick inspect JOB --format json`";

fn job(value: &Value) -> Option<Job> {
    let text = |key: &str| value.get(key).and_then(Value::as_str).map(str::to_owned);
    let findings = value.get("findings")?.as_array()?.iter().map(finding).collect::<Option<_>>()?;
    Some(Job { name: text("job")?, file: text("file")?, findings })
}

fn finding(value: &Value) -> Option<Earlier> {
    let text = |key: &str| value.get(key).and_then(Value::as_str);
    Some(Earlier {
        rule: text("rule")?.to_owned(),
        item: text("item")?.to_owned(),
        outcome: Outcome::of(text("outcome")?)?,
        weight: Weight::of(text("weight")?)?,
        stage: Stage::of(text("stage")?)?,
        message: text("message")?.to_owned(),
    })
}

impl EarlierResult {
    /// Returns the earlier findings of a job: of the same file, or of the only job of the same name.
    pub(crate) fn of(&self, file: &str, name: &str) -> Option<&[Earlier]> {
        let mut named = self.jobs.iter().filter(|job| job.name == name);
        let only = named.next().filter(|_| named.next().is_none());
        self.jobs.iter().find(|job| job.file == file).or(only).map(|job| job.findings.as_slice())
    }
}
