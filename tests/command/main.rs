//! Tests of the command `storystick`, run as a user runs it: small job files and rulesets in a folder, words on a command line,
//! what is printed and how it ends.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking, its helpers too")]

mod answers;
mod beginner;
mod below;
mod broken;
mod check;
mod clumsy;
mod code;
mod compare;
mod diff;
mod drill;
mod examples;
mod faults;
mod fields;
mod grade;
mod inspect_text;
mod invalid;
mod json;
mod junit;
mod killed;
mod lsp;
mod meter;
mod mutants;
mod papers;
mod permissions;
mod pins;
mod places;
mod proposals;
mod propose;
mod questions;
mod reckoned;
mod remodel;
mod rooms;
mod ruleset;
mod sarif;
mod selection;
mod since;
mod spellings;
mod start;
mod streams;
mod support;
mod threads;
mod trade_words;
mod update;
mod walk;
mod watch;
mod working;
mod writing;
