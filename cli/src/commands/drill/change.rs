//! Changes a job by a seed: figures that leave it as sound as it was, and mistakes that an inspection must find.

use std::collections::BTreeSet;

use storystick_engine::inspection::Inspected;

use super::place::{Place, places};
use super::{Bench, corrections, told};
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
        let mut candidates = places(&now, &mistake.kind, &mistake.field, false);
        candidates.retain(|place| {
            mistake.is.as_ref().is_none_or(|is| *is == place.value) && planted.iter().all(|one| one.item != place.item)
        });
        let all = candidates.clone();
        seed.shuffle(&mut candidates);
        for place in candidates.into_iter().take(TRIES) {
            let Some(value) = wrong(mistake, &place, &all, seed) else { continue };
            let Some(next) = place.with(&text, &value) else { continue };
            let Ok(after) = bench.inspect(&next) else { continue };
            let (old, new) = (failed(&now), failed(&after));
            let finding: Vec<Told> = corrections(&after)
                .into_iter()
                .filter(|one| !old.contains(&(one.rule.clone(), one.item.clone())))
                .map(told)
                .collect();
            let found = (1..=MOST_FINDINGS).contains(&finding.len());
            if found && old.is_subset(&new) && after.report.faults.is_empty() {
                let (what, was) = (mistake.what.clone(), place.value.clone());
                let (item, field) = (place.item.clone(), mistake.field.clone());
                planted.push(Planted { mistake: mistake.id.clone(), what, item, field, was, now: value, finding });
                (text, now) = (next, after);
                break;
            }
        }
    }
    Ok((text, planted))
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
