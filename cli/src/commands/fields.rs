//! `fields`: what job files and rules can say of each kind of item.

use std::sync::Arc;

use storystick_engine::book::Shelf;
use storystick_engine::field_table::{self, KindTable};
use storystick_engine::model::{KindId, Schema};
use storystick_engine::problem::did_you_mean;

use crate::args::{Common, FieldsArgs, TextOrJson};
use crate::render::fields;
use crate::{Answer, world};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &FieldsArgs) -> Answer {
    let schema = match kinds(common) {
        Ok(schema) => schema,
        Err(told) => return Answer::fault(told),
    };
    let tables: Vec<KindTable> = match &args.kind {
        None => field_table::all(&schema),
        Some(name) => match find(&schema, name) {
            Ok(kind) => vec![field_table::of_kind(&schema, kind)],
            Err(message) => return Answer::fault(format!("{message}\n")),
        },
    };
    Answer::clean(match args.format {
        TextOrJson::Text => fields::text(&tables, world::columns()),
        TextOrJson::Json => serde_json::to_string_pretty(&fields::json(&tables)).unwrap_or_default() + "\n",
    })
}

/// Returns the kind of a name, or of the word by which rules call its items.
fn find(schema: &Schema, name: &str) -> Result<KindId, String> {
    let by_word = || schema.kinds().find(|(_, spec)| spec.word == name).map(|(kind, _)| kind);
    if let Some(kind) = schema.kind(name).or_else(by_word) {
        return Ok(kind);
    }
    let names: Vec<&str> = schema.kinds().map(|(_, spec)| spec.name).collect();
    let near =
        did_you_mean(name, names.iter().copied()).unwrap_or_else(|| format!("the kinds are {}", names.join(", ")));
    Err(format!("there is no kind `{name}`; {near}"))
}

/// Returns the table of kinds, with what the rulesets declare.
///
/// # Errors
/// What is wrong with the declarations, drawn.
pub(crate) fn kinds(common: &Common) -> Result<Arc<Schema>, String> {
    let texts = super::rulesets(common).map_err(|message| format!("{message}\n"))?;
    let shelf = Shelf::read(Arc::new(Schema::dwelling()), texts);
    let declares = |name: &str| name.contains("/facts/");
    let of_facts =
        shelf.problems().iter().filter(|problem| shelf.files().place(problem.span).is_some_and(|at| declares(at.file)));
    let wrong: Vec<_> = of_facts.cloned().collect();
    if wrong.is_empty() {
        return Ok(Arc::clone(shelf.schema()));
    }
    Err(super::draw(&wrong, shelf.files(), super::look(common, world::stderr_is_terminal())))
}
