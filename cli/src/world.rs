//! The real world: disk, clock, environment, terminal.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use storystick_engine::inspection::Hands;
use storystick_engine::problem::nearest;
use storystick_engine::world::World;

/// The machine the command runs on.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Machine;

impl World for Machine {
    fn read(&self, path: &str) -> Result<String, String> {
        let bytes = std::fs::read(path).map_err(|error| {
            let near = beside(path).filter(|_| error.kind() == std::io::ErrorKind::NotFound);
            let near = near.map_or_else(String::new, |near| format!("; {near}"));
            format!("`{path}` can't be read: {}{near}", plain(&error))
        })?;
        String::from_utf8(bytes).map_err(|error| {
            let at = error.utf8_error().valid_up_to();
            let bytes = error.as_bytes();
            if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
                return format!("`{path}` is UTF-16 text: save it as UTF-8 in the editor");
            }
            let line = bytes.iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
            format!(
                "`{path}` is not UTF-8 text: byte {at}, in line {line}, is out of place; save it as UTF-8 in the editor"
            )
        })
    }

    fn walk(&self, path: &str) -> Result<Vec<String>, String> {
        let mut found = Vec::new();
        // What begins with a point is not the user's work: a version store, or what a crash left beside a file.
        let seen = |entry: &walkdir::DirEntry| entry.depth() == 0 || !is_hidden(entry.file_name());
        for entry in walkdir::WalkDir::new(path).sort_by_file_name().into_iter().filter_entry(seen) {
            let entry = entry.map_err(|error| {
                let near = beside(path).filter(|_| !Path::new(path).exists());
                let near = near.map_or_else(String::new, |near| format!("; {near}"));
                let said = error.io_error().map_or_else(|| error.to_string(), plain);
                format!("`{path}` can't be read: {said}{near}")
            })?;
            if entry.file_type().is_file() {
                found.push(entry.path().to_string_lossy().into_owned());
            }
        }
        Ok(found)
    }

    fn today(&self) -> Date {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
        let days = since.map_or(0, |since| since.as_secs() / 86_400);
        let days = i32::try_from(days).unwrap_or(0);
        let epoch = jiff::civil::date(1970, 1, 1);
        epoch.checked_add(jiff::Span::new().days(days)).unwrap_or(epoch)
    }
}

/// Two threads of the machine.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Threads;

impl Hands for Threads {
    fn both(&self, one: &mut (dyn FnMut() + Send), other: &mut (dyn FnMut() + Send)) {
        std::thread::scope(|scope| {
            // Where no thread is to be had, the engine does without.
            let beside = std::thread::Builder::new().spawn_scoped(scope, other);
            one();
            drop(beside);
        });
    }
}

fn is_hidden(name: &std::ffi::OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}

/// Returns what to say of a path that is not there: the name beside it that is most like it.
pub(crate) fn beside(path: &str) -> Option<String> {
    let path = Path::new(path);
    let name = path.file_name()?.to_string_lossy().into_owned();
    let entries = std::fs::read_dir(folder_of(path)).ok()?.flatten();
    let mut names: Vec<String> = entries
        .filter(|entry| !is_hidden(&entry.file_name()))
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let near = nearest(&name, names.iter().map(String::as_str))?;
    Some(format!("did you mean `{}`?", path.with_file_name(near).display()))
}

/// Returns the folder that a file lies in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Puts a text in the place of a file, or makes the file, such that a crash at any moment leaves the old or the new text whole:
/// it is written beside the file, forced to disk and then renamed over it. A link is followed, and the permissions stay. What is no
/// file, such as a pipe, is written to as it is.
///
/// # Errors
///
/// What the user should read, naming the file; nothing has changed then.
pub(crate) fn replace(path: &str, text: &str) -> Result<(), String> {
    let said = |error: std::io::Error| format!("`{path}` can't be written: {}", plain(&error));
    let target = std::fs::canonicalize(path).unwrap_or_else(|_| PathBuf::from(path));
    let folder = folder_of(&target);
    match std::fs::metadata(path) {
        Ok(old) if old.is_dir() => {
            return Err(format!("`{path}` can't be written: it is a folder; name a file in it"));
        }
        Ok(old) if !old.is_file() => return std::fs::write(path, text).map_err(said),
        // A rename would not ask: whoever made a file read-only meant it.
        Ok(old) if old.permissions().readonly() => {
            return Err(format!("`{path}` can't be written: it is read-only; make it writable, or name another file"));
        }
        Err(_) if !folder.is_dir() => {
            return Err(format!("`{path}` can't be written: there is no folder `{}`; make it first", folder.display()));
        }
        Ok(_) | Err(_) => {}
    }
    let mut beside = tempfile::Builder::new().prefix(LEFTOVER).tempfile_in(folder).map_err(said)?;
    beside.write_all(text.as_bytes()).map_err(said)?;
    if let Ok(old) = std::fs::metadata(&target) {
        beside.as_file().set_permissions(old.permissions()).map_err(said)?;
    } else {
        readable(beside.as_file()).map_err(said)?;
    }
    beside.as_file().sync_all().map_err(said)?;
    beside.persist(&target).map_err(|error| said(error.error))?;
    settle(folder);
    Ok(())
}

/// What a crash may leave beside a file begins so. Nothing reads it.
const LEFTOVER: &str = ".storystick-";

/// Makes a folder with its files, such that a crash at any moment leaves the whole folder or none: it is made beside its place and
/// then renamed. The folders around it are made where they are not there.
///
/// # Errors
///
/// What the user should read; nothing is in the folder's place then.
pub(crate) fn new_folder(folder: &Path, files: &[(&str, &str)]) -> Result<(), String> {
    let said = |error: std::io::Error| format!("`{}` can't be made: {}", folder.display(), plain(&error));
    let around = folder_of(folder);
    std::fs::create_dir_all(around).map_err(said)?;
    let beside = tempfile::Builder::new().prefix(LEFTOVER).tempdir_in(around).map_err(said)?;
    for (path, text) in files {
        let path = beside.path().join(path);
        std::fs::create_dir_all(folder_of(&path)).map_err(said)?;
        let mut file = std::fs::File::create(&path).map_err(said)?;
        file.write_all(text.as_bytes()).map_err(said)?;
        file.sync_all().map_err(said)?;
    }
    passable(beside.path()).map_err(said)?;
    std::fs::rename(beside.path(), folder).map_err(said)?;
    settle(around);
    Ok(())
}

/// Forces a rename in a folder to disk, where folders can be opened for that.
fn settle(folder: &Path) {
    if let Ok(folder) = std::fs::File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// Gives a new folder the permissions that an ordinary new folder has.
#[cfg(unix)]
fn passable(folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn passable(_: &Path) -> std::io::Result<()> {
    Ok(())
}

/// Gives a new file the permissions that an ordinary new file has; a temporary one is for its owner alone.
#[cfg(unix)]
fn readable(file: &std::fs::File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &std::fs::File) -> std::io::Result<()> {
    Ok(())
}

/// Says what an input or output error means without a number.
pub(crate) fn plain(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => String::from("there is no such file"),
        std::io::ErrorKind::PermissionDenied => String::from("permission denied"),
        std::io::ErrorKind::IsADirectory => String::from("it is a folder"),
        std::io::ErrorKind::AlreadyExists | std::io::ErrorKind::NotADirectory => {
            String::from("a file stands where a folder should be")
        }
        _ => error.to_string(),
    }
}

/// Returns the folder of the user's own rulesets, if there is one.
pub(crate) fn user_rulesets() -> Option<PathBuf> {
    if let Some(folder) = std::env::var_os("STORYSTICK_RULESETS") {
        return Some(PathBuf::from(folder));
    }
    let config = std::env::var_os("XDG_CONFIG_HOME")
        .map(PathBuf::from)
        .or_else(|| std::env::var_os("APPDATA").map(PathBuf::from))
        .or_else(|| std::env::var_os("HOME").map(|home| Path::new(&home).join(".config")))?;
    let folder = config.join("storystick").join("rulesets");
    folder.is_dir().then_some(folder)
}

/// Returns the columns of the terminal, or 80 where nothing says.
pub(crate) fn columns() -> usize {
    let said = std::env::var("COLUMNS").ok().and_then(|text| text.parse().ok());
    said.or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)))
        .filter(|&columns| columns >= 20)
        .unwrap_or(80)
}

/// Returns whether standard output is a terminal.
pub(crate) fn stdout_is_terminal() -> bool {
    std::io::stdout().is_terminal()
}

/// Returns whether standard error is a terminal.
pub(crate) fn stderr_is_terminal() -> bool {
    std::io::stderr().is_terminal()
}

/// Returns whether the user asked for no colour (`NO_COLOR` set to anything but nothing).
pub(crate) fn no_color() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}
