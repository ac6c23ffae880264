//! Mistakes of a table of kinds, found before anything is read by it: a slip here would become a wrong verdict later.

use super::{Default, FieldSpec, Filled, KindSpec, Nest, Schema, SchemaError, Type};
use crate::quantity::Dimension;

/// Keys that every item may have, and what a rule calls the code and the site.
const TAKEN_FIELDS: &[&str] = &["id", "defaults"];

impl Schema {
    /// Looks for mistakes in the whole table: defaults of the wrong type, links to kinds that are not there, tables inside an unknown
    /// kind, lists that nothing fills, names that no rule could say.
    ///
    /// # Errors
    /// All of them, a line each.
    pub fn check(&self) -> Result<(), SchemaError> {
        let mut mistakes = Vec::new();
        for (_, kind) in self.kinds() {
            self.check_kind(kind, &mut mistakes);
        }
        for (at, kind) in self.kinds() {
            for (_, other) in self.kinds().filter(|(other, _)| *other < at) {
                if kind.word == other.word {
                    mistakes
                        .push(format!("kinds `{}` and `{}` have the same word `{}`", other.name, kind.name, kind.word));
                }
            }
        }
        if mistakes.is_empty() { Ok(()) } else { Err(SchemaError(mistakes.join("\n"))) }
    }

    fn check_kind(&self, kind: &KindSpec, mistakes: &mut Vec<String>) {
        for (what, name) in [("name", kind.name), ("word", kind.word)] {
            if !Schema::is_name(name) {
                mistakes.push(format!("`{name}` can't be the {what} of a kind: write small letters, digits and `_`"));
            }
        }
        if let Nest::Inside { parent, keys, short, .. } = kind.nest {
            match self.kind(parent) {
                None => {
                    mistakes.push(format!("kind `{}` stands inside `{parent}`, and there is no such kind", kind.name))
                }
                Some(around) => {
                    for key in keys.iter().filter(|key| {
                        self.field(around, key).is_some_and(|field| self.is_written(self.field_spec(around, field)))
                    }) {
                        mistakes
                            .push(format!("kind `{}` stands under `{key}`, which is a field of `{parent}`", kind.name));
                    }
                }
            }
            if keys.is_empty() {
                mistakes.push(format!("kind `{}` stands inside `{parent}` under no key", kind.name));
            }
            if let Some(short) = short
                && !kind.fields.iter().any(|field| field.name == short && self.is_written(field))
            {
                mistakes.push(format!(
                    "a text for kind `{}` stands for `{short}`, which is no field that is written",
                    kind.name
                ));
            }
        }
        for (at, field) in kind.fields.iter().enumerate() {
            if kind.fields.iter().take(at).any(|earlier| earlier.name == field.name) {
                mistakes.push(format!("kind `{}` has two fields `{}`", kind.name, field.name));
            }
            if let Err(mistake) = self.check_field(kind, field) {
                mistakes.push(format!("field `{}.{}` {mistake}", kind.name, field.name));
            }
        }
    }

    fn is_written(&self, field: &FieldSpec) -> bool {
        matches!(field.filled, Filled::Written { .. } | Filled::Key { .. })
    }

    fn check_field(&self, kind: &KindSpec, field: &FieldSpec) -> Result<(), String> {
        if !Schema::is_name(field.name) || TAKEN_FIELDS.contains(&field.name) {
            return Err(String::from(
                "can't have this name: write small letters, digits and `_`, and not `id` or `defaults`",
            ));
        }
        self.check_type(&field.ty, true)?;
        check_default(field)?;
        let member = match &field.ty {
            Type::List(member) => member,
            other => other,
        };
        match field.filled {
            Filled::Written { .. } | Filled::Derived => Ok(()),
            Filled::Key { .. } => {
                let takes = |other: &FieldSpec| matches!(other.filled, Filled::By(key) if key == field.name);
                if kind.fields.iter().any(takes) {
                    Ok(())
                } else {
                    Err(String::from("is a key behind which no field stands"))
                }
            }
            Filled::By(key) => {
                let is_key = |other: &FieldSpec| other.name == key && matches!(other.filled, Filled::Key { .. });
                if kind.fields.iter().any(is_key) {
                    Ok(())
                } else {
                    Err(format!("is filled by `{key}`, which is no key of its kind"))
                }
            }
            Filled::Nesting => match (kind.nest, member) {
                (Nest::Inside { parent, .. }, Type::Item(of)) if *of == parent => Ok(()),
                (Nest::Inside { keys, .. }, Type::Word(words)) if keys.iter().all(|key| words.contains(key)) => Ok(()),
                (Nest::Inside { .. }, _) => Err(String::from(
                    "is filled from where its table stands, and holds neither the kind around it nor its keys",
                )),
                _ => Err(String::from("is filled from where its table stands, and that is inside nothing")),
            },
            Filled::Inverse { kind: of, via } => self.check_inverse(kind, field, of, via),
            Filled::Through(chains) => chains.iter().try_for_each(|chain| self.check_chain(kind, chain, member)),
        }
    }

    fn check_type(&self, ty: &Type, outermost: bool) -> Result<(), String> {
        match ty {
            Type::Item(of) if self.kind(of).is_none() => Err(format!("refers to `{of}`, and there is no such kind")),
            Type::Word([]) => Err(String::from("has no words to choose from")),
            Type::List(member) if outermost => self.check_type(member, false),
            Type::List(_) => Err(String::from("is a list of lists")),
            _ => Ok(()),
        }
    }

    fn check_inverse(&self, kind: &KindSpec, field: &FieldSpec, of: &str, via: &str) -> Result<(), String> {
        let Some(listed) = self.kind(of) else { return Err(format!("lists `{of}`, and there is no such kind")) };
        if !matches!(&field.ty, Type::List(member) if **member == Type::Item(self.spec(listed).name)) {
            return Err(format!("lists every `{of}` that refers here, and is no list of them"));
        }
        if via.is_empty() {
            return Ok(());
        }
        let Some(link) = self.field(listed, via) else {
            return Err(format!("goes by `{of}.{via}`, and there is no such field"));
        };
        let refers = match &self.field_spec(listed, link).ty {
            Type::List(member) => **member == Type::Item(kind.name),
            ty => *ty == Type::Item(kind.name),
        };
        if refers { Ok(()) } else { Err(format!("goes by `{of}.{via}`, which does not refer to `{}`", kind.name)) }
    }

    /// Checks that a chain of links leads where it should.
    fn check_chain(&self, kind: &KindSpec, chain: &str, to: &Type) -> Result<(), String> {
        let mut at = Some(kind);
        for link in chain.split('.') {
            let of = at.and_then(|kind| kind.fields.iter().find(|field| field.name == link));
            let target = of.and_then(|field| match &field.ty {
                Type::Item(target) => Some(*target),
                Type::List(member) => match **member {
                    Type::Item(target) => Some(target),
                    _ => None,
                },
                _ => None,
            });
            at = target.and_then(|target| self.kind(target)).map(|target| self.spec(target));
        }
        match at {
            Some(kind) if *to == Type::Item(kind.name) => Ok(()),
            _ => Err(format!("goes by `{chain}`, which does not lead to what it lists")),
        }
    }
}

/// Checks that a default is of the field's type.
fn check_default(field: &FieldSpec) -> Result<(), String> {
    let fits = match (&field.default, &field.ty) {
        (Default::None, _)
        | (Default::Flag(_) | Default::FlagUnless(..), Type::Flag)
        | (Default::Number(_), Type::Quantity(Dimension::Number))
        | (Default::Amount(_), Type::Quantity(_))
        | (Default::Empty, Type::List(_))
        | (Default::NoItem, Type::Item(_))
        | (Default::Owner, Type::Flag) => true,
        (Default::Word(word), Type::Word(words)) => words.contains(word),
        _ => false,
    };
    if !fits {
        return Err(String::from("has a default that is not of its type"));
    }
    let written = matches!(field.filled, Filled::Written { .. });
    if field.default != Default::None && !written {
        return Err(String::from("has a default, and nobody writes it"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::IdRule;

    fn kind(nest: Nest, fields: Vec<FieldSpec>) -> KindSpec {
        KindSpec { name: "tape", word: "tape", nest, id: IdRule::Made, doc: "Heat tape.", fields }
    }

    fn field(name: &'static str, ty: Type, filled: Filled, default: Default) -> FieldSpec {
        FieldSpec { name, ty, filled, default, doc: "A field." }
    }

    const WRITTEN: Filled = Filled::Written { required: false, as_built: false };

    fn mistake(spec: KindSpec) -> String {
        let mut schema = Schema::dwelling();
        let added = schema.add_kind(spec);
        added.and_then(|_| schema.check()).map_or_else(|error| error.0, |()| String::new())
    }

    #[test]
    fn the_kinds_of_a_dwelling_have_no_mistake() {
        assert_eq!(Schema::dwelling().check(), Ok(()));
        let sound = field("length", Type::Quantity(Dimension::Length), WRITTEN, Default::None);
        assert_eq!(mistake(kind(Nest::Top("tape"), vec![sound])), "");
    }

    #[test]
    fn every_slip_of_a_table_is_told() {
        let top = Nest::Top("tape");
        let length = Type::Quantity(Dimension::Length);
        let list = |of| Type::List(Box::new(Type::Item(of)));
        let cases: Vec<(FieldSpec, &str)> = vec![
            (field("length", length.clone(), WRITTEN, Default::Flag(true)), "has a default that is not of its type"),
            (
                field("length", length.clone(), Filled::Derived, Default::Amount(1)),
                "has a default, and nobody writes it",
            ),
            (
                field("state", Type::Word(&["on", "off"]), WRITTEN, Default::Word("of")),
                "has a default that is not of its type",
            ),
            (
                field("circuit", Type::Item("circut"), WRITTEN, Default::None),
                "refers to `circut`, and there is no such kind",
            ),
            (field("the way", Type::Flag, WRITTEN, Default::None), "can't have this name"),
            (field("id", Type::Text, WRITTEN, Default::None), "can't have this name"),
            (field("state", Type::Word(&[]), WRITTEN, Default::None), "has no words to choose from"),
            (field("rows", Type::List(Box::new(list("box"))), WRITTEN, Default::None), "is a list of lists"),
            (
                field("box", Type::Item("box"), Filled::By("at"), Default::None),
                "is filled by `at`, which is no key of its kind",
            ),
            (
                field("at", Type::Text, Filled::Key { required: true }, Default::None),
                "is a key behind which no field stands",
            ),
            (field("box", Type::Item("box"), Filled::Nesting, Default::None), "and that is inside nothing"),
            (
                field("boxes", list("box"), Filled::Inverse { kind: "box", via: "room" }, Default::None),
                "goes by `box.room`, which does not refer to `tape`",
            ),
            (
                field("boxes", list("box"), Filled::Inverse { kind: "box", via: "tape" }, Default::None),
                "goes by `box.tape`, and there is no such field",
            ),
            (
                field("boxes", list("room"), Filled::Inverse { kind: "box", via: "" }, Default::None),
                "lists every `box` that refers here, and is no list of them",
            ),
            (
                field("rooms", list("room"), Filled::Through(&["box.rom"]), Default::None),
                "goes by `box.rom`, which does not lead to what it lists",
            ),
        ];
        for (wrong, expected) in cases {
            let told = mistake(kind(top, vec![wrong]));
            assert!(told.contains(expected), "{told}\nis not\n{expected}");
        }
    }

    #[test]
    fn a_kind_stands_where_a_file_can_have_it() {
        let nest = |parent, keys, short| Nest::Inside { parent, keys, many: true, short };
        let told = |nest| mistake(kind(nest, Vec::new()));
        assert!(told(nest("nosuch", &["tape"], None)).contains("stands inside `nosuch`, and there is no such kind"));
        assert!(told(nest("room", &[], None)).contains("under no key"));
        assert!(told(nest("room", &["storey"], None)).contains("which is a field of `room`"));
        assert!(told(nest("room", &["tape"], Some("at"))).contains("which is no field that is written"));
        let spoken = KindSpec { word: "the tape", ..kind(Nest::Top("tape"), Vec::new()) };
        assert!(mistake(spoken).contains("can't be the word of a kind"));
    }

    #[test]
    fn all_mistakes_come_at_once() {
        let wrong = |name| field(name, Type::Item("nosuch"), WRITTEN, Default::None);
        assert_eq!(mistake(kind(Nest::Top("tape"), vec![wrong("a"), wrong("b")])).lines().count(), 2);
    }
}
