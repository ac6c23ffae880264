//! A report for people: what to put right first, then what is still to measure, then the tally.

use std::collections::BTreeMap;

use miette::Severity;
use storystick_engine::inspection::finding::{Finding, Outcome, Report, SetBy, Weight};
use storystick_engine::model::{Filled, Job};
use storystick_engine::source::{Files, Span};

use super::measure_list;
use super::report::{Drawn, Look};
use super::wrap::{GLUE, columns, natural, wrap};

/// How much is shown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Depth {
    /// Findings of one rule that are shown in full before the rest is folded into one line.
    pub(crate) each_rule: usize,
    /// Met checks are listed with their margins.
    pub(crate) met: bool,
}

/// Writes the chain of who set a value: the first setter, then each amendment.
fn chain(set_by: &[SetBy]) -> String {
    let steps: Vec<String> = set_by
        .iter()
        .rev()
        .map(|set| {
            let day = set.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
            format!("{} ({}, {}{day})", set.value, set.title, set.cite)
        })
        .collect();
    steps.join(" → ")
}

/// Returns the item whose worksheet shows how the found value was reckoned, if it is a computed one.
fn worksheet<'f>(job: &Job, finding: &'f Finding) -> Option<&'f str> {
    finding.found_text.as_ref()?;
    let (owner, field) = finding.path.rsplit_once(", ")?;
    let (_, id) = owner.split_once(' ')?;
    let kind = job.item(job.find(id)?).kind;
    let spec = job.schema.field_spec(kind, job.schema.field(kind, field)?);
    (spec.filled == Filled::Derived).then_some(id)
}

fn drawn<'a>(job: &'a Job, finding: &Finding) -> Drawn<'a> {
    let mut labels: Vec<(Span, String)> = Vec::new();
    let here = match (&finding.found_text, finding.missing.is_empty()) {
        (_, false) => String::from("not recorded here"),
        (Some(found), true) => found.clone(),
        (None, true) => String::from("here"),
    };
    labels.push((finding.at, here));
    if let Some(set) = finding.set_by.first() {
        labels.push((set.span, format!("{} · {}", set.ruleset, set.cite)));
    } else {
        labels.push((finding.rule_at, format!("asked for here · {}", finding.cite)));
    }
    let mut help: Vec<String> = Vec::new();
    help.extend(finding.fix.clone());
    match finding.set_by.as_slice() {
        [] => {}
        [one] => help.push(format!("set by {}", one.title)),
        several => help.push(format!("how the limit came about: {}", chain(several))),
    }
    help.extend(worksheet(job, finding).map(|id| format!("`--working {id}` shows how it was reckoned")));
    help.extend(finding.unverified.as_ref().map(|why| format!("not verified: {why}")));
    if let Some(permit) = finding.permit.as_ref().filter(|permit| permit.lapsed) {
        help.push(format!("the permission of {} lapsed on {}", permit.granted_by, permit.until));
        labels.push((permit.span, String::from("this permission lapsed")));
    }
    Drawn {
        files: &job.files,
        code: Some(format!("{} · {}", finding.rule, finding.cite)),
        word: finding.weight.word(),
        message: format!("{} {}: {}", finding.kind, finding.item, finding.message),
        help,
        severity: match finding.weight {
            Weight::Correction => Severity::Error,
            Weight::Caution => Severity::Warning,
            Weight::Note => Severity::Advice,
        },
        labels: labels.into_iter().filter(|(span, _)| span.is_some()).collect(),
    }
}

/// Returns a whole report as text; `since` tells how it compares with an earlier one.
pub(crate) fn whole(report: &Report, job: &Job, look: Look, depth: Depth, since: &str) -> String {
    let files = &job.files;
    let mut text = String::new();
    heading(&mut text, report, look);
    corrections(&mut text, report, job, look, depth);
    if depth.met {
        met(&mut text, report, look);
    }
    permitted(&mut text, report, look);
    measure_list::add(&mut text, report, look.width);
    for fault in &report.faults {
        text.push_str(&Drawn::problem(files, fault).draw(look));
        text.push('\n');
    }
    notices(&mut text, report, files, look);
    text.push_str(since);
    tally(&mut text, report, look);
    text
}

/// Says which job this is and what it is held against: every ruleset by version, content and day of review, as a pin needs them.
fn heading(text: &mut String, report: &Report, look: Look) {
    let code = &report.code;
    text.push_str(&wrap(&report.job, look.width, "  "));
    let place = format!(
        "{} · up to {} · {}, permit of {}",
        report.file,
        report.stage.word().replace('_', "-"),
        code.jurisdiction,
        code.permit_date
    );
    text.push_str(&wrap(&place, look.width, "  "));
    text.push_str("held against\n");
    let rows: Vec<Vec<String>> = code
        .rulesets
        .iter()
        .map(|layer| {
            let reviewed = match layer.reviewed.as_str() {
                "" => String::from("not reviewed"),
                day => format!("reviewed {day}"),
            };
            let draft = if layer.draft.is_some() { ", DRAFT" } else { "" };
            vec![layer.id.clone(), format!("v{}", layer.version), layer.content.clone(), format!("{reviewed}{draft}")]
        })
        .collect();
    text.push_str(&columns(&rows, look.width));
    for layer in &code.rulesets {
        if let Some(why) = &layer.draft {
            text.push_str(&wrap(&format!("draft: {} — {why}", layer.id), look.width, "  "));
        }
    }
    text.push('\n');
}

fn corrections(text: &mut String, report: &Report, job: &Job, look: Look, depth: Depth) {
    let mut shown: BTreeMap<&str, usize> = BTreeMap::new();
    let mut folded: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction) {
        let count = shown.entry(&finding.rule).or_default();
        *count += 1;
        if *count <= depth.each_rule {
            text.push_str(&drawn(job, finding).draw(look));
            text.push('\n');
        } else {
            folded.entry(&finding.rule).or_default().push(&finding.item);
        }
    }
    for (rule, items) in &folded {
        let line = format!("and {} more of {rule}: {}", items.len(), items.join(", "));
        text.push_str(&wrap(&line, look.width, "  "));
    }
    if !folded.is_empty() {
        text.push_str("(--each shows every one in full)\n\n");
    }
}

fn met(text: &mut String, report: &Report, look: Look) {
    let rows: Vec<Vec<String>> = report
        .findings
        .iter()
        .filter(|finding| finding.outcome == Outcome::Met)
        .map(|finding| {
            let value = match (&finding.found_text, &finding.allowed_text) {
                (Some(found), Some(allowed)) if found == allowed => found.clone(),
                (Some(found), Some(allowed)) => format!("{found}, {allowed}"),
                (Some(one), None) | (None, Some(one)) => one.clone(),
                (None, None) => String::new(),
            };
            let margin = finding.margin_text.as_ref().map_or_else(String::new, |margin| format!("; {margin} to spare"));
            vec![finding.item.clone(), finding.rule.clone(), format!("{value}{margin}")]
        })
        .collect();
    if !rows.is_empty() {
        text.push_str("Met:\n");
        text.push_str(&columns(&rows, look.width));
        text.push('\n');
    }
}

fn permitted(text: &mut String, report: &Report, look: Look) {
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Permitted) {
        if let Some(permit) = &finding.permit {
            let line = format!(
                "permitted: {} {}, {} ({}) — by {} until {}: {}",
                finding.kind,
                finding.item,
                finding.message,
                finding.rule,
                permit.granted_by,
                permit.until,
                permit.reason
            );
            text.push_str(&wrap(&line, look.width, "  "));
            text.push('\n');
        }
    }
}

/// Things to know take one line each: they are no corrections.
fn notices(text: &mut String, report: &Report, files: &Files, look: Look) {
    for notice in &report.notices {
        let place = files.place(notice.span).map_or_else(String::new, |at| format!(" ({}:{})", at.file, at.line));
        let help = notice.help.as_ref().map_or_else(String::new, |help| format!("; {help}"));
        text.push_str(&wrap(&format!("note: {}{help}{place}", notice.message), look.width, "  "));
    }
    if !report.notices.is_empty() {
        text.push('\n');
    }
}

fn tally(text: &mut String, report: &Report, look: Look) {
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut by_room: BTreeMap<&str, usize> = BTreeMap::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction) {
        *by_rule.entry(&finding.rule).or_default() += 1;
        *by_room.entry(finding.room.as_deref().unwrap_or(measure_list::NO_ROOM)).or_default() += 1;
    }
    for (title, counts) in [("By rule", by_rule), ("By room", by_room)] {
        if counts.is_empty() {
            continue;
        }
        let mut rows: Vec<(usize, &str)> = counts.into_iter().map(|(name, count)| (count, name)).collect();
        rows.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| natural(a.1, b.1)));
        let words: Vec<String> = rows.iter().map(|(count, name)| format!("{count}{GLUE}{name}")).collect();
        text.push_str(&wrap(&format!("{title}: {}", words.join(", ")), look.width, "  "));
    }
    text.push_str(&wrap(&counts(&Counts::of(report)), look.width, "  "));
    if !report.not_applicable.is_empty() {
        let line = format!("{} of this job; --format json names them", met_nothing(report.not_applicable.len()));
        text.push_str(&wrap(&line, look.width, "  "));
    }
    text.push_str(&wrap(super::json::NOTICE, look.width, ""));
}

fn met_nothing(rules: usize) -> String {
    if rules == 1 { String::from("1 rule met no item") } else { format!("{rules} rules met no item") }
}

/// What the last line counts, of one job or of several.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Counts {
    jobs: usize,
    correction: usize,
    caution: usize,
    note: usize,
    to_measure: usize,
    met: usize,
    permitted: usize,
    faults: usize,
}

impl Counts {
    /// Returns the counts of one job.
    pub(crate) fn of(report: &Report) -> Counts {
        let tally = report.tally;
        Counts {
            jobs: 1,
            correction: tally.correction,
            caution: tally.caution,
            note: tally.note,
            to_measure: tally.to_measure,
            met: tally.met,
            permitted: tally.permitted,
            faults: report.faults.len(),
        }
    }

    /// Adds the counts of another job.
    pub(crate) fn add(&mut self, other: &Counts) {
        self.jobs += other.jobs;
        self.correction += other.correction;
        self.caution += other.caution;
        self.note += other.note;
        self.to_measure += other.to_measure;
        self.met += other.met;
        self.permitted += other.permitted;
        self.faults += other.faults;
    }
}

pub(crate) fn counts(counts: &Counts) -> String {
    let mut words = vec![
        format!("{} to put right", counts.correction),
        format!("{} to measure", counts.to_measure),
        format!("{} met", counts.met),
    ];
    let more = [
        (counts.caution, "caution", "cautions"),
        (counts.note, "note", "notes"),
        (counts.permitted, "permitted", "permitted"),
        (counts.faults, "fault of a rule", "faults of rules"),
    ];
    for (count, one, many) in more {
        if count > 0 {
            words.push(format!("{count} {}", if count == 1 { one } else { many }));
        }
    }
    words.join(" · ")
}

/// Returns the closing line of a run over several jobs; `unread` of them could not be read.
pub(crate) fn closing(all: &Counts, unread: usize, look: Look) -> String {
    if all.jobs + unread < 2 {
        return String::new();
    }
    let unread = if unread > 0 { format!(" · {unread} not read") } else { String::new() };
    wrap(&format!("All {} jobs: {}{unread}", all.jobs, counts(all)), look.width, "  ")
}
