//! Marks one competency of one trainee. Each part that applies, rules or worksheets or questions, counts alike.

use std::collections::{BTreeMap, BTreeSet};

use storystick_engine::inspection::Inspected;
use storystick_engine::inspection::finding::{Outcome, Weight};

use super::Measure;
use super::close::{cites_one, close};
use super::{meter, parts, written};
use crate::render::grades::Mark;
use crate::render::working;
use crate::teach::papers::{Answers, Competency, Key, Planted, Told, fits};
use crate::teach::readings::Log;

/// A trainee's work, as far as it could be read.
pub(super) struct Trainee<'a> {
    pub(super) job: Option<&'a Inspected>,
    pub(super) answers: Option<&'a Answers>,
    pub(super) log: Option<&'a Log>,
}

/// Marks of one part: so many of so many.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Part {
    pub(super) got: f64,
    pub(super) of: f64,
}

/// Returns the mark of a competency; none where nothing shows it.
pub(super) fn mark(measure: &Measure, competency: &Competency, trainee: &Trainee<'_>) -> Option<Mark> {
    let mut mark = Mark {
        competency: competency.id.clone(),
        title: competency.title.clone(),
        weight: competency.weight,
        ..Mark::default()
    };
    let key = measure.key.as_ref();
    let parts = [
        match (trainee.job, key) {
            (Some(job), Some(key)) => repaired(key, job, &mut mark, |told| fits_one(competency, &told.rule)),
            (Some(job), None) => rules(competency, job, measure.reference.as_ref(), &mut mark),
            (None, _) => Part::default(),
        },
        match (trainee.job, key) {
            (Some(job), Some(key)) if competency.repairs => repairs(measure, key, job, &mut mark),
            _ => Part::default(),
        },
        match trainee.answers {
            Some(answers) if competency.corrections => corrections(measure, answers, &mut mark),
            _ => Part::default(),
        },
        written::figures(measure, competency, trainee, &mut mark),
        key.map_or(Part::default(), |key| written::questions(measure, competency, key, trainee.answers, &mut mark)),
        match key {
            Some(key) if competency.meter => meter::found(measure, key, trainee, &mut mark),
            _ => Part::default(),
        },
        match (trainee.job, &measure.reference) {
            (Some(job), Some(reference)) => parts::counted(measure, competency, job, reference, &mut mark),
            _ => Part::default(),
        },
        match (trainee.job, &measure.reference) {
            (Some(job), Some(reference)) => fields(measure, competency, job, reference, &mut mark),
            _ => Part::default(),
        },
    ];
    let parts: Vec<Part> = parts.into_iter().filter(|part| part.of > 0.0).collect();
    if parts.is_empty() {
        return None;
    }
    let shares = parts.iter().map(|part| (part.got / part.of).clamp(0.0, 1.0));
    mark.share = shares.sum::<f64>() / parts.len() as f64;
    Some(mark)
}

fn fits_one(competency: &Competency, rule: &str) -> bool {
    competency.rules.iter().any(|pattern| fits(pattern, rule))
}

/// Rules on a job of the trainee's own: for each the share of its checks that are met.
fn rules(competency: &Competency, job: &Inspected, reference: Option<&Inspected>, mark: &mut Mark) -> Part {
    let mut by_rule: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    // What nobody can have recorded yet, since the reference has not, is not asked for.
    let open = |job: &'_ Inspected| -> BTreeSet<(String, String)> {
        let open = job.report.findings.iter().filter(|one| one.outcome == Outcome::ToMeasure);
        open.map(|one| (one.rule.clone(), one.item.clone())).collect()
    };
    let open = reference.map(open).unwrap_or_default();
    let words = job.words();
    for finding in job.report.findings.iter().filter(|finding| fits_one(competency, &finding.rule)) {
        if finding.outcome == Outcome::Excepted {
            continue;
        }
        if finding.outcome == Outcome::ToMeasure && open.contains(&(finding.rule.clone(), finding.item.clone())) {
            continue;
        }
        let (met, all) = by_rule.entry(&finding.rule).or_default();
        *all += 1;
        let place = format!("{}: {} ({})", words.item(finding.index), words.message(finding), finding.cite);
        match finding.outcome {
            Outcome::Met | Outcome::Permitted | Outcome::Excepted => *met += 1,
            Outcome::Correction => mark.missed.push(place),
            Outcome::ToMeasure if !finding.missing.is_empty() => mark.missed.push(place),
            Outcome::ToMeasure => mark.missed.push(format!("{place} [not recorded]")),
        }
    }
    let mut part = Part::default();
    for (rule, (met, all)) in &by_rule {
        part.got += *met as f64 / *all as f64;
        part.of += 1.0;
        if met > &0 {
            mark.found.push(format!("{rule}: {met} of {all} met"));
        }
    }
    // What the reference shows and the trainee's job lacks altogether is missed.
    let shown: BTreeSet<&str> = by_rule.keys().copied().collect();
    let wanted: BTreeSet<&str> = reference
        .iter()
        .flat_map(|job| &job.report.findings)
        .filter(|one| one.outcome != Outcome::ToMeasure)
        .map(|one| one.rule.as_str())
        .collect();
    for rule in wanted.difference(&shown).filter(|rule| fits_one(competency, rule)) {
        part.of += 1.0;
        mark.missed.push(format!("nothing in the job can be held against {rule}; the reference has it"));
    }
    part
}

fn failing(job: &Inspected) -> BTreeSet<(&str, &str)> {
    let failing =
        job.report.findings.iter().filter(|one| one.outcome == Outcome::Correction && one.weight == Weight::Correction);
    failing.map(|one| (one.rule.as_str(), one.item.as_str())).collect()
}

/// Findings of planted mistakes that are gone from the trainee's job, of the rules of a competency.
fn repaired(key: &Key, job: &Inspected, mark: &mut Mark, wanted: impl Fn(&Told) -> bool) -> Part {
    let failing = failing(job);
    let mut part = Part::default();
    for told in key.planted.iter().flat_map(|planted| &planted.finding).filter(|told| wanted(told)) {
        part.of += 1.0;
        if failing.contains(&(told.rule.as_str(), told.item.as_str())) || job.job.find(&told.item).is_none() {
            mark.missed.push(format!("still wrong: {}: {} ({})", told.item, told.says, told.cites));
        } else {
            part.got += 1.0;
            mark.found.push(format!("put right: {} ({})", told.item, told.cites));
        }
    }
    part
}

/// Planted mistakes put right, less what went wrong meanwhile.
fn repairs(measure: &Measure, key: &Key, job: &Inspected, mark: &mut Mark) -> Part {
    let failing = failing(job);
    let mut part = Part::default();
    for planted in &key.planted {
        part.of += 1.0;
        let open = |told: &Told| failing.contains(&(told.rule.as_str(), told.item.as_str()));
        if planted.finding.iter().any(open) || job.job.find(&planted.item).is_none() {
            mark.missed.push(format!(
                "{}: {} is still {}, was {} in the sound job",
                planted.item, planted.field, planted.now, planted.was
            ));
        } else {
            part.got += 1.0;
            mark.found.push(format!("{}: {}", planted.item, planted.what));
        }
    }
    let known = key.planted.iter().flat_map(|planted| &planted.finding).chain(&key.standing);
    let known: BTreeSet<(&str, &str)> = known.map(|told| (told.rule.as_str(), told.item.as_str())).collect();
    // One slip may show on many items: it is called once for each rule.
    let mut slips: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (rule, item) in failing.difference(&known) {
        slips.entry(rule).or_default().push(item);
    }
    for (rule, items) in slips {
        part.got -= measure.rubric.false_call;
        mark.false_calls.push(format!("{}: sound before, now against {rule}", items.join(", ")));
    }
    part
}

/// Corrections that the trainee lists: found with the section, found with another section for half, missed, false.
fn corrections(measure: &Measure, answers: &Answers, mark: &mut Mark) -> Part {
    let (planted, standing): (Vec<Planted>, &[Told]) = match (&measure.key, &measure.reference) {
        (Some(key), _) => (key.planted.clone(), &key.standing),
        (None, Some(reference)) => (of_reference(reference), &[]),
        (None, None) => return Part::default(),
    };
    let mut part = Part { got: 0.0, of: planted.len() as f64 };
    let mut used = vec![false; answers.correction.len()];
    for one in &planted {
        let about = |said: &Told| one.item == said.item || one.finding.iter().any(|told| told.item == said.item);
        let right = |said: &Told| one.finding.iter().any(|told| cites_one(&told.cites, &said.cites));
        let (mut seen, mut cited) = (false, false);
        for (said, used) in answers.correction.iter().zip(&mut used).filter(|(said, _)| about(said)) {
            // Two mistakes may lie in one item: what cites the one is no word on the other.
            let other = planted.iter().any(|it| {
                it.item != one.item
                    && it.finding.iter().any(|told| {
                        (told.item == said.item || it.item == said.item) && cites_one(&told.cites, &said.cites)
                    })
            });
            if right(said) || !other {
                (*used, seen, cited) = (true, true, cited || right(said));
            }
        }
        let cites = one.finding.first().map_or("", |told| told.cites.as_str());
        let says = one.finding.first().map_or("", |told| told.says.as_str());
        match (seen, cited) {
            (true, true) => {
                part.got += 1.0;
                mark.found.push(format!("{}: {} ({cites})", one.item, one.what));
            }
            (true, false) => {
                part.got += 0.5;
                mark.found.push(format!("{}: {}, with another section than {cites}: half", one.item, one.what));
            }
            (false, _) => mark.missed.push(format!("{}: {}: {says} ({cites})", one.item, one.what)),
        }
    }
    for (said, _) in answers.correction.iter().zip(&used).filter(|(_, used)| !**used) {
        if standing.iter().any(|told| told.item == said.item) {
            continue;
        }
        part.got -= measure.rubric.false_call;
        mark.false_calls.push(format!("{} ({}) {}", said.item, said.cites, said.says));
    }
    part
}

/// The corrections of a reference job, as if each were planted.
fn of_reference(reference: &Inspected) -> Vec<Planted> {
    let findings = reference.report.findings.iter();
    let wrong = findings.filter(|one| one.outcome == Outcome::Correction && one.weight == Weight::Correction);
    let words = reference.words();
    let planted = wrong.map(|one| Planted {
        mistake: one.rule.clone(),
        what: one.rule.replace('-', " "),
        item: one.item.clone(),
        field: String::new(),
        was: String::new(),
        now: String::new(),
        finding: vec![Told {
            item: one.item.clone(),
            rule: one.rule.clone(),
            cites: one.cite.clone(),
            says: words.message(one),
        }],
    });
    planted.collect()
}

/// Fields that must agree with the reference.
fn fields(measure: &Measure, competency: &Competency, job: &Inspected, reference: &Inspected, mark: &mut Mark) -> Part {
    let tolerance = competency.tolerance.unwrap_or(measure.rubric.tolerance);
    let mut part = Part::default();
    for (kind, field) in competency.fields.iter().filter_map(|name| name.split_once('.')) {
        let Some(of_kind) = reference.job.schema.kind(kind) else { continue };
        for &item in reference.job.of_kind(of_kind) {
            let Some(right) = working::written(&reference.job, item, field) else { continue };
            let id = reference.job.id(item);
            part.of += 1.0;
            let said = job.job.find(id).and_then(|item| working::written(&job.job, item, field));
            match said {
                Some(said) if close(&right, &said, tolerance) => part.got += 1.0,
                said => {
                    let said = said.unwrap_or_else(|| String::from("nothing"));
                    mark.missed.push(format!("{kind} {id}: {field} is {said}, {right} is right"));
                }
            }
        }
    }
    if part.got > 0.0 {
        mark.found.push(format!("{} of {} values agree with the reference", part.got, part.of));
    }
    part
}
