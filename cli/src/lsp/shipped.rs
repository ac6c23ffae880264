//! Copies of shipped rulesets for an editor to show: the binary holds them, and an editor opens files.
//!
//! They go into the user's cache folder and can't be written: a change there would change nothing. `storystick ruleset export`
//! makes a copy to amend.

use std::path::PathBuf;

use crate::world;

/// Returns the copy of a shipped file, made if it is not there or not as shipped.
pub(super) fn copy(path: &str) -> Option<PathBuf> {
    let (_, text) = storystick_rulesets::FILES.iter().find(|(shipped, _)| *shipped == path)?;
    let copy = cache()?.join("storystick").join(env!("CARGO_PKG_VERSION")).join(path);
    if std::fs::read_to_string(&copy).is_ok_and(|there| there == *text) {
        return Some(copy);
    }
    std::fs::create_dir_all(copy.parent()?).ok()?;
    // An earlier copy is read-only.
    let _ = std::fs::remove_file(&copy);
    world::replace(&copy.to_string_lossy(), text).ok()?;
    let mut permissions = std::fs::metadata(&copy).ok()?.permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&copy, permissions).ok()?;
    Some(copy)
}

fn cache() -> Option<PathBuf> {
    std::env::var_os("XDG_CACHE_HOME")
        .or_else(|| std::env::var_os("LOCALAPPDATA"))
        .map(PathBuf::from)
        .filter(|folder| folder.is_absolute())
        .or_else(|| Some(PathBuf::from(std::env::var_os("HOME")?).join(".cache")))
}
