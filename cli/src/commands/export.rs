//! `ruleset export`: a shipped ruleset as files of one's own.

use std::path::Path;

use storystick_engine::problem::did_you_mean;

use super::next;
use crate::args::Export;
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(args: &Export) -> Answer {
    match export(args) {
        Ok(out) => Answer { out, err: String::new(), status: Status::Clean },
        Err(message) => Answer::fault(format!("{message}\n")),
    }
}

fn export(args: &Export) -> Result<String, String> {
    let files = files_of(&args.id);
    if files.is_empty() {
        let ids = storystick_rulesets::FILES.iter().filter_map(|(path, _)| path.strip_suffix("/ruleset.toml"));
        let ids: Vec<&str> = ids.collect();
        let near = did_you_mean(&args.id, ids.iter().copied()).map_or(String::new(), |help| format!("; {help}"));
        let message = format!("no ruleset `{}` is shipped{near}", args.id);
        return Err(next::told(&message, &[next::RULESETS], world::columns()));
    }
    let folder = Path::new(&args.dir).join(&args.id);
    if folder.exists() {
        let message = format!("`{}` is there already: name another --dir, or move it away", folder.display());
        let check = format!("`storystick ruleset check {}` tells how it stands", folder.display());
        return Err(next::told(&message, &[&check], world::columns()));
    }
    let own: Vec<(&str, &str)> = files
        .iter()
        .filter_map(|(path, text)| Some((path.strip_prefix(&args.id)?.trim_start_matches('/'), *text)))
        .collect();
    world::new_folder(&folder, &own)?;
    Ok(format!(
        "{} files in {}\nIt stands in front of the shipped one with: storystick --rulesets {} inspect JOB\n",
        files.len(),
        folder.display(),
        args.dir
    ))
}

/// Returns the shipped files of a ruleset; another ruleset inside its folder is one of its own.
fn files_of(id: &str) -> Vec<(&'static str, &'static str)> {
    let inside = |path: &str| path.strip_prefix(id).and_then(|rest| rest.strip_prefix('/')).map(str::len);
    let all = || storystick_rulesets::FILES.iter().filter(|(path, _)| inside(path).is_some());
    if !all().any(|(path, _)| path.strip_suffix("/ruleset.toml") == Some(id)) {
        return Vec::new();
    }
    let others: Vec<&str> = all().filter_map(|(path, _)| path.strip_suffix("ruleset.toml")).collect();
    let own = |path: &str| {
        let longest = others.iter().filter(|other| path.starts_with(**other)).map(|other| other.len()).max();
        longest == Some(id.len() + 1)
    };
    all().filter(|(path, _)| own(path)).map(|(path, text)| (*path, *text)).collect()
}
