//! Whether the parts that a program hands over belong together: a slip between them would be a wrong verdict later.

use crate::book::is_reserved;
use crate::calc::Library;
use crate::model::{Schema, SchemaError};
use crate::script::Compiler;

/// Words that rules use for something else.
const SPOKEN_FOR: &[&str] = &["code"];

/// Looks for all mistakes of the table of kinds, and for parts that were made for another one.
///
/// # Errors
/// All of them, a line each.
pub(super) fn check(schema: &Schema, library: &Library, compiler: &Compiler) -> Result<(), SchemaError> {
    let mut mistakes: Vec<String> = Vec::new();
    mistakes.extend(schema.check().err().map(|error| error.0));
    for (_, kind) in schema.kinds() {
        if is_reserved(kind.word) || SPOKEN_FOR.contains(&kind.word) {
            mistakes.push(format!(
                "`{}` can't be the word of kind `{}`: rules use it for something else",
                kind.word, kind.name
            ));
        }
    }
    if library.is_for(schema) {
        for (kind, field) in library.lacking(schema) {
            let (kind, field) = (schema.spec(kind).name, schema.field_spec(kind, field).name);
            mistakes.push(format!("field `{kind}.{field}` is computed, and no function of the library computes it"));
        }
    } else {
        mistakes.push(String::from("the library was made for another table of kinds"));
    }
    if !compiler.schema().is_same(schema) {
        mistakes.push(String::from("the compiler was made for another table of kinds"));
    }
    if mistakes.is_empty() { Ok(()) } else { Err(SchemaError(mistakes.join("\n"))) }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::inspection::Inspector;
    use crate::model::{Default, FieldSpec, Filled, IdRule, KindSpec, Nest, Type};
    use crate::quantity::Dimension;

    fn tape(word: &'static str, fields: Vec<FieldSpec>) -> KindSpec {
        KindSpec { name: "tape", word, nest: Nest::Top("tape"), id: IdRule::Made, doc: "Heat tape.", fields }
    }

    fn length(filled: Filled, default: Default) -> FieldSpec {
        FieldSpec { name: "length", ty: Type::Quantity(Dimension::Length), filled, default, doc: "Its length." }
    }

    /// Returns what an inspector over a kind of its own is refused for.
    fn refused(kind: KindSpec) -> String {
        let mut schema = Schema::dwelling();
        schema.add_kind(kind).unwrap();
        let schema = Arc::new(schema);
        let (library, compiler) = (Library::standard(&schema), Compiler::new(Arc::clone(&schema)));
        Inspector::with(schema, library, compiler, Vec::new()).err().map(|error| error.0).unwrap_or_default()
    }

    #[test]
    fn a_kind_without_a_slip_is_taken() {
        let written = Filled::Written { required: false, as_built: false };
        assert_eq!(refused(tape("tape", vec![length(written, Default::None)])), "");
    }

    #[test]
    fn a_slip_is_refused_before_any_verdict() {
        let written = Filled::Written { required: false, as_built: false };
        let told = refused(tape("tape", vec![length(written.clone(), Default::Flag(true))]));
        assert_eq!(told, "field `tape.length` has a default that is not of its type");
        let told = refused(tape("tape", vec![length(Filled::Derived, Default::None)]));
        assert_eq!(told, "field `tape.length` is computed, and no function of the library computes it");
        for word in ["keep", "code"] {
            let told = refused(tape(word, vec![length(written.clone(), Default::None)]));
            assert!(told.starts_with(&format!("`{word}` can't be the word of kind `tape`")), "{told}");
        }
    }

    #[test]
    fn parts_of_another_table_are_refused() {
        let mut own = Schema::dwelling();
        own.add_kind(tape("tape", Vec::new())).unwrap();
        let (own, plain) = (Arc::new(own), Arc::new(Schema::dwelling()));
        let refused = |library: &Arc<Schema>, compiler: &Arc<Schema>| {
            let parts = (Library::standard(library), Compiler::new(Arc::clone(compiler)));
            Inspector::with(Arc::clone(&own), parts.0, parts.1, Vec::new()).err().map(|error| error.0)
        };
        assert_eq!(refused(&own, &own), None);
        assert_eq!(refused(&plain, &own).as_deref(), Some("the library was made for another table of kinds"));
        assert_eq!(refused(&own, &plain).as_deref(), Some("the compiler was made for another table of kinds"));
    }
}
