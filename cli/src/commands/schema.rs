//! `schema`: JSON Schemas for editors.

use clap::{Args, ValueEnum};
use storystick_engine::model::Schema;
use storystick_engine::{json_schema, ruleset_schema};

use crate::Answer;

/// Options of `schema`.
#[derive(Args, Debug)]
pub(crate) struct SchemaArgs {
    /// Which file is described
    #[arg(value_enum, default_value_t = Which::Job)]
    which: Which,
}

/// The files that have a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Which {
    /// Job files.
    Job,
    /// `ruleset.toml`.
    Manifest,
    /// `code/*.toml` of a ruleset.
    Code,
    /// `trials/*.toml` of a ruleset.
    Trials,
}

/// Runs the command.
pub(crate) fn run(args: &SchemaArgs) -> Answer {
    let schema = match args.which {
        Which::Job => json_schema::job(&Schema::dwelling()),
        Which::Manifest => ruleset_schema::manifest(),
        Which::Code => ruleset_schema::code(),
        Which::Trials => ruleset_schema::trials(&Schema::dwelling()),
    };
    Answer::clean(serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n")
}
