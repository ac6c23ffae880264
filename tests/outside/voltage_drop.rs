//! Voltage drop against published worked examples.

use storystick_engine::calc::Code;
use storystick_engine::calc::conductor::Basis;
use storystick_engine::calc::voltage_drop::{Legs, Load, Section, SimpleRun, smallest_for_drop, voltage_drops};
use storystick_engine::quantity::{Conductor, Dimension, Quantity};

use crate::codes::{MICRO, awg, bare, book, editions, q};
use crate::examples::{Example, Found, of_topic};

const GAUGES: [&str; 13] = ["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"];

/// Returns the drop out and back of a run of a resistance each way.
fn drop(ohms: f64, current: f64) -> f64 {
    let resistance = Quantity::new(Dimension::Resistance, (ohms * 1e9).round() as i64);
    let section = Section { from: None, hot: resistance, neutral: resistance };
    let current = Quantity::new(Dimension::Current, (current * MICRO).round() as i64);
    let drops = voltage_drops(&[section], &[Load { at: 0, legs: Legs::First, current }]).unwrap();
    drops[0].first.amount() as f64 / MICRO
}

fn mils(size: &str) -> f64 {
    Conductor::of(awg(size)).unwrap().circular_mils() as f64
}

fn by_constant(example: &Example, code: &dyn Code, found: &mut Found) {
    let (k, current, volts) = (example.must("K"), example.must("current_A"), example.must("volts"));
    // Either one way, or the whole wire there and back.
    let one_way = example.number("length_ft").unwrap_or_else(|| example.must("total_length_ft") / 2.0);
    let lost = |cmil: f64| drop(k * one_way / cmil, current);
    if let Some(cmil) = example.number("cmil") {
        found.number("drop_V", lost(cmil));
        found.number("percent", lost(cmil) / volts * 100.0);
        return;
    }
    let limit = example.must("limit_percent") / 100.0 * volts;
    let size = GAUGES.into_iter().find(|size| lost(mils(size)) <= limit).unwrap();
    found.number("drop_V", lost(mils(size)));
    found.number("cmil", k * 2.0 * one_way * current / limit);
    found.text("smallest_awg", size);
    // The constant stands for hot copper: the resistances of the code lead to the same size. 10.75 stands for cold copper.
    let run = SimpleRun {
        material: "copper",
        length: q(&format!("{one_way} ft"), Dimension::Length),
        current: q(&format!("{current} A"), Dimension::Current),
        voltage: q(&format!("{volts} V"), Dimension::Voltage),
        temperature: q(if k > 11.0 { "75 degC" } else { "25 degC" }, Dimension::Temperature),
    };
    let limit = q(&format!("{} %", example.must("limit_percent")), Dimension::Ratio);
    for basis in [Basis::Table, Basis::Metal] {
        assert_eq!(smallest_for_drop(&run, limit, basis, code).unwrap(), Some(awg(size)), "{} {basis:?}", example.id);
    }
}

fn work(example: &Example, code: &dyn Code) -> Found {
    let mut found = Found::default();
    match example.text("method").unwrap() {
        "ohms_per_kft" => {
            let volts = example.must("volts");
            let ohms = example.must("ohms_per_kft") * example.must("length_ft") / 1000.0;
            let lost = drop(ohms, example.must("current_A"));
            found.number("drop_V", lost);
            found.number("load_V", volts - lost);
            found.number("percent", lost / volts * 100.0);
        }
        "K" | "K_size" => by_constant(example, code, &mut found),
        "mV_A_m" => {
            // The figure stands for both conductors.
            let (volts, watts) = (example.must("volts"), example.must("load_W"));
            let current = watts / volts;
            let lost = drop(example.must("mV_A_m") / 2000.0 * example.must("length_m"), current);
            let limit = volts * example.must("limit_percent") / 100.0;
            found.number("current_A", current);
            found.number("drop_V", lost);
            found.number("percent", lost / volts * 100.0);
            found.number("limit_V", limit);
            found.flag("within", lost <= limit);
        }
        "percent" => percents(example, &mut found),
        other => panic!("{}: method {other}", example.id),
    }
    found
}

/// Two stretches one behind the other: what is lost in each, as a share of the source.
fn percents(example: &Example, found: &mut Found) {
    let volts = example.must("volts");
    let parts = ["feeder_V", "branch_V"].map(|key| example.must(key));
    // At 10 A each way, a stretch that loses so many volts has this resistance each way.
    let resistance = |lost: f64| Quantity::new(Dimension::Resistance, (lost / 20.0 * 1e9).round() as i64);
    let section = |from: Option<usize>, lost: f64| Section { from, hot: resistance(lost), neutral: resistance(lost) };
    let sections = [section(None, parts[0]), section(Some(0), parts[1])];
    let load = Load { at: 1, legs: Legs::First, current: q("10 A", Dimension::Current) };
    let drops = voltage_drops(&sections, &[load]).unwrap();
    let share = |microvolts: i64| microvolts as f64 / MICRO / volts * 100.0;
    found.number("feeder_percent", share(drops[0].first.amount()));
    found.number("total_percent", share(drops[1].first.amount()));
    found.number("branch_percent", share(drops[1].first.amount() - drops[0].first.amount()));
    found.number("load_V", volts - drops[1].first.amount() as f64 / MICRO);
}

#[test]
fn published_voltage_drops_agree() {
    for example in of_topic("voltage_drop", 9) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, book(edition).as_ref()));
        }
    }
}

#[test]
fn a_run_computed_from_cold_copper_loses_a_fifth_less_than_the_code_table_says() {
    // The note of voltage-drop-03: 4.45 V at 20 °C against 5.4 to 5.5 V at 75 °C.
    let book = book("us/model-2020");
    let size = bare(awg("12"));
    let run = |temperature: &str| SimpleRun {
        material: "copper",
        length: q("140 ft", Dimension::Length),
        current: q("10 A", Dimension::Current),
        voltage: q("120 V", Dimension::Voltage),
        temperature: q(temperature, Dimension::Temperature),
    };
    let lost = |temperature: &str, basis: Basis| {
        let run = run(temperature);
        let drop = storystick_engine::calc::voltage_drop::simple_drop(&run, size, basis, book.as_ref()).unwrap();
        drop.amount() as f64 / MICRO
    };
    assert!((lost("20 degC", Basis::Metal) - 4.4464).abs() < 0.002, "{}", lost("20 degC", Basis::Metal));
    let hot = lost("75 degC", Basis::Table);
    assert!((5.4..=5.5).contains(&hot), "{hot}");
}
