//! A program that embeds the engine and adds to it from outside: heat tape as a kind of item, a function for its rules to call, and
//! the rules themselves as text. Nothing in the engine knows of it.

use std::sync::Arc;

use storystick_engine::book::RulesetText;
use storystick_engine::calc;
use storystick_engine::inspection::Inspector;
use storystick_engine::model::{Default, FieldSpec, Filled, IdRule, KindSpec, Nest, Schema, Type};
use storystick_engine::quantity::{Dimension, Quantity};
use storystick_engine::script::{Call, Compiler, Datum, Given};

/// The rulesets of this program: its own folder, carried as text.
const RULESETS: [(&str, &str); 3] = [
    ("pipe/ruleset.toml", include_str!("../rulesets/pipe/ruleset.toml")),
    ("pipe/code/tape.toml", include_str!("../rulesets/pipe/code/tape.toml")),
    ("pipe/rules/tape.rhai", include_str!("../rulesets/pipe/rules/tape.rhai")),
];

/// Returns the kind: heat tape along a pipe, written as `[[heat_tape]]`.
fn heat_tape() -> KindSpec {
    let field = |name, ty, doc| FieldSpec {
        name,
        ty,
        filled: Filled::Written { required: false, as_built: false },
        default: Default::None,
        doc,
    };
    let length = || Type::Quantity(Dimension::Length);
    KindSpec {
        name: "heat_tape",
        word: "tape",
        nest: Nest::Top("heat_tape"),
        id: IdRule::Required,
        doc: "Heat tape along a pipe.",
        fields: vec![
            field("circuit", Type::Item("circuit"), "Circuit that feeds it."),
            field("length", length(), "Its own length."),
            field("pipe_run", length(), "How far the pipe goes sideways."),
            field("pipe_rise", length(), "How far the pipe goes up."),
            field("ground_fault_protected", Type::Flag, "Whether it has ground-fault protection of equipment."),
        ],
    }
}

/// Returns the length of a straight pipe from its run and its rise.
fn slope(call: Call<'_>) -> Given {
    match call.arguments {
        [Datum::Quantity(run), Datum::Quantity(rise)] => {
            let square = |side: &Quantity| i128::from(side.amount()) * i128::from(side.amount());
            let long = (square(run) + square(rise)).isqrt();
            let amount = i64::try_from(long).map_err(|_| String::from("the pipe is too long"))?;
            Ok(Some(Datum::Quantity(Quantity::new(Dimension::Length, amount))))
        }
        _ => Err(String::from("`slope` takes two lengths")),
    }
}

/// Returns an inspector that knows heat tape beside all kinds of a dwelling.
///
/// # Errors
/// When the engine already has a kind or a function of that name.
pub fn inspector() -> Result<Inspector, String> {
    let mut schema = Schema::dwelling();
    schema.add_kind(heat_tape()).map_err(|error| error.to_string())?;
    let schema = Arc::new(schema);
    let library = calc::Library::standard(&schema);
    let mut compiler = Compiler::new(Arc::clone(&schema));
    let length = || Type::Quantity(Dimension::Length);
    compiler.native("slope", &[length(), length()], length(), slope).map_err(|error| error.to_string())?;
    let rulesets = RULESETS.map(|(path, text)| RulesetText::shipped(path, text));
    Inspector::with(schema, library, compiler, rulesets.into()).map_err(|error| error.to_string())
}
