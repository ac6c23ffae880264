//! `ruleset guide`: the book of a ruleset.

use storystick_engine::book::{Ask, Book, RulesetKind};
use storystick_engine::inspection::Inspector;
use storystick_engine::trial::examples;

use crate::args::{Common, Guide, GuideForm};
use crate::render::guide::{self, Pages};
use crate::world;
use crate::{Answer, Status};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Guide) -> Answer {
    let look = super::look(common, world::stderr_is_terminal());
    let (mut inspector, wanted) = match super::ruleset::chosen(common, std::slice::from_ref(&args.id)) {
        Ok(chosen) => chosen,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let mut pages = Vec::new();
    for id in &wanted {
        match gather(&mut inspector, id) {
            Ok(one) => pages.push(one),
            Err(problems) => {
                return Answer::fault(super::draw(&problems, inspector.shelf().files(), look));
            }
        }
    }
    let text = match args.format {
        GuideForm::Html => guide::html::page(&pages),
        GuideForm::Markdown => guide::markdown::page(&pages),
    };
    match &args.output {
        None => Answer::clean(text),
        Some(path) => match world::replace(path, &text) {
            Ok(()) => Answer { out: format!("{path}\n"), err: String::new(), status: Status::Clean },
            Err(message) => Answer::fault(format!("{message}\n")),
        },
    }
}

fn gather(inspector: &mut Inspector, id: &str) -> Result<Pages, Vec<storystick_engine::problem::Problem>> {
    let contents = inspector.shelf_mut().open(id)?;
    let book = newest(inspector, id);
    let mut rules = Vec::new();
    for source in &contents.rules {
        // Against a code in which the rule holds its checks can be told in words; a rule that can't be used shows its guide text alone.
        let made = book.as_ref().and_then(|book| inspector.rule(source, book).ok());
        rules.push(made);
    }
    let shelf = inspector.shelf();
    let Some(ruleset) = shelf.ruleset(id) else { return Err(Vec::new()) };
    Ok(Pages::of(ruleset, &contents, &rules, book.as_deref(), &examples(ruleset), shelf))
}

/// Returns the latest code that a ruleset is part of.
pub(crate) fn newest(inspector: &mut Inspector, id: &str) -> Option<std::sync::Arc<Book>> {
    let kind = inspector.shelf().ruleset(id)?.kind;
    let alone = matches!(kind, RulesetKind::Accessibility | RulesetKind::Shop);
    let mut days = inspector.shelf_mut().days_of_change(id);
    days.extend(inspector.shelf_mut().newest_start(id));
    days.sort_unstable();
    days.dedup();
    days.into_iter().rev().find_map(|day| {
        let ask = Ask { alone, ..Ask::on(id, day) };
        inspector.shelf_mut().resolve(&ask).ok()
    })
}
