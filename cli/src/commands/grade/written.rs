//! Marks for what a trainee wrote: worksheets and answers to questions, with part marks line by line.

use super::Measure;
use super::close::{answers, close};
use super::mark::{Part, Trainee};
use crate::render::grades::Mark;
use crate::render::working;
use crate::teach::papers::{Answers, Competency, Key, Line, Worked};

/// Worksheets: a mark for every line whose total is there, and one for the figure.
pub(super) fn figures(measure: &Measure, competency: &Competency, trainee: &Trainee<'_>, mark: &mut Mark) -> Part {
    let given: &[Worked] = trainee.answers.map_or(&[], |answers| &answers.worked);
    let wanted = |one: &&Worked| competency.figures.contains(&one.figure);
    let asked: Vec<Worked> = match &measure.key {
        // Nothing handed in at all shows nothing; a form handed in shows what is missing in it.
        Some(_) if trainee.answers.is_none() => Vec::new(),
        Some(key) => key.asked.iter().filter(wanted).cloned().collect(),
        None => given.iter().filter(wanted).filter_map(|one| worked_out(measure, trainee, one, mark)).collect(),
    };
    let mut part = Part::default();
    for right in &asked {
        let said = given.iter().find(|one| one.item == right.item && one.figure == right.figure);
        part.of += 1.0 + right.lines.len() as f64;
        part.got += worked(measure.rubric.tolerance, right, said, mark);
    }
    part
}

/// Works out the figure that a trainee worked out, in the trainee's own job or the reference.
fn worked_out(measure: &Measure, trainee: &Trainee<'_>, one: &Worked, mark: &mut Mark) -> Option<Worked> {
    let field = one.figure.split_once('.')?.1;
    let jobs = [trainee.job, measure.reference.as_ref()];
    let found = jobs.into_iter().flatten().find_map(|job| {
        let item = job.job.find(&one.item)?;
        working::worked_out(job, measure.inspector.library(), item, field, &one.figure)
    });
    if found.is_none() {
        mark.false_calls.push(format!("{} of {}: there is nothing to work out", one.figure, one.item));
    }
    found
}

fn worked(tolerance: f64, right: &Worked, said: Option<&Worked>, mark: &mut Mark) -> f64 {
    let place = format!("{} of {}", right.figure, right.item);
    let Some(said) = said else {
        mark.missed.push(format!("{place}: not handed in, {} is right", right.value));
        return 0.0;
    };
    let mut got = lines(tolerance, &place, &right.lines, &said.lines, false, mark);
    if close(&right.value, &said.value, tolerance) {
        got += 1.0;
        mark.found.push(format!("{place} = {}", right.value));
    } else {
        let said = if said.value.trim().is_empty() { "nothing" } else { said.value.as_str() };
        mark.missed.push(format!("{place}: {said} given, {} is right", right.value));
    }
    got
}

/// Grades the lines of a working: one for each whose total is there, under its name where the form has `listed` it. So many more lines
/// are read as the right working has, and two: a heap of numbers is no working.
fn lines(tolerance: f64, place: &str, right: &[Line], said: &[Line], listed: bool, mark: &mut Mark) -> f64 {
    let mut left: Vec<&Line> = said.iter().take(2 * right.len() + 2).collect();
    let mut got = 0.0;
    for line in right {
        let cites = if line.cites.is_empty() { String::new() } else { format!(" ({})", line.cites) };
        let fits = |given: &&Line| {
            (!listed || given.what.trim().eq_ignore_ascii_case(&line.what))
                && close(&line.total, &given.total, tolerance)
        };
        match left.iter().position(fits) {
            Some(at) => {
                left.remove(at);
                got += 1.0;
                mark.working.push(format!("{place}: {}, {}{cites}: right", line.what, line.total));
            }
            None => mark.working.push(format!("{place}: {}, {}{cites}: MISSING OR WRONG", line.what, line.total)),
        }
    }
    for given in left.into_iter().filter(|given| !given.total.trim().is_empty()) {
        let what = if listed { format!("{}, ", given.what) } else { String::new() };
        mark.working.push(format!("{place}: {what}{} stands in no line of the working", given.total));
    }
    got
}

/// Questions of the key that belong to the competency.
pub(super) fn questions(
    measure: &Measure,
    competency: &Competency,
    key: &Key,
    given: Option<&Answers>,
    mark: &mut Mark,
) -> Part {
    let Some(given) = given else { return Part::default() };
    let mut part = Part::default();
    let tolerance = competency.tolerance.unwrap_or(measure.rubric.tolerance);
    for one in key.question.iter().filter(|one| one.competency == competency.id) {
        part.of += 1.0 + one.lines.len() as f64;
        let reply = given.reply.iter().find(|reply| reply.question == one.id);
        let said = reply.map_or("", |reply| reply.value.trim());
        part.got += lines(tolerance, &one.id, &one.lines, reply.map_or(&[], |reply| &reply.lines), one.listed, mark);
        // Where there is a choice, half a name is no answer.
        let right = match one.choices.is_empty() {
            true => answers(&one.answer, said, tolerance),
            false => one.answer.trim().eq_ignore_ascii_case(said),
        };
        if right {
            part.got += 1.0;
            mark.found.push(format!("{}: {}", one.id, one.answer));
        } else {
            let said = if said.is_empty() { "nothing" } else { said };
            let why = if one.why.is_empty() { String::new() } else { format!(": {}", one.why) };
            mark.missed.push(format!("{}: {} {said} given, {} is right{why}", one.id, one.asks, one.answer));
        }
    }
    part
}
