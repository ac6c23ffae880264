//! Readings of a meter, held against Ohm's and Kirchhoff's laws as any textbook of circuits has them.

use super::super::follow::{Meter, Reading, State};
use super::super::{PointId, name};
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
    assert_eq!(meter.trips(&State::default()), [circuit]);
    assert_eq!(meter.trips(&State { open: vec![circuit], ..State::default() }), []);
    near(meter.volts(at("C1/to.black"), at("C1/to.white"), &State::default()), 0.0);
    near(meter.ohms(at("C1/to.black"), at("C1/to.bare"), &State::default()), 0.0);
    // Lifted off its splice the conductor still touches; what lies beyond is clear of it.
    let parted = meter.lifted(&[at("C1/to.black")]);
    assert_eq!(parted.trips(&State::default()), [circuit], "the feed itself still touches the ground");
    let parted = parted.lifted(&[at("C1/from.black")]);
    near(parted.ohms(at("C1/to.black"), at("C1/to.bare"), &State::default()), 0.0);
    assert_eq!(parted.ohms(at("S1.brass"), at("C1/to.bare"), &State::default()), Reading::Open);
    assert_eq!(parted.trips(&State::default()), [], "nothing is on the breaker any more");
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
