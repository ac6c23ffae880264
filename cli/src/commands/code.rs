//! `code`: what is in force at a place on a day, and who set it.

use std::fmt::Write as _;

use storystick_engine::book::{Ask, Book, DefineInForce, Found, Matching, RuleInForce, RuleName, Shown, Step};
use storystick_engine::inspection::{Inspector, Options};
use storystick_engine::source::Files;
use storystick_engine::world::World;

use super::next::told;
use crate::args::{Code, Common, TextOrJson};
use crate::render::wrap::{indented, wrap};
use crate::world::Machine;
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Code) -> Answer {
    let look = super::look(common, world::stderr_is_terminal());
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let mut inspector = Inspector::new(texts);
    if let [first, second] = args.diff.as_slice() {
        return super::diff::run(&mut inspector, args, (first, second), look);
    }
    let mut names: Vec<String> = args.entries.clone();
    let (ask, job) = match (&args.at, &args.job) {
        (Some(place), job) => {
            // With a place, what stands first is no job but the first entry.
            names.splice(0..0, job.clone());
            let day = args.on.unwrap_or_else(|| Machine.today());
            let mut ask = Ask::on(place, day);
            ask.accessible = args.accessible;
            ask.shop.clone_from(&args.shop);
            (Some(ask), None)
        }
        (None, Some(job)) => (None, Some(job)),
        (None, None) => return Answer::fault("name a job file, or a place with --at and a day with --on\n"),
    };
    let code = match (ask, job) {
        (Some(ask), _) => inspector
            .code(&ask, storystick_engine::model::Stage::Final)
            .map_err(|problems| super::draw(&problems, inspector.shelf().files(), look)),
        (None, job) => from_job(&mut inspector, job.map_or("", String::as_str), args, look),
    };
    match code {
        Ok(code) => {
            let all = match (&args.at, &args.job) {
                (Some(place), _) => {
                    format!("storystick code --at {place} --on {}", args.on.unwrap_or_else(|| Machine.today()))
                }
                (None, job) => format!("storystick code {}", job.as_deref().unwrap_or("JOB")),
            };
            show(&code.book, inspector.shelf().files(), &names, args.format, &all)
        }
        Err(message) => Answer::fault(message),
    }
}

fn from_job(
    inspector: &mut Inspector,
    path: &str,
    args: &Code,
    look: crate::render::report::Look,
) -> Result<std::sync::Arc<storystick_engine::inspection::Code>, String> {
    let text = super::read_job(path, look)?;
    let mut options = Options::on(Machine.today());
    options.stage = Some(storystick_engine::model::Stage::Final);
    options.permit_date = args.on;
    let prepared = inspector.prepare(text, &options);
    prepared.map(|prepared| prepared.code()).map_err(|failure| super::draw(&failure.problems, &failure.files, look))
}

/// Shows what is asked for; `all` is the command that lists everything.
fn show(book: &Book, files: &Files, names: &[String], format: TextOrJson, all: &str) -> Answer {
    let mut entries: Vec<Shown> = Vec::new();
    let mut rules: Vec<RuleName<'_>> = Vec::new();
    let mut defines: Vec<&DefineInForce> = Vec::new();
    let mut unknown = String::new();
    if names.is_empty() {
        defines.extend(&book.defines);
        entries.extend(book.all_entries().map(|entry| book.shown(entry)));
        rules.extend(book.rules.iter().map(RuleName::Current));
        rules.extend(book.omitted.iter().map(RuleName::Omitted));
    }
    for name in names {
        match book.show(name) {
            Found::Entry(shown) => entries.push(*shown),
            Found::Group(keys) => {
                entries.extend(keys.iter().filter_map(|key| book.get(key)).map(|entry| book.shown(entry)));
            }
            Found::Rule(rule) => rules.push(rule),
            Found::Defines(found) => defines.extend(found),
            Found::Nothing(nearest) => {
                let hint = nearest.map_or_else(String::new, |name| format!("; did you mean `{name}`?"));
                let _ = writeln!(unknown, "nothing is called `{name}` in the code in force{hint}");
            }
        }
    }
    let out = match format {
        // That nothing is called so is all there is to say.
        TextOrJson::Text if !unknown.is_empty() && entries.is_empty() && rules.is_empty() && defines.is_empty() => {
            String::new()
        }
        TextOrJson::Text => {
            let mut out = text(book, files, &entries, &rules, names.is_empty());
            for define in defines {
                out.push_str(&define_text(book, files, define, names.is_empty()));
            }
            out
        }
        TextOrJson::Json => json(book, files, &entries, &rules, &defines),
    };
    let status = if unknown.is_empty() { Status::Clean } else { Status::Fault };
    if !unknown.is_empty() {
        unknown = told(&unknown, &[&format!("`{all}` lists every entry and rule in force")], world::columns()) + "\n";
    }
    Answer { out, err: unknown, status }
}

fn place(files: &Files, step: &Step) -> String {
    files.place(step.span).map_or_else(String::new, |at| format!("{}:{}", at.file, at.line))
}

fn text(book: &Book, files: &Files, entries: &[Shown], rules: &[RuleName<'_>], whole: bool) -> String {
    let columns = world::columns();
    let mut out = String::new();
    let edition = if book.edition.is_empty() { String::new() } else { format!(", edition {}", book.edition) };
    out.push_str(&wrap(&format!("The code in force: {}{edition}", book.jurisdiction), columns, "  "));
    for layer in &book.layers {
        let adopted = layer.adopted.as_ref().map_or_else(String::new, |adopted| {
            format!(", adopted by {} from {} ({})", adopted.by, adopted.from, adopted.cites)
        });
        let reviewed = layer.reviewed.map_or_else(String::new, |day| format!(", reviewed {day}"));
        let draft = layer.draft.as_ref().map_or_else(String::new, |why| format!(", DRAFT: {why}"));
        let line =
            format!("{} v{} {} — {}{adopted}{reviewed}{draft}", layer.id, layer.version, layer.content, layer.title);
        out.push_str(&indented(&line, columns, 2, "  "));
    }
    out.push('\n');
    for shown in entries {
        entry_text(&mut out, files, shown, columns, whole);
    }
    for rule in rules {
        out.push_str(&rule_text(book, files, rule, columns, whole));
    }
    out
}

fn entry_text(out: &mut String, files: &Files, shown: &Shown, columns: usize, whole: bool) {
    match &shown.value {
        Some(value) => out.push_str(&wrap(&format!("{} = {value}", shown.key), columns, "    ")),
        None => out.push_str(&wrap(&format!("{} ({})", shown.key, shown.holds), columns, "    ")),
    }
    if whole {
        return;
    }
    for row in &shown.rows {
        let reach = shown.matching.map_or("", Matching::before_key);
        let key = row.key.as_ref().map_or_else(String::new, |key| format!("{reach}{key}: "));
        // Only what differs from the entry as it was first written says who set it.
        let as_first = |step: &&Step| {
            shown.chain.first().is_some_and(|first| first.ruleset == step.ruleset && first.cites == step.cites)
        };
        let latest = row.chain.last().filter(|step| !as_first(step));
        let by = latest.map_or_else(String::new, |step| format!(" ({}, {})", step.ruleset, step.cites));
        out.push_str(&indented(&format!("{key}{}{by}", row.value), columns, 4, "  "));
    }
    for step in &shown.chain {
        let since = step.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
        let doubt = if step.checked.is_verified() { "" } else { " — UNVERIFIED" };
        let line = format!("{}: {} ({}{since}){doubt}", step.title, step.value, step.cites);
        out.push_str(&indented(&line, columns, 4, "  "));
        let line = format!("{} · {} · {}", place(files, step), step.checked.word(), step.source);
        out.push_str(&indented(&line, columns, 6, "  "));
        if let Some(note) = &step.note {
            out.push_str(&indented(&format!("note: {note}"), columns, 6, "  "));
        }
    }
}

fn rule_text(book: &Book, files: &Files, rule: &RuleName<'_>, columns: usize, whole: bool) -> String {
    let mut out = String::new();
    let (source, state, chain) = match rule {
        RuleName::Current(rule) | RuleName::Renamed(rule) => {
            (&rule.source, format!("weighs {}", rule.weight.word()), book.steps(&rule.chain))
        }
        RuleName::Omitted(rule) => {
            let instead = match &rule.replaced_by {
                Some(id) => format!(", replaced by {id}"),
                None if rule.of_other_days => String::from(" on this day"),
                None => String::new(),
            };
            (&rule.source, format!("NOT in force{instead}"), book.steps(std::slice::from_ref(&rule.by)))
        }
    };
    let line = format!("rule {} ({}) at {} — {state}", source.id, source.cites, source.stage.word());
    out.push_str(&wrap(&line, columns, "    "));
    if whole {
        return out;
    }
    for line in source.doc.lines() {
        out.push_str(&indented(line, columns, 4, ""));
    }
    for step in chain {
        let since = step.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
        let line = format!("{}: {} ({}{since}) · {}", step.title, step.value, step.cites, place(files, &step));
        out.push_str(&indented(&line, columns, 4, "  "));
    }
    for line in files.text(source.text).lines() {
        let _ = writeln!(out, "    | {line}");
    }
    if let RuleName::Current(rule) | RuleName::Renamed(rule) = rule {
        out.push_str(&exceptions_text(book, files, rule, columns));
    }
    out
}

/// Returns what rulesets above a rule add to its exceptions and take out of them.
fn exceptions_text(book: &Book, files: &Files, rule: &RuleInForce, columns: usize) -> String {
    let mut out = String::new();
    let title = |layer: usize| book.layers.get(layer).map_or("", |layer| layer.title.as_str());
    for added in &rule.exceptions {
        let (source, by) = (&added.source, &added.setting);
        let since = source.from.map_or_else(String::new, |day| format!(" from {day}"));
        let until = source.until.map_or_else(String::new, |day| format!(" until {day}"));
        let line = format!(
            "exception {} added by {} ({}{since}{until}): {}",
            source.name.text,
            title(added.layer),
            by.cites,
            source.doc.replace('\n', " ")
        );
        out.push_str(&indented(&line, columns, 4, "  "));
        for line in files.text(source.text).lines() {
            let _ = writeln!(out, "    | {line}");
        }
    }
    let own = rule.omitted_exceptions.iter().map(|(name, by)| (name.as_str(), by));
    let others = rule.withdrawn.iter().map(|(added, by)| (added.source.name.text.as_str(), by));
    for (name, by) in own.chain(others) {
        let since = by.from.map_or_else(String::new, |day| format!(", in force {day}"));
        let line = format!("exception {name} taken out by {} ({}{since})", title(by.ruleset), by.cites);
        out.push_str(&indented(&line, columns, 4, "  "));
    }
    out
}

/// Returns a shared condition with its text and who defined it; `short` gives its line alone.
fn define_text(book: &Book, files: &Files, define: &DefineInForce, short: bool) -> String {
    let columns = world::columns();
    let source = &define.source;
    let mut out =
        wrap(&format!("define {} ({}): {}", source.name, source.cites, source.doc.replace('\n', " ")), columns, "    ");
    if short {
        return out;
    }
    for step in book.steps(&define.chain) {
        let line = format!("{}: {} ({}) · {}", step.title, step.value, step.cites, place(files, &step));
        out.push_str(&indented(&line, columns, 4, "  "));
    }
    for line in files.text(source.text).lines() {
        let _ = writeln!(out, "    | {line}");
    }
    out
}

fn step_json(files: &Files, step: &Step) -> serde_json::Value {
    let at = files.place(step.span);
    serde_json::json!({
        "ruleset": step.ruleset, "title": step.title, "value": step.value, "cite": step.cites, "source": step.source,
        "checked": step.checked.word(), "verified": step.checked.is_verified(), "in_force": step.in_force, "note": step.note,
        "file": at.map(|at| at.file), "line": at.map(|at| at.line),
    })
}

fn json(book: &Book, files: &Files, entries: &[Shown], rules: &[RuleName<'_>], defines: &[&DefineInForce]) -> String {
    let steps = |chain: &[Step]| chain.iter().map(|step| step_json(files, step)).collect::<Vec<_>>();
    let entries: Vec<_> = entries
        .iter()
        .map(|shown| {
            serde_json::json!({
                "key": shown.key, "holds": shown.holds, "value": shown.value, "chain": steps(&shown.chain),
                "match": shown.matching.map(Matching::word),
                "rows": shown.rows.iter().map(|row| serde_json::json!({
                    "key": row.key, "value": row.value, "chain": steps(&row.chain),
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    let rules: Vec<_> = rules
        .iter()
        .map(|rule| match rule {
            RuleName::Current(rule) | RuleName::Renamed(rule) => serde_json::json!({
                "rule": rule.source.id, "ruleset": rule.source.ruleset, "cite": rule.source.cites, "in_force": true,
                "weight": rule.weight.word(), "stage": rule.source.stage.word(), "asks": rule.source.doc,
                "exceptions_added": rule.exceptions.iter().map(|added| serde_json::json!({
                    "name": added.source.name.text, "says": added.source.doc,
                    "chain": steps(&book.steps(std::slice::from_ref(&added.setting))),
                })).collect::<Vec<_>>(),
                "exceptions_out": rule.omitted_exceptions.iter().map(|(name, by)| (name, by))
                    .chain(rule.withdrawn.iter().map(|(added, by)| (&added.source.name.text, by)))
                    .map(|(name, by)| serde_json::json!({
                        "name": name, "chain": steps(&book.steps(std::slice::from_ref(by))),
                    })).collect::<Vec<_>>(),
                "chain": steps(&book.steps(&rule.chain)),
            }),
            RuleName::Omitted(rule) => serde_json::json!({
                "rule": rule.source.id, "ruleset": rule.source.ruleset, "cite": rule.source.cites, "in_force": false,
                "replaced_by": rule.replaced_by, "of_other_days": rule.of_other_days, "chain": steps(&book.steps(std::slice::from_ref(&rule.by))),
            }),
        })
        .collect();
    let defines: Vec<_> = defines
        .iter()
        .map(|define| {
            serde_json::json!({
                "define": define.source.name, "cite": define.source.cites, "says": define.source.doc,
                "text": files.text(define.source.body), "chain": steps(&book.steps(&define.chain)),
            })
        })
        .collect();
    let layers: Vec<_> = book
        .layers
        .iter()
        .map(|layer| {
            serde_json::json!({
                "id": layer.id, "title": layer.title, "kind": layer.kind.word(), "version": layer.version,
                "content": layer.content, "reviewed": layer.reviewed.map(|day| day.to_string()), "draft": layer.draft,
                "source": layer.source,
                "adopted": layer.adopted.as_ref().map(|adopted| serde_json::json!({
                    "by": adopted.by, "from": adopted.from.to_string(), "cite": adopted.cites, "source": adopted.source,
                })),
            })
        })
        .collect();
    let whole = serde_json::json!({
        "schema": crate::render::json::SCHEMA, "jurisdiction": book.jurisdiction, "edition": book.edition,
        "rulesets": layers, "entries": entries, "rules": rules, "defines": defines,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}
