//! `inspect`: job files against the code in force at their place.

use std::sync::Arc;

use rayon::prelude::*;
use storystick_engine::inspection::finding::{Report, Weight};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options, Prepared};
use storystick_engine::model::Stage;
use storystick_engine::world::World;

use super::Sink;
use crate::args::{Common, Format, Inspect};
use crate::render::report::Look;
use crate::render::text::{self, Depth};
use crate::render::{json, junit, sarif};
use crate::world::Machine;
use crate::{Status, world};

/// Jobs that are read, prepared and inspected together: enough to keep the cores busy, few enough to keep memory flat.
const BATCH: usize = 64;

/// One job after inspection: the reports to write, or what is wrong with the input.
enum Done {
    Report(Box<Inspected>),
    Fault(String),
}

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Inspect, sink: &mut Sink<'_>) -> Status {
    let look = super::look(common, world::stdout_is_terminal());
    let errors = super::look(common, world::stderr_is_terminal());
    let mut status = Status::Clean;
    let paths = match job_files(&args.jobs) {
        Ok(paths) => paths,
        Err(message) => {
            sink("", &format!("{message}\n"));
            return Status::Fault;
        }
    };
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => {
            sink("", &format!("{message}\n"));
            return Status::Fault;
        }
    };
    let options = options(args);
    let mut inspector = Inspector::new(texts);
    let pool = match args.threads {
        Some(threads) => rayon::ThreadPoolBuilder::new().num_threads(threads.max(1)).build().ok(),
        None => None,
    };
    let mut out =
        Output::new(args.format, look, Depth { each_rule: if args.each { usize::MAX } else { 3 }, met: args.all });
    let total = paths.len();
    for (at, batch) in paths.chunks(BATCH).enumerate() {
        progress(at * BATCH, total);
        let prepared: Vec<Result<Prepared, Done>> =
            batch.iter().map(|path| prepare(&mut inspector, path, &options, errors)).collect();
        let work = |one: Result<Prepared, Done>| match one {
            Ok(prepared) => inspect(&inspector, &prepared, &options, errors),
            Err(fault) => fault,
        };
        let done: Vec<Done> = if batch.len() == 1 || args.threads == Some(1) {
            prepared.into_iter().map(work).collect()
        } else if let Some(pool) = &pool {
            pool.install(|| prepared.into_par_iter().map(work).collect())
        } else {
            prepared.into_par_iter().map(work).collect()
        };
        for one in done {
            status = status.max(out.take(one, args, sink));
        }
        if out.closed {
            return status;
        }
    }
    progress(total, total);
    out.finish(sink);
    status
}

fn options(args: &Inspect) -> Options {
    Options {
        stage: args.stage.as_deref().and_then(Stage::of),
        at: args.at.clone(),
        permit_date: args.permit_date,
        on: args.on.unwrap_or_else(|| Machine.today()),
        rules: args.rule.clone(),
        items: args.item.clone(),
        lightest: args.weight.as_deref().and_then(Weight::of).unwrap_or(Weight::Note),
        met: args.all || args.format == Format::Junit,
    }
}

/// Returns the job files among files and folders. In a folder, a job file is a TOML file that says its `format`.
fn job_files(given: &[String]) -> Result<Vec<String>, String> {
    let world = Machine;
    let mut paths = Vec::new();
    for path in given {
        if !std::path::Path::new(path).is_dir() {
            paths.push(path.clone());
            continue;
        }
        let before = paths.len();
        for file in world.walk(path)? {
            if file.ends_with(".toml") && world.read(&file).is_ok_and(|text| states_format(&text)) {
                paths.push(file);
            }
        }
        if paths.len() == before {
            return Err(format!("`{path}` holds no job file: a job file is a TOML file that begins with `format = 1`"));
        }
    }
    Ok(paths)
}

/// Returns whether a text states a `format` before its first table, as every job file does.
fn states_format(text: &str) -> bool {
    let top = text.lines().map(str::trim_start).take_while(|line| !line.starts_with('['));
    top.map(|line| line.strip_prefix("format")).any(|rest| rest.is_some_and(|rest| rest.trim_start().starts_with('=')))
}

fn prepare(inspector: &mut Inspector, path: &str, options: &Options, look: Look) -> Result<Prepared, Done> {
    let text = Machine.read(path).map_err(|message| Done::Fault(format!("{message}\n")))?;
    let job = JobText { name: path.to_owned(), text: Arc::from(text) };
    inspector.prepare(job, options).map_err(|failure| Done::Fault(super::draw(&failure.problems, &failure.files, look)))
}

fn inspect(inspector: &Inspector, prepared: &Prepared, options: &Options, look: Look) -> Done {
    match inspector.inspect(prepared, options) {
        Ok(inspected) => Done::Report(Box::new(inspected)),
        Err(failure) => Done::Fault(super::draw(&failure.problems, &failure.files, look)),
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

/// Writes reports as they come, in the order of the files.
struct Output {
    format: Format,
    look: Look,
    depth: Depth,
    kept: Vec<Inspected>,
    jobs: Vec<serde_json::Value>,
    closed: bool,
}

impl Output {
    fn new(format: Format, look: Look, depth: Depth) -> Output {
        Output { format, look, depth, kept: Vec::new(), jobs: Vec::new(), closed: false }
    }

    fn take(&mut self, done: Done, args: &Inspect, sink: &mut Sink<'_>) -> Status {
        let inspected = match done {
            Done::Report(inspected) => inspected,
            Done::Fault(message) => {
                sink("", &message);
                return Status::Fault;
            }
        };
        let status = status_of(&inspected.report, args);
        match self.format {
            Format::Text => {
                let text = text::whole(&inspected.report, &inspected.job.files, self.look, self.depth);
                self.closed |= !sink(&text, "");
            }
            Format::Json => self.jobs.push(json::job(&inspected.report, &inspected.job.files)),
            Format::Sarif | Format::Junit => self.kept.push(*inspected),
        }
        status
    }

    fn finish(&mut self, sink: &mut Sink<'_>) {
        let kept: Vec<(&Report, &storystick_engine::source::Files)> =
            self.kept.iter().map(|one| (&one.report, &one.job.files)).collect();
        let text = match self.format {
            Format::Text => return,
            Format::Json => json::whole(std::mem::take(&mut self.jobs)),
            Format::Sarif => sarif::whole(&kept),
            Format::Junit => junit::whole(&kept),
        };
        self.closed |= !sink(&text, "");
    }
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
