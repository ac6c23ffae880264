//! Holds a described dwelling against the electrical code of its place.
//!
//! Data flows one way: `source` → [`model`] (the job) and the book in force → derived quantities → the inspection → the papers.
//! The engine knows nothing of terminals, HTML or process exit, and no code value stands in it: every distance, volume,
//! ampacity and list of rooms comes from rulesets.

#![deny(missing_docs)]

pub mod book;
pub mod calc;
pub mod facts;
pub mod field_table;
pub mod inspection;
pub mod job;
pub mod json_schema;
pub mod layout;
pub mod model;
pub mod problem;
pub mod quantity;
pub mod ruleset_schema;
pub mod script;
pub mod sheet;
pub mod source;
pub mod told;
mod toml_help;
pub mod trial;
pub mod wiring;
pub mod world;
