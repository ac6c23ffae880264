//! Holds every item of a job against every rule in force, and keeps every check.

pub mod asks;
mod assumed;
mod behind;
mod code;
pub mod compare;
pub mod comparison;
mod compose;
mod existing;
pub mod finding;
mod hands;
mod inspector;
mod lacking;
mod options;
mod outcomes;
mod pairs;
mod parts;
mod pins;
mod scene;
mod settle;
mod stricter;
#[cfg(test)]
mod tests;
mod variant;

pub use assumed::Assumed;
pub use code::Code;
pub use hands::Hands;
pub use inspector::{Failure, Inspected, Inspector, JobText, Prepared};
pub use options::Options;
pub use outcomes::{Check, Outcomes};
pub(crate) use variant::compile_anew;
