//! Mistakes in the make-up of a box: what its conductors are for, which of them a change can be made to, and what comes of it.

use std::collections::BTreeSet;

use storystick_engine::inspection::Inspected;
use storystick_engine::model::Job;
use storystick_engine::wiring::{self, Colour, Followed, PlaceId, PlaceKind, Point, PointId, Wiring};

use crate::edit;
use crate::teach::fault::{Wrong, changed};
use crate::teach::papers::{Change, Fault, Planned, Use};
use crate::teach::seed::Seed;

/// A conductor that ends in a box, in one of its joints.
#[derive(Clone, Copy, Debug)]
struct Conductor {
    point: PointId,
    joint: usize,
    used: Use,
}

/// A box with the conductors in it.
struct Boxed {
    place: PlaceId,
    id: String,
    conductors: Vec<Conductor>,
}

/// Returns the boxes that are wired up, each with its joined conductors.
fn boxes(job: &Job, wiring: &Wiring) -> Vec<Boxed> {
    let net = &wiring.network;
    let of = |(place, at): (PlaceId, &wiring::Place)| {
        let mut conductors = Vec::new();
        for (joint, one) in wiring.makeup(place).joints.iter().enumerate().filter(|(_, one)| one.points.len() > 1) {
            for point in one.ends(net) {
                let Point::End(id, _) = net.point(point) else { continue };
                let used = match (net.wire(id).colour, wiring.plan.functions.get(id.at()).copied().flatten()) {
                    (Colour::Bare, _) => Use::Grounding,
                    (_, Some(signal)) if signal.is_grounded() => Use::Grounded,
                    (_, Some(signal)) if signal.is_ungrounded() => Use::Ungrounded,
                    _ => continue,
                };
                conductors.push(Conductor { point, joint, used });
            }
        }
        Boxed { place, id: job.id(at.item).to_owned(), conductors }
    };
    net.places().filter(|(_, place)| place.kind == PlaceKind::Box).map(of).collect()
}

/// A mistake written into the make-up of a box.
pub(super) struct Written {
    /// The box.
    pub(super) item: String,
    /// The job file with it.
    pub(super) text: String,
    /// The conductors, and where they were.
    pub(super) was: String,
    /// Where they are now.
    pub(super) now: String,
}

/// Returns ways to make a change in the make-up of boxes that are not among `taken`, in an order of chance: one for each box.
pub(super) fn mistakes(
    inspected: &Inspected,
    text: &str,
    change: Change,
    taken: &BTreeSet<&str>,
    seed: &mut Seed,
) -> Vec<Written> {
    let job = &inspected.job;
    let wiring = Wiring::of(job);
    let mut boxes = boxes(job, &wiring);
    boxes.retain(|one| !taken.contains(one.id.as_str()));
    seed.shuffle(&mut boxes);
    let of = |one: &Boxed| {
        let points = pick(one, change, seed)?;
        let makeup = changed(wiring.makeup(one.place), change, &points);
        let text = edit::made_up(text, &one.id, &wiring::write(job, &wiring.network, &makeup))?;
        let names: Vec<String> = points.iter().map(|&point| wiring::name(job, &wiring.network, point)).collect();
        let names = names.join(" and ");
        let (was, now) = match change {
            Change::Open => (format!("{names} joined"), format!("{names} out of its joint")),
            Change::Swap => (format!("{names} in their own joints"), format!("{names} have changed places")),
            Change::Touch => (format!("{names} apart"), format!("{names} joined")),
        };
        Some(Written { item: one.id.clone(), text, was, now })
    };
    boxes.iter().filter_map(of).collect()
}

/// Picks conductors for a change: two of different joints, or one.
fn pick(one: &Boxed, change: Change, seed: &mut Seed) -> Option<Vec<PointId>> {
    let first = *seed.one(&one.conductors)?;
    if change == Change::Open {
        return Some(vec![first.point]);
    }
    let others: Vec<&Conductor> = one.conductors.iter().filter(|other| other.joint != first.joint).collect();
    Some(vec![first.point, seed.one(&others)?.point])
}

/// Picks a fault to find with a meter: one that following the current shows, and that leaves no other trace.
pub(super) fn plan(inspected: &Inspected, table: &[Fault], drill: u64, seed: &mut Seed) -> Option<(Planned, Wrong)> {
    let job = &inspected.job;
    let wiring = Wiring::of(job);
    let mut boxes = boxes(job, &wiring);
    let mut faults: Vec<&Fault> = table.iter().collect();
    seed.shuffle(&mut faults);
    for fault in faults {
        seed.shuffle(&mut boxes);
        for one in &boxes {
            let Some(points) = of_use(&wiring, one, fault, seed) else { continue };
            let makeup = changed(wiring.makeup(one.place), fault.change, &points);
            let mut makeups = wiring.makeups.clone();
            if let Some(slot) = makeups.get_mut(one.place.at()) {
                *slot = makeup;
            }
            let shows = new(job, &wiring.followed, &wiring.follow_with(job, &makeups));
            if shows.is_empty() {
                continue;
            }
            let names: Vec<String> = points.iter().map(|&point| wiring::name(job, &wiring.network, point)).collect();
            let wrong = Wrong { place: one.id.clone(), change: fault.change, points: names.clone() };
            let planned = Planned {
                kind: fault.id.clone(),
                what: fault.what.clone(),
                place: one.id.clone(),
                conductors: names,
                shows,
                readings: by_halves(&wiring, &boxes, one),
                drill,
            };
            return Some((planned, wrong));
        }
    }
    None
}

/// Picks a conductor for each use that a fault needs, each of another joint.
fn of_use(wiring: &Wiring, one: &Boxed, fault: &Fault, seed: &mut Seed) -> Option<Vec<PointId>> {
    let mut chosen: Vec<Conductor> = Vec::new();
    for &used in &fault.on {
        let lands = |conductor: &Conductor| {
            let Some(wanted) = fault.at.as_ref().filter(|_| chosen.is_empty()) else { return true };
            let joint = wiring.makeup(one.place).joints.get(conductor.joint);
            joint.is_some_and(|joint| {
                joint.points.iter().any(|&point| {
                    matches!(wiring.network.point(point), Point::Terminal(_, terminal) if terminal.word() == wanted)
                })
            })
        };
        let fits: Vec<Conductor> = one
            .conductors
            .iter()
            .filter(|it| it.used == used && chosen.iter().all(|other| other.joint != it.joint) && lands(it))
            .copied()
            .collect();
        chosen.push(*seed.one(&fits)?);
    }
    Some(chosen.into_iter().map(|conductor| conductor.point).collect())
}

/// What following the current finds that it did not find before.
fn new(job: &Job, before: &Followed, after: &Followed) -> Vec<String> {
    let words = |followed: &Followed| -> BTreeSet<String> {
        followed.faults.iter().map(|fault| format!("{} {}", fault.kind.word(), job.id(fault.item))).collect()
    };
    words(after).difference(&words(before)).cloned().collect()
}

/// How many readings it takes to find one conductor end among those of the boxes that are wired together with this one, if each reading
/// halves what is left, and two to tell what kind of fault it is.
fn by_halves(wiring: &Wiring, boxes: &[Boxed], faulty: &Boxed) -> usize {
    let net = &wiring.network;
    let mut joined: BTreeSet<PlaceId> = BTreeSet::from([faulty.place]);
    loop {
        let before = joined.len();
        for run in &net.runs {
            let at_panel = run.ends.iter().any(|&end| net.place(end).kind == PlaceKind::Panel);
            if !at_panel && run.ends.iter().any(|end| joined.contains(end)) {
                joined.extend(run.ends);
            }
        }
        if joined.len() == before {
            break;
        }
    }
    let suspects: usize = boxes.iter().filter(|one| joined.contains(&one.place)).map(|one| one.conductors.len()).sum();
    suspects.max(2).next_power_of_two().ilog2() as usize + 2
}
