//! Tests of make-up and of following the current, on small job files.

mod mistakes;
mod plans;
mod readings;
mod sheets;

use std::sync::Arc;

use super::{FaultKind, Wiring};
use crate::job::{Document, Setting, load};
use crate::model::{Job, Schema, Symbols};
use crate::source::Files;

const HEAD: &str = r#"format = 1
[site]
permit_date = 2023-05-10
jurisdiction = "demo/harlow-county"
stage = "final"
panel = [{ id = "P1" }]
"#;

/// Reads a job file behind a head with panel `P1`.
#[track_caller]
pub(super) fn job(text: &str) -> Job {
    let mut files = Files::new();
    let head = HEAD.replace("panel = [{ id = \"P1\" }]\n", "");
    let file = files.add("job.toml", format!("{head}[[panel]]\nid = \"P1\"\n{text}")).unwrap();
    let document = Document::parse(&file);
    let setting = Setting {
        schema: Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: None,
        whole_file: true,
    };
    let (job, problems) = load(&[document.part()], &setting);
    assert_eq!(
        problems,
        [],
        "{}",
        problems.iter().map(|p| format!("{}: {}\n", p.message, files.text(p.span))).collect::<String>()
    );
    job.unwrap()
}

/// A job of short forms: `circuit 1`, `box B1`, `cable C1 12/2 1 P1 B1`, `receptacle R1 B1 1`, `switch S1 B1 1 L1,L2 three_way`,
/// `light L1 B2 1`; what follows `|` is added to the item's table.
pub(super) fn short(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (words, more) = line.split_once('|').unwrap_or((line, ""));
        let words: Vec<&str> = words.split_whitespace().collect();
        let more = more
            .split(';')
            .map(str::trim)
            .filter(|part| !part.is_empty())
            .map(|part| format!("{part}\n"))
            .collect::<String>();
        let quoted = |list: &str| list.split(',').map(|id| format!("\"{id}\"")).collect::<Vec<_>>().join(", ");
        out.push_str(&match words[..] {
            ["circuit", id] => format!("[[circuit]]\nid = \"{id}\"\nrating = \"15 A\"\npositions = [{id}]\n{more}"),
            ["box", id] => format!("[[box]]\nid = \"{id}\"\n{more}"),
            ["cable", id, make, circuit, from, to] => {
                format!("[[cable]]\nid = \"{id}\"\nmake = \"{make}\"\ncircuit = \"{circuit}\"\nfrom = \"{from}\"\nto = \"{to}\"\n{more}")
            }
            ["switch", id, at, circuit, controls, action] => format!(
                "[[device]]\nid = \"{id}\"\nkind = \"switch\"\naction = \"{action}\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\ncontrols = [{}]\n{more}",
                quoted(controls)
            ),
            ["light", id, at, circuit] => {
                format!("[[luminaire]]\nid = \"{id}\"\nkind = \"surface\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\n{more}")
            }
            ["appliance", id, kind, circuit] => {
                format!("[[appliance]]\nid = \"{id}\"\nkind = \"{kind}\"\ncircuit = \"{circuit}\"\n{more}")
            }
            [kind, id, at, circuit] => {
                format!("[[device]]\nid = \"{id}\"\nkind = \"{kind}\"\nbox = \"{at}\"\ncircuit = \"{circuit}\"\n{more}")
            }
            _ => panic!("no item: {line}"),
        });
    }
    out
}

/// Works out the wiring of a job in short forms.
#[track_caller]
pub(super) fn wire(text: &str) -> (Job, Wiring) {
    let job = job(&short(text));
    let wiring = Wiring::of(&job);
    assert_eq!(wiring.problems, []);
    (job, wiring)
}

/// Returns what was found as `kind item`.
pub(super) fn found(job: &Job, wiring: &Wiring) -> Vec<String> {
    wiring.followed.faults.iter().map(|fault| format!("{} {}", fault.kind.word(), job.id(fault.item))).collect()
}

/// Demands a plan without gap and without fault, and returns it.
#[track_caller]
pub(super) fn sound(text: &str) -> (Job, Wiring) {
    let (job, wiring) = wire(text);
    assert_eq!(wiring.plan.gaps, []);
    assert_eq!(found(&job, &wiring), Vec::<String>::new());
    (job, wiring)
}

#[test]
fn every_fault_kind_has_a_word_of_its_own() {
    let mut words: Vec<&str> = FaultKind::ALL
        .iter()
        .map(|(kind, word)| {
            assert_eq!(kind.word(), *word);
            *word
        })
        .collect();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), FaultKind::ALL.len());
}
