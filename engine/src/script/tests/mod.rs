//! Tests of the rule language as a whole.

mod attacks;
mod differential;
mod entry_names;
mod faults;
mod mistakes;
mod outcomes;
mod shipped;
mod unrecorded;
mod world;
