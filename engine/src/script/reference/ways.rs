//! What all ways through a rule agree on.

use std::collections::BTreeSet;

use super::super::detail::Verdict;
use super::verbs::OneFound;

/// What a way comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Whole {
    Nothing,
    Met,
    Failed,
    Other,
}

fn whole(way: &[OneFound]) -> Whole {
    let has = |verdict: Verdict| way.iter().any(|found| found.detail.verdict == verdict);
    match (has(Verdict::Failed), has(Verdict::Open) || has(Verdict::Fault), way.is_empty()) {
        (true, ..) => Whole::Failed,
        (_, true, _) => Whole::Other,
        (.., true) => Whole::Nothing,
        _ => Whole::Met,
    }
}

/// Returns the checks with what can be said of them.
pub(super) fn agreed(mut ways: Vec<Vec<OneFound>>) -> Vec<OneFound> {
    if let [way] = &mut ways[..]
        && way.iter().all(|found| !found.before)
    {
        return std::mem::take(way);
    }
    let wholes: BTreeSet<Whole> = ways.iter().map(|way| whole(way)).collect();
    let all_met = wholes.iter().eq([&Whole::Met]);
    let all_failed = wholes.iter().eq([&Whole::Failed]);
    let number = ways.len();
    let keys: BTreeSet<(u8, bool)> = ways.iter().flatten().map(|found| (found.detail.check, !found.before)).collect();
    // Every check once, with all ways that reach it.
    let reached: Vec<(Vec<OneFound>, bool)> = keys
        .into_iter()
        .map(|(check, own)| {
            let same = |found: &&OneFound| found.detail.check == check && found.before != own;
            let found: Vec<OneFound> = ways.iter().flatten().filter(same).cloned().collect();
            let everywhere = found.len() == number;
            (found, everywhere)
        })
        .collect();
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
