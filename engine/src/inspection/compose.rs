//! Turns checks into findings: each rule is evaluated once more on each item worth telling of, with an eye on its operands.

use super::assumed::assumed;
use super::behind;
use super::code::Compiled;
use super::existing;
use super::finding::{Excepted, Finding, NotApplicable, Outcome, Path, Presumed, Read, Report, Tally, Weight};
use super::lacking;
use super::outcomes::{Check, Outcomes};
use super::pairs;
use super::scene::Scene;
use crate::model::kinds::{room, site};
use crate::model::{ItemIndex, Job};
use crate::problem::Problem;
use crate::script::{Detail, OperandSource, Recorder, Verdict, Workings};
use crate::source::Span;
use crate::told::first_sentence;

/// Makes the report while the rules run: the checks of a few hundred items at a time become tallies and findings.
pub(super) struct Composer<'s> {
    scene: &'s Scene<'s>,
    outcomes: Outcomes,
    report: Report,
}

impl<'s> Composer<'s> {
    /// Begins a report; the buffer may be a used one.
    pub(super) fn begin(scene: &'s Scene<'s>, mut outcomes: Outcomes) -> Composer<'s> {
        outcomes.begin(scene.code.rules.len());
        let report = Report {
            job: name(scene.job, scene.file),
            file: scene.file.to_owned(),
            code: scene.code.book.code_in_force(scene.permit_date),
            stage: scene.code.stage,
            tally: Tally::default(),
            findings: Vec::new(),
            assumed: Vec::new(),
            existing: Vec::new(),
            not_applicable: Vec::new(),
            notices: Vec::new(),
            faults: faults(scene),
        };
        Composer { scene, outcomes, report }
    }

    /// Returns the whole report, and the buffer.
    pub(super) fn end(self) -> (Report, Outcomes) {
        let Composer { scene, outcomes, mut report } = self;
        report.findings = in_order(report.findings);
        if !scene.options.both_ways {
            pairs::tell_once(&mut report);
        }
        report.assumed = assumed(scene.job, scene.code, report.stage);
        report.existing = existing::left_as_it_is(scene);
        report.not_applicable = not_applicable(scene, &outcomes);
        report.faults = lacking::together(scene, std::mem::take(&mut report.faults), scene.shop);
        // Only an inspection that looked at everything can tell that nothing needs a permission.
        let whole = scene.options.rules.is_empty() && scene.options.items.is_empty();
        report.notices.extend(
            scene.permissions.idle(|rule| whole && scene.code.rules.iter().any(|one| one.in_force.source.id == rule)),
        );
        (report, outcomes)
    }
}

impl Recorder for Composer<'_> {
    fn rule(&mut self, rule: u16, items: usize) {
        self.outcomes.rule(rule, items);
    }

    fn item(&mut self, item: ItemIndex) {
        self.outcomes.item(item);
    }

    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.outcomes.record(check, verdict, margin);
    }

    fn presumed(&mut self) {
        self.outcomes.presumed();
    }

    fn row(&mut self, check: u8, items: &[ItemIndex], given: &[(Verdict, i64)]) {
        self.outcomes.row(check, items, given);
    }

    fn pause(&mut self) {
        let checks = self.outcomes.checks();
        for group in checks.chunk_by(|a, b| a.rule == b.rule && a.item == b.item) {
            settle(self.scene, group, &mut self.report);
        }
        self.outcomes.forget();
    }
}

/// Returns what is wrong with the rules that did not compile, of those that were to run.
fn faults(scene: &Scene<'_>) -> Vec<Problem> {
    let named = |compiled: &Compiled, problem: &Problem| {
        let mut problem = problem.clone();
        problem.message = format!("rule `{}` can't be used: {}", compiled.in_force.source.id, problem.message);
        problem
    };
    let slips = scene.playing.iter().flat_map(|(_, compiled)| compiled.slips());
    let playing = scene.playing.iter();
    let unusable = playing.flat_map(|(_, compiled)| compiled.faults().iter().map(|problem| named(compiled, problem)));
    unusable.chain(slips).collect()
}

/// The one total order of findings: file, place, rule, item, check. All of a job's findings are in one address space.
fn order(finding: &Finding) -> (Span, &str, &str, u8) {
    (finding.at, &finding.rule, &finding.item, finding.check)
}

/// Puts findings into their order; each is large and is moved once.
fn in_order(findings: Vec<Finding>) -> Vec<Finding> {
    let mut places: Vec<usize> = (0..findings.len()).collect();
    places.sort_by(|&a, &b| order(&findings[a]).cmp(&order(&findings[b])));
    let mut findings: Vec<Option<Finding>> = findings.into_iter().map(Some).collect();
    places.into_iter().filter_map(|at| findings[at].take()).collect()
}

fn name(job: &Job, file: &str) -> String {
    let site_kind = job.schema.kind(site::NAME);
    let item = site_kind.and_then(|kind| job.of_kind(kind).first().copied());
    item.and_then(|item| job.text(item, site::NAME_)).unwrap_or(file).to_owned()
}

/// Counts the checks of one rule on one item, and tells of those worth telling.
fn settle(scene: &Scene<'_>, group: &[Check], report: &mut Report) {
    let Some(compiled) = group.first().and_then(|check| scene.code.rules.get(check.rule as usize)) else { return };
    let silent = |check: &Check| matches!(check.verdict, Verdict::Met | Verdict::Excepted);
    if group.iter().all(silent) && !scene.options.met {
        let excepted = group.iter().filter(|check| check.verdict == Verdict::Excepted).count();
        report.tally.excepted += excepted;
        report.tally.presumed += group.iter().filter(|check| check.presumed()).count();
        report.tally.met += group.len() - excepted;
        return;
    }
    let Some(item) = group.first().map(|check| check.item) else { return };
    let Some(bound) = compiled.bound() else { return };
    let explained = bound.explain(item, scene.facts);
    #[cfg(test)]
    let explained = super::tests::bent(explained);
    if disagree(group, &explained) {
        report.faults.push(disagreement(scene, compiled, item));
        return;
    }
    tell(scene, compiled, item, explained, report);
}

/// Returns whether the fast form of a rule and the one that explains say different things of an item. They never do; if ever they
/// did, a finding that vanished would be the worst answer.
fn disagree(group: &[Check], explained: &[(Detail, Workings)]) -> bool {
    group.len() != explained.len()
        || group
            .iter()
            .zip(explained)
            .any(|(check, (detail, _))| check.statement() != detail.check || check.verdict != detail.verdict)
}

fn disagreement(scene: &Scene<'_>, compiled: &Compiled, item: ItemIndex) -> Problem {
    let (job, source) = (scene.job, &compiled.in_force.source);
    let word = job.schema.spec(job.item(item).kind).word;
    let id = job.id(item);
    let message = format!("rule `{}`: fast and full evaluation disagree on {word} `{id}`; please report", source.id);
    Problem::new(source.id_span, message)
        .label("this rule")
        .mark(job.item(item).header, "on this item")
        .help("check this item by hand: the rule says nothing of it until this is put right")
}

/// Counts the checks of one rule on one item and makes findings of those worth telling.
fn tell(
    scene: &Scene<'_>,
    compiled: &Compiled,
    item: ItemIndex,
    details: Vec<(Detail, Workings)>,
    report: &mut Report,
) {
    for (detail, workings) in details {
        if let Some(finding) = finding(scene, compiled, item, &detail, workings, report) {
            if finding.outcome == Outcome::ToMeasure && existing::is_left_open(scene, compiled, item) {
                continue;
            }
            count(&mut report.tally, &finding);
            let wanted = finding.weight <= scene.options.lightest;
            let passed = matches!(finding.outcome, Outcome::Met | Outcome::Excepted);
            if wanted && (!passed || scene.options.met) {
                report.findings.push(finding);
            }
        }
    }
}

fn count(tally: &mut Tally, finding: &Finding) {
    *counter(tally, finding) += 1;
    tally.presumed += usize::from(!finding.presumed.is_empty());
}

/// Takes a finding back that has been counted.
pub(super) fn uncount(tally: &mut Tally, finding: &Finding) {
    *counter(tally, finding) -= 1;
    tally.presumed -= usize::from(!finding.presumed.is_empty());
}

fn counter<'t>(tally: &'t mut Tally, finding: &Finding) -> &'t mut usize {
    match (finding.outcome, finding.weight) {
        (Outcome::Met, _) => &mut tally.met,
        (Outcome::ToMeasure, _) => &mut tally.to_measure,
        (Outcome::Permitted, _) => &mut tally.permitted,
        (Outcome::Excepted, _) => &mut tally.excepted,
        (Outcome::Correction, Weight::Correction) => &mut tally.correction,
        (Outcome::Correction, Weight::Caution) => &mut tally.caution,
        (Outcome::Correction, Weight::Note) => &mut tally.note,
    }
}

/// Makes the finding of one check; a fault of the rule goes to the report's faults instead.
fn finding(
    scene: &Scene<'_>,
    compiled: &Compiled,
    item: ItemIndex,
    detail: &Detail,
    workings: Workings,
    report: &mut Report,
) -> Option<Finding> {
    let job = scene.job;
    let source = &compiled.in_force.source;
    let about = job.schema.spec(job.item(item).kind);
    if detail.verdict == Verdict::Fault {
        let at = operand_place(scene, item, detail).1;
        let (why, span) = match &detail.fault {
            Some(fault) => (fault.message.as_str(), fault.span),
            None => ("it can't be evaluated", detail.span),
        };
        let message = format!("rule `{}` faulted on {} `{}`: {why}", source.id, about.word, job.id(item));
        let mut problem = Problem::new(if span.is_some() { span } else { detail.span }, message)
            .mark(if at.is_some() { at } else { job.item(item).header }, "for this item");
        problem.help = detail.fault.as_ref().and_then(|fault| fault.help.clone());
        report.faults.push(problem);
        return None;
    }
    if let Some(fault) = fault_behind(scene, detail) {
        let fault = lacking::asked_by(fault, source.id_span);
        if !report.faults.contains(&fault) {
            report.faults.push(fault);
        }
        return None;
    }
    let (path, at) = operand_place(scene, item, detail);
    let answer = detail.look.as_ref().and_then(|_| scene.answers.find(&source.id, item));
    let mut outcome = match (detail.verdict, answer) {
        (_, Some(answer)) if answer.ok => Outcome::Met,
        (_, Some(_)) | (Verdict::Failed, None) => Outcome::Correction,
        (Verdict::Met, None) => Outcome::Met,
        (Verdict::Excepted, None) => Outcome::Excepted,
        _ => Outcome::ToMeasure,
    };
    let permit = match outcome {
        Outcome::Correction => scene.permissions.find(&source.id, job.id(item)).cloned(),
        _ => None,
    };
    if permit.as_ref().is_some_and(|permit| !permit.lapsed) {
        outcome = Outcome::Permitted;
    }
    let book = &scene.code.book;
    let partners = pairs::partners(job, item, &workings);
    Some(Finding {
        rule: source.id.clone(),
        ruleset: source.ruleset.clone(),
        outcome,
        weight: compiled.in_force.weight,
        stage: source.stage,
        index: item,
        kind: about.name,
        item: job.id(item).to_owned(),
        room: room_of(job, item),
        cite: source.cites.clone(),
        says: first_sentence(&source.doc),
        check: detail.check,
        verb: detail.verb,
        found: workings.found,
        allowed: workings.allowed,
        margin: detail.margin,
        reads: workings.reads.into_iter().filter_map(|source| read(job, source)).collect(),
        look: detail.look.clone(),
        fix: if outcome == Outcome::Met { None } else { detail.fix.clone() },
        at: answer.map_or(at, |answer| answer.span),
        answer: answer.cloned(),
        path,
        rule_at: detail.span,
        set_by: behind::set_by(book, detail),
        missing: behind::missing(scene, detail),
        unverified: if outcome == Outcome::Correction { behind::unverified(book, detail) } else { Vec::new() },
        permit,
        excepted: excepted(compiled, detail),
        presumed: presumed(scene, compiled, detail),
        partners,
        also: Vec::new(),
    })
}

/// Returns the exception that a check stands for.
fn excepted(compiled: &Compiled, detail: &Detail) -> Option<Excepted> {
    let rule = compiled.bound()?.rule();
    let exception = rule.checks().get(usize::from(detail.check))?.exception.as_ref()?;
    Some(Excepted { section: exception.section.clone(), name: exception.name.clone() })
}

/// Returns what a rule presumed on the way to a verdict.
fn presumed(scene: &Scene<'_>, compiled: &Compiled, detail: &Detail) -> Vec<Presumed> {
    let Some(bound) = compiled.bound() else { return Vec::new() };
    let all = bound.rule().presumptions();
    let made = detail.presumed.iter().filter_map(|&(number, item, field)| {
        let presumption = all.get(usize::from(number))?;
        let value = bound.presumed(number, item, scene.facts);
        Some(Presumed { item, field, value, because: presumption.because.clone() })
    });
    made.collect()
}

/// Returns what a check has read; what stands in the rule itself is not read.
fn read(job: &Job, source: OperandSource) -> Option<Read> {
    match source {
        OperandSource::Field(item, field) => Some(Read::Field { kind: job.item(item).kind, item, field }),
        OperandSource::Entry(entry, row) => Some(Read::Entry { entry, row }),
        OperandSource::Presumed(_, item, field) => Some(Read::Field { kind: job.item(item).kind, item, field }),
        OperandSource::Literal(_) => None,
    }
}

/// Returns the fault of a calculation that keeps a check open: no measuring would decide it.
fn fault_behind<'s>(scene: &'s Scene<'_>, detail: &Detail) -> Option<&'s Problem> {
    detail.missing.iter().find_map(|&(item, field)| scene.facts.fault_of(item, field))
}

/// Returns the key path and place of the value to look at: the first recorded operand, or the item's header.
fn operand_place(scene: &Scene<'_>, item: ItemIndex, detail: &Detail) -> (Path, Span) {
    let job = scene.job;
    if let Some(&(owner, field)) = detail.missing.first() {
        return (Path { item: owner, field: Some(field) }, job.item(owner).header);
    }
    let sources = detail.found.iter().chain(&detail.allowed).flat_map(|operand| &operand.sources);
    let mut written = sources.filter_map(|source| match *source {
        OperandSource::Field(owner, field) => {
            let span = scene.facts.cell(owner, field).span();
            span.is_some().then_some((Path { item: owner, field: Some(field) }, span))
        }
        _ => None,
    });
    // What it is compared with in another item of its kind comes after its own values.
    let kind = job.item(item).kind;
    let of_another = |path: &Path| path.item != item && job.item(path.item).kind == kind;
    let first = written.next();
    let own = first.into_iter().chain(written).find(|(path, _)| !of_another(path));
    own.or(first).unwrap_or((Path { item, field: None }, job.item(item).header))
}

/// Returns the name of the room an item is in, through its own field `room` or that of what it belongs to.
pub(super) fn room_of(job: &Job, item: ItemIndex) -> Option<String> {
    let mut at = item;
    // Nesting is three deep at most (hole, cable, end, box, room); the bound keeps a wrong schema from turning in circles.
    for _ in 0..4 {
        let kind = job.item(at).kind;
        if job.schema.spec(kind).name == room::NAME {
            let name = job.text(at, room::NAME_).unwrap_or_else(|| job.id(at));
            return Some(name.to_owned());
        }
        let up = ["room", "box", "wall", "counter", "cable"].iter().find_map(|name| {
            let field = job.schema.field(kind, name)?;
            job.link(at, field)
        })?;
        at = up;
    }
    None
}

/// Lists the rules that met no item: either there is none of their kind, or they left each alone.
fn not_applicable(scene: &Scene<'_>, outcomes: &Outcomes) -> Vec<NotApplicable> {
    if !scene.options.rules.is_empty() || !scene.options.items.is_empty() {
        return Vec::new();
    }
    let mut list = Vec::new();
    for (number, compiled) in scene.code.rules.iter().enumerate() {
        let (looked_at, left_alone) = outcomes.looked_at(number);
        // What another job of the batch has found out about a rule that this one has no items for says nothing here.
        let played = scene.playing.binary_search_by_key(&number, |(at, _)| *at).is_ok();
        if looked_at == left_alone && !(played && compiled.bound().is_none()) {
            list.push(NotApplicable {
                rule: compiled.in_force.source.id.clone(),
                ruleset: compiled.in_force.source.ruleset.clone(),
                cite: compiled.in_force.source.cites.clone(),
                left_alone: left_alone + existing::left_out(scene, compiled).count(),
            });
        }
    }
    list.sort();
    list
}
