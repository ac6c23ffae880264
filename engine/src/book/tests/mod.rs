//! What the book promises, shown on small invented rulesets.

mod adoptions;
mod amendments;
mod broken;
mod chains;
mod defines;
mod entry_days;
mod exceptions;
mod facts;
mod layers;
mod manifests;
mod rule_days;
mod rules;
mod shipped;

use std::sync::Arc;

use jiff::civil::Date;

use super::{Ask, AskSpans, Book, RulesetText, Shelf};
use crate::model::Schema;
use crate::problem::Problem;
use crate::source::{Files, Span};

/// Returns a shelf of shipped rulesets.
fn shelf(files: &[(&str, &str)]) -> Shelf {
    let text = |(path, text): &(&str, &str)| RulesetText {
        origin: super::Origin::Shipped,
        path: (*path).to_owned(),
        text: (*text).to_owned().into(),
    };
    Shelf::read(Arc::new(Schema::dwelling()), files.iter().map(text).collect())
}

/// Returns a sound manifest with more lines at its end. Its values are checked in the law unless they say otherwise.
fn manifest(id: &str, kind: &str, more: &str) -> String {
    let title = id.rsplit('/').next().unwrap_or(id);
    format!(
        "id = \"{id}\"\ntitle = \"{title}\"\nkind = \"{kind}\"\nversion = \"1\"\nreviewed = 2026-11-25\n\
         source = \"invented\"\nchecked = \"law_text\"\n{more}"
    )
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn ask(place: &str, permit_date: &str) -> Ask {
    Ask { application_date: None, purchase_date: None, manufacture_date: None, ..Ask::on(place, day(permit_date)) }
}

/// A job file to point into: one line for each thing that an ask names.
const JOB: &str = "[site]\njurisdiction = PLACE\npermit_date = PERMIT\napplication_date = APPLICATION\n\
                   purchase_date = PURCHASE\nmanufacture_date = MADE\nedition = EDITION\nshop = SHOP\naccessible = YES\n";

/// Returns the files of a shelf with a job behind them, and the same ask pointing into the job.
fn with_job(shelf: &Shelf, ask: &Ask) -> (Files, Ask) {
    let mut files = shelf.files().clone();
    let job = files.add("job.toml", JOB).unwrap();
    let at = |word: &str| {
        let start = JOB.find(word).unwrap();
        job.span(start..start + word.len())
    };
    let some = |there: bool, word: &str| if there { at(word) } else { Span::NONE };
    let spans = AskSpans {
        site: at("[site]"),
        jurisdiction: at("PLACE"),
        permit_date: at("PERMIT"),
        application_date: some(ask.application_date.is_some(), "APPLICATION"),
        purchase_date: some(ask.purchase_date.is_some(), "PURCHASE"),
        manufacture_date: some(ask.manufacture_date.is_some(), "MADE"),
        edition: some(ask.edition.is_some(), "EDITION"),
        shop: some(ask.shop.is_some(), "SHOP"),
        accessible: some(ask.accessible, "YES"),
    };
    (files, Ask { at: spans, ..ask.clone() })
}

/// Writes problems with the text that each underlines: `message @ text`, then marks and help, one a line.
fn written(files: &Files, problems: &[Problem]) -> String {
    let mut out = String::new();
    for problem in problems {
        out.push_str(&format!("{} @ {}\n", problem.message, files.text(problem.span)));
        for mark in &problem.marks {
            out.push_str(&format!("  {} @ {}\n", mark.says, files.text(mark.span)));
        }
        if let Some(help) = &problem.help {
            out.push_str(&format!("  help: {help}\n"));
        }
    }
    out
}

/// Resolves what must resolve.
fn book(shelf: &mut Shelf, ask: &Ask) -> Arc<Book> {
    assert_eq!(written(shelf.files(), shelf.problems()), "");
    let resolved = shelf.resolve(ask);
    resolved.unwrap_or_else(|problems| panic!("{}", written(shelf.files(), &problems)))
}

/// Returns the problems of what must not resolve, as [`written`] gives them.
fn fails(shelf: &mut Shelf, ask: &Ask) -> String {
    let (files, ask) = with_job(shelf, ask);
    match shelf.resolve(&ask) {
        Ok(_) => String::from("resolved\n"),
        Err(problems) => {
            assert!(!problems.is_empty());
            written(&files, &problems)
        }
    }
}

/// Returns the value of an entry as its latest setter wrote it.
fn value(book: &Book, key: &str) -> String {
    book.get(key).and_then(|entry| entry.latest()).map(|setting| setting.value.clone()).unwrap_or_default()
}

/// Returns the texts of a list, or the rows of a table.
fn parts(book: &Book, key: &str) -> String {
    match book.get(key).map(|entry| &entry.value) {
        Some(super::Value::List(members)) => members.iter().map(|m| m.text.clone()).collect::<Vec<_>>().join(", "),
        Some(super::Value::Table(table)) => {
            let row = |row: &super::Row| format!("{} = {}", row.key_text, row.text);
            table.rows().iter().map(row).collect::<Vec<_>>().join(", ")
        }
        _ => String::new(),
    }
}

/// Returns the ids of the layers, low to high.
fn layer_ids(book: &Book) -> Vec<&str> {
    book.layers.iter().map(|layer| layer.id.as_str()).collect()
}
