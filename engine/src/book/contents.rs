//! What a ruleset holds: entries, amendments, rules and job defaults, as written.

use std::sync::Arc;

use super::amendment::Amendment;
use super::code_file::WrittenEntry;
use super::entry::EntryId;
use super::rule_files::RuleSource;
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
    /// The defaults that a shop has for the jobs it describes. Their syntax is sound.
    pub defaults: Option<Arc<File>>,
    /// The number of each entry, by its position in `entries`.
    pub(super) ids: Vec<EntryId>,
    /// What is wrong in the files, the manifest left out.
    pub(super) problems: Vec<Problem>,
}
