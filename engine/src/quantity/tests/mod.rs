//! Tests of the module as a whole.

mod reading;
