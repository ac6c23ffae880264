//! `inspect`: job files against the code in force at their place.

use std::sync::Arc;

use rayon::prelude::*;
use storystick_engine::inspection::compare::compare;
use storystick_engine::inspection::finding::{Outcome, Report, Weight};
use storystick_engine::inspection::{Failure, Inspected, Inspector, JobText, Options, Prepared};
use storystick_engine::model::Stage;
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};
use storystick_engine::world::World;

use super::Sink;
use super::earlier::{self, EarlierResult};
use super::job_files::job_files;
use super::output::{Done, Output, Unread};
use crate::args::{Common, Format, Inspect};
use crate::render::since::Compared;
use crate::world::Machine;
use crate::{Status, world};

/// Jobs that are read, prepared and inspected together: enough to keep the cores busy, few enough to keep memory flat.
const BATCH: usize = 64;

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Status {
    match inspect_all(common, args, sink) {
        Ok(status) => status,
        Err(message) => {
            sink("", &format!("{message}\n"));
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
    let run = Run { options: options(args), earlier, met: keeps_met(args) };
    let pool = match args.threads {
        Some(threads) => rayon::ThreadPoolBuilder::new().num_threads(threads.max(1)).build().ok(),
        None => None,
    };
    let mut status = Status::Clean;
    let mut out = Output::new(common, args);
    let total = paths.len();
    for (at, batch) in paths.chunks(BATCH).enumerate() {
        progress(at * BATCH, total);
        let prepared: Vec<Result<Prepared, Unread>> =
            batch.iter().map(|path| run.prepare(&mut inspector, path)).collect();
        let work = |one: Result<Prepared, Unread>| match one {
            Ok(prepared) => run.inspect(&inspector, &prepared),
            Err(unread) => Done::Unread(unread),
        };
        let done: Vec<Done> = if batch.len() == 1 || args.threads == Some(1) {
            prepared.into_iter().map(work).collect()
        } else if let Some(pool) = &pool {
            pool.install(|| prepared.into_par_iter().map(work).collect())
        } else {
            prepared.into_par_iter().map(work).collect()
        };
        for one in done {
            status = status.max(out.take(one, inspector.library(), sink));
        }
        if out.closed() {
            return Ok(status);
        }
    }
    progress(total, total);
    out.finish(inspector.library(), sink);
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
    }
}

/// What holds for every job of a run.
struct Run {
    options: Options,
    earlier: Option<EarlierResult>,
    met: bool,
}

impl Run {
    fn prepare(&self, inspector: &mut Inspector, path: &str) -> Result<Prepared, Unread> {
        let unread = |failure: Failure| Unread { file: path.to_owned(), failure };
        let text = Machine.read(path).map_err(|message| {
            unread(Failure { problems: vec![Problem::new(Span::NONE, message)], files: Files::new() })
        })?;
        let job = JobText { name: path.to_owned(), text: Arc::from(text) };
        inspector.prepare(job, &self.options).map_err(unread)
    }

    fn inspect(&self, inspector: &Inspector, prepared: &Prepared) -> Done {
        let mut inspected = match inspector.inspect(prepared, &self.options) {
            Ok(inspected) => inspected,
            Err(failure) => return Done::Unread(Unread { file: prepared.name().to_owned(), failure }),
        };
        let compared = self.earlier.as_ref().map(|earlier| self.compare(earlier, &inspected));
        if !self.met {
            inspected.report.findings.retain(|finding| finding.outcome != Outcome::Met);
        }
        Done::Inspected(Box::new(inspected), compared)
    }

    fn compare(&self, earlier: &EarlierResult, inspected: &Inspected) -> Compared {
        let report: &Report = &inspected.report;
        let findings = earlier.of(&report.file, &report.job);
        let comparison =
            findings.map(|findings| compare(findings, report, &inspected.job, &inspected.code, &self.options));
        Compared { file: earlier.file.clone(), comparison }
    }
}

fn progress(done: usize, total: usize) {
    use std::io::Write;
    // A dwelling takes milliseconds: only a long batch on a terminal is worth a line.
    if total > BATCH && world::stderr_is_terminal() {
        let end = if done == total { "\n" } else { "" };
        let _ = write!(std::io::stderr().lock(), "\rinspected {done} of {total} jobs{end}");
    }
}
