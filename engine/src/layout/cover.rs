//! The fewest receptacles that cover a stretch of wall or counter, at places where a box can stand.

/// Returns places, out of `candidates` (in order), for the fewest further receptacles with which no point of a stretch is farther
/// than `reach` from one, given those that `stand` already. Nothing where the candidates do not suffice.
///
/// From the beginning on, each goes as far along as it can without leaving the first uncovered point out of reach; no choice needs
/// fewer. On a `closed` stretch, whose end is its beginning, every candidate for the first one is tried.
pub fn fewest_places(length: i64, closed: bool, stand: &[i64], candidates: &[i64], reach: i64) -> Option<Vec<i64>> {
    if length <= 0 {
        return Some(Vec::new());
    }
    if !closed {
        return along(0, length, stand, candidates, reach);
    }
    let mut sorted = stand.to_vec();
    sorted.sort_unstable();
    if let Some(&first) = sorted.first() {
        return turned(length, first, &sorted, candidates, reach);
    }
    let starts: Vec<i64> = candidates.iter().copied().filter(|at| *at <= reach.saturating_mul(2)).collect();
    let tried = starts.into_iter().filter_map(|first| {
        let mut places = turned(length, first, &[first], candidates, reach)?;
        places.push(first);
        places.sort_unstable();
        Some(places)
    });
    tried.min_by_key(Vec::len)
}

/// Covers a closed stretch on which one stands at `first`: an open stretch from there round to there.
fn turned(length: i64, first: i64, stand: &[i64], candidates: &[i64], reach: i64) -> Option<Vec<i64>> {
    let turn = |at: &i64| (at - first).rem_euclid(length);
    let mut stand: Vec<i64> = stand.iter().map(turn).chain([0, length]).collect();
    stand.sort_unstable();
    let mut candidates: Vec<i64> = candidates.iter().map(turn).collect();
    candidates.sort_unstable();
    let places = along(0, length, &stand, &candidates, reach)?;
    Some(places.into_iter().map(|at| (at + first).rem_euclid(length)).collect())
}

fn along(from: i64, to: i64, stand: &[i64], candidates: &[i64], reach: i64) -> Option<Vec<i64>> {
    let mut stand = stand.to_vec();
    stand.sort_unstable();
    let mut places: Vec<i64> = Vec::new();
    let mut covered = from;
    loop {
        // What stands already carries the covered part on as far as it goes without a gap.
        for &at in &stand {
            if at - reach <= covered {
                covered = covered.max(at + reach);
            }
        }
        if covered >= to {
            return Some(places);
        }
        let upto = candidates.partition_point(|at| *at <= covered.saturating_add(reach));
        let &place = candidates.get(upto.checked_sub(1)?)?;
        if place + reach <= covered || places.last() == Some(&place) {
            return None;
        }
        places.push(place);
        covered = place + reach;
    }
}

/// Moves places that were pushed as far along as they go back to an even spread, each to a candidate near by, as long as the
/// stretch stays covered.
pub fn evened(length: i64, candidates: &[i64], places: Vec<i64>, reach: i64) -> Vec<i64> {
    let count = places.len() as i64;
    let near = |want: i64| candidates.iter().copied().min_by_key(|at| (at - want).abs());
    let even: Option<Vec<i64>> = (0..count).map(|at| near(length * (2 * at + 1) / (2 * count))).collect();
    match even {
        Some(even) if along(0, length, &even, &[], reach).is_some() => even,
        _ => places,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_takes_as_few_as_it_can() {
        let every: Vec<i64> = (0..=30).collect();
        assert_eq!(fewest_places(24, false, &[], &every, 6), Some(vec![6, 18]));
        assert_eq!(fewest_places(24, false, &[6], &every, 6), Some(vec![18]));
        assert_eq!(fewest_places(25, false, &[], &every, 6).map(|places| places.len()), Some(3));
        assert_eq!(fewest_places(24, false, &[], &[0, 24], 6), None);
        assert_eq!(fewest_places(24, true, &[], &every, 6).map(|places| places.len()), Some(2));
        assert_eq!(fewest_places(24, true, &[3], &every, 6), Some(vec![15]));
    }

    #[test]
    fn an_even_spread_is_kept_only_where_it_covers() {
        let every: Vec<i64> = (0..=30).collect();
        assert_eq!(evened(20, &every, vec![6, 18], 6), [5, 15]);
        assert_eq!(evened(24, &[6, 18], vec![6, 18], 6), [6, 18]);
    }
}
