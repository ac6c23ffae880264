//! Broken, mutilated and random files: no panic, no hang, and every problem points somewhere.

use proptest::prelude::*;

use super::{HEAD, ROOM, Read, read, read_with};
use crate::model::Schema;
use crate::problem::Severity;

const GOOD: &str = r#"format = 1
[site]
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
stage = "rough_in"
[defaults.box.switch]
top = "48 in"
[[panel]]
id = "P1"
[[circuit]]
id = "1"
positions = [1, 3]
[[room]]
id = "hobby"
kind = "workshop"
length = "14 ft"
width = "12 ft"
[[room.opening]]
wall = "south"
kind = "door"
at = "2 ft"
width = "32 in"
[room.defaults.box]
material = "nonmetallic"
[[box]]
id = "B1"
room = "hobby"
wall = "north"
along = "6 ft"
height = '4 ft 6 1/2"'
[[device]]
id = "S1"
box = "B1"
kind = "switch"
controls = ["L1"]
[[luminaire]]
id = "L1"
kind = "surface"
[[cable]]
make = "12/2"
supports = ["1 ft", "5 ft"]
from = "P1"
to = { at = "B1", first_support = "13 in" }
[[cable.hole]]
plate = false
[[measure]]
item = "B1"
field = "along"
value = "6 ft 1 in"
"#;

fn check(read: &Read) {
    for problem in &read.problems {
        assert!(problem.span.is_some() && read.files.file_of(problem.span).is_some(), "{problem:?}");
        let first = problem.message.chars().next().unwrap_or('A');
        assert!(
            !first.is_uppercase() && !problem.message.ends_with('.') && !problem.message.contains('\n'),
            "{problem:?}"
        );
        assert!(!problem.label.is_empty() && !problem.message.contains('\0'), "{problem:?}");
        for mark in &problem.marks {
            assert!(read.files.file_of(mark.span).is_some(), "{problem:?}");
        }
    }
    if let Some(job) = &read.job {
        assert!(read.problems.iter().all(|problem| problem.severity == Severity::Notice));
        for (item, described) in job.items() {
            for at in 0..job.schema.spec(described.kind).fields.len() {
                let cell = job.cell(item, crate::model::FieldId(at as u16));
                assert!(cell.span().is_none() || job.files.file_of(cell.span()).is_some());
            }
        }
    }
}

/// A value of any sort, right or wrong.
fn any_value() -> impl Strategy<Value = String> {
    let fixed = [
        "\"B1\"",
        "\"B2\"",
        "\"hobby\"",
        "\"north\"",
        "\"hobby/north\"",
        "\"P1\"",
        "\"1\"",
        "\"C1/to\"",
        "\"switch\"",
        "\"NM\"",
        "\"wall\"",
        "\"door\"",
        "\"12/2\"",
        "\"4/0/3\"",
        "\"48 in\"",
        "\"12 ft\"",
        "\"-3 ft\"",
        "\"0 in\"",
        "\"999999999 km\"",
        "\"20 A\"",
        "\"18 in3\"",
        "\"12 AWG\"",
        "\"90 deg\"",
        "\"45 deg\"",
        "\"-90 deg\"",
        "\"\"",
        "\"½ \\u0000\"",
        "true",
        "false",
        "0",
        "1",
        "-7",
        "0xff",
        "99999999999999999999",
        "1.5",
        "inf",
        "nan",
        "1e9",
        "2023-05-10",
        "2023-05-10T10:00:00Z",
        "07:32:00",
        "[]",
        "[1, 2]",
        "[\"B1\", \"B2\"]",
        "[\"1 ft\", \"1 in\"]",
        "[[1], {}]",
        "{}",
        "{ at = \"B1\" }",
        "{ at = 1, x.y = 2 }",
        "[{ id = \"B1\" }, { length = \"3 ft\" }, 4]",
        "\"top\"",
        "\"length\"",
        "\"along\"",
    ];
    prop::sample::select(fixed.to_vec()).prop_map(str::to_owned)
}

fn any_key() -> impl Strategy<Value = String> {
    let schema = Schema::dwelling();
    let mut keys: Vec<String> =
        schema.kinds().flat_map(|(_, kind)| kind.fields.iter().map(|field| field.name.to_owned())).collect();
    // The ones that tie things together more often than the rest.
    for _ in 0..12 {
        keys.extend(
            [
                "id", "room", "wall", "box", "kind", "length", "width", "at", "along", "top", "height", "item",
                "field", "value", "from", "to", "name", "turn",
            ]
            .map(str::to_owned),
        );
    }
    keys.extend(["wat", "defaults", "\"x y\"", "format", "defaults.box.top", "hole", "break"].map(str::to_owned));
    prop::sample::select(keys)
}

fn any_header() -> impl Strategy<Value = String> {
    let schema = Schema::dwelling();
    let mut headers = Vec::new();
    for (_, kind) in schema.kinds() {
        headers.extend([
            format!("[[{}]]", kind.name),
            format!("[[room.{}]]", kind.name),
            format!("[defaults.{}]", kind.name),
            format!("[room.defaults.{}]", kind.name),
        ]);
    }
    headers.extend(
        [
            "[[room]]",
            "[[room]]",
            "[[room.wall]]",
            "[[box]]",
            "[[cable]]",
            "[cable.to]",
            "[[cable.hole]]",
            "[[measure]]",
            "[[room.counter.break]]",
            "[defaults.box.switch]",
            "[defaults]",
        ]
        .map(str::to_owned),
    );
    prop::sample::select(headers)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn mutilated_files(cuts in prop::collection::vec((0..GOOD.len(), 0..40_usize, 0..GOOD.len(), 0..3_u8), 1..6)) {
        let mut text = GOOD.to_owned();
        for (at, len, from, how) in cuts {
            let at = at.min(text.len());
            let end = (at + len).min(text.len());
            let with = match how {
                0 => String::new(),
                1 => GOOD.get(from..(from + len).min(GOOD.len())).unwrap_or("").to_owned(),
                _ => "\"]}½\n='".chars().cycle().skip(from % 7).take(len % 5).collect(),
            };
            if text.is_char_boundary(at) && text.is_char_boundary(end) {
                text.replace_range(at..end, &with);
            }
        }
        check(&read(&text));
        check(&read_with(GOOD, &text));
    }

    #[test]
    fn random_tables(tables in prop::collection::vec((any_header(), prop::collection::vec((any_key(), any_value()), 0..7)), 0..14)) {
        let mut text = HEAD.to_owned();
        for (header, pairs) in tables {
            text.push_str(&format!("{header}\n"));
            pairs.iter().for_each(|(key, value)| text.push_str(&format!("{key} = {value}\n")));
        }
        check(&read(&text));
    }

    #[test]
    fn one_value_replaced(line in 0..60_usize, value in any_value()) {
        let lines: Vec<String> = GOOD.lines().enumerate().map(|(at, text)| match text.split_once(" = ") {
            Some((key, _)) if at == line => format!("{key} = {value}"),
            _ => text.to_owned(),
        }).collect();
        check(&read(&lines.join("\n")));
    }

    #[test]
    fn any_text_at_all(text in "\\PC{0,200}") {
        check(&read(&text));
    }
}

#[test]
fn the_file_that_is_mutilated_is_good() {
    assert_eq!(read(GOOD).problems, []);
}

#[test]
fn thousands_of_items_are_read_in_one_go() {
    let mut text = format!("{HEAD}{ROOM}");
    for at in 0..20_000 {
        text.push_str(&format!(
            "[[box]]\nid = \"B{at}\"\nroom = \"hobby\"\nwall = \"north\"\nalong = \"{} mm\"\ntop = \"48 in\"\n",
            at % 4000
        ));
    }
    let job = read(&text).good();
    assert_eq!(job.len(), 20_000 + 1 + 5);
}

#[test]
fn thousands_of_faults_do_not_hang() {
    let mut text = format!("{HEAD}{ROOM}");
    for at in 0..4_000 {
        // All in one door, all on one another, all naming nothing.
        text.push_str("[[room.opening]]\nwall = \"north\"\nkind = \"door\"\nat = \"1 ft\"\nwidth = \"3 ft\"\n");
        text.push_str(&format!(
            "[[box]]\nid = \"B{}\"\nroom = \"hobby\"\nwall = \"north\"\nalong = \"2 ft\"\n",
            at / 2
        ));
        text.push_str(&format!("[[device]]\nid = \"D{at}\"\nkind = \"blank\"\nbox = \"A{at}\"\ncircuit = \"{at}\"\n"));
    }
    let read = read(&text);
    assert!(read.problems.len() > 4_000 * 3);
    check(&read);
}

#[test]
fn long_names_are_cut_in_messages_and_not_compared() {
    let long = "x".repeat(300_000);
    let read = read(&format!("{HEAD}{long} = 1\n[[box]]\nid = \"{long}\"\nroom = \"{long}y\"\npurpose = \"{long}\"\n"));
    assert_eq!(read.problems.len(), 3);
    assert!(
        read.problems
            .iter()
            .all(|problem| problem.message.len() < 200 && problem.help.as_ref().is_none_or(|help| help.len() < 1000))
    );
}
