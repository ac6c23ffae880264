//! Reading job files: from TOML to a [`Job`] in which every value knows where it was written.
//!
//! A load goes through [`Document::parse`], [`peek`] (the facts that decide which code is in force, before any book is
//! there) and [`load`]. All that is wrong with a file is reported together. The [`Schema`] says what may be
//! written; nothing here knows a code value.
//!
//! What stands over what, highest first: an item's own value, its room's `[room.defaults]`, the job's `[defaults]`, the
//! shop's, the job format's own. A `[[measure]]` stands over all of them and keeps the plan beside it.

mod defaults;
mod document;
mod existing;
mod format;
mod geometry;
mod inverse;
mod item;
pub(crate) mod limits;
mod links;
mod loader;
mod measures;
mod noted;
mod nothing;
mod peek;
mod records;
mod rooms;
pub(crate) mod shape;
mod supply;
mod through;
mod value;
mod words;

#[cfg(test)]
mod tests;

use std::sync::Arc;

/// What a job file writes in place of an id where there is no such item.
pub const NONE: &str = "none";

pub(crate) use defaults::belongs_to_the_job;
pub use document::{Document, Part};
pub use format::{FORMAT, NEWEST_FORMAT};
pub use peek::{SiteFacts, Told, peek};

use crate::model::{Job, Schema, Symbols};
use crate::problem::Problem;
use crate::source::Files;

/// What a job is read with.
#[derive(Clone, Debug)]
pub struct Setting<'a> {
    /// The kinds and fields.
    pub schema: Arc<Schema>,
    /// The files of the run, those of the parts among them.
    pub files: Files,
    /// The texts that rules and book already have numbers for.
    pub symbols: Symbols,
    /// The shop's `job-defaults.toml`, of the shape of `[defaults]`.
    pub shop_defaults: Option<Part<'a>>,
    /// Whether the parts are a whole job file, which must state its `format`; a trial's tables need not.
    pub whole_file: bool,
}

/// Loads a job from one table, or from several laid over each other: a key of a later part stands over the same key of an
/// earlier one, lists of items are joined, and an item with the id of an earlier one lays its keys over that.
///
/// The job comes back if nothing is wrong with it but notices. Problems are in the order of their places; those of [`peek`] and
/// the syntax errors of the parts are among them.
pub fn load<'a>(parts: &[Part<'a>], setting: &Setting<'a>) -> (Option<Job>, Vec<Problem>) {
    let stated = format::check(parts, setting.whole_file);
    if let Err(format::Trouble::Unknown(problem)) = stated {
        // The keys of another format may mean anything.
        let mut problems: Vec<Problem> = parts.iter().flat_map(|part| part.faults).cloned().collect();
        problems.push(problem);
        sort(&mut problems);
        return (None, problems);
    }
    let schema = Arc::clone(&setting.schema);
    let shape = shape::Shape::new(&schema);
    let mut loader = loader::Loader::new(&shape, Arc::clone(&schema), setting);
    if let Err(format::Trouble::Unstated(problem)) = stated {
        loader.problem(problem);
    }
    loader.run(parts, setting)
}

/// Puts problems into the order of their places and takes out those said twice.
fn sort(problems: &mut Vec<Problem>) {
    problems.sort_by(|a, b| (a.span, &a.message).cmp(&(b.span, &b.message)));
    problems.dedup_by(|later, first| later.span == first.span && later.message == first.message);
}
