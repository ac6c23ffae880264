//! Findings with the lines behind them, and what was met.

use maud::{Markup, html};
use storystick_engine::inspection::finding::{Finding, Outcome, Weight};
use storystick_engine::sheet::{Desk, excepted_rules, met_rules, source_line};

use super::table::{Cell, quoted, table};

/// Returns the sheet of corrections, cautions, notes and permissions.
pub(super) fn findings(desk: &Desk<'_>) -> Markup {
    let failed = |weight: Weight| -> Vec<&Finding> {
        let all = desk.report.findings.iter();
        all.filter(|finding| finding.outcome == Outcome::Correction && finding.weight == weight).collect()
    };
    let permitted: Vec<&Finding> =
        desk.report.findings.iter().filter(|finding| finding.outcome == Outcome::Permitted).collect();
    let groups = [
        ("Corrections", failed(Weight::Correction)),
        ("Cautions", failed(Weight::Caution)),
        ("Notes", failed(Weight::Note)),
        ("Covered by a special permission", permitted),
    ];
    html! {
        @if groups.iter().all(|(_, list)| list.is_empty()) { p { "Nothing to put right at this stage." } }
        @for (heading, list) in &groups {
            @if !list.is_empty() {
                h3 { (heading) " (" (list.len()) ")" }
                @for one in list { (finding(desk, one)) }
            }
        }
        @for problem in desk.report.faults.iter().chain(&desk.report.notices) {
            p { strong { "Note: " } (problem.message) @if let Some(help) = &problem.help { " — " (help) } }
        }
    }
}

fn finding(desk: &Desk<'_>, one: &Finding) -> Markup {
    let files = &desk.job.files;
    let words = desk.words();
    let heavy = one.weight == Weight::Correction && one.outcome == Outcome::Correction;
    html! {
        article.finding.light[!heavy] {
            h4 { (words.item(one.index)) @if let Some(room) = &one.room { span.soft { " · " (room) } } }
            p { (words.message(one)) "." }
            @if let Some(fix) = &one.fix { p.fix { "Fix: " (fix) "." } }
            p.soft { (one.rule) " · " (one.cite) " · " (one.stage.word().replace('_', "-")) }
            @if let Some(line) = source_line(files, one.at) { (quoted(&line)) }
            @for set in &one.set_by {
                p.soft {
                    (set.value) " set by " (set.title) ", " (set.cite)
                    @if let Some(day) = &set.in_force { ", in force " (day) }
                }
                @if let Some(line) = source_line(files, set.span) { (quoted(&line)) }
            }
            @if one.set_by.is_empty() {
                @if let Some(line) = source_line(files, one.rule_at) { (quoted(&line)) }
            }
            @if let Some(why) = words.unverified(one) { p.flagged { "Not verified: " (why) "." } }
            @if let Some(permit) = &one.permit {
                p {
                    @if permit.lapsed { strong { "Lapsed: " } }
                    "permission by " (permit.granted_by) " until " (permit.until) ": " (permit.reason)
                }
            }
        }
    }
}

/// Most ids that a line of evidence names; `inspect --all` names every one.
const FEW: usize = 12;

/// Returns ids as a line of evidence names them: of many the first few and how many more there are.
fn some<'a>(ids: impl ExactSizeIterator<Item = &'a str>) -> String {
    let all = ids.len();
    let mut named = ids.take(FEW).collect::<Vec<_>>().join(", ");
    if all > FEW {
        named.push_str(&format!(" and {} more", all - FEW));
    }
    named
}

/// Returns the sheet of what was met, and of rules that met no item.
pub(super) fn met(desk: &Desk<'_>) -> Markup {
    let rules = met_rules(desk);
    let total: usize = rules.iter().map(|rule| rule.count).sum();
    let rows = rules.into_iter().map(|rule| {
        let closest = rule.closest.iter().map(|closest| {
            format!("{}: {}; {} ({} to spare)", closest.item, closest.found, closest.allowed, closest.margin)
        });
        let presumed = rule.presumed.iter().map(|(presumed, items)| format!("presumed of {items}: {presumed}"));
        let closest = closest.chain(presumed).collect::<Vec<_>>().join("; ");
        vec![Cell::of(rule.rule), Cell::of(rule.cite), Cell::Number(rule.count.to_string()), Cell::of(closest)]
    });
    let excepted: Vec<Vec<Cell>> = excepted_rules(desk)
        .into_iter()
        .map(|one| {
            let exception =
                if one.name == one.section { one.section } else { format!("{} ({})", one.section, one.name) };
            vec![
                Cell::of(one.rule),
                Cell::of(one.cite),
                Cell::of(exception),
                Cell::of(some(one.items.iter().map(String::as_str))),
            ]
        })
        .collect();
    let idle: Vec<String> =
        desk.report.not_applicable.iter().map(|rule| format!("{} ({})", rule.rule, rule.cite)).collect();
    let assumed = desk.report.assumed.iter().map(|one| {
        let items = match desk.job.of_kind(one.kind).len() {
            all if all == one.items.len() && all > FEW => format!("all {all}"),
            _ => some(one.items.iter().map(|&item| desk.job.id(item))),
        };
        vec![Cell::of(desk.words().assumed(one)), Cell::of(items)]
    });
    let assumed: Vec<Vec<Cell>> = assumed.collect();
    let existing = desk.report.existing.iter().map(|one| {
        let items = some(one.items.iter().map(|&item| desk.job.id(item)));
        vec![
            Cell::of(one.kind.replace('_', " ")),
            Cell::of(items),
            Cell::of(some(one.rules.iter().map(String::as_str))),
        ]
    });
    let existing: Vec<Vec<Cell>> = existing.collect();
    html! {
        p { (total) " checks are met. Behind each rule stands the item that came closest to its limit." }
        (table("Rules that are met", &["rule", "citation", "met", "closest to the limit"], rows.collect()))
        @if !excepted.is_empty() {
            h3 { "Excepted" }
            p { "An exception of the rule itself takes these out of it." }
            (table("Exceptions", &["rule", "citation", "exception", "items"], excepted))
        }
        @if !assumed.is_empty() {
            h3 { "Taken for granted" }
            p { "The job file says nothing of these, so the rules were held against what is usual. Where it is otherwise, write the field." }
            (table("Values taken for granted", &["taken for granted", "items"], assumed))
        }
        @if !existing.is_empty() {
            h3 { "Existing work" }
            p { "Out of the scope of rules for new work. A recorded fault that is dangerous is a correction all the same." }
            (table("Existing work", &["kind", "items", "rules not applied"], existing))
        }
        @if !idle.is_empty() {
            h3 { "Rules that met no item of this job" }
            p { "They were not checked, because nothing here is of their kind: " (idle.join("; ")) "." }
        }
    }
}
