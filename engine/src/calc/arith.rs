//! Exact arithmetic on amounts in base units, in 128 bits, rounded half to even.

/// Base units of numbers and shares in one.
pub(super) const ONE: i64 = 1_000_000_000;

/// Returns a whole number as an amount.
pub(super) const fn whole(number: i64) -> i64 {
    number.saturating_mul(ONE)
}

/// Returns `a * b / c`, rounded half to even and held within `i64`. Nothing for a divisor of zero.
pub(super) fn mul_div(a: i64, b: i64, c: i64) -> Option<i64> {
    divide(i128::from(a) * i128::from(b), i128::from(c))
}

/// Returns `a / b`, rounded half to even and held within `i64`. Nothing for a divisor of zero.
pub(super) fn divide(a: i128, b: i128) -> Option<i64> {
    if b == 0 {
        return None;
    }
    let (quotient, rest) = (a.div_euclid(b), a.rem_euclid(b));
    let twice = rest.checked_mul(2)?;
    let up = match twice.cmp(&b.abs()) {
        std::cmp::Ordering::Less => false,
        std::cmp::Ordering::Greater => true,
        std::cmp::Ordering::Equal => quotient.rem_euclid(2) == 1,
    };
    let step = if b < 0 { -1 } else { 1 };
    let rounded = if up { quotient + step } else { quotient };
    i64::try_from(rounded).ok()
}

/// Returns an amount taken by a factor (a number or a share).
pub(super) fn times(amount: i64, factor: i64) -> Option<i64> {
    mul_div(amount, factor, ONE)
}

/// Returns the whole part of a square root.
pub(super) fn root(square: i128) -> i128 {
    if square <= 0 {
        return 0;
    }
    // The estimate in floating point is right to 53 bits; whole steps from there settle the rest.
    let mut root = (square as f64).sqrt() as i128;
    for _ in 0..64 {
        let next = (root + square / root.max(1)) / 2;
        if (next - root).abs() <= 1 {
            break;
        }
        root = next;
    }
    while root * root > square {
        root -= 1;
    }
    while (root + 1) * (root + 1) <= square {
        root += 1;
    }
    root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_round_to_even_on_both_sides_of_zero() {
        assert_eq!(divide(5, 2), Some(2));
        assert_eq!(divide(7, 2), Some(4));
        assert_eq!(divide(-5, 2), Some(-2));
        assert_eq!(divide(-7, 2), Some(-4));
        assert_eq!(divide(5, -2), Some(-2));
        assert_eq!(divide(7, -2), Some(-4));
        assert_eq!(divide(-8, 3), Some(-3));
        assert_eq!(divide(8, -3), Some(-3));
        assert_eq!(divide(1, 0), None);
        assert_eq!(divide(i128::from(i64::MAX) * 4, 2), None);
    }

    #[test]
    fn a_factor_of_three_quarters_takes_three_quarters() {
        assert_eq!(times(4_000_000, 750_000_000), Some(3_000_000));
    }

    #[test]
    fn roots_are_whole_and_never_too_large() {
        for n in [0_i128, 1, 2, 3, 4, 8, 9, 10, 1 << 60, (1 << 60) + 1, 12_345_678_901_234_567_890_123_456] {
            let r = root(n);
            assert!(r * r <= n && (r + 1) * (r + 1) > n, "{n}: {r}");
        }
    }
}
