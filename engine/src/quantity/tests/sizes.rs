//! Conductor sizes and cable makes.

use super::super::*;
use std::cmp::Ordering;

fn size(text: &str) -> Conductor {
    Conductor::of(parse(text, Dimension::Conductor).unwrap()).unwrap()
}

/// ASTM B258: d = 0.005 in × 92^((36 − n) / 39).
#[test]
fn gauges_follow_astm_b258() {
    for number in -3..=40_i8 {
        let gauge = Conductor::awg(number).unwrap();
        let nm = 127_000.0 * 92_f64.powf((36.0 - f64::from(number)) / 39.0);
        assert_eq!(gauge.solid_diameter().amount(), nm.round() as i64, "{number}");
        let area = std::f64::consts::FRAC_PI_4 * (nm / 1000.0).powi(2);
        assert_eq!(gauge.area().amount(), area.round() as i64, "{number}");
        assert_eq!(gauge.gauge(), Some(number));
    }
    assert_eq!(Conductor::awg(-4), None);
    assert_eq!(Conductor::awg(41), None);
    assert_eq!(Conductor::awg(i8::MIN), None);
    // The two sizes that the standard sets, exactly.
    assert_eq!(Conductor::awg(36).unwrap().solid_diameter().print(UnitSystem::Customary), "0.005 in");
    assert_eq!(Conductor::awg(-3).unwrap().solid_diameter().print(UnitSystem::Customary), "0.46 in");
}

#[test]
fn sizes_order_by_cross_section_whatever_their_unit() {
    let order = [
        "40 AWG",
        "18 AWG",
        "14 AWG",
        "2.5 mm2",
        "12 AWG",
        "4 mm2",
        "10 AWG",
        "1 AWG",
        "1/0 AWG",
        "4/0 AWG",
        "250 kcmil",
    ];
    for pair in order.windows(2) {
        let (small, large) = (size(pair[0]).to_quantity(), size(pair[1]).to_quantity());
        assert_eq!(small.compare(large), Ok(Ordering::Less), "{pair:?}");
    }
    assert_eq!(size("12 AWG"), Conductor::awg(12).unwrap());
    assert_eq!(size("2/0 AWG").gauge(), Some(-1));
    assert_eq!(size("250 kcmil"), Conductor::kcmil(250).unwrap());
    assert_eq!(size("250 kcmil").gauge(), None);
    assert_eq!(size("250 kcmil").circular_mils(), 250_000);
    assert_eq!(size("2.5 mm2"), Conductor::mm2(2_500_000).unwrap());
    assert_eq!(size("2.5 mm2").area(), parse("2.5 mm2", Dimension::Area).unwrap());
}

#[test]
fn every_size_reads_back() {
    for number in -3..=40 {
        let gauge = Conductor::awg(number).unwrap();
        assert_eq!(size(&gauge.print()), gauge);
        assert_eq!(Conductor::of(gauge.to_quantity()), Some(gauge));
    }
    for kcmil in 213..=2000 {
        let conductor = Conductor::kcmil(kcmil).unwrap();
        assert_eq!(conductor.print(), format!("{kcmil} kcmil"));
        assert_eq!(size(&conductor.print()), conductor);
    }
    assert_eq!(size("373.7 kcmil").print(), "373.7 kcmil");
    assert_eq!(Conductor::kcmil(212), None);
    assert_eq!(Conductor::kcmil(2001), None);
    assert_eq!(Conductor::kcmil(u32::MAX), None);
}

#[test]
fn amounts_that_are_no_size_decode_to_none_and_still_print() {
    for amount in [i64::MIN, -1, 0, 1, 7, 8, 11, 8 * 1000, i64::MAX] {
        let quantity = Quantity::new(Dimension::Conductor, amount);
        assert_eq!(Conductor::of(quantity), None, "{amount}");
        assert!(!quantity.print(UnitSystem::Customary).is_empty());
    }
    assert_eq!(Conductor::of(Quantity::new(Dimension::Area, 20_000_002)), None);
    assert_eq!(Conductor::mm2(0), None);
    assert_eq!(Conductor::mm2(i64::MAX), None);
    let largest = Conductor::mm2(i64::MAX / 8 - 1).unwrap();
    assert!(largest.solid_diameter().amount() > 0);
    assert_eq!(size(&largest.print()), largest);
}

#[test]
fn cable_makes_are_read_and_written_as_on_the_sheath() {
    let rows = [
        ("12/2", "12 AWG", 2, "12/2"),
        (" 14 / 3 ", "14 AWG", 3, "14/3"),
        ("14 AWG/3", "14 AWG", 3, "14/3"),
        ("4/0/3", "4/0 AWG", 3, "4/0/3"),
        ("2.5 mm2/2", "2.5 mm2", 2, "2.5 mm2/2"),
        ("2.5 mm²/2", "2.5 mm2", 2, "2.5 mm2/2"),
        ("250 kcmil/3", "250 kcmil", 3, "250 kcmil/3"),
    ];
    for (text, of, conductors, printed) in rows {
        let make = CableMake::parse(text).unwrap();
        assert_eq!((make.size, make.conductors), (size(of), conductors), "{text}");
        assert_eq!(make.print(), printed);
        assert_eq!(CableMake::parse(printed), Ok(make));
    }
    for text in [
        "", "/", "12", "12/", "/2", "12-", "-2", "12-2-2", "12-/2", "12/0", "12/100", "12/+2", "12/2/2", "0/2", "2/0",
        "2.5/2", "250/3", "x/2",
    ] {
        let error = CableMake::parse(text).unwrap_err();
        assert!(error.message.starts_with("expected a cable make such as `12/2`"), "{text}: {error}");
        assert!(error.help.unwrap().contains("`14/3`"));
    }
    assert_eq!(CableMake::parse("41 AWG/2").unwrap_err().message, "there is no gauge `41 AWG/2`");
}
