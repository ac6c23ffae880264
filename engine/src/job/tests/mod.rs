//! Tests of the reader: what it makes of good files, and that every fault is told at the exact characters.

mod broken;
mod defaults;
mod existing;
mod faults;
mod geometry;
mod good;
mod measures;
mod nothing;
mod supply;

use std::sync::Arc;

use super::{Document, Setting, load};
use crate::model::{Job, Schema, Symbols};
use crate::problem::Problem;
use crate::source::Files;

/// The head of a job file, for cases that are about what follows it.
pub(super) const HEAD: &str = r#"format = 1
[site]
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
stage = "rough_in"
"#;

/// A rectangular room of 14 ft by 12 ft.
pub(super) const ROOM: &str = r#"[[room]]
id = "hobby"
kind = "workshop"
length = "14 ft"
width = "12 ft"
"#;

pub(super) struct Read {
    pub(super) job: Option<Job>,
    pub(super) problems: Vec<Problem>,
    pub(super) files: Files,
}

impl Read {
    /// Returns the text that a problem underlines.
    pub(super) fn underlined(&self, problem: &Problem) -> &str {
        self.files.text(problem.span)
    }

    /// Returns the job of a file without fault.
    pub(super) fn good(self) -> Job {
        assert_eq!(self.problems, [], "{:?}", self.problems.iter().map(|p| self.underlined(p)).collect::<Vec<_>>());
        self.job.unwrap()
    }
}

/// Reads a job file.
pub(super) fn read(text: &str) -> Read {
    read_with(text, "")
}

/// Reads a job file with a shop's defaults.
pub(super) fn read_with(text: &str, shop: &str) -> Read {
    let mut files = Files::new();
    files.add("before.toml", "a file that the job's places must not be taken for").unwrap();
    let shop = files.add("job-defaults.toml", shop).unwrap();
    let file = files.add("job.toml", text).unwrap();
    let (shop, document) = (Document::parse(&shop), Document::parse(&file));
    let setting = Setting {
        schema: Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: Some(shop.part()),
        whole_file: true,
    };
    let (job, problems) = load(&[document.part()], &setting);
    assert_eq!(job.is_none(), problems.iter().any(|p| p.severity == crate::problem::Severity::Error));
    Read { job, problems, files }
}

/// Reads a whole file and demands exactly one problem: its message, its help, the text it underlines.
#[track_caller]
pub(super) fn one(text: &str, message: &str, help: &str, underlined: &str) -> Problem {
    let read = read(text);
    let told: Vec<_> = read
        .problems
        .iter()
        .map(|p| (p.message.as_str(), p.help.as_deref().unwrap_or(""), read.underlined(p)))
        .collect();
    assert_eq!(told, [(message, help, underlined)], "in\n{text}");
    assert!(read.problems[0].span.is_some());
    read.problems[0].clone()
}

/// Like [`one`], for the part of a file behind its head.
#[track_caller]
pub(super) fn fault(text: &str, message: &str, help: &str, underlined: &str) -> Problem {
    one(&format!("{HEAD}{text}"), message, help, underlined)
}
