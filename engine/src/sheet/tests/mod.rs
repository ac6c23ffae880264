//! Tests of the papers.

mod directory;
mod markout;
mod panel;
mod support;
mod takeoff;
