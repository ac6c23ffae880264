//! Options of the commands that print what is made from the command line itself, or from the table of kinds.

use clap::{Args, ValueEnum};
use clap_complete::Shell;

use super::TextOrJson;

/// Options of `schema`.
#[derive(Args, Debug)]
pub(crate) struct SchemaArgs {
    /// Which file is described
    #[arg(value_enum, default_value_t = Which::Job)]
    pub(crate) which: Which,
}

/// The files that have a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Which {
    /// Job files.
    Job,
    /// `ruleset.toml`.
    Manifest,
    /// `code/*.toml` of a ruleset.
    Code,
    /// `facts/*.toml` of a ruleset.
    Facts,
    /// `trials/*.toml` of a ruleset.
    Trials,
    /// What `inspect --format json` writes.
    Report,
}

/// Options of `fields`.
#[derive(Args, Debug)]
pub(crate) struct FieldsArgs {
    /// One kind of item, such as `box`, or the word by which rules call it; all where it is left out
    #[arg(value_name = "KIND")]
    pub(crate) kind: Option<String>,
    /// How it is written
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    pub(crate) format: TextOrJson,
}

/// Options of `completions`.
#[derive(Args, Debug)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub(crate) shell: Shell,
}

/// Options of `man`.
#[derive(Args, Debug)]
pub(crate) struct Man {
    /// The folder that the pages go into; it is made where it is not there
    #[arg(value_name = "DIR")]
    pub(crate) dir: String,
}
