//! Tests of the papers.

mod directory;
mod markout;
mod support;
mod takeoff;
