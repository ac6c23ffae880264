//! Files of rulesets: what is wrong with them as they are typed.

use std::path::Path;

use lsp_types::Diagnostic;
use storystick_engine::book::{Ask, RulesetKind};
use storystick_engine::inspection::Inspector;
use storystick_engine::problem::Problem;

use super::desk::problem;
use crate::commands::guide::newest;

/// Opens a ruleset, resolves it on every day of change, compiles its rules, and returns what there is to say of one of its files.
pub(super) fn look(inspector: &mut Inspector, id: &str, path: &Path) -> Vec<Diagnostic> {
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
    let mut distinct: Vec<Problem> = Vec::new();
    for one in problems {
        if one.span.is_some() && !distinct.contains(&one) {
            distinct.push(one);
        }
    }
    let files = inspector.shelf().files();
    distinct.iter().filter_map(|one| problem(files, one, path)).collect()
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
            problems.extend(inspector.shelf_mut().resolve(&ask).err().unwrap_or_default());
        }
    }
    problems
}
