//! `propose`: fills in what a job lacks.

mod rounds;
mod tell;

use storystick_engine::inspection::Inspector;
use storystick_engine::layout::{Only, Part};

use crate::args::{Common, Propose};
use crate::world;
use crate::{Answer, Status};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Propose) -> Answer {
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let text = match super::read_job(&args.job, super::look(common, world::stderr_is_terminal())) {
        Ok(job) => job.text,
        Err(message) => return Answer::fault(message),
    };
    let only = Only(args.only.iter().filter_map(|word| Part::of(word)).collect());
    let mut inspector = Inspector::new(texts);
    let outcome = match rounds::proposed(&mut inspector, &args.job, &text, &only) {
        Ok(outcome) => outcome,
        Err(failure) => {
            let look = super::look(common, world::stderr_is_terminal());
            return Answer::fault(super::draw(&failure.problems, &failure.files, look));
        }
    };
    let columns = world::columns();
    let to = args.out.as_deref().unwrap_or(&args.job);
    let mut answer = Answer::clean(String::new());
    if args.dry_run {
        answer.out = similar::TextDiff::from_lines(&*text, outcome.text.as_str())
            .unified_diff()
            .header(&args.job, to)
            .to_string();
        answer.err = tell::left(&outcome, to, columns);
    } else {
        if (outcome.text != *text || args.out.is_some())
            && let Err(message) = world::replace(to, &outcome.text)
        {
            return Answer::fault(format!("{message}\n"));
        }
        answer.out = tell::summary(&outcome, to, columns);
    }
    if tell::remaining(&outcome).next().is_some() {
        answer.status = Status::Corrections;
    }
    answer
}
