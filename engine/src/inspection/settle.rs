//! What people have settled in writing: special permissions, and answers to what only eyes can decide.

use std::cell::Cell as Mark;
use std::collections::HashMap;

use jiff::civil::Date;

use super::finding::{Answer, Permit};
use crate::book::{Book, RuleName};
use crate::model::kinds::{answer, permission};
use crate::model::{ItemIndex, Job};
use crate::problem::{self, Problem, Topic};
use crate::quantity::{Quantity, UnitSystem};

/// One written permission.
#[derive(Debug)]
struct Permission {
    rule: String,
    items: Vec<String>,
    permit: Permit,
    used: Mark<bool>,
}

/// The permissions of a job.
#[derive(Debug, Default)]
pub(super) struct Permissions {
    list: Vec<Permission>,
}

/// Returns the rule's present id, or reports that there is none.
fn rule_id(
    job: &Job,
    book: &Book,
    item: ItemIndex,
    field: crate::model::FieldId,
    problems: &mut Vec<Problem>,
) -> Option<String> {
    let written = job.text(item, field)?;
    if let Some(id) = super::code::present(book, written) {
        return Some(id.to_owned());
    }
    let span = job.cell(item, field).span();
    if let Some(RuleName::Omitted(omitted)) = book.rule_named(written) {
        // It exists, only not for this place and date: what stands here is then merely idle.
        problems.push(
            Problem::new(span, format!("the rule `{written}` is not in force for this place and permit date"))
                .notice()
                .label("not in force here")
                .mark(omitted.by.span, "left out here"),
        );
        return None;
    }
    let mut problem =
        Problem::new(span, format!("there is no rule `{written}` here")).label("unknown rule").about(Topic::Rule);
    problem.help = problem::did_you_mean(written, book.rule_ids());
    problems.push(problem);
    None
}

impl Permissions {
    /// Reads the permissions of a job as of a day.
    pub(super) fn of(job: &Job, book: &Book, on: Date, problems: &mut Vec<Problem>) -> Permissions {
        let Some(kind) = job.schema.kind(permission::NAME) else { return Permissions::default() };
        let mut list = Vec::new();
        let today = Quantity::date(on).amount();
        for &item in job.of_kind(kind) {
            let Some(rule) = rule_id(job, book, item, permission::RULE, problems) else { continue };
            let cell = job.cell(item, permission::ITEMS);
            let items = if cell.is_missing() { &[] } else { job.list(cell.to_list()) };
            let until = job.quantity(item, permission::UNTIL);
            list.push(Permission {
                rule,
                items: items.iter().map(|cell| job.symbols.text(cell.to_symbol()).to_owned()).collect(),
                permit: Permit {
                    granted_by: job.text(item, permission::GRANTED_BY).unwrap_or_default().to_owned(),
                    reason: job.text(item, permission::REASON).unwrap_or_default().to_owned(),
                    until: until.map_or_else(String::new, |day| day.print(UnitSystem::Metric)),
                    lapsed: until.is_none_or(|day| day.amount() < today),
                    span: job.item(item).header,
                },
                used: Mark::new(false),
            });
        }
        Permissions { list }
    }

    /// Returns the permission for a rule and item, one in force before one that lapsed.
    pub(super) fn find(&self, rule: &str, item: &str) -> Option<&Permit> {
        let mut best: Option<&Permission> = None;
        for one in self.list.iter().filter(|one| one.rule == rule && one.items.iter().any(|id| id == item)) {
            one.used.set(true);
            if best.is_none_or(|best| best.permit.lapsed && !one.permit.lapsed) {
                best = Some(one);
            }
        }
        best.map(|one| &one.permit)
    }

    /// Returns a notice for each permission that no failed check asked for, of a rule that was run.
    pub(super) fn idle(&self, run: impl Fn(&str) -> bool) -> impl Iterator<Item = Problem> {
        self.list.iter().filter(move |one| !one.used.get() && run(&one.rule)).map(|one| {
            Problem::new(one.permit.span, format!("the permission for `{}` covers nothing that was found", one.rule))
                .notice()
                .label("nothing needs it")
                .help("take it out, or check its rule and items")
        })
    }
}

/// The answers of a job, by rule and item; the last one written counts.
#[derive(Debug, Default)]
pub(super) struct Answers {
    by_place: HashMap<(String, ItemIndex), Answer>,
}

impl Answers {
    /// Reads the answers of a job.
    pub(super) fn of(job: &Job, book: &Book, problems: &mut Vec<Problem>) -> Answers {
        let Some(kind) = job.schema.kind(answer::NAME) else { return Answers::default() };
        let mut by_place = HashMap::new();
        for &item in job.of_kind(kind) {
            let Some(rule) = rule_id(job, book, item, answer::RULE, problems) else { continue };
            let Some(about) = job.text(item, answer::ITEM).and_then(|id| job.find(id)) else { continue };
            let answer = Answer {
                ok: job.flag(item, answer::OK).unwrap_or(false),
                by: job.text(item, answer::BY).unwrap_or_default().to_owned(),
                on: job.quantity(item, answer::ON).map_or_else(String::new, |day| day.print(UnitSystem::Metric)),
                note: job.text(item, answer::NOTE).map(str::to_owned),
                span: job.cell(item, answer::OK).span(),
            };
            by_place.insert((rule, about), answer);
        }
        Answers { by_place }
    }

    /// Returns the answer for a rule and item.
    pub(super) fn find(&self, rule: &str, item: ItemIndex) -> Option<&Answer> {
        // The key is owned: answers are few, and only rules that ask for eyes come here.
        self.by_place.get(&(rule.to_owned(), item))
    }
}
