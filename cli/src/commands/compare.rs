//! `compare`: one job under several places and dates.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use storystick_engine::inspection::comparison::{Because, Changed, Compared, Turn, compare_codes};
use storystick_engine::inspection::finding::{CodeInForce, Finding, Report};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::Stage;
use storystick_engine::world::World;

use crate::args::{Common, Compare, PlaceAt, TextOrJson};
use crate::render::difference::{entry_json, entry_line, rule_json, rule_line};
use crate::render::json;
use crate::render::report::Look;
use crate::render::text::{Counts, counts};
use crate::render::wrap::{indented, natural, wrap};
use crate::world::Machine;
use crate::{Answer, Status, world};

/// The job under one other code.
struct Other {
    inspected: Inspected,
    compared: Compared,
}

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Compare) -> Answer {
    match compare(common, args) {
        Ok(answer) => answer,
        Err(message) => Answer::fault(message),
    }
}

fn compare(common: &Common, args: &Compare) -> Result<Answer, String> {
    let line = |message: String| format!("{message}\n");
    let errors = super::look(common, world::stderr_is_terminal());
    let text = super::read_job(&args.job, errors)?;
    let mut inspector = Inspector::new(super::rulesets(common).map_err(line)?);
    let mut plain = Options::on(args.on.unwrap_or_else(|| Machine.today()));
    plain.stage = args.stage.as_deref().and_then(Stage::of);
    plain.met = true;
    let own = inspect(&mut inspector, &text, &plain, errors)?;
    let mut answer = Answer::clean(String::new());
    note_faults(&mut answer, &own, errors);
    let mut others = Vec::new();
    for with in &args.with {
        match inspect(&mut inspector, &text, &options(&plain, with), errors) {
            Ok(inspected) => {
                note_faults(&mut answer, &inspected, errors);
                let compared = compare_codes(&own, &inspected, inspector.library());
                if compared.of(Turn::Fails).next().is_some() {
                    answer.status = answer.status.max(Status::Corrections);
                }
                others.push(Other { inspected, compared });
            }
            Err(message) => {
                answer.err.push_str(&message);
                answer.status = Status::Fault;
            }
        }
    }
    answer.out = match args.format {
        TextOrJson::Text => whole_text(&own, &others, world::columns()),
        TextOrJson::Json => whole_json(&own, &others),
    };
    Ok(answer)
}

fn options(plain: &Options, with: &PlaceAt) -> Options {
    Options { at: with.place.clone(), permit_date: with.date, every_date: with.date.is_some(), ..plain.clone() }
}

fn inspect(inspector: &mut Inspector, text: &JobText, options: &Options, look: Look) -> Result<Inspected, String> {
    let prepared = inspector.prepare(text.clone(), options);
    prepared
        .and_then(|prepared| inspector.inspect(&prepared, options))
        .map_err(|failure| super::draw(&failure.problems, &failure.files, look))
}

fn note_faults(answer: &mut Answer, inspected: &Inspected, look: Look) {
    if !inspected.report.faults.is_empty() {
        answer.err.push_str(&super::draw(&inspected.report.faults, &inspected.job.files, look));
        answer.status = Status::Fault;
    }
}

fn named(code: &CodeInForce) -> String {
    let edition = if code.edition.is_empty() { String::new() } else { format!(" ({})", code.edition) };
    format!("{}, permit of {}{edition}", code.jurisdiction, code.permit_date)
}

fn whole_text(own: &Inspected, others: &[Other], columns: usize) -> String {
    let report = &own.report;
    let mut out = wrap(&report.job, columns, "  ");
    let stage = report.stage.word().replace('_', "-");
    out.push_str(&wrap(&format!("{} · up to {stage}", report.file), columns, "  "));
    out.push_str(&wrap(&format!("As the file says: {}", named(&report.code)), columns, "  "));
    tally(&mut out, report, columns);
    for other in others {
        out.push('\n');
        out.push_str(&wrap(&format!("Against {}", named(&other.inspected.report.code)), columns, "  "));
        tally(&mut out, &other.inspected.report, columns);
        changes(&mut out, &other.compared, (own, &other.inspected), columns);
    }
    out.push_str(&wrap(json::NOTICE, columns, ""));
    out
}

fn tally(out: &mut String, report: &Report, columns: usize) {
    for layer in report.code.rulesets.iter().filter(|layer| layer.draft.is_some()) {
        let why = layer.draft.as_deref().unwrap_or_default();
        out.push_str(&indented(&format!("draft: {} — {why}", layer.id), columns, 2, "  "));
    }
    out.push_str(&indented(&counts(&Counts::of(report)), columns, 2, "  "));
}

fn changes(out: &mut String, compared: &Compared, sides: (&Inspected, &Inspected), columns: usize) {
    if compared.changes.is_empty() {
        out.push_str("  nothing comes out otherwise\n");
    }
    for (turn, title) in [
        (Turn::Fails, "newly fails"),
        (Turn::Opens, "newly open, to measure"),
        (Turn::Passes, "newly passes"),
        (Turn::Settles, "no longer to measure"),
        (Turn::Weighs, "fails as before, weighs otherwise"),
    ] {
        let some: Vec<&Changed> = compared.of(turn).collect();
        if some.is_empty() {
            continue;
        }
        out.push_str(&format!("  {title}: {}\n", some.len()));
        // What one rule says for one reason is told once.
        let mut groups: Vec<Vec<&Changed>> = Vec::new();
        let mut known: BTreeMap<(&str, Vec<String>), usize> = BTreeMap::new();
        for change in some {
            let key = (change.rule.as_str(), because(change));
            match known.get(&key).and_then(|at| groups.get_mut(*at)) {
                Some(group) => group.push(change),
                None => {
                    known.insert(key, groups.len());
                    groups.push(vec![change]);
                }
            }
        }
        for group in &groups {
            one_reason(out, group, sides, columns);
        }
    }
    if compared.fail_under_both > 0 {
        out.push_str(&format!("  fails under both: {}\n", compared.fail_under_both));
    }
}

/// Tells of the items on which one rule comes out otherwise for one reason.
fn one_reason(out: &mut String, group: &[&Changed], sides: (&Inspected, &Inspected), columns: usize) {
    let Some(first) = group.first() else { return };
    let told = first.after.as_ref().or(first.before.as_ref());
    let words = if first.after.is_some() { sides.1.words() } else { sides.0.words() };
    let cite = told.map_or_else(String::new, |finding| format!(" ({})", finding.cite));
    let mut items: Vec<&str> = group.iter().map(|change| change.item.as_str()).collect();
    items.sort_by(|a, b| natural(a, b));
    items.dedup();
    let line = format!("{}{cite} · {} {}", first.rule, first.kind.replace('_', " "), items.join(", "));
    out.push_str(&indented(&line, columns, 4, "  "));
    if let Some(finding) = told {
        let whose = if group.len() > 1 { format!("{}: ", finding.item) } else { String::new() };
        out.push_str(&indented(&format!("{whose}{}", words.message(finding)), columns, 6, "  "));
    }
    if first.because.is_empty() {
        out.push_str(&indented("nothing that the rule reads differs by itself", columns, 6, "  "));
    }
    for line in because(first) {
        out.push_str(&indented(&format!("because {line}"), columns, 6, "  "));
    }
}

fn because(change: &Changed) -> Vec<String> {
    let line = |because: &Because| match because {
        Because::Entry(entry) => entry_line(entry, false),
        Because::Rule(rule) => rule_line(rule),
    };
    change.because.iter().map(line).collect()
}

fn whole_json(own: &Inspected, others: &[Other]) -> String {
    let report = &own.report;
    let with: Vec<Value> = others
        .iter()
        .map(|other| {
            json!({
                "code": json::code(&other.inspected.report.code), "tally": json::tally(&other.inspected.report.tally),
                "fail_under_both": other.compared.fail_under_both,
                "changes": other.compared.changes.iter().map(|change| changed(own, &other.inspected, change)).collect::<Vec<_>>(),
            })
        })
        .collect();
    let whole = json!({
        "schema": json::SCHEMA, "notice": json::NOTICE, "job": report.job, "file": report.file,
        "stage": report.stage.word(), "code": json::code(&report.code), "tally": json::tally(&report.tally), "with": with,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn changed(own: &Inspected, other: &Inspected, change: &Changed) -> Value {
    let files = &other.job.files;
    let side = |inspected: &Inspected, finding: &Option<Finding>| {
        let words = inspected.words();
        json!(finding.as_ref().map(|finding| json::finding(&words, finding)))
    };
    let because = |because: &Because| match because {
        Because::Entry(entry) => entry_json(files, entry),
        Because::Rule(rule) => rule_json(files, rule),
    };
    json!({
        "turn": change.turn.word(), "rule": change.rule, "kind": change.kind, "item": change.item,
        "before": side(own, &change.before), "after": side(other, &change.after),
        "because": change.because.iter().map(because).collect::<Vec<_>>(),
    })
}
