//! The JSON Schema of job files, held against job files by a validator that is not ours (crate `jsonschema`, draft-07).
//!
//! TOML becomes JSON as editors and converters do it: dates become text.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper that fails fails its test")]

use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use storystick_engine::job::{Document, Setting, load};
use storystick_engine::json_schema;
use storystick_engine::model::{Schema, Symbols};
use storystick_engine::quantity::{Dimension, parse};
use storystick_engine::source::Files;

const GOOD: &str = r#"format = 1
[site]
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
stage = "rough_in"
accessible = true
[defaults.site]
board = "1/2 in"
[defaults.cable]
wiring_method = "NM"
[defaults.cable.NM]
material = "copper"
[defaults.counter]
depth = "25 in"
[defaults.counter.wall]
height = "36 in"
[[panel]]
id = "P1"
[[circuit]]
id = "1"
rating = "20 A"
positions = [1, 3]
[[room]]
id = "kitchen"
kind = "kitchen"
length = "14 ft"
width = "3.6 m"
[room.defaults.device.receptacle]
circuit = "1"
[[room.counter]]
kind = "wall"
wall = "north"
length = "8'-6 1/2\""
[[room.counter.break]]
kind = "sink"
at = "2 ft"
width = "33 in"
[[box]]
id = "B1"
room = "kitchen"
wall = "north"
along = "6 ft"
top = "4½ ft"
set_back = "-1/16 in"
volume = "18 in3"
gangs = 2
[[device]]
id = "R1"
box = "B1"
kind = "receptacle"
[[device]]
id = "S1"
box = "B1"
kind = "switch"
controls = ["R1"]
[[cable]]
make = "12/2"
supports = ["8 in", "4 ft"]
from = "P1"
to = { at = "B1", first_support = "8 in" }
[[cable.hole]]
plate = false
[[raceway]]
id = "W1"
from = "P1"
to = "B1"
wiring_method = "EMT"
trade_size = "1/2 in"
[[raceway.conductor]]
size = "4/0 AWG"
number = 3
[[measure]]
item = "B1"
field = "secured"
value = true
on = 2023-06-01
[[measure]]
item = "cable-1"
field = "supports"
value = ["8 in", "3 ft"]
[[permission]]
rule = "nm-secured-at-box"
items = ["B1"]
granted_by = "Harlow County Building Safety"
reason = "masonry"
until = 2023-12-31
[[inspection]]
stage = "layout"
on = 2023-05-20
result = "passed"
"#;

/// Lines put in place of others, each of which the schema must refuse.
const INVALID: &[(&str, &str, &str)] = &[
    ("another format", "format = 1", "format = 3"),
    ("no format", "format = 1\n", ""),
    ("no permit date", "permit_date = 2023-05-10\n", ""),
    ("no stage", "stage = \"rough_in\"\n", ""),
    ("an unknown stage", "\"rough_in\"", "\"rofin\""),
    ("a flag in quotes", "accessible = true", "accessible = \"true\""),
    ("an unknown table", "[[panel]]", "[[panels]]"),
    ("an unknown key", "along =", "alog ="),
    ("an unknown key of a nested table", "first_support", "frist_support"),
    ("an unknown key of a default", "material = \"copper\"", "metal = \"copper\""),
    ("an unknown sort in defaults", "[defaults.cable.NM]", "[defaults.cable.NMX]"),
    (
        "an as-built default",
        "[defaults.counter]\n",
        "[defaults.cable_end]\nfirst_support = \"8 in\"\n[defaults.counter]\n",
    ),
    ("a default that decides the code", "board = \"1/2 in\"", "shop = \"shop/three-gable\""),
    ("a derived field", "gangs = 2", "centre = \"4 ft\""),
    ("a bare number for a length", "along = \"6 ft\"", "along = 6"),
    ("a length without a unit", "along = \"6 ft\"", "along = \"6\""),
    ("a count in quotes", "gangs = 2", "gangs = \"2\""),
    ("half a gang", "gangs = 2", "gangs = 1.5"),
    ("no gang", "gangs = 2", "gangs = 0"),
    ("two heights", "gangs = 2", "bottom = \"4 ft\""),
    ("no id", "id = \"R1\"\n", ""),
    ("a number as id", "id = \"1\"", "id = 1"),
    ("one position that is no list", "[1, 3]", "1"),
    ("a table where a list is due", "[[circuit]]", "[circuit]"),
    ("a list where a table is due", "[site]", "[[site]]"),
    ("a make that is none", "\"12/2\"", "\"12x2\""),
    ("an empty reason", "\"masonry\"", "\" \""),
    ("a measured table", "value = true", "value = { is = true }"),
    ("an unknown word", "kind = \"receptacle\"", "kind = \"outlit\""),
    ("a word of another field", "wiring_method = \"EMT\"", "wiring_method = \"NM\""),
];

fn to_json(value: &toml::Value) -> Value {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(flag) => json!(flag),
        toml::Value::Datetime(date) => json!(date.to_string()),
        toml::Value::Array(values) => values.iter().map(to_json).collect(),
        toml::Value::Table(table) => table.iter().map(|(key, value)| (key.clone(), to_json(value))).collect(),
    }
}

fn json_of(text: &str) -> Value {
    to_json(&toml::Value::Table(text.parse().unwrap_or_else(|error| panic!("{error}\nin\n{text}"))))
}

fn validator() -> jsonschema::Validator {
    let schema = json_schema::job(&Schema::dwelling());
    jsonschema::draft7::meta::validate(&schema).unwrap();
    jsonschema::draft7::new(&schema).unwrap()
}

fn faults(validator: &jsonschema::Validator, text: &str) -> Vec<String> {
    validator.iter_errors(&json_of(text)).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// All job files below a folder: TOML with a `format` at its top.
fn job_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            job_files(&path, found);
        } else if path.extension().is_some_and(|ext| ext == "toml") {
            let text = std::fs::read_to_string(&path).unwrap();
            found.extend(text.lines().any(|line| line.starts_with("format =")).then_some(path));
        }
    }
}

/// The example jobs, those that are wrong on purpose apart.
fn examples() -> (Vec<PathBuf>, Vec<PathBuf>) {
    let mut files = Vec::new();
    job_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples"), &mut files);
    files.into_iter().partition(|file| !file.components().any(|part| part.as_os_str() == "invalid"))
}

#[test]
fn good_job_files_fit_the_schema() {
    let validator = validator();
    assert_eq!(faults(&validator, GOOD), Vec::<String>::new());
    let (good, _) = examples();
    assert!(good.len() >= 3, "{good:?}");
    for file in good {
        let text = std::fs::read_to_string(&file).unwrap();
        assert_eq!(faults(&validator, &text), Vec::<String>::new(), "{}", file.display());
        assert!(reads(&text), "{}", file.display());
    }
}

#[test]
fn examples_of_wrong_files_are_refused() {
    let (_, wrong) = examples();
    assert!(wrong.len() >= 10, "{wrong:?}");
    for file in wrong {
        assert!(!reads(&std::fs::read_to_string(&file).unwrap()), "{}", file.display());
    }
}

#[test]
fn faulty_job_files_do_not() {
    let validator = validator();
    for (what, from, to) in INVALID {
        let text = GOOD.replacen(from, to, 1);
        assert_ne!(text, GOOD, "{what}: nothing to replace");
        assert!(!faults(&validator, &text).is_empty(), "{what} passed");
    }
}

/// The reader must refuse whatever the schema refuses: an editor that complains of a file that works would be a nuisance.
#[test]
fn the_schema_is_never_stricter_than_the_reader() {
    assert!(reads(GOOD));
    for (what, from, to) in INVALID {
        assert!(!reads(&GOOD.replacen(from, to, 1)), "{what} was read");
    }
}

/// Every value of the good file in turn replaced by values of every sort: what the reader takes, the schema takes.
#[test]
fn whatever_the_reader_takes_fits_the_schema() {
    let values = [
        "\"B1\"",
        "\"kitchen\"",
        "\"north\"",
        "\"P1\"",
        "\"1\"",
        "\"R1\"",
        "\"switch\"",
        "\"EMT\"",
        "\"garage\"",
        "\"top\"",
        "\"14/3\"",
        "\"2 in\"",
        "\"-2 in\"",
        "\"15 A\"",
        "\"8 AWG\"",
        "\"9 in3\"",
        "\"\"",
        "true",
        "0",
        "2",
        "2.0",
        "-1",
        "1.5",
        "2024-02-29",
        "\"2024-02-29\"",
        "[]",
        "[2]",
        "[\"R1\"]",
    ];
    let validator = validator();
    let mut taken = 0;
    for (at, line) in GOOD.lines().enumerate() {
        let Some((key, _)) = line.split_once(" = ") else { continue };
        for value in values {
            let lines: Vec<String> = GOOD
                .lines()
                .enumerate()
                .map(|(n, l)| if n == at { format!("{key} = {value}") } else { l.to_owned() })
                .collect();
            let text = lines.join("\n");
            if reads(&text) {
                taken += 1;
                assert_eq!(faults(&validator, &text), Vec::<String>::new(), "{key} = {value}");
            }
        }
    }
    assert!(taken > 100, "only {taken} files were read");
}

fn reads(text: &str) -> bool {
    let mut files = Files::new();
    let file = files.add("job.toml", text).unwrap();
    let document = Document::parse(&file);
    let setting = Setting {
        schema: std::sync::Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: None,
        whole_file: true,
    };
    load(&[document.part()], &setting).0.is_some()
}

/// Whatever the quantity reader takes, the schema's pattern takes too.
#[test]
fn every_way_to_write_an_amount_fits_the_pattern() {
    let validator = validator();
    let texts = [
        (
            "along",
            Dimension::Length,
            &["48 in", "4 ft 6 in", "4'-6 1/2\"", "1.37 m", "300mm", "½ in", "4½″", "1/2\"", ".5 in", "6'"][..],
        ),
        ("volume", Dimension::Volume, &["18 in3", "20.3 cu. in.", "300 cm³", "0.3 l"][..]),
        ("fixture_wire_size", Dimension::Conductor, &["12 AWG", "4/0 AWG", "250 kcmil", "2.5 mm2", "2.5mm²"][..]),
        ("weight_rating", Dimension::Mass, &["50 lb", "23 kg"][..]),
    ];
    for (field, dimension, texts) in texts {
        for text in texts {
            assert!(parse(text, dimension).is_ok(), "{text}");
            let amount = format!("{field} = {}", toml::Value::String((*text).to_owned()));
            let file = GOOD
                .replace("along = \"6 ft\"\n", "")
                .replace("volume = \"18 in3\"\n", "")
                .replace("gangs = 2", &amount);
            assert_eq!(faults(&validator, &file), Vec::<String>::new(), "{text}");
        }
    }
}
