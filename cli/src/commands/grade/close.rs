//! Whether an answer is the right one.

use storystick_engine::quantity::{Dimension, parse_any};

use crate::teach::sections;

/// Returns whether two figures agree within some percent of the right one. Text agrees letter by letter, capitals aside.
pub(super) fn close(right: &str, given: &str, percent: f64) -> bool {
    match (parse_any(right), parse_any(given)) {
        (Some(right), Some(given)) if right.dimension() == given.dimension() => {
            let (right, given) = (right.amount() as f64, given.amount() as f64);
            (right - given).abs() <= right.abs() * percent / 100.0
        }
        _ => right.trim().eq_ignore_ascii_case(given.trim()),
    }
}

/// Returns whether an answer to a question is right: an amount within tolerance, or one of the sections asked for.
pub(super) fn answers(right: &str, given: &str, percent: f64) -> bool {
    match parse_any(right) {
        Some(amount) if amount.dimension() != Dimension::Number => close(right, given, percent),
        _ => close(right, given, 0.0) || cites_one(right, given),
    }
}

/// Returns whether a citation names a section of another.
pub(super) fn cites_one(right: &str, given: &str) -> bool {
    let right = sections(right);
    sections(given).iter().any(|section| right.contains(section))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_agree_within_tolerance_and_in_kind() {
        assert!(close("18 in3", "18 in3", 0.0));
        assert!(close("28324 VA", "28.4 kW", 1.0));
        assert!(!close("28324 VA", "28.9 kW", 1.0));
        assert!(!close("18 in3", "18", 1.0), "without its unit it is no volume");
        assert!(!close("18 in3", "", 1.0));
        assert!(close("13 ft 7/8 in", "156 7/8 in", 0.0));
    }

    #[test]
    fn a_section_is_right_without_its_subdivision() {
        assert!(answers("240.4(D)", "240.4", 1.0));
        assert!(answers("240.4(D)", "240.4(D)", 1.0));
        assert!(!answers("240.4(D)", "240.6", 1.0));
        assert!(answers("40 VA", "40 W", 1.0));
    }
}
