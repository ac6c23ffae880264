//! Laws that hold for all quantities, tried on random ones.

use super::super::*;
use proptest::prelude::*;
use std::cmp::Ordering;

const SYSTEMS: [UnitSystem; 2] = [UnitSystem::Customary, UnitSystem::Metric];

fn any_dimension() -> impl Strategy<Value = Dimension> {
    prop::sample::select(Dimension::ALL.as_slice())
}

/// Any amount, small ones as often as large ones.
fn any_amount() -> impl Strategy<Value = i64> {
    (any::<i64>(), 0_u32..63).prop_map(|(amount, shift)| amount >> shift)
}

fn any_size() -> impl Strategy<Value = Conductor> {
    prop_oneof![
        (-3_i8..=40).prop_map(|number| Conductor::awg(number).unwrap()),
        (213_u32..=2000).prop_map(|size| Conductor::kcmil(size).unwrap()),
        (1_i64..1 << 60).prop_map(|area| Conductor::mm2(area).unwrap()),
    ]
}

/// Days from 0001-01-01 to 9999-12-31.
fn any_day() -> impl Strategy<Value = i64> {
    -719_162_i64..=2_932_896
}

fn any_quantity() -> impl Strategy<Value = Quantity> {
    any_dimension().prop_flat_map(|dimension| match dimension {
        Dimension::Conductor => any_size().prop_map(Conductor::to_quantity).boxed(),
        Dimension::Date => any_day().prop_map(|day| Quantity::new(Dimension::Date, day)).boxed(),
        _ => any_amount().prop_map(move |amount| Quantity::new(dimension, amount)).boxed(),
    })
}

/// Texts of the pieces that quantities are made of, so that the reader gets past its first look.
fn almost_a_quantity() -> impl Strategy<Value = String> {
    const PIECES: &[&str] = &[
        "-",
        "−",
        "1",
        "0",
        "12",
        "1.5",
        ".",
        "/",
        "1/2",
        "½",
        " ",
        "ft",
        "in",
        "'",
        "\"",
        "″",
        "mm",
        "m",
        "A",
        "AWG",
        "kcmil",
        "mm2",
        "²",
        "%",
        "°",
        "C",
        "ohm/",
        "kft",
        "Ω",
        "VA/ft2",
        "2023-05-10",
        ",",
        "9999999999999999999",
        "\u{0}",
    ];
    prop::collection::vec(prop::sample::select(PIECES), 0..9).prop_map(|pieces| pieces.concat())
}

/// Base units that printing may round by: half of the last digit, in the coarser unit system.
fn rounding(quantity: Quantity) -> i64 {
    use Dimension::*;
    let size = quantity.amount().saturating_abs();
    match quantity.dimension() {
        Number | Ratio => 50_000,
        // 0.0005 in, or 0.005 mm; past 10 m as many decimals of a metre
        Length => 12_700,
        // 0.000 05 in², 0.0005 mm²; 0.005 ft² from 1 ft² on
        Area => 32_258.max(size / 200),
        Volume => 8_193_532_000,
        Current | Voltage => 500,
        Power | Angle | Torque => 5000,
        PowerPerArea => 5_381_955_209,
        // 0.0005 mΩ, 0.0005 Ω, 0.0005 MΩ
        Resistance if size < 100_000_000 => 500,
        Resistance if size < 1_000_000_000_000_000 => 500_000,
        Resistance => 500_000_000_000,
        ResistancePerLength => 164_042,
        Temperature => 50,
        Mass => 2268,
        Force => 22_242,
        Conductor | Date | Time => 0,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1024, ..ProptestConfig::default() })]

    #[test]
    fn the_exact_form_reads_back_as_the_same_amount(quantity in any_quantity()) {
        for system in SYSTEMS {
            let text = quantity.exact(system);
            prop_assert_eq!(parse(&text, quantity.dimension()), Ok(quantity), "{}", text);
        }
    }

    #[test]
    fn a_length_off_the_tape_reads_back_from_its_printed_form(parts in -1_000_000_000_i64..1_000_000_000) {
        for step in [396_875, 1_000_000] {
            let length = Quantity::new(Dimension::Length, parts * step);
            for system in SYSTEMS {
                let text = length.print(system);
                prop_assert_eq!(parse(&text, Dimension::Length), Ok(length), "{}", text);
            }
        }
    }

    #[test]
    fn the_printed_form_is_always_a_quantity_near_by(quantity in any_quantity()) {
        for system in SYSTEMS {
            let text = quantity.print(system);
            let read = parse(&text, quantity.dimension());
            // Rounding the very largest amounts may carry them past what fits.
            if quantity.amount().unsigned_abs() < 1 << 62 {
                let read = read.map(Quantity::amount);
                prop_assert!(read.is_ok(), "{}: {:?}", text, read);
                let off = (i128::from(read.unwrap_or(0)) - i128::from(quantity.amount())).abs();
                prop_assert!(off <= i128::from(rounding(quantity)), "{} is off by {}", text, off);
            }
        }
    }

    #[test]
    fn inches_and_millimetres_are_exact(inches in -100_000_i64..100_000, sixty_fourths in 0_i64..64, millimetres in -10_000_000_i64..10_000_000) {
        let text = format!("{} {sixty_fourths}/64 in", inches.abs());
        let expected = inches.abs() * 25_400_000 + sixty_fourths * 396_875;
        prop_assert_eq!(parse(&text, Dimension::Length).map(Quantity::amount), Ok(expected));
        prop_assert_eq!(parse(&format!("{millimetres} mm"), Dimension::Length).map(Quantity::amount), Ok(millimetres * 1_000_000));
        // 127 mm are 5 in.
        let mm = parse(&format!("{} mm", inches * 127), Dimension::Length);
        prop_assert_eq!(mm, parse(&format!("{} in", inches * 5), Dimension::Length));
    }

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>(), pieces in almost_a_quantity()) {
        for text in [text, pieces] {
            for want in Dimension::all() {
                match parse(&text, want) {
                    Ok(quantity) => prop_assert_eq!(quantity.dimension(), want),
                    Err(error) => prop_assert!(!error.message.is_empty() && error.help.is_some()),
                }
            }
            if let Some(quantity) = parse_any(&text) {
                prop_assert_eq!(parse(&text, quantity.dimension()), Ok(quantity));
            }
            if let Ok(make) = CableMake::parse(&text) {
                prop_assert_eq!(CableMake::parse(&make.print()), Ok(make));
            }
        }
    }

    #[test]
    fn any_amount_at_all_prints(dimension in any_dimension(), amount in any::<i64>(), other in any_quantity()) {
        let quantity = Quantity::new(dimension, amount);
        for system in SYSTEMS {
            prop_assert!(!quantity.print(system).is_empty());
            prop_assert!(!quantity.exact(system).is_empty());
            prop_assert!(!quantity.print_beside(other, system).is_empty());
            prop_assert!(!quantity.print_nearest(system, Fraction::Sixteenth).is_empty());
        }
    }

    #[test]
    fn arithmetic_gives_the_dimension_it_foretells_or_an_error(a in any_quantity(), b in any_quantity()) {
        let (da, db) = (a.dimension(), b.dimension());
        let results = [(a.add(b), da.sum(db)), (a.sub(b), da.difference(db)), (a.mul(b), da.product(db)), (a.div(b), da.quotient(db))];
        for (result, foretold) in results {
            match (result, foretold) {
                (Ok(result), Some(dimension)) => prop_assert_eq!(result.dimension(), dimension),
                (Ok(result), None) => prop_assert!(false, "{:?} was not foretold", result),
                (Err(error), _) => prop_assert!(!error.message.is_empty()),
            }
        }
        prop_assert_eq!(a.compare(b).is_ok(), da == db);
        let _ = (a.neg(), a.share_of(b), a.parts_up(b), a.parts_down(b));
    }

    #[test]
    fn exact_sums_and_products_obey_the_laws(a in -1_000_000_i64..1_000_000, b in -1_000_000_i64..1_000_000, c in -1_000_i64..1_000) {
        let [x, y, z] = [a, b, c].map(|inches| Quantity::new(Dimension::Length, inches * 25_400_000));
        let [k, m] = [b, c].map(Quantity::number);
        prop_assert_eq!(x.add(y)?.add(z), x.add(y.add(z)?));
        prop_assert_eq!(x.add(y), y.add(x));
        prop_assert_eq!(x.add(y)?.sub(y), Ok(x));
        prop_assert_eq!(x.sub(y), y.sub(x)?.neg());
        prop_assert_eq!(x.mul(k), k.mul(x));
        prop_assert_eq!(x.add(y)?.mul(m), x.mul(m)?.add(y.mul(m)?));
        if c != 0 {
            // Times nothing, a product too large on the way is nothing the other way around.
            prop_assert_eq!(x.mul(k).and_then(|product| product.mul(m)), k.mul(m).and_then(|factor| x.mul(factor)));
            prop_assert_eq!(x.mul(m)?.div(m), Ok(x));
            prop_assert_eq!(x.mul(m)?.div(x).is_ok(), a != 0);
        }
    }

    #[test]
    fn sizes_compare_as_their_cross_sections(a in any_size(), b in any_size()) {
        let by_area = a.area().amount().cmp(&b.area().amount());
        let by_size = a.to_quantity().compare(b.to_quantity());
        if by_area != Ordering::Equal {
            prop_assert_eq!(by_size, Ok(by_area));
        }
        prop_assert_eq!(Conductor::of(a.to_quantity()), Some(a));
    }
}
