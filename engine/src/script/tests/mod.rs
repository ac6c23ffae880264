//! Tests of the rule language as a whole.

mod outcomes;
mod speed;
mod world;
