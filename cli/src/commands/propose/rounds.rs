//! Drafts, inspects and learns until nothing new is learned. What has not put its own finding right is taken back, so that a proposal
//! never has more to put right than the plain plan.

use std::collections::{BTreeMap, BTreeSet};

use storystick_engine::inspection::{Failure, Inspected, Inspector, JobText, Options};
use storystick_engine::layout::volumes::{self, Size};
use storystick_engine::layout::{self, Check, Choices, Lesson, Method, Only, Proposed, Sort, Standing, Unproposed};
use storystick_engine::world::World;

use crate::edit::{self, Addition};
use crate::world::Machine;

/// Most rounds of learning: far more than any shipped place takes.
const ROUNDS: usize = 24;
/// Most drafts in which the lessons of one round are tried: each leaves a lesson out or goes a step further.
const TRIES: usize = 12;
/// Most times that a draft is made again because its boxes are too small.
const SIZINGS: usize = 6;

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

/// A draft with all the lessons that went into it.
struct State {
    outcome: Outcome,
    lessons: Vec<Lesson>,
    sizes: BTreeMap<String, Size>,
    standings: BTreeMap<Check, Standing>,
}

impl State {
    /// Returns what there is to put right, the heaviest first.
    fn tally(&self) -> [usize; 4] {
        let tally = self.outcome.inspected.report.tally;
        [tally.correction, tally.caution, tally.note, tally.to_measure]
    }

    fn corrections(&self) -> usize {
        self.outcome.inspected.report.tally.correction
    }

    fn standing(&self, check: &Check) -> Standing {
        self.standings.get(check).copied().unwrap_or_default()
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
    let mut desk = Desk { inspector, name, text, only, options, written };
    let Some(plain) = desk.drafted(Vec::new(), BTreeMap::new())? else {
        let Desk { text, only, written, .. } = desk;
        let proposal = layout::propose(&written.job, &*written.code.book, &Choices::default(), &BTreeMap::new(), only);
        let (text, items) = (text.to_owned(), Vec::new());
        return Ok(Outcome { text, items, unproposed: proposal.unproposed, inspected: written });
    };
    let learned = desk.learned(&plain)?;
    let state = match learned {
        Some(state) => desk.pruned(state, &plain)?,
        None => plain,
    };
    Ok(state.outcome)
}

/// What a proposal is made with.
struct Desk<'a> {
    inspector: &'a mut Inspector,
    name: &'a str,
    text: &'a str,
    only: &'a Only,
    options: Options,
    /// The job as the person wrote it.
    written: Inspected,
}

impl Desk<'_> {
    /// Returns the draft that some lessons give, with boxes at least of the sizes known; nothing where there is nothing to propose.
    fn drafted(&mut self, lessons: Vec<Lesson>, mut sizes: BTreeMap<String, Size>) -> Result<Option<State>, Failure> {
        let book = self.written.code.book.clone();
        let units = layout::units(&self.written.job);
        let choices = Choices::of(&lessons);
        let mut sizings = 0;
        loop {
            let proposal = layout::propose(&self.written.job, &*book, &choices, &sizes, self.only);
            let (items, unproposed) = (proposal.items, proposal.unproposed);
            if items.is_empty() {
                return Ok(None);
            }
            sizings += 1;
            let mut bare = items.clone();
            layout::settle(&mut bare, None);
            let draft = self.inspected(&drafted(self.text, &bare, &self.written))?;
            let metal = in_metal(&items, &choices);
            let grown = |sizes: &mut BTreeMap<String, Size>, inspected: &Inspected, items: &[Proposed]| {
                let sized = volumes::sizes(inspected, items, |id| metal.iter().any(|known| known == id), units);
                let grown = sized.iter().any(|(id, size)| sizes.get(id) != Some(size));
                sizes.extend(sized);
                grown
            };
            if grown(&mut sizes, &draft, &items) && sizings < SIZINGS {
                continue;
            }
            let mut whole = items;
            layout::settle(&mut whole, Some(&draft.job));
            let text = drafted(self.text, &whole, &self.written);
            let inspected = self.inspected(&text)?;
            // With what only stands where nobody set it, clamps for one, a box may have to be larger still.
            if grown(&mut sizes, &inspected, &whole) && sizings < SIZINGS {
                continue;
            }
            let standings = layout::standings(&inspected);
            let outcome = Outcome { text, items: whole, unproposed, inspected };
            return Ok(Some(State { outcome, lessons, sizes, standings }));
        }
    }

    fn inspected(&mut self, text: &str) -> Result<Inspected, Failure> {
        inspect(self.inspector, self.name, text, &self.options)
    }

    /// Learns round by round; nothing where the plain draft teaches nothing that helps.
    fn learned(&mut self, plain: &State) -> Result<Option<State>, Failure> {
        let mut taken_back: BTreeSet<(Option<Check>, Sort)> = BTreeSet::new();
        let mut best: Option<State> = None;
        for _ in 0..ROUNDS {
            let state = best.as_ref().unwrap_or(plain);
            let mut fresh = taught(state, &taken_back);
            // What makes items come and go is settled first: a circuit may have another number afterwards.
            if fresh.iter().any(|lesson| lesson.change.moves_items()) {
                fresh.retain(|lesson| lesson.change.moves_items());
            }
            if fresh.is_empty() {
                break;
            }
            if let Some(next) = self.tried(state, fresh, &mut taken_back)? {
                best = Some(next);
            }
        }
        Ok(best)
    }

    /// Tries fresh lessons on a draft, and leaves out again what does not improve the finding that it came from.
    fn tried(
        &mut self,
        state: &State,
        mut fresh: Vec<Lesson>,
        taken_back: &mut BTreeSet<(Option<Check>, Sort)>,
    ) -> Result<Option<State>, Failure> {
        for _ in 0..TRIES {
            if fresh.is_empty() {
                return Ok(None);
            }
            let moves = fresh.iter().any(|lesson| lesson.change.moves_items());
            let sizes = if moves { BTreeMap::new() } else { state.sizes.clone() };
            let lessons = state.lessons.iter().chain(&fresh).cloned().collect();
            let Some(next) = self.drafted(lessons, sizes)? else { return Ok(None) };
            let idle: BTreeSet<Option<Check>> = fresh
                .iter()
                .map(|lesson| lesson.check.clone())
                .filter(|check| !improves(check, state, &next))
                .collect();
            if idle.is_empty() {
                return Ok(Some(next));
            }
            // A step further, where one is left; else back.
            let is_further = |lesson: &Lesson| {
                let begun = |known: &Lesson| known.check == lesson.check && known.change.sort() == lesson.change.sort();
                lesson.change.is_ladder() && idle.contains(&lesson.check) && fresh.iter().any(begun)
            };
            let further: Vec<Lesson> = taught(&next, taken_back).into_iter().filter(is_further).collect();
            let goes_on = |check: &Option<Check>| further.iter().any(|lesson| lesson.check == *check);
            fresh.retain(|lesson| {
                let stays = !idle.contains(&lesson.check) || goes_on(&lesson.check);
                if !stays {
                    taken_back.insert((lesson.check.clone(), lesson.change.sort()));
                }
                stays
            });
            fresh.extend(further);
        }
        taken_back.extend(fresh.into_iter().map(|lesson| (lesson.check, lesson.change.sort())));
        Ok(None)
    }

    /// Takes back what was learned in vain where corrections are left, and everything where there are more of them than in the plain draft.
    fn pruned(&mut self, mut state: State, plain: &State) -> Result<State, Failure> {
        if state.corrections() > 0 {
            let worse =
                |(check, standing): (&Check, &Standing)| standing.corrections > plain.standing(check).corrections;
            let any = state.standings.iter().any(worse);
            let mut sorts: Vec<(Option<Check>, Sort)> = Vec::new();
            for lesson in state.lessons.iter().rev() {
                let failing = lesson.check.as_ref().is_some_and(|check| state.standing(check).corrections > 0);
                let sort = (lesson.check.clone(), lesson.change.sort());
                if (any || failing) && !sorts.contains(&sort) {
                    sorts.push(sort);
                }
            }
            for (check, sort) in sorts {
                let kept: Vec<Lesson> = state
                    .lessons
                    .iter()
                    .filter(|lesson| (lesson.check != check) || lesson.change.sort() != sort)
                    .cloned()
                    .collect();
                if let Some(without) = self.drafted(kept, BTreeMap::new())?
                    && without.tally() <= state.tally()
                {
                    state = without;
                }
            }
        }
        if state.corrections() > plain.corrections()
            && let Some(plain) = self.drafted(Vec::new(), BTreeMap::new())?
        {
            state = plain;
        }
        Ok(state)
    }
}

/// Returns what a draft teaches.
fn taught(state: &State, taken_back: &BTreeSet<(Option<Check>, Sort)>) -> Vec<Lesson> {
    let Outcome { inspected, items, .. } = &state.outcome;
    layout::lessons(inspected, items, &Choices::of(&state.lessons), taken_back)
}

/// Returns whether a check stands better in a later draft; what only evens circuits out must not add corrections.
fn improves(check: &Option<Check>, before: &State, after: &State) -> bool {
    match check {
        Some(check) => after.standing(check) < before.standing(check),
        None => after.corrections() <= before.corrections(),
    }
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
