//! `completions` and `man`: made from the command line's own description.

use std::path::Path;

use super::next;
use crate::args::{Completions, Man};
use crate::statuses::documented;
use crate::{Answer, world};

/// Prints the script of a shell.
pub(crate) fn completions(args: &Completions) -> Answer {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut documented(), "storystick", &mut script);
    Answer::clean(String::from_utf8_lossy(&script).into_owned())
}

/// Writes the pages: each as a whole, whatever happens meanwhile.
pub(crate) fn pages(args: &Man) -> Answer {
    match written(&args.dir) {
        Ok(()) => Answer::clean(format!("{}\n", args.dir)),
        Err(said) => Answer::fault(next::with(&said, &["`storystick man manual` writes them into a folder `manual`"])),
    }
}

fn written(dir: &str) -> Result<(), String> {
    let folder = Path::new(dir);
    std::fs::create_dir_all(folder)
        .map_err(|error| format!("the pages can't be written into `{dir}`: {}", world::plain(&error)))?;
    let mut command = documented().disable_help_subcommand(true);
    command.build();
    for (name, text) in of(&command)? {
        world::replace(&folder.join(name).to_string_lossy(), &text)?;
    }
    Ok(())
}

/// Returns the pages of a command and of those within it, by the names of their files.
fn of(command: &clap::Command) -> Result<Vec<(String, String)>, String> {
    let mut pages = Vec::new();
    for inner in command.get_subcommands().filter(|inner| !inner.is_hide_set()) {
        pages.extend(of(inner)?);
    }
    let page = clap_mangen::Man::new(command.clone());
    let mut text = Vec::new();
    page.render(&mut text).map_err(|error| format!("a page can't be made: {}", world::plain(&error)))?;
    pages.push((page.get_filename(), String::from_utf8_lossy(&text).into_owned()));
    Ok(pages)
}
