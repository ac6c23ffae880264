//! Moves labels apart so that none covers another.

/// Returns places near the wanted ones, in the same order, at least `gap` apart and, if there is room, between `low` and `high`.
pub(crate) fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    let at = |index: usize| wanted.get(index).copied().unwrap_or(0.0);
    order.sort_by(|&a, &b| at(a).total_cmp(&at(b)));
    // Labels that touch form a block, which sits round the mean of what its members want.
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for &index in &order {
        blocks.push((at(index), 1));
        while let [.., (first, count), (second, more)] = blocks.as_slice() {
            let (first, count, second, more) = (*first, *count, *second, *more);
            let reach = gap * (count + more) as f64 / 2.0;
            if second - first >= reach {
                break;
            }
            let all = count + more;
            // Members want their own places: the mean of the block's middle is the mean of those.
            let middle = (first * count as f64 + second * more as f64) / all as f64;
            blocks.truncate(blocks.len() - 2);
            blocks.push((middle, all));
        }
    }
    let mut places = Vec::with_capacity(wanted.len());
    for (middle, count) in blocks {
        for member in 0..count {
            places.push(middle + gap * (member as f64 - (count as f64 - 1.0) / 2.0));
        }
    }
    hold(&mut places, gap, low, high);
    let mut out = vec![0.0; wanted.len()];
    for (place, index) in places.into_iter().zip(order) {
        if let Some(slot) = out.get_mut(index) {
            *slot = place;
        }
    }
    out
}

/// Pushes sorted places back between two bounds.
fn hold(places: &mut [f64], gap: f64, low: f64, high: f64) {
    let mut least = low;
    for place in places.iter_mut() {
        *place = place.max(least);
        least = *place + gap;
    }
    let mut most = high;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - gap;
    }
}

#[cfg(test)]
mod tests {
    use super::spread;

    #[test]
    fn labels_keep_apart_and_in_order() {
        let places = spread(&[10.0, 11.0, 12.0, 100.0], 10.0, 0.0, 200.0);
        for pair in places.windows(2) {
            assert!(pair[1] - pair[0] >= 9.99, "{places:?}");
        }
        assert!((places[1] - 11.0).abs() < 0.01 && (places[3] - 100.0).abs() < 0.01, "{places:?}");
    }

    #[test]
    fn labels_stay_between_the_bounds_if_there_is_room() {
        let places = spread(&[0.0, 1.0, 99.0, 100.0], 20.0, 0.0, 100.0);
        assert!(places.iter().all(|place| (-0.01..=100.01).contains(place)), "{places:?}");
    }
}
