//! A code so small that a test can know all of it: one edition, a county, a city in it, a shop. All of it is invented.

/// The files of the little rulesets.
pub(crate) const RULESETS: &[(&str, &str)] = &[
    ("little/edition/ruleset.toml", EDITION),
    ("little/edition/code/entries.toml", ENTRIES),
    ("little/edition/rules/rules.rhai", EDITION_RULES),
    ("little/edition/trials/trials.toml", TRIALS),
    ("little/county/ruleset.toml", COUNTY),
    ("little/city/ruleset.toml", CITY),
    ("little/shop/ruleset.toml", SHOP),
];

const EDITION: &str = r#"id = "little/edition"
title = "Little edition"
kind = "edition"
version = "3"
reviewed = 2023-01-02
source = "invented for these tests"
"#;

const ENTRIES: &str = r#"[staple.from_box]
value = "12 in"
cites = "1.1"
checked = "law_text"

[wire.breaker]
key = "conductor"
rows = { "14 AWG" = "15 A", "12 AWG" = "20 A" }
cites = "1.2"
checked = "law_text"

[height.switch_box]
value = "48 in"
cites = "1.3"
checked = "memory"

[circuit.most_for_devices]
value = "15 A"
cites = "1.6"
checked = "law_text"
"#;

pub(crate) const EDITION_RULES: &str = r#"/// A staple holds the cable close to its box. Farther off it can be pulled out.
rule "staple-near-box" on cable_end at rough_in cites "1.1" {
    applies where end.is_at_box;
    keep end.first_support at_most code.staple.from_box
        else "add a staple closer to the box";
}

/// The wire is thick enough for its breaker.
rule "wire-fits-breaker" on cable at rough_in cites "1.2" was "breaker-fits-wire" {
    keep cable.circuit.rating at_most code.wire.breaker[cable.size]
        else "fit a smaller breaker";
}

/// A switch box hangs no higher than people reach.
rule "switch-not-too-high" on box at layout cites "1.3" weighs caution {
    applies where box.purpose == "switch";
    keep box.top_edge at_most code.height.switch_box
        else "hang it lower";
}

/// Grounds are made up before the boxes are seen.
rule "grounds-made-up-here" on box at rough_in cites "1.4" weighs note {
    applies where box.purpose != "switch";
    need box.grounds_made_up
        else "make the grounds up";
}

/// Boxes are plumb and whole.
rule "boxes-plumb" on room at rough_in cites "1.5" {
    look "boxes plumb and whole";
}

/// A device is fitted with its cover at the last inspection.
rule "device-circuit-on" on device at final cites "1.6" {
    keep device.circuit.rating at_most code.circuit.most_for_devices
        else "move it to a smaller circuit";
}

/// Appliances have a circuit.
rule "appliance-on-circuit" on appliance at layout cites "1.7" {
    need appliance.circuit != none;
}
"#;

const TRIALS: &str = r#"[base.two-boxes]
panel = [{ id = "P1" }]
circuit = [{ id = "1", rating = "15 A" }]
room = [{ id = "shed", kind = "workshop", length = "10 ft", width = "8 ft" }]
box = [
  { id = "B1", room = "shed", wall = "north", along = "2 ft", purpose = "receptacle" },
  { id = "B2", room = "shed", wall = "north", along = "6 ft", purpose = "receptacle" },
]

[[trial]]
rule = "staple-near-box"
name = "a staple at 10 in"
base = "two-boxes"
expect = "met"
item = "C1/to"
found = "10 in"
job.cable = [{ id = "C1", make = "14/2", circuit = "1", from = "P1", to = { at = "B1", first_support = "10 in" } }]

[[trial]]
rule = "staple-near-box"
name = "a staple at 13 in"
base = "two-boxes"
expect = "correction"
item = "C1/to"
found = "13 in"
job.cable = [{ id = "C1", make = "14/2", circuit = "1", from = "P1", to = { at = "B1", first_support = "13 in" } }]

[[trial]]
rule = "staple-near-box"
name = "no staple written down"
base = "two-boxes"
expect = "to_measure"
item = "C1/to"
job.cable = [{ id = "C1", make = "14/2", circuit = "1", from = "P1", to = "B1" }]

[[trial]]
rule = "wire-fits-breaker"
name = "thin wire on its breaker"
base = "two-boxes"
expect = "met"
job.cable = [{ id = "C1", make = "14/2", circuit = "1", from = "P1", to = "B1" }]
"#;

const COUNTY: &str = r#"id = "little/county"
title = "Little county"
kind = "jurisdiction"
version = "2"
reviewed = 2023-02-03
source = "invented for these tests"

[[adopts]]
ruleset = "little/edition"
from = 2021-07-01
cites = "Ord. 1"

[[amends]]
entry = "staple.from_box"
value = "8 in"
cites = "Ord. 2"
from = 2022-01-01
checked = "law_text"
"#;

const CITY: &str = r#"id = "little/city"
title = "Little city"
kind = "jurisdiction"
version = "1"
reviewed = 2023-03-04
source = "invented for these tests"
within = "little/county"

[[amends]]
omit = "boxes-plumb"
cites = "Chapter 5"
checked = "law_text"
"#;

const SHOP: &str = r#"id = "little/shop"
title = "Little shop"
kind = "shop"
version = "1"
reviewed = 2023-04-05
source = "invented for these tests"

[[amends]]
reweigh = "switch-not-too-high"
weight = "note"
cites = "shop book"
checked = "law_text"
"#;

/// A shed: two things to put right, one caution, one note, three values not recorded.
pub(crate) const JOB: &str = r#"format = 1

[site]
name = "Shed, 5 Alder Row"
permit_date = 2023-05-10
jurisdiction = "little/county"
stage = "rough_in"

[[panel]]
id = "P1"

[[circuit]]
id = "1"
rating = "20 A"

[[room]]
id = "shed"
name = "Shed"
kind = "workshop"
length = "14 ft"
width = "12 ft"

[[box]]
id = "B1"
room = "shed"
wall = "north"
along = "3 ft"
purpose = "receptacle"
grounds_made_up = false

[[box]]
id = "B2"
room = "shed"
wall = "north"
along = "6 ft"
purpose = "switch"
top = "50 in"

[[device]]
id = "R1"
box = "B1"
circuit = "1"
kind = "receptacle"

[[cable]]
id = "C1"
make = "12/2"
circuit = "1"
from = "P1"
to = { at = "B1", first_support = "6 in" }

[[cable]]
id = "C2"
make = "14/2"
circuit = "1"
from = { at = "B1", first_support = "13 in" }
to = "B2"
"#;
