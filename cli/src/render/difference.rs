//! What one code has otherwise than another, in words and as JSON.

use serde_json::{Value, json};
use storystick_engine::book::{EntryChange, EntryDifference, RowDifference, RuleChange, RuleDifference, Step};
use storystick_engine::source::Files;

/// Rows of a table that are written out before the rest is counted.
const ROWS: usize = 4;

/// Returns who said something: `Harlow County, Ord. 21-14 §3, in force 2022-01-01`.
fn said_by(step: &Step) -> String {
    let since = step.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
    let doubt = if step.checked.is_verified() { "" } else { ", unverified" };
    format!("{}, {}{since}{doubt}", step.title, step.cites)
}

fn by(steps: &[Step]) -> String {
    steps.last().map_or_else(String::new, |step| format!(" ({})", said_by(step)))
}

/// Returns who stands behind a difference of lists or tables: the steps that only one side has.
fn bys(difference: &EntryDifference) -> String {
    let only = |steps: &[Step], others: &[Step]| -> Vec<String> {
        steps.iter().filter(|step| !others.iter().any(|other| other.span == step.span)).map(said_by).collect()
    };
    let (first, second) = (only(&difference.before, &difference.after), only(&difference.after, &difference.before));
    match (first.is_empty(), second.is_empty()) {
        (true, true) => String::new(),
        (true, false) => format!(" ({})", second.join("; ")),
        (false, true) => format!(" (without {})", first.join("; ")),
        (false, false) => format!(" ({} → {})", first.join("; "), second.join("; ")),
    }
}

fn row(row: &RowDifference) -> String {
    match (&row.before, &row.after) {
        (Some(before), Some(after)) => format!("{}: {before} → {after}", row.key),
        (Some(before), None) => format!("without {} = {before}", row.key),
        (None, Some(after)) => format!("with {} = {after}", row.key),
        (None, None) => row.key.clone(),
    }
}

/// Returns an entry's difference in one line, the whole of a long table on demand.
pub(crate) fn entry_line(difference: &EntryDifference, whole: bool) -> String {
    let key = &difference.key;
    match &difference.what {
        EntryChange::Added => {
            let value = difference.after.last().map_or("", |step| step.value.as_str());
            format!("{key}: only in the second, {value}{}", by(&difference.after))
        }
        EntryChange::Removed => {
            let value = difference.before.last().map_or("", |step| step.value.as_str());
            format!("{key}: only in the first, {value}{}", by(&difference.before))
        }
        EntryChange::Value { before, after } | EntryChange::Kind { before, after } => {
            format!("{key}: {before}{} → {after}{}", by(&difference.before), by(&difference.after))
        }
        EntryChange::Members { added, removed } => {
            let with = added.iter().map(|member| format!("with {member}"));
            let parts: Vec<String> = with.chain(removed.iter().map(|member| format!("without {member}"))).collect();
            format!("{key}: {}{}", parts.join(", "), bys(difference))
        }
        EntryChange::Rows(rows) => {
            let shown = if whole { rows.len() } else { rows.len().min(ROWS) };
            let mut parts: Vec<String> = rows.iter().take(shown).map(row).collect();
            if shown < rows.len() {
                parts.push(format!("and {} more", rows.len() - shown));
            }
            format!("{key}: {}{}", parts.join("; "), bys(difference))
        }
    }
}

/// Returns a rule's difference in one line.
pub(crate) fn rule_line(difference: &RuleDifference) -> String {
    let id = &difference.id;
    let (before, after) = (by(&difference.before), by(&difference.after));
    match &difference.what {
        RuleChange::Added => format!("rule {id}: only in the second{after}"),
        RuleChange::Removed => match difference.after.last() {
            Some(step) => format!("rule {id}: only in the first{before}; {} ({})", step.value, said_by(step)),
            None => format!("rule {id}: only in the first{before}"),
        },
        RuleChange::Rewritten => format!("rule {id}: asks something else{before} →{after}"),
        RuleChange::Exceptions { added, removed } => {
            let named =
                |what: &str, names: &[String]| names.iter().map(|name| format!(" {what} {name}")).collect::<String>();
            format!("rule {id}: exceptions{}{}", named("+", added), named("-", removed))
        }
        RuleChange::Reweighed { before: from, after: to } => {
            format!("rule {id}: weighs {}{before} → {}{after}", from.word(), to.word())
        }
    }
}

fn steps(files: &Files, chain: &[Step]) -> Vec<Value> {
    let step = |step: &Step| {
        let at = files.place(step.span);
        json!({
            "ruleset": step.ruleset, "title": step.title, "value": step.value, "cite": step.cites, "source": step.source,
            "checked": step.checked.word(), "verified": step.checked.is_verified(), "in_force": step.in_force,
            "note": step.note, "file": at.map(|at| at.file), "line": at.map(|at| at.line),
        })
    };
    chain.iter().map(step).collect()
}

/// Returns an entry's difference for programs.
pub(crate) fn entry_json(files: &Files, difference: &EntryDifference) -> Value {
    let mut value = match &difference.what {
        EntryChange::Added => json!({ "change": "added" }),
        EntryChange::Removed => json!({ "change": "removed" }),
        EntryChange::Value { before, after } => json!({ "change": "value", "before": before, "after": after }),
        EntryChange::Kind { before, after } => json!({ "change": "kind", "before": before, "after": after }),
        EntryChange::Members { added, removed } => json!({ "change": "members", "added": added, "removed": removed }),
        EntryChange::Rows(rows) => json!({
            "change": "rows",
            "rows": rows.iter().map(|row| json!({ "key": row.key, "before": row.before, "after": row.after })).collect::<Vec<_>>(),
        }),
    };
    value["entry"] = json!(difference.key);
    value["set_by_before"] = json!(steps(files, &difference.before));
    value["set_by_after"] = json!(steps(files, &difference.after));
    value
}

/// Returns a rule's difference for programs.
pub(crate) fn rule_json(files: &Files, difference: &RuleDifference) -> Value {
    let mut value = match &difference.what {
        RuleChange::Added => json!({ "change": "added" }),
        RuleChange::Removed => json!({ "change": "removed" }),
        RuleChange::Rewritten => json!({ "change": "rewritten" }),
        RuleChange::Exceptions { added, removed } => {
            json!({ "change": "exceptions", "added": added, "removed": removed })
        }
        RuleChange::Reweighed { before, after } => {
            json!({ "change": "reweighed", "before": before.word(), "after": after.word() })
        }
    };
    value["rule"] = json!(difference.id);
    value["set_by_before"] = json!(steps(files, &difference.before));
    value["set_by_after"] = json!(steps(files, &difference.after));
    value
}
