//! Feeders, services, buildings and electrodes against public tables and published examples, through real inspections of whole jobs.
//!
//! Ampacities and standard ratings: those of `conductors.rs`. Share of 83 percent: 310.15(B)(7) of 2017 and 310.12 of 2020, quoted on the
//! page of a trade school ("2/0 … 175 amperes … 200 … multiplied by 83% equals 166"). Table 250.66: a public course page ("500 kcmil copper …
//! 1/0") and the public copies of the table. Rods and footing: a continuing-education page on 250.66(A) and (B). Grounds that grow: the
//! example of the handbook (300 A, 250 to 350 kcmil: 4 AWG grows to 2 AWG), retold on the page of a training company, and another of an
//! engineer's page (3/0 AWG to 500 kcmil: 6 AWG grows to 1 AWG). Building with one circuit: the exception of 250.32(A), quoted on a forum.
//! Resistances: chapter 9, Table 8, public copies.

use storystick_engine::calc::Sheet;
use storystick_engine::calc::protection::enlarged_ground;
use storystick_engine::inspection::finding::Outcome;
use storystick_engine::quantity::Dimension;

use crate::codes::{awg, bare, book, q};
use crate::conductors::{RATINGS, TABLE, job_at_top, next, outcome};

/// A house and a building behind it, each with a panel, and a feeder with these fields.
fn lot(to: &str, site: &str, feeder: &str) -> String {
    job_at_top(&format!(
        "building = [{{ id = \"house\", kind = \"main\" }}, {{ id = \"shop\", kind = \"detached\" }}]\n\
         panel = [{{ id = \"P1\", building = \"house\" }}, {{ id = \"P2\", building = \"house\" }}, {{ id = \"P3\", building = \"shop\" }}]\n\
         feeder = [{{ id = \"F\", from = \"P1\", to = \"{to}\", wiring_method = \"in_raceway\", others_beside = 0, {feeder} }}]\n"
    ))
    .split_once("[[")
    .map(|(keys, items)| format!("{site}\n{keys}[[{items}"))
    .unwrap()
}

/// A service whose conductors are larger than any feeder here.
const LARGE: &str = "service_rating = \"400 A\"\nservice_material = \"copper\"\nservice_conductor = \"750 kcmil\"\n";

#[test]
fn a_feeder_stands_behind_the_next_standard_rating_and_no_larger_one() {
    for (size, [_, copper, _, aluminum]) in TABLE {
        for (material, ampacity) in [("copper", copper), ("aluminum", aluminum)] {
            let [fits, larger] = next(ampacity);
            for (rating, expected) in [(fits, Outcome::Met), (larger, Outcome::Correction)] {
                let wires = format!(
                    "size = \"{size}\", material = \"{material}\", terminals = \"75 degC\", insulation = \"75 degC\", \
                     ambient = \"30 degC\", breaker = \"{rating} A\", is_whole = false"
                );
                let job = lot("P3", LARGE, &wires);
                let found = outcome("feeder-conductors-fit-breaker", &job);
                assert_eq!(found, Some(expected), "{size} {material} on {rating} A");
                if expected == Outcome::Met {
                    let found = outcome("feeder-conductors-fit-breaker-where-they-run", &job);
                    assert_eq!(found, Some(Outcome::Met), "{size} {material} on {rating} A");
                }
            }
        }
    }
}

#[test]
fn a_feeder_for_a_whole_dwelling_carries_eighty_three_percent_and_no_less() {
    let mut tried = 0;
    for rating in RATINGS.into_iter().filter(|rating| (100..=400).contains(rating)) {
        for (material, column) in [("copper", 1), ("aluminum", 3)] {
            // Where the table of ampacities ends here, no size is known to be the least.
            let enough = |row: &(&str, [u32; 4])| f64::from(row.1[column]) >= 0.83 * f64::from(rating);
            let Some(least) = TABLE.iter().position(enough) else { continue };
            for (at, allowed) in [(least, true), (least - 1, false)] {
                let size = TABLE[at].0;
                let wires = format!(
                    "size = \"{size}\", material = \"{material}\", terminals = \"75 degC\", insulation = \"90 degC\", \
                     ambient = \"30 degC\", breaker = \"{rating} A\", is_whole = true"
                );
                let job = lot("P2", LARGE, &wires);
                let found = outcome("feeder-conductors-fit-breaker", &job);
                assert_eq!(found != Some(Outcome::Correction), allowed, "{size} {material} on {rating} A: {found:?}");
                let found = outcome("feeder-conductors-fit-breaker-where-they-run", &job);
                assert_ne!(found, Some(Outcome::Correction), "{size} {material} on {rating} A: {found:?}");
                // The same wires to a building that is no dwelling carry no whole dwelling.
                let [fits, _] = next(TABLE[at].1[column]);
                if fits < rating {
                    let found = outcome("feeder-conductors-fit-breaker", &lot("P3", LARGE, &wires));
                    assert_eq!(found, Some(Outcome::Correction), "{size} {material} on {rating} A to a shop");
                }
                tried += 1;
            }
        }
    }
    assert!(tried >= 40, "{tried}");
}

/// Factor for the surroundings of insulation for 75 and 90 degC: Table 310.15(B)(2)(a), 310.15(B)(1) since 2020, public copies.
const WARM: [(&str, f64, f64); 4] =
    [("30 degC", 1.0, 1.0), ("35 degC", 0.94, 0.96), ("40 degC", 0.88, 0.91), ("50 degC", 0.75, 0.82)];

#[test]
fn in_warm_places_the_share_counts_after_the_correction() {
    // Ampacity at 75 and 90 degC, from the same public table.
    let wires = [
        ("4 AWG", "copper", 85.0, 95.0, 100.0),
        ("2 AWG", "aluminum", 90.0, 100.0, 100.0),
        ("2/0 AWG", "copper", 175.0, 195.0, 200.0),
    ];
    let mut fail = 0;
    for (size, material, at_75, at_90, rating) in wires {
        for (ambient, by_75, by_90) in WARM {
            for (insulation, carried) in [("75 degC", at_75 * by_75), ("90 degC", f64::min(at_90 * by_90, at_75))] {
                let allowed = carried >= 0.83 * rating;
                fail += usize::from(!allowed);
                let job = format!(
                    "new_service = true\nservice_rating = \"{rating} A\"\nservice_material = \"{material}\"\n\
                     service_conductor = \"{size}\"\nservice_insulation = \"{insulation}\"\nambient = \"{ambient}\"\n"
                );
                let found = outcome("service-conductors-carry-share-where-they-run", &job);
                let expected = if allowed { Outcome::Met } else { Outcome::Correction };
                assert_eq!(found, Some(expected), "service of {size} {material}, {insulation}, at {ambient}");
                let feeder = format!(
                    "size = \"{size}\", material = \"{material}\", terminals = \"75 degC\", insulation = \"{insulation}\", \
                     ambient = \"{ambient}\", breaker = \"{rating} A\", is_whole = true"
                );
                let found = outcome("feeder-conductors-fit-breaker-where-they-run", &lot("P2", LARGE, &feeder));
                let expected = if allowed { Outcome::Excepted } else { Outcome::Correction };
                assert_eq!(found, Some(expected), "feeder of {size} {material}, {insulation}, at {ambient}");
            }
        }
    }
    // Among them 4 AWG copper and 2 AWG aluminum on 100 A at 50 degC.
    assert!(fail >= 8, "{fail}");
}

/// Sizes of copper electrode conductors, the smallest first.
const ELECTRODE: [&str; 7] = ["10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "2/0 AWG"];

#[test]
fn a_conductor_to_a_water_pipe_goes_by_the_table_and_one_to_rods_or_footing_by_its_end() {
    let table = [
        ("copper", "2 AWG", "8 AWG"),
        ("copper", "1 AWG", "6 AWG"),
        ("copper", "1/0 AWG", "6 AWG"),
        ("copper", "2/0 AWG", "4 AWG"),
        ("copper", "3/0 AWG", "4 AWG"),
        ("copper", "4/0 AWG", "2 AWG"),
        ("copper", "350 kcmil", "2 AWG"),
        ("copper", "400 kcmil", "1/0 AWG"),
        ("copper", "500 kcmil", "1/0 AWG"),
        ("copper", "600 kcmil", "1/0 AWG"),
        ("aluminum", "1/0 AWG", "8 AWG"),
        ("aluminum", "2/0 AWG", "6 AWG"),
        ("aluminum", "3/0 AWG", "6 AWG"),
        ("aluminum", "4/0 AWG", "4 AWG"),
        ("aluminum", "250 kcmil", "4 AWG"),
        ("aluminum", "300 kcmil", "2 AWG"),
        ("aluminum", "500 kcmil", "2 AWG"),
        ("aluminum", "600 kcmil", "1/0 AWG"),
    ];
    let place = |size: &str| ELECTRODE.iter().position(|known| *known == size).unwrap();
    for (material, service, due) in table {
        for (kind, most) in [("water_pipe", "2/0 AWG"), ("rod", "6 AWG"), ("concrete_encased", "4 AWG")] {
            let least = place(due).min(place(most));
            for (at, expected) in [(least, Outcome::Met), (least - 1, Outcome::Correction)] {
                let job = format!(
                    "service_material = \"{material}\"\nservice_conductor = \"{service}\"\n[[electrode]]\nkind = \"{kind}\"\n\
                     conductor = \"{}\"\nconductor_material = \"copper\"\nextends = false\n",
                    ELECTRODE[at]
                );
                let found = outcome("conductor-to-electrode-large-enough", &job);
                assert_eq!(found, Some(expected), "{} to {kind}, {service} {material}", ELECTRODE[at]);
            }
        }
    }
}

#[test]
fn the_ground_of_a_feeder_grows_as_in_published_examples() {
    for (ground, expected) in [("2 AWG", Outcome::Met), ("3 AWG", Outcome::Correction), ("4 AWG", Outcome::Correction)]
    {
        let wires = format!(
            "size = \"350 kcmil\", material = \"copper\", terminals = \"75 degC\", insulation = \"75 degC\", \
             ambient = \"30 degC\", breaker = \"300 A\", ground = \"wire\", ground_size = \"{ground}\", load = \"60000 VA\""
        );
        let found = outcome("feeder-ground-grows-with-wires", &lot("P3", "line_to_line = \"240 V\"\n", &wires));
        assert_eq!(found, Some(expected), "{ground}");
    }
    let code = &*book("us/model-2020");
    let kcmil = q("500 kcmil", Dimension::Conductor);
    let grown = enlarged_ground(awg("6"), bare(awg("3/0")), bare(kcmil), "copper", code, &mut Sheet::none());
    assert_eq!(grown, Ok(awg("1")));
}

#[test]
fn a_building_with_one_circuit_and_a_ground_needs_no_electrode_and_one_with_a_feeder_does() {
    let cases = [
        ("branch_circuit", true, Outcome::Excepted),
        ("multiwire_branch_circuit", true, Outcome::Excepted),
        ("branch_circuit", false, Outcome::Correction),
        ("feeder", true, Outcome::Correction),
    ];
    for (supply, ground, expected) in cases {
        let job = format!(
            "[[building]]\nid = \"shop\"\nkind = \"detached\"\nsupply = \"{supply}\"\nground_run = {ground}\nelectrode = \"none\"\n"
        );
        assert_eq!(outcome("detached-building-has-electrode", &job), Some(expected), "{supply}");
    }
}

#[test]
fn the_drops_of_feeder_and_branch_add_up_along_cable_and_raceway() {
    // Ohms per 1000 ft of uncoated copper: 8 AWG stranded, 12 AWG solid.
    let (feeder, branch) = (0.778, 1.93);
    let of_branch = 2.0 * 60.0 * branch / 1000.0 * 10.0 / 120.0;
    let of_feeder = |feet: f64| 2.0 * feet * feeder / 1000.0 * 40.0 / 240.0;
    let longest = (0.05 - of_branch) / of_feeder(1.0);
    let branches = [
        "[[cable]]\nid = \"C\"\nmake = \"12/2\"\nwiring_method = \"NM\"\nmaterial = \"copper\"\ncircuit = \"1\"\nfrom = \"P3\"\nto = \"B\"\nlength = \"60 ft\"\n",
        "[[raceway]]\nid = \"R\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nfrom = \"P3\"\nto = \"B\"\nlength = \"60 ft\"\n\
         conductor = [{ circuit = \"1\", size = \"12 AWG\", number = 2, insulation = \"THHN\" }]\n",
    ];
    for run in branches {
        for (feet, expected) in [(longest.floor(), Outcome::Met), (longest.ceil(), Outcome::Correction)] {
            let wires = format!("size = \"8 AWG\", material = \"copper\", load = \"9600 VA\", length = \"{feet} ft\"");
            let job = lot("P3", "line_to_line = \"240 V\"\n", &wires);
            let job = format!(
                "{job}\n[[circuit]]\nid = \"1\"\npanel = \"P3\"\nvoltage = \"120 V\"\nother_load = \"1200 VA\"\n[[box]]\nid = \"B\"\n{run}"
            );
            assert_eq!(outcome("voltage-drop-in-all-small", &job), Some(expected), "{feet} ft of feeder");
        }
    }
}
