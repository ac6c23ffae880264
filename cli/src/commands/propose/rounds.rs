//! Drafts, inspects and learns until nothing new is learned.

use std::collections::BTreeMap;

use storystick_engine::inspection::{Failure, Inspected, Inspector, JobText, Options};
use storystick_engine::layout::volumes::{self, Size};
use storystick_engine::layout::{self, Choices, Method, Only, Proposed, Unproposed};
use storystick_engine::world::World;

use crate::edit::{self, Addition};
use crate::world::Machine;

/// Most rounds of drafting and inspecting: far more than any shipped place takes.
const ROUNDS: usize = 24;

/// What came of proposing.
#[derive(Debug)]
pub(super) struct Outcome {
    /// The text of the job file with the proposal.
    pub(super) text: String,
    /// What is proposed.
    pub(super) items: Vec<Proposed>,
    /// What can't be proposed.
    pub(super) unproposed: Vec<Unproposed>,
    /// The inspection of it all.
    pub(super) inspected: Inspected,
}

impl Outcome {
    fn corrections(&self) -> usize {
        self.inspected.report.tally.correction
    }
}

/// Makes a proposal for the text of a job.
///
/// # Errors
/// What is wrong with the job or the rulesets.
pub(super) fn proposed(inspector: &mut Inspector, name: &str, text: &str, only: &Only) -> Result<Outcome, Failure> {
    let mut options = Options::on(Machine.today());
    options.stage = Some(storystick_engine::model::Stage::Final);
    let written = inspect(inspector, name, text, &options)?;
    let book = written.code.book.clone();
    let units = layout::units(&written.job);
    let mut choices = Choices::default();
    let mut sizes: BTreeMap<String, Size> = BTreeMap::new();
    let mut best: Option<Outcome> = None;
    for _ in 0..ROUNDS {
        let proposal = layout::propose(&written.job, &*book, &choices, &sizes, only);
        let (items, unproposed) = (proposal.items, proposal.unproposed);
        if items.is_empty() {
            return Ok(Outcome { text: text.to_owned(), items, unproposed, inspected: written });
        }
        let mut bare = items.clone();
        layout::settle(&mut bare, None);
        let draft = inspect(inspector, name, &drafted(text, &bare, &written), &options)?;
        let metal = in_metal(&items, &choices);
        let sized = volumes::sizes(&draft, &items, |id| metal.iter().any(|known| known == id), units);
        let grown = sized.iter().any(|(id, size)| sizes.get(id) != Some(size));
        sizes.extend(sized);
        if grown {
            continue;
        }
        let mut whole = items;
        layout::settle(&mut whole, Some(&draft.job));
        let out = drafted(text, &whole, &written);
        let inspected = inspect(inspector, name, &out, &options)?;
        // With what only stands where nobody set it, clamps for one, a box may have to be larger still.
        let sized = volumes::sizes(&inspected, &whole, |id| metal.iter().any(|known| known == id), units);
        let grown = sized.iter().any(|(id, size)| sizes.get(id) != Some(size));
        sizes.extend(sized);
        let learned = choices.learn(&inspected, &whole);
        let outcome = Outcome { text: out, items: whole, unproposed, inspected };
        if best.as_ref().is_none_or(|best| outcome.corrections() <= best.corrections()) {
            best = Some(outcome);
        }
        if !learned && !grown {
            break;
        }
    }
    Ok(best.unwrap_or(Outcome { text: text.to_owned(), items: Vec::new(), unproposed: Vec::new(), inspected: written }))
}

/// Returns the text of a job with a proposal in it.
fn drafted(text: &str, items: &[Proposed], written: &Inspected) -> String {
    let (onto, new): (Vec<&Proposed>, Vec<&Proposed>) = items.iter().partition(|item| item.onto.is_some());
    let additions: Vec<Addition<'_>> = onto
        .into_iter()
        .filter_map(|item| {
            let header = item.onto?;
            let base = written.job.files.file_of(header)?.base();
            Some(Addition { at: usize::try_from(header.start().checked_sub(base)?).ok()?, item })
        })
        .collect();
    let filled = match additions.as_slice() {
        [] => text.to_owned(),
        _ => edit::filled(text, &additions).unwrap_or_else(|_| text.to_owned()),
    };
    edit::added(&filled, &new).unwrap_or(filled)
}

fn inspect(inspector: &mut Inspector, name: &str, text: &str, options: &Options) -> Result<Inspected, Failure> {
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
