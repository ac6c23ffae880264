//! Tests against published standards, tables and worked examples, and against general-purpose reference libraries.

mod ampacity;
mod box_fill;
mod codes;
mod coverage;
mod coverage_rooms;
mod dwelling_load;
mod examples;
mod foundation;
mod job_schema;
mod raceway_fill;
mod random;
mod reach;
mod units;
mod voltage_drop;
mod voltage_drop_nodal;
mod wire;
mod wiring;
