//! What rules ask for, in one spelling after the other.

use jiff::civil::date;

use super::*;
use crate::book::RulesetText;
use crate::inspection::{Inspected, Inspector, JobText, Options};
use crate::model::Stage;
use crate::quantity::UnitSystem;

const EDITION: &str = r#"
id = "test/edition"
title = "Code of the tests"
kind = "edition"
version = "1"
reviewed = 2026-01-01
source = "invented"
checked = "law_text"
"#;

const TOWN: &str = r#"
id = "test/town"
title = "Town of the tests"
kind = "jurisdiction"
version = "1"
reviewed = 2026-01-01
source = "invented"
checked = "law_text"

[[adopts]]
ruleset = "test/edition"
from = 2020-01-01
by = "permit_date"
cites = "1"
"#;

const CODE: &str = r#"
[t.limit]
value = "15 A"
cites = "1"

[t.nothing]
value = "0 A"
cites = "1"

[t.twice]
value = 2
cites = "1"

[t.few]
value = 1
cites = "1"

[t.share]
value = "600 VA"
cites = "1"

[t.ratings]
list = ["15 A", "40 A"]
cites = "1"

[t.methods]
list = ["MC", "AC"]
cites = "1"

[t.largest]
key = "conductor"
rows = { "14 AWG" = "15 A", "12 AWG" = "20 A", "10 AWG" = "30 A" }
cites = "1"
"#;

const JOB: &str = r#"
format = 1

[site]
jurisdiction = "test/town"
permit_date = 2023-05-10
stage = "final"

[[panel]]
id = "P1"

[[circuit]]
id = "1"
rating = "30 A"
voltage = "120 V"

[[box]]
id = "B1"

[[device]]
id = "R1"
box = "B1"
circuit = "1"
kind = "receptacle"
gfci = true

[[device]]
id = "R2"
box = "B1"
circuit = "1"
kind = "receptacle"

[[appliance]]
id = "A1"
circuit = "1"
kind = "other"
load = "500 VA"

[[appliance]]
id = "A2"
circuit = "1"
kind = "other"
load = "700 VA"

[[cable]]
id = "C1"
circuit = "1"
make = "12/2"
wiring_method = "NM"
from = "P1"
to = "B1"
"#;

/// Inspects the job under one rule.
fn inspected(kind: &str, body: &str) -> Inspected {
    let rule = format!("/// It is asked for.\nrule \"it-is-asked\" on {kind} at layout cites \"1\" {{ {body} }}\n");
    let file = |path: &str, text: &str| RulesetText::in_folder("tests", path, text);
    let mut inspector = Inspector::new(vec![
        file("test/edition/ruleset.toml", EDITION),
        file("test/edition/code/values.toml", CODE),
        file("test/edition/rules/rules.rhai", &rule),
        file("test/town/ruleset.toml", TOWN),
    ]);
    let mut options = Options::on(date(2023, 8, 1));
    options.stage = Some(Stage::Final);
    options.met = true;
    let text = JobText { name: String::from("job.toml"), text: JOB.into() };
    let prepared = inspector.prepare(text, &options).unwrap_or_else(|failure| panic!("{body}: {:?}", failure.problems));
    let inspected =
        inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{body}: {:?}", failure.problems));
    assert!(inspected.report.faults.is_empty(), "{body}: {:?}", inspected.report.faults);
    inspected
}

fn shown(value: &Shown) -> String {
    match value {
        Shown::Quantity(quantity) => quantity.print(UnitSystem::Customary),
        Shown::Flag(flag) => flag.to_string(),
        Shown::Text(text) => text.clone(),
        other => format!("{other:?}"),
    }
}

fn all(values: &[Shown]) -> String {
    values.iter().map(shown).collect::<Vec<_>>().join("|")
}

fn goal(goal: &Goal) -> String {
    let amount = |to: &Option<Quantity>| to.map_or(String::from("?"), |to| to.print(UnitSystem::Customary));
    match goal {
        Goal::Flag(flag) => format!("= {flag}"),
        Goal::AtMost(to) => format!("<= {}", amount(to)),
        Goal::AtLeast(to) => format!(">= {}", amount(to)),
        Goal::OneOf(values) => format!("in {}", all(values)),
        Goal::NoneOf(values) => format!("not in {}", all(values)),
        Goal::Other => String::from("other"),
    }
}

/// Returns what the findings ask for, a line for each field, list or number of members.
fn told(kind: &str, body: &str) -> String {
    let inspected = inspected(kind, body);
    let job = &inspected.job;
    let name = |item: ItemIndex, field: FieldId| {
        format!("{}.{}", job.id(item), job.schema.field_spec(job.item(item).kind, field).name)
    };
    let mut lines = Vec::new();
    for finding in &inspected.report.findings {
        let asks = asks(finding, &inspected.code.book);
        lines.extend(asks.fields.iter().map(|one| format!("{} {}", name(one.item, one.field), goal(&one.goal))));
        lines.extend(asks.members.iter().map(|one| {
            let ids: Vec<&str> = one.counted.iter().map(|item| job.id(*item)).collect();
            let way = if one.more { "more" } else { "fewer" };
            format!("{way} than {}: {:?}", ids.join("+"), one.number)
        }));
        lines.extend(asks.lists.iter().map(|&(item, list)| format!("more in {}", name(item, list))));
    }
    lines.join("; ")
}

fn ask(cases: &[(&str, &str, &str)]) {
    for (kind, body, expected) in cases {
        assert_eq!(told(kind, body), *expected, "{kind}: {body}");
    }
}

#[test]
fn a_limit_asks_for_the_same_in_every_spelling() {
    for body in [
        "keep circuit.rating at_most code.t.limit;",
        "keep code.t.limit at_least circuit.rating;",
        "keep circuit.rating equal_to code.t.limit;",
        "keep circuit.rating between code.t.nothing and code.t.limit;",
        "let rating = circuit.rating; keep rating at_most code.t.limit else \"a larger size, another route\";",
        "keep circuit.rating + code.t.limit at_most code.t.limit + code.t.limit;",
        "keep circuit.rating - code.t.limit at_most code.t.nothing;",
        "keep code.t.limit - circuit.rating at_least code.t.nothing;",
        "keep circuit.rating * code.t.twice at_most code.t.limit * code.t.twice;",
        "keep circuit.rating / code.t.twice at_most code.t.limit / code.t.twice;",
        "keep circuit.rating / code.t.limit at_most code.t.few;",
        "keep -circuit.rating at_least -code.t.limit;",
        "keep max(circuit.rating, code.t.nothing) at_most code.t.limit;",
        "need circuit.rating <= code.t.limit;",
        "need !(circuit.rating > code.t.limit);",
        "let safe = circuit.rating <= code.t.limit; need safe;",
        "let bare = code.t.limit < circuit.rating; need !bare;",
        "need circuit.rating <= code.t.limit && circuit.voltage > code.t.limit * (circuit.voltage / circuit.rating);",
    ] {
        assert_eq!(told("circuit", body), "1.rating <= 15 A", "{body}");
    }
}

#[test]
fn words_flags_lists_and_tables_tell_which_values_would_do() {
    ask(&[
        ("circuit", "keep circuit.rating one_of code.t.ratings;", "1.rating in 15 A|40 A"),
        ("circuit", "need circuit.rating in code.t.ratings;", "1.rating in 15 A|40 A"),
        ("circuit", "need circuit.rating == code.t.limit;", "1.rating <= 15 A"),
        ("cable", "need cable.wiring_method != \"NM\";", "C1.wiring_method not in NM"),
        ("cable", "need !(cable.wiring_method == \"NM\");", "C1.wiring_method not in NM"),
        ("cable", "keep cable.wiring_method one_of code.t.methods;", "C1.wiring_method in MC|AC"),
        ("device", "need device.gfci;", "R2.gfci = true"),
        ("device", "need device.gfci == true;", "R2.gfci = true"),
        ("device", "need !(device.gfci != true);", "R2.gfci = true"),
        ("device", "keep device.gfci equal_to true;", "R2.gfci = true"),
        ("device", "need !device.gfci;", "R1.gfci = false"),
        ("device", "need device.gfci || device.circuit.gfci;", "R2.gfci = true; 1.gfci = true"),
        (
            "cable",
            "keep cable.circuit.rating at_most code.t.largest[cable.size];",
            "1.rating <= 20 A; C1.size in 10 AWG",
        ),
    ]);
}

#[test]
fn lists_tell_whose_fields_and_how_many_members() {
    ask(&[
        ("circuit", "need every d in circuit.devices where d.gfci;", "R2.gfci = true"),
        ("circuit", "need !(any d in circuit.devices where !d.gfci);", "R2.gfci = true"),
        ("circuit", "keep (count d in circuit.devices) at_most code.t.few;", "fewer than R1+R2: Some(1)"),
        ("circuit", "need (count d in circuit.devices) < code.t.twice;", "fewer than R1+R2: Some(1)"),
        (
            "circuit",
            "keep (sum a in circuit.appliances of a.load) at_most code.t.share;",
            "A1.load <= ?; A2.load <= ?; fewer than A1+A2: Some(1)",
        ),
        ("circuit", "keep (most a in circuit.appliances of a.load or met) at_most code.t.share;", "A2.load <= 600 VA"),
        (
            "appliance",
            "need any s in appliance.controlled_by where s.kind == \"switch\";",
            "more in A1.controlled_by; more in A2.controlled_by",
        ),
    ]);
}

#[test]
fn what_is_met_or_open_asks_for_nothing() {
    ask(&[
        ("circuit", "keep circuit.rating at_least code.t.limit;", ""),
        ("device", "keep device.rating at_most code.t.limit;", ""),
        ("circuit", "look \"whether it is tidy\";", ""),
    ]);
}

#[test]
fn the_shortfall_is_that_of_the_comparison_that_fails() {
    for body in [
        "keep circuit.rating at_most code.t.limit;",
        "need circuit.rating <= code.t.limit;",
        "let safe = !(circuit.rating > code.t.limit); need safe;",
    ] {
        let inspected = inspected("circuit", body);
        let short = inspected.report.findings.iter().find_map(|finding| asks(finding, &inspected.code.book).short);
        assert_eq!(short.map(|short| short.print(UnitSystem::Customary)).as_deref(), Some("15 A"), "{body}");
    }
}
