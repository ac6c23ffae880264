//! Items of a job as plain data: kinds with their fields, cells with their places, and the job that holds them.
//!
//! One table of kinds and fields (the [`Schema`]) serves the reader of job files, the JSON Schema, the name checks
//! of the rule language and the completion in editors, so that none of them can drift from the others. A program that embeds
//! the engine adds kinds and fields to it by a plain call.

mod cell;
mod check;
mod declared;
mod interned;
mod job;
pub mod kinds;
mod said;
mod schema;
mod symbols;

pub use cell::{Cell, ItemIndex, LinkState, ListRange};
pub use declared::Declared;
pub use job::{Item, Job, JobBuilder};
pub use said::{Meant, meant};
pub use schema::{
    Absent, Default, Fact, FieldId, FieldSpec, Filled, IdRule, KindId, KindSpec, Nest, Schema, SchemaError, Stage,
    Type, is_doubtful,
};
pub use symbols::{Symbol, Symbols};
