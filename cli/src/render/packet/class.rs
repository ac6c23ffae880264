//! The marks of a class as a page: the table of the class, then a sheet for each trainee on a page of its own.

use maud::{Markup, html};

use super::frame::{STYLE, frame};
use super::table::remarks;
use crate::render::grades::{Class, Mark, NOTICE, Sheet, percent};

/// A sheet begins a new page when printed. On a narrow screen nothing scrolls sideways: each competency is a block with the marks under
/// it, each behind the name of its trainee. On a wide one what heads the rows stays where it is while a large class scrolls by.
const CLASS: &str = "@page{margin:16mm 13mm}\
.who{display:grid;grid-template-columns:repeat(auto-fill,minmax(9.5rem,1fr));gap:.5rem;list-style:none;padding:0;margin:.8rem 0}\
.who a{display:flex;justify-content:space-between;gap:.8rem;border:1px solid var(--line);background:var(--shade);padding:.45rem .8rem;\
overflow-wrap:anywhere}.who b{font-variant-numeric:tabular-nums;white-space:nowrap;color:var(--ink)}\
table.marks tbody th,table.marks thead th:first-child{position:sticky;left:0;z-index:1}table.marks tbody th{background:var(--paper)}\
.means{font-weight:400}\
table.many thead th:not(:first-child){writing-mode:vertical-rl;vertical-align:bottom;text-align:left;white-space:nowrap}\
table.totalled tbody tr:last-child>*{border-top-width:3px;font-weight:700}\
@media screen and (max-width:40rem){.scroll table.marks{min-width:0}\
table.marks,table.marks caption,table.marks tbody,table.marks th,table.marks td{display:block}\
table.marks thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}\
table.marks tr{display:flex;flex-wrap:wrap;gap:.35rem;padding:.5rem 0;border-bottom:1px solid var(--line)}\
table.totalled tbody tr:last-child{border-top:3px solid var(--line)}\
table.marks tbody tr>th{flex:0 0 100%;border:0;padding:0;position:static}\
table.marks tbody tr>td{border:1px solid var(--line);padding:.1rem .5rem;text-align:left;font-weight:700;overflow-wrap:anywhere}\
table.marks td::before{content:attr(data-of) \" \";color:var(--soft);font-weight:400}}\
@media print{section.trainee{break-before:page}section.sheet.first{break-before:auto}table.marks th,table.marks td{overflow-wrap:normal}\
table.marks tbody th{position:static}}";

/// With more trainees their names stand upright, so that the class still fits a printed page.
const MANY: usize = 8;

/// Returns the whole page.
pub(crate) fn page(class: &Class) -> String {
    let style = format!("{STYLE}{CLASS}");
    let body = html! {
        a.skip href="#marks" { "Skip to the marks" }
        header { h1 { (class.title) } p.soft { (class.counted()) ", marks in percent" } }
        main id="marks" {
            section.sheet.first aria-labelledby="class" {
                h2 id="class" { "The class" }
                ul.who {
                    @for (at, sheet) in class.sheets.iter().enumerate() {
                        li { a href={ "#trainee-" (at + 1) } { span { (sheet.name) } b { (sheet.over_all()) " %" } } }
                    }
                }
                (of_class(class))
            }
            @for (at, sheet) in class.sheets.iter().enumerate() { (of_trainee(at + 1, sheet)) }
        }
        footer { p.notice { (NOTICE) } }
    };
    frame(&format!("Marks: {}", class.title), &style, &body)
}

/// A row of a table of marks: what heads it, and its cells.
type Row = (Markup, Vec<String>);

/// Returns the table of the class. What a competency means stands on every sheet; here the columns need the room.
fn of_class(class: &Class) -> Markup {
    let head: Vec<&str> = class.sheets.iter().map(|sheet| sheet.name.as_str()).collect();
    let row = |heading: &str, mark: &dyn Fn(&Sheet) -> String| -> Row {
        (html! { (heading) }, class.sheets.iter().map(mark).collect())
    };
    let mut rows: Vec<Row> = class.competencies.iter().map(|(id, _)| row(id, &|sheet| sheet.of(id))).collect();
    rows.push(row("all, weighted", &Sheet::over_all));
    marks("Marks by competency and trainee", "totalled", &head, &rows)
}

/// Returns a table of marks. The roles are said because a table that is laid out as blocks loses them in some readers.
fn marks(caption: &str, sort: &str, head: &[&str], rows: &[Row]) -> Markup {
    let sort = if head.len() > MANY { format!("marks many {sort}") } else { format!("marks {sort}") };
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table class=(sort) role="table" {
                caption { (caption) }
                thead role="rowgroup" {
                    tr role="row" {
                        th scope="col" role="columnheader" { "competency" }
                        @for cell in head { th.n scope="col" role="columnheader" { (cell) } }
                    }
                }
                tbody role="rowgroup" {
                    @for (heading, cells) in rows {
                        tr role="row" {
                            th scope="row" role="rowheader" { (heading) }
                            @for (of, cell) in head.iter().zip(cells) { td.n role="cell" data-of=(of) { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

fn of_trainee(number: usize, sheet: &Sheet) -> Markup {
    let id = format!("trainee-{number}");
    let row = |mark: &Mark| -> Row {
        let counts = [mark.found.len(), mark.missed.len(), mark.false_calls.len()].map(|count| count.to_string());
        let heading = html! { (mark.competency) span.means { ": " (mark.title) } };
        (heading, std::iter::once(percent(mark.share).to_string()).chain(counts).collect())
    };
    let rows: Vec<Row> = sheet.marks.iter().map(row).collect();
    html! {
        section.sheet.trainee aria-labelledby=(id) {
            h2 id=(id) { (sheet.name) ": " (sheet.over_all()) " %" }
            (remarks("Not graded", &sheet.notes))
            (marks(&format!("{}: marks", sheet.name), "", &["percent", "found", "missed", "false"], &rows))
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
