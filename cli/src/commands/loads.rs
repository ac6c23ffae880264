//! `loads`: the calculated load of dwellings with its worksheet.

use storystick_engine::inspection::{Failure, Inspected, Inspector, Options};
use storystick_engine::source::Files;
use storystick_engine::world::World;

use super::job_files::{job_files, job_text};
use crate::args::{Common, Loads, Sheets};
use crate::render::working::{self, Working};
use crate::world::Machine;
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Loads) -> Answer {
    let errors = super::look(common, world::stderr_is_terminal());
    let (paths, texts) = match (job_files(&args.jobs), super::rulesets(common)) {
        (Ok(paths), Ok(texts)) => (paths, texts),
        (Err(message), _) | (_, Err(message)) => return Answer::fault(format!("{message}\n")),
    };
    let mut inspector = Inspector::new(texts);
    let mut options = Options::on(Machine.today());
    options.at.clone_from(&args.at);
    options.permit_date = args.permit_date;
    let mut answer = Answer::clean(String::new());
    let mut done: Vec<Inspected> = Vec::new();
    for path in paths {
        match load(&mut inspector, &path, &options) {
            Ok(inspected) => done.push(inspected),
            Err(failure) => answer.err.push_str(&super::draw(&failure.problems, &failure.files, errors)),
        }
    }
    if !answer.err.is_empty() {
        answer.status = Status::Fault;
    }
    let sheets: Vec<(Working, &Files)> = done.iter().map(|one| (working::loads(one), &one.job.files)).collect();
    answer.out = match args.format {
        Sheets::Text => {
            let look = super::look(common, world::stdout_is_terminal());
            sheets.iter().map(|(sheet, files)| working::text(sheet, files, look) + "\n").collect()
        }
        Sheets::Json => working::json(&sheets),
        Sheets::Csv => working::csv(&sheets),
    };
    answer
}

fn load(inspector: &mut Inspector, path: &str, options: &Options) -> Result<Inspected, Failure> {
    let prepared = inspector.prepare(job_text(path)?, options)?;
    inspector.inspect(&prepared, options)
}
