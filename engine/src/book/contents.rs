//! What a ruleset holds: entries, amendments, rules and job defaults, as written.

use std::sync::Arc;

use jiff::civil::Date;

use super::amendment::Amendment;
use super::code_file::WrittenEntry;
use super::entry::EntryId;
use super::sources::{DefineSource, ExceptionSource, RuleSource};
use crate::problem::Problem;
use crate::source::File;

/// What a ruleset holds, each part in the order of its files' paths and of the lines in them.
#[derive(Debug, Default)]
pub struct Contents {
    /// Its own entries.
    pub entries: Vec<WrittenEntry>,
    /// Its amendments, those of the manifest first.
    pub amends: Vec<Amendment>,
    /// Its rules.
    pub rules: Vec<Arc<RuleSource>>,
    /// Its shared conditions.
    pub defines: Vec<Arc<DefineSource>>,
    /// Exceptions that it adds to rules of other rulesets.
    pub exceptions: Vec<Arc<ExceptionSource>>,
    /// The defaults that a shop has for the jobs it describes. Their syntax is sound.
    pub defaults: Option<Arc<File>>,
    /// The number of each entry, by its position in `entries`.
    pub(super) ids: Vec<EntryId>,
    /// The days on which something changes inside the blocks of its rules, sorted.
    pub(super) turns: Vec<Date>,
    /// What is wrong in the files, the manifest left out.
    pub(super) problems: Vec<Problem>,
}
