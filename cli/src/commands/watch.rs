//! `--watch`: runs a command again when one of its files changes, until Ctrl-C.
//!
//! What is watched are folders: a file that an editor saves by renaming another over it is a new one each time, and one that is not
//! there for a moment comes back.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use notify::{Event, EventKind, RecursiveMode, Watcher};

use super::Sink;
use crate::args::{Common, Inspect};
use crate::{Status, world};

/// Editors write a file in several steps, and several files at once: what comes within this time is one change.
const QUIET: Duration = Duration::from_millis(120);

/// Files that never come to rest are looked at all the same.
const LONGEST: Duration = Duration::from_secs(2);

/// How often it is seen whether a watched folder was taken away and put back: nobody tells of that.
const ROUND: Duration = Duration::from_secs(1);

/// Inspects jobs whenever they or the rulesets change.
pub(crate) fn inspect(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Status {
    let mut watched: Vec<PathBuf> = args.jobs.iter().map(PathBuf::from).collect();
    watched.extend(rulesets(common));
    again(&watched, sink, &mut |sink| super::inspect::run(common, args, sink))
}

/// Runs trials whenever a folder of rulesets changes.
pub(crate) fn trials(common: &Common, which: &[String], sink: &mut Sink<'_>) -> Status {
    let mut watched: Vec<PathBuf> = which.iter().map(PathBuf::from).filter(|path| path.is_dir()).collect();
    watched.extend(rulesets(common));
    if watched.is_empty() {
        let message = "there is nothing to watch: shipped rulesets do not change; name a folder of rulesets";
        sink("", &(super::next::told(message, &[super::next::NEW_RULESET], world::columns()) + "\n"));
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

/// What the watch waits for.
enum Turn {
    /// Something happened to a file.
    File(notify::Result<Event>),
    /// The user, or the system, wants an end.
    End,
}

/// Runs once, then after every change, until the user ends it or nobody reads any more. The status is that of the last run.
fn again(watched: &[PathBuf], sink: &mut Sink<'_>, run: &mut dyn FnMut(&mut Sink<'_>) -> Status) -> Status {
    let (send, turns) = channel();
    let ended = end_on_signal(send.clone());
    let mut watch = match Watch::over(watched, send) {
        Ok(watch) => watch,
        Err(error) => {
            let message = format!("the files can't be watched: {error}");
            let next = ["the same command without --watch runs once"];
            sink("", &(super::next::told(&message, &next, world::columns()) + "\n"));
            return Status::Fault;
        }
    };
    loop {
        // Whoever ended it reads no more: a long batch stops at once.
        let status = run(&mut |out, err| !ended.load(Ordering::Relaxed) && sink(out, err));
        if ended.load(Ordering::Relaxed) || !sink("", "watching for changes; Ctrl-C ends\n") {
            return status;
        }
        if !watch.changed(&turns) {
            sink("", "the watch has ended\n");
            return status;
        }
    }
}

/// Lets Ctrl-C, and a request of the system to end, end the watch instead of the process.
fn end_on_signal(send: Sender<Turn>) -> Arc<AtomicBool> {
    let ended = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&ended);
    // Where no handler can be set, the process ends as any other does.
    let _ = ctrlc::set_handler(move || {
        flag.store(true, Ordering::Relaxed);
        let _ = send.send(Turn::End);
    });
    ended
}

/// Folders under watch, and the files in them that count.
struct Watch {
    watcher: notify::RecommendedWatcher,
    folders: Vec<Folder>,
    /// Files by every name that they have, and folders whose files count.
    counts: Vec<PathBuf>,
}

struct Folder {
    path: PathBuf,
    mode: RecursiveMode,
    there: bool,
}

impl Watch {
    fn over(watched: &[PathBuf], send: Sender<Turn>) -> notify::Result<Watch> {
        let watcher = notify::recommended_watcher(move |event| _ = send.send(Turn::File(event)))?;
        let mut watch = Watch { watcher, folders: Vec::new(), counts: Vec::new() };
        for path in watched {
            let path = std::path::absolute(path).unwrap_or_else(|_| path.clone());
            // The file that a link leads to changes in its own folder, the link itself in its.
            let target = std::fs::canonicalize(&path).unwrap_or_else(|_| path.clone());
            for one in if target == path { vec![path] } else { vec![path, target] } {
                watch.add(&one);
                watch.counts.push(one);
            }
        }
        let missing = |folder: &&Folder| !folder.path.is_dir();
        if let Some(missing) = watch.folders.iter().find(missing) {
            return Err(notify::Error::generic(&format!("there is no folder `{}`", missing.path.display())));
        }
        for folder in &mut watch.folders {
            watch.watcher.watch(&folder.path, folder.mode)?;
            folder.there = true;
        }
        Ok(watch)
    }

    fn add(&mut self, path: &Path) {
        let (path, mode) = if path.is_dir() {
            (path, RecursiveMode::Recursive)
        } else {
            (path.parent().unwrap_or(Path::new(".")), RecursiveMode::NonRecursive)
        };
        match self.folders.iter_mut().find(|folder| folder.path == path) {
            Some(folder) if mode == RecursiveMode::Recursive => folder.mode = mode,
            Some(_) => {}
            None => self.folders.push(Folder { path: path.to_path_buf(), mode, there: false }),
        }
    }

    /// Waits for a change, and for quiet behind it. Returns whether there can be another one.
    fn changed(&mut self, turns: &Receiver<Turn>) -> bool {
        loop {
            match turns.recv_timeout(ROUND) {
                Ok(Turn::End) => return false,
                Ok(Turn::File(event)) if !self.matters(&event) => {}
                Ok(Turn::File(_)) => break,
                Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                    if self.came_back() {
                        break;
                    }
                }
                Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => return false,
            }
        }
        let begun = Instant::now();
        let mut latest = begun;
        while latest.elapsed() < QUIET && begun.elapsed() < LONGEST {
            match turns.recv_timeout(QUIET.saturating_sub(latest.elapsed())) {
                Ok(Turn::End) => return false,
                Ok(Turn::File(event)) if self.matters(&event) => latest = Instant::now(),
                Ok(Turn::File(_)) | Err(_) => {}
            }
        }
        true
    }

    /// Watches folders again that were away, and returns whether there is one.
    fn came_back(&mut self) -> bool {
        let mut back = false;
        for folder in &mut self.folders {
            let there = folder.path.is_dir();
            if there && !folder.there {
                back |= self.watcher.watch(&folder.path, folder.mode).is_ok();
            }
            folder.there = there;
        }
        back
    }

    /// Returns whether an event is about a file that counts: a read does not, nor does the file that an editor writes beside.
    fn matters(&mut self, event: &notify::Result<Event>) -> bool {
        let Ok(event) = event else { return false };
        if matches!(event.kind, EventKind::Access(_)) {
            return false;
        }
        // A folder that goes away takes its watch with it, even if another is at once in its place.
        let gone = matches!(event.kind, EventKind::Remove(_) | EventKind::Modify(notify::event::ModifyKind::Name(_)));
        for folder in self.folders.iter_mut().filter(|folder| gone && event.paths.contains(&folder.path)) {
            folder.there = false;
        }
        let counts = |path: &PathBuf| {
            let of_rulesets = path.extension().is_some_and(|end| end == "toml" || end == "rhai");
            let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
            self.counts.iter().any(|watched| path == watched || (of_rulesets && !hidden && path.starts_with(watched)))
        };
        event.paths.iter().any(counts)
    }
}
