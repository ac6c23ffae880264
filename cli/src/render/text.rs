//! A report for people: what to put right first, then what is still to measure, then the tally.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use miette::Severity;
use storystick_engine::inspection::finding::{Finding, Outcome, Report, SetBy, Weight};
use storystick_engine::source::{Files, Span};

use super::report::{Drawn, Look};
use super::wrap::{columns, wrap};

/// How much is shown.
#[derive(Clone, Copy, Debug)]
pub struct Depth {
    /// Findings of one rule that are shown in full before the rest is folded into one line.
    pub each_rule: usize,
    /// Met checks are listed with their margins.
    pub met: bool,
}

impl Default for Depth {
    fn default() -> Depth {
        Depth { each_rule: 3, met: false }
    }
}

/// Writes the chain of who set a value: the first setter, then each amendment.
pub fn chain(set_by: &[SetBy]) -> String {
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

fn drawn<'a>(files: &'a Files, finding: &Finding) -> Drawn<'a> {
    let mut labels: Vec<(Span, String)> = Vec::new();
    let here = match (&finding.found, finding.missing.is_empty()) {
        (_, false) => String::from("not recorded here"),
        (Some(found), true) => found.clone(),
        (None, true) => String::from("here"),
    };
    labels.push((finding.at, here));
    if let Some(set) = finding.set_by.first() {
        labels.push((set.span, format!("{} ({})", set.title, set.cite)));
    } else {
        labels.push((finding.rule_at, format!("asked for here ({})", finding.cite)));
    }
    let mut help: Vec<String> = Vec::new();
    help.extend(finding.fix.clone());
    if finding.set_by.len() > 1 {
        help.push(format!("how the limit came about: {}", chain(&finding.set_by)));
    }
    help.extend(finding.unverified.as_ref().map(|why| format!("not verified: {why}")));
    if let Some(permit) = finding.permit.as_ref().filter(|permit| permit.lapsed) {
        help.push(format!("the permission of {} lapsed on {}", permit.granted_by, permit.until));
        labels.push((permit.span, String::from("this permission lapsed")));
    }
    Drawn {
        files: super::source::Indexed(files),
        code: Some(format!("{} · {}", finding.rule, finding.cite)),
        message: format!("{} {}: {}", finding.kind, finding.item, finding.message),
        help: (!help.is_empty()).then(|| help.join("\n")),
        severity: match finding.weight {
            Weight::Correction => Severity::Error,
            Weight::Caution => Severity::Warning,
            Weight::Note => Severity::Advice,
        },
        labels: labels.into_iter().filter(|(span, _)| span.is_some()).collect(),
    }
}

/// Returns a whole report as text.
pub fn whole(report: &Report, files: &Files, look: Look, depth: Depth) -> String {
    let mut text = String::new();
    heading(&mut text, report, look);
    corrections(&mut text, report, files, look, depth);
    if depth.met {
        met(&mut text, report, look);
    }
    permitted(&mut text, report, look);
    to_measure(&mut text, report, look);
    for fault in &report.faults {
        text.push_str(&Drawn::problem(files, fault).draw(look));
        text.push('\n');
    }
    notices(&mut text, report, files, look);
    tally(&mut text, report, look);
    text
}

fn heading(text: &mut String, report: &Report, look: Look) {
    let code = &report.code;
    let first = format!(
        "{} · {} · up to {} · {} on {}",
        report.job,
        report.file,
        report.stage.word().replace('_', "-"),
        code.jurisdiction,
        code.permit_date
    );
    text.push_str(&wrap(&first, look.width, ""));
    let layers: Vec<String> = code.rulesets.iter().map(|l| format!("{} v{}", l.id, l.version)).collect();
    text.push_str(&wrap(&format!("held against {}", layers.join(", ")), look.width, "  "));
    for layer in &code.rulesets {
        if let Some(why) = &layer.draft {
            text.push_str(&wrap(&format!("draft: {} — {why}", layer.id), look.width, "  "));
        }
    }
    text.push('\n');
}

fn corrections(text: &mut String, report: &Report, files: &Files, look: Look, depth: Depth) {
    let mut shown: BTreeMap<&str, usize> = BTreeMap::new();
    let mut folded: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction) {
        let count = shown.entry(&finding.rule).or_default();
        *count += 1;
        if *count <= depth.each_rule {
            text.push_str(&drawn(files, finding).draw(look));
            text.push('\n');
        } else {
            folded.entry(&finding.rule).or_default().push(&finding.item);
        }
    }
    for (rule, items) in folded {
        let line = format!("and {} more of {rule}: {}", items.len(), items.join(", "));
        text.push_str(&wrap(&line, look.width, "  "));
        text.push_str("  (--each shows every one in full)\n\n");
    }
}

fn met(text: &mut String, report: &Report, look: Look) {
    let rows: Vec<Vec<String>> = report
        .findings
        .iter()
        .filter(|finding| finding.outcome == Outcome::Met)
        .map(|finding| {
            vec![
                finding.item.clone(),
                finding.rule.clone(),
                finding.found.clone().unwrap_or_default(),
                finding.allowed.clone().unwrap_or_default(),
                finding.margin.clone().map_or_else(String::new, |margin| format!("{margin} to spare")),
            ]
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

/// Lists what is still to measure by room, each item once with the fields it lacks.
fn to_measure(text: &mut String, report: &Report, look: Look) {
    let mut rooms: BTreeMap<&str, BTreeMap<(&str, String), BTreeSet<&str>>> = BTreeMap::new();
    let mut looks: BTreeMap<(&str, String), usize> = BTreeMap::new();
    for finding in report.findings.iter().filter(|finding| finding.outcome == Outcome::ToMeasure) {
        if finding.missing.is_empty() {
            *looks.entry((&finding.rule, finding.message.clone())).or_default() += 1;
            continue;
        }
        let room = finding.room.as_deref().unwrap_or("whole dwelling");
        let limit = finding.allowed.clone().unwrap_or_default();
        for missing in &finding.missing {
            rooms.entry(room).or_default().entry((&missing.field, limit.clone())).or_default().insert(&missing.item);
        }
    }
    if rooms.is_empty() && looks.is_empty() {
        return;
    }
    let _ = writeln!(text, "Still to measure or record:");
    for (room, fields) in rooms {
        let _ = writeln!(text, "  {room}");
        for ((field, limit), items) in fields {
            let limit = if limit.is_empty() { limit } else { format!(" ({limit})") };
            let names: Vec<&str> = items.into_iter().collect();
            let line = format!("{}{limit}: {}", field.replace('_', " "), names.join(", "));
            text.push_str(
                &wrap(&line, look.width.saturating_sub(4), "  ")
                    .lines()
                    .map(|l| format!("    {l}\n"))
                    .collect::<String>(),
            );
        }
    }
    if !looks.is_empty() {
        let _ = writeln!(text, "  by eye");
        for ((_, message), count) in looks {
            let line = if count > 1 { format!("{message} ({count} items)") } else { message };
            text.push_str(
                &wrap(&line, look.width.saturating_sub(4), "  ")
                    .lines()
                    .map(|l| format!("    {l}\n"))
                    .collect::<String>(),
            );
        }
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
        *by_room.entry(finding.room.as_deref().unwrap_or("whole dwelling")).or_default() += 1;
    }
    for (title, counts) in [("By rule", by_rule), ("By room", by_room)] {
        if counts.is_empty() {
            continue;
        }
        let mut rows: Vec<(usize, &str)> = counts.into_iter().map(|(name, count)| (count, name)).collect();
        rows.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(b.1)));
        let words: Vec<String> = rows.iter().map(|(count, name)| format!("{name} {count}")).collect();
        text.push_str(&wrap(&format!("{title}: {}", words.join(", ")), look.width, "  "));
    }
    let tally = &report.tally;
    let mut words = vec![
        format!("{} to put right", tally.correction),
        format!("{} to measure", tally.to_measure),
        format!("{} met", tally.met),
    ];
    for (count, word) in [(tally.caution, "cautions"), (tally.note, "notes"), (tally.permitted, "permitted")] {
        if count > 0 {
            words.push(format!("{count} {word}"));
        }
    }
    text.push_str(&wrap(&words.join(" · "), look.width, "  "));
    if !report.not_applicable.is_empty() {
        let line = format!("{} rules met no item of this job (--format json names them)", report.not_applicable.len());
        text.push_str(&wrap(&line, look.width, "  "));
    }
    text.push_str(&wrap(super::json::NOTICE, look.width, ""));
}
