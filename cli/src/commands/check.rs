//! `ruleset check`: what rulesets cover, and how far they can be trusted.

mod below;
mod mutants;

use std::fmt::Write as _;

use serde_json::json;
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};
use storystick_engine::trial::{Coverage, Noted, Ways, cover};

use super::next;
use super::ruleset::{chosen, failed_trials};
use crate::args::{CheckFormat, Common, RulesetCheck};
use crate::render::report::{Drawn, Look};
use crate::render::wrap::{columns, indented, wrap};
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &RulesetCheck) -> Answer {
    let look = super::look(common, world::stdout_is_terminal());
    let (mut inspector, wanted) = match chosen(common, &args.which) {
        Ok(chosen) => chosen,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    if args.mutants {
        return mutants::run(common, args.format, inspector, &wanted);
    }
    let covered = cover(&mut inspector, &wanted);
    let files = inspector.shelf().files();
    let out = match args.format {
        CheckFormat::Text => text(&covered, files, look),
        CheckFormat::Json => whole_json(&covered, files),
        CheckFormat::Markdown => markdown(&covered),
    };
    let status = covered.iter().map(status).max().unwrap_or(Status::Clean);
    Answer { out, err: String::new(), status }
}

fn status(coverage: &Coverage) -> Status {
    if !coverage.problems.is_empty() {
        Status::Fault
    } else if coverage.is_sound() {
        Status::Clean
    } else {
        Status::Corrections
    }
}

/// Returns the shares of parts in their sum, in whole percents that add up to a hundred. A part that is there is never told as
/// nothing.
fn shares(parts: &[usize]) -> Vec<usize> {
    let total: usize = parts.iter().sum();
    if total == 0 {
        return vec![0; parts.len()];
    }
    let mut shares: Vec<usize> = parts.iter().map(|part| (part * 100 / total).max(usize::from(*part > 0))).collect();
    loop {
        let sum: usize = shares.iter().sum();
        // What is cut off, in hundredths of the total; the largest is rounded up first, the smallest taken from first.
        let cut = |at: usize| {
            let exact = parts.get(at).map_or(0, |part| part * 100) as i128;
            exact - shares.get(at).map_or(0, |share| share * total) as i128
        };
        let at = match sum.cmp(&100) {
            std::cmp::Ordering::Equal => return shares,
            std::cmp::Ordering::Less => (0..parts.len()).rev().max_by_key(|at| cut(*at)),
            std::cmp::Ordering::Greater => {
                (0..parts.len()).filter(|at| shares.get(*at).is_some_and(|share| *share > 1)).min_by_key(|at| cut(*at))
            }
        };
        let Some(share) = at.and_then(|at| shares.get_mut(at)) else { return shares };
        *share = if sum < 100 { *share + 1 } else { *share - 1 };
    }
}

/// Returns what part of its values a ruleset has verified, in whole percents; nothing where it has none.
fn verified(ways: Ways) -> Option<String> {
    let (verified, total) = (ways.verified(), ways.total());
    let share = shares(&[verified, total - verified]);
    (total > 0).then(|| format!("{} %", share.first().copied().unwrap_or(0)))
}

fn ways(ways: Ways) -> String {
    let shares = shares(&ways.0);
    let told = ways.by_word().zip(shares).filter(|(_, share)| *share > 0);
    told.map(|((word, _), share)| format!("{} {share} %", word.replace('_', " "))).collect::<Vec<_>>().join(", ")
}

fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

fn text(covered: &[Coverage], files: &Files, look: Look) -> String {
    let mut out = String::new();
    for coverage in covered {
        one(&mut out, coverage, files, look);
        out.push('\n');
    }
    if covered.len() > 1 {
        out.push_str(&table(covered, look.width));
    }
    out
}

fn one(out: &mut String, coverage: &Coverage, files: &Files, look: Look) {
    for problem in &coverage.problems {
        let _ = writeln!(out, "{}", Drawn::problem(files, problem).draw(look));
    }
    // That `ruleset check` tells of it is known to whoever reads this.
    let next = next::after_check(&coverage.problems, files);
    out.push_str(&next::block(&next.iter().map(String::as_str).collect::<Vec<_>>(), look.width));
    out.push_str(&below::drawn(coverage, files, look));
    // Of a ruleset that is not there, nothing more can be told.
    if coverage.kind.is_none() {
        return;
    }
    out.push_str(&failed_trials(&coverage.failed, &coverage.problems, files, look));
    let kind = coverage.kind.map_or_else(String::new, |kind| format!(", {}", kind.word()));
    let reviewed = coverage.reviewed.map_or_else(|| String::from("not reviewed"), |day| format!("reviewed {day}"));
    let head = format!("{} — {}{kind}, {reviewed}", coverage.ruleset, coverage.title);
    out.push_str(&wrap(&head, look.width, "  "));
    let mut line = |text: String| out.push_str(&indented(&text, look.width, 2, "  "));
    if let Some(why) = &coverage.draft {
        line(format!("draft: {why}"));
    }
    if coverage.rules > 0 {
        let unusable = match coverage.unusable.len() {
            0 => String::new(),
            many => format!("; {many} can't be used"),
        };
        line(format!(
            "{}: {} decided from the record, {} to look at{unusable}",
            count(coverage.rules, "rule", "rules"),
            coverage.decide,
            coverage.look
        ));
        line(format!("rules checked: {}", ways(coverage.asked)));
    }
    let parts = [
        (coverage.entries, "entry", "entries"),
        (coverage.amendments, "amendment", "amendments"),
        (coverage.adoptions, "adoption", "adoptions"),
    ];
    let parts: Vec<String> =
        parts.iter().filter(|part| part.0 > 0).map(|(number, one, many)| count(*number, one, many)).collect();
    if !parts.is_empty() {
        line(parts.join(", "));
    }
    if coverage.values.total() > 0 {
        line(format!("values checked: {}", ways(coverage.values)));
    }
    line(format!(
        "{}{}, {} failed",
        count(coverage.trials, "trial", "trials"),
        per_rule(coverage),
        coverage.failed.len()
    ));
    let names = |list: &[Noted]| list.iter().map(|noted| noted.name.clone()).collect::<Vec<_>>();
    let untried = |which: fn(&&storystick_engine::trial::Lacking) -> bool| {
        coverage.lacking.iter().filter(which).map(|rule| rule.rule.clone()).collect::<Vec<_>>()
    };
    for (title, list) in [
        ("read by no rule, calculation or paper", names(&coverage.unread)),
        ("read by calculations and papers alone, in no trial", names(&coverage.unshown)),
        ("facts that no rule reads", names(&coverage.unread_facts)),
        ("not founded", names(&coverage.unfounded)),
        ("no trial meets", untried(|rule| rule.met)),
        ("no trial fails", untried(|rule| rule.failed)),
    ] {
        if !list.is_empty() {
            line(format!("{title} ({}): {}", list.len(), list.join(", ")));
        }
    }
    let exceptions = |rule: &storystick_engine::trial::Lacking| {
        rule.exceptions.iter().map(|name| format!("{} “{name}”", rule.rule)).collect::<Vec<_>>()
    };
    let exceptions: Vec<String> = coverage.lacking.iter().flat_map(exceptions).collect();
    if !exceptions.is_empty() {
        line(format!("no trial is excepted by ({}): {}", exceptions.len(), exceptions.join(", ")));
    }
    out.push_str(&below::otherwise(coverage, files, look));
}

/// Returns the trials for each rule, to one decimal; nothing for a ruleset without rules of its own.
fn per_rule(coverage: &Coverage) -> String {
    match coverage.rules {
        0 => String::new(),
        rules => {
            let tenths = (coverage.trials * 20 + rules) / (2 * rules);
            format!(" ({}.{} a rule)", tenths / 10, tenths % 10)
        }
    }
}

const HEAD: [&str; 9] =
    ["ruleset", "rules", "trials", "values", "law text", "official page", "secondary", "memory", "reviewed"];

fn row(coverage: &Coverage) -> Vec<String> {
    let mut row = vec![coverage.ruleset.clone(), coverage.rules.to_string(), coverage.trials.to_string()];
    let total = coverage.values.total();
    row.push(total.to_string());
    let shares = shares(&coverage.values.0);
    row.extend(shares.iter().map(|share| if total == 0 { dash() } else { format!("{share} %") }));
    row.push(coverage.reviewed.map_or_else(dash, |day| day.to_string()));
    row
}

fn dash() -> String {
    String::from("–")
}

/// Returns the sums of a table, its shares over all values.
fn sums(covered: &[Coverage]) -> Vec<String> {
    let mut all = Coverage { ruleset: String::from("all"), ..Coverage::default() };
    for one in covered {
        all.rules += one.rules;
        all.trials += one.trials;
        for (sum, part) in all.values.0.iter_mut().zip(one.values.0) {
            *sum += part;
        }
    }
    let mut row = row(&all);
    if let Some(reviewed) = row.last_mut() {
        reviewed.clear();
    }
    row
}

/// Returns the table for a terminal: shares of verified values alone, so that it fits.
fn table(covered: &[Coverage], width: usize) -> String {
    let head = ["ruleset", "rules", "trials", "values", "verified", "reviewed"].map(str::to_owned).to_vec();
    let mut rows = vec![head];
    for coverage in covered {
        let values = coverage.values;
        let verified = verified(values).unwrap_or_else(dash);
        let reviewed = coverage.reviewed.map_or_else(dash, |day| day.to_string());
        rows.push(vec![
            coverage.ruleset.clone(),
            coverage.rules.to_string(),
            coverage.trials.to_string(),
            values.total().to_string(),
            verified,
            reviewed,
        ]);
    }
    columns(&rows, width)
}

fn markdown(covered: &[Coverage]) -> String {
    let mut out = format!("| {} |\n|{}\n", HEAD.join(" | "), " --- |".repeat(HEAD.len()));
    for row in covered.iter().map(row).chain([sums(covered)]) {
        let _ = writeln!(out, "| {} |", row.join(" | "));
    }
    out
}

fn place(files: &Files, span: Span) -> (Option<String>, Option<u32>) {
    match files.place(span) {
        Some(at) => (Some(at.file.to_string()), u32::try_from(at.line).ok()),
        None => (None, None),
    }
}

fn noted(files: &Files, list: &[Noted]) -> Vec<serde_json::Value> {
    let one = |noted: &Noted| {
        let (file, line) = place(files, noted.span);
        json!({ "name": noted.name, "file": file, "line": line })
    };
    list.iter().map(one).collect()
}

fn problem(problem: &Problem, files: &Files) -> serde_json::Value {
    let (file, line) = place(files, problem.span);
    json!({ "message": problem.message, "help": problem.help, "file": file, "line": line })
}

fn json(coverage: &Coverage, files: &Files) -> serde_json::Value {
    let by_word =
        |ways: Ways| ways.by_word().map(|(word, n)| (word.to_owned(), json!(n))).collect::<serde_json::Map<_, _>>();
    let problem = |one: &Problem| problem(one, files);
    json!({
        "ruleset": coverage.ruleset, "title": coverage.title, "kind": coverage.kind.map(|kind| kind.word()),
        "reviewed": coverage.reviewed.map(|day| day.to_string()), "draft": coverage.draft,
        "rules": {
            "all": coverage.rules, "decide": coverage.decide, "look": coverage.look,
            "unusable": coverage.unusable.iter().map(|(rule, why)| json!({ "rule": rule, "why": why })).collect::<Vec<_>>(),
            "checked": by_word(coverage.asked),
            "no_trial_meets": coverage.lacking.iter().filter(|rule| rule.met).map(|rule| &rule.rule).collect::<Vec<_>>(),
            "no_trial_excepted_by": coverage.lacking.iter().filter(|rule| !rule.exceptions.is_empty()).map(|rule| {
                json!({ "rule": rule.rule, "exceptions": rule.exceptions })
            }).collect::<Vec<_>>(),
            "no_trial_fails": coverage.lacking.iter().filter(|rule| rule.failed).map(|rule| &rule.rule).collect::<Vec<_>>(),
        },
        "values": {
            "entries": coverage.entries, "amendments": coverage.amendments, "checked": by_word(coverage.values),
            "unread": noted(files, &coverage.unread), "unshown": noted(files, &coverage.unshown),
            "unread_facts": noted(files, &coverage.unread_facts),
        },
        "adoptions": coverage.adoptions,
        "below": below::json(coverage, files),
        "unfounded": noted(files, &coverage.unfounded),
        "trials": {
            "all": coverage.trials,
            "failed": coverage.failed.iter().map(|trial| json!({
                "rule": trial.rule, "name": trial.name, "expected": trial.expected.word(),
                "got": trial.got.map(|got| got.word()), "problem": trial.problem.as_ref().map(problem),
            })).collect::<Vec<_>>(),
        },
        "problems": coverage.problems.iter().map(problem).collect::<Vec<_>>(),
        "sound": coverage.is_sound(),
    })
}

fn whole_json(covered: &[Coverage], files: &Files) -> String {
    let all: Vec<_> = covered.iter().map(|coverage| json(coverage, files)).collect();
    let whole = json!({ "schema": crate::render::json::SCHEMA, "rulesets": all });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_add_up_to_a_hundred() {
        assert_eq!(shares(&[0, 0, 53, 147]), [0, 0, 27, 73]);
        assert_eq!(shares(&[1, 1, 1]), [34, 33, 33]);
        assert_eq!(shares(&[1, 999, 0]), [1, 99, 0]);
        assert_eq!(shares(&[0, 0]), [0, 0]);
        assert_eq!(shares(&[5]), [100]);
        for parts in [[1usize, 2, 3, 7], [1, 1, 1, 9_997], [399, 1, 0, 0], [1, 1, 500, 500]] {
            assert_eq!(shares(&parts).iter().sum::<usize>(), 100, "{parts:?}");
        }
    }
}
