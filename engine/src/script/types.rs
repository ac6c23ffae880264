//! The types of the rule language, as the checks at load see them.

use std::sync::Arc;

use crate::model::{KindId, Schema, Type};
use crate::quantity::Dimension;

/// What an expression gives.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Ty {
    /// Yes or no.
    Flag,
    /// A text that is known when the rule is loaded.
    Said(Arc<str>),
    /// Any text.
    Text,
    /// One of a vocabulary.
    Word(&'static [&'static str]),
    /// An amount of a dimension.
    Quantity(Dimension),
    /// An item of a kind.
    Item(KindId),
    /// `none`: what a link holds that leads nowhere.
    Nothing,
    /// A list.
    List(Box<Ty>),
    /// Something wrong that has been reported: it fits everywhere, so that one mistake gives one message.
    Wrong,
}

impl Ty {
    /// Returns the type of a field.
    pub(super) fn of(ty: &Type, schema: &Schema) -> Ty {
        match ty {
            Type::Flag => Ty::Flag,
            Type::Text => Ty::Text,
            Type::Word(words) => Ty::Word(words),
            Type::Quantity(dimension) => Ty::Quantity(*dimension),
            Type::Item(kind) => schema.kind(kind).map_or(Ty::Wrong, Ty::Item),
            Type::List(inner) => Ty::List(Box::new(Ty::of(inner, schema))),
        }
    }

    /// Returns whether it is a text of some sort.
    pub(super) fn is_text(&self) -> bool {
        matches!(self, Ty::Said(_) | Ty::Text | Ty::Word(_))
    }

    /// Returns the dimension of a quantity.
    pub(super) fn dimension(&self) -> Option<Dimension> {
        match self {
            Ty::Quantity(dimension) => Some(*dimension),
            _ => None,
        }
    }

    /// Returns the type in the words of a message: `a length`, `a yes or no`.
    pub(super) fn says(&self, schema: &Schema) -> String {
        match self {
            Ty::Flag => String::from("a yes or no"),
            Ty::Said(text) => format!("the text `{text}`"),
            Ty::Text => String::from("a text"),
            Ty::Word(_) => String::from("a word"),
            Ty::Quantity(dimension) => String::from(dimension.with_article()),
            Ty::Item(kind) => with_article(schema.spec(*kind).word),
            Ty::List(inner) => match &**inner {
                Ty::Flag => String::from("a list of yes and no"),
                Ty::Said(_) | Ty::Text | Ty::Word(_) => String::from("a list of words"),
                Ty::Quantity(Dimension::Number) => String::from("a list of numbers"),
                Ty::Quantity(dimension) => format!("a list of {} values", dimension.name()),
                Ty::Item(kind) => format!("a list of {} items", schema.spec(*kind).word),
                Ty::List(_) | Ty::Nothing | Ty::Wrong => String::from("a list"),
            },
            Ty::Nothing => String::from("`none`"),
            Ty::Wrong => String::from("something wrong"),
        }
    }

    /// Returns whether two values of these types can be the same: what `==` and `in` ask.
    pub(super) fn same_sort(&self, other: &Ty) -> bool {
        match (self, other) {
            (Ty::Wrong, _) | (_, Ty::Wrong) | (Ty::Flag, Ty::Flag) => true,
            (Ty::Quantity(a), Ty::Quantity(b)) => a == b,
            (Ty::Item(a), Ty::Item(b)) => a == b,
            (Ty::Item(_) | Ty::Nothing, Ty::Item(_) | Ty::Nothing) => true,
            (a, b) => a.is_text() && b.is_text(),
        }
    }
}

/// Returns a word with `a` or `an`.
pub(super) fn with_article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {word}")
}
