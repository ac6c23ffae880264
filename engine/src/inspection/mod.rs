//! Holds every item of a job against every rule in force, and keeps every check.

mod assumed;
mod behind;
mod code;
pub mod compare;
pub mod comparison;
mod compose;
pub mod finding;
mod hands;
mod inspector;
mod lacking;
mod options;
mod outcomes;
mod pairs;
mod pins;
mod scene;
mod settle;

pub use assumed::{Assumed, assumed};
pub use code::Code;
pub use hands::Hands;
pub use inspector::{Failure, Inspected, Inspector, JobText, Prepared};
pub use options::Options;
pub use outcomes::{Check, Outcomes};
