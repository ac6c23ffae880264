//! Changes a job by a seed: figures that leave it as sound as it was, and mistakes that an inspection must find.

use std::collections::BTreeSet;

use storystick_engine::inspection::Inspected;

use super::place::{Place, places};
use super::{Bench, corrections, told, wire};
use crate::teach::papers::{Mistake, Mistakes, Planted, Told};
use crate::teach::seed::Seed;

/// Most findings that one mistake may bring: a mistake that turns the whole job over teaches nothing.
const MOST_FINDINGS: usize = 4;

/// How many items are tried before a kind of mistake is given up.
const TRIES: usize = 6;

/// Most figures that are changed; each is inspected.
const MOST_FIGURES: usize = 24;

type Failed = BTreeSet<(String, String)>;

fn failed(inspected: &Inspected) -> Failed {
    corrections(inspected).into_iter().map(|finding| (finding.rule.clone(), finding.item.clone())).collect()
}

/// Changes figures. Returns the text and how many were changed.
pub(super) fn vary(
    bench: &mut Bench,
    table: &Mistakes,
    seed: &mut Seed,
    mut text: String,
) -> Result<(String, usize), String> {
    let mut now = bench.inspect(&text)?;
    let before = failed(&now);
    let mut wanted: Vec<(usize, String)> = Vec::new();
    for (at, vary) in table.vary.iter().enumerate() {
        wanted.extend(places(&now, &vary.kind, &vary.field, true).into_iter().map(|place| (at, place.item)));
    }
    seed.shuffle(&mut wanted);
    // The site's own figures stand behind most worksheets: they come first.
    wanted.sort_by_key(|(at, _)| table.vary.get(*at).is_none_or(|vary| vary.kind != "site"));
    let mut changed = 0;
    for (at, item) in wanted.into_iter().take(MOST_FIGURES) {
        let Some(vary) = table.vary.get(at) else { continue };
        let found = places(&now, &vary.kind, &vary.field, true).into_iter().find(|place| place.item == item);
        let Some((place, add)) = found.zip(seed.one(&vary.add)) else { continue };
        let Some(next) = place.plus(add).and_then(|value| place.with(&text, &value)) else { continue };
        if let Ok(after) = bench.inspect(&next)
            && failed(&after).is_subset(&before)
            && after.report.faults.is_empty()
        {
            (text, now, changed) = (next, after, changed + 1);
        }
    }
    Ok((text, changed))
}

/// Plants mistakes, each verified by an inspection: it brings a finding that was not there, and hides none planted before.
pub(super) fn plant(
    bench: &mut Bench,
    table: &Mistakes,
    seed: &mut Seed,
    mut text: String,
    wanted: usize,
) -> Result<(String, Vec<Planted>), String> {
    let mut planted: Vec<Planted> = Vec::new();
    let mut now = bench.inspect(&text)?;
    let mut order: Vec<&Mistake> = table.mistake.iter().collect();
    seed.shuffle(&mut order);
    // Every kind once before any kind twice; three rounds find what there is.
    for mistake in order.iter().cycle().take(order.len() * 3) {
        if planted.len() >= wanted {
            break;
        }
        for tried in candidates(mistake, &now, &text, &planted, seed) {
            let Ok(after) = bench.inspect(&tried.text) else { continue };
            let (old, new) = (failed(&now), failed(&after));
            let finding: Vec<Told> = corrections(&after)
                .into_iter()
                .filter(|one| !old.contains(&(one.rule.clone(), one.item.clone())))
                .map(|finding| told(&after, finding))
                .collect();
            let found = (1..=MOST_FINDINGS).contains(&finding.len());
            if found && old.is_subset(&new) && after.report.faults.is_empty() {
                planted.push(Planned::planted(mistake, &tried, finding));
                (text, now) = (tried.text, after);
                break;
            }
        }
    }
    Ok((text, planted))
}

/// A mistake that may do: whether it does, an inspection tells.
struct Planned {
    item: String,
    field: String,
    was: String,
    now: String,
    text: String,
}

impl Planned {
    fn planted(mistake: &Mistake, tried: &Planned, finding: Vec<Told>) -> Planted {
        Planted {
            mistake: mistake.id.clone(),
            what: mistake.what.clone(),
            item: tried.item.clone(),
            field: tried.field.clone(),
            was: tried.was.clone(),
            now: tried.now.clone(),
            finding,
        }
    }
}

/// Returns a few ways to make a mistake of a kind, each on an item of its own that no earlier one is in.
fn candidates(mistake: &Mistake, now: &Inspected, text: &str, planted: &[Planted], seed: &mut Seed) -> Vec<Planned> {
    if let Some(change) = mistake.wiring {
        let taken: BTreeSet<&str> = planted.iter().map(|one| one.item.as_str()).collect();
        let made = wire::mistakes(now, text, change, &taken, seed).into_iter().take(TRIES);
        let made = made.map(|one| Planned {
            item: one.item,
            field: String::from("make_up"),
            was: one.was,
            now: one.now,
            text: one.text,
        });
        return made.collect();
    }
    let mut all = places(now, &mistake.kind, &mistake.field, false);
    all.retain(|place| {
        mistake.is.as_ref().is_none_or(|is| *is == place.value) && planted.iter().all(|one| one.item != place.item)
    });
    let mut shuffled = all.clone();
    seed.shuffle(&mut shuffled);
    let of = |place: &Place| {
        let value = wrong(mistake, place, &all, seed)?;
        let text = place.with(text, &value)?;
        let (item, field) = (place.item.clone(), mistake.field.clone());
        Some(Planned { item, field, was: place.value.clone(), now: value, text })
    };
    shuffled.iter().take(TRIES).filter_map(of).collect()
}

/// Returns what to write instead.
fn wrong(mistake: &Mistake, place: &Place, all: &[Place], seed: &mut Seed) -> Option<String> {
    let value = if mistake.copy {
        let others: Vec<&Place> = all.iter().filter(|other| other.value != place.value).collect();
        seed.one(&others)?.value.clone()
    } else if mistake.add.is_empty() {
        seed.one(&mistake.to)?.clone()
    } else {
        place.plus(seed.one(&mistake.add)?)?
    };
    (value != place.value).then_some(value)
}
