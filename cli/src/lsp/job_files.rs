//! Job files: findings as they are typed.

use std::sync::Arc;

use lsp_types::{Diagnostic, DiagnosticSeverity};
use storystick_engine::book::Weight;
use storystick_engine::inspection::finding::{Finding, Outcome};
use storystick_engine::inspection::{Inspector, JobText, Options};
use storystick_engine::source::Span;
use storystick_engine::told::Words;
use storystick_engine::world::World;

use super::desk::{Open, diagnostic, problem_in};
use super::positions::range;
use crate::world::{Machine, Threads};

/// Inspects a job and returns what there is to say of it.
pub(super) fn look(inspector: &mut Inspector, open: &mut Open) -> Vec<Diagnostic> {
    let name = open.path.to_string_lossy().into_owned();
    let text = JobText { name, text: Arc::from(open.text.as_str()) };
    let options = Options::on(Machine.today());
    match inspector.inspect_alone(text, &options, &Threads) {
        Err(failure) => {
            // Any ruleset may put it right.
            open.layers = None;
            let told: Vec<Diagnostic> =
                failure.problems.iter().filter_map(|one| problem_in(&failure.files, one, &open.path)).collect();
            match (told.is_empty(), failure.problems.first()) {
                // A ruleset is at fault: the job says so at its head.
                (true, Some(first)) => {
                    let at = failure
                        .files
                        .place(first.span)
                        .map_or(String::new(), |at| format!("{}:{}: ", at.file, at.line));
                    let message = format!("{at}{}", first.message);
                    vec![diagnostic(lsp_types::Range::default(), DiagnosticSeverity::ERROR, None, message)]
                }
                _ => told,
            }
        }
        Ok(inspected) => {
            let files = &inspected.job.files;
            let report = &inspected.report;
            let words = inspected.words();
            let mut told: Vec<Diagnostic> = report
                .findings
                .iter()
                .filter(|finding| !matches!(finding.outcome, Outcome::Met | Outcome::Excepted))
                .filter_map(|finding| {
                    let file = files.file_of(finding.at)?;
                    let message = message(&words, finding);
                    Some(diagnostic(
                        range(file, head(file, finding.at)),
                        severity(finding),
                        Some(&finding.rule),
                        message,
                    ))
                })
                .collect();
            let more = report.notices.iter().chain(&report.faults);
            told.extend(more.filter_map(|one| problem_in(files, one, &open.path)));
            let layers = inspected.code.book.layers.iter();
            open.layers = Some(layers.map(|layer| layer.id.clone()).collect());
            open.inspected = Some(Box::new(inspected));
            told
        }
    }
}

/// Returns the first line of a place: a whole table underlined helps nobody.
fn head(file: &storystick_engine::source::File, span: Span) -> Span {
    let start = span.start().saturating_sub(file.base()) as usize;
    let text = file.text().get(start..start + span.len() as usize).unwrap_or("");
    Span::new(span.start(), text.lines().next().map_or(span.len(), |line| line.len() as u32))
}

fn severity(finding: &Finding) -> DiagnosticSeverity {
    match (finding.outcome, finding.weight) {
        (Outcome::Correction, Weight::Correction) => DiagnosticSeverity::ERROR,
        (Outcome::Correction, Weight::Caution) => DiagnosticSeverity::WARNING,
        (Outcome::Correction, Weight::Note) | (Outcome::Permitted, _) => DiagnosticSeverity::INFORMATION,
        (Outcome::ToMeasure | Outcome::Excepted | Outcome::Met, _) => DiagnosticSeverity::HINT,
    }
}

fn message(words: &Words<'_>, finding: &Finding) -> String {
    let lead = if finding.outcome == Outcome::ToMeasure { "to measure: " } else { "" };
    let fix = finding.fix.as_ref().map_or_else(String::new, |fix| format!("\nhelp: {fix}"));
    let doubt = words.unverified(finding).map_or_else(String::new, |why| format!("\nnot verified: {why}"));
    let (item, says) = (words.item(finding.index), words.message(finding));
    format!("{lead}{item}: {says} ({}){fix}{doubt}", finding.cite)
}

/// Returns what a finding says and how its limit came about, for a hover.
pub(super) fn told(words: &Words<'_>, finding: &Finding) -> String {
    let mut text = format!("**{}** · {}\n\n{}\n", finding.rule, finding.cite, message(words, finding));
    for step in &finding.set_by {
        let since = step.in_force.as_ref().map_or_else(String::new, |day| format!(", in force {day}"));
        text.push_str(&format!("\n- {}: {} ({}{since}; checked: {})", step.title, step.value, step.cite, step.checked));
    }
    text
}
