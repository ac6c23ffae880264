//! Tests against published standards, tables and worked examples, and against general-purpose reference libraries.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test fails by a panic, in its helpers too"
)]

mod ampacity;
mod audit_jobs;
mod box_fill;
mod checklists;
mod codes;
mod conductors;
mod coverage;
mod coverage_rooms;
mod dwelling_load;
mod dwelling_load_of_job;
mod examples;
mod feeders;
mod fewest_receptacles;
mod foundation;
mod job_schema;
mod public_law;
mod raceway_fill;
mod random;
mod reach;
mod shipped_rulesets;
mod units;
mod unrecorded;
mod voltage_drop;
mod voltage_drop_nodal;
mod wire;
mod wiring;
