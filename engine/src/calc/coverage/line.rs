//! Coverage of a line by points on it: stretches between breaks, and how far their points are from the nearest receptacle.

use crate::quantity::{Dimension, Quantity};

/// Returns a length in nanometres as a quantity.
pub(super) fn length(nanometres: i64) -> Quantity {
    Quantity::new(Dimension::Length, nanometres)
}

/// A stretch of a line that nothing breaks. Lengths in nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Where it begins on the line; on a closed line it may run past the line's end and on from its beginning.
    pub from: i64,
    /// Its length.
    pub length: i64,
    /// Whether its end is its beginning: a closed line without any break.
    pub closed: bool,
}

/// The point of a stretch that is farthest from its nearest receptacle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Farthest {
    /// Where it is, from the start of the stretch.
    pub at: i64,
    /// How far the nearest receptacle is.
    pub distance: i64,
}

/// Returns the unbroken stretches of a line. Breaks are given by beginning and end, in any order, and may overlap.
pub fn stretches(length: i64, closed: bool, breaks: &[(i64, i64)]) -> Vec<Stretch> {
    let mut sorted: Vec<(i64, i64)> =
        breaks.iter().map(|&(from, to)| (from.max(0), to.min(length))).filter(|(from, to)| from <= to).collect();
    sorted.sort_unstable();
    let mut merged: Vec<(i64, i64)> = Vec::with_capacity(sorted.len());
    for (from, to) in sorted {
        match merged.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => merged.push((from, to)),
        }
    }
    let (Some(first), Some(last)) = (merged.first().copied(), merged.last().copied()) else {
        return vec![Stretch { from: 0, length, closed }];
    };
    let mut found = Vec::with_capacity(merged.len() + 1);
    let mut keep = |from: i64, length: i64| {
        if length > 0 {
            found.push(Stretch { from, length, closed: false });
        }
    };
    if !closed {
        keep(0, first.0);
    }
    for pair in merged.windows(2) {
        if let [a, b] = pair {
            keep(a.1, b.0 - a.1);
        }
    }
    if closed {
        // The last stretch runs through the point where the outline begins.
        keep(last.1 % length.max(1), length - last.1 + first.0);
    } else {
        keep(last.1, length - last.1);
    }
    found
}

/// Returns the fewest receptacles that cover a stretch of a length, each reaching so far to both sides; 0 for a reach of zero.
pub fn fewest(length: i64, reach: i64) -> i64 {
    let each = reach.saturating_mul(2);
    if length <= 0 || each <= 0 { 0 } else { length / each + i64::from(length % each != 0) }
}

impl Stretch {
    /// Returns where a point of the line lies in this stretch, if it does. Its two ends belong to it.
    pub fn offset(&self, point: i64, line: i64) -> Option<i64> {
        let offset = if point >= self.from { point - self.from } else { point - self.from + line };
        if offset <= self.length {
            return Some(offset);
        }
        // A point at the very end of a closed line is also at its beginning.
        (offset - line == 0 && line > 0).then_some(0)
    }

    /// Returns the farthest point of the stretch from the nearest of some points, given in order from its start.
    /// Nothing where there is no point.
    pub fn farthest(&self, points: &[i64]) -> Option<Farthest> {
        let (&first, &last) = (points.first()?, points.last()?);
        let mut worst = Farthest { at: 0, distance: 0 };
        let mut keep = |at: i64, distance: i64| {
            if distance > worst.distance {
                worst = Farthest { at, distance };
            }
        };
        if self.closed {
            let gap = self.length - last + first;
            keep((last + gap / 2) % self.length.max(1), half_up(gap));
        } else {
            keep(0, first);
        }
        for pair in points.windows(2) {
            if let [a, b] = pair {
                keep(a + (b - a) / 2, half_up(b - a));
            }
        }
        if !self.closed {
            keep(self.length, self.length - last);
        }
        Some(worst)
    }

    /// Returns the parts of the stretch that lie farther than `reach` from every point, by beginning and end from its start.
    pub fn uncovered(&self, points: &[i64], reach: i64) -> Vec<(i64, i64)> {
        let (Some(&first), Some(&last)) = (points.first(), points.last()) else {
            return vec![(0, self.length)];
        };
        let mut parts = Vec::new();
        let mut keep = |from: i64, to: i64| {
            if to > from {
                parts.push((from, to));
            }
        };
        if !self.closed {
            keep(0, first - reach);
        }
        for pair in points.windows(2) {
            if let [a, b] = pair {
                keep(a + reach, b - reach);
            }
        }
        if self.closed {
            keep(last + reach, self.length + first - reach);
        } else {
            keep(last + reach, self.length);
        }
        parts
    }
}

/// Returns half of a gap; the odd nanometre counts against the one who placed the receptacles.
fn half_up(gap: i64) -> i64 {
    gap / 2 + gap % 2
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(from: i64, length: i64) -> Stretch {
        Stretch { from, length, closed: false }
    }

    #[test]
    fn breaks_cut_a_closed_line_and_the_last_stretch_runs_through_its_beginning() {
        assert_eq!(stretches(100, true, &[]), [Stretch { from: 0, length: 100, closed: true }]);
        assert_eq!(stretches(100, true, &[(10, 20)]), [open(20, 90)]);
        assert_eq!(stretches(100, true, &[(60, 70), (10, 20), (15, 30)]), [open(30, 30), open(70, 40)]);
        assert_eq!(stretches(100, true, &[(0, 10), (90, 100)]), [open(10, 80)]);
        assert_eq!(stretches(100, true, &[(90, 100)]), [open(0, 90)]);
        assert_eq!(stretches(100, true, &[(0, 100)]), []);
    }

    #[test]
    fn breaks_cut_an_open_line_at_both_ends_too() {
        assert_eq!(stretches(100, false, &[]), [open(0, 100)]);
        assert_eq!(stretches(100, false, &[(0, 10), (40, 60)]), [open(10, 30), open(60, 40)]);
        assert_eq!(stretches(100, false, &[(-5, 110)]), []);
    }

    #[test]
    fn a_point_is_found_in_its_stretch_across_the_beginning_of_the_line() {
        let stretch = open(70, 40);
        assert_eq!(stretch.offset(75, 100), Some(5));
        assert_eq!(stretch.offset(5, 100), Some(35));
        assert_eq!(stretch.offset(10, 100), Some(40));
        assert_eq!(stretch.offset(11, 100), None);
        assert_eq!(open(0, 90).offset(100, 100), Some(0));
    }

    #[test]
    fn the_farthest_point_is_an_end_or_the_middle_of_a_gap() {
        let stretch = open(0, 100);
        assert_eq!(stretch.farthest(&[]), None);
        assert_eq!(stretch.farthest(&[30]), Some(Farthest { at: 100, distance: 70 }));
        assert_eq!(stretch.farthest(&[30, 90]), Some(Farthest { at: 0, distance: 30 }));
        assert_eq!(stretch.farthest(&[10, 80]), Some(Farthest { at: 45, distance: 35 }));
        let ring = Stretch { from: 0, length: 100, closed: true };
        assert_eq!(ring.farthest(&[10]), Some(Farthest { at: 60, distance: 50 }));
        assert_eq!(ring.farthest(&[10, 30]), Some(Farthest { at: 70, distance: 40 }));
    }

    #[test]
    fn the_fewest_receptacles_reach_all_and_one_less_does_not() {
        for (length, reach) in [(100, 6), (12, 6), (13, 6), (840, 72), (780, 72), (1, 6)] {
            for closed in [false, true] {
                let stretch = Stretch { from: 0, length: length * 1000, closed };
                let spread = |count: i64| -> Vec<i64> {
                    (0..count).map(|at| stretch.length * (2 * at + 1) / (2 * count)).collect()
                };
                let covers = |count: i64| {
                    stretch.farthest(&spread(count)).is_some_and(|farthest| farthest.distance <= reach * 1000)
                };
                let count = fewest(stretch.length, reach * 1000);
                assert!(covers(count), "{length} {reach} {closed}: {count}");
                assert!(!covers(count - 1), "{length} {reach} {closed}: {count}");
            }
        }
        assert_eq!(fewest(0, 6), 0);
    }

    #[test]
    fn what_is_out_of_reach_is_told_by_its_ends() {
        let stretch = open(0, 100);
        assert_eq!(stretch.uncovered(&[], 20), [(0, 100)]);
        assert_eq!(stretch.uncovered(&[30, 90], 20), [(0, 10), (50, 70)]);
        assert_eq!(stretch.uncovered(&[20, 60, 80], 20), []);
        let ring = Stretch { from: 0, length: 100, closed: true };
        assert_eq!(ring.uncovered(&[10], 20), [(30, 90)]);
    }
}
