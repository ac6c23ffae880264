//! Ampacity, breakers and conductor sizes against published worked examples.

use storystick_engine::book::Book;
use storystick_engine::calc::load::{service_conductor, service_for};
use storystick_engine::calc::protection::{CircuitLoad, conductor_for, largest_breaker};
use storystick_engine::calc::{Code, Correction, Run, Sheet, Traced, ampacity};
use storystick_engine::quantity::{Dimension, Quantity, UnitSystem};

use crate::codes::{MICRO, ONE, awg, bare, book, editions, in_units, q};
use crate::examples::{Example, Found, of_topic};

fn degrees(example: &Example, key: &str) -> Option<Traced> {
    let text = match (example.number(&format!("{key}_C")), example.number(&format!("{key}_F"))) {
        (Some(celsius), _) => format!("{celsius} degC"),
        (None, Some(fahrenheit)) => format!("{fahrenheit} degF"),
        (None, None) => return None,
    };
    Some(bare(q(&text, Dimension::Temperature)))
}

fn material(example: &Example) -> &'static str {
    match example.text("material") {
        Some("Cu") => "copper",
        Some("Al") => "aluminum",
        other => panic!("{}: material {other:?}", example.id),
    }
}

fn run<'a>(example: &Example, size: Traced, code: &dyn Code) -> Run<'a> {
    let nm = example.text("wiring") == Some("NM");
    let limit = code.row_of("ampacity.method_limit", "NM", Dimension::Temperature).unwrap();
    Run {
        material: material(example),
        size,
        insulation: degrees(example, "insulation").unwrap(),
        ambient: degrees(example, "ambient").unwrap(),
        current_carrying: example.must("ccc") as i64,
        method_limit: limit.filter(|_| nm).map(|limit| bare(limit.quantity)),
        terminals: degrees(example, "terminal"),
        correction: Correction::Table,
    }
}

fn gauge(size: Quantity) -> String {
    size.print(UnitSystem::Customary).trim_end_matches(" AWG").to_string()
}

fn work(example: &Example, book: &Book) -> Found {
    let code: &dyn Code = book;
    let mut found = Found::default();
    match example.text("ask") {
        None => {
            let size = bare(awg(example.text("awg").unwrap()));
            let own = ampacity(&run(example, size, code), code, &mut Sheet::none()).unwrap();
            found.number("table_A", in_units(own.table, MICRO));
            found.number("correction", in_units(own.correction, ONE));
            found.number("adjustment", in_units(own.adjustment, ONE));
            found.number("derated_A", in_units(own.derated, MICRO));
            found.number("ampacity_A", in_units(own.ampacity, MICRO));
            let several = example.flag("feeds_receptacles");
            let breaker =
                largest_breaker(own.ampacity, material(example), size, several, code, &mut Sheet::none()).unwrap();
            found.number("max_breaker_A", in_units(breaker, MICRO));
        }
        Some("smallest_awg") => {
            let zero = Quantity::new(Dimension::Current, 0);
            let other = q(&format!("{} A", example.must("load_A")), Dimension::Current);
            let load = CircuitLoad { continuous: zero, other, largest_motor: zero };
            let run = run(example, bare(awg("14")), code);
            let chosen = conductor_for(&load, &run, false, code, &mut Sheet::none()).unwrap().unwrap();
            found.text("smallest_awg", gauge(chosen.size));
            found.number("derated_A", in_units(chosen.ampacity.derated, MICRO));
        }
        Some("dwelling_service") => {
            let load = q(&format!("{} VA", example.must("load_VA")), Dimension::Power);
            let volts = bare(q(&format!("{} V", example.must("volts")), Dimension::Voltage));
            let service = service_for(load, volts, code, &mut Sheet::none()).unwrap();
            found.number("service_A", in_units(service.rating, MICRO));
            let (size, carried) =
                service_conductor(bare(service.rating), material(example), code, &mut Sheet::none()).unwrap();
            found.number("required_A", in_units(carried, MICRO));
            found.text("conductor_awg", gauge(size));
        }
        other => panic!("{}: ask {other:?}", example.id),
    }
    found
}

#[test]
fn published_ampacity_examples_agree() {
    for example in of_topic("ampacity", 8) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, &book(edition)));
        }
    }
}
