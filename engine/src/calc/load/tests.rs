use super::*;
use crate::calc::testing::{Fixture, Tables};
use crate::calc::{Ctx, Gap};
use crate::model::kinds::{appliance, site};
use crate::quantity::parse;

fn va(load: i64) -> Traced {
    Traced::new(Dimension::Power, load * 1_000_000, Span::new(5, 2))
}

fn loads(all: &[i64]) -> Vec<Apparatus> {
    all.iter().enumerate().map(|(at, load)| Apparatus::new(format!("appliance {at}"), va(*load))).collect()
}

fn ft2(area: i64) -> Traced {
    let area = parse(&format!("{area} ft2"), Dimension::Area).unwrap();
    Traced { quantity: area, span: Span::new(7, 2) }
}

fn in_va(amount: i64) -> i64 {
    assert_eq!(amount % 1_000_000, 0, "{amount}");
    amount / 1_000_000
}

fn cooking(all: &[i64]) -> Result<i64, Problem> {
    cooking_demand(&loads(all), &Tables::shipped(), &mut Sheet::new()).map(in_va)
}

#[test]
fn one_range_goes_by_its_column_and_grows_by_each_major_part_of_a_step() {
    assert_eq!(cooking(&[12_000]), Ok(8000));
    assert_eq!(cooking(&[9000]), Ok(8000));
    assert_eq!(cooking(&[15_000]), Ok(9200));
    assert_eq!(cooking(&[12_400]), Ok(8000));
    assert_eq!(cooking(&[12_500]), Ok(8400));
    assert_eq!(cooking(&[27_000]), Ok(14_000));
    assert!(cooking(&[27_001]).unwrap_err().message.contains("27001 VA"));
}

#[test]
fn small_cooking_appliances_may_go_by_their_sum_where_that_gives_less() {
    // One of 8 kW: 80 % of it is less than the column's 8 kVA.
    assert_eq!(cooking(&[8000]), Ok(6400));
    // An oven and a cooktop: 65 % of the sum.
    assert_eq!(cooking(&[5000, 6500]), Ok(7475));
    // Up to the least rating there is no reduction.
    assert_eq!(cooking(&[1500]), Ok(1500));
    assert_eq!(cooking(&[1500, 12_000]), Ok(9500));
    assert_eq!(cooking(&[]), Ok(0));
    assert!(cooking(&[4000; 11]).unwrap_err().message.contains("11 cooking appliances"));
}

#[test]
fn unlike_ranges_go_by_their_average_with_none_below_the_column() {
    // 16 kW and 10 kW: (16 + 12) / 2 = 14, two steps over 12: 11 kVA × 1.10.
    assert_eq!(cooking(&[16_000, 10_000]), Ok(12_100));
}

#[test]
fn the_general_load_is_reduced_step_by_step() {
    let code = Tables::shipped();
    let of = |load: i64| in_va(general_demand(load * 1_000_000, &code, &mut Sheet::new()).unwrap());
    assert_eq!(of(2000), 2000);
    assert_eq!(of(3000), 3000);
    assert_eq!(of(11_000), 5800);
    assert_eq!(of(120_000), 43_950);
    assert_eq!(of(140_000), 48_950);
}

#[test]
fn fewer_circuits_than_the_code_asks_for_count_as_many_as_it_asks_for() {
    let code = Tables::shipped();
    let of = |small: i64, laundry: i64| {
        let dwelling = Dwelling { small_appliance: small, laundry, ..Dwelling::of(ft2(1000)) };
        in_va(general_load(&dwelling, &code, &mut Sheet::new()).unwrap())
    };
    assert_eq!(of(0, 0), 7500);
    assert_eq!(of(2, 1), 7500);
    assert_eq!(of(3, 2), 10_500);
}

#[test]
fn four_large_fastened_appliances_are_reduced_and_small_ones_neither_count_nor_shrink() {
    let code = Tables::shipped();
    let of = |all: &[i64]| in_va(fastened_demand(&loads(all), &code, &mut Sheet::new()).unwrap());
    assert_eq!(of(&[800; 3]), 2400);
    assert_eq!(of(&[800; 4]), 2400);
    assert_eq!(of(&[800, 800, 800, 400]), 2800);
    assert_eq!(of(&[800, 800, 800, 800, 400]), 2800);
}

#[test]
fn a_dryer_counts_at_least_its_least() {
    let code = Tables::shipped();
    let of = |all: &[i64]| in_va(dryer_demand(&loads(all), &code, &mut Sheet::new()).unwrap());
    assert_eq!(of(&[4500]), 5000);
    assert_eq!(of(&[5500]), 5500);
    assert_eq!(of(&[5000; 5]), 21_250);
    assert!(dryer_demand(&loads(&[5000; 11]), &code, &mut Sheet::new()).is_err());
}

#[test]
fn a_charger_counts_its_nameplate_or_the_least_of_the_edition() {
    let dwelling = Dwelling { chargers: loads(&[5000]), ..Dwelling::of(ft2(1000)) };
    let of = |code: &Tables| in_va(standard_load(&dwelling, code, &mut Sheet::none()).unwrap().chargers.amount());
    assert_eq!(of(&Tables::shipped()), 5000);
    assert_eq!(of(&Tables::shipped().with("[load.charger_least]\nvalue = \"7200 VA\"")), 7200);
}

#[test]
fn the_largest_motor_of_the_season_that_counts_is_enlarged() {
    let code = Tables::shipped();
    let motor = |load: i64| Apparatus { motor: true, ..Apparatus::new("motor", va(load)) };
    let dwelling = |cooling: i64, heat: i64| Dwelling {
        fastened: vec![motor(800)],
        climate: Climate { cooling: vec![motor(cooling)], central: loads(&[heat]), ..Climate::default() },
        ..Dwelling::of(ft2(1000))
    };
    let of = |dwelling: Dwelling| in_va(standard_load(&dwelling, &code, &mut Sheet::none()).unwrap().motor.amount());
    assert_eq!(of(dwelling(4000, 10_000)), 200);
    assert_eq!(of(dwelling(4000, 3000)), 1000);
}

#[test]
fn negative_loads_and_areas_are_faults_at_their_place() {
    let code = Tables::shipped();
    let negative = Dwelling { fastened: loads(&[-1]), ..Dwelling::of(ft2(1000)) };
    let fault = standard_load(&negative, &code, &mut Sheet::none()).unwrap_err();
    assert_eq!((fault.message.as_str(), fault.span), ("a load cannot be negative", Span::new(5, 2)));
    let fault = standard_load(&Dwelling::of(ft2(-5)), &code, &mut Sheet::none()).unwrap_err();
    assert_eq!(fault.span, Span::new(7, 2));
}

#[test]
fn a_service_is_a_standard_rating_of_at_least_the_least() {
    let code = Tables::shipped();
    let volts = Traced::new(Dimension::Voltage, 240_000_000, Span::NONE);
    let of = |load: i64| service_for(va(load).quantity, volts, &code, &mut Sheet::new()).unwrap();
    let amps = |text: &str| parse(text, Dimension::Current).unwrap();
    assert_eq!(of(13_100).rating, amps("100 A"));
    assert_eq!((of(24_100).current.counted, of(24_100).rating), (amps("100 A"), amps("100 A")));
    assert_eq!((of(24_120).current.counted, of(24_120).rating), (amps("101 A"), amps("110 A")));
    assert!(service_for(va(1_000_000).quantity, volts, &code, &mut Sheet::new()).is_err());
}

#[test]
fn without_a_table_of_dwelling_services_the_share_of_the_rating_decides() {
    let rating = |text: &str| Traced { quantity: parse(text, Dimension::Current).unwrap(), span: Span::NONE };
    let with = Tables::shipped();
    let without = Tables::shipped().without("service.copper").without("service.aluminum");
    for (amps, copper, aluminum) in [
        ("100 A", "4 AWG", "2 AWG"),
        ("125 A", "2 AWG", "1/0 AWG"),
        ("150 A", "1 AWG", "2/0 AWG"),
        ("200 A", "2/0 AWG", "4/0 AWG"),
    ] {
        for (material, size) in [("copper", copper), ("aluminum", aluminum)] {
            let size = parse(size, Dimension::Conductor).unwrap();
            for code in [&with, &without] {
                let found = service_conductor(rating(amps), material, code, &mut Sheet::new()).unwrap();
                assert_eq!(found.0, size, "{amps} {material}");
            }
        }
    }
}

/// A house of 1500 ft² with a 12 kW range and a 5.5 kW dryer.
fn house() -> Fixture {
    let mut job = Fixture::new();
    let item = job.find("site");
    job.set(item, "floor_area", "1500 ft2");
    job.set(item, "line_to_line", "240 V");
    job.set(item, "line_to_neutral", "120 V");
    for (id, serves) in [("1", "small_appliance"), ("2", "small_appliance"), ("3", "laundry"), ("4", "general")] {
        job.item("circuit", id, &[("serves", serves)]);
    }
    job.item("circuit", "5", &[("serves", "dedicated"), ("poles", "2")]);
    job.item("appliance", "A1", &[("kind", "range"), ("load", "12 kW"), ("circuit", "5")]);
    job.item("appliance", "A2", &[("kind", "dryer"), ("load", "5.5 kW"), ("circuit", "5")]);
    job
}

#[test]
fn a_house_of_a_job_is_figured_by_both_methods() {
    let mut fixture = house();
    fixture.item("appliance", "A3", &[("kind", "refrigerator")]);
    fixture.item(
        "appliance",
        "A4",
        &[("kind", "disposer"), ("current", "8 A"), ("circuit", "4"), ("is_motor", "true")],
    );
    let (job, code) = (fixture.job(), Tables::shipped());
    let ctx = Ctx::new(&job, &code);
    let dwelling = dwelling_of_job(&ctx, Method::Standard).unwrap();
    assert_eq!((dwelling.small_appliance, dwelling.laundry), (2, 1));
    assert_eq!(dwelling.fastened[0].load.quantity, va(960).quantity);
    assert!(dwelling.fastened[0].to_neutral && !dwelling.cooking[0].to_neutral);
    let load = standard_load(&dwelling, &code, &mut Sheet::new()).unwrap();
    // 5100 + 8000 + 5500 + 960 + 240
    assert_eq!(in_va(load.total.amount()), 19_800);
    let neutral = neutral_load(&dwelling, load_voltage(&ctx).unwrap(), &code, &mut Sheet::new()).unwrap();
    // 5100 + 5600 + 3850 + 960 + 240
    assert_eq!(in_va(neutral.load.amount()), 15_750);
}

#[test]
fn electric_heat_beside_a_heat_pump_runs_together_with_it() {
    let mut fixture = house();
    fixture.item("appliance", "H1", &[("kind", "heat_pump"), ("load", "5760 VA")]);
    fixture.item("appliance", "H2", &[("kind", "electric_heat"), ("load", "15 kW")]);
    fixture.item("appliance", "H3", &[("kind", "furnace"), ("load", "600 VA"), ("is_motor", "true")]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let dwelling = dwelling_of_job(&Ctx::new(&job, &code), Method::Standard).unwrap();
    assert_eq!(
        (dwelling.climate.units.len(), dwelling.climate.supplement.len(), dwelling.climate.with_both.len()),
        (0, 1, 1)
    );
    assert_eq!(optional_climate(&dwelling.climate, &code, &mut Sheet::new()).map(in_va), Ok(16_110));
}

#[test]
fn what_a_house_lacks_is_named_all_at_once() {
    let mut fixture = Fixture::new();
    let site_item = fixture.find("site");
    let range = fixture.item("appliance", "A1", &[("kind", "range")]);
    let other = fixture.item("appliance", "A2", &[("kind", "microwave"), ("load", "1 kW")]);
    let (job, code) = (fixture.job(), Tables::shipped());
    let gap = dwelling_of_job(&Ctx::new(&job, &code), Method::Standard).unwrap_err();
    let expected = vec![(site_item, site::FLOOR_AREA), (range, appliance::LOAD), (other, appliance::FASTENED)];
    assert_eq!(gap, Gap::Missing(expected));
}
