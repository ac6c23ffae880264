//! Plans of common arrangements.

use super::super::Colour;
use super::super::follow::{Joined, Nets};
use super::*;

/// Returns the colour of the conductor of a cable that has a function whose words begin so.
fn colour(job: &Job, wiring: &Wiring, cable: &str, begins: &str) -> Option<Colour> {
    let item = job.find(cable).unwrap();
    wiring.network.runs.iter().filter(|run| run.item == item).flat_map(|run| &run.wires).find_map(|&wire| {
        let signal = wiring.plan.functions[wire.at()]?;
        signal
            .words(job, &wiring.network, &wiring.plan.groups)
            .starts_with(begins)
            .then(|| wiring.network.wire(wire).colour)
    })
}

#[test]
fn power_to_the_switch_first() {
    let (job, wiring) = sound(
        "circuit 1\nbox B1\nbox B2\ncable C1 14/2 1 P1 B1\ncable C2 14/2 1 B1 B2\nswitch S1 B1 1 L1 single_pole\nlight L1 B2 1",
    );
    assert_eq!(colour(&job, &wiring, "C2", "switched leg"), Some(Colour::Black));
    assert_eq!(colour(&job, &wiring, "C2", "neutral"), Some(Colour::White));
}

#[test]
fn power_to_the_light_first_makes_a_switch_loop() {
    let (job, wiring) = sound(
        "circuit 1\nbox B1\nbox B2\ncable C1 14/2 1 P1 B2\ncable C2 14/2 1 B2 B1\nswitch S1 B1 1 L1 single_pole\nlight L1 B2 1",
    );
    assert_eq!(colour(&job, &wiring, "C2", "hot"), Some(Colour::White));
    assert_eq!(colour(&job, &wiring, "C2", "switched leg"), Some(Colour::Black));
    assert_eq!(colour(&job, &wiring, "C2", "neutral"), None);
}

#[test]
fn a_loop_with_three_conductors_brings_the_neutral_to_the_switch() {
    let (job, wiring) = sound(
        "circuit 1\nbox B1\nbox B2\ncable C1 14/2 1 P1 B2\ncable C2 14/3 1 B2 B1\nswitch S1 B1 1 L1 single_pole | neutral_at_switch = true\nlight L1 B2 1",
    );
    assert_eq!(colour(&job, &wiring, "C2", "neutral"), Some(Colour::White));
    assert_eq!(colour(&job, &wiring, "C2", "hot"), Some(Colour::Black));
    assert_eq!(colour(&job, &wiring, "C2", "switched leg"), Some(Colour::Red));
}

#[test]
fn three_way_switches_in_every_common_arrangement() {
    // Feed at the first switch, light behind the second.
    sound(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 B L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
    // Light between the switches.
    sound(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\ncable C3 14/3 1 L B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
    // Feed at the light, both switches in one line.
    sound(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\ncable C3 14/3 1 A B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
    // Feed at the light, a switch on either side.
    sound(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/3 1 L A\ncable C3 14/3 1 L B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
    // The light at the feed switch.
    sound(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 A L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
}

#[test]
fn a_missing_traveller_is_told_with_the_cable_that_would_do() {
    let (_, wiring) = wire(
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A B\ncable C3 14/2 1 B L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    );
    let [gap] = &wiring.plan.gaps[..] else { panic!("{:?}", wiring.plan.gaps) };
    assert!(gap.message.starts_with("cable `C2` has 2 insulated conductors and needs 3"), "{}", gap.message);
    assert_eq!(gap.help, "a cable with 3 insulated conductors would do");
    assert!(wiring.followed.circuits.is_empty());
}

#[test]
fn a_half_switched_receptacle_keeps_one_half_hot() {
    let (job, wiring) = sound(
        "circuit 1\nbox A\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\nswitch S1 A 1 R1 single_pole\nreceptacle R1 B 1 | switched = \"half\"",
    );
    let nets = Nets::of(&wiring.network, &wiring.makeups, Joined::default());
    let unit = wiring.network.unit(wiring.network.find_unit(job.find("R1").unwrap()).unwrap());
    assert!(nets.is_line(unit.terminal(super::super::Terminal::Brass).unwrap()));
    assert!(!nets.is_line(unit.terminal(super::super::Terminal::Brass2).unwrap()));
}
