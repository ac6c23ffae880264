//! Trials: small jobs with the outcomes that each rule of a ruleset must give. They are the ruleset's own tests.
//!
//! A trial lays its `job` over a named `base` and over a site that says nothing but place and day, holds it against the code of
//! its ruleset, and compares the outcome of one rule. A rule needs a trial that meets it and one that fails it.

mod below;
mod coverage;
mod examples;
mod mutants;
mod read;
mod run;
mod unnoticed;

pub use below::Otherwise;
pub use coverage::{Coverage, Noted, Ways, cover};
pub use examples::{Example, examples};
pub use mutants::{Fate, Mutant, Mutants, MutantsTried};
pub use read::{Expected, Trial};
pub use run::{Lacking, RulesetTried, Tried, try_ruleset, try_while};
pub use unnoticed::ChangeOf;
