//! Marks for a fault found with a meter: its kind, its box, a conductor of it, and how few readings it took.

use super::Measure;
use super::mark::{Part, Trainee};
use crate::render::grades::Mark;
use crate::teach::papers::{Key, Named, Planned};
use crate::teach::readings::Log;

/// How many of kind, box and conductor are right.
fn right(planned: &Planned, named: &Named) -> [bool; 3] {
    let same = |right: &str, said: &str| !said.trim().is_empty() && right.eq_ignore_ascii_case(said.trim());
    [
        same(&planned.kind, &named.kind),
        same(&planned.place, &named.place),
        planned.conductors.iter().any(|conductor| same(conductor, &named.conductor)),
    ]
}

fn count(right: [bool; 3]) -> usize {
    right.into_iter().filter(|right| *right).count()
}

/// Grades the faults that a trainee names. Readings are graded once the fault is found: all of the mark up to the number that a search
/// by halves takes, less in proportion beyond.
pub(super) fn found(measure: &Measure, key: &Key, trainee: &Trainee<'_>, mark: &mut Mark) -> Part {
    let mut part = Part::default();
    if trainee.answers.is_none() && trainee.log.is_none() {
        return part;
    }
    let named: Vec<&Named> = trainee.answers.iter().flat_map(|answers| &answers.fault).collect();
    let written = |named: &&&Named| !(named.kind.trim().is_empty() && named.place.trim().is_empty());
    let mut left: Vec<&Named> = named.iter().filter(written).copied().collect();
    for planned in &key.fault {
        part.of += 4.0;
        let best = (0..left.len()).max_by_key(|&at| left.get(at).map_or(0, |named| count(right(planned, named))));
        let said = best.map(|at| left.remove(at));
        let said_right = said.map_or([false; 3], |named| right(planned, named));
        part.got += count(said_right) as f64;
        let given =
            |text: Option<&str>| text.map(str::trim).filter(|text| !text.is_empty()).unwrap_or("nothing").to_owned();
        let all = [
            ("kind", planned.kind.clone(), given(said.map(|named| named.kind.as_str()))),
            ("box", planned.place.clone(), given(said.map(|named| named.place.as_str()))),
            ("conductor", planned.conductors.join(" or "), given(said.map(|named| named.conductor.as_str()))),
        ];
        for (right, (what, wanted, said)) in said_right.into_iter().zip(all) {
            if right {
                mark.found.push(format!("fault, {what}: {wanted}"));
            } else {
                mark.missed.push(format!("fault, {what}: {said} given, {wanted} is right: {}", planned.what));
            }
        }
        part.got += readings(planned, trainee.log, count(said_right) >= 2, mark);
    }
    for named in left {
        part.got -= measure.rubric.false_call;
        mark.false_calls.push(format!("fault {} in {}: there is none", named.kind, named.place));
    }
    part
}

/// The mark for the number of readings.
fn readings(planned: &Planned, log: Option<&Log>, is_found: bool, mark: &mut Mark) -> f64 {
    let used = log.map_or(0, |log| log.reading.len());
    for (at, taken) in log.iter().flat_map(|log| &log.reading).enumerate() {
        mark.working.push(format!("reading {}: {}: {}", at + 1, taken.of, taken.shows));
    }
    if log.is_some_and(|log| !log.is_whole(planned.drill)) {
        mark.missed
            .push(String::from("readings: the log is not of this drill, or was changed by hand; it does not count"));
        return 0.0;
    }
    if used == 0 {
        mark.missed.push(String::from("readings: none handed in; a fault named without a reading is a guess"));
        return 0.0;
    }
    if !is_found {
        mark.missed.push(format!("readings: {used} taken, and the fault is not found"));
        return 0.0;
    }
    let share = (planned.readings as f64 / used as f64).min(1.0);
    let line = format!("readings: {used} taken, a search by halves takes {}", planned.readings);
    if share < 1.0 {
        mark.missed.push(line)
    } else {
        mark.found.push(line)
    }
    share
}
