//! `propose`: fills in what a job lacks.

use std::collections::BTreeMap;

use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::layout::volumes::{self, Size};
use storystick_engine::layout::{self, Choices, Method, Only, Part, Proposed};
use storystick_engine::world::World;

use crate::args::{Common, Propose};
use crate::edit;
use crate::world::{self, Machine};
use crate::{Answer, Status};

/// Most rounds of drafting and inspecting: far more than any shipped place takes.
const ROUNDS: usize = 24;

/// What came of proposing.
struct Outcome {
    text: String,
    items: Vec<Proposed>,
    /// Corrections that are left, of what the person wrote or what no choice puts right.
    left: usize,
}

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Propose) -> Answer {
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let text = match super::read_job(&args.job, super::look(common, world::stderr_is_terminal())) {
        Ok(job) => job.text,
        Err(message) => return Answer::fault(message),
    };
    let only = Only(args.only.iter().filter_map(|word| Part::of(word)).collect());
    let mut inspector = Inspector::new(texts);
    let outcome = match proposed(&mut inspector, &args.job, &text, &only) {
        Ok(outcome) => outcome,
        Err(failure) => {
            let look = super::look(common, world::stderr_is_terminal());
            return Answer::fault(super::draw(&failure.problems, &failure.files, look));
        }
    };
    let mut answer = Answer::clean(String::new());
    if args.dry_run {
        let to = args.out.as_deref().unwrap_or(&args.job);
        answer.out = similar::TextDiff::from_lines(&*text, outcome.text.as_str())
            .unified_diff()
            .header(&args.job, to)
            .to_string();
    } else {
        let to = args.out.as_deref().unwrap_or(&args.job);
        if (outcome.text != *text || args.out.is_some())
            && let Err(message) = world::replace(to, &outcome.text)
        {
            return Answer::fault(format!("{message}\n"));
        }
        answer.out = summary(&outcome, to);
    }
    if outcome.left > 0 {
        answer.err = format!(
            "{} to put right that a proposal does not decide; `storystick inspect {}` tells which\n",
            count(outcome.left, "value", "values"),
            args.out.as_deref().unwrap_or(&args.job)
        );
        answer.status = Status::Corrections;
    }
    answer
}

fn summary(outcome: &Outcome, to: &str) -> String {
    if outcome.items.is_empty() {
        return String::from("nothing to propose: every room, circuit and cable is there\n");
    }
    let mut by_kind: Vec<(&str, usize)> = Vec::new();
    for item in &outcome.items {
        match by_kind.iter_mut().find(|(kind, _)| *kind == item.kind) {
            Some((_, number)) => *number += 1,
            None => by_kind.push((item.kind, 1)),
        }
    }
    let told: Vec<String> = by_kind.iter().map(|(kind, number)| count(*number, kind, &plural(kind))).collect();
    format!("proposed {} in {to}\nnext: storystick inspect {to}\n", told.join(", "))
}

fn plural(kind: &str) -> String {
    if kind == "box" { String::from("boxes") } else { format!("{kind}s") }
}

fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// Drafts, inspects and learns until nothing new is learned.
fn proposed(
    inspector: &mut Inspector,
    name: &str,
    text: &str,
    only: &Only,
) -> Result<Outcome, storystick_engine::inspection::Failure> {
    let mut options = Options::on(Machine.today());
    options.stage = Some(storystick_engine::model::Stage::Final);
    let written = inspect(inspector, name, text, &options)?;
    let book = written.code.book.clone();
    let units = layout::units(&written.job);
    let mut choices = Choices::default();
    let mut sizes: BTreeMap<String, Size> = BTreeMap::new();
    let mut best: Option<Outcome> = None;
    for _ in 0..ROUNDS {
        let items = layout::propose(&written.job, &*book, &choices, &sizes, only);
        if items.is_empty() {
            return Ok(Outcome { text: text.to_owned(), items, left: 0 });
        }
        let mut bare = items.clone();
        layout::settle(&mut bare, None);
        let draft = inspect(inspector, name, &drafted(text, &bare), &options)?;
        let metal = in_metal(&items, &choices);
        let sized = volumes::sizes(&draft, &items, |id| metal.iter().any(|known| known == id), units);
        let grown = sized.iter().any(|(id, size)| sizes.get(id) != Some(size));
        sizes.extend(sized);
        if grown {
            continue;
        }
        let mut whole = items;
        layout::settle(&mut whole, Some(&draft.job));
        let out = drafted(text, &whole);
        let inspected = inspect(inspector, name, &out, &options)?;
        // With what only stands where nobody set it, clamps for one, a box may have to be larger still.
        let sized = volumes::sizes(&inspected, &whole, |id| metal.iter().any(|known| known == id), units);
        let grown = sized.iter().any(|(id, size)| sizes.get(id) != Some(size));
        sizes.extend(sized);
        let left = inspected.report.tally.correction.saturating_sub(written.report.tally.correction);
        let learned = choices.learn(&inspected, &whole);
        if best.as_ref().is_none_or(|best| left <= best.left) {
            best = Some(Outcome { text: out, items: whole, left });
        }
        if !learned && !grown {
            break;
        }
    }
    Ok(best.unwrap_or(Outcome { text: text.to_owned(), items: Vec::new(), left: 0 }))
}

fn drafted(text: &str, items: &[Proposed]) -> String {
    edit::added(text, items).unwrap_or_else(|_| text.to_owned())
}

fn inspect(
    inspector: &mut Inspector,
    name: &str,
    text: &str,
    options: &Options,
) -> Result<Inspected, storystick_engine::inspection::Failure> {
    let prepared = inspector.prepare(JobText { name: name.to_owned(), text: text.into() }, options)?;
    inspector.inspect(&prepared, options)
}

/// Returns the boxes on circuits that are wired in metal.
fn in_metal(items: &[Proposed], choices: &Choices) -> Vec<String> {
    let text = |item: &Proposed, key: &str| {
        item.fields.iter().find(|field| field.key == key).and_then(|field| match &field.value {
            layout::Written::Text(text) => Some(text.clone()),
            _ => None,
        })
    };
    let metal = |item: &&Proposed| {
        let circuit = text(item, "circuit");
        circuit.is_some_and(|circuit| choices.methods.get(&circuit).is_some_and(|method| *method != Method::Cable))
    };
    items.iter().filter(metal).filter_map(|item| text(item, "box")).collect()
}
