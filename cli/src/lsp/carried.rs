//! Places of one text in another: where a line went while somebody typed.
//!
//! What was found out about an earlier text still holds of lines that stand unchanged in the present one, wherever they stand by
//! now. A line that was changed has no place: nothing is known of it.

use std::ops::Range;
use std::time::{Duration, Instant};

use similar::{Algorithm, DiffOp, capture_diff_slices_deadline};

/// Two texts too unlike to be compared in this time share their beginning and end at most.
const LONGEST: Duration = Duration::from_millis(20);

/// Returns where a byte of one text is in another, if its line stands there unchanged.
pub(super) fn carried(from: &str, to: &str, offset: usize) -> Option<usize> {
    if from == to {
        return Some(offset);
    }
    let (old, new): (Vec<&str>, Vec<&str>) = (lines(from), lines(to));
    let start = from.get(..offset)?.rfind('\n').map_or(0, |at| at + 1);
    let line = from.get(..start)?.matches('\n').count();
    if line >= old.len() {
        // The empty line behind the last line end.
        return (to.is_empty() || to.ends_with('\n')).then_some(to.len());
    }
    let at = place(&old, &new, line)?;
    let before: usize = new.iter().take(at).map(|line| line.len()).sum();
    Some(before + (offset - start))
}

/// Returns the same for both ends of a range.
pub(super) fn carried_range(from: &str, to: &str, range: Range<usize>) -> Option<Range<usize>> {
    let start = carried(from, to, range.start)?;
    let end = carried(from, to, range.end).filter(|end| *end >= start);
    Some(start..end.unwrap_or(start))
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// Returns where a line is among others.
fn place(old: &[&str], new: &[&str], line: usize) -> Option<usize> {
    let same = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    if line < same {
        return Some(line);
    }
    let tail = old.iter().rev().zip(new.iter().rev()).take_while(|(a, b)| a == b).count();
    if line >= old.len() - tail.min(old.len() - same) {
        return (line + new.len()).checked_sub(old.len());
    }
    let (old, new) = (old.get(same..)?, new.get(same..)?);
    let line = line - same;
    let ops = capture_diff_slices_deadline(Algorithm::Myers, old, new, Some(Instant::now() + LONGEST));
    ops.iter().find_map(|op| match op {
        DiffOp::Equal { old_index, new_index, len } if (*old_index..old_index + len).contains(&line) => {
            Some(same + new_index + (line - old_index))
        }
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(from: &str, to: &str, word: &str) -> Option<usize> {
        carried(from, to, from.find(word).unwrap())
    }

    #[test]
    fn lines_are_found_again_above_and_below_what_was_typed() {
        let from = "one\ntwo\nthree\nfour\nfive\n";
        let to = "zero\none\ntwo\nthree, changed\nhalf\nfour\nfive\n";
        for word in ["one", "two", "four", "five"] {
            assert_eq!(of(from, to, word), to.find(word), "{word}");
            assert_eq!(of(to, from, word), from.find(word), "{word}");
        }
        assert_eq!(of(from, to, "three"), None);
        assert_eq!(of(to, from, "half"), None);
        assert_eq!(carried(from, from, 3), Some(3));
        // Only the end, only the beginning, nothing in common.
        assert_eq!(of("a\nb\nc", "x\nb\nc", "c"), Some(4));
        assert_eq!(of("a\nb\n", "a\nb\nc\n", "b"), Some(2));
        assert_eq!(of("a\n", "b\n", "a"), None);
        assert_eq!(carried_range(from, to, 4..7), Some(9..12));
    }

    proptest::proptest! {
        #[test]
        fn a_line_is_never_taken_for_another(from in "[ab\n]{0,40}", to in "[ab\n]{0,40}", at in 0usize..40) {
            if let Some(there) = carried(&from, &to, at.min(from.len())) {
                let line = |text: &str, at: usize| {
                    let start = text[..at].rfind('\n').map_or(0, |at| at + 1);
                    text[start..].split_inclusive('\n').next().unwrap_or("").to_owned()
                };
                proptest::prop_assert_eq!(line(&from, at.min(from.len())), line(&to, there));
            }
        }
    }
}
