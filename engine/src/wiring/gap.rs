//! What keeps the make-up from being derived: no conductor for a function, no cable to a box.

use crate::model::{ItemIndex, Job};
use crate::problem::Problem;
use crate::source::Span;

/// Something that the cables and devices of a circuit can't make, and what would do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The circuit.
    pub circuit: ItemIndex,
    /// The cable, box or device to look at.
    pub item: ItemIndex,
    /// Its place in the job file.
    pub span: Span,
    /// What is missing.
    pub message: String,
    /// What would do.
    pub help: String,
}

impl Gap {
    pub(super) fn new(job: &Job, circuit: ItemIndex, item: ItemIndex, message: String) -> Gap {
        Gap { circuit, item, span: job.item(item).header, message, help: String::new() }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Gap {
        self.help = help.into();
        self
    }

    /// Returns it as a notice on the job file.
    pub fn to_problem(&self) -> Problem {
        Problem::new(self.span, self.message.clone()).help(self.help.clone()).notice()
    }
}
