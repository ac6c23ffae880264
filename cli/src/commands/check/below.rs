//! What `ruleset check` tells of the rulesets below the one that is checked.

use std::collections::BTreeMap;

use serde_json::json;
use storystick_engine::source::Files;
use storystick_engine::trial::{Coverage, Otherwise};

use super::place;
use crate::render::report::{Drawn, Look};
use crate::render::wrap::indented;

/// Returns the rules that are switched off, then the amendments that change nothing.
pub(super) fn drawn(coverage: &Coverage, files: &Files, look: Look) -> String {
    let all = coverage.broken.iter().chain(&coverage.idle);
    all.map(|problem| format!("{}\n", Drawn::problem(files, problem).draw(look))).collect()
}

/// Returns the trials of the rulesets below that come out otherwise, by rule.
pub(super) fn otherwise(coverage: &Coverage, files: &Files, look: Look) -> String {
    let mut by_ruleset: BTreeMap<&str, Vec<&Otherwise>> = BTreeMap::new();
    for one in &coverage.otherwise {
        by_ruleset.entry(&one.ruleset).or_default().push(one);
    }
    let mut out = String::new();
    for (ruleset, trials) in by_ruleset {
        let comes = if trials.len() == 1 { "1 trial comes" } else { &format!("{} trials come", trials.len()) };
        let head = format!("{comes} out otherwise here than in {ruleset}, as amendments may have it:");
        out.push_str(&indented(&head, look.width, 2, "  "));
        for one in trials {
            out.push_str(&indented(&line(one, files), look.width, 4, "  "));
        }
    }
    out
}

fn line(one: &Otherwise, files: &Files) -> String {
    let at = match place(files, one.span) {
        (Some(file), Some(line)) => format!(" ({file}:{line})"),
        _ => String::new(),
    };
    let got = one.got.map_or("can't be run", |got| got.word());
    let name = if one.name.is_empty() { String::new() } else { format!(" “{}”", one.name) };
    format!("{}{name}{at}: {} there, {got} here; reads {}", one.rule, one.expected.word(), one.entries.join(", "))
}

/// Returns the same for programs.
pub(super) fn json(coverage: &Coverage, files: &Files) -> serde_json::Value {
    let otherwise = |one: &Otherwise| {
        let (file, line) = place(files, one.span);
        json!({
            "ruleset": one.ruleset, "rule": one.rule, "name": one.name, "expected": one.expected.word(),
            "got": one.got.map(|got| got.word()), "entries": one.entries, "file": file, "line": line,
        })
    };
    json!({
        "switched_off": coverage.broken.iter().map(|problem| super::problem(problem, files)).collect::<Vec<_>>(),
        "change_nothing": coverage.idle.iter().map(|problem| super::problem(problem, files)).collect::<Vec<_>>(),
        "otherwise": coverage.otherwise.iter().map(otherwise).collect::<Vec<_>>(),
    })
}
