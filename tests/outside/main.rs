//! Tests against published standards, tables and worked examples, and against general-purpose reference libraries.

mod job_schema;
mod units;
