//! The rule language: Rhai's syntax, lowered at load to typed operations on the cells of a job and the slots of a book.
//!
//! A [`Compiler`] parses a rule with Rhai, checks every name, type and dimension in it, and lowers it; it becomes a [`Rule`].
//! Bound to a book it is set on the facts of a job and run on item after item, recording for every check whether it
//! is met, failed, open (something is not recorded) or faulty, and by what margin. [`Rule::explain`] tells the whole of it for one
//! item: what was found and allowed, where both come from, what is missing.

mod bind;
mod check;
mod condition;
mod detail;
mod direction;
mod explain;
mod lower;
mod machine;
mod mistakes;
mod mutate;
mod native;
mod one_way;
mod place;
mod plan;
mod program;
mod quantify;
mod reads;
mod reckon;
#[cfg(any(test, feature = "reference"))]
mod reference;
mod rule;
mod run;
mod source;
mod syntax;
mod together;
mod trace;
mod types;
mod unknown;
mod value;
mod working;

#[cfg(test)]
mod tests;

pub use check::{Check, Exception, ExistingWork, Outline, PRESUMED_OUT, Verb};
pub use detail::{Detail, Operand, OperandSource, Recorder, Shown, Verdict};
pub use direction::{Direction, Reading};
pub use mutate::{ChangeSort, NamedException, TextChange, changes, exceptions};
pub use native::{Call, Datum, Given, NativeError};
pub use plan::Presumption;
#[cfg(any(test, feature = "reference"))]
pub use reference::{NoAnswer, Reference};
pub use rule::{Bound, Compiler, Rule};
pub use run::Runner;
pub use together::run_together;
pub use working::{Operator, Over, Part, Step, Working, Workings};
