//! Generated circuits, right and with mistakes, in every position of their switches, against the outside solver.

use super::edit::{drop_point, swap};
use super::generate::{Seeded, circuit};
use super::{job_file, nodal, read};
use storystick_engine::wiring::follow::{NoSolution, State, loads, solve};
use storystick_engine::wiring::{MakeUp, PlaceKind, UnitId, Wiring};

const VOLTS: f64 = 120.0;
/// Agreement asked for, in volts and amperes.
const WITHIN: f64 = 1e-6;

fn ohms(load: usize) -> f64 {
    120.0 + 37.0 * load as f64
}

/// Compares one make-up in all positions of all switches, with each breaker open and each GFCI tripped in turn.
/// Returns the states compared and how many of them were shorts.
fn compare(wiring: &Wiring, makeups: &[MakeUp], what: &str) -> (usize, usize) {
    let net = &wiring.network;
    let all = loads(net);
    let switches: Vec<UnitId> = net.units().filter(|(_, unit)| unit.is_switch()).map(|(id, _)| id).collect();
    assert!(switches.len() <= 10, "{what}");
    let mut states: Vec<State> = (0..1u32 << switches.len())
        .map(|bits| State {
            on: switches.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, unit)| *unit).collect(),
            ..State::default()
        })
        .collect();
    let circuits: Vec<_> = wiring.plan.system.keys().copied().collect();
    states.extend(circuits.into_iter().map(|circuit| State {
        on: switches.clone(),
        open: vec![circuit],
        ..State::default()
    }));
    let trips = net.units().filter(|(_, unit)| unit.kind == (storystick_engine::wiring::UnitKind::Gfci { face: true }));
    states.extend(trips.map(|(gfci, _)| State { on: switches.clone(), tripped: vec![gfci], ..State::default() }));
    let mut shorts = 0;
    for state in &states {
        let outside = nodal::solve(net, makeups, &all, state, &ohms, VOLTS);
        let Ok(ours) = solve(net, makeups, &all, state, &ohms, VOLTS) else {
            assert!(outside.largest > 1e6, "{what}: a short that the outside solver does not see, {state:?}");
            shorts += 1;
            continue;
        };
        assert!(outside.largest < 1e3, "{what}: {} A that the engine does not see, {state:?}", outside.largest);
        for (load, (ours, outside)) in ours.amperes.iter().zip(&outside.amperes).enumerate() {
            assert!((ours - outside).abs() < WITHIN, "{what}: load {load}: {ours} A, outside {outside} A, {state:?}");
        }
        for (at, outside) in outside.volts.iter().enumerate() {
            if let (Some(ours), Some(outside)) = (ours.volts(storystick_engine::wiring::PointId(at as u32)), outside) {
                assert!(
                    (ours - outside).abs() < WITHIN,
                    "{what}: point {at}: {ours} V, outside {outside} V, {state:?}"
                );
            }
        }
    }
    (states.len(), shorts)
}

#[test]
fn generated_circuits_agree_with_an_outside_solver_in_every_state() {
    let (mut circuits, mut whole, mut states, mut shorts) = (0, 0, 0, 0);
    let mut seed = 0;
    while circuits < 120 {
        seed += 1;
        let text = circuit(seed);
        if text.matches("\nswitch ").count() > 3 {
            continue;
        }
        let wiring = Wiring::of(&read(&job_file(&text)));
        circuits += 1;
        whole += usize::from(!wiring.followed.circuits.is_empty());
        let (compared, short) = compare(&wiring, &wiring.makeups, &text);
        assert_eq!(short, 0, "a plan never shorts: {text}");
        states += compared;
        let (compared, short) = compare(&wiring, &mistaken(&wiring, seed), &format!("with a mistake: {text}"));
        states += compared;
        shorts += short;
    }
    println!("{circuits} circuits ({whole} wired whole), {states} states, {shorts} of them shorts");
    assert!(whole >= 80, "{whole}");
    assert!(shorts > 20, "mistakes that short must be among them: {shorts}");
}

/// Two mistakes in a box.
fn mistaken(wiring: &Wiring, seed: u64) -> Vec<MakeUp> {
    let mut random = Seeded::new(seed ^ 0xB0C5);
    let mut makeups = wiring.makeups.clone();
    let boxes: Vec<usize> = makeups
        .iter()
        .filter(|makeup| wiring.network.place(makeup.place).kind == PlaceKind::Box && makeup.joints.len() > 1)
        .map(|makeup| makeup.place.at())
        .collect();
    let makeup = &mut makeups[*random.pick(&boxes)];
    let points: Vec<_> = makeup.joints.iter().flat_map(|joint| joint.points.clone()).collect();
    let (a, b, c) = (*random.pick(&points), *random.pick(&points), *random.pick(&points));
    swap(makeup, a, b);
    drop_point(makeup, c);
    makeups
}

#[test]
fn a_short_is_told_as_one() {
    let job = read(&job_file("circuit 1\nbox A\ncable C1 12/2 1 P1 A\nreceptacle R1 A 1"));
    let wiring = Wiring::of(&job);
    let mut makeups = wiring.makeups.clone();
    let joints: Vec<_> = makeups[1].joints.iter().flat_map(|joint| joint.points.clone()).collect();
    makeups[1].joints[0].points = joints;
    let all = loads(&wiring.network);
    let solved = solve(&wiring.network, &makeups, &all, &State::default(), &ohms, VOLTS);
    assert_eq!(solved.err(), Some(NoSolution::Short));
}
