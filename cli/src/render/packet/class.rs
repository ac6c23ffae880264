//! The marks of a class as a page: the table of the class, then a sheet for each trainee on a page of its own.

use maud::{Markup, html};

use super::frame::{STYLE, frame};
use super::table::{Cell, remarks, table};
use crate::render::grades::{Class, NOTICE, Sheet, percent};

/// A sheet begins a new page when printed.
const PRINT: &str = "@page{margin:16mm 13mm}@media print{section.trainee{break-before:page}}";

/// Returns the whole page.
pub(crate) fn page(class: &Class) -> String {
    let style = format!("{STYLE}{PRINT}");
    let mut head = vec!["competency"];
    head.extend(class.sheets.iter().map(|sheet| sheet.name.as_str()));
    let mut rows: Vec<Vec<Cell>> = class
        .competencies
        .iter()
        .map(|(id, _)| {
            // What it means stands on every sheet; here the columns of the class need the room.
            let first = Cell::of(id);
            std::iter::once(first).chain(class.sheets.iter().map(|sheet| Cell::Number(sheet.of(id)))).collect()
        })
        .collect();
    let all = class.sheets.iter().map(|sheet| Cell::Number(sheet.over_all()));
    rows.push(std::iter::once(Cell::of("all, weighted")).chain(all).collect());
    let body = html! {
        a.skip href="#marks" { "Skip to the marks" }
        header { h1 { (class.title) } p.soft { (class.sheets.len()) " trainees, marks in percent" } }
        main id="marks" {
            section.sheet aria-labelledby="class" {
                h2 id="class" { "The class" }
                (table("Marks by competency and trainee", &head, rows))
            }
            @for (at, sheet) in class.sheets.iter().enumerate() { (of_trainee(at + 1, sheet)) }
        }
        footer { p.notice { (NOTICE) } }
    };
    frame(&format!("Marks: {}", class.title), &style, &body)
}

fn of_trainee(number: usize, sheet: &Sheet) -> Markup {
    let id = format!("trainee-{number}");
    let rows = sheet.marks.iter().map(|mark| {
        vec![
            Cell::of(format!("{}: {}", mark.competency, mark.title)),
            Cell::Number(percent(mark.share).to_string()),
            Cell::Number(mark.found.len().to_string()),
            Cell::Number(mark.missed.len().to_string()),
            Cell::Number(mark.false_calls.len().to_string()),
        ]
    });
    html! {
        section.sheet.trainee aria-labelledby=(id) {
            h2 id=(id) { (sheet.name) ": " (sheet.over_all()) " %" }
            (remarks("Not graded", &sheet.notes))
            (table(&format!("{}: marks", sheet.name), &["competency", "percent", "found", "missed", "false"], rows.collect()))
            @for mark in &sheet.marks {
                @if !(mark.missed.is_empty() && mark.false_calls.is_empty() && mark.working.is_empty()) {
                    h3 { (mark.title) }
                    (listed("Missed", &mark.missed))
                    (listed("False calls", &mark.false_calls))
                    (listed("Working, line by line", &mark.working))
                }
            }
        }
    }
}

/// Returns a list under a heading below that of its competency; nothing for none.
fn listed(heading: &str, lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() {
            h4 { (heading) }
            ul { @for line in lines { li { (line) } } }
        }
    }
}
