//! Raceway fill against published worked examples.

use storystick_engine::book::Book;
use storystick_engine::calc::{Code, Duct, Sheet, Strand, most_in_raceway, raceway_fill, room_for, smallest_raceway};
use storystick_engine::quantity::Dimension;
use toml::{Table, Value};

use crate::codes::{ONE, SQUARE_INCH, awg, bare, book, editions, in_units, q};
use crate::examples::{Example, Found, of_topic};

/// Returns the word of the rulesets for an insulation.
fn insulation(word: &str) -> &str {
    match word {
        "RHW_nc" => "RHW-uncovered",
        other => other,
    }
}

fn strand(of: &Table) -> Strand<'_> {
    let text = |key: &str| of.get(key).and_then(Value::as_str).unwrap_or_default();
    Strand {
        insulation: insulation(text("type")),
        size: bare(awg(text("awg"))),
        count: of.get("count").and_then(Value::as_integer).unwrap_or(1),
    }
}

fn method(example: &Example) -> &str {
    match example.text("raceway") {
        Some("PVC40") => "PVC_40",
        Some(other) => other,
        None => panic!("{}: no raceway", example.id),
    }
}

fn duct(example: &Example) -> Duct<'_> {
    let size = example.text("trade_size").unwrap_or_else(|| panic!("{}: no trade size", example.id));
    let trade_size = bare(q(&format!("{size} in"), Dimension::Length));
    Duct { method: method(example), trade_size, nipple: example.flag("nipple") }
}

fn work(example: &Example, book: &Book) -> Found {
    let code: &dyn Code = book;
    let mut found = Found::default();
    let tables = example.tables("conductors");
    let strands: Vec<Strand<'_>> = tables.iter().map(|table| strand(table)).collect();
    let mut area = 0.0;
    match example.text("ask") {
        Some("max_same") => {
            let one = strand(&example.inputs);
            found.number("max_conductors", most_in_raceway(&duct(example), &one, code).unwrap() as f64);
        }
        Some("can_add") => {
            let more = Strand {
                insulation: insulation(example.text("add_type").unwrap()),
                size: bare(awg(example.text("add_awg").unwrap())),
                count: 0,
            };
            found.number("can_add", room_for(&duct(example), &strands, &more, code).unwrap() as f64);
        }
        Some("percent") => {
            let fill = raceway_fill(&duct(example), &strands, code, &mut Sheet::none()).unwrap();
            area = in_units(fill.used, SQUARE_INCH);
            found.number("percent", in_units(fill.share, ONE) * 100.0);
            found.number("remaining_in2", in_units(fill.left(), SQUARE_INCH));
        }
        Some("trade_size") => {
            let size = smallest_raceway(method(example), example.flag("nipple"), &strands, code).unwrap().unwrap();
            let names = ["1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3"];
            let name = names.into_iter().find(|name| q(&format!("{name} in"), Dimension::Length) == size);
            found.text("trade_size", name.unwrap());
            let duct = Duct { method: method(example), trade_size: bare(size), nipple: example.flag("nipple") };
            let fill = raceway_fill(&duct, &strands, code, &mut Sheet::none()).unwrap();
            area = in_units(fill.used, SQUARE_INCH);
        }
        other => panic!("{}: ask {other:?}", example.id),
    }
    // Areas are printed with four decimals; sums of such figures come out even again.
    found.number("area_in2", (area * 1e4).round() / 1e4);
    found
}

#[test]
fn published_raceway_examples_agree() {
    for example in of_topic("raceway_fill", 9) {
        for edition in editions(&example.edition) {
            example.agrees(edition, &work(example, &book(edition)));
        }
    }
}

#[test]
fn the_share_for_two_is_the_least_and_that_for_one_the_most() {
    // Pages that swap the shares of one and of two conductors are about; the figure of two round wires in a round tube decides it.
    let book = book("us/model-2020");
    let code: &dyn Code = book.as_ref();
    let share = |count: i64| {
        let strand = Strand { insulation: "THHN", size: bare(awg("12")), count };
        let duct = Duct { method: "EMT", trade_size: bare(q("1/2 in", Dimension::Length)), nipple: false };
        raceway_fill(&duct, &[strand], code, &mut Sheet::none()).unwrap().allowed.amount()
    };
    assert!(share(1) > share(3) && share(3) > share(2));
    assert_eq!(share(3), share(30));
}
