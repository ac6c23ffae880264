//! `ruleset`: trials and lists of rulesets.

use std::fmt::Write as _;

use storystick_engine::inspection::Inspector;
use storystick_engine::problem::Problem;
use storystick_engine::source::{Files, Span};
use storystick_engine::trial::{RulesetTried, Tried, try_ruleset};

use crate::args::{Common, Ruleset, RulesetTask};
use crate::render::report::{Drawn, Look};
use crate::render::wrap::{columns, wrap};
use crate::{Answer, Status, world};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Ruleset) -> Answer {
    match &args.task {
        RulesetTask::Try { which, .. } => attempt(common, which),
        RulesetTask::Check(args) => super::check::run(common, args),
        RulesetTask::List => list(common),
        RulesetTask::New(args) => super::new::run(common, args),
        RulesetTask::Export(args) => super::export::run(args),
        RulesetTask::Guide(args) => super::guide::run(common, args),
    }
}

fn list(common: &Common) -> Answer {
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let inspector = Inspector::new(texts);
    let shelf = inspector.shelf();
    let rows: Vec<Vec<String>> = shelf
        .ids()
        .filter_map(|id| shelf.ruleset(id))
        .map(|ruleset| {
            let said = ruleset.title.ends_with("(draft)");
            let draft = if ruleset.draft.is_some() && !said { " (draft)" } else { "" };
            vec![ruleset.id.clone(), ruleset.kind.word().to_owned(), format!("{}{draft}", ruleset.title)]
        })
        .collect();
    Answer::clean(columns(&rows, world::columns()))
}

/// Runs trials.
pub(super) fn attempt(common: &Common, which: &[String]) -> Answer {
    let look = super::look(common, world::stdout_is_terminal());
    let (mut inspector, wanted) = match chosen(common, which) {
        Ok(chosen) => chosen,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let mut answer = Answer::clean(String::new());
    for id in wanted {
        let tried = try_ruleset(&mut inspector, &id);
        answer.status = answer.status.max(tell(&mut answer.out, &tried, &inspector, look));
    }
    answer
}

/// Returns an inspector over all rulesets that are known, and the ids of those that are asked for: all where none is. An id that
/// is known wins over a folder of the same name; a folder adds its rulesets to those known.
pub(super) fn chosen(common: &Common, which: &[String]) -> Result<(Inspector, Vec<String>), String> {
    let mut texts = super::rulesets(common)?;
    let mut wanted = Vec::new();
    for one in which {
        let known = format!("{one}/ruleset.toml");
        if std::path::Path::new(one).is_file() {
            return Err(super::next::no_ruleset(one));
        }
        if texts.iter().any(|text| text.path == known) || !std::path::Path::new(one).is_dir() {
            wanted.push(one.clone());
            continue;
        }
        let folder = super::folder_of_rulesets(one)?;
        wanted.extend(folder.iter().filter_map(|text| text.path.strip_suffix("/ruleset.toml")).map(str::to_owned));
        texts.extend(folder);
    }
    let inspector = Inspector::new(texts);
    if which.is_empty() {
        wanted = inspector.shelf().ids().map(str::to_owned).collect();
    }
    Ok((inspector, wanted))
}

fn tell(out: &mut String, tried: &RulesetTried, inspector: &Inspector, look: Look) -> Status {
    let files = inspector.shelf().files();
    let failed = tried.trials.iter().filter(|trial| trial.problem.is_some()).count();
    out.push_str(&super::draw(&tried.problems, files, look));
    if inspector.shelf().ruleset(&tried.ruleset).is_none() {
        return Status::Fault;
    }
    out.push_str(&failed_trials(&tried.trials, &tried.problems, files, look));
    for (words, list) in [
        ("no trial meets", names(tried, |rule| rule.met)),
        ("no trial fails", names(tried, |rule| rule.failed)),
        ("no trial leaves open", names(tried, |rule| rule.open)),
    ] {
        if !list.is_empty() {
            out.push_str(&wrap(&format!("{words}: {}", list.join(", ")), look.width, "  "));
        }
    }
    let _ = writeln!(out, "{}: {} rules, {} trials, {failed} failed", tried.ruleset, tried.rules, tried.trials.len());
    if !tried.problems.is_empty() {
        Status::Fault
    } else if failed > 0 {
        Status::Corrections
    } else {
        Status::Clean
    }
}

/// Returns the reports of trials that did not come out as written. What keeps several from running, such as a rule that can't be
/// used, is told once, and not again where it is among the problems that are told already.
pub(super) fn failed_trials(trials: &[Tried], told: &[Problem], files: &Files, look: Look) -> String {
    let mut out = String::new();
    let mut known: Vec<(Span, &str)> = told.iter().map(|problem| (problem.span, "")).collect();
    let mut blocked: Vec<(&str, usize)> = Vec::new();
    for trial in trials {
        let Some(problem) = &trial.problem else { continue };
        if !trial.blocked {
            let _ = writeln!(out, "{}", failed_trial(trial, problem, files).draw(look));
            continue;
        }
        match blocked.iter_mut().find(|(rule, _)| *rule == trial.rule) {
            Some((_, count)) => *count += 1,
            None => blocked.push((&trial.rule, 1)),
        }
        if !known.iter().any(|(at, message)| *at == problem.span && (message.is_empty() || *message == problem.message))
        {
            known.push((problem.span, &problem.message));
            let _ = writeln!(out, "{}", Drawn::problem(files, problem).draw(look));
        }
    }
    if !blocked.is_empty() {
        let rules: Vec<String> = blocked.iter().map(|(rule, count)| format!("{count} of {rule}")).collect();
        let text = format!("trials that can't run until that is put right: {}", rules.join(", "));
        out.push_str(&wrap(&text, look.width, "  "));
        out.push('\n');
    }
    out
}

/// Returns the report of a trial that did not come out as written: what was expected against what came, then why.
fn failed_trial<'a>(trial: &Tried, problem: &Problem, files: &'a Files) -> Drawn<'a> {
    let mut drawn = Drawn::problem(files, problem);
    drawn.code = Some(trial.rule.clone());
    if !trial.name.is_empty() {
        drawn.message = format!("“{}”: {}", trial.name, drawn.message);
    }
    if let Some(got) = trial.got.filter(|got| *got != trial.expected) {
        let difference = [format!("- {}", trial.expected.word()), format!("+ {}", got.word())];
        drawn.help.splice(0..0, difference);
    }
    drawn
}

fn names(tried: &RulesetTried, which: impl Fn(&storystick_engine::trial::Lacking) -> bool) -> Vec<&str> {
    tried.lacking.iter().filter(|rule| which(rule)).map(|rule| rule.rule.as_str()).collect()
}
