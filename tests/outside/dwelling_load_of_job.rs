//! Examples of the model code's own annex D, written as job files and worked by the very worksheets that `loads` prints.
//!
//! Sources: textbook pages that print examples D1(a), D2(a), D2(b) and D2(c) of the annex (an older edition with the same figures):
//! `flylib.com/books/en/2.419.1/example_no_d1_a_one_family_dwelling.html` and those beside it; for the amperes of D2(b) a question bank on
//! annex D of the 2017 edition, `thompsonlearningco.com/chapter/annex-d`. Read 2026-12-01.

use std::sync::{Mutex, OnceLock};

use storystick_engine::book::RulesetText;
use storystick_engine::calc::Ctx;
use storystick_engine::calc::load::{LoadSheet, load_worksheets};
use storystick_engine::inspection::{Inspector, JobText, Options};

const EDITIONS: [&str; 3] = ["us/model-2017", "us/model-2020", "us/model-2023"];

/// Returns the worksheets of a dwelling under an edition.
fn sheets(edition: &str, floor: &str, items: &str) -> Vec<LoadSheet> {
    static INSPECTOR: OnceLock<Mutex<Inspector>> = OnceLock::new();
    let shipped = || storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let inspector = INSPECTOR.get_or_init(|| Mutex::new(Inspector::new(shipped())));
    let mut inspector = inspector.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let options = Options::on(jiff::civil::date(2024, 6, 1));
    let text = format!(
        "format = 1\nsite = {{ jurisdiction = \"{edition}\", permit_date = 2024-06-01, stage = \"layout\", \
         line_to_line = \"240 V\", line_to_neutral = \"120 V\"{floor} }}\n\
         circuit = [{{ id = \"1\", serves = \"small_appliance\" }}, {{ id = \"2\", serves = \"small_appliance\" }}, \
         {{ id = \"3\", serves = \"laundry\" }}]\n{items}\n"
    );
    let job = JobText { name: String::from("job.toml"), text: text.into() };
    let prepared = inspector.prepare(job, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    let inspected = inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    load_worksheets(&Ctx::new(&inspected.job, &*inspected.code.book))
}

/// Returns the figure of a sheet, which lacks nothing, in VA or A.
fn figure(sheets: &[LoadSheet], title: &str) -> f64 {
    let sheet = sheets.iter().find(|sheet| sheet.title == title).unwrap();
    assert!(sheet.missing.is_empty() && sheet.fault.is_none(), "{title}: {:?} {:?}", sheet.missing, sheet.fault);
    sheet.value.unwrap().amount() as f64 / 1e6
}

/// Returns the total of a line of a sheet, in VA or A.
fn line(sheets: &[LoadSheet], title: &str, what: &str) -> f64 {
    let sheet = sheets.iter().find(|sheet| sheet.title == title).unwrap();
    sheet.lines.iter().find(|line| line.what == what).and_then(|line| line.total).unwrap().amount() as f64 / 1e6
}

fn is(found: f64, published: f64) {
    assert!((found - published).abs() < 0.5, "{found}, published {published}");
}

const AREA: &str = ", floor_area = \"1500 ft2\"";

#[test]
fn example_d1_a() {
    let items = r#"appliance = [
        { id = "R", kind = "range", load = "12 kW", voltage = "240 V" },
        { id = "D", kind = "dryer", load = "5.5 kW", voltage = "240 V" },
    ]"#;
    for edition in EDITIONS {
        let sheets = sheets(edition, AREA, items);
        is(figure(&sheets, "standard method"), 18_600.0);
        is(line(&sheets, "neutral", "load of the neutral"), 14_550.0);
        is(figure(&sheets, "neutral"), 61.0);
        is(figure(&sheets, "service"), 100.0);
    }
}

#[test]
fn example_d2_a() {
    let heaters: String =
        (1..=5).map(|at| format!("{{ id = \"H{at}\", kind = \"electric_heat\", load = \"1800 W\" }},")).collect();
    let items = format!(
        r#"appliance = [
        {{ id = "R", kind = "range", load = "12 kW" }}, {{ id = "W", kind = "water_heater", load = "2.5 kW" }},
        {{ id = "DW", kind = "dishwasher", load = "1.2 kW" }}, {{ id = "D", kind = "dryer", load = "5 kW" }},
        {{ id = "AC", kind = "air_conditioner", current = "6 A", voltage = "230 V" }}, {heaters}
    ]"#
    );
    for edition in EDITIONS {
        let sheets = sheets(edition, AREA, &items);
        is(line(&sheets, "optional method", "all general loads, as connected"), 29_700.0);
        is(line(&sheets, "optional method", "after demand"), 17_880.0);
        is(figure(&sheets, "optional method"), 21_480.0);
        is(line(&sheets, "neutral", "load of the neutral"), 15_400.0);
        is(figure(&sheets, "service"), 100.0);
    }
}

/// The textbook takes the six room units at 240 V, 10,080 VA, though their plates say 230 V.
#[test]
fn example_d2_b() {
    let units: String = (1..=6)
        .map(|at| format!("{{ id = \"AC{at}\", kind = \"air_conditioner\", current = \"7 A\", voltage = \"240 V\" }},"))
        .collect();
    let items = format!(
        r#"appliance = [
        {{ id = "O1", kind = "oven", load = "4 kW" }}, {{ id = "O2", kind = "oven", load = "4 kW" }},
        {{ id = "C", kind = "cooktop", load = "5.1 kW" }}, {{ id = "W", kind = "water_heater", load = "4.5 kW" }},
        {{ id = "DW", kind = "dishwasher", load = "1.2 kW" }}, {{ id = "D", kind = "dryer", load = "5 kW" }},
        {{ id = "B", kind = "bath_heater", load = "1.5 kW", voltage = "240 V" }}, {units}
    ]"#
    );
    for edition in EDITIONS {
        let sheets = sheets(edition, AREA, &items);
        is(line(&sheets, "optional method", "all general loads, as connected"), 32_800.0);
        is(figure(&sheets, "optional method"), 29_200.0);
        is(line(&sheets, "service", "current"), 122.0);
        is(figure(&sheets, "service"), 125.0);
    }
}

#[test]
fn example_d2_c() {
    let items = r#"appliance = [
        { id = "R", kind = "range", load = "12 kW" }, { id = "W", kind = "water_heater", load = "4.5 kW" },
        { id = "DW", kind = "dishwasher", load = "1.2 kW" }, { id = "D", kind = "dryer", load = "5 kW" },
        { id = "HP", kind = "heat_pump", current = "24 A", voltage = "240 V" },
        { id = "H", kind = "electric_heat", load = "15 kW" },
    ]"#;
    for edition in EDITIONS {
        let sheets = sheets(edition, ", floor_area = \"2000 ft2\"", items);
        is(line(&sheets, "optional method", "after demand"), 19_280.0);
        is(figure(&sheets, "optional method"), 34_790.0);
        is(figure(&sheets, "service"), 150.0);
    }
}

/// The same dwelling as in D2(a), its floor area summed from rooms of 1500 ft² outside: the cellar, the attic and the porch that the
/// example leaves out are there as rooms. Inside, with a tenth for walls, the rooms make as much.
#[test]
fn what_the_annex_leaves_out_of_the_floor_area_is_left_out_of_the_rooms() {
    let items = r#"
        room = [
            { id = "L", kind = "living_room", area = "800 ft2" }, { id = "B", kind = "bedroom", area = "563.636364 ft2" },
            { id = "A", kind = "attic", area = "900 ft2", finished = false }, { id = "P", kind = "porch", area = "200 ft2" },
            { id = "C", kind = "crawl_space", area = "900 ft2" },
        ]
        appliance = [
            { id = "R", kind = "range", load = "12 kW" }, { id = "D", kind = "dryer", load = "5.5 kW" },
        ]"#;
    for edition in EDITIONS {
        is(figure(&sheets(edition, "", items), "standard method"), 18_600.0);
    }
}

/// 220.5(C) of 2023 counts a garage, as a continuing-education note on the 2026 edition tells; the editions before leave it out.
#[test]
fn a_garage_counts_from_2023_on() {
    let items = r#"room = [
        { id = "L", kind = "living_room", area = "1000 ft2" }, { id = "G", kind = "garage", area = "400 ft2" },
    ]"#;
    for (edition, area) in [("us/model-2017", 1100.0), ("us/model-2020", 1100.0), ("us/model-2023", 1540.0)] {
        let sheets = sheets(edition, "", items);
        is(line(&sheets, "standard method", "lighting and general receptacles, by floor area"), 3.0 * area);
    }
}
