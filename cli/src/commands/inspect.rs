//! `inspect`: job files against the code in force at their place.

use rayon::prelude::*;
use storystick_engine::inspection::compare::compare;
use storystick_engine::inspection::finding::{Outcome, Report, Weight};
use storystick_engine::inspection::{Failure, Inspected, Inspector, JobText, Options, Prepared};
use storystick_engine::model::Stage;
use storystick_engine::world::World;

use super::Sink;
use super::earlier::{self, EarlierResult};
use super::job_files::{job_files, job_text};
use super::output::{Done, Form, Output};
use crate::args::{Common, Format, Inspect};
use crate::render::since::Compared;
use crate::world::Machine;
use crate::{Status, world};

/// Jobs of a thread that are read, prepared and inspected together: enough to keep it busy, few enough to keep memory flat.
const A_THREAD: usize = 8;

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Status {
    match inspect_all(common, args, sink) {
        Ok(status) => status,
        Err(message) => {
            sink("", &crate::Answer::fault(message).err);
            Status::Fault
        }
    }
}

fn inspect_all(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Result<Status, String> {
    if args.format == Format::Csv && args.working.is_empty() {
        return Err(String::from(
            "`--format csv` is for `--working` alone; findings come as text, json, sarif or junit",
        ));
    }
    if !args.working.is_empty() && matches!(args.format, Format::Sarif | Format::Junit) {
        return Err(String::from("worksheets come as text, json or csv"));
    }
    let paths = job_files(&args.jobs)?;
    let earlier = args.since.as_deref().map(earlier::read).transpose()?;
    let mut inspector = Inspector::new(super::rulesets(common)?);
    let form = Form::new(common, args);
    let run = Run { options: options(args), earlier, met: keeps_met(args), form: &form };
    let mut out = Output::new(&form, sink);
    let mut status = Status::Clean;
    if let ([path], false) = (&paths[..], args.threads == Some(1)) {
        status = status.max(out.take(run.alone(&mut inspector, path), inspector.library()));
    } else {
        status = batch(&run, &paths, args.threads, &mut inspector, &mut out)?;
    }
    if !out.closed() {
        out.finish(inspector.library());
    }
    // The process is about to end: the system takes its memory back faster than we could.
    if !args.watch {
        std::mem::forget(inspector);
    }
    Ok(status)
}

/// Inspects jobs a handful at a time, and writes each handful in the order of its files.
fn batch(
    run: &Run<'_>,
    paths: &[String],
    threads: Option<usize>,
    inspector: &mut Inspector,
    out: &mut Output<'_, '_>,
) -> Result<Status, String> {
    let mut status = Status::Clean;
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).build();
    let pool = pool.map_err(|error| format!("no threads can be started: {error}"))?;
    let together = A_THREAD * pool.current_num_threads();
    for (at, handful) in paths.chunks(together).enumerate() {
        progress(at * together, paths.len());
        let prepared: Vec<Result<Prepared, Done>> = handful.iter().map(|path| run.prepare(inspector, path)).collect();
        let shared = &*inspector;
        let work = |one: Result<Prepared, Done>| match one {
            Ok(prepared) => run.inspect(shared, &prepared),
            Err(fault) => fault,
        };
        let done: Vec<Done> = pool.install(|| prepared.into_par_iter().with_max_len(1).map(work).collect());
        for one in done {
            status = status.max(out.take(one, inspector.library()));
        }
        if out.closed() {
            return Ok(status);
        }
    }
    progress(paths.len(), paths.len());
    Ok(status)
}

/// Whether the report is to hold the met checks. JUnit counts every case.
fn keeps_met(args: &Inspect) -> bool {
    args.all || args.format == Format::Junit
}

fn options(args: &Inspect) -> Options {
    Options {
        stage: args.stage.as_deref().and_then(Stage::of),
        at: args.at.clone(),
        permit_date: args.permit_date,
        every_date: false,
        on: args.on.unwrap_or_else(|| Machine.today()),
        rules: args.rule.clone(),
        items: args.item.iter().chain(&args.working).cloned().collect(),
        lightest: args.weight.as_deref().and_then(Weight::of).unwrap_or(Weight::Note),
        // A comparison has to know what is met by now.
        met: keeps_met(args) || args.since.is_some(),
        // JUnit has a case for each item.
        both_ways: args.format == Format::Junit,
    }
}

/// What holds for every job of a run.
struct Run<'a> {
    options: Options,
    earlier: Option<EarlierResult>,
    met: bool,
    form: &'a Form<'a>,
}

impl Run<'_> {
    fn read(&self, path: &str) -> Result<JobText, Done> {
        job_text(path).map_err(|failure| self.form.unread(path, &failure))
    }

    fn prepare(&self, inspector: &mut Inspector, path: &str) -> Result<Prepared, Done> {
        let job = self.read(path)?;
        inspector.prepare(job, &self.options).map_err(|failure| self.form.unread(path, &failure))
    }

    fn inspect(&self, inspector: &Inspector, prepared: &Prepared) -> Done {
        self.done(prepared.name(), inspector.inspect(prepared, &self.options))
    }

    /// Inspects the only job of a run.
    fn alone(&self, inspector: &mut Inspector, path: &str) -> Done {
        match self.read(path) {
            Ok(job) => self.done(path, inspector.inspect_alone(job, &self.options, &world::Threads)),
            Err(unread) => unread,
        }
    }

    fn done(&self, path: &str, inspected: Result<Inspected, Failure>) -> Done {
        let mut inspected = match inspected {
            Ok(inspected) => inspected,
            Err(failure) => return self.form.unread(path, &failure),
        };
        let compared = self.earlier.as_ref().map(|earlier| self.compare(earlier, &inspected));
        if !self.met {
            inspected.report.findings.retain(|finding| finding.outcome != Outcome::Met);
        }
        self.form.inspected(Box::new(inspected), compared.as_ref())
    }

    fn compare(&self, earlier: &EarlierResult, inspected: &Inspected) -> Compared {
        let report: &Report = &inspected.report;
        let findings = earlier.of(&report.file, &report.job);
        let comparison =
            findings.map(|findings| compare(findings, report, &inspected.job, &inspected.code, &self.options));
        Compared { file: earlier.file.clone(), comparison }
    }
}

/// Jobs of a batch that is long enough to be told how far it is.
const LONG: usize = 32;

fn progress(done: usize, total: usize) {
    use std::io::Write;
    // A dwelling takes milliseconds: only a long batch on a terminal is worth a line.
    if total > LONG && world::stderr_is_terminal() {
        let end = if done == total { "\n" } else { "" };
        let _ = write!(std::io::stderr().lock(), "\rinspected {done} of {total} jobs{end}");
    }
}
