//! What all ways through a rule agree on.

use std::collections::BTreeSet;

use super::super::detail::Verdict;
use super::verbs::OneFound;

/// What a way comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Whole {
    Nothing,
    Met,
    Excepted,
    Failed,
    Other,
}

fn whole(way: &[OneFound]) -> Whole {
    let has = |verdict: Verdict| way.iter().any(|found| found.detail.verdict == verdict);
    match (has(Verdict::Failed), has(Verdict::Open) || has(Verdict::Fault), way.is_empty()) {
        _ if has(Verdict::Excepted) => Whole::Excepted,
        (true, ..) => Whole::Failed,
        (_, true, _) => Whole::Other,
        (.., true) => Whole::Nothing,
        _ => Whole::Met,
    }
}

/// Returns the checks with what can be said of them.
pub(super) fn agreed(mut ways: Vec<Vec<OneFound>>) -> Vec<OneFound> {
    if let [way] = &mut ways[..] {
        return std::mem::take(way);
    }
    let wholes: BTreeSet<Whole> = ways.iter().map(|way| whole(way)).collect();
    let all_out = wholes.iter().all(|whole| matches!(whole, Whole::Nothing | Whole::Excepted));
    // An exception that may hold changes nothing where all is met without it.
    let all_met = wholes.iter().all(|whole| matches!(whole, Whole::Met | Whole::Excepted));
    let all_failed = wholes.iter().eq([&Whole::Failed]);
    let number = ways.len();
    let positions: BTreeSet<u32> = ways.iter().flatten().map(|found| found.position).collect();
    // Every statement that recorded something once, with all ways that reach it.
    let mut reached: Vec<(Vec<OneFound>, bool)> = positions
        .into_iter()
        .map(|position| {
            let same = |found: &&OneFound| found.position == position;
            let mut found: Vec<OneFound> = ways.iter().flatten().filter(same).cloned().collect();
            let everywhere = found.len() == number;
            let presumed: BTreeSet<_> = found.iter().flat_map(|one| one.detail.presumed.iter().copied()).collect();
            if let Some(first) = found.first_mut() {
                first.detail.presumed = presumed.into_iter().collect();
            }
            (found, everywhere)
        })
        .collect();
    if all_out {
        // Excepted if it is in scope at all: by what every way comes to, or what the last may come to.
        let certain = reached.iter().position(|(_, everywhere)| *everywhere).unwrap_or(reached.len().saturating_sub(1));
        return reached.into_iter().nth(certain).into_iter().flat_map(|(found, _)| found.into_iter().take(1)).collect();
    }
    let is_exception =
        |found: &[OneFound]| found.first().is_some_and(|found| found.detail.verdict == Verdict::Excepted);
    reached.retain(|(found, _)| !is_exception(found));
    let certain = reached.iter().any(|(found, everywhere)| {
        *everywhere && found.first().is_some_and(|found| found.detail.verdict == Verdict::Failed)
    });
    let mut said = false;
    let mut details: Vec<OneFound> = Vec::new();
    for (found, everywhere) in reached {
        let Some(first) = found.first() else { continue };
        let mut first = first.clone();
        let detail = &mut first.detail;
        let failed = detail.verdict == Verdict::Failed;
        let stays = everywhere || all_met || (all_failed && failed && !certain && !said);
        if !stays && all_failed && failed && !certain {
            continue;
        }
        said |= !everywhere && failed;
        if !stays {
            detail.verdict = Verdict::Open;
            detail.margin = None;
            first.amount = 0;
            detail.fault = None;
            for one in &found {
                detail.missing.extend_from_slice(&one.on_the_way);
            }
            detail.missing.sort_unstable();
            detail.missing.dedup();
        }
        match details.last_mut().filter(|last| last.detail.check == detail.check) {
            Some(last) if detail.verdict > last.detail.verdict => *last = first,
            Some(_) => {}
            None => details.push(first),
        }
    }
    details
}
