//! Sorts the text files of all sources into rulesets and reads their manifests.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::fields::first_line;
use super::manifest::{self, Ruleset, RulesetFiles};
use super::text::{Origin, RulesetText};
use crate::model::{Schema, Symbols};
use crate::problem::Problem;
use crate::source::{Files, Span};

/// All rulesets, sorted by id, and what is wrong with their manifests.
pub(super) struct Gathered {
    pub(super) rulesets: Vec<Ruleset>,
    /// Each with the id of the ruleset to blame.
    pub(super) problems: Vec<(Option<String>, Problem)>,
}

/// The files of one ruleset of one origin, by their paths below its folder.
struct Bundle {
    folder: String,
    /// Origins by the order in which they were given.
    rank: usize,
    origin: Origin,
    /// Where the ruleset of the same folder comes from that this one stands in front of.
    hides: Option<Origin>,
    texts: BTreeMap<String, Cow<'static, str>>,
}

const MANIFEST: &str = "ruleset.toml";
const JOB_DEFAULTS: &str = "job-defaults.toml";
const UNNOTICED: &str = "unnoticed.toml";

pub(super) fn gather(sources: Vec<RulesetText>, schema: &Schema, files: &mut Files, symbols: &mut Symbols) -> Gathered {
    let mut out = Gathered { rulesets: Vec::new(), problems: Vec::new() };
    let mut in_front: BTreeMap<String, Ruleset> = BTreeMap::new();
    for bundle in bundles(sources, files, &mut out.problems) {
        let hides = bundle.hides.clone();
        let mut found = Vec::new();
        let Some(mut ruleset) = read(bundle, schema, files, symbols, &mut found) else { continue };
        // Only its manifest tells the id of a ruleset that was given by its own folder.
        let behind = in_front.remove(&ruleset.id);
        if behind.is_some() {
            out.problems.retain(|(id, _)| id.as_deref() != Some(ruleset.id.as_str()));
        }
        ruleset.replaces = hides.or(behind.map(|behind| behind.origin));
        out.problems.extend(found.into_iter().map(|problem| (Some(ruleset.id.clone()), problem)));
        if !ruleset.id.is_empty() {
            in_front.insert(ruleset.id.clone(), ruleset);
        }
    }
    out.rulesets = in_front.into_values().collect();
    out
}

/// Returns the bundles in the order of their origins; those that another one hides are left out.
fn bundles(sources: Vec<RulesetText>, files: &mut Files, problems: &mut Vec<(Option<String>, Problem)>) -> Vec<Bundle> {
    let mut origins: Vec<Origin> = Vec::new();
    let mut bundles: BTreeMap<(String, usize), Bundle> = BTreeMap::new();
    let mut homeless = Vec::new();
    for source in &sources {
        let rank = origins.iter().position(|known| *known == source.origin).unwrap_or_else(|| {
            origins.push(source.origin.clone());
            origins.len() - 1
        });
        let folder = match source.path.strip_suffix(MANIFEST) {
            Some("") => "",
            Some(folder) if folder.ends_with('/') => folder.trim_end_matches('/'),
            _ => continue,
        };
        let (origin, texts) = (source.origin.clone(), BTreeMap::new());
        let bundle = Bundle { folder: folder.to_owned(), rank, origin, hides: None, texts };
        bundles.insert((folder.to_owned(), rank), bundle);
    }
    for source in sources {
        let rank = origins.iter().position(|known| *known == source.origin).unwrap_or_default();
        let owner = folders_around(&source.path).find(|folder| bundles.contains_key(&(String::from(*folder), rank)));
        match owner.map(str::to_owned) {
            Some(folder) => {
                let inner = source.path.get(folder.len()..).unwrap_or("").trim_start_matches('/').to_owned();
                if let Some(bundle) = bundles.get_mut(&(folder, rank)) {
                    bundle.texts.insert(inner, source.text);
                }
            }
            None => homeless.push(source),
        }
    }
    for source in homeless.into_iter().filter(|source| is_read(&source.path)) {
        let name = source.origin.file_name(&source.path);
        let span = files.add(name, source.text).map_or(Span::NONE, |file| first_line(&file));
        let problem = Problem::new(span, format!("`{}` belongs to no ruleset", source.path))
            .label("no folder around this file has a `ruleset.toml`")
            .help("a ruleset stands in front of another only as a whole, with its own `ruleset.toml`");
        problems.push((None, problem));
    }
    // A hidden ruleset is not read: its errors are nobody's concern.
    let mut shown: Vec<Bundle> = Vec::new();
    for mut bundle in bundles.into_values() {
        match shown.last_mut() {
            Some(behind) if behind.folder == bundle.folder && !bundle.folder.is_empty() => {
                bundle.hides = Some(behind.origin.clone());
                *behind = bundle;
            }
            _ => shown.push(bundle),
        }
    }
    shown.sort_by_key(|bundle| bundle.rank);
    shown
}

/// Returns the folders around a file, innermost first, ending with the root.
fn folders_around(path: &str) -> impl Iterator<Item = &str> {
    path.rmatch_indices('/').map(|(at, _)| path.get(..at).unwrap_or("")).chain([""])
}

/// Returns whether a file is of a sort that rulesets are made of.
fn is_read(path: &str) -> bool {
    path.ends_with(".toml") || path.ends_with(".rhai")
}

fn read(
    bundle: Bundle,
    schema: &Schema,
    files: &mut Files,
    symbols: &mut Symbols,
    found: &mut Vec<Problem>,
) -> Option<Ruleset> {
    let mut set = RulesetFiles::default();
    let mut manifest = None;
    for (path, text) in bundle.texts {
        let name = if bundle.folder.is_empty() { path.clone() } else { format!("{}/{path}", bundle.folder) };
        if !is_read(&path) {
            continue;
        }
        let file = match files.add(bundle.origin.file_name(&name), text) {
            Ok(file) => file,
            Err(error) => {
                found.push(Problem::new(Span::NONE, error.to_string()));
                break;
            }
        };
        if !path.starts_with("trials/") {
            set.counted.push((path.clone(), Arc::clone(&file)));
        }
        let slot = match path.split_once('/') {
            None if path == MANIFEST => {
                manifest = Some(file);
                continue;
            }
            None if path == JOB_DEFAULTS => {
                set.defaults = Some(file);
                continue;
            }
            Some(("code", name)) if name.ends_with(".toml") && !name.contains('/') => &mut set.code,
            Some(("facts", name)) if name.ends_with(".toml") && !name.contains('/') => &mut set.facts,
            Some(("rules", name)) if name.ends_with(".rhai") && !name.contains('/') => &mut set.rules,
            Some(("trials", UNNOTICED)) => {
                set.unnoticed = Some(file);
                continue;
            }
            Some(("trials", name)) if name.ends_with(".toml") && !name.contains('/') => &mut set.trials,
            _ => {
                let problem = Problem::new(first_line(&file), format!("nothing reads `{path}` of a ruleset"))
                    .label("not where the files of a ruleset stand")
                    .help("a ruleset has ruleset.toml, code/*.toml, facts/*.toml, rules/*.rhai, trials/*.toml, and a shop job-defaults.toml");
                found.push(problem);
                continue;
            }
        };
        slot.push(file);
    }
    let file = manifest?;
    let from = manifest::Found { file: &file, folder: &bundle.folder, origin: &bundle.origin };
    let mut ruleset = manifest::read(&from, schema, symbols, found);
    if ruleset.kind != manifest::RulesetKind::Shop
        && let Some(defaults) = &set.defaults
    {
        let problem = Problem::new(first_line(defaults), format!("only a shop has {JOB_DEFAULTS}"));
        found.push(problem.label("not read").help("defaults of a job are a shop's practice, not law"));
    }
    ruleset.files = Arc::new(set);
    Some(ruleset)
}
