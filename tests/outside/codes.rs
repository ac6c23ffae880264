//! The shipped rulesets for the tests of calculations.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock, Mutex};

use jiff::civil::date;
use storystick_engine::book::{Ask, Book, RulesetText, Shelf};
use storystick_engine::calc::Traced;
use storystick_engine::model::Schema;
use storystick_engine::quantity::{Dimension, Quantity, parse};
use storystick_engine::source::Span;

static SHELF: LazyLock<Mutex<Shelf>> = LazyLock::new(|| {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    Mutex::new(Shelf::read(Arc::new(Schema::dwelling()), texts))
});

static BOOKS: LazyLock<Mutex<BTreeMap<&'static str, Arc<Book>>>> = LazyLock::new(Mutex::default);

/// Returns a shipped ruleset alone, as the book of a place that has nothing else.
pub(crate) fn book(id: &'static str) -> Arc<Book> {
    let mut books = BOOKS.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let resolve = || {
        let mut shelf = SHELF.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let ask = Ask { alone: true, ..Ask::on(id, date(2026, 6, 1)) };
        shelf.resolve(&ask).unwrap_or_else(|problems| panic!("{id}: {problems:#?}"))
    };
    Arc::clone(books.entry(id).or_insert_with(resolve))
}

/// The editions that are shipped and not drafts, with their years.
const EDITIONS: [(&str, i32); 3] = [("us/model-2017", 2017), ("us/model-2020", 2020), ("us/model-2023", 2023)];

/// Returns the editions that an example's answer belongs to: all of `any`, those within its years, and for one before them the
/// earliest, whose values are the same.
pub(crate) fn editions(of: &str) -> Vec<&'static str> {
    let years: Vec<i32> = of.split(|c: char| !c.is_ascii_digit()).filter_map(|year| year.parse().ok()).collect();
    let within = |year: i32| match years.as_slice() {
        [] => of == "any",
        [only] => year == *only,
        [from, to, ..] => (*from..=*to).contains(&year),
    };
    let found: Vec<_> = EDITIONS.into_iter().filter(|(_, year)| within(*year)).map(|(id, _)| id).collect();
    if found.is_empty() { vec!["us/model-2017"] } else { found }
}

/// Reads a quantity that is written in a test.
pub(crate) fn q(text: &str, dimension: Dimension) -> Quantity {
    parse(text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// Returns a quantity that stands in no file.
pub(crate) fn bare(quantity: Quantity) -> Traced {
    Traced { quantity, span: Span::NONE }
}

/// Returns a gauge such as `12` or `2/0`.
pub(crate) fn awg(size: &str) -> Quantity {
    q(&format!("{size} AWG"), Dimension::Conductor)
}

/// Returns an amount in units of so many base units.
pub(crate) fn in_units(quantity: Quantity, base_units: f64) -> f64 {
    quantity.amount() as f64 / base_units
}

/// Base units in an ampere, a volt, a volt-ampere.
pub(crate) const MICRO: f64 = 1e6;
/// Base units in a cubic inch.
pub(crate) const CUBIC_INCH: f64 = 16_387_064e6;
/// Base units in a square inch.
pub(crate) const SQUARE_INCH: f64 = 645_160_000.0;
/// Base units in an inch.
pub(crate) const INCH: i64 = 25_400_000;
/// Base units in a number or a share of one.
pub(crate) const ONE: f64 = 1e9;

#[test]
fn an_edition_stands_for_the_years_it_names() {
    assert_eq!(editions("any").len(), 3);
    assert_eq!(editions("2017-2023").len(), 3);
    assert_eq!(editions("2020-2023"), ["us/model-2020", "us/model-2023"]);
    assert_eq!(editions("2020"), ["us/model-2020"]);
    assert_eq!(editions("2008-2017"), ["us/model-2017"]);
    assert_eq!(editions("1999"), ["us/model-2017"]);
    assert_eq!(editions("town ordinance, old numbering"), ["us/model-2017"]);
}
