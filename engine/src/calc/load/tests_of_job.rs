use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap};
use crate::model::kinds::{appliance, room, site};
use crate::model::{FieldId, ItemIndex};
use crate::quantity::UnitSystem;

fn va(amount: Quantity) -> i64 {
    amount.amount() / 1_000_000
}

fn text(quantity: Quantity) -> String {
    quantity.print(UnitSystem::Customary)
}

/// A house of 1500 ft² at 120/240 V with its three circuits.
fn house() -> Fixture {
    let mut job = Fixture::new();
    let item = job.find("site");
    job.set(item, "floor_area", "1500 ft2");
    job.set(item, "line_to_line", "240 V");
    job.set(item, "line_to_neutral", "120 V");
    for (id, serves) in [("1", "small_appliance"), ("2", "small_appliance"), ("3", "laundry")] {
        job.item("circuit", id, &[("serves", serves)]);
    }
    job
}

/// The sheet of a name.
fn sheet(fixture: Fixture, code: &Tables, title: &str) -> LoadSheet {
    let job = fixture.job();
    let sheets = load_worksheets(&Ctx::new(&job, code));
    sheets.into_iter().find(|sheet| sheet.title == title).unwrap()
}

fn known(fixture: Fixture) -> Result<(Dwelling, Vec<(ItemIndex, FieldId)>), Gap> {
    let (job, code) = (fixture.job(), Tables::shipped());
    let known = known_dwelling(&Ctx::new(&job, &code), &mut Sheet::none())?;
    let missing = known.missing(Method::Optional);
    Ok((known.dwelling, missing))
}

#[test]
fn the_floor_area_is_summed_from_the_rooms_that_count() {
    let mut job = Fixture::new();
    job.room("K", "kitchen", "20 ft", "10 ft");
    job.room("B", "bedroom", "10 ft", "10 ft");
    for (id, kind) in [("G", "garage"), ("P", "porch"), ("C", "crawl_space"), ("S", "detached_garage")] {
        job.room(id, kind, "20 ft", "20 ft");
    }
    let attic = job.room("A", "attic", "20 ft", "20 ft");
    let (dwelling, missing) = known(job).unwrap();
    // 300 ft² inside and a tenth for walls; an attic of which nobody knows whether it is finished is asked.
    assert_eq!(text(dwelling.floor_area.quantity), "330 ft2");
    assert_eq!(missing, [(attic, room::FINISHED)]);
    let job = Fixture::new();
    let site = job.find("site");
    assert_eq!(known(job).unwrap_err(), Gap::field(site, site::FLOOR_AREA));
}

#[test]
fn what_is_written_for_the_site_stands_before_the_rooms() {
    let mut job = house();
    job.room("K", "kitchen", "20 ft", "10 ft");
    assert_eq!(text(known(job).unwrap().0.floor_area.quantity), "1500 ft2");
}

#[test]
fn a_load_that_is_missing_is_named_and_leaves_the_figure_the_least_it_can_be() {
    let code = Tables::shipped();
    let with = |fields: &[(&str, &str)]| {
        let mut job = house();
        let item = job.item("appliance", "W", fields);
        (item, sheet(job, &code, "standard method"))
    };
    let (_, plain) = with(&[("kind", "water_heater"), ("load", "4500 W")]);
    assert_eq!((va(plain.value.unwrap()), plain.is_at_least()), (9600, false));
    let (item, open) = with(&[("kind", "water_heater")]);
    assert_eq!((va(open.value.unwrap()), open.is_at_least()), (5100, true));
    assert_eq!(open.missing, [(item, appliance::LOAD)]);
    assert!(open.lines.iter().any(|line| line.what.contains("water heater W") && line.total.is_none()));
    // A dryer is never counted below its least.
    let (_, open) = with(&[("kind", "dryer")]);
    assert_eq!((va(open.value.unwrap()), open.is_at_least()), (10_100, true));
}

#[test]
fn one_more_appliance_of_unknown_load_may_make_the_others_count_less() {
    let mut job = house();
    for id in ["A", "B", "C"] {
        job.item("appliance", id, &[("kind", "water_heater"), ("load", "1000 W")]);
    }
    job.item("appliance", "D", &[("kind", "dishwasher")]);
    // 5100 VA and 75 % of 3000 VA: with a fourth of 500 W it is 5100 + 2625, never less than this.
    assert_eq!(va(sheet(job, &Tables::shipped(), "standard method").value.unwrap()), 7350);
}

#[test]
fn an_appliance_that_may_or_may_not_be_fastened_is_asked_and_blocks_nothing() {
    let mut job = house();
    let item = job.item("appliance", "M", &[("kind", "microwave"), ("load", "1500 W")]);
    let sheet = sheet(job, &Tables::shipped(), "standard method");
    assert_eq!((va(sheet.value.unwrap()), sheet.missing), (5100, vec![(item, appliance::FASTENED)]));
}

#[test]
fn an_appliance_with_its_own_circuit_counts_in_the_optional_method() {
    let code = Tables::shipped();
    let optional = |fields: &[(&str, &str)], serves: &str| {
        let mut job = house();
        job.item("circuit", "9", &[("serves", serves)]);
        let item = job.item("appliance", "F", fields);
        (item, sheet(job, &code, "optional method"))
    };
    let fields = [("kind", "refrigerator"), ("load", "800 W"), ("circuit", "9")];
    // 9000 VA and the nameplate, none of it beyond the first part.
    assert_eq!(va(optional(&fields, "dedicated").1.value.unwrap()), 9800);
    assert_eq!(va(optional(&fields, "small_appliance").1.value.unwrap()), 10_000 + (10_500 - 10_000) * 2 / 5);
    let (item, open) = optional(&[("kind", "refrigerator"), ("circuit", "9")], "dedicated");
    assert_eq!((va(open.value.unwrap()), open.missing), (9000, vec![(item, appliance::LOAD)]));
    let (item, open) = optional(&[("kind", "refrigerator"), ("load", "800 W")], "dedicated");
    assert_eq!(open.missing, [(item, appliance::CIRCUIT)]);
}

#[test]
fn a_range_on_the_voltage_of_an_igniter_is_no_electric_range() {
    let mut job = house();
    job.item("appliance", "R", &[("kind", "range"), ("load", "600 W"), ("voltage", "120 V"), ("circuit", "1")]);
    assert_eq!(va(sheet(job, &Tables::shipped(), "standard method").value.unwrap()), 5100);
}

#[test]
fn what_is_needed_stands_beside_what_is_installed() {
    let says = |rating: Option<&str>, heater: Option<&str>| {
        let mut job = house();
        let site = job.find("site");
        if let Some(rating) = rating {
            job.set(site, "service_rating", rating);
        }
        job.item("appliance", "H", &[("kind", "furnace"), ("voltage", "240 V"), ("load", "30 kW")]);
        let mut other = vec![("kind", "water_heater")];
        other.extend(heater.map(|load| ("load", load)));
        job.item("appliance", "W", &other);
        sheet(job, &Tables::shipped(), "service").installed.unwrap().sentence()
    };
    // 10,000 VA + 40 % of 3500 VA + 65 % of 30 kW = 30,900 VA, 129 A.
    assert_eq!(says(Some("150 A"), Some("4500 W")), "needs 150 A; 150 A installed: enough");
    assert_eq!(says(Some("125 A"), Some("4500 W")), "needs 150 A; 125 A installed: too small");
    assert_eq!(says(None, Some("4500 W")), "needs 150 A; rating of the service not recorded");
    assert_eq!(says(Some("200 A"), None), "needs at least 125 A; 200 A installed: open until every load is recorded");
    // What is known alone is too much.
    assert_eq!(says(Some("100 A"), None), "needs at least 125 A; 100 A installed: too small");
}

#[test]
fn a_charger_is_a_general_load_of_the_optional_method_where_the_edition_has_it_there() {
    let of = |code: &Tables| {
        let mut job = house();
        job.item("appliance", "E", &[("kind", "ev_charger"), ("load", "11520 W")]);
        va(sheet(job, code, "optional method").value.unwrap())
    };
    assert_eq!(of(&Tables::shipped()), 10_000 + 10_520 * 2 / 5);
    assert_eq!(of(&Tables::shipped().without("load.optional_general")), 9000 + 11_520);
}

#[test]
fn the_voltage_between_the_lines_is_that_of_the_two_pole_circuits_where_nothing_else_says_it() {
    let with = |voltages: &[&str]| {
        let mut job = Fixture::new();
        for (at, voltage) in voltages.iter().enumerate() {
            job.item("circuit", &format!("C{at}"), &[("voltage", voltage)]);
        }
        let (job, code) = (job.job(), Tables::shipped());
        load_voltage(&Ctx::new(&job, &code)).map(|voltage| text(voltage.quantity))
    };
    assert_eq!(with(&["120 V", "240 V", "240 V"]).unwrap(), "240 V");
    assert!(with(&["120 V"]).is_err() && with(&["208 V", "240 V"]).is_err());
}
