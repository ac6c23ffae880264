//! Writes what an inspection found, in the form that was asked for. A batch keeps nothing that is written.

use storystick_engine::calc::Library;
use storystick_engine::inspection::finding::{Report, Weight};
use storystick_engine::inspection::{Failure, Inspected};
use storystick_engine::source::Files;

use super::Sink;
use crate::args::{Common, Format, Inspect};
use crate::render::report::Look;
use crate::render::since::{self, Compared};
use crate::render::text::{self, Counts, Depth};
use crate::render::{json, junit, sarif, stream, working};
use crate::{Status, world};

/// One job of a run, as it is going to be written.
#[derive(Debug)]
pub(crate) enum Done {
    /// It was inspected.
    Inspected {
        /// Its part of the answer.
        text: String,
        /// How it ended.
        status: Status,
        /// What the last line counts.
        counts: Counts,
    },
    /// It was inspected, and its worksheets are asked for.
    Working(Box<Inspected>),
    /// It could not be read or used.
    Unread {
        /// Its part of the answer.
        text: String,
        /// For standard error.
        err: String,
    },
}

/// The form that was asked for. It is what each job is put into as soon as it has been inspected, by whoever inspected it.
#[derive(Debug)]
pub(crate) struct Form<'a> {
    args: &'a Inspect,
    look: Look,
    errors: Look,
    depth: Depth,
}

impl<'a> Form<'a> {
    pub(crate) fn new(common: &Common, args: &'a Inspect) -> Form<'a> {
        Form {
            args,
            look: super::look(common, world::stdout_is_terminal()),
            errors: super::look(common, world::stderr_is_terminal()),
            depth: Depth { each_rule: if args.each { usize::MAX } else { 3 }, met: args.all },
        }
    }

    fn of_worksheets(&self) -> bool {
        !self.args.working.is_empty()
    }

    /// Puts a job into its form.
    pub(crate) fn inspected(&self, inspected: Box<Inspected>, compared: Option<&Compared>) -> Done {
        if self.of_worksheets() {
            return Done::Working(inspected);
        }
        let report = &inspected.report;
        let text = match self.args.format {
            Format::Text => {
                let since = compared.map_or_else(String::new, |one| since::text(one, self.look.width));
                // An empty line between two jobs.
                text::whole(report, &inspected.words(), self.look, self.depth, &since) + "\n"
            }
            Format::Json => stream::member(&json::job(report, &inspected.words(), compared)),
            Format::Sarif => stream::member(&sarif::run(report, &inspected.words(), compared)),
            Format::Junit => junit::job(report, &inspected.words()),
            Format::Csv => String::new(),
        };
        Done::Inspected { text, status: status_of(report, self.args), counts: Counts::of(report) }
    }

    /// Puts a job file that could not be used into its form.
    pub(crate) fn unread(&self, file: &str, failure: &Failure) -> Done {
        let text = match self.args.format {
            _ if self.of_worksheets() => String::new(),
            Format::Json => stream::member(&json::unread(file, failure)),
            Format::Sarif => stream::member(&sarif::not_read(file, failure)),
            Format::Junit => junit::not_read(file, failure),
            Format::Text | Format::Csv => String::new(),
        };
        Done::Unread { text, err: super::draw(&failure.problems, &failure.files, self.errors) }
    }
}

/// Writes jobs as they come, in the order of their files; those that could not be used come last.
pub(crate) struct Output<'a, 's> {
    form: &'a Form<'a>,
    sink: &'s mut Sink<'s>,
    kept: Vec<Inspected>,
    unread: Vec<String>,
    all: Counts,
    written: usize,
    closed: bool,
}

impl<'a, 's> Output<'a, 's> {
    pub(crate) fn new(form: &'a Form<'a>, sink: &'s mut Sink<'s>) -> Output<'a, 's> {
        Output { form, sink, kept: Vec::new(), unread: Vec::new(), all: Counts::default(), written: 0, closed: false }
    }

    /// Returns whether nobody reads any more.
    pub(crate) fn closed(&self) -> bool {
        self.closed
    }

    fn write(&mut self, text: &str) {
        self.closed |= !(self.sink)(text, "");
    }

    /// Writes a member of the document, with what comes before it.
    fn member(&mut self, text: &str) {
        let first = self.written == 0;
        self.written += 1;
        let before = match self.form.args.format {
            Format::Json => if_first(first, json::head) + stream::before(first),
            Format::Sarif => if_first(first, sarif::head) + stream::before(first),
            Format::Junit => if_first(first, || junit::HEAD.to_owned()),
            Format::Text | Format::Csv => String::new(),
        };
        self.write(&(before + text));
    }

    /// Takes one job.
    pub(crate) fn take(&mut self, done: Done, library: &Library) -> Status {
        match done {
            Done::Inspected { text, status, counts } => {
                self.all.add(&counts);
                self.member(&text);
                status
            }
            Done::Working(inspected) => {
                if self.form.args.format == Format::Text {
                    for (sheet, files) in sheets(&inspected, self.form.args, library) {
                        self.write(&(working::text(&sheet, files, self.form.look) + "\n"));
                    }
                }
                self.kept.push(*inspected);
                Status::Clean
            }
            Done::Unread { text, err } => {
                (self.sink)("", &err);
                self.unread.push(text);
                Status::Fault
            }
        }
    }

    /// Writes what comes last.
    pub(crate) fn finish(mut self, library: &Library) {
        let unread = std::mem::take(&mut self.unread);
        let args = self.form.args;
        if self.form.of_worksheets() {
            let all: Vec<_> = self.kept.iter().flat_map(|one| sheets(one, args, library)).collect();
            let text = match args.format {
                Format::Json => working::json(&all),
                Format::Csv => working::csv(&all),
                Format::Text | Format::Sarif | Format::Junit => String::new(),
            };
            drop(all);
            self.write(&text);
            return;
        }
        match args.format {
            Format::Text => self.write(&text::closing(&self.all, unread.len(), self.form.look)),
            Format::Json => {
                let empty = self.written == 0;
                self.write(&(if_first(empty, json::head) + json::middle(empty).as_str()));
                for (at, one) in unread.iter().enumerate() {
                    self.write(&(stream::before(at == 0).to_owned() + one.as_str()));
                }
                self.write(&json::tail(unread.is_empty()));
            }
            Format::Sarif => {
                unread.iter().for_each(|one| self.member(one));
                let empty = self.written == 0;
                self.write(&(if_first(empty, sarif::head) + sarif::tail(empty).as_str()));
            }
            Format::Junit => {
                unread.iter().for_each(|one| self.member(one));
                let empty = self.written == 0;
                self.write(&(if_first(empty, || junit::HEAD.to_owned()) + junit::TAIL));
            }
            Format::Csv => {}
        }
    }
}

fn if_first(first: bool, head: impl Fn() -> String) -> String {
    if first { head() } else { String::new() }
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
