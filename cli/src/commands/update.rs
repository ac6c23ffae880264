//! `update`: brings job files up to the newest format, in place.

use storystick_engine::model::Schema;
use storystick_engine::world::World;

use super::job_files::job_files;
use crate::args::Update;
use crate::edit::update::{Note, ROWS, Updated, updated};
use crate::world::{self, Machine};
use crate::{Answer, Status};

/// Runs the command.
pub(crate) fn run(args: &Update) -> Answer {
    let paths = match job_files(&args.jobs) {
        Ok(paths) => paths,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let schema = Schema::dwelling();
    let mut answer = Answer::clean(String::new());
    let (mut open, mut at_fault) = (false, false);
    for path in paths {
        match one(&path, &schema, args.check) {
            Ok(done) => {
                open |= !done.left.is_empty() || (args.check && !done.changes.is_empty());
                answer.out.push_str(&told(&path, &done, args.check));
            }
            Err(message) => {
                at_fault = true;
                answer.err.push_str(&format!("{path}: {}\n", message.trim_end()));
            }
        }
    }
    answer.status = match (at_fault, open) {
        (true, _) => Status::Fault,
        (false, true) => Status::Corrections,
        (false, false) => Status::Clean,
    };
    answer
}

/// Updates one file; what is written is the old text or the new one, whole.
fn one(path: &str, schema: &Schema, check: bool) -> Result<Updated, String> {
    let text = Machine.read(path)?;
    let done = updated(&text, schema, ROWS)?;
    if !check && done.text != text {
        world::replace(path, &done.text)?;
    }
    Ok(done)
}

fn told(path: &str, done: &Updated, check: bool) -> String {
    let line = |note: &Note| format!("{path}:{}: {}\n", note.line, note.what);
    let mut out: String = done.changes.iter().map(line).collect();
    if done.changes.is_empty() {
        out.push_str(&format!("{path}: nothing to change\n"));
    } else {
        let count = done.changes.len();
        let plural = if count == 1 { "change" } else { "changes" };
        out.push_str(&format!("{path}: {count} {plural}{}\n", if check { " to make" } else { " made" }));
    }
    if !done.left.is_empty() {
        out.push_str("left for you to decide:\n");
        out.extend(done.left.iter().map(line));
    }
    out
}
