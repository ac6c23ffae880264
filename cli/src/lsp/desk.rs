//! What lies open: texts of the editor, which stand in front of the disk, and the rulesets they are read by.
//!
//! What has to be looked at again after a change is kept as a list of tasks, the text that somebody types in first, trials last.
//! One is done at a time, so that what is typed meanwhile never waits for more than one.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use lsp_types::{Diagnostic, DiagnosticSeverity, Location, NumberOrString};
use storystick_engine::book::RulesetText;
use storystick_engine::inspection::{Inspected, Inspector};
use storystick_engine::problem::{Problem, Severity};
use storystick_engine::source::{Files, Span};

use super::book_files::Said;
use super::carried::carried_range;
use super::known::Known;
use super::positions::{path_of, range, range_in, uri_of};
use super::{book_files, job_files, shipped};
use crate::args::Common;

/// What an open text is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    /// A job file.
    Job,
    /// A file of a ruleset: the folder of rulesets, and the ruleset's id.
    Book { root: PathBuf, id: String },
    /// Anything else.
    Other,
}

/// An open text.
#[derive(Debug)]
pub(super) struct Open {
    /// Its file.
    pub(super) path: PathBuf,
    /// Its text.
    pub(super) text: String,
    /// What it is.
    pub(super) sort: Sort,
    /// The job as it was when it could last be inspected.
    pub(super) inspected: Option<Box<Inspected>>,
    /// The rulesets that decide what is said of the job; all where it is not known.
    pub(super) layers: Option<BTreeSet<String>>,
}

/// Something to look at.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Task {
    /// A text that is closed, or is neither a job nor of a ruleset: nothing is said of it.
    Clear(String),
    /// A ruleset.
    Book(String),
    /// A job, by its address.
    Job(String),
    /// The trials of a ruleset.
    Trials(String),
}

/// Everything that lies open.
pub(super) struct Desk<'a> {
    common: &'a Common,
    pub(super) open: BTreeMap<String, Open>,
    /// What is known of the rulesets that somebody writes.
    pub(super) known: BTreeMap<String, Known>,
    tasks: BTreeSet<Task>,
    /// The text that somebody types in.
    first: Option<Task>,
    inspector: Option<Inspector>,
    /// Rulesets that `known` is up to date with.
    learned: BTreeSet<String>,
    /// The shipped rulesets, the user's own and those of the command line, as they were when last a file was opened or saved.
    texts: Option<Vec<RulesetText>>,
    /// What was last said of the files of a ruleset, and of its trials.
    said: BTreeMap<String, (Said, Said)>,
}

/// What is to be shown: addresses with what there is to say of them.
pub(super) type Shown = Vec<(String, Vec<Diagnostic>)>;

impl<'a> Desk<'a> {
    pub(super) fn new(common: &'a Common) -> Desk<'a> {
        Desk {
            common,
            open: BTreeMap::new(),
            known: BTreeMap::new(),
            tasks: BTreeSet::new(),
            first: None,
            inspector: None,
            learned: BTreeSet::new(),
            texts: None,
            said: BTreeMap::new(),
        }
    }

    /// Lays a text on the desk.
    pub(super) fn put(&mut self, uri: &str, text: &str) {
        if !self.open.contains_key(uri) {
            self.texts = None;
        }
        self.change(uri, text);
    }

    /// Puts a text in the place of its earlier self.
    pub(super) fn change(&mut self, uri: &str, text: &str) {
        let path = path_of(uri).unwrap_or_else(|| PathBuf::from(uri));
        let sort = sort(&path, text);
        let before = self.open.remove(uri);
        let gone = before.as_ref().map(|open| open.sort.clone()).filter(|before| *before != sort);
        let (inspected, layers) = before.map_or((None, None), |open| (open.inspected, open.layers));
        let trials = is_trial(&path);
        let sort = self
            .open
            .entry(uri.to_owned())
            .or_insert(Open { path, text: text.to_owned(), sort, inspected, layers })
            .sort
            .clone();
        self.first = match &sort {
            Sort::Job => Some(Task::Job(uri.to_owned())),
            Sort::Book { id, .. } => Some(Task::Book(id.clone())),
            Sort::Other => None,
        };
        match (&sort, gone) {
            (Sort::Book { id, .. }, None) if trials => self.trials_changed(id, uri),
            (Sort::Book { id, .. }, None) => self.ruleset_changed(&id.clone()),
            (Sort::Job, None) => _ = self.tasks.insert(Task::Job(uri.to_owned())),
            (Sort::Other, None) => _ = self.tasks.insert(Task::Clear(uri.to_owned())),
            // It has become another thing: a ruleset may have gained a file or lost one.
            (_, Some(_)) => self.all_changed(),
        }
    }

    /// A file was written: rulesets are read anew, unless what was written is what lies open.
    pub(super) fn saved(&mut self, uri: &str) {
        match self.open.get(uri).map(|open| &open.sort) {
            Some(Sort::Job) => {}
            // Its text was in front of the disk before it was there.
            Some(Sort::Book { .. }) => self.texts = None,
            Some(Sort::Other) | None => self.all_changed(),
        }
    }

    /// Takes a text off the desk.
    pub(super) fn close(&mut self, uri: &str) {
        if let Some(open) = self.open.remove(uri) {
            self.tasks.remove(&Task::Job(uri.to_owned()));
            self.tasks.insert(Task::Clear(uri.to_owned()));
            if let Sort::Book { id, .. } = open.sort {
                self.texts = None;
                self.ruleset_changed(&id);
            }
        }
    }

    fn all_changed(&mut self) {
        self.texts = None;
        self.forget();
        for (uri, open) in &self.open {
            match &open.sort {
                Sort::Job => _ = self.tasks.insert(Task::Job(uri.clone())),
                Sort::Book { id, .. } => self.tasks.extend([Task::Book(id.clone()), Task::Trials(id.clone())]),
                Sort::Other => {}
            }
        }
    }

    /// Whatever a ruleset decides is looked at again: itself, what stands on it, and the jobs that it is in force for.
    fn ruleset_changed(&mut self, id: &str) {
        self.forget();
        self.tasks.extend([Task::Book(id.to_owned()), Task::Trials(id.to_owned())]);
        let stands_on = |layers: Option<&BTreeSet<String>>| layers.is_none_or(|layers| layers.contains(id));
        for (uri, open) in &self.open {
            match &open.sort {
                Sort::Job if stands_on(open.layers.as_ref()) => _ = self.tasks.insert(Task::Job(uri.clone())),
                Sort::Book { id: other, .. } if other != id => {
                    if stands_on(self.known.get(other).map(Known::layers).as_ref()) {
                        self.tasks.extend([Task::Book(other.clone()), Task::Trials(other.clone())]);
                    }
                }
                Sort::Book { .. } | Sort::Job | Sort::Other => {}
            }
        }
    }

    /// Trials decide nothing but what is said of themselves.
    fn trials_changed(&mut self, id: &str, uri: &str) {
        self.inspector = None;
        // What was said of their lines is so no more.
        if let (Some(path), Some((_, said))) = (path_of(uri), self.said.get_mut(id)) {
            said.remove(&path);
        }
        self.tasks.extend([Task::Book(id.to_owned()), Task::Trials(id.to_owned())]);
    }

    fn forget(&mut self) {
        self.inspector = None;
        self.learned.clear();
    }

    /// Does one thing of what there is to do, and returns what is to be shown; nothing where there is nothing to do. `go_on` is
    /// asked again and again whether what takes long may go on.
    pub(super) fn work(&mut self, go_on: &mut dyn FnMut() -> bool) -> Option<Shown> {
        let first = self.first.take().filter(|first| self.tasks.contains(first));
        let task = first.or_else(|| self.tasks.first().cloned())?;
        let shown = match &task {
            Task::Clear(uri) => self.clear(uri),
            Task::Job(uri) => self.job(uri),
            Task::Book(id) => self.book(id),
            // What was stopped is done later.
            Task::Trials(id) => self.try_trials(id, go_on)?,
        };
        self.tasks.remove(&task);
        Some(shown)
    }

    fn clear(&self, uri: &str) -> Shown {
        // A closed file of a ruleset may still have something said of it.
        let said = path_of(uri).filter(|_| !self.open.contains_key(uri)).map(|path| self.said_of(&path));
        vec![(uri.to_owned(), said.unwrap_or_default())]
    }

    fn job(&mut self, uri: &str) -> Shown {
        let Some(mut open) = self.open.remove(uri) else { return Vec::new() };
        let said = match self.inspector() {
            Ok(inspector) => job_files::look(inspector, &mut open),
            Err(message) => vec![Diagnostic { message, ..Diagnostic::default() }],
        };
        self.open.insert(uri.to_owned(), open);
        vec![(uri.to_owned(), said)]
    }

    fn book(&mut self, id: &str) -> Shown {
        if !self.is_open(id) {
            return self.told(id, (Said::new(), Said::new()));
        }
        let now = match self.inspector() {
            Ok(inspector) => book_files::look(inspector, id),
            Err(message) => {
                let said = |open: &Open| {
                    (open.path.clone(), vec![Diagnostic { message: message.clone(), ..Diagnostic::default() }])
                };
                let own = self.open.values().filter(|open| open.sort.is_of(id));
                own.map(said).collect()
            }
        };
        self.learn(id);
        let trials = self.said.get(id).map(|(_, trials)| trials.clone()).unwrap_or_default();
        self.told(id, (now, trials))
    }

    fn try_trials(&mut self, id: &str, go_on: &mut dyn FnMut() -> bool) -> Option<Shown> {
        if !self.is_open(id) {
            return Some(Vec::new());
        }
        let Ok(inspector) = self.inspector() else { return Some(Vec::new()) };
        let now = book_files::try_all(inspector, id, go_on)?;
        let (book, before) = self.said.get(id).cloned().unwrap_or_default();
        let mut shown = self.told(id, (book, now.clone()));
        // Most often they say what they said before.
        shown.retain(|(uri, _)| path_of(uri).is_none_or(|path| before.get(&path) != now.get(&path)));
        Some(shown)
    }

    fn is_open(&self, id: &str) -> bool {
        self.open.values().any(|open| open.sort.is_of(id))
    }

    /// Keeps what is said of the files of a ruleset, and returns it, with files of which nothing is said any more.
    fn told(&mut self, id: &str, now: (Said, Said)) -> Shown {
        let before = self.said.insert(id.to_owned(), now).unwrap_or_default();
        let now = self.said.get(id).cloned().unwrap_or_default();
        let all = [&before.0, &before.1, &now.0, &now.1];
        let mut paths: BTreeSet<PathBuf> = all.iter().flat_map(|said| said.keys()).cloned().collect();
        // Of a file that nobody opened, only what is new is told.
        paths.retain(|path| before.0.get(path) != now.0.get(path) || before.1.get(path) != now.1.get(path));
        paths.extend(self.open.values().filter(|open| open.sort.is_of(id)).map(|open| open.path.clone()));
        paths.iter().map(|path| (self.uri(path), self.said_of(path))).collect()
    }

    /// Returns all that is said of a file; what the trials say again is said once.
    fn said_of(&self, path: &Path) -> Vec<Diagnostic> {
        let mut all: Vec<Diagnostic> = Vec::new();
        for (book, trials) in self.said.values() {
            for one in book.get(path).into_iter().chain(trials.get(path)).flatten() {
                if !all.contains(one) {
                    all.push(one.clone());
                }
            }
        }
        all
    }

    /// Returns the address of a file as the editor wrote it, where it did.
    fn uri(&self, path: &Path) -> String {
        let open = self.open.iter().find(|(_, open)| open.path == path);
        open.map_or_else(|| uri_of(path), |(uri, _)| uri.clone())
    }

    /// Brings what is known of a ruleset up to date, if it can be read.
    pub(super) fn learn(&mut self, id: &str) {
        if self.learned.contains(id) {
            return;
        }
        let Ok(inspector) = self.inspector() else { return };
        let now = Known::now(inspector, id);
        self.learned.insert(id.to_owned());
        // What was known of the whole is worth more than what is known of the half.
        if let Some((known, whole)) = now
            && (whole || !self.known.contains_key(id))
        {
            self.known.insert(id.to_owned(), known);
        }
    }

    /// Returns the inspector, if it is there.
    pub(super) fn built(&self) -> Option<&Inspector> {
        self.inspector.as_ref()
    }

    /// Returns the inspector over all rulesets, with the open texts of rulesets in front.
    pub(super) fn inspector(&mut self) -> Result<&mut Inspector, String> {
        if self.inspector.is_none() {
            if self.texts.is_none() {
                self.texts = Some(crate::commands::rulesets(self.common)?);
            }
            let mut texts = self.texts.clone().unwrap_or_default();
            let books = self.open.values().filter_map(|open| match &open.sort {
                Sort::Book { root, id } => Some((root.clone(), id.clone())),
                _ => None,
            });
            let mut wanted: Vec<(PathBuf, String)> = books.collect();
            let mut have = BTreeSet::new();
            while let Some((root, id)) = wanted.pop() {
                if have.insert((root.clone(), id.clone())) {
                    let read = self.folder(&root, &id);
                    // What it lies within, follows or adopts may stand beside it.
                    let beside = read.iter().filter(|text| text.path.ends_with("ruleset.toml"));
                    let named: Vec<String> = beside.flat_map(|text| quoted(&text.text)).collect();
                    wanted.extend(named.into_iter().filter(|id| is_ruleset(&root, id)).map(|id| (root.clone(), id)));
                    texts.extend(read);
                }
            }
            self.inspector = Some(Inspector::new(texts));
        }
        self.inspector.as_mut().ok_or_else(String::new)
    }

    /// Reads the folder of one ruleset.
    fn folder(&self, root: &Path, id: &str) -> Vec<RulesetText> {
        let mut texts = Vec::new();
        for entry in walkdir::WalkDir::new(root.join(id)).sort_by_file_name().into_iter().flatten() {
            let path = entry.path();
            let wanted = path.extension().is_some_and(|end| end == "toml" || end == "rhai");
            let open = self.open.values().find(|open| open.path == path).map(|open| open.text.clone());
            let text = open.or_else(|| wanted.then(|| std::fs::read_to_string(path).ok()).flatten());
            if let (true, Some(text), Ok(below)) = (wanted, text, path.strip_prefix(root)) {
                texts.push(RulesetText::in_folder(root.to_string_lossy(), below.to_string_lossy(), text));
            }
        }
        texts
    }

    /// Returns where a span is, for an editor: in the text that lies open, if that has become another since; a shipped file is
    /// copied out.
    pub(super) fn location(&self, files: &Files, span: Span) -> Option<Location> {
        let file = files.file_of(span)?;
        let path = match file.name().strip_prefix("ruleset:") {
            Some(shipped) => shipped::copy(shipped)?,
            None => std::path::absolute(file.name()).ok()?,
        };
        let open = self.open.values().find(|open| open.path == path && open.text != file.text());
        let there = match open {
            Some(open) => {
                let start = (span.start() - file.base()) as usize;
                range_in(&open.text, carried_range(file.text(), &open.text, start..start + span.len() as usize)?)
            }
            None => range(file, span),
        };
        Some(Location::new(self.uri(&path).parse().ok()?, there))
    }
}

impl Sort {
    fn is_of(&self, ruleset: &str) -> bool {
        matches!(self, Sort::Book { id, .. } if id == ruleset)
    }
}

fn is_trial(path: &Path) -> bool {
    path.parent().and_then(Path::file_name).is_some_and(|folder| folder == "trials")
}

/// Returns what a file is by its place and its text.
fn sort(path: &Path, text: &str) -> Sort {
    let ends = |end: &str| path.extension().is_some_and(|this| this == end);
    if ends("toml") && crate::commands::states_format(text) {
        return Sort::Job;
    }
    if !ends("toml") && !ends("rhai") {
        return Sort::Other;
    }
    // `ruleset.toml` itself, or in the folder around `code`, `rules` and `trials`.
    for folder in path.ancestors().skip(1).take(2) {
        let manifest = folder.join("ruleset.toml");
        let text = if manifest == path { Some(text.to_owned()) } else { std::fs::read_to_string(&manifest).ok() };
        let Some(manifest) = text else { continue };
        let stated = manifest.lines().find_map(|line| line.trim().strip_prefix("id")?.trim().strip_prefix('='));
        let stated = stated.and_then(|rest| rest.split('"').nth(1)).unwrap_or_default();
        let last = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        // A wrong id is told against the folder's own name.
        let id = if !stated.is_empty() && folder.ends_with(stated) { stated.to_owned() } else { last };
        let depth = Path::new(&id).components().count();
        if let Some(root) = folder.ancestors().nth(depth) {
            return Sort::Book { root: root.to_path_buf(), id };
        }
    }
    Sort::Other
}

fn is_ruleset(root: &Path, id: &str) -> bool {
    root.join(id).join("ruleset.toml").is_file()
}

fn quoted(text: &str) -> Vec<String> {
    text.split('"').skip(1).step_by(2).filter(|id| !id.is_empty() && !id.contains("..")).map(str::to_owned).collect()
}

/// Returns a problem as an editor shows it; one without a place stands at the file's beginning.
pub(super) fn problem(files: &Files, problem: &Problem) -> Diagnostic {
    let mut message = problem.message.clone();
    if let Some(help) = &problem.help {
        message.push_str(&format!("\nhelp: {help}"));
    }
    let severity = match problem.severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Notice => DiagnosticSeverity::INFORMATION,
    };
    let place = files.file_of(problem.span).map_or_else(lsp_types::Range::default, |file| range(file, problem.span));
    diagnostic(place, severity, None, message)
}

/// Returns the same if it is in a file, or in none.
pub(super) fn problem_in(files: &Files, one: &Problem, path: &Path) -> Option<Diagnostic> {
    let elsewhere = files.file_of(one.span).is_some_and(|file| Path::new(file.name()) != path);
    (!elsewhere).then(|| problem(files, one))
}

pub(super) fn diagnostic(
    range: lsp_types::Range,
    severity: DiagnosticSeverity,
    code: Option<&str>,
    message: String,
) -> Diagnostic {
    Diagnostic {
        range,
        severity: Some(severity),
        code: code.map(|code| NumberOrString::String(code.to_owned())),
        source: Some(String::from("storystick")),
        message,
        ..Diagnostic::default()
    }
}
