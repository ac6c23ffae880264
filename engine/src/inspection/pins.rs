//! Pins: the rulesets that a job insists on, by version and by the hash of their content.

use crate::book::{Book, Layer};
use crate::model::kinds::pin;
use crate::model::{FieldId, ItemIndex, Job};
use crate::problem::{self, Problem};

/// Holds the pins of a job against the rulesets in force. A pin that does not hold is an error at the value that differs.
///
/// `moved`: the job is inspected as if it stood elsewhere or at another time. Other rulesets are in force there, so a pin of
/// one that is not is then merely a thing to know.
pub(super) fn check(job: &Job, book: &Book, moved: bool, problems: &mut Vec<Problem>) {
    let Some(kind) = job.schema.kind(pin::NAME) else { return };
    for &item in job.of_kind(kind) {
        let Some(id) = job.text(item, pin::RULESET) else { continue };
        let Some(layer) = book.layers.iter().find(|layer| layer.id == id) else {
            problems.push(not_in_force(job, book, item, id, moved));
            continue;
        };
        let pinned = [("version", pin::VERSION, &layer.version), ("content", pin::CONTENT, &layer.content)];
        for (what, field, is) in pinned {
            problems.extend(differs(job, item, field, layer, what, is));
        }
    }
}

fn not_in_force(job: &Job, book: &Book, item: ItemIndex, id: &str, moved: bool) -> Problem {
    let span = job.cell(item, pin::RULESET).span();
    let mut problem = Problem::new(span, format!("the ruleset `{id}` is pinned and not in force for this job"));
    problem.label = String::from("not in force here");
    problem.help = problem::did_you_mean(id, book.layers.iter().map(|layer| layer.id.as_str()));
    if moved { problem.notice() } else { problem }
}

fn differs(job: &Job, item: ItemIndex, field: FieldId, layer: &Layer, what: &str, is: &str) -> Option<Problem> {
    let pinned = job.text(item, field).filter(|pinned| *pinned != is)?;
    let message = format!("the job pins {what} `{pinned}` of `{}`, and `{is}` is in force", layer.id);
    let help =
        format!("inspect with the ruleset as it was (`--rulesets`), or look at what has changed and pin {what} `{is}`");
    Some(
        Problem::new(job.cell(item, field).span(), message)
            .label(format!("is `{is}` now"))
            .mark(layer.span, "the ruleset in force")
            .help(help),
    )
}
