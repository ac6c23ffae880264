//! Resolves a stack of rulesets to one book, layer by layer, keeping who set what.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::amendment::{Amendment, Change};
use super::ask::Ask;
use super::contents::Contents;
use super::defines::{DefineInForce, Defines};
use super::entries::Entries;
use super::gaps::{self, Reader};
use super::in_force::{Adopted, Book, Layer};
use super::layer::Place;
use super::manifest::{Ruleset, RulesetKind};
use super::rules::{RuleInForce, Rules};
use super::shelf::Shelf;
use super::stack::{self, Stack, StackLayer};
use super::tightened;
use crate::problem::Problem;

impl Shelf {
    /// Resolves the code in force for a place, its dates and a shop.
    ///
    /// # Errors
    /// Everything that is wrong with the rulesets involved, or with what is asked: a place, shop or edition that is not there
    /// or does not fit, a day with nothing in force, a date that the place counts and the job does not record.
    pub fn resolve(&mut self, ask: &Ask) -> Result<Arc<Book>, Vec<Problem>> {
        let stack = stack::build(self, ask)?;
        // Many days give one and the same code: it is resolved once.
        if let Some(book) = self.books.iter().find(|book| book.stack == stack.key) {
            return Ok(Arc::clone(book));
        }
        let book = Arc::new(resolve(self, stack)?);
        self.books.push(Arc::clone(&book));
        Ok(book)
    }

    /// Returns whether nothing is in force for what is asked, so that [`Shelf::resolve`] would fail without any fault of a ruleset.
    pub fn nothing_in_force(&self, ask: &Ask) -> bool {
        stack::nothing_in_force(self, ask)
    }
}

pub(super) fn resolve(shelf: &mut Shelf, stack: Stack) -> Result<Book, Vec<Problem>> {
    // Everything was opened when the stack was built.
    let opened: Vec<Arc<Contents>> = stack.layers.iter().map(|layer| shelf.open_at(layer.ruleset)).collect();
    let Shelf { rulesets, symbols, names, files, .. } = shelf;
    let mut problems = Vec::new();
    let mut notices = Vec::new();
    let mut entries = Entries::new(names, stack.alone);
    let mut rules = Rules::new(stack.alone);
    let mut defines = Defines::default();
    let mut layers = Vec::new();
    let mut defaults = None;
    let mut closed: Option<&Ruleset> = None;
    let mut only_stricter: Option<&Ruleset> = None;
    let mut changed = Vec::new();
    for (layer, (stacked, contents)) in stack.layers.iter().zip(&opened).enumerate() {
        let Some(ruleset) = rulesets.get(stacked.ruleset) else { continue };
        let in_force = &stacked.in_force;
        let place = Place { layer, ruleset, contents, in_force };
        let amends: Vec<&Amendment> = in_force.amends.iter().filter_map(|at| contents.amends.get(*at)).collect();
        if ruleset.kind == RulesetKind::Jurisdiction {
            if let Some(by) = closed {
                closed_to(place, by, &amends, &mut problems);
            }
            if let Some(by) = only_stricter {
                tightened::check(place, by, &amends, (&entries, &rules, &defines), &mut problems);
            }
            closed = closed.or(ruleset.locals_none.map(|_| ruleset));
        }
        let by = only_stricter.filter(|_| ruleset.kind == RulesetKind::Jurisdiction);
        if ruleset.kind == RulesetKind::Jurisdiction {
            only_stricter = only_stricter.or(ruleset.locals_stricter.map(|_| ruleset));
        }
        let contradicting = conflicts(&amends, &mut problems);
        entries.add_layer(place, symbols, &mut problems);
        rules.add_layer(place, &mut problems);
        defines.add_layer(place);
        for (at, amendment) in amends.into_iter().enumerate() {
            if contradicting.contains(&at) {
                continue;
            }
            match &amendment.change {
                Change::Omit { rule } | Change::Reweigh { rule, .. } | Change::OmitException { rule, .. } => {
                    rules.amend(place, amendment, rule, &mut problems, &mut notices);
                }
                Change::Entry { entry, .. } | Change::Row { entry, .. } | Change::Members { entry, .. } => {
                    let before = by.and_then(|by| Some((by, entries.find(&entry.text)?.1.clone())));
                    entries.amend(place, amendment, symbols, &mut problems);
                    if let (Some((by, before)), Some(after)) = (before, entries.find(&entry.text)) {
                        changed.extend(tightened::note(place, by, amendment, (&before, after)));
                    }
                }
            }
        }
        rules.add_exceptions(place, &mut problems, &mut notices);
        if let Some(file) = &contents.defaults {
            defaults = Some(Arc::clone(file));
        }
        if let Some(behind) = &ruleset.replaces {
            let message = format!("`{}` from {} stands in front of the one from {behind}", ruleset.id, ruleset.origin);
            notices.push(Problem::new(ruleset.span, message).notice().label("this one is used"));
        }
        layers.push(layer_of(rulesets, ruleset, stacked));
    }
    local_adoption(rulesets, &stack, &mut problems);
    entries.check_names(&mut problems);
    let (rules, defines) = (rules.finish(), defines.finish());
    let on = |layer: usize| stack.layers.get(layer).map_or(Date::MIN, |layer| layer.on);
    gaps::check(&entries, readers(&rules.in_force, &defines), files, on, &mut problems);
    if !problems.is_empty() {
        problems.sort_by_key(|problem| problem.span);
        return Err(problems);
    }
    let id_of = |at: usize| rulesets.get(at).map_or(String::new(), |ruleset| ruleset.id.clone());
    let (keys, entries) = entries.finish();
    let of_place = stack.layers.iter().find(|layer| layer.ruleset == stack.jurisdiction);
    let day = of_place.map_or(Date::MIN, |layer| layer.day);
    Ok(Book {
        jurisdiction: id_of(stack.jurisdiction),
        edition: stack.edition.map(id_of).unwrap_or_default(),
        day,
        layers,
        rules: rules.in_force,
        omitted: rules.omitted,
        defines,
        entries,
        by_key: keys.iter().cloned().collect(),
        keys,
        names: rules.names,
        tightened: changed,
        defaults,
        notices,
        accessibility_missing: stack.accessibility_missing,
        stack: stack.key,
    })
}

/// Returns what is in force and may read entries.
fn readers(rules: &[RuleInForce], defines: &[DefineInForce]) -> impl Iterator<Item = Reader> {
    let of_rules = rules.iter().flat_map(|rule| {
        let source = &rule.source;
        let own = Reader { called: format!("rule `{}`", source.id), name: source.id_span, body: source.body };
        let added = rule.exceptions.iter().map(|added| {
            let source = &added.source;
            let called = format!("exception `{}`", source.name.text);
            Reader { called, name: source.name.span, body: source.body }
        });
        [own].into_iter().chain(added)
    });
    let of_defines = defines.iter().map(|define| {
        let source = &define.source;
        Reader { called: format!("define `{}`", source.name), name: source.name_span, body: source.body }
    });
    of_rules.chain(of_defines)
}

fn layer_of(rulesets: &[Ruleset], ruleset: &Ruleset, stacked: &StackLayer) -> Layer {
    Layer {
        id: ruleset.id.clone(),
        title: ruleset.title.clone(),
        kind: ruleset.kind,
        version: ruleset.version.clone(),
        content: ruleset.content_hash(),
        reviewed: ruleset.reviewed,
        draft: ruleset.draft.clone(),
        source: ruleset.source.clone(),
        stands_before: ruleset.replaces.clone(),
        day: stacked.day,
        adopted: stacked.adopted.as_ref().map(|(by, adoption)| Adopted {
            by: rulesets.get(*by).map_or(String::new(), |place| place.id.clone()),
            from: adoption.from,
            counts: adoption.by.clone(),
            cites: adoption.cites.clone(),
            source: adoption.source.clone(),
            checked: adoption.checked,
            span: adoption.span,
        }),
        span: ruleset.span,
    }
}

/// Reports what a place changes although the place around it allows no stricter local layer.
fn closed_to(place: Place<'_>, by: &Ruleset, amends: &[&Amendment], problems: &mut Vec<Problem>) {
    let mark = by.locals_none.unwrap_or(by.span);
    let amended = amends.iter().map(|amendment| (amendment.span, "amend the code"));
    let contents = place.contents;
    let own = contents.rules.iter().map(|rule| (rule.id_span, "have rules of its own"));
    let defined = contents.defines.iter().map(|define| (define.name_span, "define conditions of its own"));
    let excepted = contents.exceptions.iter().map(|added| (added.name.span, "add exceptions"));
    for (span, what) in amended.chain(own).chain(defined).chain(excepted) {
        let message = format!("`{}` may not {what}: `{}` allows no local layer", place.ruleset.id, by.id);
        problems.push(Problem::new(span, message).label("not allowed here").mark(mark, "closed here"));
    }
}

/// Reports an edition that a place adopted although a place around it allows no stricter local layer.
fn local_adoption(rulesets: &[Ruleset], stack: &Stack, problems: &mut Vec<Problem>) {
    for (adopter, adoption) in stack.layers.iter().filter_map(|layer| layer.adopted.as_ref()) {
        let outside = stack.layers.iter().map(|layer| layer.ruleset).take_while(|at| at != adopter);
        let says = |ruleset: &Ruleset| ruleset.locals_none.or(ruleset.locals_stricter);
        let closed = outside.filter_map(|at| rulesets.get(at)).find(|ruleset| says(ruleset).is_some());
        if let (Some(by), Some(place)) = (closed, rulesets.get(*adopter)) {
            let why = match by.locals_none {
                Some(_) => "allows no local layer",
                None => "lets places inside only tighten, and which of two codes is stricter can't be told",
            };
            let message = format!("`{}` may not adopt a code of its own: `{}` {why}", place.id, by.id);
            let mark = says(by).unwrap_or(by.span);
            problems.push(Problem::new(adoption.span, message).label("not allowed here").mark(mark, "closed here"));
        }
    }
}

/// What two amendments of one ruleset must not say differently.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Subject<'a> {
    Entry(&'a str),
    Rule(&'a str),
}

/// Reports amendments of one ruleset that are in force at the same time and contradict each other, and returns the
/// positions of the later ones.
fn conflicts(amends: &[&Amendment], problems: &mut Vec<Problem>) -> Vec<usize> {
    let mut by_subject: BTreeMap<Subject<'_>, Vec<(usize, &Amendment)>> = BTreeMap::new();
    for (at, amendment) in amends.iter().enumerate() {
        let subject = match &amendment.change {
            Change::Entry { entry, .. } | Change::Row { entry, .. } | Change::Members { entry, .. } => {
                Subject::Entry(&entry.text)
            }
            Change::Omit { rule } | Change::Reweigh { rule, .. } | Change::OmitException { rule, .. } => {
                Subject::Rule(&rule.text)
            }
        };
        by_subject.entry(subject).or_default().push((at, amendment));
    }
    let mut contradicting = Vec::new();
    for (subject, amends) in &by_subject {
        for (nth, (at, later)) in amends.iter().enumerate() {
            let mut before = amends.iter().take(nth).map(|(_, earlier)| earlier);
            if let Some(earlier) = before.find(|earlier| earlier.change.contradicts(&later.change)) {
                problems.push(contradiction(*subject, earlier, later));
                contradicting.push(*at);
            }
        }
    }
    contradicting
}

fn contradiction(subject: Subject<'_>, earlier: &Amendment, later: &Amendment) -> Problem {
    let what = match subject {
        Subject::Entry(entry) => format!("entry `{entry}`"),
        Subject::Rule(rule) => format!("rule `{rule}`"),
    };
    let problem = Problem::new(
        later.change.span(),
        format!("two amendments of {what} are in force at once and contradict each other"),
    )
    .label("this one")
    .mark(earlier.change.span(), "and this one");
    let (first, second) = if earlier.from <= later.from { (earlier, later) } else { (later, earlier) };
    match second.from.and_then(|from| from.yesterday().ok()) {
        Some(last) if first.from != second.from && first.until.is_none() => {
            problem.help(format!("if the later one takes over, write `until = {last}` in the earlier one"))
        }
        _ => problem.help("give them `from` and `until` so that one follows the other, or keep one"),
    }
}
