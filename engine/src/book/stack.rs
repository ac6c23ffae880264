//! Stacks the rulesets that are in force: edition with what it follows, accessibility, places outermost first, shop.

use jiff::civil::Date;

use super::adoption::{self, Standing};
use super::ask::Ask;
use super::contents::Contents;
use super::days;
use super::in_force::StackKey;
use super::manifest::{Adoption, Ruleset, RulesetKind};
use super::references::{self, Link};
use super::shelf::Shelf;
use crate::model::kinds::site;
use crate::model::{Default, Schema};
use crate::problem::{Problem, Topic};
use crate::source::Span;

/// The rulesets in force, low to high.
#[derive(Debug)]
pub(super) struct Stack {
    pub(super) layers: Vec<StackLayer>,
    /// The place.
    pub(super) jurisdiction: usize,
    /// The edition adopted; none when a ruleset stands alone.
    pub(super) edition: Option<usize>,
    /// Whether amendments of what is not there are left aside.
    pub(super) alone: bool,
    /// Whether accessibility was asked for and nothing adopts it.
    pub(super) accessibility_missing: bool,
    /// What the book depends on.
    pub(super) key: StackKey,
}

/// One ruleset in force.
#[derive(Debug)]
pub(super) struct StackLayer {
    pub(super) ruleset: usize,
    /// By which adoption, with the place that adopted.
    pub(super) adopted: Option<(usize, Adoption)>,
    /// The day that counts for it.
    pub(super) on: Date,
    /// The first of the days that are one with it to the rules, see [`Layer`](super::Layer).
    pub(super) day: Date,
    /// What of it is in force.
    pub(super) in_force: InForce,
}

/// What of a ruleset is in force on a day under an edition, by positions in its contents.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct InForce {
    /// Amendments in force.
    pub(super) amends: Vec<usize>,
    /// Rules that are not.
    pub(super) rules_off: Vec<usize>,
    /// Exceptions in force.
    pub(super) exceptions: Vec<usize>,
    /// Entries that are not.
    pub(super) entries_off: Vec<usize>,
    /// How many of the days on which something changes inside its rules have come.
    turns: usize,
}

impl InForce {
    fn of(contents: &Contents, day: Date, edition: Option<&str>) -> InForce {
        InForce {
            amends: positions(&contents.amends, |amendment| amendment.is_in_force(day, edition)),
            rules_off: positions(&contents.rules, |rule| !days::hold(rule.from, rule.until, day)),
            exceptions: positions(&contents.exceptions, |added| days::hold(added.from, added.until, day)),
            entries_off: positions(&contents.entries, |entry| !days::hold(entry.from, entry.until, day)),
            turns: contents.turns.partition_point(|turn| *turn <= day),
        }
    }
}

/// Returns the positions of those that fit.
fn positions<T>(all: &[T], fits: impl Fn(&T) -> bool) -> Vec<usize> {
    all.iter().enumerate().filter(|(_, one)| fits(one)).map(|(at, _)| at).collect()
}

/// A ruleset in force, and the day that counts for its amendments.
struct Planned {
    ruleset: usize,
    adopted: Option<(usize, Adoption)>,
    day: Date,
}

impl Planned {
    fn new(ruleset: usize, day: Date) -> Planned {
        Planned { ruleset, adopted: None, day }
    }
}

/// Layers before it is known which of their amendments are in force.
struct Plan {
    layers: Vec<Planned>,
    edition: Option<usize>,
    accessibility_missing: bool,
}

/// Stacks the rulesets for what is asked and opens them.
pub(super) fn build(shelf: &mut Shelf, ask: &Ask) -> Result<Stack, Vec<Problem>> {
    let mut problems = Vec::new();
    let place = find(shelf, &ask.jurisdiction, ask.at.jurisdiction, "jurisdiction", &mut problems, |kind| {
        matches!(kind, RulesetKind::Jurisdiction | RulesetKind::Edition) || ask.alone
    });
    let shop = ask
        .shop
        .as_ref()
        .and_then(|shop| find(shelf, shop, ask.at.shop, "shop", &mut problems, |kind| kind == RulesetKind::Shop));
    let (Some(place), true) = (place, problems.is_empty()) else { return Err(problems) };
    let plan = plan(shelf, place, shop, ask)?;
    let involved: Vec<usize> = plan.layers.iter().map(|layer| layer.ruleset).collect();
    problems.extend(shelf.problems_of(&involved));
    let edition = plan.edition.and_then(|at| shelf.rulesets.get(at)).map(|ruleset| ruleset.id.clone());
    let mut layers = Vec::new();
    for Planned { ruleset, adopted, day } in plan.layers {
        let contents = shelf.open_at(ruleset);
        problems.extend_from_slice(&contents.problems);
        let in_force = InForce::of(&contents, day, edition.as_deref());
        // All days between two changes are one to the rules: the book is the same whoever asked first.
        let first = in_force.turns.checked_sub(1).and_then(|at| contents.turns.get(at)).copied().unwrap_or(Date::MIN);
        layers.push(StackLayer { ruleset, adopted, on: day, day: first, in_force });
    }
    if !problems.is_empty() {
        problems.sort_by_key(|problem| problem.span);
        return Err(problems);
    }
    let alone = plan.edition.is_none();
    let key = StackKey {
        layers: layers
            .iter()
            .map(|layer| {
                (layer.ruleset, layer.adopted.as_ref().map(|(_, adoption)| adoption.span), layer.in_force.clone())
            })
            .collect(),
        jurisdiction: place,
        alone,
        accessibility_missing: plan.accessibility_missing,
    };
    let accessibility_missing = plan.accessibility_missing;
    Ok(Stack { layers, jurisdiction: place, edition: plan.edition, alone, accessibility_missing, key })
}

/// Returns whether nothing is in force for what is asked, as opposed to a fault of the rulesets.
pub(super) fn nothing_in_force(shelf: &Shelf, ask: &Ask) -> bool {
    let Some(place) = shelf.index(&ask.jurisdiction) else { return false };
    let broken = !shelf.problems_of(&references::chain(shelf, place, Link::Within)).is_empty();
    !broken && plan(shelf, place, None, ask).is_err()
}

/// Finds a ruleset that the job names.
fn find(
    shelf: &Shelf,
    id: &str,
    span: Span,
    what: &str,
    problems: &mut Vec<Problem>,
    fits: impl Fn(RulesetKind) -> bool,
) -> Option<usize> {
    let Some((at, ruleset)) = shelf.index(id).and_then(|at| Some((at, shelf.rulesets.get(at)?))) else {
        problems.push(references::unknown(shelf, &span, what, id, fits));
        return None;
    };
    // The kind of a ruleset whose manifest is broken may be a guess.
    if fits(ruleset.kind) || ruleset.broken {
        return Some(at);
    }
    let word = ruleset.kind.word();
    problems.push(
        Problem::new(span, format!("`{id}` is of kind `{word}` and can't stand as the {what}"))
            .label(format!("not a {what}"))
            .about(Topic::Ruleset)
            .mark(ruleset.span, format!("of kind `{word}`")),
    );
    None
}

fn plan(shelf: &Shelf, place: usize, shop: Option<usize>, ask: &Ask) -> Result<Plan, Vec<Problem>> {
    let Some(ruleset) = shelf.rulesets.get(place) else { return Err(Vec::new()) };
    let shop = shop.map(|at| Planned::new(at, ask.permit_date));
    match ruleset.kind {
        RulesetKind::Jurisdiction => jurisdiction(shelf, place, shop, ask),
        RulesetKind::Edition => {
            let day = own_day(ruleset, ask)?;
            let layers = followed(shelf, place).into_iter().map(|at| Planned::new(at, day)).chain(shop).collect();
            Ok(Plan { layers, edition: Some(place), accessibility_missing: ask.accessible })
        }
        RulesetKind::Accessibility | RulesetKind::Shop => {
            Ok(Plan { layers: vec![Planned::new(place, ask.permit_date)], edition: None, accessibility_missing: false })
        }
    }
}

/// Returns an edition and what it follows, lowest first.
fn followed(shelf: &Shelf, edition: usize) -> Vec<usize> {
    let mut chain = references::chain(shelf, edition, Link::Follows);
    chain.reverse();
    chain
}

/// Returns the day that counts for an edition that is a place's whole code by itself.
fn own_day(ruleset: &Ruleset, ask: &Ask) -> Result<Date, Vec<Problem>> {
    if let Some(edition) = ask.edition.as_ref().filter(|edition| **edition != ruleset.id) {
        let message = format!("`{edition}` can't be chosen where `{}` itself is the place", ruleset.id);
        return Err(vec![
            Problem::new(ask.at.edition, message)
                .label("not allowed here")
                .mark(ask.at.jurisdiction, "the place")
                .help("leave `edition` out, or name the place that adopted it as `jurisdiction`"),
        ]);
    }
    let Some((kind, day)) = ruleset.by.iter().find_map(|kind| Some((*kind, ask.date(*kind)?))) else {
        let kind = ruleset.by.first().copied().unwrap_or(super::DateKind::Permit);
        let mark = (ruleset.span, format!("counts the {}", kind.name()));
        return Err(vec![adoption::date_missing(&ruleset.id, kind, mark, ask)]);
    };
    match ruleset.from {
        Some(from) if day < from => Err(vec![
            Problem::new(ask.date_span(kind), format!("`{}` is not in force on {day}", ruleset.id))
                .label(kind.name())
                .mark(ruleset.span, format!("in force from {from}"))
                .help("look at the date of the job")
                .about(Topic::Adoption(ruleset.id.clone())),
        ]),
        _ => Ok(day),
    }
}

fn jurisdiction(shelf: &Shelf, place: usize, shop: Option<Planned>, ask: &Ask) -> Result<Plan, Vec<Problem>> {
    let inner_first = references::chain(shelf, place, Link::Within);
    // Broken manifests would give wrong answers here, and a circle none.
    let problems = shelf.problems_of(&inner_first);
    if !problems.is_empty() {
        return Err(problems);
    }
    let usual = usual_dwelling(&shelf.schema);
    let pick = adoption::pick(shelf, &inner_first, ask, usual)?;
    let Some(edition) = shelf.index(&pick.adoption.ruleset.text) else { return Err(Vec::new()) };
    let mut layers: Vec<_> = followed(shelf, edition).into_iter().map(|at| Planned::new(at, pick.day)).collect();
    if let Some(layer) = layers.last_mut() {
        layer.adopted = Some((pick.place, pick.adoption.clone()));
    }
    let accessible = accessibility(shelf, &inner_first, ask, usual)?;
    let accessibility_missing = ask.accessible && accessible.is_empty();
    layers.extend(accessible);
    layers.extend(inner_first.iter().rev().map(|at| Planned::new(*at, pick.day)));
    layers.extend(shop);
    Ok(Plan { layers, edition: Some(edition), accessibility_missing })
}

/// Returns the accessibility requirements in force, those of the outermost place first, each once.
fn accessibility(
    shelf: &Shelf,
    inner_first: &[usize],
    ask: &Ask,
    usual_dwelling: &str,
) -> Result<Vec<Planned>, Vec<Problem>> {
    let mut layers: Vec<Planned> = Vec::new();
    let mut problems = Vec::new();
    for &place in inner_first.iter().rev() {
        let Some(ruleset) = shelf.rulesets.get(place) else { continue };
        for adopted in ruleset.adopts.iter().filter(|adopted| adoption::concerns(adopted, ask, usual_dwelling)) {
            let Some(at) = shelf.index(&adopted.ruleset.text) else { continue };
            let kind = shelf.rulesets.get(at).map(|ruleset| ruleset.kind);
            if kind != Some(RulesetKind::Accessibility) || layers.iter().any(|known| known.ruleset == at) {
                continue;
            }
            match adoption::standing(adopted, ask) {
                Standing::InForce(day) => {
                    layers.push(Planned { ruleset: at, adopted: Some((place, adopted.clone())), day })
                }
                Standing::Unknown(kind) => problems.push(adoption::adoption_undated(shelf, place, adopted, kind, ask)),
                Standing::MayBeChosen(_) | Standing::Not => {}
            }
        }
    }
    if problems.is_empty() { Ok(layers) } else { Err(problems) }
}

/// Returns the kind of dwelling that the job format takes where a job says nothing.
fn usual_dwelling(schema: &Schema) -> &'static str {
    let field = schema.kind(site::NAME).and_then(|kind| Some((kind, schema.field(kind, "dwelling")?)));
    match field.map(|(kind, field)| schema.field_spec(kind, field).default) {
        Some(Default::Word(word)) => word,
        _ => "",
    }
}
