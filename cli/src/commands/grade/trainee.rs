//! What a class handed in.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use storystick_engine::world::World;

use crate::commands::next;
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
    // A single file is that of one trainee.
    let root = if Path::new(folder).is_file() { Path::new(folder).parent() } else { None };
    let root = root.unwrap_or(Path::new(folder));
    // In the folder of a drill itself, or of one trainee, the files belong together.
    let whole = std::path::absolute(folder).unwrap_or_else(|_| PathBuf::from(folder));
    let whole = whole.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    for path in world.walk(folder).map_err(|message| next::with(&message, &[next::HANDED_IN]))? {
        let Some(within) = Path::new(&path).strip_prefix(root).ok().filter(|_| path.ends_with(".toml")) else {
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
        let alone = ["job.toml", "answers.toml", "readings.toml"].contains(&&*file).then(|| whole.clone());
        let name = own_folder.or(alone.filter(|_| Path::new(folder).is_dir())).unwrap_or(stem);
        let one = found.entry(name.clone()).or_insert(HandedIn { name, job: None, answers: None, readings: None });
        let slot = match (is("answers.toml"), is("readings.toml")) {
            (true, _) => &mut one.answers,
            (_, true) => &mut one.readings,
            _ => &mut one.job,
        };
        if let Some(other) = slot {
            let why = format!("`{}` handed in twice: `{other}` and `{path}`", one.name);
            return Err(next::with(&why, &["keep one of them in that folder, then grade again"]));
        }
        *slot = Some(path);
    }
    if found.is_empty() {
        let why = format!("`{folder}` holds nothing to grade: no job file and no `answers.toml`");
        return Err(next::with(&why, &[next::HANDED_IN]));
    }
    Ok(found.into_values().collect())
}
