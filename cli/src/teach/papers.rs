//! The files between trainer and trainee: key, answers, rubric, and the table that drills are made from.

use serde::{Deserialize, Serialize};

/// The key of a drill.
#[derive(Clone, Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Key {
    /// Version of this form.
    pub(crate) key_format: u32,
    /// Name of the job that the drill was made from.
    pub(crate) job: String,
    /// Its seed.
    pub(crate) seed: u64,
    /// Corrections that the sound job had already: naming them is neither right nor wrong.
    #[serde(default)]
    pub(crate) standing: Vec<Told>,
    /// Mistakes that were planted.
    #[serde(default)]
    pub(crate) planted: Vec<Planted>,
    /// Figures that are asked for.
    #[serde(default)]
    pub(crate) asked: Vec<Worked>,
    /// Questions.
    #[serde(default)]
    pub(crate) question: Vec<Question>,
    /// Faults to find with a meter.
    #[serde(default)]
    pub(crate) fault: Vec<Planned>,
}

/// A fault to find with a meter, and what finding it well takes.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Planned {
    /// Its kind in the table of faults.
    pub(crate) kind: String,
    /// In words.
    pub(crate) what: String,
    /// Id of the box.
    #[serde(rename = "box")]
    pub(crate) place: String,
    /// The conductors concerned, as job files name them.
    pub(crate) conductors: Vec<String>,
    /// What following the current finds because of it.
    pub(crate) shows: Vec<String>,
    /// How many readings a search by halves takes.
    pub(crate) readings: usize,
    /// The number that the sealed fault and its readings carry.
    pub(crate) drill: u64,
}

/// A fault as a trainee names it.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Named {
    /// Its kind.
    #[serde(default)]
    pub(crate) kind: String,
    /// Id of the box.
    #[serde(default, rename = "box")]
    pub(crate) place: String,
    /// One of the conductors concerned.
    #[serde(default)]
    pub(crate) conductor: String,
}

/// A correction.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Told {
    /// Id of the item.
    pub(crate) item: String,
    /// Id of the rule; trainees need not know it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(crate) rule: String,
    /// Citation.
    #[serde(default)]
    pub(crate) cites: String,
    /// What is wrong.
    #[serde(default)]
    pub(crate) says: String,
}

/// A planted mistake.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Planted {
    /// Its kind in the table of mistakes.
    pub(crate) mistake: String,
    /// In words.
    pub(crate) what: String,
    /// The item whose value was changed.
    pub(crate) item: String,
    /// The field.
    pub(crate) field: String,
    /// What stood there.
    pub(crate) was: String,
    /// What stands there now.
    pub(crate) now: String,
    /// What the inspection finds because of it.
    pub(crate) finding: Vec<Told>,
}

/// A figure with its working.
#[derive(Clone, Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Worked {
    /// Id of the item.
    pub(crate) item: String,
    /// The computed field, as `kind.field`.
    pub(crate) figure: String,
    /// The figure.
    #[serde(default)]
    pub(crate) value: String,
    /// The lines of the working.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) lines: Vec<Line>,
}

/// A line of a working.
#[derive(Clone, Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Line {
    /// What it is for.
    #[serde(default)]
    pub(crate) what: String,
    /// How much together.
    pub(crate) total: String,
    /// Citation.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(crate) cites: String,
}

/// A question with one right answer.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Question {
    /// Its id.
    pub(crate) id: String,
    /// The competency it belongs to.
    pub(crate) competency: String,
    /// The question.
    pub(crate) asks: String,
    /// The answer: an amount, a section or a word.
    pub(crate) answer: String,
    /// What to choose from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) choices: Vec<String>,
    /// Whether the lines of the working stand in the form with their names, and count only under these.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub(crate) listed: bool,
    /// The lines of the working, each graded.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) lines: Vec<Line>,
    /// Why the answer is right, told to those who miss it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(crate) why: String,
    /// What goes with the question on its sheet: a drawing as SVG.
    #[serde(skip)]
    pub(crate) picture: Option<String>,
}

impl Question {
    /// Returns a question with nothing but its answer. `number` counts the questions of its competency from 1.
    pub(crate) fn new(
        competency: &str,
        number: impl std::fmt::Display,
        asks: impl Into<String>,
        answer: impl Into<String>,
    ) -> Question {
        Question {
            id: format!("{competency}-{number}"),
            competency: competency.to_owned(),
            asks: asks.into(),
            answer: answer.into(),
            choices: Vec::new(),
            listed: false,
            lines: Vec::new(),
            why: String::new(),
            picture: None,
        }
    }

    /// Adds a line of the working.
    #[must_use]
    pub(crate) fn line(mut self, what: impl Into<String>, total: impl Into<String>) -> Question {
        self.lines.push(Line { what: what.into(), total: total.into(), cites: String::new() });
        self
    }

    /// Sets what to choose from.
    #[must_use]
    pub(crate) fn choose(mut self, choices: Vec<String>) -> Question {
        self.choices = choices;
        self
    }

    /// Sets the drawing that goes with it.
    #[must_use]
    pub(crate) fn shows(mut self, picture: String) -> Question {
        self.picture = Some(picture);
        self
    }
}

/// What a trainee hands in beside a job file, or instead of one.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Answers {
    /// Who; the name of the file where none is given.
    #[serde(default)]
    pub(crate) name: Option<String>,
    /// Corrections that were seen.
    #[serde(default)]
    pub(crate) correction: Vec<Told>,
    /// Figures with their working.
    #[serde(default)]
    pub(crate) worked: Vec<Worked>,
    /// Answers to questions.
    #[serde(default)]
    pub(crate) reply: Vec<Reply>,
    /// Faults found with a meter.
    #[serde(default)]
    pub(crate) fault: Vec<Named>,
}

/// An answer to a question.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Reply {
    /// Id of the question.
    pub(crate) question: String,
    /// The answer.
    #[serde(default)]
    pub(crate) value: String,
    /// The lines of the working.
    #[serde(default)]
    pub(crate) lines: Vec<Line>,
}

/// What is graded and how heavily.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Rubric {
    /// Heading of the report.
    pub(crate) title: String,
    /// How far a figure may be off, in percent of the right one.
    #[serde(default)]
    pub(crate) tolerance: f64,
    /// How much of a planted mistake a false call costs.
    #[serde(default)]
    pub(crate) false_call: f64,
    /// The competencies.
    pub(crate) competency: Vec<Competency>,
}

/// A competency.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Competency {
    /// Its id.
    pub(crate) id: String,
    /// What the learner can.
    pub(crate) title: String,
    /// Its weight among the others.
    #[serde(default = "one")]
    pub(crate) weight: f64,
    /// Rules that the trainee's job is held against; `*` stands for any letters.
    #[serde(default)]
    pub(crate) rules: Vec<String>,
    /// Computed fields whose working is graded, as `kind.field`.
    #[serde(default)]
    pub(crate) figures: Vec<String>,
    /// Fields that must agree with the reference job, as `kind.field`.
    #[serde(default)]
    pub(crate) fields: Vec<String>,
    /// Groups of the take-off that must agree with that of the reference job, kind by kind: `Boxes`, `Devices`.
    #[serde(default)]
    pub(crate) takeoff: Vec<String>,
    /// How far fields, lengths of the take-off and answers to questions may be off here, in percent; the rubric's own where none is given.
    #[serde(default)]
    pub(crate) tolerance: Option<f64>,
    /// Whether the corrections that the trainee lists are graded here.
    #[serde(default)]
    pub(crate) corrections: bool,
    /// Whether the repair of planted mistakes is graded here.
    #[serde(default)]
    pub(crate) repairs: bool,
    /// Whether faults named from readings of a meter are graded here.
    #[serde(default)]
    pub(crate) meter: bool,
}

fn one() -> f64 {
    1.0
}

/// The table that drills are made from.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Mistakes {
    /// Mistakes.
    pub(crate) mistake: Vec<Mistake>,
    /// Figures that a seed may change.
    pub(crate) vary: Vec<Vary>,
    /// Worksheets that are asked for.
    pub(crate) ask: Vec<Ask>,
    /// Faults to find with a meter.
    #[serde(default)]
    pub(crate) fault: Vec<Fault>,
}

/// A kind of fault in the wiring of a box.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Fault {
    /// Its id.
    pub(crate) id: String,
    /// In words.
    pub(crate) what: String,
    /// What is done to the conductors.
    pub(crate) change: Change,
    /// What they are for, one conductor of each.
    pub(crate) on: Vec<Use>,
    /// Only where the first conductor lands on a terminal of this name.
    #[serde(default)]
    pub(crate) at: Option<String>,
}

/// What a fault does to conductors.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Change {
    /// One is out of its joint.
    Open,
    /// Two have changed places.
    Swap,
    /// Two touch.
    Touch,
}

/// What a conductor is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Use {
    /// Ungrounded.
    Ungrounded,
    /// Grounded.
    Grounded,
    /// Equipment grounding.
    Grounding,
}

/// A kind of mistake: a field of a kind of item, and what to write into it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Mistake {
    /// Its id.
    pub(crate) id: String,
    /// In words.
    pub(crate) what: String,
    /// Kind of item.
    #[serde(default)]
    pub(crate) kind: String,
    /// Field.
    #[serde(default)]
    pub(crate) field: String,
    /// Only where this stands there now.
    #[serde(default)]
    pub(crate) is: Option<String>,
    /// What to write, one of these.
    #[serde(default)]
    pub(crate) to: Vec<String>,
    /// What to add to it, one of these.
    #[serde(default)]
    pub(crate) add: Vec<String>,
    /// Take over what stands there for another item of the kind.
    #[serde(default)]
    pub(crate) copy: bool,
    /// Write out the make-up of a box, derived where it is not written, with this done to two of its conductors.
    #[serde(default)]
    pub(crate) wiring: Option<Change>,
}

/// A figure that a seed may change.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Vary {
    /// Kind of item.
    pub(crate) kind: String,
    /// Field.
    pub(crate) field: String,
    /// What to add to it, one of these.
    pub(crate) add: Vec<String>,
}

/// A worksheet that is asked for.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Ask {
    /// The computed field, as `kind.field`.
    pub(crate) figure: String,
    /// On how many items.
    pub(crate) count: usize,
}

/// Returns whether an id fits a pattern in which `*` stands for any letters.
pub(crate) fn fits(pattern: &str, id: &str) -> bool {
    match pattern.split_once('*') {
        None => pattern == id,
        Some((head, rest)) => id.strip_prefix(head).is_some_and(|tail| {
            tail.char_indices()
                .map(|(at, _)| at)
                .chain([tail.len()])
                .any(|at| tail.get(at..).is_some_and(|tail| fits(rest, tail)))
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::fits;

    #[test]
    fn a_star_stands_for_any_letters() {
        assert!(fits("box-fill-*", "box-fill-within-volume"));
        assert!(fits("*-gfci-*", "appliance-gfci-protected"));
        assert!(fits("*", ""));
        assert!(!fits("box-fill-*", "a-box-fill-x"));
        assert!(!fits("gfci*in", "gfci-inx"));
    }
}
