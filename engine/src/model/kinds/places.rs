//! Where the work is: the site with its panel and circuits, rooms with walls, openings and counters.

use super::*;

/// What a room is used for, in the trade's words. Which of them a requirement names stands in the rulesets.
pub(super) const ROOM_KINDS: &[&str] = &[
    "kitchen",
    "dining_room",
    "breakfast_room",
    "pantry",
    "living_room",
    "family_room",
    "parlor",
    "library",
    "den",
    "office",
    "bedroom",
    "sunroom",
    "recreation_room",
    "bathroom",
    "half_bath",
    "laundry",
    "utility",
    "hallway",
    "foyer",
    "stairway",
    "closet",
    "storage",
    "garage",
    "detached_garage",
    "carport",
    "workshop",
    "basement",
    "crawl_space",
    "attic",
    "porch",
    "balcony",
    "deck",
    "outdoors",
    "accessory_building",
    "boathouse",
    "indoor_damp",
    "other",
];

kind! {
    /// The site: place, dates, stage, and what holds for the whole dwelling.
    site "site" word "site" Nest::Single("site"), Only {
        NAME_ "name" Type::Text, written(), UNSET, "What the job is called on its papers.";
        PERMIT_DATE "permit_date" q(Dimension::Date), required(), UNSET, "Day of the permit. It decides which edition is in force.";
        APPLICATION_DATE "application_date" q(Dimension::Date), written(), UNSET, "Day the permit was applied for, where that counts.";
        PURCHASE_DATE "purchase_date" q(Dimension::Date), written(), UNSET, "Day the permit was bought, where that counts.";
        MANUFACTURE_DATE "manufacture_date" q(Dimension::Date), written(), UNSET, "Day a manufactured home was made.";
        JURISDICTION "jurisdiction" Type::Text, required(), UNSET, "Ruleset of the place, such as `demo/harlow-county`.";
        EDITION "edition" Type::Text, written(), UNSET, "Ruleset of the edition, where the place leaves a choice on the permit date.";
        SHOP "shop" Type::Text, written(), UNSET, "Ruleset of the shop's own practice.";
        STAGE "stage" Type::Word(&["layout", "rough_in", "trim_out", "final"]), required(), UNSET, "Stage the work has reached.";
        UNITS "units" Type::Word(&["customary", "metric"]), written(), Default::Word("customary"), "Units of the papers.";
        ACCESSIBLE "accessible" Type::Flag, written(), NO, "Whether accessibility requirements apply to the dwelling.";
        DWELLING "dwelling" Type::Word(&["one_family", "two_family", "multifamily", "manufactured", "accessory"]), written(), Default::Word("one_family"), "Kind of dwelling.";
        NEW_WORK "new_work" Type::Flag, written(), YES, "Whether the whole dwelling is wired anew; no for work in an existing one, where what is there already says `existing = true`. Taken as no where something is existing.";
        FLOOR_AREA "floor_area" q(Dimension::Area), written(), UNSET, "Floor area for the load calculation, from outside dimensions.";
        FLOOR_BUILD_UP "floor_build_up" q(Dimension::Length), written(), UNSET, "Finished floor above the subfloor.";
        HEIGHTS_FROM "heights_from" Type::Word(&["finished_floor", "subfloor"]), written(), Default::Word("finished_floor"), "What written heights are measured from.";
        BOARD "board" q(Dimension::Length), written(), UNSET, "Thickness of the wall board.";
        CEILING "ceiling" q(Dimension::Length), written(), UNSET, "Ceiling height where a room states none.";
        AMBIENT "ambient" q(Dimension::Temperature), written(), UNSET, "Highest surrounding temperature of the wiring where nothing else is stated.";
        LINE_TO_NEUTRAL "line_to_neutral" q(Dimension::Voltage), written(), UNSET, "Voltage between an ungrounded conductor and the neutral.";
        LINE_TO_LINE "line_to_line" q(Dimension::Voltage), written(), UNSET, "Voltage between the two ungrounded service conductors.";
        SERVICE_RATING "service_rating" q(Dimension::Current), written(), UNSET, "Rating of the service.";
        SERVICE_CONDUCTOR "service_conductor" q(Dimension::Conductor), written(), UNSET, "Size of the ungrounded service conductors.";
        SERVICE_MATERIAL "service_material" Type::Word(&["copper", "aluminum"]), written(), UNSET, "Material of the service conductors.";
        PERMIT_POSTED "permit_posted" Type::Flag, as_built(), UNSET, "Whether the permit is posted on site.";
        PLANS_ON_SITE "plans_on_site" Type::Flag, as_built(), UNSET, "Whether the approved plans are on site.";
        ADDRESS_POSTED "address_posted" Type::Flag, as_built(), UNSET, "Whether the number can be read from the street.";
        PANELS "panels" list(Type::Item("panel")), inverse("panel", ""), UNSET, "All panels.";
        CIRCUITS "circuits" list(Type::Item("circuit")), inverse("circuit", ""), UNSET, "All circuits.";
        ROOMS "rooms" list(Type::Item("room")), inverse("room", ""), UNSET, "All rooms.";
        COUNTERS "counters" list(Type::Item("counter")), inverse("counter", ""), UNSET, "All counters.";
        BOXES "boxes" list(Type::Item("box")), inverse("box", ""), UNSET, "All boxes.";
        DEVICES "devices" list(Type::Item("device")), inverse("device", ""), UNSET, "All devices.";
        LUMINAIRES "luminaires" list(Type::Item("luminaire")), inverse("luminaire", ""), UNSET, "All luminaires.";
        APPLIANCES "appliances" list(Type::Item("appliance")), inverse("appliance", ""), UNSET, "All appliances.";
        CABLES "cables" list(Type::Item("cable")), inverse("cable", ""), UNSET, "All cables.";
        INSPECTIONS "inspections" list(Type::Item("inspection")), inverse("inspection", ""), UNSET, "All inspections so far.";
        WATER_PIPE_METAL "water_pipe_metal" Type::Flag, written(), UNSET, "Whether the water piping inside is metal.";
        WATER_BOND_SIZE "water_bond_size" q(Dimension::Conductor), as_built(), UNSET, "Size of the copper conductor that bonds metal water piping.";
        GAS_PIPE_BONDED "gas_pipe_bonded" Type::Flag, as_built(), UNSET, "Whether metal gas piping is bonded; no value where there is none.";
        HAS_GAS "has_gas" Type::Flag, written(), UNSET, "Whether there is metal gas piping.";
        GROUND_RODS "ground_rods" q(Dimension::Number), as_built(), UNSET, "Rod electrodes driven.";
        ROD_SPACING "rod_spacing" q(Dimension::Length), as_built(), UNSET, "Least distance between rod electrodes.";
        ROD_LENGTH "rod_length" q(Dimension::Length), as_built(), UNSET, "Length of rod in contact with soil.";
        CONCRETE_ELECTRODE "concrete_electrode" Type::Word(&["connected", "present_unconnected", "none"]), as_built(), UNSET, "Concrete-encased electrode: connected, present but not connected, or none.";
        WATER_ELECTRODE "water_electrode" Type::Word(&["connected", "present_unconnected", "none"]), as_built(), UNSET, "Metal underground water pipe as an electrode: connected, present but not connected, or none.";
        ELECTRODE_CONDUCTOR "electrode_conductor" q(Dimension::Conductor), written(), UNSET, "Size of the copper grounding electrode conductor.";
        MAIN_BONDING_JUMPER "main_bonding_jumper" Type::Flag, as_built(), UNSET, "Whether the main bonding jumper is in at the service.";
        INTERSYSTEM_TERMINAL "intersystem_terminal" Type::Flag, as_built(), UNSET, "Whether a terminal for bonding other systems is fitted at the service.";
        SURGE_PROTECTION "surge_protection" Type::Flag, written(), UNSET, "Whether the service has a surge-protective device.";
        EMERGENCY_DISCONNECT "emergency_disconnect" Type::Flag, written(), UNSET, "Whether there is a marked emergency disconnect outside.";
        NEW_SERVICE "new_service" Type::Flag, written(), UNSET, "Whether the job includes a new or replaced service.";
        SERVICE_CALCULATED "service_calculated" q(Dimension::Current), written(), UNSET, "Calculated load of the service, in amperes.";
        FUEL_OR_GARAGE "fuel_or_garage" Type::Flag, written(), UNSET, "Whether there is a fuel-burning appliance, a fireplace or an attached garage with a door to the dwelling.";
        OCCUPIED_ON "occupied_on" q(Dimension::Date), as_built(), UNSET, "Day the dwelling was occupied or the wiring put to use.";
        WORK_BEGUN_ON "work_begun_on" q(Dimension::Date), as_built(), UNSET, "Day the work began.";
        TEMPORARY_POWER "temporary_power" Type::Flag, written(), NO, "Whether there is a temporary service on site.";
        LOAD_STANDARD "load_standard" q(Dimension::Power), Filled::Derived, UNSET, "Calculated load by the standard method.";
        LOAD_OPTIONAL "load_optional" q(Dimension::Power), Filled::Derived, UNSET, "Calculated load by the optional method.";
        LOAD_NEUTRAL "load_neutral" q(Dimension::Power), Filled::Derived, UNSET, "Load of the neutral by the standard method.";
        SERVICE_LOAD "service_load" q(Dimension::Current), Filled::Derived, UNSET, "Current of the calculated load, by the method that gives less.";
        DIELECTRIC_VOLTAGE "dielectric_voltage" q(Dimension::Voltage), as_built(), UNSET, "Voltage of the dielectric test of a manufactured home.";
        DIELECTRIC_TIME "dielectric_time" q(Dimension::Time), as_built(), UNSET, "How long that voltage was held.";
        DIELECTRIC_HELD "dielectric_held" Type::Flag, as_built(), UNSET, "Whether the wiring held it without breakdown.";
        CONTINUITY_OK "continuity_ok" Type::Flag, as_built(), UNSET, "Whether the continuity test of bonded metal parts passed.";
        OPERATION_OK "operation_ok" Type::Flag, as_built(), UNSET, "Whether every fitting and appliance was tried and works.";
        CHASSIS_BOND "chassis_bond" q(Dimension::Conductor), as_built(), UNSET, "Copper conductor from the panel to the chassis of a manufactured home.";
        SERVICE_INSIDE "service_inside" q(Dimension::Length), as_built(), UNSET, "Length of the service conductors inside, before the first disconnect.";
        SERVICE_METHOD "service_method" Type::Word(&["EMT", "RMC", "IMC", "PVC_40", "PVC_80", "SE", "USE"]), written(), UNSET, "Wiring method of the service conductors.";
        OUTDOOR_DISCONNECT "outdoor_disconnect" Type::Flag, written(), UNSET, "Whether the main disconnect stands outside beside the meter.";
        RACEWAYS "raceways" list(Type::Item("raceway")), inverse("raceway", ""), UNSET, "All raceways.";
        SERVICE_INSULATION "service_insulation" q(Dimension::Temperature), written(), UNSET, "Temperature rating of the insulation of the service conductors in the place where they run.";
        SERVICE_AMBIENT "service_ambient" q(Dimension::Temperature), written(), UNSET, "Highest surrounding temperature along the service conductors, where it is not that of the other wiring.";
        SERVICE_AMPACITY "service_ampacity" q(Dimension::Current), Filled::Derived, UNSET, "Ampacity of the service conductors where they run.";
        MAIN_BONDING_JUMPER_KIND "main_bonding_jumper_kind" Type::Word(&["screw_or_strap", "wire"]), as_built(), UNSET, "Whether the main bonding jumper is the screw or strap that came with the equipment, or a wire.";
        MAIN_BONDING_JUMPER_SIZE "main_bonding_jumper_size" q(Dimension::Conductor), as_built(), UNSET, "Size of a main bonding jumper that is a copper wire.";
        FEEDERS "feeders" list(Type::Item("feeder")), inverse("feeder", ""), UNSET, "All feeders.";
        BUILDINGS "buildings" list(Type::Item("building")), inverse("building", ""), UNSET, "All buildings.";
        ELECTRODES "electrodes" list(Type::Item("electrode")), inverse("electrode", ""), UNSET, "All grounding electrodes.";
    }
}

/// Kinds of breakers.
const BREAKERS: &[&str] = &["single", "two_pole", "tandem", "tied_singles", "quad"];

kind! {
    /// A panel: service equipment or a sub-panel.
    panel "panel" word "panel" Nest::Top("panel"), Required {
        ROOM "room" Type::Item("room"), written(), UNSET, "Room it stands in.";
        RATING "rating" q(Dimension::Current), written(), UNSET, "Rating of the bus.";
        MAIN "main" q(Dimension::Current), written(), UNSET, "Rating of the main breaker.";
        SPACES "spaces" q(Dimension::Number), written(), UNSET, "Breaker spaces.";
        FED_BY "fed_by" Type::Item("panel"), written(), NOTHING, "The panel that feeds a sub-panel; none for service equipment.";
        FEEDER_SIZE "feeder_size" q(Dimension::Conductor), written(), UNSET, "Size of a sub-panel's feeder conductors.";
        HANDLE_HEIGHT "handle_height" q(Dimension::Length), as_built(), UNSET, "Highest breaker handle in its upper position, centre of the grip, above the floor.";
        SPACE_DEPTH "space_depth" q(Dimension::Length), as_built(), UNSET, "Clear depth in front.";
        SPACE_WIDTH "space_width" q(Dimension::Length), as_built(), UNSET, "Clear width in front.";
        SPACE_HEIGHT "space_height" q(Dimension::Length), as_built(), UNSET, "Clear height in front.";
        DOOR_OPENS "door_opens" q(Dimension::Angle), as_built(), UNSET, "How far the door opens.";
        NEUTRAL_ISOLATED "neutral_isolated" Type::Flag, as_built(), UNSET, "Whether the neutral bar is isolated from the enclosure.";
        ONE_NEUTRAL_PER_TERMINAL "one_neutral_per_terminal" Type::Flag, as_built(), UNSET, "Whether every neutral has a terminal of its own.";
        OPENINGS_CLOSED "openings_closed" Type::Flag, as_built(), UNSET, "Whether every unused opening is closed.";
        DIRECTORY_COMPLETE "directory_complete" Type::Flag, as_built(), UNSET, "Whether the directory in the door is filled in for every position.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        CIRCUITS "circuits" list(Type::Item("circuit")), inverse("circuit", "panel"), UNSET, "Circuits it feeds.";
        IS_SUBPANEL "is_subpanel" Type::Flag, Filled::Derived, UNSET, "Whether another panel feeds it.";
        WAY_PAST_OPEN_DOOR "way_past_open_door" q(Dimension::Length), as_built(), UNSET, "Clear width left past its open door.";
        BACK_FED_HELD "back_fed_held" Type::Flag, as_built(), UNSET, "Whether a back-fed plug-in main breaker is held by an added fastener; no value where the main is not back-fed.";
        DEAD_FRONT_ON "dead_front_on" Type::Flag, as_built(), UNSET, "Whether the front is on with all its screws.";
        TORQUE_CHECKED "torque_checked" Type::Flag, as_built(), UNSET, "Whether its terminals were tightened to the marked torque.";
        WALL_GAP "wall_gap" q(Dimension::Length), as_built(), UNSET, "Air space behind it, in a damp or wet place.";
        FEEDER_WIRES "feeder_wires" q(Dimension::Number), written(), UNSET, "Conductors of the feeder, neutral and equipment ground counted.";
        DIRECTORY_SOURCE "directory_source" Type::Flag, as_built(), UNSET, "Whether a sub-panel is marked with where its supply comes from.";
        SPACE_CLEAR "space_clear" Type::Flag, as_built(), UNSET, "Whether the space in front is free of storage.";
        OVER_STAIR "over_stair" Type::Flag, written(), UNSET, "Whether it stands over the steps of a stairway.";
        SPACE_LIT "space_lit" Type::Flag, as_built(), UNSET, "Whether the space in front is lit.";
        BOTTOM "bottom" q(Dimension::Length), as_built(), UNSET, "Its bottom edge above the floor.";
        ELECTRODE "electrode" Type::Word(&["rods", "concrete", "water_pipe", "other", "none"]), as_built(), UNSET, "Grounding electrode of the building that it stands in, where that is not the building of the service.";
        FEEDER_MATERIAL "feeder_material" Type::Word(&["copper", "aluminum", "copper_clad_aluminum"]), written(), UNSET, "Material of the feeder's conductors.";
        FEEDER_METHOD "feeder_method" Type::Word(&["NM", "UF", "AC", "MC", "SE", "in_raceway"]), written(), UNSET, "Kind of cable of its feeder, or that it runs in a raceway.";
        FEEDER_BREAKER "feeder_breaker" q(Dimension::Current), written(), UNSET, "Rating of the breaker that its feeder starts from.";
        FEEDER_IS_WHOLE "feeder_is_whole" Type::Flag, written(), UNSET, "Whether its feeder carries the whole load of the dwelling, as between a disconnect at the meter and the panel inside.";
        FEEDER_BREAKER_LIMIT "feeder_breaker_limit" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect its feeder in the best of places.";
        LEG_1_LOAD "leg_1_load" q(Dimension::Power), Filled::Derived, UNSET, "Stated load of the circuits on its leg 1; a two-pole circuit counts half on each leg.";
        LEG_2_LOAD "leg_2_load" q(Dimension::Power), Filled::Derived, UNSET, "Stated load of the circuits on its leg 2; a two-pole circuit counts half on each leg.";
        LEG_DIFFERENCE "leg_difference" q(Dimension::Power), Filled::Derived, UNSET, "By how much one of its legs is loaded more than the other.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; its circuits are existing too unless they say otherwise or feed something new.";
        REPLACES "replaces" Type::Flag, written(), NO, "Whether it takes the place of an older panel.";
        FREE_POSITIONS "free_positions" list(q(Dimension::Number)), written(), UNSET, "Breaker positions of an existing panel that are free for new circuits.";
        BUILDING "building" Type::Item("building"), written(), NOTHING, "Building that it stands in or on; that of its room, where the room names one.";
        FEEDERS "feeders" list(Type::Item("feeder")), inverse("feeder", "to"), UNSET, "Feeders that end at it.";
        IS_IN_RING "is_in_ring" Type::Flag, Filled::Derived, UNSET, "Whether the panels that feed it, one after the other, lead back to one of them.";
        TANDEM_POSITIONS "tandem_positions" list(q(Dimension::Number)), written(), UNSET, "Positions that its label lets a tandem or quad breaker into; an empty list for a panel that takes none.";
        MOST_POLES "most_poles" q(Dimension::Number), written(), UNSET, "Most breaker poles that its label allows, tandem halves counted; as many as spaces where the label says nothing.";
        NEUTRAL_TERMINALS "neutral_terminals" q(Dimension::Number), written(), UNSET, "Screws of its neutral bars.";
        GROUND_TERMINALS "ground_terminals" q(Dimension::Number), written(), UNSET, "Screws of its ground bars.";
        PLUG_ON_NEUTRAL "plug_on_neutral" Type::Flag, written(), UNSET, "Whether its GFCI and AFCI breakers plug onto a neutral rail and have no white pigtail.";
        GROUNDS_ALLOWED "grounds_allowed" q(Dimension::Number), written(), UNSET, "Grounds of one size that its label allows under one screw of the ground bar.";
        GROUNDS_PER_TERMINAL "grounds_per_terminal" q(Dimension::Number), as_built(), UNSET, "Most grounds under one screw of its bars.";
        BREAKER_NEUTRALS_LANDED "breaker_neutrals_landed" Type::Flag, as_built(), UNSET, "Whether the neutral of every circuit with a GFCI or AFCI breaker lands on that breaker, and no such neutral on the bar.";
        LANDINGS "landings" list(Type::Item("panel_landing")), inverse("panel_landing", "panel"), UNSET, "Conductors that somebody saw land in it.";
        SPACES_TAKEN "spaces_taken" q(Dimension::Number), Filled::Derived, UNSET, "Spaces that its breakers take; two halves of a tandem breaker take one.";
        NEUTRALS_APART "neutrals_apart" Type::Flag, Filled::Derived, UNSET, "Whether every neutral has a terminal of its own: as its landings show, else as `one_neutral_per_terminal` says.";
        BARS_APART "bars_apart" Type::Flag, Filled::Derived, UNSET, "Whether neutrals and grounds are on bars of their own and the neutral bar is isolated: as its landings show, else as `neutral_isolated` says.";
        NEUTRALS_ON_BREAKERS "neutrals_on_breakers" Type::Flag, Filled::Derived, UNSET, "Whether the neutrals of circuits with GFCI and AFCI breakers land on those breakers: as its landings show, else as `breaker_neutrals_landed` says.";
        GROUNDS_UNDER_SCREW "grounds_under_screw" q(Dimension::Number), Filled::Derived, UNSET, "Most grounds under one screw: as its landings show, else as `grounds_per_terminal` says.";
    }
}

kind! {
    /// A branch circuit.
    circuit "circuit" word "circuit" Nest::Top("circuit"), Required {
        PANEL "panel" Type::Item("panel"), written(), UNSET, "Panel it starts from. With a single panel it need not be written.";
        POSITIONS "positions" list(q(Dimension::Number)), written(), UNSET, "Breaker positions it takes in the panel.";
        RATING "rating" q(Dimension::Current), written(), UNSET, "Rating of its breaker.";
        POLES "poles" q(Dimension::Number), written(), Default::Number(1), "Poles of its breaker.";
        VOLTAGE "voltage" q(Dimension::Voltage), written(), UNSET, "Its voltage.";
        GFCI "gfci" Type::Flag, written(), NO, "Whether its breaker protects people against ground faults (class A).";
        AFCI "afci" Type::Flag, written(), NO, "Whether its breaker protects against arcing faults.";
        SERVES "serves" Type::Word(&["general", "lighting", "small_appliance", "laundry", "bathroom", "garage", "outdoors", "heating", "dedicated", "feeder", "spare"]), written(), UNSET, "Its purpose.";
        LABEL "label" Type::Text, written(), UNSET, "Its line in the circuit directory.";
        MULTIWIRE_WITH "multiwire_with" Type::Item("circuit"), written(), NOTHING, "Circuit that shares its neutral.";
        COMMON_TRIP "common_trip" Type::Flag, written(), UNSET, "Whether the circuits of a multiwire branch circuit open together.";
        CONTINUOUS_LOAD "continuous_load" q(Dimension::Power), written(), UNSET, "Load expected to run for three hours or more.";
        OTHER_LOAD "other_load" q(Dimension::Power), written(), UNSET, "Other load, where its appliances and luminaires do not state it.";
        CABLES "cables" list(Type::Item("cable")), inverse("cable", "circuit"), UNSET, "Its cables.";
        DEVICES "devices" list(Type::Item("device")), inverse("device", "circuit"), UNSET, "Its devices.";
        LUMINAIRES "luminaires" list(Type::Item("luminaire")), inverse("luminaire", "circuit"), UNSET, "Its luminaires.";
        APPLIANCES "appliances" list(Type::Item("appliance")), inverse("appliance", "circuit"), UNSET, "Its appliances.";
        SMALLEST_CONDUCTOR "smallest_conductor" q(Dimension::Conductor), Filled::Derived, UNSET, "Smallest ungrounded conductor in its cables.";
        LEG "leg" q(Dimension::Number), Filled::Derived, UNSET, "Leg of the panel that its first position is on, 1 or 2; positions 1 and 2 are on leg 1, 3 and 4 on leg 2, and so on.";
        NEUTRAL_PIGTAILED "neutral_pigtailed" Type::Flag, as_built(), UNSET, "Whether the neutral of a multiwire circuit is spliced, so that no device carries it on.";
        GROUPED "grouped" Type::Flag, as_built(), UNSET, "Whether the conductors of a multiwire circuit are tied together in the panel.";
        VOLTAGE_DROP "voltage_drop" q(Dimension::Ratio), Filled::Derived, UNSET, "Largest voltage drop between panel and any of its points, as a share of its voltage.";
        FORM "form" Type::Word(&["radial", "ring"]), written(), UNSET, "Whether a final circuit is a radial or a ring.";
        AREA_SERVED "area_served" q(Dimension::Area), written(), UNSET, "Floor area that its sockets serve.";
        WIRING_GAPS "wiring_gaps" q(Dimension::Number), Filled::Derived, UNSET, "Functions without a conductor, and boxes without a cable; known once it has a cable.";
        IS_FOLLOWED "is_followed" Type::Flag, Filled::Derived, UNSET, "Whether it is wired up whole, so that its current could be followed in every position of its switches.";
        WIRING_FAULTS "wiring_faults" q(Dimension::Number), Filled::Derived, UNSET, "Mistakes found by following its current.";
        NEUTRAL_IS_OWN "neutral_is_own" Type::Flag, Filled::Derived, UNSET, "Whether its neutral is joined to no other circuit's neutral and to no ground past the service.";
        IS_FREE_OF_SHORTS "is_free_of_shorts" Type::Flag, Filled::Derived, UNSET, "Whether its hot is joined to no neutral, ground or other circuit in any position of the switches.";
        LOAD "load" q(Dimension::Power), Filled::Derived, UNSET, "Load that the job states for it: luminaires, appliances, and what it states itself.";
        LOAD_COUNTED "load_counted" q(Dimension::Power), Filled::Derived, UNSET, "That load with what is continuous raised by the margin of the code in force.";
        RACEWAYS "raceways" list(Type::Item("raceway")), inverse("raceway", "circuits"), UNSET, "Raceways that hold its conductors.";
        TANDEM "tandem" Type::Flag, written(), NO, "Whether its breaker is one half of a tandem breaker, which shares a position with the other half.";
        FEEDS "feeds" Type::Item("panel"), written(), NOTHING, "Panel that a feeder goes to.";
        TERMINALS "terminals" q(Dimension::Temperature), written(), UNSET, "Temperature that its breaker and all that it feeds are marked for; where they are not, the code says what to take.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its panel where nothing is written and nothing new is on it.";
        VOLTAGE_DROP_IN_ALL "voltage_drop_in_all" q(Dimension::Ratio), Filled::Derived, UNSET, "Its largest voltage drop and that of the feeder of its panel together, as a share of the voltage.";
        BREAKER "breaker" Type::Word(BREAKERS), written(), UNSET, "Kind of its breaker, where `poles` and `tandem` do not say it: `two_pole` for the two circuits of a multiwire circuit on one breaker, `tied_singles` for single breakers with a handle tie, `tandem` for one of two circuits in one space, `quad` for one of the circuits of a breaker with four handles in two spaces.";
        HANDLE_TIE "handle_tie" Type::Word(&["identified", "makeshift", "none"]), as_built(), UNSET, "What joins the handles of its single breakers: a tie that is made and listed for them, something makeshift such as a wire or a nail, or nothing.";
        BREAKER_TAKES_NEUTRAL "breaker_takes_neutral" Type::Flag, written(), UNSET, "Whether its GFCI or AFCI breaker has a terminal for the neutral of the circuit; some AFCI breakers have none.";
        IS_TANDEM "is_tandem" Type::Flag, Filled::Derived, UNSET, "Whether its breaker is one half of a tandem breaker: by `breaker`, else by `tandem`.";
        IS_QUAD "is_quad" Type::Flag, Filled::Derived, UNSET, "Whether its breaker is part of a quad breaker: four handles in two spaces.";
        OPENS_AS_ONE "opens_as_one" Type::Flag, Filled::Derived, UNSET, "Whether one breaker by itself opens all its hots and those of the circuit that shares its neutral; not known for a multiwire circuit of which nobody wrote `breaker`.";
    }
}

kind! {
    /// A room, or an area that the code treats like one.
    room "room" word "room" Nest::Top("room"), Required {
        NAME_ "name" Type::Text, written(), UNSET, "Its name on the papers; the id is used where none is given.";
        KIND "kind" Type::Word(ROOM_KINDS), required(), UNSET, "What it is used for.";
        STOREY "storey" q(Dimension::Number), written(), Default::Number(1), "Storey: 0 for a basement, 1 for the ground floor.";
        LENGTH "length" q(Dimension::Length), written(), UNSET, "Length of a rectangular room: its north and south walls are made from it.";
        WIDTH "width" q(Dimension::Length), written(), UNSET, "Width of a rectangular room: its east and west walls are made from it.";
        CEILING "ceiling" q(Dimension::Length), written(), UNSET, "Ceiling height.";
        AREA "area" q(Dimension::Area), written(), UNSET, "Floor area, where it is not length times width.";
        FINISHED "finished" Type::Flag, written(), MAY_BE_UNFINISHED, "Whether it is finished as living space.";
        DAMP "damp" Type::Word(&["dry", "damp", "wet"]), written(), Default::Word("dry"), "Moisture of the place.";
        RISERS "risers" q(Dimension::Number), written(), UNSET, "Risers of a stairway.";
        CAR_SPACES "car_spaces" q(Dimension::Number), written(), UNSET, "Vehicle bays of a garage.";
        HAS_SINK "has_sink" Type::Flag, written(), SINK_IN_A_WORK_ROOM, "Whether there is a sink or basin in it.";
        HAS_TUB_OR_SHOWER "has_tub_or_shower" Type::Flag, written(), TUB_IN_A_BATHROOM, "Whether there is a bathtub or shower in it.";
        HAS_EXTERIOR_DOOR "has_exterior_door" Type::Flag, written(), NO, "Whether a door leads outside at grade.";
        HAS_STORAGE "has_storage" Type::Flag, written(), STORED_IN, "Whether an attic, crawl space or basement is used for storage or holds equipment to be serviced.";
        HAS_EQUIPMENT "has_equipment" Type::Flag, written(), STORED_IN, "Whether heating or cooling equipment stands in it.";
        POWERED "powered" Type::Flag, written(), YES, "Whether a detached building has electric power.";
        COVERED_ON "covered_on" q(Dimension::Date), as_built(), UNSET, "Day its walls were closed.";
        WALLS "walls" list(Type::Item("wall")), inverse("wall", "room"), UNSET, "Its walls, in order.";
        OPENINGS "openings" list(Type::Item("opening")), inverse("opening", "room"), UNSET, "Its openings.";
        COUNTERS "counters" list(Type::Item("counter")), inverse("counter", "room"), UNSET, "Its counters.";
        BOXES "boxes" list(Type::Item("box")), inverse("box", "room"), UNSET, "Boxes in it.";
        DEVICES "devices" list(Type::Item("device")), inverse("device", "room"), UNSET, "Devices in it.";
        LUMINAIRES "luminaires" list(Type::Item("luminaire")), inverse("luminaire", "room"), UNSET, "Luminaires in it.";
        APPLIANCES "appliances" list(Type::Item("appliance")), inverse("appliance", "room"), UNSET, "Appliances in it.";
        FLOOR_AREA "floor_area" q(Dimension::Area), Filled::Derived, UNSET, "Floor area, written or computed from the walls.";
        WALL_UNCOVERED "wall_uncovered" q(Dimension::Length), Filled::Derived, UNSET, "Longest distance of a point of the required floor line from its nearest receptacle.";
        LONGEST_BARE_WALL "longest_bare_wall" q(Dimension::Length), Filled::Derived, UNSET, "Longest unbroken wall space without any receptacle that counts.";
        RECEPTACLES_COUNTED "receptacles_counted" q(Dimension::Number), Filled::Derived, UNSET, "Receptacles in it that count as its outlets.";
        CENTRE_LINE "centre_line" q(Dimension::Length), Filled::Derived, UNSET, "Length of a hallway along its centre line.";
        INSPECTIONS "inspections" list(Type::Item("inspection")), inverse("inspection", "room"), UNSET, "Inspections of this room alone.";
        HAS_FOOD_SINK "has_food_sink" Type::Flag, written(), FOOD_AT_A_SINK, "Whether there is a sink with permanent provision to prepare food or drink.";
        OUTSIDE_ACCESS "outside_access" Type::Flag, written(), YES, "Whether a balcony, deck or porch is attached and reached from inside.";
        RACEWAYS "raceways" list(Type::Item("raceway")), inverse("raceway", "rooms"), UNSET, "Raceways with an end in it.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work, which this job leaves as it is; its walls, boxes and appliances are existing too unless they say otherwise.";
        BUILDING "building" Type::Item("building"), written(), UNSET, "Building that it is in. A room of the house itself need not name one.";
        BASINS "basins" list(Type::Item("basin")), inverse("basin", "room"), UNSET, "Its basins, where each is written with its place.";
        BASIN_COUNT "basin_count" q(Dimension::Number), written(), UNSET, "How many basins a bathroom has, where they are not written one by one.";
        BASINS_SERVED "basins_served" Type::Flag, as_built(), UNSET, "Whether each of several basins has a receptacle within reach of its edge, where they are not written one by one.";
        HAS_LAUNDRY "has_laundry" Type::Flag, written(), LAUNDRY_IN_A_WORK_ROOM, "Whether a washer or dryer stands or is hooked up in it.";
    }
}

kind! {
    /// A wall of a room. Walls follow each other round the room, with the room on the right-hand side.
    wall "wall" word "wall" Nest::Inside { parent: "room", keys: &["wall"], many: true, short: None }, Made {
        NAME_ "name" Type::Text, written(), UNSET, "Its name in the room: `north`.";
        ROOM "room" Type::Item("room"), Filled::Nesting, UNSET, "Its room.";
        LENGTH "length" q(Dimension::Length), required(), UNSET, "Length along the floor.";
        TURN "turn" q(Dimension::Angle), written(), Default::Amount(90_000_000), "Turn to the right at its end; negative where the room has an outer corner.";
        KIND "kind" Type::Word(&["wall", "railing", "fixed_panel", "open"]), written(), Default::Word("wall"), "A wall, a railing or fixed panel that counts as one, or an open side that does not.";
        SURFACE "surface" Type::Word(&["combustible", "noncombustible"]), written(), Default::Word("noncombustible"), "Whether the finished surface burns.";
        BOARD "board" q(Dimension::Length), written(), UNSET, "Thickness of all its finish layers.";
        FIRST_STUD "first_stud" q(Dimension::Length), written(), UNSET, "Centre of the first stud from the wall's start.";
        STUD_SPACING "stud_spacing" q(Dimension::Length), written(), UNSET, "Stud spacing, centre to centre.";
        STUD_DEPTH "stud_depth" q(Dimension::Length), written(), UNSET, "Depth of the studs.";
        OPENINGS "openings" list(Type::Item("opening")), inverse("opening", "wall"), UNSET, "Its openings.";
        BOXES "boxes" list(Type::Item("box")), inverse("box", "wall"), UNSET, "Boxes on it.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its room where nothing is written.";
    }
}

kind! {
    /// An opening or fixture that interrupts a wall.
    opening "opening" word "opening" Nest::Inside { parent: "room", keys: &["opening"], many: true, short: None }, Made {
        NAME_ "name" Type::Text, written(), UNSET, "Its name in the room.";
        ROOM "room" Type::Item("room"), Filled::Nesting, UNSET, "Its room.";
        WALL "wall" Type::Item("wall"), required(), UNSET, "Wall it is in.";
        KIND "kind" Type::Word(&["door", "doorway", "sliding_door", "vehicle_door", "window", "fireplace", "fixed_cabinet", "sliding_panel", "tub", "shower", "stair"]), required(), UNSET, "What it is.";
        AT "at" q(Dimension::Length), required(), UNSET, "Its near edge, from the wall's start.";
        WIDTH "width" q(Dimension::Length), required(), UNSET, "Its width.";
        SILL "sill" q(Dimension::Length), written(), UNSET, "Its lower edge above the floor; none for one that reaches the floor.";
        HEIGHT "height" q(Dimension::Length), written(), UNSET, "Its height.";
        LATCH "latch" Type::Word(&["start", "end"]), written(), UNSET, "Side of a door's latch: towards the wall's start or end.";
        TO "to" Type::Item("room"), written(), UNSET, "Room it leads to.";
        OUTDOORS "outdoors" Type::Flag, written(), NO, "Whether it leads outside.";
        LIT_BY "lit_by" Type::Item("luminaire"), written(), UNSET, "Luminaire that lights the outside of an exterior door.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its room where nothing is written.";
    }
}

kind! {
    /// A basin of a bathroom.
    basin "basin" word "basin" Nest::Inside { parent: "room", keys: &["basin"], many: true, short: None }, Made {
        NAME_ "name" Type::Text, written(), UNSET, "Its name in the room.";
        ROOM "room" Type::Item("room"), Filled::Nesting, UNSET, "Its room.";
        WALL "wall" Type::Item("wall"), written(), UNSET, "Wall it stands against.";
        AT "at" q(Dimension::Length), written(), UNSET, "Its near edge, from the wall's start.";
        WIDTH "width" q(Dimension::Length), written(), UNSET, "Its width, edge to edge.";
        FROM_RECEPTACLE "from_receptacle" q(Dimension::Length), written(), UNSET, "Distance from its edge to the nearest receptacle. It is computed for a receptacle on its wall where none is written.";
        RECEPTACLE_DISTANCE "receptacle_distance" q(Dimension::Length), Filled::Derived, UNSET, "Distance from its edge to the nearest receptacle, as written or along its wall.";
    }
}

kind! {
    /// A counter or work surface.
    counter "counter" word "counter" Nest::Inside { parent: "room", keys: &["counter"], many: true, short: None }, Made {
        NAME_ "name" Type::Text, written(), UNSET, "Its name in the room.";
        ROOM "room" Type::Item("room"), Filled::Nesting, UNSET, "Its room.";
        KIND "kind" Type::Word(&["wall", "island", "peninsula"]), required(), UNSET, "Along a wall, free-standing, or joined at one end.";
        WALL "wall" Type::Item("wall"), written(), UNSET, "Wall it stands against.";
        AT "at" q(Dimension::Length), written(), UNSET, "Its start along the wall.";
        LENGTH "length" q(Dimension::Length), required(), UNSET, "Its length.";
        DEPTH "depth" q(Dimension::Length), written(), UNSET, "Its depth.";
        HEIGHT "height" q(Dimension::Length), written(), UNSET, "Its top above the finished floor.";
        PROVISION "provision" Type::Flag, written(), UNSET, "Whether a later receptacle is provided for, where no receptacle is required.";
        BREAKS "breaks" list(Type::Item("counter_break")), inverse("counter_break", "counter"), UNSET, "What interrupts it.";
        DEVICES "devices" list(Type::Item("device")), inverse("device", "counter"), UNSET, "Receptacles that serve it.";
        WALL_UNCOVERED "wall_uncovered" q(Dimension::Length), Filled::Derived, UNSET, "Longest distance of a point of its wall line from its nearest receptacle, over every stretch that counts.";
        AREA "area" q(Dimension::Area), Filled::Derived, UNSET, "Its area.";
        RECEPTACLES_NEEDED "receptacles_needed" q(Dimension::Number), Filled::Derived, UNSET, "Receptacles that an island or peninsula needs by its size; none for a counter along a wall.";
        RECEPTACLES_COUNTED "receptacles_counted" q(Dimension::Number), Filled::Derived, UNSET, "Receptacles that serve it and count.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its room where nothing is written.";
    }
}

kind! {
    /// A sink, range or cooktop in a counter.
    counter_break "counter_break" word "gap" Nest::Inside { parent: "counter", keys: &["break"], many: true, short: None }, Made {
        COUNTER "counter" Type::Item("counter"), Filled::Nesting, UNSET, "Its counter.";
        KIND "kind" Type::Word(&["sink", "range", "cooktop", "refrigerator"]), required(), UNSET, "What it is.";
        AT "at" q(Dimension::Length), required(), UNSET, "Its near edge from the counter's start.";
        WIDTH "width" q(Dimension::Length), required(), UNSET, "Its width.";
        BEHIND "behind" q(Dimension::Length), written(), UNSET, "Depth of counter behind it.";
    }
}
