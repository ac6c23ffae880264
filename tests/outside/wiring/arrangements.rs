//! Common arrangements: each is derived without a gap, works in every position of its switches, and still does when the plan of
//! every box is written as built. Names are the trade's; the arrangements are common practice, no source.

use super::edit::as_built;
use super::{found, job_file, read};
use storystick_engine::wiring::{PlaceKind, Wiring};

const ARRANGEMENTS: &[(&str, &str)] = &[
    (
        "power to the switch",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\nswitch S A 1 L1 single_pole\nlight L1 L 1",
    ),
    (
        "power to the light, switch loop",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\nswitch S A 1 L1 single_pole\nlight L1 L 1",
    ),
    (
        "switch loop with neutral",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/3 1 L A\nswitch S A 1 L1 single_pole | neutral_at_switch = true\nlight L1 L 1",
    ),
    (
        "three-way, light at the end",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 B L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "three-way, light between",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\ncable C3 14/3 1 L B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "three-way, feed at the light, switches in line",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\ncable C3 14/3 1 A B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "three-way, feed at the light, switches on both sides",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/3 1 L A\ncable C3 14/3 1 L B\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "three-way, light at the feed switch",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 A L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "three-way with neutral in both boxes over four conductors",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/4 1 A B\ncable C3 14/2 1 A L\nswitch S1 A 1 L1 three_way | neutral_at_switch = true\nswitch S2 B 1 L1 three_way | neutral_at_switch = true\nlight L1 L 1",
    ),
    (
        "four-way in line",
        "circuit 1\nbox A\nbox B\nbox C\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/3 1 B C\ncable C4 14/2 1 C L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 four_way\nswitch S3 C 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "four-way, feed at the light",
        "circuit 1\nbox A\nbox B\nbox C\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\ncable C3 14/4 1 A B\ncable C4 14/3 1 B C\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 four_way\nswitch S3 C 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "two four-way switches",
        "circuit 1\nbox A\nbox B\nbox C\nbox D\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/3 1 B C\ncable C4 14/3 1 C D\ncable C5 14/2 1 D L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 four_way\nswitch S3 C 1 L1 four_way\nswitch S4 D 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "feed-through receptacles",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\ncable C3 12/2 1 B C\nreceptacle R1 A 1\nreceptacle R2 B 1\nreceptacle R3 C 1",
    ),
    (
        "half-switched receptacle",
        "circuit 1\nbox A\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\nswitch S A 1 R1 single_pole\nreceptacle R1 B 1 | switched = \"half\"",
    ),
    (
        "two half-switched receptacles in line",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/3 1 B C\nswitch S A 1 R1,R2 single_pole\nreceptacle R1 B 1 | switched = \"half\"\nreceptacle R2 C 1 | switched = \"half\"",
    ),
    (
        "half-switched from two places",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 14/2 1 P1 A\ncable C2 14/4 1 A B\ncable C3 14/3 1 B C\nswitch S1 A 1 R1 three_way\nswitch S2 B 1 R1 three_way\nreceptacle R1 C 1 | switched = \"half\"",
    ),
    (
        "whole receptacle switched",
        "circuit 1\nbox A\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A B\nswitch S A 1 R1 single_pole\nreceptacle R1 B 1 | switched = \"whole\"",
    ),
    (
        "GFCI with receptacles behind it",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\ncable C3 12/2 1 B C\nreceptacle R1 A 1 | gfci = true\nreceptacle R2 B 1 | gfci_from = \"R1\"\nreceptacle R3 C 1 | gfci_from = \"R1\"",
    ),
    (
        "GFCI with one branch protected and one not",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\ncable C3 12/2 1 A C\nreceptacle R1 A 1 | gfci = true\nreceptacle R2 B 1 | gfci_from = \"R1\"\nreceptacle R3 C 1",
    ),
    (
        "switch and light behind a GFCI",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\ncable C3 12/2 1 B L\nreceptacle R1 A 1 | gfci = true\nswitch S B 1 L1 single_pole | gfci_from = \"R1\"\nlight L1 L 1",
    ),
    (
        "GFCI in line with a GFCI of its own further on",
        "circuit 1\nbox A\nbox B\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\nreceptacle R1 A 1 | gfci = true\nreceptacle R2 B 1 | gfci = true",
    ),
    (
        "multiwire circuit, one receptacle on each leg",
        "circuit 1 | multiwire_with = \"3\"\ncircuit 3 | multiwire_with = \"1\"\nbox A\nbox B\ncable C1 12/3 1 P1 A | second_circuit = \"3\"\ncable C2 12/3 1 A B | second_circuit = \"3\"\nreceptacle R1 A 1\nreceptacle R2 B 3",
    ),
    (
        "multiwire circuit that parts in a box",
        "circuit 1 | multiwire_with = \"3\"\ncircuit 3\nbox A\nbox B\nbox C\ncable C1 12/3 1 P1 A | second_circuit = \"3\"\ncable C2 12/2 1 A B\ncable C3 12/2 3 A C\nreceptacle R1 B 1\nreceptacle R2 C 3",
    ),
    (
        "two circuits in one box",
        "circuit 1\ncircuit 2\nbox A\nbox L\nbox M\ncable C1 14/2 1 P1 A\ncable C2 14/2 2 P1 A\ncable C3 14/2 1 A L\ncable C4 14/2 2 A M\nswitch S1 A 1 L1 single_pole\nswitch S2 A 2 L2 single_pole\nlight L1 L 1\nlight L2 M 2",
    ),
    (
        "two gangs, two lights",
        "circuit 1\nbox A | gangs = 2\nbox L\nbox M\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\ncable C3 14/2 1 A M\nswitch S1 A 1 L1 single_pole\nswitch S2 A 1 L2 single_pole\nlight L1 L 1\nlight L2 M 1",
    ),
    (
        "fan and light apart over three conductors",
        "circuit 1\nbox A | gangs = 2\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\nswitch S1 A 1 L1 single_pole\nswitch S2 A 1 L2 single_pole\nlight L1 L 1\nlight L2 L 1",
    ),
    (
        "one switch, lights in line",
        "circuit 1\nbox A\nbox L\nbox M\nbox N\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\ncable C3 14/2 1 L M\ncable C4 14/2 1 M N\nswitch S A 1 L1,L2,L3 single_pole\nlight L1 L 1\nlight L2 M 1\nlight L3 N 1",
    ),
    (
        "switch box feeds a receptacle further on",
        "circuit 1\nbox A\nbox L\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\ncable C3 14/2 1 A B\nswitch S A 1 L1 single_pole\nlight L1 L 1\nreceptacle R1 B 1",
    ),
    (
        "switched light, then a receptacle that stays hot behind it",
        "circuit 1\nbox A\nbox L\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\ncable C3 14/2 1 L B\nswitch S A 1 L1 single_pole\nlight L1 L 1\nreceptacle R1 B 1",
    ),
    (
        "switch and receptacle in one box",
        "circuit 1\nbox A | gangs = 2\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\nswitch S A 1 L1 single_pole\nreceptacle R1 A 1\nlight L1 L 1",
    ),
    (
        "water heater on two poles, white re-marked",
        "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\ncable C1 10/2 1 P1 WH | white_remarked = true\nappliance WH water_heater 1",
    ),
    (
        "range receptacle with neutral",
        "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\nbox A\ncable C1 6/3 1 P1 A\nreceptacle R1 A 1",
    ),
    (
        "air conditioner behind a two-pole disconnect",
        "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\nbox A\ncable C1 10/2 1 P1 A\ncable C2 10/2 1 A AC\ndisconnect D A 1 AC double_pole\nappliance AC air_conditioner 1",
    ),
    (
        "alarms that sound together",
        "circuit 1\nbox A\nbox B\nbox C\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/3 1 B C\nsmoke_alarm A1 A 1 | interconnected = true\nsmoke_alarm A2 B 1 | interconnected = true\nco_alarm A3 C 1 | interconnected = true",
    ),
    (
        "metal boxes in tubing",
        "circuit 1\nbox A | material = \"metal\"\nbox B | material = \"metal\"\nraceway W1 P1 A | conductor = [{ circuit = \"1\", size = \"12 AWG\", number = 2 }]\nraceway W2 A B | conductor = [{ circuit = \"1\", size = \"12 AWG\", number = 2 }]\nreceptacle R1 A 1\nreceptacle R2 B 1",
    ),
    (
        "dimmer among three-way switches",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 B L\ndimmer S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
    ),
    (
        "two three-way pairs from one feed",
        "circuit 1\nbox A | gangs = 2\nbox B | gangs = 2\nbox L\nbox M\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/3 1 A B\ncable C4 14/2 1 B L\ncable C5 14/2 1 A M\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nswitch S3 A 1 L2 three_way\nswitch S4 B 1 L2 three_way\nlight L1 L 1\nlight L2 M 1",
    ),
    (
        "luminaire with its own compartment",
        "circuit 1\nbox A\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A F1\nswitch S A 1 F1 single_pole\n",
    ),
];

/// The last arrangement needs a luminaire without a box, which has no short form.
fn text(name: &str, short: &str) -> String {
    let mut text = job_file(short);
    if name == "luminaire with its own compartment" {
        text.push_str("[[luminaire]]\nid = \"F1\"\nkind = \"recessed\"\ncircuit = \"1\"\n");
    }
    text
}

#[test]
fn every_arrangement_is_derived_whole_and_works() {
    for (name, short) in ARRANGEMENTS {
        let job = read(&text(name, short));
        let wiring = Wiring::of(&job);
        let gaps: Vec<_> = wiring.plan.gaps.iter().map(|gap| gap.message.as_str()).collect();
        assert_eq!(gaps, Vec::<&str>::new(), "{name}");
        assert_eq!(found(&job, &wiring), Vec::<String>::new(), "{name}");
        let circuits = job.of_kind(job.schema.kind("circuit").unwrap());
        assert_eq!(wiring.followed.circuits.len(), circuits.len(), "{name}");
    }
}

#[test]
fn every_arrangement_written_as_built_is_read_back_the_same() {
    for (name, short) in ARRANGEMENTS {
        let before = text(name, short);
        let job = read(&before);
        let wiring = Wiring::of(&job);
        let boxes: Vec<_> =
            wiring.makeups.iter().filter(|makeup| wiring.network.place(makeup.place).kind == PlaceKind::Box).collect();
        let after = boxes.iter().fold(before, |text, makeup| as_built(&text, &job, &wiring.network, makeup));
        let built_job = read(&after);
        let built = Wiring::of(&built_job);
        assert_eq!(built.problems, [], "{name}");
        assert_eq!(found(&built_job, &built), Vec::<String>::new(), "{name}");
        let differences = storystick_engine::wiring::compare(&built_job, &built.network, &built.plan, &built.makeups);
        assert_eq!(differences, [], "{name}");
        assert_eq!(built.makeups.iter().filter(|makeup| makeup.as_built).count(), boxes.len(), "{name}");
    }
}

#[test]
fn the_catalogue_holds_at_least_forty_entries() {
    assert!(ARRANGEMENTS.len() + super::mistakes::COUNT >= 40 + 20, "{}", ARRANGEMENTS.len());
}
