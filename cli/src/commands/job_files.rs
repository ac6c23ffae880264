//! Which files a command is to read.

use std::path::Path;
use std::sync::Arc;

use storystick_engine::inspection::{Failure, JobText};
use storystick_engine::problem::{Problem, Topic};
use storystick_engine::source::{Files, Span};
use storystick_engine::world::World;

use super::next;
use crate::render::report::Look;
use crate::world::{self, Machine};

/// Returns the job files among files and folders. In a folder, a job file is a TOML file that says its `format`.
pub(crate) fn job_files(given: &[String]) -> Result<Vec<String>, String> {
    let world = Machine;
    let mut paths = Vec::new();
    for path in given {
        if !std::path::Path::new(path).is_dir() {
            paths.push(path.clone());
            continue;
        }
        let before = paths.len();
        for file in world.walk(path)? {
            if file.ends_with(".toml") && world.read(&file).is_ok_and(|text| states_format(&text)) {
                paths.push(file);
            }
        }
        if paths.len() == before {
            let message =
                format!("`{path}` holds no job file: a job file is a TOML file that begins with `format = 1`");
            let of_rulesets = world.walk(path)?.iter().any(|file| file.ends_with("ruleset.toml"));
            let next = if of_rulesets {
                format!("`storystick ruleset try {path}` is for folders of rulesets")
            } else {
                format!("`storystick start {}` makes one", Path::new(path).join("house.toml").display())
            };
            return Err(next::told(&message, &[&next], world::columns()));
        }
    }
    Ok(paths)
}

/// Reads a job file.
///
/// # Errors
/// Why it can't be one, drawn, with what to run next.
pub(crate) fn read_job(path: &str, look: Look) -> Result<JobText, String> {
    job_text(path).map_err(|failure| super::draw(&failure.problems, &failure.files, look))
}

/// Reads a job file.
///
/// # Errors
/// Why it can't be one: it is not there, a folder, empty, or a file of another sort.
pub(crate) fn job_text(path: &str) -> Result<JobText, Failure> {
    let failed = |problem: Problem| Failure { problems: vec![problem], files: Files::new() };
    if Path::new(path).is_dir() {
        let problem = Problem::new(Span::NONE, format!("`{path}` is a folder; this needs one job file"));
        let inside = job_files(&[path.to_owned()]).unwrap_or_default();
        let problem = problem.about(Topic::JobFile(path.to_owned()));
        return Err(failed(match inside.first() {
            Some(first) => problem.help(format!("name a job file in it, such as `{first}`")),
            None => problem.help("there is no job file in it"),
        }));
    }
    let text = Machine
        .read(path)
        .map_err(|message| failed(Problem::new(Span::NONE, message).about(Topic::JobFile(path.to_owned()))))?;
    match other_sort(&text) {
        Some(sort) => {
            let problem = Problem::new(Span::NONE, format!("`{path}` is no job file: it {sort}"));
            let problem = problem.about(Topic::JobFile(path.to_owned()));
            Err(failed(problem.help("a job file is TOML text that begins with `format = 1`")))
        }
        None => Ok(JobText { name: path.to_owned(), text: Arc::from(text) }),
    }
}

/// Returns what a text is that is plainly no job; what might be one is read as one, so that its own mistakes show.
fn other_sort(text: &str) -> Option<&'static str> {
    if text.trim().is_empty() {
        return Some("is empty");
    }
    if states_format(text) {
        return None;
    }
    let begins = |lead: &str| text.lines().any(|line| line.trim_start().starts_with(lead));
    let key = |name: &str| {
        text.lines()
            .any(|line| line.trim_start().strip_prefix(name).is_some_and(|rest| rest.trim_start().starts_with('=')))
    };
    match text.trim_start().chars().next() {
        Some('<') => Some("is a page of HTML"),
        Some('{') => Some("is JSON"),
        _ if begins("[[trial]]") => Some("holds trials of a ruleset"),
        _ if key("kind") && key("version") && key("reviewed") => Some("is the manifest of a ruleset"),
        _ if begins("[[amends]]") || (key("cites") && !begins("[site]")) => Some("holds the code of a ruleset"),
        _ if begins("[[worked]]") || begins("[[reply]]") => Some("holds the answers of a drill"),
        _ => None,
    }
}

/// Returns whether a text states a `format` before its first table, as every job file does.
pub(crate) fn states_format(text: &str) -> bool {
    let top = text.lines().map(str::trim_start).take_while(|line| !line.starts_with('['));
    top.map(|line| line.strip_prefix("format")).any(|rest| rest.is_some_and(|rest| rest.trim_start().starts_with('=')))
}

#[cfg(test)]
mod tests {
    use super::states_format;

    #[test]
    fn a_job_file_states_its_format_before_its_tables() {
        assert!(states_format("# a shed\nformat = 1\n[site]\n"));
        assert!(!states_format("[site]\nformat = 1\n"));
        assert!(!states_format("formats = 1\n"));
    }
}
