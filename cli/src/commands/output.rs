//! Writes what an inspection found, in the form that was asked for.

use storystick_engine::calc::Library;
use storystick_engine::inspection::finding::{Report, Weight};
use storystick_engine::inspection::{Failure, Inspected};
use storystick_engine::source::Files;

use super::Sink;
use crate::args::{Common, Format, Inspect};
use crate::render::report::Look;
use crate::render::since::{self, Compared};
use crate::render::text::{self, Counts, Depth};
use crate::render::{json, junit, sarif, working};
use crate::{Status, world};

/// A job file that could not be read or used, and why.
#[derive(Debug)]
pub(crate) struct Unread {
    pub(crate) file: String,
    pub(crate) failure: Failure,
}

/// One job of a run.
#[derive(Debug)]
pub(crate) enum Done {
    /// It was inspected, and compared with an earlier result where one was given.
    Inspected(Box<Inspected>, Option<Compared>),
    /// It was not.
    Unread(Unread),
}

/// Writes jobs in the order of their files: text as it comes, the other forms as one document at the end.
pub(crate) struct Output<'a> {
    args: &'a Inspect,
    look: Look,
    errors: Look,
    depth: Depth,
    kept: Vec<(Box<Inspected>, Option<Compared>)>,
    jobs: Vec<serde_json::Value>,
    unread: Vec<Unread>,
    all: Counts,
    closed: bool,
}

impl<'a> Output<'a> {
    pub(crate) fn new(common: &Common, args: &'a Inspect) -> Output<'a> {
        Output {
            args,
            look: super::look(common, world::stdout_is_terminal()),
            errors: super::look(common, world::stderr_is_terminal()),
            depth: Depth { each_rule: if args.each { usize::MAX } else { 3 }, met: args.all },
            kept: Vec::new(),
            jobs: Vec::new(),
            unread: Vec::new(),
            all: Counts::default(),
            closed: false,
        }
    }

    /// Returns whether nobody reads any more.
    pub(crate) fn closed(&self) -> bool {
        self.closed
    }

    /// Takes one job.
    pub(crate) fn take(&mut self, done: Done, library: &Library, sink: &mut Sink<'_>) -> Status {
        let (inspected, compared) = match done {
            Done::Inspected(inspected, compared) => (inspected, compared),
            Done::Unread(unread) => {
                sink("", &super::draw(&unread.failure.problems, &unread.failure.files, self.errors));
                self.unread.push(unread);
                return Status::Fault;
            }
        };
        let (report, files) = (&inspected.report, &inspected.job.files);
        if !self.args.working.is_empty() {
            return self.working(inspected, library, sink);
        }
        let status = status_of(report, self.args);
        self.all.add(&Counts::of(report));
        match self.args.format {
            Format::Text => {
                let since = compared.as_ref().map_or_else(String::new, |one| since::text(one, self.look.width));
                let text = text::whole(report, &inspected.job, self.look, self.depth, &since);
                // An empty line between two jobs.
                self.closed |= !sink(&(text + "\n"), "");
            }
            Format::Json => self.jobs.push(json::job(report, files, compared.as_ref())),
            Format::Sarif | Format::Junit | Format::Csv => self.kept.push((inspected, compared)),
        }
        status
    }

    /// Keeps a job whose worksheets are asked for, or prints them.
    fn working(&mut self, inspected: Box<Inspected>, library: &Library, sink: &mut Sink<'_>) -> Status {
        if self.args.format == Format::Text {
            for (sheet, files) in sheets(&inspected, self.args, library) {
                self.closed |= !sink(&(working::text(&sheet, files, self.look) + "\n"), "");
            }
        }
        self.kept.push((inspected, None));
        Status::Clean
    }

    /// Writes what comes as one document.
    pub(crate) fn finish(mut self, library: &Library, sink: &mut Sink<'_>) {
        let unread: Vec<(&str, &Failure)> = self.unread.iter().map(|one| (one.file.as_str(), &one.failure)).collect();
        let text = if self.args.working.is_empty() {
            match self.args.format {
                Format::Text => text::closing(&self.all, unread.len(), self.look),
                Format::Json => json::whole(std::mem::take(&mut self.jobs), &unread),
                Format::Sarif => sarif::whole(&self.reports(), &unread),
                Format::Junit => junit::whole(&self.reports(), &unread),
                Format::Csv => String::new(),
            }
        } else {
            let all: Vec<_> = self.kept.iter().flat_map(|(one, _)| sheets(one, self.args, library)).collect();
            match self.args.format {
                Format::Json => working::json(&all),
                Format::Csv => working::csv(&all),
                Format::Text | Format::Sarif | Format::Junit => String::new(),
            }
        };
        sink(&text, "");
    }

    fn reports(&self) -> Vec<(&Report, &Files, Option<&Compared>)> {
        self.kept.iter().map(|(one, compared)| (&one.report, &one.job.files, compared.as_ref())).collect()
    }
}

/// Returns the worksheets that are asked for. That the items exist has been seen to.
fn sheets<'i>(inspected: &'i Inspected, args: &Inspect, library: &Library) -> Vec<(working::Working, &'i Files)> {
    args.working
        .iter()
        .filter_map(|id| inspected.job.find(id))
        .map(|item| (working::of(inspected, library, item), &inspected.job.files))
        .collect()
}

fn status_of(report: &Report, args: &Inspect) -> Status {
    let tally = &report.tally;
    let failed = match Weight::of(&args.fail_on) {
        Some(Weight::Note) => tally.correction + tally.caution + tally.note,
        Some(Weight::Caution) => tally.correction + tally.caution,
        _ => tally.correction,
    };
    if !report.faults.is_empty() {
        Status::Fault
    } else if failed > 0 {
        Status::Corrections
    } else {
        Status::Clean
    }
}
