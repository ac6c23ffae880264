//! `ruleset check --mutants`: which small changes of a ruleset none of its trials notices.

use std::fmt::Write as _;

use rayon::prelude::*;
use serde_json::json;
use storystick_engine::inspection::Inspector;
use storystick_engine::source::Files;
use storystick_engine::trial::{ChangeOf, Fate, Mutant, Mutants, MutantsTried};

use super::super::{draw, look};
use super::place;
use crate::args::{CheckFormat, Common};
use crate::render::report::Look;
use crate::render::wrap::{columns, indented, wrap};
use crate::{Answer, Status, world};

/// Runs the command on rulesets by their ids.
pub(super) fn run(common: &Common, format: CheckFormat, mut inspector: Inspector, wanted: &[String]) -> Answer {
    let look = look(common, world::stdout_is_terminal());
    let tried: Vec<MutantsTried> = wanted.iter().map(|id| tried(&mut inspector, id)).collect();
    let files = inspector.shelf().files();
    let out = match format {
        CheckFormat::Text => text(&tried, files, look),
        CheckFormat::Json => whole_json(&tried, files),
        CheckFormat::Markdown => markdown(&tried),
    };
    let status = tried.iter().map(status).max().unwrap_or(Status::Clean);
    Answer { out, err: String::new(), status }
}

/// Tries every change of one ruleset, on all cores.
fn tried(inspector: &mut Inspector, id: &str) -> MutantsTried {
    let mutants = Mutants::of(inspector, id);
    let inspector = &*inspector;
    let fates: Vec<Fate> =
        (0..mutants.len()).into_par_iter().map(|number| mutants.attempt(inspector, number)).collect();
    mutants.tell(&fates)
}

fn status(tried: &MutantsTried) -> Status {
    if !tried.problems.is_empty() {
        Status::Fault
    } else if tried.unnoticed.is_empty() {
        Status::Clean
    } else {
        Status::Corrections
    }
}

fn text(all: &[MutantsTried], files: &Files, look: Look) -> String {
    let mut out = String::new();
    for tried in all {
        out.push_str(&draw(&tried.problems, files, look));
        // Of a ruleset that can't be read, nothing more can be told.
        if tried.tried() == 0 && !tried.problems.is_empty() {
            continue;
        }
        for mutant in &tried.unnoticed {
            out.push_str(&wrap(&line(mutant, files), look.width, "  "));
        }
        if !tried.unnoticed.is_empty() {
            out.push('\n');
        }
        let unnoticed = match tried.unnoticed.len() {
            0 => String::from("a trial notices each of them"),
            1 => String::from("1 goes unnoticed"),
            many => format!("{many} go unnoticed"),
        };
        let mut head = format!("{}: {} changes tried, {unnoticed}", tried.ruleset, tried.tried());
        if !tried.excused.is_empty() {
            let _ = write!(head, ", {} excused in trials/unnoticed.toml", tried.excused.len());
        }
        out.push_str(&wrap(&head, look.width, "  "));
        if tried.set_aside > 0 {
            let words = match tried.set_aside {
                1 => String::from("1 trial that does not come out as written was left aside"),
                many => format!("{many} trials that do not come out as written were left aside"),
            };
            out.push_str(&indented(&words, look.width, 2, "  "));
        }
        if tried.tried() > 0 {
            out.push_str(&columns(&rows(tried), look.width));
        }
        out.push('\n');
    }
    out
}

/// Returns where a change was made, of what, and what it is.
fn line(mutant: &Mutant, files: &Files) -> String {
    let at = match place(files, mutant.span) {
        (Some(file), Some(line)) => format!("{file}:{line}: "),
        _ => String::new(),
    };
    let untried = match (&mutant.of, mutant.trials) {
        (ChangeOf::Entry(_), 0) => " (no trial reads it)",
        (_, 0) => " (it has no trial)",
        _ => "",
    };
    format!("{at}{} {}: {}{untried}", mutant.of.word(), mutant.of.name(), mutant.says)
}

const HEAD: [&str; 4] = ["change", "tried", "noticed", "share"];

fn rows(tried: &MutantsTried) -> Vec<Vec<String>> {
    let row = |what: &str, all: usize, noticed: usize| {
        vec![what.to_owned(), all.to_string(), noticed.to_string(), share(all, noticed)]
    };
    let mut rows = vec![HEAD.map(str::to_owned).to_vec()];
    rows.extend(tried.sorts.iter().map(|(sort, all, noticed)| row(sort.says(), *all, *noticed)));
    if tried.sorts.len() > 1 {
        rows.push(row("all", tried.tried(), tried.noticed()));
    }
    rows
}

/// Returns a share in whole percents, cut off: all is told only where it is all.
fn share(all: usize, noticed: usize) -> String {
    (noticed * 100).checked_div(all).map_or_else(|| String::from("–"), |share| format!("{share} %"))
}

fn markdown(all: &[MutantsTried]) -> String {
    let mut out = String::from("| ruleset | change | tried | noticed | share |\n| --- | --- | --- | --- | --- |\n");
    for tried in all {
        for row in rows(tried).iter().skip(1) {
            let _ = writeln!(out, "| {} | {} |", tried.ruleset, row.join(" | ").replace("||", "\\|\\|"));
        }
    }
    out
}

fn whole_json(all: &[MutantsTried], files: &Files) -> String {
    let mutant = |mutant: &Mutant| {
        let (file, line) = place(files, mutant.span);
        json!({
            mutant.of.word(): mutant.of.name(), "sort": mutant.sort.word(), "change": mutant.says,
            "file": file, "line": line, "trials": mutant.trials,
        })
    };
    let excused = |(of, reason): &(Mutant, String)| {
        let mut one = mutant(of);
        one["reason"] = json!(reason);
        one
    };
    let ruleset = |tried: &MutantsTried| {
        json!({
            "ruleset": tried.ruleset, "tried": tried.tried(), "noticed": tried.noticed(),
            "sorts": tried.sorts.iter().map(|(sort, all, noticed)| {
                json!({ "sort": sort.word(), "tried": all, "noticed": noticed })
            }).collect::<Vec<_>>(),
            "unnoticed": tried.unnoticed.iter().map(mutant).collect::<Vec<_>>(),
            "excused": tried.excused.iter().map(excused).collect::<Vec<_>>(),
            "trials_left_aside": tried.set_aside,
            "problems": tried.problems.iter().map(|problem| super::problem(problem, files)).collect::<Vec<_>>(),
        })
    };
    let whole =
        json!({ "schema": crate::render::json::SCHEMA, "mutants": all.iter().map(ruleset).collect::<Vec<_>>() });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}
