//! Tests of the rule language as a whole.

mod mistakes;
mod outcomes;
mod speed;
mod world;
