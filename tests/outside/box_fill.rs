//! Box fill against published worked examples.

use storystick_engine::book::Book;
use storystick_engine::calc::{BoxContents, Code, Family, Sheet, Wires, Yoke, box_fill, most_conductors, smallest_box};
use storystick_engine::quantity::{Dimension, Quantity};
use storystick_engine::source::Span;
use toml::Table;

use crate::codes::{CUBIC_INCH, ONE, awg, book, editions, in_units};
use crate::examples::{Example, Found, of_topic};

fn wires(of: &[&Table]) -> Vec<Wires> {
    of.iter()
        .map(|wires| Wires {
            size: awg(wires.get("awg").and_then(|size| size.as_str()).unwrap_or_default()),
            count: wires.get("count").and_then(toml::Value::as_integer).unwrap_or(0),
            span: Span::NONE,
        })
        .collect()
}

fn contents(example: &Example) -> BoxContents {
    let fittings = example.number("studs").unwrap_or(0.0) + example.number("hickeys").unwrap_or(0.0);
    let yokes = example.tables("devices").into_iter().map(|device| Yoke {
        size: awg(device.get("awg").and_then(|size| size.as_str()).unwrap_or_default()),
        gangs: device.get("gangs").and_then(toml::Value::as_integer).unwrap_or(1),
        span: Span::NONE,
    });
    BoxContents {
        conductors: wires(&example.tables("conductors")),
        fixture_wires: wires(&example.tables("fixture_wires")),
        grounds: wires(&example.tables("egc")),
        isolated_grounds: wires(&example.tables("isolated_egc")),
        clamps: (example.number("internal_clamps").unwrap_or(0.0) > 0.0).then_some(Span::NONE),
        fittings: (fittings as i64, Span::NONE),
        yokes: yokes.collect(),
        ..BoxContents::default()
    }
}

/// Returns the volume of the box that a problem names, by its trade size or as marked.
fn volume(example: &Example, code: &dyn Code) -> Option<Quantity> {
    if let Some(marked) = example.number("box_in3") {
        return Some(Quantity::new(Dimension::Volume, (marked * CUBIC_INCH).round() as i64));
    }
    let name = example.text("box")?;
    let row = code.row_of("box_fill.standard_boxes", name, Dimension::Volume).unwrap();
    Some(row.unwrap_or_else(|| panic!("{}: no box {name}", example.id)).quantity)
}

fn work(example: &Example, book: &Book) -> Found {
    let code: &dyn Code = book;
    let mut found = Found::default();
    let volume = volume(example, code);
    if let Some(volume) = volume {
        found.number("box_in3", in_units(volume, CUBIC_INCH));
    }
    if let (Some(only), Some(volume)) = (example.text("only_awg"), volume) {
        found.number("max_conductors", most_conductors(volume, awg(only), code).unwrap() as f64);
        return found;
    }
    let fill = box_fill(&contents(example), code, &mut Sheet::none()).unwrap();
    found.number("fill_in3", in_units(fill.volume, CUBIC_INCH));
    found.number("allowances", in_units(fill.allowances, ONE));
    if let Some(volume) = volume {
        found.flag("fits", fill.volume.amount() <= volume.amount());
    }
    if let Some(family) = example.text("box_family") {
        let word = family.split('_').next().unwrap_or(family);
        let offered = smallest_box(fill.volume, Family::Standard { word, gangs: 1 }, code).unwrap();
        found.text("smallest_box", offered.map_or(String::new(), |offered| offered.name));
    }
    found
}

#[test]
fn published_box_fill_examples_agree() {
    for example in of_topic("box_fill", 19) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, &book(edition)));
        }
    }
}

#[test]
fn editions_differ_in_the_grounds_beyond_four_alone() {
    // The examples of 2002 to 2014 with five and six grounds, worked by the edition of 2020: a quarter allowance for each more.
    for (id, expected) in [("box-fill-10", 34.3125), ("box-fill-12", 44.125)] {
        let example = of_topic("box_fill", 19).find(|example| example.id == id).unwrap();
        let fill = box_fill(&contents(example), book("us/model-2020").as_ref(), &mut Sheet::none()).unwrap();
        assert!((in_units(fill.volume, CUBIC_INCH) - expected).abs() < 1e-9, "{id}");
    }
}
