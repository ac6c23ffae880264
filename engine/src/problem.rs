//! What is wrong with the input: plain data that the edges render in their own way.

use crate::source::Span;

/// How much a problem matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The input can't be used until this is put right.
    Error,
    /// The input was used, but somebody should look.
    Notice,
}

/// A second place that helps to understand a problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Where.
    pub span: Span,
    /// What there is to see there, in a few words.
    pub says: String,
}

/// What a problem is about, so that an edge can tell which of its means helps on.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// The id of a ruleset that is not known or is of another kind.
    Ruleset,
    /// What the ruleset with this id adopts, and on which days.
    Adoption(String),
    /// The name of an entry of the code.
    Entry,
    /// The id of a rule.
    Rule,
    /// The id of an item of the job.
    Item,
    /// A key or a word that job files don't have.
    JobWord,
    /// What every job file says of its place and day.
    JobHead,
    /// The entry of this name, which a calculation needs and the code in force does not have.
    Lacking(String),
    /// The file of this name, which should hold a job and does not.
    JobFile(String),
}

/// One thing that is wrong with a job file, a ruleset or a script, pointing at its place.
///
/// Messages are lower case without a final period, in the user's words, names in backticks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Error or notice.
    pub severity: Severity,
    /// What is wrong, in one sentence.
    pub message: String,
    /// The exact characters to look at; [`Span::NONE`] only when no file is to blame.
    pub span: Span,
    /// What to write under the place.
    pub label: String,
    /// What to do.
    pub help: Option<String>,
    /// Other places that matter.
    pub marks: Vec<Mark>,
    /// What it is about, where that tells what helps on.
    pub topic: Option<Box<Topic>>,
}

impl Problem {
    /// Returns an error at a place.
    pub fn new(span: Span, message: impl Into<String>) -> Problem {
        Problem {
            severity: Severity::Error,
            message: message.into(),
            span,
            label: String::from("here"),
            help: None,
            marks: Vec::new(),
            topic: None,
        }
    }

    /// Makes it a notice.
    #[must_use]
    pub fn notice(mut self) -> Problem {
        self.severity = Severity::Notice;
        self
    }

    /// Sets what is written under the place.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Problem {
        self.label = label.into();
        self
    }

    /// Sets what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Problem {
        self.help = Some(help.into());
        self
    }

    /// Sets what it is about.
    #[must_use]
    pub fn about(mut self, topic: Topic) -> Problem {
        self.topic = Some(Box::new(topic));
        self
    }

    /// Adds a second place.
    #[must_use]
    pub fn mark(mut self, span: Span, says: impl Into<String>) -> Problem {
        self.marks.push(Mark { span, says: says.into() });
        self
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Problem {}

/// Returns the known name that is nearest to a misspelt one, if any is near enough to be meant.
pub fn nearest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|name| (strsim::jaro_winkler(wrong, name), name))
        .filter(|&(likeness, _)| likeness > 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(a.1)))
        .map(|(_, name)| name)
}

/// Returns the help line for a misspelt name: the nearest one, or all of them when they are few.
pub fn did_you_mean<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> Option<String> {
    if let Some(name) = nearest(wrong, known.clone()) {
        return Some(format!("did you mean `{name}`?"));
    }
    let mut names: Vec<&str> = known.into_iter().collect();
    names.sort_unstable();
    (1..=12).contains(&names.len()).then(|| format!("known here: {}", names.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_offered_and_a_far_one_is_not() {
        assert_eq!(nearest("secured_form_box", ["secured_from_box", "secured_along_run"]), Some("secured_from_box"));
        assert_eq!(nearest("zzz", ["secured_from_box"]), None);
        assert_eq!(did_you_mean("zzz", ["b", "a"]), Some("known here: a, b".into()));
    }
}
