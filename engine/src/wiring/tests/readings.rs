//! Readings of a meter, held against Ohm's and Kirchhoff's laws as any textbook of circuits has them.

use super::super::follow::{Meter, Reading, State, Trips};
use super::super::{PointId, UnitId, name};
use super::*;

/// A hundred watts at 120 V: 144 Ω (R = U² / P).
const LAMP: f64 = 144.0;

fn point(job: &Job, wiring: &Wiring, wanted: &str) -> PointId {
    let net = &wiring.network;
    let mut all = (0..net.points.len()).map(|at| PointId(at as u32));
    all.find(|&point| name(job, net, point) == wanted).unwrap_or_else(|| panic!("no {wanted}"))
}

fn meter(wiring: &Wiring, touching: &[(PointId, PointId)]) -> Meter {
    Meter::new(&wiring.network, &wiring.makeups, touching, |_, _| Some(LAMP), 120.0)
}

fn near(reading: Reading, right: f64) {
    let shown = match reading {
        Reading::Volts(volts) => volts,
        Reading::Ohms(ohms) => ohms,
        other => panic!("{other:?} is not {right}"),
    };
    assert!((shown - right).abs() < 0.01, "{shown} is not {right}");
}

const SWITCHED: &str = "circuit 1\ncable C1 14/2 1 P1 B1\ncable C2 14/2 1 B1 B2\nswitch S1 B1 1 L1 single_pole\nlight L1 B2 1\nbox B1\nbox B2";

#[test]
fn a_switch_gives_the_lamp_its_volts_and_its_ohms() {
    let (job, wiring) = wire(SWITCHED);
    let at = |wanted| point(&job, &wiring, wanted);
    let switch = wiring.network.find_unit(job.find("S1").unwrap()).unwrap();
    let (off, on) = (State::default(), State { on: vec![switch], ..State::default() });
    let meter = meter(&wiring, &[]);
    let (hot, neutral, ground) = (at("L1.hot"), at("L1.neutral"), at("L1.ground"));
    near(meter.volts(hot, neutral, &off), 0.0);
    near(meter.volts(hot, neutral, &on), 120.0);
    near(meter.volts(hot, ground, &on), 120.0);
    // Across the open switch the lamp is only in series with the meter: nearly all of the voltage.
    near(meter.volts(at("S1.brass"), at("S1.brass_2"), &off), 120.0);
    assert_eq!(meter.ohms(at("C1/from.black"), neutral, &off), Reading::Open);
    near(meter.ohms(at("C1/from.black"), neutral, &on), LAMP);
    near(meter.ohms(neutral, ground, &off), 0.0);
    let open = State { open: vec![job.find("1").unwrap()], ..on };
    near(meter.volts(hot, neutral, &open), 0.0);
}

#[test]
fn a_lifted_conductor_is_open_and_hangs_free() {
    let (job, wiring) = wire(SWITCHED);
    let at = |wanted| point(&job, &wiring, wanted);
    let switch = wiring.network.find_unit(job.find("S1").unwrap()).unwrap();
    let on = State { on: vec![switch], ..State::default() };
    let meter = meter(&wiring, &[]).lifted(&[at("C2/from.white")]);
    assert_eq!(meter.ohms(at("C2/from.white"), at("C1/to.white"), &State::default()), Reading::Open);
    // The neutral of the lamp is lost: it rises to the hot through the lamp, which gets nothing.
    near(meter.volts(at("L1.neutral"), at("L1.ground"), &on), 120.0);
    near(meter.volts(at("L1.hot"), at("L1.neutral"), &on), 0.0);
}

#[test]
fn conductors_that_touch_trip_the_breaker_and_read_nothing_on_the_ohmmeter() {
    let (job, wiring) = wire(SWITCHED);
    let at = |wanted| point(&job, &wiring, wanted);
    let touching = [(at("C1/to.black"), at("C1/to.bare"))];
    let meter = meter(&wiring, &touching);
    let circuit = job.find("1").unwrap();
    assert_eq!(meter.trips(&State::default()).short, [circuit]);
    assert_eq!(meter.trips(&State { open: vec![circuit], ..State::default() }).short, []);
    near(meter.volts(at("C1/to.black"), at("C1/to.white"), &State::default()), 0.0);
    near(meter.ohms(at("C1/to.black"), at("C1/to.bare"), &State::default()), 0.0);
    // Lifted off its splice the conductor still touches; what lies beyond is clear of it.
    let parted = meter.lifted(&[at("C1/to.black")]);
    assert_eq!(parted.trips(&State::default()).short, [circuit], "the feed itself still touches the ground");
    let parted = parted.lifted(&[at("C1/from.black")]);
    near(parted.ohms(at("C1/to.black"), at("C1/to.bare"), &State::default()), 0.0);
    assert_eq!(parted.ohms(at("S1.brass"), at("C1/to.bare"), &State::default()), Reading::Open);
    assert_eq!(parted.trips(&State::default()).short, [], "nothing is on the breaker any more");
}

#[test]
fn a_lost_neutral_of_a_multiwire_circuit_divides_both_legs_among_the_loads() {
    let (job, wiring) = wire(
        "circuit 1\ncircuit 3 | multiwire_with = \"1\"\ncable C1 14/3 1 P1 B1 | second_circuit = \"3\"\n\
         light L1 B1 1\nlight L2 B1 3\nbox B1",
    );
    let at = |wanted| point(&job, &wiring, wanted);
    let (one, two) = (10.0, 20.0);
    let first = wiring.network.find_unit(job.find("L1").unwrap()).unwrap();
    let ohms = |unit, _: &super::super::follow::LoadAt| Some(if unit == first { one } else { two });
    let sound = Meter::new(&wiring.network, &wiring.makeups, &[], ohms, 120.0);
    let state = State::default();
    near(sound.volts(at("L1.hot"), at("L1.neutral"), &state), 120.0);
    near(sound.volts(at("L1.hot"), at("L2.hot"), &state), 240.0);
    // Two resistors in series on 240 V share it as their ohms: 10 and 20 give 80 V and 160 V (voltage divider).
    let lost = sound.lifted(&[at("C1/to.white")]);
    near(lost.volts(at("L1.hot"), at("L1.neutral"), &state), 80.0);
    near(lost.volts(at("L2.hot"), at("L2.neutral"), &state), 160.0);
}

/// A GFCI receptacle `R1` with `R2` behind it, and a lamp of another circuit in the same box.
const BEHIND: &str = "circuit 1\ncircuit 2\ncable C1 14/2 1 P1 B1\ncable C2 14/2 1 B1 B2\ncable C3 14/2 2 P1 B2\n\
                      receptacle R1 B1 1 | gfci = true\nreceptacle R2 B2 1 | gfci_from = \"R1\"\nlight L2 B2 2\nbox B1\nbox B2";

/// Class A devices trip at 6 mA (UL 943, from memory).
const CLASS_A: f64 = 0.006;

#[test]
fn a_ground_fault_behind_a_gfci_trips_it_and_not_the_breaker() {
    let (job, wiring) = wire(BEHIND);
    let at = |wanted| point(&job, &wiring, wanted);
    let state = State::default();
    let sound = meter(&wiring, &[]).guarded(&[], CLASS_A);
    assert_eq!(sound.trips(&state), Trips::default());
    near(sound.volts(at("R2.brass"), at("R2.silver"), &state), 120.0);
    let touching = [(at("C2/to.black"), at("C2/to.bare"))];
    let gfci = wiring.network.find_unit(job.find("R1").unwrap()).unwrap();
    let faulty = meter(&wiring, &touching).guarded(&[], CLASS_A);
    assert_eq!(faulty.trips(&state), Trips { devices: vec![gfci], ..Trips::default() });
    near(faulty.volts(at("R2.brass"), at("R2.silver"), &state), 0.0);
    near(faulty.volts(at("R1.line_hot"), at("R1.line_neutral"), &state), 120.0);
    // Dead, it does not trip; before it, the fault is the breaker's.
    let open = State { open: vec![job.find("1").unwrap()], ..State::default() };
    assert_eq!(faulty.trips(&open), Trips::default());
    let before = meter(&wiring, &[(at("C1/to.black"), at("C1/to.bare"))]).guarded(&[], CLASS_A);
    assert_eq!(before.trips(&state), Trips { short: vec![job.find("1").unwrap()], ..Trips::default() });
    // A short from line to neutral goes and comes through the poles alike.
    let short = meter(&wiring, &[(at("C2/to.black"), at("C2/to.white"))]).guarded(&[], CLASS_A);
    assert_eq!(short.trips(&state), Trips { short: vec![job.find("1").unwrap()], ..Trips::default() });
}

/// What leaks over a load of so many ohms is told from what does not trip: 120 V over 20 kΩ are 6 mA, over 30 kΩ 4 mA (Ohm's law).
#[test]
fn a_gfci_trips_from_so_many_amperes_on() {
    let (job, wiring) = wire(BEHIND);
    let at = |wanted| point(&job, &wiring, wanted);
    let gfci = wiring.network.find_unit(job.find("R1").unwrap()).unwrap();
    let lamp = wiring.network.find_unit(job.find("L2").unwrap()).unwrap();
    // The lamp of circuit 2, off its own hot and neutral, lies between the hot behind the GFCI and the ground: a leak.
    let touching = [(at("C2/to.black"), at("L2.hot")), (at("L2.neutral"), at("C2/to.bare"))];
    let lifted = [at("L2.hot"), at("L2.neutral")];
    let leaks = |ohms: f64| {
        let of = move |unit: UnitId, _: &super::super::follow::LoadAt| (unit == lamp).then_some(ohms);
        let meter = Meter::new(&wiring.network, &wiring.makeups, &touching, of, 120.0);
        meter.lifted(&lifted).guarded(&[], CLASS_A).trips(&State::default()).devices
    };
    assert_eq!(leaks(19_000.0), [gfci]);
    assert_eq!(leaks(30_000.0), []);
}

#[test]
fn a_neutral_shared_behind_a_gfci_trips_it() {
    let (job, wiring) = wire(BEHIND);
    let at = |wanted| point(&job, &wiring, wanted);
    let gfci = wiring.network.find_unit(job.find("R1").unwrap()).unwrap();
    for shared in [("C2/to.white", "C3/to.white"), ("C2/to.white", "C2/to.bare"), ("C2/from.white", "C1/to.white")] {
        let faulty = meter(&wiring, &[(at(shared.0), at(shared.1))]).guarded(&[], CLASS_A);
        assert_eq!(faulty.trips(&State::default()).devices, [gfci], "{shared:?}");
    }
    // Without interrupters nothing trips: there is no short.
    let faulty = meter(&wiring, &[(at("C2/to.white"), at("C3/to.white"))]);
    assert_eq!(faulty.trips(&State::default()), Trips::default());
}

#[test]
fn a_breaker_with_a_ground_fault_interrupter_guards_the_whole_circuit() {
    let (job, wiring) = wire(SWITCHED);
    let at = |wanted| point(&job, &wiring, wanted);
    let circuit = job.find("1").unwrap();
    let switch = wiring.network.find_unit(job.find("S1").unwrap()).unwrap();
    let (off, on) = (State::default(), State { on: vec![switch], ..State::default() });
    let guarded = |touching: &[(PointId, PointId)]| meter(&wiring, touching).guarded(&[circuit], CLASS_A);
    assert_eq!(guarded(&[]).trips(&on), Trips::default());
    // The lamp is between the switch and the fault: no path to the ground until the switch is on.
    let behind = guarded(&[(at("L1.hot"), at("L1.ground"))]);
    assert_eq!(behind.trips(&off), Trips::default());
    assert_eq!(behind.trips(&on), Trips { ground_fault: vec![circuit], ..Trips::default() });
    near(behind.volts(at("C1/to.black"), at("C1/to.white"), &on), 0.0);
    assert_eq!(guarded(&[(at("L1.neutral"), at("L1.ground"))]).trips(&off).ground_fault, [circuit]);
    assert_eq!(guarded(&[(at("C1/to.black"), at("C1/to.white"))]).trips(&off).short, [circuit]);
}

/// Both legs of a multiwire circuit return over one neutral: the breaker sums all three.
#[test]
fn a_multiwire_circuit_on_one_interrupter_is_summed_over_both_legs() {
    let (job, wiring) = wire(
        "circuit 1\ncircuit 3 | multiwire_with = \"1\"\ncable C1 14/3 1 P1 B1 | second_circuit = \"3\"\n\
         light L1 B1 1\nlight L2 B1 3\nbox B1",
    );
    let at = |wanted| point(&job, &wiring, wanted);
    let circuits = [job.find("1").unwrap(), job.find("3").unwrap()];
    let first = wiring.network.find_unit(job.find("L1").unwrap()).unwrap();
    let ohms = |unit, _: &super::super::follow::LoadAt| Some(if unit == first { 10.0 } else { 20.0 });
    let of = |touching: &[(PointId, PointId)]| {
        Meter::new(&wiring.network, &wiring.makeups, touching, ohms, 120.0).guarded(&circuits, CLASS_A)
    };
    assert_eq!(of(&[]).trips(&State::default()), Trips::default());
    let fault = of(&[(at("L2.hot"), at("L2.ground"))]).trips(&State::default());
    assert_eq!(fault, Trips { ground_fault: circuits.to_vec(), ..Trips::default() });
}
