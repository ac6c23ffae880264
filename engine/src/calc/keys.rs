//! Which entries of the code computations and papers ask for: told without running any of them, for reports on rulesets.

/// The entries by name, sorted. `*` stands for a word that comes from the job or from another entry (a material, an insulation, a
/// wiring method), `#` for a whole number.
const ASKED: &[&str] = &[
    "ampacity.*_#",
    "ampacity.*_75",
    "ampacity.ambient_*",
    "ampacity.base_ambient",
    "ampacity.bundle_exempt",
    "ampacity.bundling",
    "ampacity.bundling_beyond",
    "ampacity.factors_from",
    "ampacity.formula",
    "ampacity.insulated_limit",
    "ampacity.insulated_limit_up_to",
    "ampacity.insulation",
    "ampacity.jacket_asked",
    "ampacity.material",
    "ampacity.method_limit",
    "ampacity.roof_adder",
    "ampacity.roof_clearance",
    "ampacity.roof_exempt",
    "ampacity.sealed_cables",
    "ampacity.unadjusted",
    "ampacity.unjacketed",
    "ampacity.unjacketed_most",
    "ampacity.unjacketed_size",
    "ampacity.wire_dry",
    "ampacity.wire_wet",
    "appliance.by_cord",
    "appliance.may_burn_gas",
    "appliance.other_voltage",
    "appliance.shares_circuit",
    "appliance.usual_rating",
    "appliance.usual_voltage",
    "bath.from_basin",
    "box_fill.allowance",
    "box_fill.clamps",
    "box_fill.conductor",
    "box_fill.counted_by_gang",
    "box_fill.device",
    "box_fill.fitting",
    "box_fill.fixture_wire",
    "box_fill.ground_made",
    "box_fill.ground_made_in",
    "box_fill.grounds",
    "box_fill.grounds_each_further",
    "box_fill.grounds_first",
    "box_fill.isolated_grounds",
    "box_fill.looped",
    "box_fill.nonmetallic.gangs_#",
    "box_fill.on_yoke",
    "box_fill.standard_boxes",
    "box_fill.terminal_block",
    "box_fill.through",
    "circuit.charger_factor",
    "circuit.continuous_factor",
    "circuit.cooking",
    "circuit.cord_share",
    "circuit.general_ratings",
    "circuit.heat_factor",
    "circuit.range_from",
    "circuit.range_rating",
    "circuit.smallest_*",
    "circuit.standard_ratings",
    "circuit.two_pole_from",
    "circuit.water_heater_factor",
    "circuits.nominal_voltage",
    "circuits.standard_sizes",
    "conductor.*_*",
    "conductor.*_coefficient",
    "conductor.*_of_mm2",
    "conductor.*_table_coefficient",
    "conductor.lay",
    "conductor.material",
    "conductor.reference_temperature",
    "conductor.solid_to",
    "conductor.table_temperature",
    "counter.first_area",
    "counter.further_area",
    "counter.highest_above",
    "counter.lowest_below",
    "counter.reach",
    "counter.shortest",
    "coverage.breaks",
    "coverage.counter_behind_corner",
    "coverage.counter_behind_least",
    "coverage.counter_below_kinds",
    "coverage.counter_breaks",
    "coverage.counter_receptacles_count",
    "coverage.counts_as_wall",
    "coverage.floor_within",
    "coverage.island_by_area",
    "coverage.island_least_long",
    "coverage.island_least_short",
    "coverage.island_required",
    "coverage.rating_most",
    "coverage.receptacle_highest",
    "coverage.switched_not_counted",
    "coverage.voltage_most",
    "coverage.wall_space_least",
    "device.duplex_pitch",
    "ground.aluminum_for_copper",
    "ground.as_large_as_itself",
    "ground.electrode_*",
    "ground.enough_for",
    "ground.equipment_*",
    "heights.mark",
    "hole.edge_distance",
    "load.area_if_finished",
    "load.area_left_out",
    "load.area_of_walls",
    "load.central_kinds",
    "load.charger_kinds",
    "load.charger_least",
    "load.cooking_a",
    "load.cooking_a_below",
    "load.cooking_b",
    "load.cooking_b_to",
    "load.cooking_c",
    "load.cooking_c_to",
    "load.cooking_kinds",
    "load.cooking_least",
    "load.cooking_most",
    "load.cooking_step",
    "load.cooking_step_factor",
    "load.cooling_kinds",
    "load.covered_kinds",
    "load.dryer_demand",
    "load.dryer_kinds",
    "load.dryer_least",
    "load.existing_first",
    "load.existing_rest",
    "load.fastened_count",
    "load.fastened_factor",
    "load.fastened_kinds",
    "load.fastened_least",
    "load.fraction_dropped",
    "load.general_beyond",
    "load.general_demand",
    "load.heat_pump_kinds",
    "load.heater_kinds",
    "load.heating_factor",
    "load.laundry",
    "load.laundry_least",
    "load.lighting",
    "load.motor_factor",
    "load.motor_kinds",
    "load.neutral_cooking",
    "load.neutral_over",
    "load.neutral_over_factor",
    "load.optional_central",
    "load.optional_cooling",
    "load.optional_first",
    "load.optional_general",
    "load.optional_heat_pump",
    "load.optional_rest",
    "load.optional_supplement",
    "load.optional_units_few",
    "load.optional_units_many",
    "load.optional_units_many_from",
    "load.service_share",
    "load.small_appliance",
    "load.small_appliance_least",
    "load.to_neutral_most",
    "load.with_both_kinds",
    "make_up.connector_#_awg",
    "make_up.pigtail",
    "nm.cables",
    "nm.routes_without_staples",
    "nm.secured_along_run",
    "panel.grounds_unmarked",
    "panel.multi_pole_voltage",
    "panel.neighbors_apart",
    "protection.*_max",
    "protection.egc_upsized_for_derating",
    "protection.motor",
    "protection.next_up_to",
    "protection.terminal_large",
    "protection.terminal_marked",
    "protection.terminal_small",
    "protection.terminal_small_rating",
    "protection.terminal_small_to",
    "raceway.area_*",
    "raceway.fill",
    "raceway.fill_nipple",
    "raceway.insulation",
    "raceway.nipple_length",
    "raceway.round_up_from",
    "raceway.wire_*",
    "reach.forward.deep_high",
    "reach.forward.depth_max",
    "reach.forward.shallow_depth",
    "reach.forward.shallow_high",
    "reach.high",
    "reach.low",
    "reach.side.deep_high",
    "reach.side.depth_max",
    "reach.side.free_depth",
    "reach.side.obstruction_height",
    "receptacle.contacts",
    "receptacle.general_use",
    "receptacle.general_voltage",
    "receptacle.one_hot",
    "receptacle.ratings",
    "receptacle.two_hots",
    "receptacle.two_hots_neutral",
    "receptacle.wall_reach",
    "service.*",
    "service.smallest",
    "takeoff.coil",
    "takeoff.slack_at_box",
    "takeoff.slack_at_panel",
    "takeoff.waste",
    "tamper.configurations",
    "tamper.ratings",
    "tests.gfci_trip_high",
    "tests.gfci_trip_low",
    "tests.ground_continuity_most",
    "tests.insulation_least",
    "tests.insulation_voltage",
    "tests.leg_voltage_high",
    "tests.leg_voltage_low",
    "tests.neutral_to_ground_most",
    "tests.voltage_high",
    "tests.voltage_low",
    "tubing.secured_along_run",
    "voltage_drop.temperature",
];

/// Returns whether some computation or paper may ask the code for an entry of this name.
pub fn may_ask(key: &str) -> bool {
    ASKED.iter().any(|pattern| fits(pattern, key))
}

fn fits(pattern: &str, key: &str) -> bool {
    let Some(at) = pattern.find(['*', '#']) else { return pattern == key };
    let (before, rest) = pattern.split_at(at);
    let (Some(left), Some(after)) = (key.strip_prefix(before), rest.get(1..)) else { return false };
    let stands_for = |c: char| if rest.starts_with('#') { c.is_ascii_digit() } else { c != '.' };
    let most = left.find(|c| !stands_for(c)).unwrap_or(left.len());
    (1..=most).any(|len| left.get(len..).is_some_and(|tail| fits(after, tail)))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use super::*;

    /// Returns the texts in sources that look like names of entries, blanks of formats as in [`ASKED`].
    fn written(folder: &Path, found: &mut BTreeSet<String>) {
        let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        for path in paths {
            if path.is_dir() {
                if !path.ends_with("tests") {
                    written(&path, found);
                }
                continue;
            }
            if path.ends_with("tests.rs") || path.ends_with("testing.rs") || path.ends_with("keys.rs") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let text = text.split("mod tests {").next().unwrap();
            let lines = text.lines().filter(|line| !line.trim_start().starts_with("//"));
            found.extend(lines.flat_map(|line| line.split('"').skip(1).step_by(2)).filter_map(pattern));
        }
    }

    fn pattern(text: &str) -> Option<String> {
        let mut out = String::new();
        let mut rest = text;
        while let Some((before, after)) = rest.split_once('{') {
            let (blank, after) = after.split_once('}')?;
            out.push_str(before);
            out.push(if matches!(blank, "degrees" | "gangs" | "gauge") { '#' } else { '*' });
            rest = after;
        }
        out.push_str(rest);
        let word = |part: &str| {
            !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "_*#".contains(c))
        };
        let first = out.split('.').next()?.starts_with(|c: char| c.is_ascii_lowercase());
        (first && out.contains('.') && out.split('.').all(word)).then_some(out)
    }

    #[test]
    fn the_list_is_what_the_sources_say() {
        let mut found = BTreeSet::new();
        for part in ["calc", "sheet"] {
            written(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(part), &mut found);
        }
        // The beginnings of names that are put together from a name and an ending.
        let ended = |key: &str| ["least", "first", "rest"].map(|end| format!("{key}_{end}"));
        let listed: BTreeSet<String> = ASKED.iter().map(|key| (*key).to_owned()).collect();
        for key in &found {
            let put_together = ended(key).iter().any(|key| listed.contains(key));
            assert!(listed.contains(key) || put_together, "`{key}` is not in the list");
        }
        for key in &listed {
            let put_together = found.iter().any(|known| ended(known).contains(key));
            assert!(found.contains(key) || put_together, "no source names `{key}`");
        }
        assert!(ASKED.is_sorted());
    }

    #[test]
    fn blanks_stand_for_words_and_numbers() {
        assert!(may_ask("ampacity.copper_60") && may_ask("raceway.wire_thhn") && may_ask("load.laundry_least"));
        assert!(may_ask("box_fill.nonmetallic.gangs_2") && !may_ask("box_fill.nonmetallic.gangs_"));
        assert!(!may_ask("ampacity.copper_hot") && !may_ask("nm.secured_from_box") && !may_ask("raceway.area_"));
    }
}
