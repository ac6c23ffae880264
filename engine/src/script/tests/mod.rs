//! Tests of the rule language as a whole.

mod outcomes;
mod speed;
mod stub_book;
mod world;
