//! One requirement in many spellings gives one proposal: it follows what a rule asks for, never how the rule words it. And a proposal never
//! has more to put right than the plain plan, whatever a place asks for.

use serde_json::Value;

use crate::support::{Folder, Ran};

const MANIFEST: &str = r#"id = "our-town"
title = "Our Town"
kind = "jurisdiction"
version = "1"
reviewed = 2026-11-25
source = "invented for these tests"
checked = "law_text"
within = "demo/harlow-county"
"#;

/// A dwelling that one circuit for receptacles and one for lights would feed.
const ANSWERS: &str = r#"name Little House
place demo/harlow-county
permit-date 2024-05-10
shop shop/three-gable
room hallway 18x4 "Hall"
door south 1 36in latch-end outdoors
door north 5 32in to bedroom-1
door north 14 32in to bedroom-2
room bedroom 12x12 "Bedroom 1"
door south 1 32in latch-end to hall
window north 4 5ft sill 30in
room bedroom 12x11 "Bedroom 2"
door south 1 32in latch-end to hall
window north 4 5ft sill 30in
"#;

/// One spelling of a requirement.
struct Spelling<'t> {
    /// Id of the rule.
    id: &'t str,
    /// Name of the entry, without `code.`.
    entry: &'t str,
    /// The kind it is on.
    kind: &'t str,
    /// The block, with `ENTRY` for the entry and `ADVICE` for the advice.
    block: &'t str,
    /// What to do, in words that mean nothing to a proposal.
    advice: &'t str,
}

/// A place within the demo county, and a house there.
struct Town {
    folder: Folder,
    job: String,
}

impl Town {
    fn new() -> Town {
        let folder = Folder::empty();
        folder.write("answers.txt", ANSWERS);
        let made = folder.run("start job.toml --answers answers.txt");
        assert_eq!(made.status, 0, "{made:?}");
        let job = folder.read("job.toml").replace("\"demo/harlow-county\"", "\"our-town\"");
        assert!(job.contains("\"our-town\""), "{job}");
        folder.write("town/our-town/ruleset.toml", MANIFEST);
        Town { folder, job }
    }

    /// Sets the rules and values of the town.
    fn decree(&self, code: &str, rules: &str) {
        self.folder.write("town/our-town/code/values.toml", code);
        self.folder.write("town/our-town/rules/rules.rhai", rules);
    }

    /// Proposes the house anew and returns its text.
    fn proposed(&self) -> (Ran, String) {
        self.folder.write("job.toml", &self.job);
        let ran = self.folder.run("propose job.toml --rulesets town");
        assert!(ran.status < 2, "{ran:?}");
        (ran, self.folder.read("job.toml"))
    }

    /// Proposes under one spelling.
    fn spelled(&self, value: &str, spelling: &Spelling<'_>) -> (Ran, String) {
        let (table, key) = spelling.entry.rsplit_once('.').unwrap();
        let of = if value.starts_with('[') { "list" } else { "value" };
        self.decree(
            &format!("[{table}.{key}]\n{of} = {value}\ncites = \"Our Town Code 1\"\n"),
            &format!(
                "/// The town asks for this.\nrule \"{}\" on {} at layout cites \"Our Town Code 1\" {{\n{}\n}}\n",
                spelling.id,
                spelling.kind,
                spelling
                    .block
                    .replace("ENTRY", &format!("code.{}", spelling.entry))
                    .replace("ADVICE", &format!("else \"{}\"", spelling.advice)),
            ),
        );
        self.proposed()
    }

    /// Inspects the house as it stands under the rules of the town.
    fn inspected(&self) -> Value {
        let ran = self.folder.run("inspect job.toml --rulesets town --stage final --on 2026-11-25 --format json");
        assert!(ran.status < 2, "{ran:?}");
        ran.json()["jobs"][0].clone()
    }
}

const ADVICES: [&str; 4] = [
    "split the circuit",
    "take another route, or split the circuit",
    "use a larger size of conductor, or another wiring_method",
    "add a receptacle with is_gfci_protected, or ask about its rating at_least once",
];

/// Every block gives the same proposal, in which nothing is left to put right and which differs from the plain one.
fn alike(value: &str, kinds_and_blocks: &[(&str, &str)]) {
    let town = Town::new();
    town.decree("", "");
    let (_, plain) = town.proposed();
    let ids = ["our-town-asks", "our-town-conductor-size", "our-town-route"];
    let entries =
        ["our_town.most_outlets", "our_town.circuit_size", "our_town.route_of_wiring_method", "our_town.rating"];
    let mut first: Option<String> = None;
    let mut tried = 0;
    for (n, (kind, block)) in kinds_and_blocks.iter().enumerate() {
        // The first in plain words; the others under names and advice that would lead astray who reads them.
        let spelling = Spelling {
            id: ids[n % ids.len()],
            entry: entries[n % entries.len()],
            kind,
            block,
            advice: ADVICES[n % ADVICES.len()],
        };
        let told = format!("{block} as {} of {} with {}", spelling.id, spelling.entry, spelling.advice);
        let (ran, text) = town.spelled(value, &spelling);
        assert_eq!(ran.status, 0, "{told}: {ran:?}");
        assert_ne!(text, plain, "{told}: nothing was learned");
        let first = first.get_or_insert_with(|| text.clone());
        assert!(text == *first, "{told}: another proposal:\n{}", difference(first, &text));
        tried += 1;
    }
    assert!(tried >= 10, "{tried}");
}

fn difference(a: &str, b: &str) -> String {
    similar::TextDiff::from_lines(a, b)
        .unified_diff()
        .context_radius(0)
        .to_string()
        .lines()
        .take(40)
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn fewer_outlets_on_a_circuit() {
    let counted = |rest: &str| {
        format!(
            "let receptacles = count d in circuit.devices where d.kind == \"receptacle\";
             let lights = count l in circuit.luminaires;
             let outlets = receptacles + lights;
             {rest}"
        )
    };
    let blocks = [
        "keep outlets at_most ENTRY ADVICE;",
        "keep ENTRY at_least outlets ADVICE;",
        "keep receptacles + lights at_most ENTRY ADVICE;",
        "keep outlets + 1 at_most ENTRY + 1 ADVICE;",
        "keep ENTRY - outlets at_least 0 ADVICE;",
        "keep outlets - ENTRY at_most 0 ADVICE;",
        "keep lights at_most ENTRY - receptacles ADVICE;",
        "keep outlets between 0 and ENTRY ADVICE;",
        "keep max(outlets, 1) at_most ENTRY ADVICE;",
        "keep outlets / ENTRY at_most 1 ADVICE;",
        "need outlets <= ENTRY ADVICE;",
        "need ENTRY >= outlets ADVICE;",
        "need outlets < ENTRY + 1 ADVICE;",
        "need !(outlets > ENTRY) ADVICE;",
        "let safe = outlets <= ENTRY; need safe ADVICE;",
        "let crowded = ENTRY < outlets; need !crowded ADVICE;",
        "need outlets <= ENTRY || circuit.serves == \"heating\" ADVICE;",
        "if circuit.serves == \"heating\" { need circuit.gfci; } else { need outlets <= ENTRY ADVICE; }",
    ]
    .map(counted);
    let blocks: Vec<(&str, &str)> = blocks.iter().map(|block| ("circuit", block.as_str())).collect();
    alike("6", &blocks);
}

#[test]
fn protection_of_receptacles() {
    let on_device =
        |condition: &str| format!("if device.kind == \"receptacle\" && device.room.kind in ENTRY {{\n{condition}\n}}");
    let blocks = [
        "need device.is_gfci_protected ADVICE;",
        "let safe = device.is_gfci_protected; need safe ADVICE;",
        "let bare = !device.is_gfci_protected; need !bare ADVICE;",
        "keep device.is_gfci_protected equal_to true ADVICE;",
        "keep true equal_to device.is_gfci_protected ADVICE;",
        "need device.is_gfci_protected == true ADVICE;",
        "need device.is_gfci_protected != false ADVICE;",
        "need !(device.is_gfci_protected == false) ADVICE;",
        "need !!device.is_gfci_protected ADVICE;",
        "need device.is_gfci_protected || device.circuit.gfci ADVICE;",
        "need device.circuit.gfci || device.gfci ADVICE;",
    ]
    .map(on_device);
    let mut blocks: Vec<(&str, &str)> = blocks.iter().map(|block| ("device", block.as_str())).collect();
    blocks.push((
        "circuit",
        "need every d in circuit.devices where d.kind != \"receptacle\" || !(d.room.kind in ENTRY) || d.is_gfci_protected ADVICE;",
    ));
    blocks.push((
        "circuit",
        "need !(any d in circuit.devices where d.kind == \"receptacle\" && d.room.kind in ENTRY && !d.is_gfci_protected) ADVICE;",
    ));
    alike("[\"bedroom\"]", &blocks);
}

#[test]
fn larger_conductors() {
    let on_cable = |condition: &str| format!("if cable.circuit.serves == \"general\" {{\n{condition}\n}}");
    let blocks = [
        "keep cable.size at_least ENTRY ADVICE;",
        "keep ENTRY at_most cable.size ADVICE;",
        "let thick = cable.size; keep thick at_least ENTRY ADVICE;",
        "need cable.size >= ENTRY ADVICE;",
        "need ENTRY <= cable.size ADVICE;",
        "need !(cable.size < ENTRY) ADVICE;",
        "let thin = cable.size < ENTRY; need !thin ADVICE;",
        "let safe = cable.size >= ENTRY; need safe ADVICE;",
        "keep min(cable.size, ENTRY) at_least ENTRY ADVICE;",
        "keep cable.circuit.smallest_conductor at_least ENTRY ADVICE;",
    ]
    .map(on_cable);
    let mut blocks: Vec<(&str, &str)> = blocks.iter().map(|block| ("cable", block.as_str())).collect();
    blocks.push((
        "circuit",
        "if circuit.serves == \"general\" { keep circuit.smallest_conductor at_least ENTRY ADVICE; }",
    ));
    blocks.push((
        "circuit",
        "if circuit.serves == \"general\" { need every c in circuit.cables where c.size >= ENTRY ADVICE; }",
    ));
    alike("\"10 AWG\"", &blocks);
}

/// What no choice of a proposal puts right is told, and nothing is written for it.
#[test]
fn what_a_rule_does_not_say_is_left_to_the_person() {
    let town = Town::new();
    town.decree("", "");
    let (_, plain) = town.proposed();
    let outlets = "let outlets = count d in circuit.devices where d.kind == \"receptacle\";";
    for block in [
        // A condition that leads to a need that can't be met names nothing to change.
        format!("{outlets} if outlets > ENTRY {{ let never = ENTRY > ENTRY; need never ADVICE; }}"),
        String::from(
            "if circuit.serves == \"general\" { need circuit.label == \"size, route and receptacle\" ADVICE; }",
        ),
        String::from("if circuit.serves == \"general\" { keep circuit.poles at_least ENTRY ADVICE; }"),
    ] {
        for advice in ADVICES {
            let spelling = Spelling {
                id: "our-town-asks",
                entry: "our_town.circuit_size",
                kind: "circuit",
                block: &block,
                advice,
            };
            let (ran, text) = town.spelled("6", &spelling);
            assert_eq!(ran.status, 1, "{block}: {ran:?}");
            assert!(text == plain, "{block}, {advice}: something was written\n{}", difference(&plain, &text));
            assert!(ran.out.contains("left in what is proposed, for want of a choice that puts it right"), "{ran:?}");
        }
    }
}

const IMPOSSIBLE: [(&str, &str); 9] = [
    (
        "circuit",
        "let outlets = count d in circuit.devices where d.kind == \"receptacle\"; keep outlets at_most code.our_town.none;",
    ),
    ("cable", "keep cable.size at_least code.our_town.huge;"),
    ("cable", "need cable.size >= code.our_town.huge;"),
    ("cable", "need cable.wiring_method == \"SE\";"),
    ("circuit", "keep circuit.rating at_least code.our_town.service;"),
    ("room", "keep room.receptacles_counted at_least code.our_town.many;"),
    ("box", "keep box.centre at_least code.our_town.high;"),
    ("device", "need device.is_gfci_protected && !device.circuit.gfci && !device.gfci;"),
    ("circuit", "need circuit.gfci; need !circuit.gfci;"),
];

const EXTREMES: &str = r#"
[our_town.none]
value = 0
cites = "Our Town Code 2"

[our_town.many]
value = 40
cites = "Our Town Code 2"

[our_town.huge]
value = "4/0 AWG"
cites = "Our Town Code 2"

[our_town.service]
value = "400 A"
cites = "Our Town Code 2"

[our_town.high]
value = "20 ft"
cites = "Our Town Code 2"
"#;

/// What nothing can meet is asked for, rule by rule and all at once: there is never more to put right than in the plain proposal, and
/// neither conductors nor circuits grow without end.
#[test]
fn a_proposal_is_never_worse_than_the_plain_one() {
    let town = Town::new();
    let rule = |(n, (kind, block)): (usize, &(&str, &str))| {
        format!(
            "/// The town asks for this.\nrule \"our-town-{n}-asks\" on {kind} at layout cites \"Our Town Code 2\" {{\n{block}\n}}\n"
        )
    };
    let rules: Vec<String> = IMPOSSIBLE.iter().enumerate().map(rule).collect();
    let all = rules.concat();
    // The plain proposal knows nothing of these rules.
    town.decree(EXTREMES, "");
    let (_, plain) = town.proposed();
    let circuits = |text: &str| text.matches("[[circuit]]").count();
    for rules in rules.iter().chain([&all]) {
        town.decree(EXTREMES, rules);
        town.folder.write("job.toml", &plain);
        let before = town.inspected()["tally"]["correction"].as_u64().unwrap();
        assert!(before > 0, "{rules} asks for nothing");
        let (ran, text) = town.proposed();
        let after = town.inspected()["tally"]["correction"].as_u64().unwrap();
        // In tubing there is no cable that could be of the wrong sort.
        assert_eq!(ran.status, i32::from(after > 0), "{rules}: {ran:?}");
        assert!(after <= before, "{rules}: {after} corrections instead of {before}");
        assert!(circuits(&text) <= 2 * circuits(&plain), "{rules}: {} circuits", circuits(&text));
        for thick in ["\"2/2\"", "\"1/2\"", "\"4/2\"", "4/0"] {
            assert!(!text.contains(thick), "{rules}: a cable of {thick}");
        }
    }
}
