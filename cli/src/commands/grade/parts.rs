//! Marks for a take-off: the parts that a trainee's job needs, held against those of the reference, kind by kind.

use std::collections::BTreeMap;

use storystick_engine::inspection::Inspected;
use storystick_engine::sheet::{Amount, Desk, take_off};

use super::Measure;
use super::mark::Part;
use crate::render::grades::Mark;
use crate::teach::papers::Competency;

/// Returns the amounts of the groups asked for, by group and part.
fn amounts(measure: &Measure, competency: &Competency, job: &Inspected) -> BTreeMap<(&'static str, String), Amount> {
    let desk = Desk::new(&job.job, &job.code.book, &job.report, measure.inspector.library());
    let lines = take_off(&desk).lines.into_iter();
    let wanted = lines.filter(|line| competency.takeoff.iter().any(|group| group == line.group.heading()));
    wanted.map(|line| ((line.group.heading(), line.what), line.net)).collect()
}

/// Counts agree exactly, lengths within the tolerance of the competency. A part that the reference does not need is a false call.
pub(super) fn counted(
    measure: &Measure,
    competency: &Competency,
    job: &Inspected,
    reference: &Inspected,
    mark: &mut Mark,
) -> Part {
    let mut part = Part::default();
    if competency.takeoff.is_empty() {
        return part;
    }
    let percent = competency.tolerance.unwrap_or(measure.rubric.tolerance);
    let units = Desk::new(&reference.job, &reference.code.book, &reference.report, measure.inspector.library()).units;
    let (said, right) = (amounts(measure, competency, job), amounts(measure, competency, reference));
    for ((group, what), amount) in &right {
        part.of += 1.0;
        let given = said.get(&(*group, what.clone()));
        let is_right = match (amount, given) {
            (Amount::Count(right), Some(Amount::Count(given))) => right == given,
            (Amount::Length(right), Some(Amount::Length(given))) => {
                let (right, given) = (right.amount() as f64, given.amount() as f64);
                (right - given).abs() <= right.abs() * percent / 100.0
            }
            _ => false,
        };
        let shown = amount.print(units);
        let given = given.map_or_else(|| String::from("none"), |given| given.print(units));
        let line = format!("{group}: {what}: {given}, reference {shown}");
        if is_right {
            part.got += 1.0;
            mark.found.push(line);
        } else {
            mark.missed.push(line);
        }
    }
    for ((group, what), amount) in said.iter().filter(|(key, _)| !right.contains_key(*key)) {
        part.got -= measure.rubric.false_call;
        mark.false_calls.push(format!("{group}: {what}: {}, the reference has none", amount.print(units)));
    }
    part
}
