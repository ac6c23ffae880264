//! What lies open: texts of the editor, which stand in front of the disk, and the rulesets they are read by.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use lsp_types::{Diagnostic, DiagnosticSeverity, Location, NumberOrString};
use storystick_engine::book::RulesetText;
use storystick_engine::inspection::{Inspected, Inspector};
use storystick_engine::problem::{Problem, Severity};
use storystick_engine::source::{Files, Span};

use super::positions::{path_of, range, uri_of};
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
}

/// Everything that lies open.
pub(super) struct Desk<'a> {
    common: &'a Common,
    pub(super) open: BTreeMap<String, Open>,
    dirty: BTreeSet<String>,
    inspector: Option<Inspector>,
}

impl<'a> Desk<'a> {
    pub(super) fn new(common: &'a Common) -> Desk<'a> {
        Desk { common, open: BTreeMap::new(), dirty: BTreeSet::new(), inspector: None }
    }

    /// Lays a text on the desk, or puts it in the place of its earlier self.
    pub(super) fn put(&mut self, uri: &str, text: &str) {
        let path = path_of(uri).unwrap_or_else(|| PathBuf::from(uri));
        let sort = sort(&path, text);
        let inspected = self.open.remove(uri).and_then(|open| open.inspected);
        let of_book = matches!(sort, Sort::Book { .. });
        self.open.insert(uri.to_owned(), Open { path, text: text.to_owned(), sort, inspected });
        self.dirty.insert(uri.to_owned());
        if of_book {
            self.rulesets_changed();
        }
    }

    /// A file was written: rulesets are read anew.
    pub(super) fn saved(&mut self, uri: &str) {
        if self.open.get(uri).is_none_or(|open| open.sort != Sort::Job) {
            self.rulesets_changed();
        }
    }

    /// Takes a text off the desk.
    pub(super) fn close(&mut self, uri: &str) {
        if let Some(open) = self.open.remove(uri) {
            self.dirty.insert(uri.to_owned());
            if matches!(open.sort, Sort::Book { .. }) {
                self.rulesets_changed();
            }
        }
    }

    fn rulesets_changed(&mut self) {
        self.inspector = None;
        self.dirty.extend(self.open.keys().cloned());
    }

    /// Looks at what has changed and returns what there is to say of each text.
    pub(super) fn look(&mut self) -> Vec<(String, Vec<Diagnostic>)> {
        let mut said = Vec::new();
        if !self.dirty.is_empty() {
            // All open texts count for the rulesets: they are read before one is taken up. A failure is told below.
            let _ = self.inspector();
        }
        for uri in std::mem::take(&mut self.dirty) {
            let Some(mut open) = self.open.remove(&uri) else {
                said.push((uri, Vec::new()));
                continue;
            };
            let inspector = self.inspector();
            let diagnostics = match (&open.sort, inspector) {
                (Sort::Job, Ok(inspector)) => job_files::look(inspector, &mut open),
                (Sort::Book { id, .. }, Ok(inspector)) => book_files::look(inspector, id, &open.path),
                (Sort::Other, _) => Vec::new(),
                (_, Err(message)) => vec![Diagnostic { message, ..Diagnostic::default() }],
            };
            self.open.insert(uri.clone(), open);
            said.push((uri, diagnostics));
        }
        said
    }

    /// Returns the inspector over all rulesets, with the open texts of rulesets in front.
    pub(super) fn inspector(&mut self) -> Result<&mut Inspector, String> {
        if self.inspector.is_none() {
            let mut texts = crate::commands::rulesets(self.common)?;
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

/// Returns where a span is, for an editor; a shipped file is copied out for it.
pub(super) fn location(files: &Files, span: Span) -> Option<Location> {
    let file = files.file_of(span)?;
    let path = match file.name().strip_prefix("ruleset:") {
        Some(shipped) => shipped::copy(shipped)?,
        None => std::path::absolute(file.name()).ok()?,
    };
    Some(Location::new(uri_of(&path).parse().ok()?, range(file, span)))
}

/// Returns a problem as an editor shows it, if it is in a file; one without a place stands at the file's beginning.
pub(super) fn problem(files: &Files, problem: &Problem, path: &Path) -> Option<Diagnostic> {
    let mut message = problem.message.clone();
    if let Some(help) = &problem.help {
        message.push_str(&format!("\nhelp: {help}"));
    }
    let severity = match problem.severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Notice => DiagnosticSeverity::INFORMATION,
    };
    let place = match files.file_of(problem.span) {
        Some(file) if Path::new(file.name()) == path => range(file, problem.span),
        Some(_) => return None,
        None => lsp_types::Range::default(),
    };
    Some(diagnostic(place, severity, None, message))
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
