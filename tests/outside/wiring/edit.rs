//! Mistakes made on purpose in the make-up of a box.

use storystick_engine::model::Job;
use storystick_engine::wiring::{Joint, MakeUp, Network, PointId, Wiring, name, write};

/// One mistake.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edit<'a> {
    /// Two conductors or terminals change places.
    Swap(&'a str, &'a str),
    /// One is left out of its joint.
    Drop(&'a str),
    /// One goes to the joint of another.
    Move(&'a str, &'a str),
    /// The joints of two become one.
    Join(&'a str, &'a str),
    /// One goes alone to a terminal that had nothing.
    Land(&'a str, &'a str),
}

pub(super) fn swap(makeup: &mut MakeUp, a: PointId, b: PointId) {
    for point in makeup.joints.iter_mut().flat_map(|joint| &mut joint.points).chain(&mut makeup.caps) {
        *point = if *point == a {
            b
        } else if *point == b {
            a
        } else {
            *point
        };
    }
}

pub(super) fn drop_point(makeup: &mut MakeUp, a: PointId) {
    makeup.joints.iter_mut().for_each(|joint| joint.points.retain(|point| *point != a));
    makeup.caps.retain(|point| *point != a);
}

pub(super) fn move_point(makeup: &mut MakeUp, a: PointId, to: PointId) {
    drop_point(makeup, a);
    if let Some(joint) = makeup.joints.iter_mut().find(|joint| joint.points.contains(&to)) {
        joint.points.push(a);
    } else {
        makeup.caps.retain(|point| *point != to);
        makeup.joints.push(Joint { function: None, points: vec![a, to], span: storystick_engine::source::Span::NONE });
    }
}

fn join(makeup: &mut MakeUp, a: PointId, b: PointId) {
    let Some(at) = makeup.joints.iter().position(|joint| joint.points.contains(&b)) else { return };
    let other = makeup.joints.remove(at);
    for point in other.points {
        move_point(makeup, point, a);
    }
}

/// Finds a point of a place by its name.
#[track_caller]
fn point(job: &Job, net: &Network, makeup: &MakeUp, wanted: &str) -> PointId {
    let points = &net.place(makeup.place).points;
    let names: Vec<String> = points.iter().map(|&point| name(job, net, point)).collect();
    let at = names.iter().position(|name| name == wanted).unwrap_or_else(|| panic!("no {wanted} among {names:?}"));
    points[at]
}

/// Makes mistakes in a box of a job and returns the job file with that box as built.
#[track_caller]
pub(super) fn built(text: &str, job: &Job, wiring: &Wiring, id: &str, edits: &[Edit<'_>]) -> String {
    let net = &wiring.network;
    let place = net.find_place(job.find(id).unwrap()).unwrap();
    let mut makeup = wiring.makeup(place).clone();
    for edit in edits {
        let at = |makeup: &MakeUp, name| point(job, net, makeup, name);
        match *edit {
            Edit::Swap(a, b) => {
                let (a, b) = (at(&makeup, a), at(&makeup, b));
                swap(&mut makeup, a, b);
            }
            Edit::Drop(a) => {
                let a = at(&makeup, a);
                drop_point(&mut makeup, a);
            }
            Edit::Move(a, b) | Edit::Land(a, b) => {
                let (a, b) = (at(&makeup, a), at(&makeup, b));
                move_point(&mut makeup, a, b);
            }
            Edit::Join(a, b) => {
                let (a, b) = (at(&makeup, a), at(&makeup, b));
                join(&mut makeup, a, b);
            }
        }
    }
    makeup.joints.retain(|joint| joint.points.len() > 1);
    as_built(text, job, net, &makeup)
}

/// Writes the make-up of a box into its table.
#[track_caller]
pub(super) fn as_built(text: &str, job: &Job, net: &Network, makeup: &MakeUp) -> String {
    let head = format!("[[box]]\nid = \"{}\"\n", job.id(net.place(makeup.place).item));
    assert!(text.contains(&head), "no {head}");
    text.replacen(&head, &format!("{head}{}", write(job, net, makeup)), 1)
}
