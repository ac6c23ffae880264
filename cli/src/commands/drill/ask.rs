//! What a drill asks besides the job: worksheets of computed figures; and the form that a learner fills in.

use std::fmt::Write as _;

use storystick_engine::inspection::Inspected;

use super::Bench;
use crate::render::working;
use crate::teach::papers::{Key, Mistakes, Question, Worked};
use crate::teach::seed::Seed;

/// Returns the worksheets that are asked for, on items for which they can be worked out.
pub(super) fn figures(bench: &Bench, inspected: &Inspected, table: &Mistakes, seed: &mut Seed) -> Vec<Worked> {
    let job = &inspected.job;
    let mut asked = Vec::new();
    for ask in &table.ask {
        let Some((kind, field)) = ask.figure.split_once('.') else { continue };
        let Some(kind) = job.schema.kind(kind) else { continue };
        let mut items = job.of_kind(kind).to_vec();
        seed.shuffle(&mut items);
        let worked = items
            .into_iter()
            .filter_map(|item| working::worked_out(inspected, bench.inspector.library(), item, field, &ask.figure));
        asked.extend(worked.filter(|worked| !worked.lines.is_empty()).take(ask.count));
    }
    asked
}

/// Returns the form that a learner fills in.
pub(super) fn form(key: &Key, kinds: &[String]) -> String {
    let mut text = String::from(
        "# Answers. Put right what is wrong in job.toml, and write here what you found.\n#\n# name = \"\"\n\n\
         # One for each correction that you would write, with the section:\n#\n# [[correction]]\n# item = \"\"\n# cites = \"\"\n\
         # says = \"\"\n",
    );
    if !key.asked.is_empty() {
        text.push_str("\n# Figures, with a line of working for each step that has a total.\n");
    }
    for one in &key.asked {
        let _ = write!(
            text,
            "\n[[worked]]\nitem = {}\nfigure = {}\nvalue = \"\"\nlines = [\n  # {{ what = \"\", total = \"\" }},\n]\n",
            toml::Value::from(one.item.as_str()),
            toml::Value::from(one.figure.as_str()),
        );
    }
    if !key.question.is_empty() {
        text.push_str(
            "\n# Questions. They are about job.toml as it was handed out, before anything in it is put right. Where a \
             question asks for steps,\n# write a line for each; where lines stand already, fill in their totals.\n",
        );
    }
    for one in &key.question {
        text.push_str(&asked(one));
    }
    if let Some(fault) = key.fault.first() {
        let kinds: Vec<&str> = kinds.iter().map(String::as_str).collect();
        let about = format!(
            "A fault is in the wiring of this job: not in job.toml, but at the meter. `storystick meter FOLDER` names the boxes of this \
             folder, with `--box BOX` the points to probe in one. Readings are logged in readings.toml: hand it in with this form. A search \
             by halves takes about {} readings. Box and conductor are ids as the meter names them. The kind is one of:",
            fault.readings
        );
        text.push('\n');
        for line in crate::render::wrap::wrap(&format!("{about} {}.", kinds.join(", ")), 118, "").lines() {
            let _ = writeln!(text, "# {line}");
        }
        text.push_str("[[fault]]\nkind = \"\"\nbox = \"\"\nconductor = \"\"\n");
    }
    text
}

/// Returns the place in the form for one question.
fn asked(one: &Question) -> String {
    let asks = one.asks.replace(['\n', '\r'], " ");
    let mut text = String::from("\n");
    for line in crate::render::wrap::wrap(&asks, 118, "").lines() {
        let _ = writeln!(text, "# {line}");
    }
    if !one.choices.is_empty() {
        let _ = writeln!(text, "# choose: {}", one.choices.join(" | "));
    }
    if one.picture.is_some() {
        text.push_str("# its drawing is in questions.html\n");
    }
    let _ = write!(text, "[[reply]]\nquestion = {}\nvalue = \"\"\n", toml::Value::from(one.id.as_str()));
    if one.listed {
        text.push_str("lines = [\n");
        for line in &one.lines {
            let _ = writeln!(text, "  {{ what = {}, total = \"\" }},", toml::Value::from(line.what.as_str()));
        }
        text.push_str("]\n");
    } else if !one.lines.is_empty() {
        text.push_str("lines = [\n  # { what = \"\", total = \"\" },\n]\n");
    }
    text
}
