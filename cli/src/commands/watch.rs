//! `--watch`: runs a command again when one of its files changes.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use notify::{Event, EventKind, RecursiveMode, Watcher};

use super::Sink;
use crate::args::{Common, Inspect};
use crate::{Status, world};

/// Editors write a file in several steps: what comes within this time is one change.
const QUIET: Duration = Duration::from_millis(120);

/// Inspects jobs whenever they or the rulesets change.
pub(super) fn inspect(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Status {
    let mut watched: Vec<PathBuf> = args.jobs.iter().map(PathBuf::from).collect();
    watched.extend(rulesets(common));
    again(&watched, sink, &mut |sink| super::inspect::run(common, args, sink))
}

/// Runs trials whenever a folder of rulesets changes.
pub(super) fn trials(common: &Common, which: &[String], sink: &mut Sink<'_>) -> Status {
    let mut watched: Vec<PathBuf> = which.iter().map(PathBuf::from).filter(|path| path.is_dir()).collect();
    watched.extend(rulesets(common));
    if watched.is_empty() {
        sink("", "there is nothing to watch: name a folder of rulesets; shipped ones do not change\n");
        return Status::Fault;
    }
    again(&watched, sink, &mut |sink| {
        let answer = super::ruleset::attempt(common, which);
        sink(&answer.out, &answer.err);
        answer.status
    })
}

fn rulesets(common: &Common) -> Vec<PathBuf> {
    world::user_rulesets().into_iter().chain(common.rulesets.iter().map(PathBuf::from)).collect()
}

/// Runs once, then after every change, until nobody reads any more or the user ends it.
fn again(watched: &[PathBuf], sink: &mut Sink<'_>, run: &mut dyn FnMut(&mut Sink<'_>) -> Status) -> Status {
    let (send, changes) = channel();
    let mut watcher = match notify::recommended_watcher(move |event| _ = send.send(event)) {
        Ok(watcher) => watcher,
        Err(error) => return cannot(sink, &error),
    };
    let watched: Vec<PathBuf> =
        watched.iter().map(|path| std::fs::canonicalize(path).unwrap_or(path.clone())).collect();
    for path in &watched {
        // A file that is written anew is another one: its folder is what stays.
        let (folder, mode) = if path.is_dir() {
            (path.as_path(), RecursiveMode::Recursive)
        } else {
            (path.parent().unwrap_or(Path::new(".")), RecursiveMode::NonRecursive)
        };
        if let Err(error) = watcher.watch(folder, mode) {
            return cannot(sink, &error);
        }
    }
    loop {
        let status = run(sink);
        if !sink("", "watching for changes; Ctrl-C ends\n") || !changed(&changes, &watched) {
            return status;
        }
    }
}

fn cannot(sink: &mut Sink<'_>, error: &notify::Error) -> Status {
    sink("", &format!("the files can't be watched: {error}\n"));
    Status::Fault
}

/// Waits for a change, and for quiet behind it. Returns whether there can be another one.
fn changed(changes: &Receiver<notify::Result<Event>>, watched: &[PathBuf]) -> bool {
    loop {
        match changes.recv() {
            Ok(event) if !matters(&event, watched) => {}
            Ok(_) => break,
            Err(_) => return false,
        }
    }
    while changes.recv_timeout(QUIET).is_ok() {}
    true
}

/// Returns whether an event is about a file that counts: a read does not, nor does the file that an editor writes beside.
fn matters(event: &notify::Result<Event>, watched: &[PathBuf]) -> bool {
    let Ok(event) = event else { return false };
    let counts = |path: &PathBuf| {
        let of_rulesets = path.extension().is_some_and(|end| end == "toml" || end == "rhai");
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        of_rulesets && !hidden && watched.iter().any(|watched| path.starts_with(watched))
    };
    !matches!(event.kind, EventKind::Access(_)) && event.paths.iter().any(counts)
}
