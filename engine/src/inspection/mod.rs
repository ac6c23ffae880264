//! Holds every item of a job against every rule in force, and keeps every check.

pub mod finding;
