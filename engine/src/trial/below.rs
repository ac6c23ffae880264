//! What a ruleset's amendments do to what lies below it: rules that can't be used any more, amendments that change nothing, and
//! trials of other rulesets that come out otherwise.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use super::coverage::Asked;
use super::read::{Expected, Trial, trials};
use super::run::{Tried, run};
use crate::book::{
    Amendment, Ask, Book, Change, Contents, Entry, EntryId, Matching, RuleInForce, RuleName, RuleSource, Ruleset,
    RulesetKind, Value,
};
use crate::inspection::{Inspector, compile_anew};
use crate::job::Document;
use crate::problem::Problem;
use crate::script::Rule;
use crate::source::{Files, Span};

/// What a ruleset does to what lies below it.
#[derive(Debug, Default)]
pub(super) struct Below {
    /// Rules in force that can't be used, for what the ruleset sets, amends or adopts.
    pub(super) problems: Vec<Problem>,
    /// Amendments that change nothing.
    pub(super) idle: Vec<Problem>,
    /// Trials of the rulesets below that come out otherwise.
    pub(super) otherwise: Vec<Otherwise>,
}

/// A trial of a ruleset below that comes out otherwise with what a place amends.
#[derive(Clone, Debug)]
pub struct Otherwise {
    /// The ruleset whose trial it is.
    pub ruleset: String,
    /// Id of the rule.
    pub rule: String,
    /// What the trial shows.
    pub name: String,
    /// What comes of it there.
    pub expected: Expected,
    /// What comes of it here; none where it can't be run.
    pub got: Option<Expected>,
    /// The amended entries that its rule reads.
    pub entries: Vec<String>,
    /// The place of the trial.
    pub span: Span,
}

/// Looks at every code that a ruleset is part of as the place.
pub(super) fn below(inspector: &mut Inspector, ruleset: &Ruleset, contents: &Contents, books: &[Asked]) -> Below {
    let mut below = Below::default();
    let with = amendments(inspector, ruleset, contents, books);
    for (at, found) in &with {
        let Some(amendment) = contents.amends.get(*at) else { continue };
        if found.iter().all(|one| one.idle) {
            below.idle.push(changes_nothing(amendment));
        }
    }
    compile_all(inspector, ruleset, contents, books, &mut below.problems);
    lost_rows(inspector, contents, books, &with, &mut below.problems);
    below.problems.sort_by_key(|problem| problem.span);
    below.otherwise = otherwise(inspector, ruleset, contents, books);
    below
}

/// What an amendment does to one book.
struct Effect {
    /// The book, by its position.
    book: usize,
    /// It changes nothing there.
    idle: bool,
    /// Keys of rows that the table has without the amendment and not with it.
    lost: Vec<String>,
}

/// Returns what each amendment does to each book in which it is in force, by comparing the book with and without it.
fn amendments(
    inspector: &mut Inspector,
    ruleset: &Ruleset,
    contents: &Contents,
    books: &[Asked],
) -> BTreeMap<usize, Vec<Effect>> {
    let mut with: BTreeMap<usize, Vec<Effect>> = BTreeMap::new();
    for (number, (ask, book)) in books.iter().enumerate().filter(|(_, (ask, _))| !ask.alone) {
        for at in inspector.shelf_mut().amendments_in_force(ask, &ruleset.id) {
            let Some(amendment) = contents.amends.get(at) else { continue };
            let without = inspector.shelf_mut().resolve_without(ask, &ruleset.id, at);
            let effect = match &without {
                Some(without) => effect(number, book, without, &amendment.change),
                // Something else is built on it.
                None => Effect { book: number, idle: false, lost: Vec::new() },
            };
            with.entry(at).or_default().push(effect);
        }
    }
    with
}

fn effect(number: usize, book: &Book, without: &Book, change: &Change) -> Effect {
    let mut effect = Effect { book: number, idle: false, lost: Vec::new() };
    match change {
        Change::Entry { entry, .. } | Change::Row { entry, .. } | Change::Members { entry, .. } => {
            if let (Some(now), Some(before)) = (book.get(&entry.text), without.get(&entry.text)) {
                effect.idle = now.holds_the_same(before) && !better_founded(now, before);
                // A table by ranges that has fewer rows has wider ones.
                if let (Value::Table(now), Value::Table(before)) = (&now.value, &before.value)
                    && now.matching() == Matching::Exact
                {
                    let gone = before.rows().iter().filter(|row| now.row(row.key).is_none());
                    effect.lost = gone.map(|row| row.key_text.clone()).collect();
                }
            }
        }
        Change::Reweigh { rule, .. } => {
            let weight = |book: &Book| match book.rule_named(&rule.text) {
                Some(RuleName::Current(rule) | RuleName::Renamed(rule)) => Some(rule.weight),
                _ => None,
            };
            effect.idle = weight(book) == weight(without);
        }
        // One that takes out what is not there is told by the code in force.
        Change::OmitException { .. } => {}
        Change::Omit { rule } => {
            effect.idle = matches!(without.rule_named(&rule.text), Some(RuleName::Omitted(_)));
        }
    }
    effect
}

/// Returns whether a value is vouched for better than it was: then saying it again is worth something.
fn better_founded(now: &Entry, before: &Entry) -> bool {
    let checked = |entry: &Entry| entry.latest().map(|step| step.checked);
    checked(now) < checked(before)
}

fn changes_nothing(amendment: &Amendment) -> Problem {
    let (what, span) = match &amendment.change {
        Change::Entry { entry, .. } | Change::Row { entry, .. } | Change::Members { entry, .. } => {
            (format!("entry `{}` holds the same without it", entry.text), entry.span)
        }
        Change::Omit { rule } | Change::OmitException { rule, .. } | Change::Reweigh { rule, .. } => {
            (format!("rule `{}` is the same without it", rule.text), rule.span)
        }
    };
    Problem::new(span, format!("this amendment changes nothing: {what}"))
        .notice()
        .label("the same below")
        .help("take it out, or write what is different here")
}

/// Compiles every rule in force in every book, once for all books that give it the same values.
fn compile_all(
    inspector: &mut Inspector,
    ruleset: &Ruleset,
    contents: &Contents,
    books: &[Asked],
    problems: &mut Vec<Problem>,
) {
    let files = inspector.shelf().files().clone();
    let symbols = Arc::new(inspector.shelf().symbols().clone());
    let mut sound: HashMap<Span, Vec<(Rule, &Book)>> = HashMap::new();
    let mut off = SwitchedOff::default();
    for (_, book) in books {
        for in_force in &book.rules {
            let source = &in_force.source;
            let known = sound.entry(source.text).or_default();
            if known.iter().any(|(rule, other)| reads_the_same(rule, other, book)) {
                continue;
            }
            match compile_anew(inspector.compiler(), &files, source, book, &symbols) {
                Ok(rule) => known.push((rule, book)),
                Err(faults) if source.ruleset == ruleset.id => {
                    let new = |fault: &Problem| !problems.contains(fault);
                    let faults: Vec<Problem> = faults.into_iter().filter(new).collect();
                    problems.extend(faults);
                }
                Err(faults) => {
                    let blame = Blame { ruleset, contents, book, in_force, files: &files };
                    for (span, why, help) in blame.places(&faults) {
                        off.add(span, why, help, source);
                    }
                }
            }
        }
    }
    problems.extend(off.problems(|rules| format!("{rules} can't be used with this")));
}

/// Rules that are switched off, by the place that does it and the reason.
#[derive(Default)]
struct SwitchedOff {
    found: BTreeMap<(Span, String), Rules>,
}

/// Rules that are switched off for one reason.
#[derive(Default)]
struct Rules {
    help: Option<String>,
    /// By the place of the rule: its id and its ruleset.
    rules: BTreeMap<Span, (String, String)>,
}

impl SwitchedOff {
    fn add(&mut self, span: Span, why: String, help: Option<String>, rule: &RuleSource) {
        let found = self.found.entry((span, why)).or_default();
        found.help = found.help.take().or(help);
        found.rules.insert(rule.id_span, (rule.id.clone(), rule.ruleset.clone()));
    }

    /// Returns one problem for each place and reason, naming all rules.
    fn problems(self, says: impl Fn(&str) -> String) -> Vec<Problem> {
        let problem = |((span, why), found): ((Span, String), Rules)| {
            let ids: Vec<String> = found.rules.values().map(|(id, _)| format!("`{id}`")).collect();
            let all = if ids.len() == 1 { "rule" } else { "rules" };
            let message = format!("{}: {why}", says(&format!("{all} {}", ids.join(", "))));
            let mut problem = Problem::new(span, message).label("set here");
            problem.help = found.help;
            match found.rules.first_key_value() {
                Some((at, (id, ruleset))) => problem.mark(*at, format!("rule `{id}` of `{ruleset}`")),
                None => problem,
            }
        };
        self.found.into_iter().map(problem).collect()
    }
}

fn reads_the_same(rule: &Rule, one: &Book, other: &Book) -> bool {
    rule.entries().all(|(id, _)| match (one.entry(id), other.entry(id)) {
        (Some(one), Some(other)) => one.holds_the_same(other),
        _ => false,
    })
}

/// A rule that can't be used in a book, and who might have brought that about.
struct Blame<'a> {
    ruleset: &'a Ruleset,
    contents: &'a Contents,
    book: &'a Book,
    in_force: &'a RuleInForce,
    files: &'a Files,
}

/// A place that keeps a rule from being used, why, and what to do.
type Reason = (Span, String, Option<String>);

impl Blame<'_> {
    /// Returns where the ruleset brought it about that a rule can't be used. What the rulesets below did themselves is theirs to put
    /// right.
    fn places(&self, faults: &[Problem]) -> Vec<Reason> {
        let reason = |fault: &Problem, span: Span| (span, fault.message.clone(), fault.help.clone());
        // The compiler points at values that can't stand where the rule uses them.
        let pointed: Vec<Reason> = faults
            .iter()
            .filter_map(|fault| {
                let mut spans = std::iter::once(fault.span).chain(fault.marks.iter().map(|mark| mark.span));
                Some(reason(fault, spans.find(|span| self.is_own(*span))?))
            })
            .collect();
        let Some(first) = faults.first() else { return pointed };
        if !pointed.is_empty() {
            return pointed;
        }
        let text = self.files.text(self.in_force.source.body);
        let amended = self.contents.amends.iter().filter_map(|amendment| amended_entry(&amendment.change));
        if let Some((_, span)) = amended.rev().find(|(entry, _)| names_entry(text, entry)) {
            return vec![reason(first, span)];
        }
        let mut adopted = self.book.layers.iter().filter_map(|layer| layer.adopted.as_ref());
        match adopted.find(|adopted| adopted.by == self.ruleset.id) {
            // An edition by itself has its own check; what fails with it alone is not the adopter's to put right.
            Some(adopted) if !is_of_edition(self.book, self.in_force) => vec![reason(first, adopted.span)],
            _ => Vec::new(),
        }
    }

    /// Returns whether a place is in a file of the ruleset.
    fn is_own(&self, span: Span) -> bool {
        let start = |span: Span| self.files.file_of(span).map(|file| file.span(0..0));
        let entries = self.contents.entries.iter().map(|entry| entry.span);
        let amends = self.contents.amends.iter().map(|amends| amends.span);
        let mut own = std::iter::once(self.ruleset.span).chain(entries).chain(amends);
        start(span).is_some_and(|at| own.any(|span| start(span) == Some(at)))
    }
}

fn is_of_edition(book: &Book, in_force: &RuleInForce) -> bool {
    book.layers.get(in_force.layer).is_some_and(|layer| layer.kind == RulesetKind::Edition)
}

/// Returns the entry that a change is of and the line to point at.
fn amended_entry(change: &Change) -> Option<(&str, Span)> {
    match change {
        Change::Entry { entry, .. } | Change::Row { entry, .. } | Change::Members { entry, .. } => {
            Some((&entry.text, entry.span))
        }
        Change::Omit { .. } | Change::OmitException { .. } | Change::Reweigh { .. } => None,
    }
}

/// Returns whether a rule's text names an entry.
fn names_entry(text: &str, entry: &str) -> bool {
    let name = format!("code.{entry}");
    text.match_indices(&name).any(|(at, _)| {
        let behind = text.get(at + name.len()..).and_then(|rest| rest.chars().next());
        behind.is_none_or(|c| !(c.is_alphanumeric() || matches!(c, '_' | '.')))
    })
}

/// Reports rows that an amendment took from a table in which rules look for them.
fn lost_rows(
    inspector: &mut Inspector,
    contents: &Contents,
    books: &[Asked],
    with: &BTreeMap<usize, Vec<Effect>>,
    problems: &mut Vec<Problem>,
) {
    let mut off = SwitchedOff::default();
    for (at, effects) in with {
        let Some((entry, span)) = contents.amends.get(*at).and_then(|amends| amended_entry(&amends.change)) else {
            continue;
        };
        for effect in effects.iter().filter(|effect| !effect.lost.is_empty()) {
            let Some((_, book)) = books.get(effect.book) else { continue };
            let Some(id) = book.id(entry) else { continue };
            let rows = effect.lost.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
            for in_force in &book.rules {
                let Ok(rule) = inspector.rule(&in_force.source, book) else { continue };
                if rule.entries().any(|(read, _)| read == id) {
                    let why = format!("table `{entry}` loses rows that may be looked for: {rows}");
                    let help = "to change a row, write `row` and `value`; to set a table anew, write all its rows";
                    off.add(span, why, Some(help.into()), &in_force.source);
                }
            }
        }
    }
    problems.extend(off.problems(|rules| format!("{rules} can't be used where a row is gone")));
}

/// Runs the trials of the rulesets below whose rules read an amended entry, as if each job stood in this place.
fn otherwise(inspector: &mut Inspector, ruleset: &Ruleset, contents: &Contents, books: &[Asked]) -> Vec<Otherwise> {
    let mut found = Vec::new();
    let (Some(day), RulesetKind::Jurisdiction) = (inspector.shelf_mut().newest_start(&ruleset.id), ruleset.kind) else {
        return found;
    };
    let plain = Ask::on(ruleset.id.as_str(), day);
    let Some((_, book)) = books.iter().rev().find(|(ask, _)| ask.permit_date == day && !ask.accessible) else {
        return found;
    };
    if inspector.shelf().nothing_in_force(&plain) {
        return found;
    }
    let in_force = inspector.shelf_mut().amendments_in_force(&plain, &ruleset.id);
    let amends = in_force.iter().filter_map(|at| contents.amends.get(*at));
    let amended: BTreeSet<EntryId> = amends.filter_map(|one| book.id(amended_entry(&one.change)?.0)).collect();
    if amended.is_empty() {
        return found;
    }
    let lower: Vec<String> =
        book.layers.iter().take_while(|layer| layer.id != ruleset.id).map(|layer| layer.id.clone()).collect();
    for id in lower {
        let Some(below) = inspector.shelf().ruleset(&id).cloned() else { continue };
        if !matches!(below.kind, RulesetKind::Jurisdiction | RulesetKind::Edition) {
            continue;
        }
        let home_day = inspector.shelf_mut().newest_start(&id).unwrap_or(day);
        for file in below.trials() {
            let document = Document::parse(file);
            for trial in trials(file, &document).0.iter().filter(|trial| trial.place.is_none()) {
                let Some(entries) = reads(inspector, book, trial, &amended) else { continue };
                let at_home = run(inspector, (&id, below.kind, home_day), trial, &mut |_, _, _| {});
                if at_home.problem.is_some() {
                    continue;
                }
                let here = moved(inspector, ruleset, day, trial);
                if here.as_ref().is_some_and(|here| here.problem.is_some() && !here.blocked) {
                    let got = here.and_then(|here| here.got);
                    found.push(Otherwise {
                        ruleset: id.clone(),
                        rule: trial.rule.0.clone(),
                        name: trial.name.clone(),
                        expected: trial.expect.0,
                        got,
                        entries,
                        span: trial.rule.1,
                    });
                }
            }
        }
    }
    found
}

/// Returns the amended entries that the rule of a trial reads; nothing where it reads none or is not in force.
fn reads(
    inspector: &mut Inspector,
    book: &Book,
    trial: &Trial<'_>,
    amended: &BTreeSet<EntryId>,
) -> Option<Vec<String>> {
    let (RuleName::Current(rule) | RuleName::Renamed(rule)) = book.rule_named(&trial.rule.0)? else { return None };
    let source = Arc::clone(&rule.source);
    let rule = inspector.rule(&source, book).ok()?;
    let ids: BTreeSet<EntryId> = rule.entries().map(|(id, _)| id).filter(|id| amended.contains(id)).collect();
    let keys: Vec<String> = ids.iter().filter_map(|id| book.entry(*id)).map(|entry| entry.key.clone()).collect();
    (!keys.is_empty()).then_some(keys)
}

/// Runs a trial as if its job stood in a place on a day; nothing where the trial has a day of its own on which nothing is in
/// force there.
fn moved(inspector: &mut Inspector, place: &Ruleset, day: jiff::civil::Date, trial: &Trial<'_>) -> Option<Tried> {
    let on = trial.permit_date.unwrap_or(day);
    if inspector.shelf().nothing_in_force(&Ask::on(place.id.as_str(), on)) {
        return None;
    }
    Some(run(inspector, (&place.id, place.kind, day), trial, &mut |_, _, _| {}))
}
