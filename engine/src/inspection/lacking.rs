//! What rules ask of calculations that the code in force can't do: told once for each ruleset, not once for each item. Mostly it is
//! a shop's book that was written for the code of another place.

use std::collections::BTreeMap;

use crate::book::RulesetKind;
use crate::problem::{Problem, Topic};
use crate::source::Span;

use super::scene::Scene;

/// What the rules of one ruleset lack.
#[derive(Default)]
struct Lacks<'a> {
    rules: Vec<(&'a str, Span)>,
    entries: Vec<&'a str>,
}

/// Returns the fault of a calculation that lacks an entry, marked with the rule that asks for it.
pub(super) fn asked_by(fault: &Problem, rule: Span) -> Problem {
    match fault.topic.as_deref() {
        Some(Topic::Lacking(_)) => fault.clone().mark(rule, "asked for here"),
        _ => fault.clone(),
    }
}

/// Puts one fault for each ruleset in the place of those that [`asked_by`] has marked. `shop` is where the job names its shop.
pub(super) fn together(scene: &Scene<'_>, faults: Vec<Problem>, shop: Span) -> Vec<Problem> {
    let (lacking, mut others): (Vec<Problem>, Vec<Problem>) =
        faults.into_iter().partition(|fault| matches!(fault.topic.as_deref(), Some(Topic::Lacking(_))));
    let mut by_ruleset: BTreeMap<usize, Lacks<'_>> = BTreeMap::new();
    for fault in &lacking {
        let rule = fault.marks.last().map_or(Span::NONE, |mark| mark.span);
        let rules = scene.playing.iter().map(|(_, compiled)| &compiled.in_force);
        let Some(rule) = rules.into_iter().find(|known| known.source.id_span == rule) else { continue };
        let lacks = by_ruleset.entry(rule.layer).or_default();
        let id = (rule.source.id.as_str(), rule.source.id_span);
        if !lacks.rules.contains(&id) {
            lacks.rules.push(id);
        }
        if let Some(Topic::Lacking(entry)) = fault.topic.as_deref()
            && !lacks.entries.contains(&entry.as_str())
        {
            lacks.entries.push(entry);
        }
    }
    for (layer, mut lacks) in by_ruleset {
        lacks.entries.sort_unstable();
        others.extend(told(scene, layer, &lacks, shop));
    }
    others
}

fn told(scene: &Scene<'_>, layer: usize, lacks: &Lacks<'_>, shop: Span) -> Option<Problem> {
    let book = &scene.code.book;
    let layer = book.layers.get(layer)?;
    let (first, at) = *lacks.rules.first()?;
    let names = |list: &[&str]| list.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    let entries = names(&lacks.entries);
    let many = if lacks.entries.len() == 1 { "an entry" } else { "entries" };
    let message =
        format!("`{}` asks for {many} that the code of `{}` does not have: {entries}", layer.id, book.jurisdiction);
    let rules = names(&lacks.rules.iter().map(|(id, _)| *id).collect::<Vec<_>>());
    let asks = if lacks.rules.len() == 1 { "asks" } else { "ask" };
    if layer.kind == RulesetKind::Shop && shop.is_some() {
        let help = format!(
            "{rules} {asks} for them: name a shop's book as `shop` that was written for this place, leave `shop` out, \
             or give the entries in the code files of the shop, with their citations"
        );
        return Some(Problem::new(shop, message).label("this shop's book").help(help).mark(at, first));
    }
    let help = format!(
        "add them to the code files of the edition, or of the place, with their citations; {rules} {asks} for them"
    );
    Some(Problem::new(at, message).label("asked for by this rule").help(help))
}
