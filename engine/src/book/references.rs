//! Checks what manifests say of other rulesets, and follows it.

use super::manifest::RulesetKind;
use super::shelf::Shelf;
use crate::problem::{Problem, Topic, did_you_mean};
use crate::source::Span;

use super::fields::{Written, with_help};

/// A reference from one ruleset to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Link {
    /// A place lies within another.
    Within,
    /// An edition is written as differences from another.
    Follows,
}

impl Link {
    fn of(self, shelf: &Shelf, at: usize) -> Option<&Written> {
        let ruleset = shelf.rulesets.get(at)?;
        match self {
            Link::Within => ruleset.within.as_ref(),
            Link::Follows => ruleset.follows.as_ref(),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Link::Within => "within",
            Link::Follows => "follows",
        }
    }
}

/// Returns a ruleset and all that it links to, itself first; it stops before a ruleset that it has passed already or that
/// is not there.
pub(super) fn chain(shelf: &Shelf, at: usize, link: Link) -> Vec<usize> {
    let mut chain = vec![at];
    while let Some(next) = chain.last().and_then(|last| link.of(shelf, *last)).and_then(|next| shelf.index(&next.text))
    {
        if chain.contains(&next) {
            break;
        }
        chain.push(next);
    }
    chain
}

/// Returns a ruleset and all that it lies within or follows, itself first.
pub(super) fn with_parents(shelf: &Shelf, at: usize) -> Vec<usize> {
    let mut all = chain(shelf, at, Link::Within);
    all.extend(chain(shelf, at, Link::Follows).into_iter().skip(1));
    all
}

/// Returns the problem of a ruleset that is not there; `fits` tells which ones would do.
pub(super) fn unknown(shelf: &Shelf, span: &Span, what: &str, id: &str, fits: impl Fn(RulesetKind) -> bool) -> Problem {
    let known: Vec<&str> =
        shelf.rulesets.iter().filter(|ruleset| fits(ruleset.kind)).map(|ruleset| ruleset.id.as_str()).collect();
    let help = did_you_mean(id, known.iter().copied());
    let problem = Problem::new(*span, format!("there is no {what} `{id}`")).label("unknown ruleset");
    with_help(problem.about(Topic::Ruleset), help)
}

/// Returns what is wrong with the references of all manifests, each with the ruleset to blame.
pub(super) fn check(shelf: &Shelf) -> Vec<(usize, Problem)> {
    let mut problems = Vec::new();
    for (at, ruleset) in shelf.rulesets.iter().enumerate() {
        let parents = [(Link::Within, RulesetKind::Jurisdiction), (Link::Follows, RulesetKind::Edition)];
        for (link, kind) in parents {
            if let Some(written) = link.of(shelf, at) {
                problems.extend(target(shelf, written, &[kind], link.word()).map(|problem| (at, problem)));
                problems.extend(cycle(shelf, at, link).map(|problem| (at, problem)));
            }
        }
        let adoptable = [RulesetKind::Edition, RulesetKind::Accessibility];
        for adoption in &ruleset.adopts {
            problems.extend(target(shelf, &adoption.ruleset, &adoptable, "adopts").map(|problem| (at, problem)));
        }
    }
    problems
}

/// Checks that a reference names a ruleset of the right kind.
fn target(shelf: &Shelf, written: &Written, kinds: &[RulesetKind], verb: &str) -> Option<Problem> {
    let words = kinds.iter().map(|kind| format!("`{}`", kind.word())).collect::<Vec<_>>().join(" or ");
    let Some(other) = shelf.ruleset(&written.text) else {
        return Some(unknown(shelf, &written.span, "ruleset", &written.text, |kind| kinds.contains(&kind)));
    };
    if kinds.contains(&other.kind) {
        return None;
    }
    let message = format!("`{}` is of kind `{}`, which nothing {verb}", other.id, other.kind.word());
    let message = if verb == "within" {
        format!("nothing lies within `{}`, which is of kind `{}`", other.id, other.kind.word())
    } else {
        message
    };
    Some(
        Problem::new(written.span, message)
            .label(format!("must be of kind {words}"))
            .mark(other.span, format!("of kind `{}`", other.kind.word())),
    )
}

/// Reports a cycle once: at the first of its rulesets by id.
fn cycle(shelf: &Shelf, at: usize, link: Link) -> Option<Problem> {
    let chain = chain(shelf, at, link);
    let last = *chain.last()?;
    let back = link.of(shelf, last).and_then(|next| shelf.index(&next.text))?;
    if back != at || chain.iter().any(|other| *other < at) {
        return None;
    }
    let written = link.of(shelf, at)?;
    let name = |at: &usize| shelf.rulesets.get(*at).map_or(String::new(), |ruleset| format!("`{}`", ruleset.id));
    let round: Vec<String> = chain.iter().chain([&at]).map(name).collect();
    let mut problem =
        Problem::new(written.span, format!("`{}` goes round in a circle: {}", link.word(), round.join(" → ")))
            .label("the circle begins here")
            .help(format!("take one `{}` of the circle out", link.word()));
    for other in chain.iter().skip(1) {
        if let Some(written) = link.of(shelf, *other) {
            problem = problem.mark(written.span, format!("goes on to `{}`", written.text));
        }
    }
    Some(problem)
}
