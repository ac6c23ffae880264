//! A report for people: what to put right first, then what is still to measure, then the tally.

use std::collections::BTreeMap;

use miette::Severity;
use storystick_engine::inspection::finding::{Finding, Outcome, Path, Report, SetBy, Weight};
use storystick_engine::model::Filled;
use storystick_engine::source::{Files, Span};
use storystick_engine::told::Words;

use super::measure_list;
use super::report::{Drawn, Look};
use super::wrap::{GLUE, columns, indented, natural, wrap};

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
fn worksheet<'j>(words: &Words<'j>, finding: &Finding) -> Option<&'j str> {
    finding.found.as_ref()?;
    let job = words.job();
    let Path { item, field: Some(field) } = finding.path else { return None };
    let spec = job.schema.field_spec(job.item(item).kind, field);
    (spec.filled == Filled::Derived).then(|| job.id(item))
}

fn drawn<'a>(words: &Words<'a>, finding: &Finding) -> Drawn<'a> {
    let mut labels: Vec<(Span, String)> = words.labels(finding);
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
        several => help.push(format!("where the limit comes from: {}", chain(several))),
    }
    help.extend(worksheet(words, finding).map(|id| format!("`--working {id}` shows the math")));
    help.extend(finding.presumed.iter().map(|one| format!("presumed: {}", words.presumed(one))));
    help.extend(words.unverified(finding).map(|why| format!("not verified: {why}")));
    if let Some(permit) = finding.permit.as_ref().filter(|permit| permit.lapsed) {
        help.push(format!("the permission of {} lapsed on {}", permit.granted_by, permit.until));
        labels.push((permit.span, String::from("this permission lapsed")));
    }
    Drawn {
        files: &words.job().files,
        code: Some(format!("{} · {}", finding.rule, finding.cite)),
        word: finding.weight.word(),
        message: format!("{}: {}", words.item(finding.index), words.message(finding)),
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
pub(crate) fn whole(report: &Report, words: &Words<'_>, look: Look, depth: Depth, since: &str) -> String {
    let files = &words.job().files;
    let mut text = String::new();
    heading(&mut text, report, look);
    corrections(&mut text, report, words, look, depth);
    if depth.met {
        met(&mut text, report, words, look);
    }
    permitted(&mut text, report, words, look);
    measure_list::add(&mut text, report, words, look.width);
    if depth.met {
        assumed(&mut text, report, words, look);
        existing_work(&mut text, report, words, look);
    }
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

fn corrections(text: &mut String, report: &Report, words: &Words<'_>, look: Look, depth: Depth) {
    let mut shown: BTreeMap<&str, usize> = BTreeMap::new();
    let mut folded: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction) {
        let count = shown.entry(&finding.rule).or_default();
        *count += 1;
        if *count <= depth.each_rule {
            text.push_str(&drawn(words, finding).draw(look));
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

fn met(text: &mut String, report: &Report, words: &Words<'_>, look: Look) {
    let rows = |outcome: Outcome| -> Vec<Vec<String>> {
        let findings = report.findings.iter().filter(|finding| finding.outcome == outcome);
        findings.map(|finding| passed(words, finding)).collect()
    };
    for (title, rows) in [("Passed:\n", rows(Outcome::Met)), ("Excepted:\n", rows(Outcome::Excepted))] {
        if !rows.is_empty() {
            text.push_str(title);
            text.push_str(&columns(&rows, look.width));
            text.push('\n');
        }
    }
}

/// Returns the row of a passed check: item, rule, and what was compared or what takes the item out.
fn passed(words: &Words<'_>, finding: &Finding) -> Vec<String> {
    let value = match (&finding.excepted, words.found(finding), words.allowed(finding)) {
        (Some(excepted), ..) => format!("exception {}", words.exception(excepted)),
        (None, Some(found), Some(allowed)) if found == allowed => found,
        (None, Some(found), Some(allowed)) => format!("{found}; {allowed}"),
        (None, Some(one), None) | (None, None, Some(one)) => one,
        (None, None, None) => String::new(),
    };
    let margin = words.margin(finding).map_or_else(String::new, |margin| format!("; {margin} to spare"));
    let presumed: Vec<String> =
        finding.presumed.iter().map(|one| format!("; presumed: {}", words.presumed(one))).collect();
    vec![finding.item.clone(), finding.rule.clone(), format!("{value}{margin}{}", presumed.concat())]
}

fn permitted(text: &mut String, report: &Report, words: &Words<'_>, look: Look) {
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Permitted) {
        if let Some(permit) = &finding.permit {
            let line = format!(
                "permitted: {}, {} ({}) — by {} until {}: {}",
                words.item(finding.index),
                words.message(finding),
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

/// Lists what the job format takes for granted: whoever sees that it is otherwise writes the field.
fn assumed(text: &mut String, report: &Report, words: &Words<'_>, look: Look) {
    if report.assumed.is_empty() {
        return;
    }
    text.push_str("Taken for granted, because the job file says nothing:\n");
    for one in &report.assumed {
        let items: Vec<&str> = one.items.iter().map(|&item| words.job().id(item)).collect();
        text.push_str(&indented(&format!("{} ({})", words.assumed(one), items.join(", ")), look.width, 2, "  "));
    }
    text.push('\n');
}

/// Lists the existing work, and the rules that are not for it.
fn existing_work(text: &mut String, report: &Report, words: &Words<'_>, look: Look) {
    if report.existing.is_empty() {
        return;
    }
    text.push_str("Existing work, out of the scope of rules for new work:\n");
    for one in &report.existing {
        let items: Vec<&str> = one.items.iter().map(|&item| words.job().id(item)).collect();
        let mut line = format!("{}: {}", one.kind.replace('_', " "), items.join(", "));
        for (what, rules) in [("not applied", &one.rules), ("only recorded faults", &one.faults_only)] {
            if !rules.is_empty() {
                line.push_str(&format!("; {what}: {}", rules.join(", ")));
            }
        }
        text.push_str(&indented(&line, look.width, 2, "  "));
    }
    text.push('\n');
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
    let assumed: usize = report.assumed.iter().map(|one| one.items.len()).sum();
    if assumed > 0 {
        let (values, are) = if assumed == 1 { ("value", "is") } else { ("values", "are") };
        let line = format!("{assumed} {values} {are} taken for granted; --all names them");
        text.push_str(&wrap(&line, look.width, "  "));
    }
    let existing: usize = report.existing.iter().filter(|one| !one.is_part).map(|one| one.items.len()).sum();
    if existing > 0 {
        let items = if existing == 1 { "item is" } else { "items are" };
        let line = format!("{existing} {items} existing work: rules for new work not applied; --all lists them");
        text.push_str(&wrap(&line, look.width, "  "));
    }
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
    excepted: usize,
    presumed: usize,
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
            excepted: tally.excepted,
            presumed: tally.presumed,
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
        self.excepted += other.excepted;
        self.presumed += other.presumed;
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
        (counts.excepted, "excepted", "excepted"),
        (counts.presumed, "rests on a presumption", "rest on presumptions"),
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
