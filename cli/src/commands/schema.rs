//! `schema`: JSON Schemas, of files for editors and of reports for programs.

use storystick_engine::{json_schema, ruleset_schema};

use super::fields::kinds;
use crate::Answer;
use crate::args::{Common, SchemaArgs, Which};
use crate::render::report_schema;

/// Runs the command.
pub(crate) fn run(common: &Common, args: &SchemaArgs) -> Answer {
    let over_kinds =
        |schema: fn(&storystick_engine::model::Schema) -> serde_json::Value| kinds(common).map(|kinds| schema(&kinds));
    let schema = match args.which {
        Which::Job => over_kinds(json_schema::job),
        Which::Manifest => Ok(ruleset_schema::manifest()),
        Which::Code => Ok(ruleset_schema::code()),
        Which::Facts => over_kinds(ruleset_schema::facts),
        Which::Report => Ok(report_schema::report()),
        Which::Trials => over_kinds(ruleset_schema::trials),
    };
    match schema {
        Ok(schema) => Answer::clean(serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"),
        Err(told) => Answer::fault(told),
    }
}
