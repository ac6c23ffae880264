//! Rulesets, and the one code in force that they give for a place, its dates and a shop.
//!
//! A [`Shelf`] knows every ruleset; [`Shelf::resolve`] stacks those that an [`Ask`] calls for (edition with what it follows,
//! accessibility, places from the outermost inwards, shop) and gives the [`Book`]: entries with the chain of who set
//! them, and rules with who replaced, omitted or reweighed them. Nothing here knows what an entry or rule means.

mod adoption;
mod amendment;
mod amendment_reader;
mod ask;
mod changes;
mod code_file;
mod content_hash;
mod contents;
mod days;
mod defines;
mod difference;
mod entries;
mod entry;
mod exceptions;
pub(crate) mod facts_file;
mod fields;
mod gaps;
mod gather;
mod header;
mod in_force;
mod layer;
mod literal;
mod manifest;
mod named;
mod nudge;
mod opening;
mod origins;
mod reading;
mod references;
mod reserved;
mod resolve;
mod rule_files;
mod rule_lexer;
mod rules;
mod shelf;
mod shown;
mod sources;
mod stack;
mod text;
mod tightened;
mod typeset;
mod value;
mod without;

pub use amendment::{Amendment, Change, NewValue};
#[cfg(test)]
pub(crate) use reserved::RESERVED;

pub use ask::{Ask, AskSpans, DateKind};
pub use code_file::WrittenEntry;
pub use contents::Contents;
pub use defines::DefineInForce;
pub use difference::{Difference, EntryChange, EntryDifference, RowDifference, RuleChange, RuleDifference};
pub use entry::{Checked, Entry, EntryId, Setting};
pub use exceptions::ExceptionInForce;
pub use fields::Written;
pub use in_force::{Adopted, Book, Layer, RuleName};
pub use literal::Literal;
pub use manifest::{Adoption, Ruleset, RulesetKind};
pub use named::{CodeInForce, RulesetInForce, SetBy, Weight};
pub use nudge::{Nudge, NudgedPart};
pub use reserved::is_reserved;
pub use rules::{OmittedRule, RuleInForce};
pub use shelf::Shelf;
pub use shown::{Found, Shown, ShownRow, Step};
pub use sources::{DefineSource, ExceptionSource, RuleSource};
pub use text::{Origin, RulesetText};
pub use tightened::Tightened;
pub use value::{EarlierRow, EntryType, Matching, Member, Row, Scalar, ScalarType, Table, Value};

#[cfg(test)]
mod tests;
