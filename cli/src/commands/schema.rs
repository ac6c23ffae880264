//! `schema`: JSON Schemas, of files for editors and of reports for programs.

use storystick_engine::model::Schema;
use storystick_engine::{json_schema, ruleset_schema};

use crate::Answer;
use crate::args::{SchemaArgs, Which};
use crate::render::report_schema;

/// Runs the command.
pub(crate) fn run(args: &SchemaArgs) -> Answer {
    let schema = match args.which {
        Which::Job => json_schema::job(&Schema::dwelling()),
        Which::Manifest => ruleset_schema::manifest(),
        Which::Code => ruleset_schema::code(),
        Which::Report => report_schema::report(),
        Which::Trials => ruleset_schema::trials(&Schema::dwelling()),
    };
    Answer::clean(serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n")
}
