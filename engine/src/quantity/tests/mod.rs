//! Tests of the module as a whole.

mod errors;
mod laws;
mod reading;
mod reckoning;
mod sizes;
mod writing;
