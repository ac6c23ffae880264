//! What electricians write for the words of the job format: other spellings, and other words of the trade.

/// What a word that is written means among the words of a field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meant {
    /// This word of the field.
    One(&'static str),
    /// One of these; the writer has to say which.
    Several(Vec<&'static str>),
    /// None that is known.
    Nothing,
}

/// Other words of the trade, spelled as [`folded`] spells them, and the words of the job format that they may mean. A word counts only
/// in a field that has what it means. None stands for a smaller or weaker thing than it says.
const SAID: &[(&str, &[&str])] = &[
    // Appliances.
    ("disposal", &["disposer"]),
    ("garbage_disposal", &["disposer"]),
    ("garbage_disposer", &["disposer"]),
    ("ev", &["ev_charger"]),
    ("evse", &["ev_charger"]),
    ("car_charger", &["ev_charger"]),
    ("charger", &["ev_charger"]),
    ("fridge", &["refrigerator"]),
    ("stove", &["range"]),
    ("wall_oven", &["oven"]),
    ("cook_top", &["cooktop"]),
    ("washer", &["clothes_washer"]),
    ("washing_machine", &["clothes_washer"]),
    ("clothes_dryer", &["dryer"]),
    ("hot_water_heater", &["water_heater"]),
    ("hwh", &["water_heater"]),
    ("ac", &["air_conditioner"]),
    ("a/c", &["air_conditioner"]),
    ("air_conditioning", &["air_conditioner"]),
    ("mini_split", &["heat_pump", "air_conditioner"]),
    ("minisplit", &["heat_pump", "air_conditioner"]),
    ("baseboard", &["electric_heat"]),
    ("baseboard_heater", &["electric_heat"]),
    ("wall_heater", &["electric_heat"]),
    ("hood", &["range_hood"]),
    ("compactor", &["trash_compactor"]),
    ("garage_door_opener", &["garage_opener"]),
    ("door_opener", &["garage_opener"]),
    ("jetted_tub", &["whirlpool"]),
    ("hydromassage_tub", &["whirlpool"]),
    // Rooms.
    ("hall", &["hallway"]),
    ("corridor", &["hallway"]),
    ("living", &["living_room"]),
    ("lounge", &["living_room"]),
    ("dining", &["dining_room"]),
    ("family", &["family_room"]),
    ("rec_room", &["recreation_room"]),
    ("game_room", &["recreation_room"]),
    ("playroom", &["recreation_room"]),
    ("bath", &["bathroom"]),
    ("full_bath", &["bathroom"]),
    ("powder_room", &["half_bath"]),
    ("powder", &["half_bath"]),
    ("half_bathroom", &["half_bath"]),
    ("bed", &["bedroom"]),
    ("bed_room", &["bedroom"]),
    ("primary_bedroom", &["bedroom"]),
    ("master_bedroom", &["bedroom"]),
    ("stairs", &["stairway"]),
    ("staircase", &["stairway"]),
    ("stairwell", &["stairway"]),
    ("entry", &["foyer"]),
    ("entryway", &["foyer"]),
    ("laundry_room", &["laundry"]),
    ("utility_room", &["utility"]),
    ("mechanical_room", &["utility"]),
    ("crawlspace", &["crawl_space"]),
    ("crawl", &["crawl_space"]),
    ("study", &["office", "den", "library"]),
    ("shed", &["accessory_building"]),
    ("outbuilding", &["accessory_building"]),
    ("yard", &["outdoors"]),
    ("outside", &["outdoors"]),
    ("exterior", &["outdoors"]),
    // Devices.
    ("outlet", &["receptacle"]),
    ("3_way", &["three_way"]),
    ("4_way", &["four_way"]),
    ("1_pole", &["single_pole"]),
    ("2_pole", &["double_pole", "two_pole"]),
    // Breakers.
    ("double_pole", &["two_pole"]),
    ("twin", &["tandem"]),
    ("half_size", &["tandem"]),
    ("handle_tied", &["tied_singles"]),
    ("listed", &["identified"]),
    ("improvised", &["makeshift"]),
    // Wiring methods.
    ("nm_b", &["NM"]),
    ("nmb", &["NM"]),
    ("uf_b", &["UF"]),
    ("ser", &["SE"]),
    ("seu", &["SE"]),
    ("pvc", &["PVC_40", "PVC_80"]),
    ("rigid", &["RMC"]),
    ("flex", &["FMC", "LFMC", "LFNC"]),
    ("liquidtight", &["LFMC", "LFNC"]),
    // Materials.
    ("cu", &["copper"]),
    ("al", &["aluminum"]),
    ("aluminium", &["aluminum"]),
    // Stages.
    ("rough", &["rough_in"]),
    ("roughin", &["rough_in"]),
    ("trim", &["trim_out"]),
    ("finish", &["trim_out", "final"]),
    // Dwellings.
    ("house", &["one_family"]),
    ("single_family", &["one_family"]),
    ("duplex", &["two_family"]),
    ("apartment", &["multifamily"]),
    ("mobile_home", &["manufactured"]),
    ("manufactured_home", &["manufactured"]),
];

/// Returns a word as it is compared: small letters, with one underscore where people write blanks or dashes.
fn folded(word: &str) -> String {
    let mut folded = String::with_capacity(word.len());
    for part in word.split([' ', '-', '_']).filter(|part| !part.is_empty()) {
        if !folded.is_empty() {
            folded.push('_');
        }
        folded.push_str(&part.to_lowercase());
    }
    folded
}

/// Returns which of a field's words a written one means: the word itself however it is spelled, or what the trade means by it.
pub fn meant(written: &str, words: &'static [&'static str]) -> Meant {
    // Nearly every word is written as the format has it.
    if let Some(word) = words.iter().find(|word| **word == written) {
        return Meant::One(word);
    }
    let said = folded(written);
    if said.is_empty() {
        return Meant::Nothing;
    }
    if let Some(word) = words.iter().find(|word| folded(word) == said) {
        return Meant::One(word);
    }
    let Some((_, all)) = SAID.iter().find(|(word, _)| *word == said) else { return Meant::Nothing };
    let known: Vec<&'static str> = words.iter().copied().filter(|word| all.contains(word)).collect();
    match known.as_slice() {
        [] => Meant::Nothing,
        [one] => Meant::One(one),
        _ => Meant::Several(known),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Schema, Type};

    fn words(kind: &str, field: &str) -> &'static [&'static str] {
        let schema = Schema::dwelling();
        let kind = schema.kind(kind).unwrap();
        match schema.field_spec(kind, schema.field(kind, field).unwrap()).ty {
            Type::Word(words) => words,
            _ => panic!("no words"),
        }
    }

    // Common practice, no source: what crews call these things.
    #[test]
    fn a_word_of_the_trade_means_the_word_of_the_format() {
        for (kind, field, said, means) in [
            ("appliance", "kind", "disposal", "disposer"),
            ("appliance", "kind", "EV", "ev_charger"),
            ("appliance", "kind", "Garage door opener", "garage_opener"),
            ("room", "kind", "living room", "living_room"),
            ("room", "kind", "Hall", "hallway"),
            ("site", "stage", "rough-in", "rough_in"),
            ("site", "stage", "trim", "trim_out"),
            ("device", "action", "3-way", "three_way"),
            ("cable", "wiring_method", "nm-b", "NM"),
            ("raceway_conductor", "insulation", "thhn", "THHN"),
        ] {
            assert_eq!(meant(said, words(kind, field)), Meant::One(means), "{said}");
        }
    }

    #[test]
    fn a_word_with_two_meanings_is_asked_and_a_wire_is_never_taken_for_another() {
        let insulation = words("raceway_conductor", "insulation");
        assert_eq!(meant("THW", insulation), Meant::One("THW"));
        assert_eq!(meant("THWN2", insulation), Meant::Nothing);
        assert_eq!(meant("pvc", words("raceway", "wiring_method")), Meant::Several(vec!["PVC_40", "PVC_80"]));
        assert_eq!(meant("finish", words("site", "stage")), Meant::Several(vec!["trim_out", "final"]));
        assert_eq!(meant("disposal", words("room", "kind")), Meant::Nothing);
        assert_eq!(meant("", insulation), Meant::Nothing);
    }

    #[test]
    fn every_meaning_is_a_word_of_the_format_and_no_word_has_two_rows() {
        let schema = Schema::dwelling();
        let all: Vec<&str> = schema
            .kinds()
            .flat_map(|(_, spec)| &spec.fields)
            .filter_map(|field| if let Type::Word(words) = field.ty { Some(words) } else { None })
            .flatten()
            .copied()
            .collect();
        for (at, (said, means)) in SAID.iter().enumerate() {
            assert_eq!(folded(said), *said);
            assert!(means.iter().all(|word| all.contains(word)), "{said}");
            assert!(SAID.iter().skip(at + 1).all(|(other, _)| other != said), "{said} twice");
        }
    }
}
