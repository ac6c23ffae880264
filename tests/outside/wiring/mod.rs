//! The wiring against an outside solver, a catalogue of arrangements and mistakes, and the demo dwelling with seeded mistakes.

mod arrangements;
mod edit;
mod generate;
mod mistakes;
mod nodal;
mod round_trip;
mod solver;

use std::sync::Arc;

use storystick_engine::job::{Document, Setting, load};
use storystick_engine::model::{Job, Schema, Symbols};
use storystick_engine::problem::Severity;
use storystick_engine::source::Files;
use storystick_engine::wiring::Wiring;

/// What every job of these tests begins with.
const HEAD: &str = r#"format = 1
[site]
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
stage = "final"
[[panel]]
id = "P1"
"#;

/// Reads a job file.
#[track_caller]
fn read(text: &str) -> Job {
    let mut files = Files::new();
    let file = files.add("job.toml", text).unwrap();
    let document = Document::parse(&file);
    let setting = Setting {
        schema: Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: None,
        whole_file: true,
    };
    let (job, problems) = load(&[document.part()], &setting);
    let errors: Vec<_> = problems.iter().filter(|problem| problem.severity == Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:?}\n{text}");
    job.unwrap()
}

/// Writes a job file from one line for each item: `circuit 1`, `box B1`, `cable C1 12/2 1 P1 B1`, `switch S1 B1 1 L1,L2 three_way`,
/// `light L1 B2 1`, `appliance A1 range 1`, `receptacle R1 B1 1`. Keys behind `|`, parted by `;`, are added to the item.
fn job_file(text: &str) -> String {
    let mut out = String::from(HEAD);
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (words, more) = line.split_once('|').unwrap_or((line, ""));
        let words: Vec<&str> = words.split_whitespace().collect();
        let more: String =
            more.split(';').map(str::trim).filter(|part| !part.is_empty()).map(|part| format!("{part}\n")).collect();
        let quoted = |list: &str| list.split(',').map(|id| format!("\"{id}\"")).collect::<Vec<_>>().join(", ");
        let table = match words[..] {
            ["circuit", id] if more.contains("positions") => format!("[[circuit]]\nid = \"{id}\"\nrating = \"15 A\"\n"),
            ["circuit", id] => format!("[[circuit]]\nid = \"{id}\"\nrating = \"15 A\"\npositions = [{id}]\n"),
            ["box", id] => format!("[[box]]\nid = \"{id}\"\n"),
            ["cable", id, make, circuit, from, to] => {
                format!(
                    "[[cable]]\nid = \"{id}\"\nmake = \"{make}\"\ncircuit = \"{circuit}\"\nfrom = \"{from}\"\nto = \"{to}\"\n"
                )
            }
            ["raceway", id, from, to] => {
                format!(
                    "[[raceway]]\nid = \"{id}\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nfrom = \"{from}\"\nto = \"{to}\"\n"
                )
            }
            [kind @ ("switch" | "dimmer" | "disconnect" | "timer"), id, at, circuit, controls, action] => format!(
                "[[device]]\nid = \"{id}\"\nkind = \"{kind}\"\naction = \"{action}\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\ncontrols = [{}]\n",
                quoted(controls)
            ),
            ["light", id, at, circuit] => {
                format!("[[luminaire]]\nid = \"{id}\"\nkind = \"surface\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\n")
            }
            ["appliance", id, kind, circuit] => {
                format!("[[appliance]]\nid = \"{id}\"\nkind = \"{kind}\"\ncircuit = \"{circuit}\"\n")
            }
            [kind, id, at, circuit] => {
                format!("[[device]]\nid = \"{id}\"\nkind = \"{kind}\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\n")
            }
            _ => panic!("no item: {line}"),
        };
        out.push_str(&table);
        out.push_str(&more);
    }
    out
}

/// Returns what following the current found, as `kind item`.
fn found(job: &Job, wiring: &Wiring) -> Vec<String> {
    wiring.followed.faults.iter().map(|fault| format!("{} {}", fault.kind.word(), job.id(fault.item))).collect()
}
