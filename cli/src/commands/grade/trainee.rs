//! What a class handed in.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use storystick_engine::world::World;

use crate::world::Machine;

/// What one trainee handed in.
#[derive(Debug)]
pub(super) struct HandedIn {
    /// Name of the folder or file.
    pub(super) name: String,
    /// Path of the job file.
    pub(super) job: Option<String>,
    /// Path of the answers.
    pub(super) answers: Option<String>,
    /// Path of the log of readings.
    pub(super) readings: Option<String>,
}

/// Returns what lies in a folder, by name: a folder or a pair of files for each trainee; `own` are files of the trainer.
///
/// # Errors
/// What the user should read: the folder can't be read, nothing of a trainee is in it, or two jobs are in one folder.
pub(super) fn all(folder: &str, own: &[&str]) -> Result<Vec<HandedIn>, String> {
    let real = |path: &str| std::fs::canonicalize(path).ok();
    let own: Vec<PathBuf> = own.iter().filter_map(|path| real(path)).collect();
    let world = Machine;
    let mut found: BTreeMap<String, HandedIn> = BTreeMap::new();
    for path in world.walk(folder).map_err(|message| format!("{message}\n"))? {
        let Some(within) = Path::new(&path).strip_prefix(folder).ok().filter(|_| path.ends_with(".toml")) else {
            continue;
        };
        let file = within.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let own_folder = within.components().next().filter(|_| within.components().count() > 1);
        let own_folder = own_folder.map(|part| part.as_os_str().to_string_lossy().into_owned());
        let is = |name: &str| file == name || file.ends_with(&format!(".{name}"));
        // The trainer's own key, rubric and reference are nobody's work. Everything else is somebody's, however broken.
        if real(&path).is_some_and(|path| own.iter().any(|own| path.starts_with(own))) {
            continue;
        }
        let stem = file.trim_end_matches(".toml").trim_end_matches(".answers").trim_end_matches(".readings").to_owned();
        let name = own_folder.unwrap_or(stem);
        let one = found.entry(name.clone()).or_insert(HandedIn { name, job: None, answers: None, readings: None });
        let slot = match (is("answers.toml"), is("readings.toml")) {
            (true, _) => &mut one.answers,
            (_, true) => &mut one.readings,
            _ => &mut one.job,
        };
        if let Some(other) = slot {
            return Err(format!("`{}` handed in twice: `{other}` and `{path}`; keep one of them\n", one.name));
        }
        *slot = Some(path);
    }
    if found.is_empty() {
        return Err(format!("`{folder}` holds nothing to grade: no job file and no `answers.toml`\n"));
    }
    Ok(found.into_values().collect())
}
