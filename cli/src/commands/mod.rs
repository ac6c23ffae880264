//! One file for each command; what they share is here.

mod check;
pub(crate) mod code;
pub(crate) mod compare;
mod diff;
pub(crate) mod drill;
mod earlier;
mod export;
pub(crate) mod fields;
pub(crate) mod grade;
pub(crate) mod guide;
pub(crate) mod inspect;
mod job_files;
pub(crate) mod loads;
pub(crate) mod manual;
pub(crate) mod meter;
mod new;
mod next;
mod output;
pub(crate) mod papers;
pub(crate) mod propose;
pub(crate) mod ruleset;
pub(crate) mod schema;
pub(crate) mod start;
pub(crate) mod update;
pub(crate) mod walk;
pub(crate) mod watch;

pub(crate) use job_files::{read_job, states_format};

use std::path::{Path, PathBuf};

use storystick_engine::book::RulesetText;
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::world::World;

use crate::args::{Color, Common};
use crate::render::report::{Drawn, Look};
use crate::world::{self, Machine};

/// Takes text for standard output and standard error as it comes; returns whether anybody still reads.
pub(crate) type Sink<'a> = dyn FnMut(&str, &str) -> bool + 'a;

/// Returns how reports are drawn on standard output or standard error.
pub(crate) fn look(common: &Common, terminal: bool) -> Look {
    let color = colored(common, terminal, world::no_color());
    Look { width: world::columns(), color, plain: common.plain }
}

fn colored(common: &Common, terminal: bool, no_color: bool) -> bool {
    match common.color {
        _ if common.plain => false,
        Color::Always => true,
        Color::Never => false,
        Color::Auto => terminal && !no_color,
    }
}

/// Draws problems of the input, first come first, and says what to run next.
pub(crate) fn draw(problems: &[Problem], files: &Files, look: Look) -> String {
    let drawn: String = problems.iter().map(|problem| Drawn::problem(files, problem).draw(look) + "\n").collect();
    let next = next::after(problems, files);
    drawn + next::block(&next.iter().map(String::as_str).collect::<Vec<_>>(), look.width).as_str()
}

/// Returns the shipped rulesets, then the user's own, then those of `--rulesets`; a later one stands in front of an earlier.
pub(crate) fn rulesets(common: &Common) -> Result<Vec<RulesetText>, String> {
    let mut texts: Vec<RulesetText> =
        storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let own = world::user_rulesets().map(|folder| folder.to_string_lossy().into_owned());
    for folder in own.iter().chain(&common.rulesets) {
        texts.extend(folder_of_rulesets(folder)?);
    }
    Ok(texts)
}

/// Reads a folder of rulesets: every folder in it that holds a `ruleset.toml` is one, its id the path from the folder given.
/// A folder that is itself a ruleset will do too, where its path ends with its id.
pub(crate) fn folder_of_rulesets(folder: &str) -> Result<Vec<RulesetText>, String> {
    let world = Machine;
    let own = Path::new(folder).join("ruleset.toml");
    let (root, folder) =
        if own.is_file() { root_of(folder, &own)? } else { (PathBuf::from(folder), PathBuf::from(folder)) };
    let folder = &*folder.to_string_lossy();
    let next = |message: String| next::told(&message, &[next::NEW_RULESET], world::columns());
    if !Path::new(folder).is_dir() {
        let what = if Path::new(folder).exists() { "is a file" } else { "is not there" };
        let near = world::beside(folder).filter(|_| what == "is not there");
        let near = near.map_or_else(String::new, |near| format!("; {near}"));
        return Err(next(format!("`{folder}` is no folder of rulesets: it {what}{near}")));
    }
    let mut texts = Vec::new();
    let mut manifests = 0;
    for path in world.walk(folder)? {
        let relative = Path::new(&path).strip_prefix(&root).unwrap_or(Path::new(&path));
        let relative = relative.to_string_lossy().replace('\\', "/");
        let wanted = relative.ends_with(".toml") || relative.ends_with(".rhai");
        // Some editors add an ending that the file browser then hides.
        if let Some(meant) =
            relative.strip_suffix(".txt").filter(|name| name.ends_with(".toml") || name.ends_with(".rhai"))
        {
            return Err(format!("`{path}` ends in `.txt` and would not be read: rename it to `{meant}`"));
        }
        if wanted {
            manifests += usize::from(relative.ends_with("ruleset.toml"));
            texts.push(RulesetText::in_folder(root.to_string_lossy(), relative, world.read(&path)?));
        }
    }
    if manifests == 0 {
        return Err(next(format!("`{folder}` holds no ruleset: a ruleset is a folder with a `ruleset.toml` in it")));
    }
    Ok(texts)
}

/// Returns the folder of rulesets that a ruleset's own folder lies in, and that own folder, as the user wrote it where that
/// reaches so far up.
fn root_of(folder: &str, manifest: &Path) -> Result<(PathBuf, PathBuf), String> {
    let text = Machine.read(&manifest.to_string_lossy())?;
    let table: toml_edit::DocumentMut =
        text.parse().map_err(|error| format!("`{}` can't be read: {error}", manifest.display()))?;
    let id = table.get("id").and_then(|id| id.as_str()).unwrap_or_default();
    let depth = Path::new(id).components().count();
    let whole = std::path::absolute(folder).unwrap_or_else(|_| PathBuf::from(folder));
    for own in [Path::new(folder), &whole] {
        if let Some(root) = own.ancestors().nth(depth).filter(|_| !id.is_empty() && own.ends_with(id)) {
            let root = if root.as_os_str().is_empty() { Path::new(".") } else { root };
            return Ok((root.to_path_buf(), root.join(id)));
        }
    }
    Err(format!("`{folder}` is the ruleset `{id}`, but its path does not end so: give the folder the name of the id"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_is_for_terminals_that_want_it() {
        let common = |color, plain| Common { rulesets: Vec::new(), color, plain };
        assert!(colored(&common(Color::Auto, false), true, false));
        assert!(!colored(&common(Color::Auto, false), true, true), "NO_COLOR");
        assert!(!colored(&common(Color::Auto, false), false, false), "a pipe");
        assert!(colored(&common(Color::Always, false), false, true), "asked for");
        assert!(!colored(&common(Color::Never, false), true, false));
        assert!(!colored(&common(Color::Always, true), true, false), "plain");
    }
}
