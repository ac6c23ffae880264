//! Arithmetic with dimensions.

use super::super::*;
use Dimension::*;
use std::cmp::Ordering;

fn q(text: &str) -> Quantity {
    parse_any(text).unwrap_or_else(|| panic!("`{text}` is no quantity"))
}

#[test]
fn physics_pairs_multiply_and_divide() {
    // (a, b, a × b)
    let products = [
        ("12 ft", "14 ft", "168 ft2"),
        ("10 ft2", "6 in", "5 ft3"),
        ("20 A", "240 V", "4.8 kVA"),
        ("20 A", "0.5 ohm", "10 V"),
        ("10 ohm/km", "50 m", "500 mohm"),
        ("33 VA/m2", "100 m2", "3300 VA"),
        ("22 N", "50 mm", "1.1 N-m"),
    ];
    for (a, b, product) in products {
        let (a, b, product) = (q(a), q(b), q(product));
        assert_eq!(a.mul(b), Ok(product));
        assert_eq!(b.mul(a), Ok(product));
        assert_eq!(product.div(b), Ok(a));
        assert_eq!(product.div(a), Ok(b));
        assert_eq!(a.dimension().product(b.dimension()), Some(product.dimension()));
        assert_eq!(product.dimension().quotient(b.dimension()), Some(a.dimension()));
    }
}

#[test]
fn factors_shares_and_counts_leave_the_dimension() {
    assert_eq!(q("2.25 in3").mul(Quantity::number(4)), Ok(q("9 in3")));
    assert_eq!(Quantity::number(4).mul(q("2.25 in3")), Ok(q("9 in3")));
    assert_eq!(q("120 V").mul(q("3 %")), Ok(q("3.6 V")));
    assert_eq!(q("3 %").mul(q("120 V")), Ok(q("3.6 V")));
    assert_eq!(q("16 A").div(q("80 %")), Ok(q("20 A")));
    assert_eq!(q("9 in3").div(Quantity::number(4)), Ok(q("2.25 in3")));
    assert_eq!(q("3 %").mul(Quantity::number(2)), Ok(q("6 %")));
    assert_eq!(Quantity::number(200).mul(q("3 %")), Ok(Quantity::number(6)));
    assert_eq!(q("24 ft").div(q("12 ft")), Ok(Quantity::number(2)));
    assert_eq!(q("3.6 V").share_of(q("120 V")), Ok(q("3 %")));
    assert_eq!(q("86 F").add(q("5 C")), Ok(q("35 C")));
}

#[test]
fn parts_are_counted_exactly() {
    let run = q("24 ft");
    assert_eq!(run.parts_up(q("12 ft")), Ok(2));
    assert_eq!(Quantity::new(Length, run.amount() + 1).parts_up(q("12 ft")), Ok(3));
    assert_eq!(Quantity::new(Length, run.amount() - 1).parts_down(q("12 ft")), Ok(1));
    assert_eq!(q("-1 ft").parts_up(q("12 ft")), Ok(0));
    assert_eq!(q("-1 ft").parts_down(q("12 ft")), Ok(-1));
    assert_eq!(q("13 ft").parts_up(q("-12 ft")), Ok(-1));
    assert_eq!(q("13 ft").parts_down(q("-12 ft")), Ok(-2));
    assert_eq!(q("0 ft").parts_up(q("12 ft")), Ok(0));
    assert_eq!(run.parts_up(q("0 ft")).unwrap_err().message, "can't divide by zero");
    assert_eq!(run.parts_up(q("5 A")).unwrap_err().message, "can't divide a length by a current");
    assert!(Quantity::new(Length, i64::MIN).parts_down(Quantity::new(Length, -1)).is_err());
}

#[test]
fn results_round_half_to_even() {
    let halves = |amount: i64| Quantity::new(Current, amount).div(Quantity::number(2)).unwrap().amount();
    assert_eq!([1, 3, 5, 7].map(halves), [0, 2, 2, 4]);
    assert_eq!([-1, -3, -5, -7].map(halves), [0, -2, -2, -4]);
    let third = Quantity::new(Current, 200).div(Quantity::number(-3)).unwrap();
    assert_eq!(third.amount(), -67);
}

#[test]
fn days_and_times_go_together() {
    assert_eq!(q("2023-05-10").sub(q("2023-05-09")), Ok(q("24 h")));
    assert_eq!(q("2023-05-10").add(q("48 h")), Ok(q("2023-05-12")));
    assert_eq!(q("48 h").add(q("2023-05-10")), Ok(q("2023-05-12")));
    assert_eq!(q("2024-03-01").sub(q("24 h")), Ok(q("2024-02-29")));
    let error = q("2023-05-10").add(q("3 h")).unwrap_err();
    assert_eq!(error.message, "only whole days can be added to a date or taken from it");
    let day = jiff::civil::date(2023, 5, 10);
    assert_eq!(Quantity::date(day), q("2023-05-10"));
    assert_eq!(Quantity::date(day).to_date(), Some(day));
    assert_eq!(Quantity::new(Date, i64::MAX).to_date(), None);
    assert_eq!(q("5 A").to_date(), None);
}

#[test]
fn what_makes_no_sense_is_refused_in_plain_words() {
    let message = |result: Result<Quantity, ArithmeticError>| result.unwrap_err().message;
    assert_eq!(message(q("12 in").add(q("20 A"))), "can't add a current to a length");
    assert_eq!(message(q("12 in").sub(q("20 A"))), "can't subtract a current from a length");
    assert_eq!(message(q("20 A").mul(q("20 A"))), "can't multiply a current by a current");
    assert_eq!(message(q("20 A").div(q("1 in"))), "can't divide a current by a length");
    assert_eq!(message(q("20 A").div(q("0 A"))), "can't divide by zero");
    assert_eq!(message(q("12 AWG").add(q("12 AWG"))), "can't add a conductor size to a conductor size");
    assert_eq!(message(q("12 AWG").mul(q("2"))), "can't multiply a conductor size by a number");
    assert_eq!(message(q("30 C").mul(q("2"))), "can't multiply a temperature by a number");
    assert_eq!(message(q("2023-05-10").add(q("2023-05-10"))), "can't add a date to a date");
    assert_eq!(message(q("12 AWG").neg()), "a conductor size has no sign");
    assert_eq!(message(Quantity::new(Length, i64::MAX).add(Quantity::new(Length, 1))), "the result is too large");
    assert_eq!(message(Quantity::new(Length, i64::MIN).neg()), "the result is too large");
    assert_eq!(message(Quantity::new(Area, i64::MAX).mul(q("1 m"))), "the result is too large");
    assert_eq!(q("12 in").compare(q("20 A")).unwrap_err().message, "can't compare a length with a current");
    assert_eq!(q("12 in").compare(q("1 ft")), Ok(Ordering::Equal));
    assert_eq!(q("300 mm").compare(q("12 in")), Ok(Ordering::Less));
    assert_eq!(q("20 A").neg(), Ok(q("-20 A")));
}

#[test]
fn counts_are_whole() {
    assert_eq!(Quantity::number(3).whole(), Some(3));
    assert_eq!(q("2.5").whole(), None);
    assert_eq!(q("3 %").whole(), None);
    assert_eq!(Quantity::number(i64::MAX).amount(), i64::MAX);
}

#[test]
fn every_dimension_has_its_words() {
    for (at, dimension) in Dimension::all().enumerate() {
        assert_eq!(dimension as usize, at);
        assert!(dimension.with_article().ends_with(dimension.name()));
        assert!(!dimension.units_help().is_empty());
        // Each example in backticks is a value of the dimension.
        for text in [dimension.examples(), dimension.units_help()] {
            let quoted =
                text.split('`').skip(1).step_by(2).filter(|part| part.starts_with(|c: char| c.is_ascii_digit()));
            for example in quoted {
                assert!(parse(example, dimension).is_ok(), "{dimension:?}: `{example}`");
            }
        }
    }
}
