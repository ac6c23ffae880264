//! Runs the trials of a ruleset.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::read::{Expected, Trial, trials};
use super::unnoticed::excuses;
use crate::book::{Ask, Book, ExceptionSource, RuleSource, RulesetKind};
use crate::inspection::finding::{Excepted, Finding, Outcome, Report};
use crate::inspection::{Code, Inspector, JobText, Options, Prepared};
use crate::job::{self, Document, Part};
use crate::model::{Job, Stage};
use crate::problem::{self, Problem};
use crate::quantity;
use crate::script::{NamedException, Shown, exceptions};
use crate::source::{File, Files, Span};
use crate::told::Words;

/// One trial after its run.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Id of the rule.
    pub rule: String,
    /// What the trial shows.
    pub name: String,
    /// What was expected.
    pub expected: Expected,
    /// The exception that was to free the item, where the trial names one.
    pub by: Option<String>,
    /// What came.
    pub got: Option<Expected>,
    /// Why it did not pass, pointing at the trial; none when it did.
    pub problem: Option<Problem>,
    /// Whether it could not be run for a fault that is not its own: of its rule, or of the code in force.
    pub blocked: bool,
}

/// A rule without a trial of some outcome.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lacking {
    /// Id of the rule.
    pub rule: String,
    /// Its place.
    pub span: Span,
    /// No trial meets it.
    pub met: bool,
    /// No trial fails it.
    pub failed: bool,
    /// No trial leaves it open for want of a value.
    pub open: bool,
    /// Its exceptions that no trial is excepted by, by their names.
    pub exceptions: Vec<String>,
}

/// A ruleset after its trials.
#[derive(Clone, Debug, Default)]
pub struct RulesetTried {
    /// Its id.
    pub ruleset: String,
    /// Its trials, in the order of files and lines.
    pub trials: Vec<Tried>,
    /// What is wrong with its trial files or with the ruleset itself.
    pub problems: Vec<Problem>,
    /// Its own rules that lack a trial.
    pub lacking: Vec<Lacking>,
    /// Number of its own rules.
    pub rules: usize,
}

/// Runs the trials of one ruleset. The files of the places in the result are those of the inspector's shelf.
pub fn try_ruleset(inspector: &mut Inspector, id: &str) -> RulesetTried {
    try_and_watch(inspector, id, &mut |_, _, _| {})
}

/// Runs the trials of one ruleset as long as `go_on`, asked before each, says so; nothing comes of trials that were stopped.
pub fn try_while(inspector: &mut Inspector, id: &str, go_on: &mut dyn FnMut() -> bool) -> Option<RulesetTried> {
    try_each(inspector, id, &mut |_, _, _| {}, go_on)
}

/// Sees the jobs of trials, with the inspector and the code that they were held against.
pub(super) type Watch<'w> = dyn FnMut(&Inspector, &Job, &Code) + 'w;

/// Runs the trials of one ruleset and shows every job that could be read.
pub(super) fn try_and_watch(inspector: &mut Inspector, id: &str, watch: &mut Watch<'_>) -> RulesetTried {
    try_each(inspector, id, watch, &mut || true).unwrap_or_default()
}

fn try_each(
    inspector: &mut Inspector,
    id: &str,
    watch: &mut Watch<'_>,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<RulesetTried> {
    let mut tried = RulesetTried { ruleset: id.to_owned(), ..RulesetTried::default() };
    let contents = match inspector.shelf_mut().open(id) {
        Ok(contents) => contents,
        Err(problems) => {
            tried.problems = problems;
            return Some(tried);
        }
    };
    let Some(ruleset) = inspector.shelf().ruleset(id) else { return Some(tried) };
    let kind = ruleset.kind;
    let ruleset = ruleset.clone();
    let files: &[Arc<File>] = ruleset.trials();
    let day = inspector.shelf_mut().newest_start(id).unwrap_or(jiff::civil::date(2026, 1, 1));
    for file in files {
        let document = Document::parse(file);
        let (list, problems) = trials(file, &document);
        tried.problems.extend(problems);
        for trial in &list {
            if !go_on() {
                return None;
            }
            let one = run(inspector, (id, kind, day), trial, watch);
            tried.trials.push(one);
        }
    }
    tried.problems.extend(ruleset.unnoticed().map(|file| excuses(file).1).unwrap_or_default());
    tried.rules = contents.rules.len();
    tried.lacking = lacking(inspector.shelf().files(), &contents.rules, &tried.trials);
    tried.lacking.extend(added_exceptions(&contents.exceptions, &tried.trials));
    Some(tried)
}

fn lacking(files: &Files, rules: &[Arc<RuleSource>], trials: &[Tried]) -> Vec<Lacking> {
    let mut seen: BTreeMap<&str, Vec<&Tried>> = BTreeMap::new();
    for trial in trials.iter().filter(|trial| trial.problem.is_none()) {
        seen.entry(&trial.rule).or_default().push(trial);
    }
    // Of a rule whose trials could not run, nothing is known.
    let blocked = |rule: &str| trials.iter().any(|trial| trial.blocked && trial.rule == rule);
    let of = |rule: &str| seen.get(rule).map_or(&[][..], Vec::as_slice);
    let has = |rule: &str, outcome| of(rule).iter().any(|trial| trial.expected == Expected::Outcome(outcome));
    rules
        .iter()
        .map(|rule| Lacking {
            rule: rule.id.clone(),
            span: rule.id_span,
            met: !has(&rule.id, Outcome::Met),
            failed: !has(&rule.id, Outcome::Correction),
            open: !has(&rule.id, Outcome::ToMeasure),
            exceptions: untried_exceptions(files.text(rule.body), of(&rule.id)),
        })
        .filter(|lacking| lacking.met || lacking.failed || lacking.open || !lacking.exceptions.is_empty())
        .filter(|lacking| !blocked(&lacking.rule))
        .collect()
}

/// Returns the exceptions that a ruleset adds to rules of others and that none of its trials is excepted by.
fn added_exceptions(added: &[Arc<ExceptionSource>], trials: &[Tried]) -> Vec<Lacking> {
    let shows = |trial: &Tried, exception: &ExceptionSource| {
        trial.problem.is_none()
            && trial.rule == exception.rule.text
            && trial.expected == Expected::Outcome(Outcome::Excepted)
            && trial.by.as_ref().is_none_or(|by| exception.is_named(by))
    };
    let lacking = |exception: &Arc<ExceptionSource>| Lacking {
        rule: exception.rule.text.clone(),
        span: exception.name.span,
        met: false,
        failed: false,
        open: false,
        exceptions: vec![exception.name.text.clone()],
    };
    let untried = |exception: &&Arc<ExceptionSource>| !trials.iter().any(|trial| shows(trial, exception));
    added.iter().filter(untried).map(lacking).collect()
}

/// Returns the names of a rule's exceptions that no trial is excepted by. A trial that names none shows the only one that there is.
fn untried_exceptions(block: &str, trials: &[&Tried]) -> Vec<String> {
    let all = exceptions(block);
    let shows = |trial: &Tried, exception: &NamedException| match &trial.by {
        Some(by) => *by == exception.name || *by == exception.section,
        None => all.len() == 1,
    };
    let shown = |exception: &NamedException| {
        trials.iter().any(|trial| trial.expected == Expected::Outcome(Outcome::Excepted) && shows(trial, exception))
    };
    all.iter().filter(|exception| !shown(exception)).map(|exception| exception.name.clone()).collect()
}

/// The ruleset whose trials are run, and the day on which they take place.
pub(super) type Ground<'g> = (&'g str, RulesetKind, Date);

/// Runs one trial.
pub(super) fn run(inspector: &mut Inspector, ground: Ground<'_>, trial: &Trial<'_>, watch: &mut Watch<'_>) -> Tried {
    let held = stage(inspector, ground, trial).and_then(|staged| {
        let (prepared, files) = (staged.prepared, staged.files);
        let held = inspector.hold(Some(staged.job), staged.problems, &prepared, &staged.options);
        let (report, job) = held.map_err(|problems| joined(&problems, &files, trial.rule.1))?;
        watch(inspector, &job, &prepared.code);
        Ok(Held { report, job, book: Arc::clone(&prepared.code.book) })
    });
    judge(trial, held)
}

/// What came of holding a trial's job against a code.
pub(super) struct Held {
    pub(super) report: Report,
    pub(super) job: Job,
    pub(super) book: Arc<Book>,
}

/// Compares what came of a trial with what it says.
pub(super) fn judge(trial: &Trial<'_>, held: Result<Held, Stopped>) -> Tried {
    let (expected, expect_span) = trial.expect;
    let mut tried = Tried {
        rule: trial.rule.0.clone(),
        name: trial.name.clone(),
        expected,
        by: trial.by.as_ref().map(|(by, _)| by.clone()),
        got: None,
        problem: None,
        blocked: false,
    };
    match held.and_then(|held| outcome(trial, held)) {
        Err(Stopped { problem, blocked }) => (tried.problem, tried.blocked) = (Some(*problem), blocked),
        Ok(Ran { got, findings, job, book }) => {
            let words = Words::new(&job, &book);
            tried.got = Some(got);
            if got != expected {
                let message = format!("trial of `{}`: expected {}, got {}", trial.rule.0, expected.word(), got.word());
                let mut problem = Problem::new(expect_span, message).label(format!("got {}", got.word()));
                let told: Vec<String> =
                    findings.iter().map(|f| format!("{} {}: {}", f.outcome.word(), f.item, words.message(f))).collect();
                problem.help = Some(if told.is_empty() {
                    String::from("the rule left every item alone")
                } else {
                    told.join("\n")
                });
                tried.problem = Some(problem);
            } else {
                let by = trial.by.as_ref().and_then(|(by, span)| not_by(by, *span, &findings));
                let found = trial.found.as_ref();
                tried.problem =
                    by.or_else(|| found.and_then(|(found, span)| unlike(found, *span, got, &findings, &words)));
            }
        }
    }
    tried
}

/// Compares the exceptions that items fall under with the one that a trial names, by its section or its name.
fn not_by(by: &str, span: Span, findings: &[Finding]) -> Option<Problem> {
    let found: Vec<&Excepted> = findings.iter().filter_map(|finding| finding.excepted.as_ref()).collect();
    if found.iter().any(|excepted| excepted.section == by || excepted.name == by) {
        return None;
    }
    let names: Vec<&str> = found.iter().map(|excepted| excepted.name.as_str()).collect();
    let mut problem = Problem::new(span, format!("nothing is excepted by `{by}` here"));
    problem.label = format!("excepted by {}", names.join(", "));
    problem.help = problem::did_you_mean(by, names.iter().copied());
    Some(problem)
}

/// Compares what was found with what the trial says: values, not how they print.
fn unlike(expected: &str, span: Span, got: Expected, findings: &[Finding], words: &Words<'_>) -> Option<Problem> {
    let found: Vec<&Shown> = findings
        .iter()
        .filter(|finding| Expected::Outcome(finding.outcome) == got && words.found(finding).is_some())
        .filter_map(|finding| finding.found.as_ref().map(|found| &found.value))
        .collect();
    if found.iter().any(|value| is(value, expected, words)) {
        return None;
    }
    let shown = |value: &&Shown| match value {
        Shown::Quantity(quantity) => quantity.exact(words.units()),
        other => words.value(other),
    };
    let label = match found.is_empty() {
        true => String::from("nothing was found"),
        false => format!("found {}", found.iter().map(shown).collect::<Vec<_>>().join(", ")),
    };
    Some(Problem::new(span, format!("expected to find {expected}")).label(label))
}

/// Returns whether a value is the one that a trial expects. An amount is read in the dimension of the value.
fn is(value: &Shown, expected: &str, words: &Words<'_>) -> bool {
    match value {
        Shown::Quantity(quantity) => {
            quantity::parse(expected, quantity.dimension()).is_ok_and(|read| read == *quantity)
        }
        other => words.value(other) == expected,
    }
}

/// A trial whose job is read and whose code is found.
pub(super) struct Staged {
    pub(super) prepared: Prepared,
    pub(super) options: Options,
    pub(super) job: Job,
    pub(super) problems: Vec<Problem>,
    pub(super) files: Files,
}

/// Reads the job of a trial and finds its code.
pub(super) fn stage(
    inspector: &mut Inspector,
    (id, kind, day): Ground<'_>,
    trial: &Trial<'_>,
) -> Result<Staged, Stopped> {
    let place = trial.place.as_deref().unwrap_or(id);
    let day = trial.permit_date.unwrap_or(day);
    let mut files = inspector.shelf().files().clone();
    let text = format!("[site]\njurisdiction = {place:?}\npermit_date = {day}\nstage = \"final\"\n");
    let site =
        files.add("the trial's own site", text).map_err(|error| Problem::new(trial.rule.1, error.to_string()))?;
    let document = Document::parse(&site);
    let mut parts = vec![document.part()];
    parts.extend(&trial.parts);
    let prepared = prepare(inspector, kind, &parts, trial)?;
    let mut options = Options::on(day);
    options.rules = vec![trial.rule.0.clone()];
    options.met = true;
    options.both_ways = true;
    let (job, problems) = inspector.read(&parts, &files, false, &prepared.code);
    match job {
        Some(job) => Ok(Staged { prepared, options, job, problems, files }),
        None => Err(joined(&problems, &files, trial.rule.1).into()),
    }
}

/// Returns the outcome of a trial and what was found.
fn outcome(trial: &Trial<'_>, Held { report, job, book }: Held) -> Result<Ran, Stopped> {
    if let Some(fault) = report.faults.into_iter().next() {
        return Err(Stopped { problem: Box::new(fault), blocked: true });
    }
    let mut findings = report.findings;
    if let Some((item, span)) = &trial.item {
        if !findings.iter().any(|finding| finding.item == *item) && expected_something(trial) {
            let mut problem = Problem::new(*span, format!("the rule recorded nothing for `{item}`"));
            problem.help = problem::did_you_mean(item, findings.iter().map(|finding| finding.item.as_str()));
            return Err(problem.into());
        }
        findings.retain(|finding| finding.item == *item);
    }
    let worst = findings.iter().map(|finding| finding.outcome).min();
    let got = worst.map_or(Expected::NotApplicable, Expected::Outcome);
    Ok(Ran { got, findings, job, book })
}

/// What came of a trial.
struct Ran {
    got: Expected,
    findings: Vec<Finding>,
    job: Job,
    book: Arc<Book>,
}

/// Why a trial has no outcome.
pub(super) struct Stopped {
    problem: Box<Problem>,
    /// Whether the fault is not the trial's own.
    blocked: bool,
}

impl From<Problem> for Stopped {
    fn from(problem: Problem) -> Stopped {
        Stopped { problem: Box::new(problem), blocked: false }
    }
}

fn expected_something(trial: &Trial<'_>) -> bool {
    trial.expect.0 != Expected::NotApplicable
}

fn prepare(
    inspector: &mut Inspector,
    kind: RulesetKind,
    parts: &[Part<'_>],
    trial: &Trial<'_>,
) -> Result<Prepared, Stopped> {
    let files = inspector.shelf().files().clone();
    let (facts, problems) = job::peek(parts);
    let facts = facts.ok_or_else(|| joined(&problems, &files, trial.rule.1))?;
    let mut ask = Ask::on(facts.jurisdiction.value, facts.permit_date.value);
    ask.edition = facts.edition.map(|told| told.value);
    ask.shop = facts.shop.map(|told| told.value);
    ask.accessible = facts.accessible.value;
    ask.dwelling = facts.dwelling.map(|told| told.value);
    ask.alone = trial.place.is_none() && matches!(kind, RulesetKind::Accessibility | RulesetKind::Shop);
    for (own, told) in [
        (&mut ask.application_date, facts.application_date),
        (&mut ask.purchase_date, facts.purchase_date),
        (&mut ask.manufacture_date, facts.manufacture_date),
    ] {
        *own = told.map(|told| told.value).or(*own);
    }
    let code = inspector.code(&ask, Stage::Final).map_err(|problems| {
        // A place that the trial itself names may be the trial's own fault.
        let blocked = problems.iter().any(|problem| files.file_of(problem.span).is_some());
        Stopped { problem: Box::new(joined(&problems, &files, trial.rule.1)), blocked }
    })?;
    Ok(Prepared { text: JobText { name: String::from("trial"), text: Arc::from("") }, code, ask })
}

/// Makes one problem of several, the first at its place and the rest in words.
pub(super) fn joined(problems: &[Problem], files: &Files, fallback: Span) -> Problem {
    let Some(first) = problems.first() else { return Problem::new(fallback, "the trial can't be run") };
    let mut problem = first.clone();
    if files.file_of(problem.span).is_none() {
        problem.span = fallback;
    }
    problem.marks.retain(|mark| files.file_of(mark.span).is_some());
    let rest: Vec<String> = problems.iter().skip(1).take(5).map(|p| format!("also: {}", p.message)).collect();
    if !rest.is_empty() {
        let help = problem.help.take().unwrap_or_default();
        problem.help = Some(format!("{help}\n{}", rest.join("\n")).trim().to_owned());
    }
    problem
}
