//! Dwelling loads against published worked examples, those of the model code's own annex among them.

use storystick_engine::book::Book;
use storystick_engine::calc::load::{
    Apparatus, Climate, Dwelling, cooking_demand, fastened_demand, general_demand, general_load, lighting_circuits,
    line_currents, neutral_load, optional_climate, optional_load, service_for, standard_climate, standard_load,
};
use storystick_engine::calc::{Code, Sheet, Traced};
use storystick_engine::quantity::{Dimension, Quantity};

use crate::codes::{MICRO, bare, book, editions, in_units, q};
use crate::examples::{Example, Found, of_topic};

fn va(load: f64) -> Traced {
    bare(Quantity::new(Dimension::Power, (load * MICRO).round() as i64))
}

fn list(loads: &[f64]) -> Vec<Apparatus> {
    loads.iter().map(|load| Apparatus::new("appliance", va(*load))).collect()
}

fn one(load: Option<f64>) -> Vec<Apparatus> {
    list(&load.into_iter().collect::<Vec<_>>())
}

fn amps(current: f64) -> Quantity {
    Quantity::new(Dimension::Current, (current * MICRO).round() as i64)
}

fn climate(example: &Example) -> Climate {
    let units = example.number("separately_controlled_heaters").unwrap_or(0.0) as usize;
    let each = example.number("separately_controlled_heat_VA").unwrap_or(0.0) / units.max(1) as f64;
    Climate {
        cooling: one(example.number("ac_VA")),
        heat_pumps: one(example.number("heat_pump_VA")),
        supplement: one(example.number("supplementary_heat_VA")),
        central: one(example.number("heat_VA")),
        units: list(&vec![each; units]),
        with_both: Vec::new(),
    }
}

fn dwelling(example: &Example) -> Dwelling {
    let area = q(&format!("{} ft2", example.number("floor_area_ft2").unwrap_or(1.0)), Dimension::Area);
    let watts: Vec<f64> = example.numbers("cooking_kW").iter().map(|kw| kw * 1000.0).collect();
    Dwelling {
        small_appliance: example.number("small_appliance_circuits").unwrap_or(0.0) as i64,
        laundry: example.number("laundry_circuits").unwrap_or(0.0) as i64,
        cooking: list(&watts),
        dryers: one(example.number("dryer_VA")),
        fastened: list(&example.numbers("fixed_appliances_VA")),
        climate: climate(example),
        // The optional method takes nameplates as they are, under whatever heading.
        other: list(&example.numbers("nameplate_VA")),
        ..Dwelling::of(bare(area))
    }
}

fn service(example: &Example, total: Quantity, code: &dyn Code, found: &mut Found) {
    let volts = bare(q(&format!("{} V", example.must("volts")), Dimension::Voltage));
    let service = service_for(total, volts, code, &mut Sheet::none()).unwrap();
    found.number("total_VA", in_units(total, MICRO));
    found.number("service_A", in_units(service.rating, MICRO));
    found.number("counted_A", in_units(service.current.counted, MICRO));
    // Sources print the current exact or in whole amperes; expected figures are exact.
    found.number("amps", in_units(service.current.exact, MICRO));
}

fn work(example: &Example, book: &Book) -> Found {
    let code: &dyn Code = book;
    let none = &mut Sheet::none();
    let mut found = Found::default();
    let dwelling = dwelling(example);
    match example.text("method").unwrap() {
        "standard" => {
            let load = standard_load(&dwelling, code, none).unwrap();
            for (key, part) in [
                ("general_VA", load.general),
                ("general_demand_VA", load.general_demand),
                ("range_VA", load.cooking),
                ("dryer_VA", load.dryers),
                ("fixed_VA", load.fastened),
                ("hvac_VA", load.climate),
            ] {
                found.number(key, in_units(part, MICRO));
            }
            service(example, load.total, code, &mut found);
            if let Some(volts) = example.number("line_volts") {
                let volts = q(&format!("{volts} V"), Dimension::Voltage);
                let rating = q("15 A", Dimension::Current);
                let circuits = lighting_circuits(dwelling.floor_area.quantity, volts, rating, code).unwrap();
                found.number("lighting_circuits_15A", circuits as f64);
            }
        }
        "optional" => {
            let load = optional_load(&dwelling, code, none).unwrap();
            found.number("general_VA", in_units(load.general, MICRO));
            found.number("general_demand_VA", in_units(load.general_demand, MICRO));
            found.number("hvac_VA", in_units(load.climate, MICRO));
            service(example, load.total, code, &mut found);
        }
        "neutral" => found.number("neutral_VA", neutral(example, &dwelling, code)),
        "cooking" => {
            let demand = cooking_demand(&dwelling.cooking, code, none).unwrap();
            found.number("range_VA", demand as f64 / MICRO);
        }
        "lighting_only" => {
            // Without the circuits that the code adds by itself.
            let whole = general_load(&dwelling, code, none).unwrap() as f64 / MICRO;
            found.number("lighting_VA", whole - 4500.0);
        }
        "general_demand" => {
            let demand = general_demand(va(example.must("general_VA")).amount(), code, none).unwrap() as f64 / MICRO;
            found.number("general_demand_VA", demand);
            found.number("remainder_VA", demand - 3000.0);
        }
        "fixed_only" => {
            found.number("fixed_VA", fastened_demand(&dwelling.fastened, code, none).unwrap() as f64 / MICRO);
        }
        "hvac_only" => {
            found.number("hvac_VA", standard_climate(&dwelling.climate, code, none).unwrap() as f64 / MICRO);
        }
        "optional_hvac" => {
            found.number("hvac_VA", optional_climate(&dwelling.climate, code, none).unwrap() as f64 / MICRO);
        }
        "line_currents" => lines(example, code, &mut found),
        other => panic!("{}: method {other}", example.id),
    }
    found
}

/// The sources give the range by its demand: a range of 12 kW has one of 8 kVA.
fn neutral(example: &Example, dwelling: &Dwelling, code: &dyn Code) -> f64 {
    assert!((example.must("range_demand_VA") - 8000.0).abs() < 1e-9, "{}", example.id);
    let to_neutral = example.numbers("line_to_neutral_VA").into_iter();
    let other = to_neutral.map(|load| Apparatus { to_neutral: true, ..Apparatus::new("appliance", va(load)) });
    let dwelling = Dwelling { cooking: list(&[12_000.0]), fastened: other.collect(), ..dwelling.clone() };
    let volts = bare(q(&format!("{} V", example.must("volts")), Dimension::Voltage));
    in_units(neutral_load(&dwelling, volts, code, &mut Sheet::none()).unwrap().load, MICRO)
}

fn lines(example: &Example, code: &dyn Code, found: &mut Found) {
    let currents = |key: &str| -> Vec<Quantity> { example.numbers(key).into_iter().map(amps).collect() };
    let [a, b] = line_currents(
        amps(example.must("base_line_A")),
        &currents("line_to_line_A"),
        [&currents("line_a_A"), &currents("line_b_A")],
        [amps(example.must("largest_motor_a_A")), amps(example.must("largest_motor_b_A"))],
        code,
    )
    .unwrap();
    found.number("line_a_A", in_units(a, MICRO));
    found.number("line_b_A", in_units(b, MICRO));
    let larger = Quantity::new(Dimension::Current, a.amount().max(b.amount()));
    let rating = storystick_engine::calc::protection::standard_at_or_above(larger, code).unwrap().unwrap();
    found.number("service_A", in_units(rating.quantity, MICRO));
}

#[test]
fn published_dwelling_loads_agree() {
    for example in of_topic("dwelling_load", 19) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, &book(edition)));
        }
    }
}
