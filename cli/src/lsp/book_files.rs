//! Files of rulesets: what is wrong with them as they are typed, and trials that don't come out as written.

use std::collections::BTreeMap;
use std::path::PathBuf;

use lsp_types::Diagnostic;
use storystick_engine::book::{Ask, RulesetKind};
use storystick_engine::inspection::Inspector;
use storystick_engine::model::Stage;
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::trial::try_while;

use super::desk::problem;
use crate::commands::guide::newest;

/// What there is to say of files.
pub(super) type Said = BTreeMap<PathBuf, Vec<Diagnostic>>;

/// Opens a ruleset, resolves it on every day of change, compiles its rules, and returns what there is to say of its files.
pub(super) fn look(inspector: &mut Inspector, id: &str) -> Said {
    let mut problems: Vec<Problem> = inspector.shelf().problems().to_vec();
    match inspector.shelf_mut().open(id) {
        Err(more) => problems.extend(more),
        Ok(contents) => {
            problems.extend(resolved(inspector, id));
            if let Some(book) = newest(inspector, id) {
                for source in &contents.rules {
                    problems.extend(inspector.rule(source, &book).err().unwrap_or_default());
                }
            }
        }
    }
    by_file(inspector.shelf().files(), &problems)
}

/// Runs the trials of a ruleset and returns what there is to say of its files; nothing where it was told to stop.
pub(super) fn try_all(inspector: &mut Inspector, id: &str, go_on: &mut dyn FnMut() -> bool) -> Option<Said> {
    let tried = try_while(inspector, id, go_on)?;
    let mut problems = tried.problems;
    // What keeps a trial from running stands at its own place already.
    for trial in tried.trials.into_iter().filter(|trial| !trial.blocked) {
        problems.extend(trial.problem.map(|mut problem| {
            if !trial.name.is_empty() {
                problem.message = format!("“{}”: {}", trial.name, problem.message);
            }
            problem
        }));
    }
    Some(by_file(inspector.shelf().files(), &problems))
}

fn by_file(files: &Files, problems: &[Problem]) -> Said {
    let mut said = Said::new();
    let mut distinct: Vec<&Problem> = Vec::new();
    for one in problems {
        if let Some(file) = files.file_of(one.span)
            && !distinct.contains(&one)
        {
            distinct.push(one);
            // What is shipped can't be put right.
            if !file.name().starts_with("ruleset:") {
                said.entry(PathBuf::from(file.name())).or_default().push(problem(files, one));
            }
        }
    }
    said
}

fn resolved(inspector: &mut Inspector, id: &str) -> Vec<Problem> {
    let Some(kind) = inspector.shelf().ruleset(id).map(|ruleset| ruleset.kind) else { return Vec::new() };
    let alone = matches!(kind, RulesetKind::Accessibility | RulesetKind::Shop);
    let mut days = inspector.shelf_mut().days_of_change(id);
    days.extend(inspector.shelf_mut().newest_start(id));
    let mut problems = Vec::new();
    for day in days {
        let ask = Ask { alone, ..Ask::on(id, day) };
        if !inspector.shelf().nothing_in_force(&ask) {
            // With the code of all stages it is also told whether a place that may only tighten does.
            problems.extend(inspector.code(&ask, Stage::Final).err().unwrap_or_default());
        }
    }
    problems
}
