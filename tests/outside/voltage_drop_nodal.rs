//! Voltage drop on random radial circuits against a nodal solution: conductances in a matrix, currents as injections, solved by a
//! general-purpose library of linear algebra.

use nalgebra::{DMatrix, DVector};
use storystick_engine::calc::voltage_drop::{Legs, Load, Section, voltage_drops};
use storystick_engine::quantity::{Dimension, Quantity};

use crate::codes::MICRO;
use crate::random::Random;

const VOLTS: f64 = 120.0;

struct Circuit {
    sections: Vec<Section>,
    loads: Vec<Load>,
}

fn ohms(resistance: Quantity) -> f64 {
    resistance.amount() as f64 / 1e9
}

fn random_circuit(random: &mut Random) -> Circuit {
    let count = random.within(1, 14) as usize;
    // From 1 mΩ to 0.4 Ω: a few feet of a large conductor to a long run of a small one.
    let mut resistance = || Quantity::new(Dimension::Resistance, random.within(1_000_000, 400_000_000));
    let pairs: Vec<(Quantity, Quantity)> = (0..count).map(|_| (resistance(), resistance())).collect();
    let sections = pairs
        .into_iter()
        .enumerate()
        .map(|(at, (hot, neutral))| {
            let from = random.within(-1, at as i64 - 1);
            Section { from: usize::try_from(from).ok(), hot, neutral }
        })
        .collect();
    let loads = (0..random.within(1, 10))
        .map(|_| Load {
            at: random.within(0, count as i64 - 1) as usize,
            legs: [Legs::First, Legs::Second, Legs::Both][random.within(0, 2) as usize],
            current: Quantity::new(Dimension::Current, random.within(1000, 20_000_000)),
        })
        .collect();
    Circuit { sections, loads }
}

/// Returns the voltages of leg, neutral and second leg at the end of every section. The panel holds 120, 0 and -120 V.
fn nodal(circuit: &Circuit) -> Vec<[f64; 3]> {
    let size = circuit.sections.len() * 3;
    let mut conductances = DMatrix::<f64>::zeros(size, size);
    let mut injections = DVector::<f64>::zeros(size);
    let held = [VOLTS, 0.0, -VOLTS];
    for (at, section) in circuit.sections.iter().enumerate() {
        for (wire, resistance) in [section.hot, section.neutral, section.hot].into_iter().enumerate() {
            let conductance = 1.0 / ohms(resistance);
            let here = at * 3 + wire;
            conductances[(here, here)] += conductance;
            match section.from {
                Some(from) => {
                    let there = from * 3 + wire;
                    conductances[(there, there)] += conductance;
                    conductances[(here, there)] -= conductance;
                    conductances[(there, here)] -= conductance;
                }
                None => injections[here] += conductance * held[wire],
            }
        }
    }
    for load in &circuit.loads {
        let current = load.current.amount() as f64 / MICRO;
        // The current leaves one wire and enters the other.
        let (out, into) = match load.legs {
            Legs::First => (0, 1),
            Legs::Second => (1, 2),
            Legs::Both => (0, 2),
        };
        injections[load.at * 3 + out] -= current;
        injections[load.at * 3 + into] += current;
    }
    let voltages = conductances.lu().solve(&injections).expect("a radial circuit has one solution");
    (0..circuit.sections.len()).map(|at| [voltages[at * 3], voltages[at * 3 + 1], voltages[at * 3 + 2]]).collect()
}

#[test]
fn two_hundred_random_circuits_agree_with_their_nodal_solution() {
    let mut random = Random::new(0x5eed_0001);
    let mut largest = 0.0_f64;
    for round in 0..200 {
        let circuit = random_circuit(&mut random);
        let own = voltage_drops(&circuit.sections, &circuit.loads).unwrap();
        for (at, ([first, neutral, second], drop)) in nodal(&circuit).into_iter().zip(own).enumerate() {
            for (name, own, nodal) in [
                ("first leg", drop.first, VOLTS - (first - neutral)),
                ("second leg", drop.second, VOLTS - (neutral - second)),
                ("leg to leg", drop.both, 2.0 * VOLTS - (first - second)),
            ] {
                let own = own.amount() as f64 / MICRO;
                largest = largest.max(nodal.abs());
                assert!((own - nodal).abs() < 2e-6, "circuit {round}, point {at}, {name}: {own} against {nodal}");
            }
        }
    }
    assert!(largest > 5.0, "the circuits were too tame: {largest} V");
}
