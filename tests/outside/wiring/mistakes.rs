//! Mistakes, each with what must be found and where.

use super::edit::Edit::{self, Drop, Join, Land, Move, Swap};
use super::edit::built;
use super::{found, job_file, read};
use storystick_engine::wiring::Wiring;

const SWITCHED: &str =
    "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\nswitch S A 1 L1 single_pole\nlight L1 L 1";
const LOOP: &str = "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A | white_remarked = false\nswitch S A 1 L1 single_pole\nlight L1 L 1";
const THREE_WAY: &str = "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\ncable C3 14/2 1 B L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1";
const CHAIN: &str =
    "circuit 1\nbox A\nbox B\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\nreceptacle R1 A 1\nreceptacle R2 B 1";
const GFCI: &str = "circuit 1\nbox A\nbox B\ncable C1 12/2 1 P1 A\ncable C2 12/2 1 A B\nreceptacle R1 A 1 | gfci = true\nreceptacle R2 B 1 | gfci_from = \"R1\"";
const TWO: &str = "circuit 1\ncircuit 2\nbox A\nbox B\nbox C\ncable C1 12/2 1 P1 A\ncable C2 12/2 2 P1 A\ncable C3 12/2 1 A B\ncable C4 12/2 2 A C\nreceptacle R1 B 1\nreceptacle R2 C 2";
const MULTI: &str = "circuit 1 | multiwire_with = \"3\"\ncircuit 3\nbox A\nbox B\ncable C1 12/3 1 P1 A | second_circuit = \"3\"\ncable C2 12/3 1 A B | second_circuit = \"3\"\nreceptacle R1 A 1\nreceptacle R2 B 3";
const RANGE: &str = "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\nbox A\nbox B\ncable C1 6/3 1 P1 A\ncable C2 6/3 1 A B\nreceptacle R1 B 1";
const HALF: &str = "circuit 1\nbox A\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A B\nswitch S A 1 R1 single_pole\nreceptacle R1 B 1 | switched = \"half\"";
const AFTER: &str = "circuit 1\nbox A\nbox L\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\ncable C3 14/2 1 L B\nswitch S A 1 L1 single_pole\nlight L1 L 1\nreceptacle R1 B 1";
const LIGHTS: &str = "circuit 1\nbox A\nbox L\nbox M\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\ncable C3 14/2 1 L M\nswitch S A 1 L1,L2 single_pole\nlight L1 L 1\nlight L2 M 1";

/// Name, job, box, mistakes made in it, and what must be among what is found.
type Mistake<'a> = (&'a str, &'a str, &'a str, &'a [Edit<'a>], &'a [&'a str]);

const MISTAKES: &[Mistake<'_>] = &[
    ("hot spliced to neutral", CHAIN, "A", &[Join("C1/to.white", "C1/to.black")], &["short_to_neutral A"]),
    ("hot spliced to ground", CHAIN, "A", &[Join("C1/to.bare", "C1/to.black")], &["short_to_ground A"]),
    ("short only with the switch on", SWITCHED, "A", &[Join("S.brass_2", "C2/from.white")], &["short_to_neutral A"]),
    ("both legs spliced", RANGE, "A", &[Join("C1/to.black", "C1/to.red")], &["short_line_to_line A"]),
    (
        "switch in the neutral",
        SWITCHED,
        "A",
        &[Swap("C1/to.black", "C1/to.white"), Swap("C2/from.black", "C2/from.white")],
        &["neutral_switched S", "neutral_switched L1"],
    ),
    (
        "neutral through the switch, hot past it",
        SWITCHED,
        "A",
        &[
            Drop("C2/from.white"),
            Drop("C1/to.white"),
            Move("C2/from.black", "C1/to.black"),
            Move("S.brass", "C1/to.white"),
            Move("C2/from.white", "S.brass_2"),
        ],
        &["neutral_switched S", "neutral_switched L1"],
    ),
    (
        "hots of a multiwire circuit exchanged",
        MULTI,
        "A",
        &[Swap("C1/to.black", "C1/to.red")],
        &["other_circuit R1", "other_circuit R2"],
    ),
    ("neutral left open", SWITCHED, "A", &[Drop("C2/from.white")], &["neutral_open L1", "loose A"]),
    (
        "neutral left open before two receptacles",
        CHAIN,
        "A",
        &[Drop("C1/to.white")],
        &["loose A", "neutral_open R1", "neutral_open R2"],
    ),
    ("ground left off a device", CHAIN, "A", &[Drop("R1.green")], &["ground_missing R1"]),
    ("ground not carried on", CHAIN, "A", &[Drop("C2/from.bare")], &["ground_missing R2"]),
    (
        "ground over a switch",
        SWITCHED,
        "A",
        &[
            Drop("C2/from.bare"),
            Move("S.brass", "C1/to.bare"),
            Move("C2/from.black", "C1/to.black"),
            Land("C2/from.bare", "S.brass_2"),
        ],
        &["ground_switched L1"],
    ),
    (
        "switched leg on the ground of the light",
        SWITCHED,
        "A",
        &[Swap("C2/from.bare", "C2/from.black")],
        &["frame_live L1", "bare_used C2"],
    ),
    ("hot and neutral crossed at a receptacle", CHAIN, "A", &[Swap("R1.brass", "R1.silver")], &["reversed R1"]),
    (
        "hot and neutral crossed on the way",
        CHAIN,
        "A",
        &[Swap("C2/from.black", "C2/from.white")],
        &["reversed R2", "neutral_not_white C2"],
    ),
    (
        "two lights in series",
        LIGHTS,
        "L",
        &[Drop("L1.neutral"), Drop("C3/from.black"), Land("C3/from.black", "L1.neutral")],
        &["in_series L1", "in_series L2"],
    ),
    (
        "switch with both screws on the hot",
        SWITCHED,
        "A",
        &[Join("S.brass", "S.brass_2")],
        &["switch_does_nothing S", "control_wrong L1"],
    ),
    (
        "light taken past its switch",
        SWITCHED,
        "A",
        &[Move("C2/from.black", "C1/to.black")],
        &["control_wrong L1", "switch_does_nothing S"],
    ),
    ("common and traveller crossed", THREE_WAY, "A", &[Swap("S1.common", "S1.traveller")], &["control_wrong L1"]),
    (
        "common and traveller crossed at the second switch",
        THREE_WAY,
        "B",
        &[Swap("S2.common", "S2.traveller_2")],
        &["control_wrong L1"],
    ),
    ("traveller left open", THREE_WAY, "B", &[Drop("S2.traveller")], &["control_wrong L1"]),
    ("receptacle dead", CHAIN, "A", &[Drop("C2/from.black")], &["dead R2", "loose A"]),
    ("receptacle on the switched leg", AFTER, "L", &[Move("C3/from.black", "L1.hot")], &["switched_by_surprise R1"]),
    (
        "tab left on a half-switched receptacle",
        HALF,
        "B",
        &[Join("R1.brass", "R1.brass_2")],
        &["control_wrong R1", "switch_does_nothing S"],
    ),
    ("halves crossed", HALF, "B", &[Swap("R1.brass", "R1.brass_2")], &["switched_by_surprise R1", "control_wrong R1"]),
    ("neutrals of two circuits spliced", TWO, "A", &[Join("C1/to.white", "C2/to.white")], &["neutrals_joined A"]),
    (
        "neutral borrowed",
        TWO,
        "A",
        &[Move("C3/from.white", "C4/from.white")],
        &["neutral_borrowed R1", "net_current C1"],
    ),
    (
        "neutrals of two circuits crossed",
        TWO,
        "A",
        &[Swap("C1/to.white", "C2/to.white")],
        &["neutral_borrowed R1", "neutral_borrowed R2", "net_current C1"],
    ),
    ("hots of two circuits spliced", TWO, "A", &[Join("C1/to.black", "C2/to.black")], &["circuits_joined A"]),
    (
        "multiwire neutral carried by a receptacle",
        MULTI,
        "A",
        &[Drop("C2/from.white"), Land("C2/from.white", "R1.silver_2")],
        &["neutral_through_device R1"],
    ),
    (
        "GFCI line and load crossed",
        GFCI,
        "A",
        &[Swap("R1.line_hot", "R1.load_hot"), Swap("R1.line_neutral", "R1.load_neutral")],
        &["line_load_reversed R1"],
    ),
    (
        "receptacle ahead of the GFCI meant to protect it",
        GFCI,
        "A",
        &[Move("C2/from.black", "C1/to.black"), Move("C2/from.white", "C1/to.white")],
        &["not_behind_gfci R2"],
    ),
    ("neutral round the GFCI", GFCI, "A", &[Move("C2/from.white", "C1/to.white")], &["neutral_past_gfci R2"]),
    ("ground used for the neutral", CHAIN, "B", &[Swap("R2.silver", "R2.green")], &["ground_carries_current R2"]),
    ("neutral spliced to ground", CHAIN, "A", &[Join("C1/to.white", "C1/to.bare")], &["neutral_grounded A"]),
    ("range on one leg twice", RANGE, "A", &[Move("C2/from.red", "C1/to.black")], &["dead R1"]),
    ("range with neutral and hot crossed", RANGE, "A", &[Swap("C2/from.red", "C2/from.white")], &["wrong_voltage R1"]),
    ("re-marked white as the return of a loop", LOOP, "A", &[Swap("S.brass", "S.brass_2")], &["white_not_marked C2"]),
    (
        "white of the loop swapped with black at both ends",
        LOOP,
        "L",
        &[Swap("C2/from.black", "C2/from.white")],
        &["white_returns C2"],
    ),
    (
        "unused conductor without a cap",
        "circuit 1\nbox A\nbox B\ncable C1 12/2 1 P1 A\ncable C2 12/3 1 A B\nreceptacle R1 A 1\nreceptacle R2 B 1",
        "B",
        &[Drop("C2/to.red")],
        &["loose B"],
    ),
];

/// What can't be made from the cables, by the words of the gap.
const GAPS: &[(&str, &str, &str)] = &[
    (
        "no traveller",
        "circuit 1\nbox A\nbox B\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A B\ncable C3 14/2 1 B L\nswitch S1 A 1 L1 three_way\nswitch S2 B 1 L1 three_way\nlight L1 L 1",
        "cable `C2` has 2 insulated conductors and needs 3",
    ),
    (
        "no cable to a box",
        "circuit 1\nbox A\nbox B\ncable C1 14/2 1 P1 A\nreceptacle R1 A 1\nreceptacle R2 B 1",
        "no cable of circuit `1` reaches `R2` in box `B`",
    ),
    (
        "no conductor for the neutral",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\nswitch S A 1 L1 single_pole | neutral_at_switch = true\nlight L1 L 1",
        "the neutral that is said to be at switch `S` has no conductor in cable `C2`",
    ),
    (
        "three-way without mate",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\nswitch S A 1 L1 three_way\nlight L1 L 1",
        "three-way switch `S` has no mate",
    ),
    (
        "two single-pole switches on one light",
        "circuit 1\nbox A\nbox L\ncable C1 14/2 1 P1 A\ncable C2 14/3 1 A L\nswitch S A 1 L1 single_pole\nswitch T A 1 L1 single_pole\nlight L1 L 1",
        "`S`, `T` can't control the same load together",
    ),
    (
        "single-pole switch on a two-pole load",
        "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\nbox A\ncable C1 10/2 1 P1 A\ncable C2 10/2 1 A AC\nswitch D A 1 AC single_pole\nappliance AC air_conditioner 1",
        "`D` and what it controls don't open the same conductors",
    ),
];

/// Mistakes that need no box as built.
const PLAIN: &[(&str, &str, &[&str])] = &[
    (
        "multiwire circuits on one leg",
        "circuit 1 | multiwire_with = \"5\"\ncircuit 5\nbox A\ncable C1 12/3 1 P1 A | second_circuit = \"5\"\nreceptacle R1 A 1\nreceptacle R2 A 5",
        &["same_leg 1"],
    ),
    ("white of a switch loop not re-marked", LOOP, &["white_not_marked C2"]),
    (
        "white of a two-pole load not re-marked",
        "circuit 1 | poles = 2; positions = [1, 3]; voltage = \"240 V\"\ncable C1 10/2 1 P1 WH | white_remarked = false\nappliance WH water_heater 1",
        &["white_not_marked C1"],
    ),
    (
        "second neutral of a four-conductor cable, which is not white",
        "circuit 1\ncircuit 3\nbox A\nbox B\ncable C1 12/4 1 P1 A | second_circuit = \"3\"\ncable C2 12/2 3 A B\nreceptacle R1 A 1\nreceptacle R2 B 3",
        &["neutral_not_white C1"],
    ),
    (
        "no ground in the cable",
        "circuit 1\nbox A\ncable C1 12/2 1 P1 A | ground = false\nreceptacle R1 A 1",
        &["ground_missing R1"],
    ),
];

/// Entries of this part of the catalogue.
pub(super) const COUNT: usize = MISTAKES.len() + GAPS.len() + PLAIN.len();

#[test]
fn every_mistake_is_found_where_it_was_made() {
    let mut missed = Vec::new();
    for (name, short, id, edits, wanted) in MISTAKES {
        let text = job_file(short);
        let job = read(&text);
        let plan = Wiring::of(&job);
        assert_eq!(plan.plan.gaps, [], "{name}");
        let job = read(&built(&text, &job, &plan, id, edits));
        let wiring = Wiring::of(&job);
        assert_eq!(wiring.problems, [], "{name}");
        let found = found(&job, &wiring);
        if !wanted.iter().all(|fault| found.iter().any(|other| other == fault)) {
            missed.push(format!("{name}: wanted {wanted:?}, found {found:?}"));
        }
        let differences = storystick_engine::wiring::compare(&job, &wiring.network, &wiring.plan, &wiring.makeups);
        // Screws that are one inside their device, and what lies loose, are no joints that differ.
        let same_by_nature =
            wanted.iter().any(|fault| fault.starts_with("neutral_through") || fault.starts_with("loose B"))
                || matches!(edits, [Swap("S.brass", "S.brass_2")]);
        if differences.is_empty() && !same_by_nature {
            missed.push(format!("{name}: no difference from the plan"));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn what_the_cables_cannot_make_is_said_with_what_would_do() {
    for (name, short, wanted) in GAPS {
        let wiring = Wiring::of(&read(&job_file(short)));
        let told: Vec<String> = wiring.plan.gaps.iter().map(|gap| format!("{} ({})", gap.message, gap.help)).collect();
        assert!(told.iter().any(|gap| gap.contains(wanted)), "{name}: {told:?}");
        assert!(wiring.plan.gaps.iter().all(|gap| !gap.help.is_empty() && gap.span.is_some()), "{name}");
    }
}

#[test]
fn mistakes_of_plan_and_panel_are_found() {
    for (name, short, wanted) in PLAIN {
        let job = read(&job_file(short));
        let wiring = Wiring::of(&job);
        assert_eq!(wiring.plan.gaps, [], "{name}");
        assert_eq!(found(&job, &wiring), *wanted, "{name}");
    }
}
