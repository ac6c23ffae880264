//! `code --diff`: two codes held against each other, entry by entry and rule by rule.

use std::sync::Arc;

use serde_json::json;
use storystick_engine::book::{Ask, Book, Difference};
use storystick_engine::inspection::Inspector;
use storystick_engine::problem;
use storystick_engine::source::Files;
use storystick_engine::world::World;

use super::next::told;
use crate::args::{Code, PlaceAt, TextOrJson};
use crate::render::difference::{entry_json, entry_line, rule_json, rule_line};
use crate::render::report::Look;
use crate::render::wrap::{indented, wrap};
use crate::world::Machine;
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(inspector: &mut Inspector, args: &Code, sides: (&PlaceAt, &PlaceAt), look: Look) -> Answer {
    let books = resolve(inspector, args, sides.0, look).and_then(|first| {
        // The second may be the same place on another day.
        let second = PlaceAt { place: sides.1.place.clone().or_else(|| sides.0.place.clone()), date: sides.1.date };
        Ok((first, resolve(inspector, args, &second, look)?))
    });
    let ((first, before), (second, after)) = match books {
        Ok(books) => books,
        Err(message) => return Answer::fault(message),
    };
    let mut difference = Book::diff(&before, &after);
    let names: Vec<&String> = args.job.iter().chain(&args.entries).collect();
    let unknown = narrow(&mut difference, &names, [&before, &after]);
    let files = inspector.shelf().files();
    let out = match args.format {
        TextOrJson::Text => text(&difference, [(&first, &before), (&second, &after)], !names.is_empty()),
        TextOrJson::Json => whole_json(&difference, files, [(&first, &before), (&second, &after)]),
    };
    let status = if unknown.is_empty() { Status::Clean } else { Status::Fault };
    Answer { out, err: unknown, status }
}

/// What was asked for one side, and the code found.
type Side = (Ask, Arc<Book>);

fn resolve(inspector: &mut Inspector, args: &Code, side: &PlaceAt, look: Look) -> Result<Side, String> {
    let Some(place) = &side.place else {
        return Err(String::from("name the place of the first code: --diff PLACE@DATE PLACE@DATE\n"));
    };
    let day = side.date.or(args.on).unwrap_or_else(|| Machine.today());
    let mut ask = Ask::on(place, day);
    ask.accessible = args.accessible;
    ask.shop.clone_from(&args.shop);
    let shelf = inspector.shelf_mut();
    match shelf.resolve(&ask) {
        Ok(book) => Ok((ask, book)),
        Err(problems) => Err(super::draw(&problems, shelf.files(), look)),
    }
}

/// Keeps what the names ask for, and tells of names that neither code has.
fn narrow(difference: &mut Difference, names: &[&String], books: [&Arc<Book>; 2]) -> String {
    if names.is_empty() {
        return String::new();
    }
    let fits = |key: &str| {
        names.iter().any(|name| {
            let rest = key.strip_prefix(name.trim_end_matches('.'));
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    };
    difference.entries.retain(|entry| fits(&entry.key));
    difference.rules.retain(|rule| names.iter().any(|name| **name == rule.id));
    let mut unknown = String::new();
    for name in names {
        let prefix = format!("{}.", name.trim_end_matches('.'));
        let known = books.iter().any(|book| {
            book.rule_named(name).is_some() || book.keys().any(|(key, _)| key == *name || key.starts_with(&prefix))
        });
        if !known {
            let all = books.iter().flat_map(|book| book.keys().map(|(key, _)| key).chain(book.rule_ids()));
            let hint = problem::nearest(name, all).map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            unknown.push_str(&format!("nothing is called `{name}` in either code{hint}\n"));
        }
    }
    if unknown.is_empty() {
        return unknown;
    }
    let all = "`storystick code --at PLACE --on DATE` lists every entry and rule in force at one of them";
    told(&unknown, &[all], world::columns()) + "\n"
}

fn named(ask: &Ask, book: &Book) -> String {
    let edition = match book.edition.as_str() {
        "" => String::new(),
        edition if edition == ask.jurisdiction => String::new(),
        edition => format!(" ({edition})"),
    };
    format!("{} on {}{edition}", ask.jurisdiction, ask.permit_date)
}

fn text(difference: &Difference, sides: [(&Ask, &Arc<Book>); 2], whole: bool) -> String {
    let columns = world::columns();
    let mut out = String::new();
    for (title, (ask, book)) in ["First: ", "Second: "].iter().zip(sides) {
        out.push_str(&wrap(&format!("{title}{}", named(ask, book)), columns, "  "));
        for layer in book.layers.iter().filter(|layer| layer.draft.is_some()) {
            let why = layer.draft.as_deref().unwrap_or_default();
            out.push_str(&indented(&format!("draft: {} — {why}", layer.id), columns, 2, "  "));
        }
    }
    if difference.is_empty() {
        out.push_str("\nBoth say the same.\n");
        return out;
    }
    if !difference.entries.is_empty() {
        out.push_str(&format!("\nEntries that differ: {}\n", difference.entries.len()));
    }
    for entry in &difference.entries {
        out.push_str(&indented(&entry_line(entry, whole), columns, 2, "  "));
    }
    if !difference.rules.is_empty() {
        out.push_str(&format!("\nRules that differ: {}\n", difference.rules.len()));
    }
    for rule in &difference.rules {
        out.push_str(&indented(&rule_line(rule), columns, 2, "  "));
    }
    out
}

fn whole_json(difference: &Difference, files: &Files, sides: [(&Ask, &Arc<Book>); 2]) -> String {
    let side = |(ask, book): (&Ask, &Arc<Book>)| {
        let layers: Vec<_> = book
            .layers
            .iter()
            .map(|layer| {
                json!({
                    "id": layer.id, "version": layer.version, "content": layer.content, "draft": layer.draft,
                })
            })
            .collect();
        json!({ "place": ask.jurisdiction, "date": ask.permit_date.to_string(), "edition": book.edition, "rulesets": layers })
    };
    let whole = json!({
        "schema": crate::render::json::SCHEMA, "first": side(sides[0]), "second": side(sides[1]),
        "entries": difference.entries.iter().map(|entry| entry_json(files, entry)).collect::<Vec<_>>(),
        "rules": difference.rules.iter().map(|rule| rule_json(files, rule)).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}
