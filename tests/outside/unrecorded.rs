//! The promise of the README: nothing that a job file does not record passes silently.
//!
//! For each shipped rule, every trial of it is a job; from each such job one recorded value after the other is taken away. That may
//! open a verdict. It may never turn a correction, or what is still to measure, into a pass, nor make an item vanish that the rule
//! had something to say of, unless the finding names what it presumes, or the report what the job format assumes.

use std::collections::{BTreeMap, BTreeSet};

use storystick_engine::book::{RulesetKind, RulesetText};
use storystick_engine::inspection::finding::{Finding, LeftAsItIs, Outcome};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::{FieldId, ItemIndex};
use toml::{Table, Value};

/// Values that are written over others: without them what is recorded for the whole site counts, or what the code itself says of
/// terminals without a marking.
const WRITTEN_OVER: [&str; 2] = ["ambient", "terminals"];

/// One trial as a job of its own.
struct Case {
    ruleset: String,
    rule: String,
    name: String,
    job: Table,
    accessible: bool,
}

/// Values that choose the code instead of describing the work: without them another law is asked.
const CHOOSES_THE_CODE: [&str; 13] = [
    "jurisdiction",
    "permit_date",
    "application_date",
    "purchase_date",
    "manufacture_date",
    "edition",
    "shop",
    "stage",
    "accessible",
    "dwelling",
    "units",
    "rulesets",
    "name",
];

fn merge(into: &mut Table, more: &Table) {
    for (key, value) in more {
        match (into.get_mut(key), value) {
            (Some(Value::Table(own)), Value::Table(other)) => merge(own, other),
            (Some(Value::Array(own)), Value::Array(other)) => own.extend(other.iter().cloned()),
            _ => {
                into.insert(key.clone(), value.clone());
            }
        }
    }
}

fn cases(inspector: &mut Inspector) -> Vec<Case> {
    let mut cases = Vec::new();
    for (path, text) in storystick_rulesets::FILES.iter().filter(|(path, _)| path.contains("/trials/")) {
        let id = path.split("/trials/").next().unwrap_or_default();
        let Ok(file) = text.parse::<Table>() else { continue };
        let kind = inspector.shelf().ruleset(id).unwrap().kind;
        let day = inspector.shelf_mut().newest_start(id);
        let bases = file.get("base").and_then(Value::as_table);
        for trial in file.get("trial").and_then(Value::as_array).into_iter().flatten() {
            let text = |key: &str| trial.get(key).and_then(Value::as_str);
            let date = trial.get("permit_date").map(ToString::to_string);
            let day = date.or(day.map(|day| day.to_string())).unwrap_or_else(|| String::from("2026-01-01"));
            let mut site = Table::new();
            let alone = text("place").is_none() && matches!(kind, RulesetKind::Accessibility | RulesetKind::Shop);
            // Rulesets that no place is are held against the newest edition here.
            let place = text("place").unwrap_or(if alone { "us/model-2020" } else { id });
            let day = if alone { String::from("2023-05-10") } else { day };
            site.insert(String::from("jurisdiction"), Value::String(place.to_owned()));
            site.insert(String::from("permit_date"), day.parse().unwrap());
            site.insert(String::from("stage"), Value::String(String::from("final")));
            if alone && kind == RulesetKind::Shop {
                site.insert(String::from("shop"), Value::String(id.to_owned()));
            }
            let mut job = Table::new();
            job.insert(String::from("site"), Value::Table(site));
            let base = text("base").and_then(|base| bases?.get(base)?.as_table());
            for part in base.into_iter().chain(trial.get("job").and_then(Value::as_table)) {
                merge(&mut job, part);
            }
            cases.push(Case {
                ruleset: id.to_owned(),
                rule: text("rule").unwrap_or_default().to_owned(),
                name: text("name").unwrap_or_default().to_owned(),
                job,
                accessible: alone && kind == RulesetKind::Accessibility,
            });
        }
    }
    cases
}

/// Where a value stands: keys and positions from the top.
type Path = Vec<String>;

fn leaves(value: &Value, path: &mut Path, into: &mut Vec<Path>) {
    let mut inner = |key: String, value: &Value| {
        path.push(key);
        leaves(value, path, into);
        path.pop();
    };
    match value {
        Value::Table(table) => table.iter().for_each(|(key, value)| inner(key.clone(), value)),
        Value::Array(list) if list.iter().all(Value::is_table) && !list.is_empty() => {
            list.iter().enumerate().for_each(|(at, value)| inner(at.to_string(), value));
        }
        _ => into.push(path.clone()),
    }
}

/// Returns a job without one value; of a member of an array all others stay where they are.
fn without(job: &Table, path: &[String]) -> Table {
    let mut job = job.clone();
    let (last, way) = path.split_last().unwrap();
    let mut here: &mut Value = job.get_mut(&way[0]).unwrap();
    for key in &way[1..] {
        here = match here {
            Value::Array(list) => &mut list[key.parse::<usize>().unwrap()],
            other => other.get_mut(key.as_str()).unwrap(),
        };
    }
    here.as_table_mut().unwrap().remove(last);
    job
}

fn inspect(inspector: &mut Inspector, job: &Table, rule: &str) -> Option<Inspected> {
    let text = JobText { name: String::from("job.toml"), text: format!("format = 1\n{job}").into() };
    let mut options = Options::on(jiff::civil::date(2026, 11, 25));
    options.rules = vec![rule.to_owned()];
    options.met = true;
    options.both_ways = true;
    let prepared = inspector.prepare(text, &options).ok()?;
    inspector.inspect(&prepared, &options).ok()
}

/// The values that the report says were taken for granted.
fn assumed(inspected: &Inspected) -> BTreeSet<(ItemIndex, FieldId, String)> {
    let all = inspected.report.assumed.iter();
    all.flat_map(|one| one.items.iter().map(move |item| (*item, one.field, format!("{:?}", one.value)))).collect()
}

/// Whether the report says that of an item of existing work only the faults count that are recorded.
fn only_faults(inspected: &Inspected, rule: &str, item: &str) -> bool {
    let listed = |one: &LeftAsItIs| {
        one.faults_only.iter().any(|id| id == rule) && one.items.iter().any(|&it| inspected.job.id(it) == item)
    };
    inspected.report.existing.iter().any(listed)
}

/// The worst outcome of each item, and whether a finding of it names what it presumes.
fn outcomes(inspected: &Inspected) -> BTreeMap<String, (Outcome, bool)> {
    let mut outcomes: BTreeMap<String, (Outcome, bool)> = BTreeMap::new();
    let passes = |finding: &Finding| matches!(finding.outcome, Outcome::Met | Outcome::Excepted);
    for finding in &inspected.report.findings {
        let presumes = passes(finding) && !finding.presumed.is_empty();
        let entry = outcomes.entry(finding.item.clone()).or_insert((finding.outcome, presumes));
        entry.0 = entry.0.min(finding.outcome);
        entry.1 |= presumes;
    }
    outcomes
}

#[test]
fn nothing_unrecorded_passes_silently() {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let cases = cases(&mut inspector);
    let (mut removed, mut rules) = (0, BTreeSet::new());
    let mut broken: Vec<String> = Vec::new();
    for case in &cases {
        let mut job = case.job.clone();
        if case.accessible {
            let site = job.get_mut("site").and_then(Value::as_table_mut).unwrap();
            site.insert(String::from("accessible"), Value::Boolean(true));
        }
        let Some(before) = inspect(&mut inspector, &job, &case.rule) else { continue };
        let was = outcomes(&before);
        if was.is_empty() {
            continue;
        }
        rules.insert((case.ruleset.as_str(), case.rule.as_str()));
        let mut paths = Vec::new();
        leaves(&Value::Table(job.clone()), &mut Vec::new(), &mut paths);
        for path in paths {
            let key = path.last().map_or("", String::as_str);
            if key == "id" || path.len() < 2 || (path[0] == "site" && CHOOSES_THE_CODE.contains(&key)) {
                continue;
            }
            if WRITTEN_OVER.contains(&key) {
                continue;
            }
            // What cannot be read at all has been told as an error.
            let Some(after) = inspect(&mut inspector, &without(&job, &path), &case.rule) else { continue };
            removed += 1;
            let now = outcomes(&after);
            let newly_assumed = assumed(&after).difference(&assumed(&before)).next().is_some();
            let told = |item: &str| {
                newly_assumed
                    || now.get(item).is_some_and(|(_, presumes)| *presumes)
                    || only_faults(&after, &case.rule, item)
            };
            for (item, (outcome, _)) in &was {
                let slips = match (outcome, now.get(item).map(|(outcome, _)| *outcome)) {
                    (_, None) => after.job.find(item).is_some() && after.report.faults.is_empty(),
                    (Outcome::Correction | Outcome::ToMeasure, Some(Outcome::Met | Outcome::Excepted)) => true,
                    _ => false,
                };
                if slips && !told(item) {
                    let now = now.get(item).map_or("silent", |(outcome, _)| outcome.word());
                    broken.push(format!(
                        "{} `{}` ({}): {item} was {}, is {now} without {}",
                        case.ruleset,
                        case.rule,
                        case.name,
                        outcome.word(),
                        path.join(".")
                    ));
                }
            }
        }
    }
    assert!(broken.is_empty(), "{} of {removed} removals pass silently:\n{}", broken.len(), broken.join("\n"));
    assert!(removed > 5_000, "only {removed} values were taken away");
    assert!(rules.len() > 450, "only {} rules had anything to say", rules.len());
}
