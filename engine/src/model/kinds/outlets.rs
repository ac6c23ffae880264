//! Boxes, the devices and luminaires in them, and appliances.

use super::*;

/// Configurations of receptacles by the open standard NEMA WD 6; those without a ground are in existing work alone.
pub(super) const CONFIGURATIONS: &[&str] = &[
    "as_wired", "1-15R", "5-15R", "5-20R", "6-15R", "6-20R", "6-30R", "6-50R", "10-30R", "10-50R", "14-20R", "14-30R",
    "14-50R", "14-60R", "L5-15R", "L5-20R", "L5-30R", "L6-15R", "L6-20R", "L6-30R", "L14-20R", "L14-30R", "TT-30R",
];

kind! {
    /// A box.
    outlet_box "box" word "box" Nest::Top("box"), Required {
        ROOM "room" Type::Item("room"), written(), UNSET, "Room it is in.";
        WALL "wall" Type::Item("wall"), written(), UNSET, "Wall it is on.";
        PURPOSE "purpose" Type::Word(&["switch", "receptacle", "counter_receptacle", "luminaire", "ceiling_fan", "appliance", "junction", "thermostat", "alarm", "outdoor_receptacle"]), written(), UNSET, "What it is for; a shop's heights go by it.";
        MOUNTED "mounted" Type::Word(&["wall", "ceiling", "floor", "counter", "cabinet"]), written(), Default::Word("wall"), "What it is mounted in.";
        ALONG "along" q(Dimension::Length), written(), UNSET, "Its centre from the wall's start.";
        FROM_WALL "from_wall" q(Dimension::Length), written(), UNSET, "Distance of a floor box from the wall.";
        KEY_HEIGHT "height" q(Dimension::Length), written(), UNSET, "Height of its centre above the finished floor. Give one of `height`, `top` and `bottom`.";
        TOP "top" q(Dimension::Length), written(), UNSET, "Height of its top edge.";
        BOTTOM "bottom" q(Dimension::Length), written(), UNSET, "Height of its bottom edge.";
        BODY_HEIGHT "body_height" q(Dimension::Length), written(), UNSET, "Its own height, top to bottom edge.";
        BODY_DEPTH "body_depth" q(Dimension::Length), written(), UNSET, "Its own depth.";
        GANGS "gangs" q(Dimension::Number), written(), Default::Number(1), "Number of gangs.";
        SHAPE "shape" Type::Text, written(), UNSET, "Trade size in the table of standard boxes, such as `4 x 1-1/2 square`, where no volume is marked.";
        VOLUME "volume" q(Dimension::Volume), written(), UNSET, "Volume marked in it.";
        RING_VOLUME "ring_volume" q(Dimension::Volume), written(), UNSET, "Volume marked on its extension or plaster ring.";
        MATERIAL "material" Type::Word(&["metal", "nonmetallic"]), written(), UNSET, "Its material.";
        CLAMPS "clamps" Type::Flag, written(), UNSET, "Whether there are cable clamps inside it.";
        FIXTURE_STUDS "fixture_studs" q(Dimension::Number), written(), Default::Number(0), "Kinds of stud or hickey in it: 0, 1 or 2.";
        FIXTURE_WIRES "fixture_wires" q(Dimension::Number), written(), Default::Number(0), "Luminaire wires that enter it and count.";
        FIXTURE_WIRE_SIZE "fixture_wire_size" q(Dimension::Conductor), written(), UNSET, "Size of those wires.";
        PASSING_THROUGH "passing_through" q(Dimension::Number), written(), Default::Number(0), "Insulated conductors that run through without splice or terminal.";
        LOOPED "looped" q(Dimension::Number), written(), Default::Number(0), "Of those, how many keep a loop long enough to be spliced later.";
        TERMINAL_BLOCKS "terminal_blocks" q(Dimension::Number), written(), Default::Number(0), "Terminal blocks in it.";
        SET_BACK "set_back" q(Dimension::Length), as_built(), UNSET, "How far its front edge lies behind the finished surface.";
        GAP "gap" q(Dimension::Length), as_built(), UNSET, "Widest gap in the finish round it.";
        OPENING_LEAST "opening_least" q(Dimension::Length), written(), UNSET, "Least dimension of its opening.";
        FAN_RATED "fan_rated" Type::Flag, written(), UNSET, "Whether it is marked for a ceiling fan.";
        LUMINAIRE_RATED "luminaire_rated" Type::Flag, written(), UNSET, "Whether it is made to carry a luminaire.";
        WEIGHT_RATING "weight_rating" q(Dimension::Mass), written(), UNSET, "Weight it is marked to carry.";
        WET_RATED "wet_rated" Type::Flag, written(), UNSET, "Whether it is listed for wet places.";
        ACCESSIBLE_AFTER "accessible_after" Type::Flag, as_built(), UNSET, "Whether it can be reached without damage to the building once finished.";
        SECURED "secured" Type::Flag, as_built(), UNSET, "Whether it is fastened and square.";
        GROUNDED "grounded" Type::Flag, as_built(), UNSET, "Whether a metal box is joined to the equipment grounding conductors.";
        GROUNDS_MADE_UP "grounds_made_up" Type::Flag, as_built(), UNSET, "Whether the equipment grounds are spliced with their tails ready.";
        UNUSED_CLOSED "unused_closed" Type::Flag, as_built(), UNSET, "Whether every unused opening is closed.";
        COVER_ON "cover_on" Type::Flag, as_built(), UNSET, "Whether it has its cover, plate or canopy.";
        REACH "reach" Type::Word(&["forward", "side"]), written(), UNSET, "How a person in a wheelchair reaches what is in it.";
        OBSTRUCTION_DEPTH "obstruction_depth" q(Dimension::Length), written(), UNSET, "Depth of what must be reached over; none if nothing is in the way.";
        OBSTRUCTION_HEIGHT "obstruction_height" q(Dimension::Length), written(), UNSET, "Height of what must be reached over.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        DEVICES "devices" list(Type::Item("device")), inverse("device", "box"), UNSET, "Devices in it.";
        LUMINAIRES "luminaires" list(Type::Item("luminaire")), inverse("luminaire", "box"), UNSET, "Luminaires on it.";
        ENDS "ends" list(Type::Item("cable_end")), inverse("cable_end", "box"), UNSET, "Cable ends in it.";
        CENTRE "centre" q(Dimension::Length), Filled::Derived, UNSET, "Height of its centre above the finished floor, from whichever height is written.";
        TOP_EDGE "top_edge" q(Dimension::Length), Filled::Derived, UNSET, "Height of its top edge above the finished floor.";
        BOTTOM_EDGE "bottom_edge" q(Dimension::Length), Filled::Derived, UNSET, "Height of its bottom edge above the finished floor.";
        CAPACITY "capacity" q(Dimension::Volume), Filled::Derived, UNSET, "Its volume with rings: marked, or from the table of standard boxes.";
        FILL "fill" q(Dimension::Volume), Filled::Derived, UNSET, "Volume that its conductors, devices, clamps and fittings need.";
        PASSING_SIZE "passing_size" q(Dimension::Conductor), written(), UNSET, "Size of the conductors that run through.";
        PROUD "proud" q(Dimension::Length), as_built(), UNSET, "How far its front edge stands out from the framing before the finish goes on.";
        WHOLE "whole" Type::Flag, as_built(), UNSET, "Whether it is undamaged.";
        OBSTRUCTION "obstruction" Type::Word(&["counter", "cabinet", "washer_or_dryer", "other"]), written(), UNSET, "What must be reached over.";
        SPLICES "splices" q(Dimension::Number), Filled::Derived, UNSET, "Splices in it, those with pigtails among them.";
        GROUNDS_SPLICED "grounds_spliced" Type::Flag, Filled::Derived, UNSET, "Whether all equipment grounding conductors in it are joined, with every green screw and a metal box itself.";
        LOOSE_CONDUCTORS "loose_conductors" q(Dimension::Number), Filled::Derived, UNSET, "Conductors that are written as built neither in a joint nor with a cap; none in a box whose make-up is derived.";
        RACEWAYS "raceways" list(Type::Item("raceway")), inverse("raceway", "boxes"), UNSET, "Raceways that end at it.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its room where nothing is written.";
    }
}

kind! {
    /// A device: switch, receptacle, control or alarm.
    device "device" word "device" Nest::Top("device"), Required {
        BOX "box" Type::Item("box"), written(), UNSET, "Box that holds it.";
        ROOM "room" Type::Item("room"), written(), UNSET, "Its room; that of its box where none is written.";
        CIRCUIT "circuit" Type::Item("circuit"), written(), UNSET, "Circuit that feeds it.";
        KIND "kind" Type::Word(&["receptacle", "switch", "dimmer", "fan_control", "timer", "occupancy_sensor", "thermostat", "disconnect", "smoke_alarm", "co_alarm", "doorbell", "blank"]), required(), UNSET, "What it is.";
        ACTION "action" Type::Word(&["single_pole", "double_pole", "three_way", "four_way"]), written(), UNSET, "Action of a switch.";
        RATING "rating" q(Dimension::Current), written(), UNSET, "Its rating.";
        VOLTAGE "voltage" q(Dimension::Voltage), written(), UNSET, "Its voltage.";
        CONFIGURATION "configuration" Type::Word(CONFIGURATIONS), written(), Default::Word("as_wired"), "Configuration of a receptacle by NEMA WD 6; `as_wired` where the papers take it from the circuit and its wires.";
        CONTACTS "contacts" q(Dimension::Number), written(), UNSET, "Contact devices on its yoke: 2 for a duplex receptacle, 1 for a single one.";
        GANGS "gangs" q(Dimension::Number), written(), Default::Number(1), "Gangs it takes.";
        GFCI "gfci" Type::Flag, written(), NO, "Whether the device itself is a ground-fault circuit interrupter.";
        GFCI_FROM "gfci_from" Type::Item("device"), written(), NOTHING, "GFCI device upstream that protects it through its load terminals.";
        AFCI "afci" Type::Flag, written(), NO, "Whether the device itself protects against arcing faults.";
        TAMPER_RESISTANT "tamper_resistant" Type::Flag, written(), UNSET, "Whether it is marked tamper-resistant.";
        WEATHER_RESISTANT "weather_resistant" Type::Flag, written(), UNSET, "Whether it is marked weather-resistant.";
        IN_USE_COVER "in_use_cover" Type::Flag, written(), UNSET, "Whether its cover is weatherproof with a plug in.";
        EXTRA_DUTY_COVER "extra_duty_cover" Type::Flag, written(), UNSET, "Whether that cover is marked extra duty.";
        LINE_ON_LINE "line_on_line" Type::Flag, as_built(), UNSET, "Whether the feeding conductors are on the line terminals of a GFCI.";
        SWITCHED "switched" Type::Word(&["none", "half", "whole"]), written(), Default::Word("none"), "Whether a wall switch controls a receptacle.";
        KEY_CONTROLS "controls" list(Type::Text), Filled::Key { required: false }, UNSET, "Ids of the luminaires, receptacles or appliances that it controls.";
        LIGHTS "lights" list(Type::Item("luminaire")), Filled::By("controls"), UNSET, "Luminaires it controls.";
        CONTROLLED_DEVICES "controlled_devices" list(Type::Item("device")), Filled::By("controls"), UNSET, "Receptacles it controls.";
        CONTROLLED_APPLIANCES "controlled_appliances" list(Type::Item("appliance")), Filled::By("controls"), UNSET, "Appliances it controls.";
        COUNTER "counter" Type::Item("counter"), written(), NOTHING, "Counter that a receptacle serves.";
        SERVES_APPLIANCE "serves_appliance" Type::Item("appliance"), written(), NOTHING, "Appliance that a receptacle is for.";
        IN_CABINET "in_cabinet" Type::Flag, written(), NO, "Whether it is inside a cabinet or cupboard.";
        PART_OF_APPLIANCE "part_of_appliance" Type::Flag, written(), NO, "Whether it is part of a luminaire, appliance or baseboard heater.";
        BEHIND_APPLIANCE "behind_appliance" Type::Flag, written(), NO, "Whether a fixed or heavy appliance stands before it.";
        FROM_BASIN "from_basin" q(Dimension::Length), written(), UNSET, "Distance from the edge of the nearest basin.";
        FROM_SINK "from_sink" q(Dimension::Length), written(), UNSET, "Distance from the inside edge of the nearest sink.";
        FROM_TUB "from_tub" q(Dimension::Length), written(), UNSET, "Horizontal distance from the nearest bathtub rim or shower threshold.";
        ABOVE_COUNTER "above_counter" q(Dimension::Length), written(), UNSET, "Height above the counter it serves; negative below it.";
        NEUTRAL_AT_SWITCH "neutral_at_switch" Type::Flag, as_built(), UNSET, "Whether a grounded conductor is in the switch box.";
        NEUTRAL_NOT_NEEDED "neutral_not_needed" Type::Word(&["raceway", "open_framing", "automatic", "other_switch_sees_all", "receptacle_load", "own_enclosure", "none"]), written(), UNSET, "Why a switch box may go without a grounded conductor; none where no reason holds.";
        OPERABLE_PART "operable_part" q(Dimension::Length), as_built(), UNSET, "Measured height of its operable part. It is computed from the box where none is written.";
        IS_EXEMPT_FROM_REACH "is_exempt_from_reach" Type::Flag, written(), NO, "Whether it is for service people only or for a dedicated use, and so outside reach limits.";
        TORQUE_CHECKED "torque_checked" Type::Flag, as_built(), UNSET, "Whether its terminals were tightened to the marked torque.";
        POLARITY_OK "polarity_ok" Type::Flag, as_built(), UNSET, "Whether the polarity test passed.";
        TEST_TRIPPED "test_tripped" Type::Flag, as_built(), UNSET, "Whether the test button of a GFCI or AFCI tripped it.";
        INTERCONNECTED "interconnected" Type::Flag, written(), UNSET, "Whether an alarm sounds with all others.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        CONTROLLED_BY "controlled_by" list(Type::Item("device")), inverse("device", "controlled_devices"), UNSET, "Switches that control it.";
        PROTECTS "protects" list(Type::Item("device")), inverse("device", "gfci_from"), UNSET, "Devices fed from its load terminals.";
        IS_GFCI_PROTECTED "is_gfci_protected" Type::Flag, Filled::Derived, UNSET, "Whether breaker, device or upstream device protects it against ground faults.";
        IS_AFCI_PROTECTED "is_afci_protected" Type::Flag, Filled::Derived, UNSET, "Whether breaker or device protects its circuit against arcing faults.";
        IS_OPERABLE "is_operable" Type::Flag, Filled::Derived, UNSET, "Whether people operate it: a switch, control or receptacle.";
        OPERABLE_HEIGHT "operable_height" q(Dimension::Length), Filled::Derived, UNSET, "Height of the operable part that is farthest out of reach, measured or from the box.";
        OPERABLE_LOW "operable_low" q(Dimension::Length), Filled::Derived, UNSET, "Height of its lowest operable part.";
        OPERABLE_HIGH "operable_high" q(Dimension::Length), Filled::Derived, UNSET, "Height of its highest operable part.";
        GROUNDED "grounded" Type::Flag, as_built(), UNSET, "Whether its grounding terminal or yoke is connected.";
        FACE_UP "face_up" Type::Flag, written(), NO, "Whether a receptacle faces up in a counter or seat.";
        FROM_END "from_end" q(Dimension::Length), written(), UNSET, "Distance from the outer end of the peninsula it serves.";
        GFCI_REACHABLE "gfci_reachable" Type::Flag, as_built(), UNSET, "Whether the GFCI that protects it can be reached for test and reset without moving or climbing over anything.";
        UNDER_OVERHANG "under_overhang" q(Dimension::Length), written(), UNSET, "How far the counter reaches past the face that a receptacle below it is in.";
        BATTERY_BACKED "battery_backed" Type::Flag, written(), UNSET, "Whether an alarm has a battery as well as mains power.";
        FROM_APPLIANCE "from_appliance" q(Dimension::Length), written(), UNSET, "Distance from the place of the appliance it is for, or for servicing equipment from that equipment.";
        SIDE "side" Type::Word(&["front", "back", "other"]), written(), UNSET, "Side of the dwelling that an outdoor receptacle is on.";
        ONE_WIRE_PER_SCREW "one_wire_per_screw" Type::Flag, as_built(), UNSET, "Whether no screw holds more than one wire.";
        OPERATING_FORCE "operating_force" q(Dimension::Force), as_built(), UNSET, "Force that works it.";
        PUSH_IN "push_in" Type::Flag, as_built(), UNSET, "Whether conductors are pushed into spring terminals.";
        TAB_REMOVED "tab_removed" Type::Flag, as_built(), UNSET, "Whether the tab between the two brass screws of a receptacle is broken off; it goes by `switched` where nobody looked.";
        NEUTRAL_IN_BOX "neutral_in_box" Type::Flag, Filled::Derived, UNSET, "Whether the cables, made up as they are, bring the neutral of its circuit to its box.";
        BREAKS_UNGROUNDED "breaks_ungrounded" Type::Flag, Filled::Derived, UNSET, "Whether a switch opens the ungrounded conductor and never the neutral.";
        POLARITY_RIGHT "polarity_right" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, the hot is on its ungrounded terminal and the neutral on the grounded one.";
        GROUND_REACHES "ground_reaches" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, its green screw is joined to the ground bar in every position of the switches.";
        WORKS_AS_WIRED "works_as_wired" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, it gets its full voltage, or switches what it is to control, and nothing else does.";
        KEEPS_NEUTRAL_WHOLE "keeps_neutral_whole" Type::Flag, Filled::Derived, UNSET, "Whether the neutral of a multiwire circuit stays whole when it is taken out.";
        GFCI_WIRED_RIGHT "gfci_wired_right" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, a GFCI is fed at its line terminals, and what it protects goes dead when it trips and brings its neutral back through it.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its box, or else its room, where nothing is written.";
        REPLACES "replaces" Type::Flag, written(), OWNER, "Whether it takes the place of an older one; yes for a new one in an existing box where nothing is written.";
        ABOVE_TUB "above_tub" q(Dimension::Length), written(), UNSET, "Height of its lowest part above the bathtub rim or shower threshold.";
        TUB_BARRIER "tub_barrier" Type::Flag, written(), UNSET, "Whether a wall, a room door, a window or a fixed barrier stands between it and the tub or shower.";
        OPPOSITE_TUB "opposite_tub" Type::Flag, written(), UNSET, "Whether it is on the farthest wall of the room, opposite the bathtub rim or shower threshold.";
        BETWEEN_TOILET_AND_TUB "between_toilet_and_tub" Type::Flag, written(), UNSET, "Whether a receptacle for a bidet is in the space between the toilet and the tub or shower.";
    }
}

kind! {
    /// A luminaire, lampholder, ceiling fan or exhaust fan.
    luminaire "luminaire" word "luminaire" Nest::Top("luminaire"), Required {
        BOX "box" Type::Item("box"), written(), UNSET, "Box it hangs on or is wired from.";
        ROOM "room" Type::Item("room"), written(), UNSET, "Its room; that of its box where none is written.";
        CIRCUIT "circuit" Type::Item("circuit"), written(), UNSET, "Circuit that feeds it.";
        KIND "kind" Type::Word(&["surface", "recessed", "pendant", "chandelier", "track", "wall", "lampholder", "ceiling_fan", "exhaust_fan", "under_cabinet"]), required(), UNSET, "What it is.";
        LAMP "lamp" Type::Word(&["incandescent", "fluorescent", "led"]), written(), UNSET, "Its lamp.";
        ENCLOSED "enclosed" Type::Flag, written(), UNSET, "Whether its lamps are fully enclosed.";
        LOAD "load" q(Dimension::Power), written(), UNSET, "Its load.";
        WEIGHT "weight" q(Dimension::Mass), written(), UNSET, "Its weight.";
        DAMP_RATED "damp_rated" Type::Flag, written(), UNSET, "Whether it is listed for damp places.";
        WET_RATED "wet_rated" Type::Flag, written(), UNSET, "Whether it is listed for wet places.";
        IC_RATED "ic_rated" Type::Flag, written(), UNSET, "Whether a recessed one may touch insulation.";
        IN_INSULATION "in_insulation" Type::Flag, written(), UNSET, "Whether insulation comes within reach of a recessed one.";
        FROM_STORAGE "from_storage" q(Dimension::Length), written(), UNSET, "Distance from the nearest point of a closet's storage space.";
        FROM_TUB "from_tub" q(Dimension::Length), written(), UNSET, "Horizontal distance from the nearest bathtub rim or shower threshold.";
        ABOVE_TUB "above_tub" q(Dimension::Length), written(), UNSET, "Height above the bathtub rim or shower threshold.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        CONTROLLED_BY "controlled_by" list(Type::Item("device")), inverse("device", "lights"), UNSET, "Switches that control it.";
        IS_GFCI_PROTECTED "is_gfci_protected" Type::Flag, Filled::Derived, UNSET, "Whether its breaker, or a device upstream, protects it against ground faults.";
        IS_AFCI_PROTECTED "is_afci_protected" Type::Flag, Filled::Derived, UNSET, "Whether its breaker protects it against arcing faults.";
        GROUNDED "grounded" Type::Flag, as_built(), UNSET, "Whether its metal parts are connected to the equipment grounding conductor.";
        CLEARANCE "clearance" q(Dimension::Length), as_built(), UNSET, "Distance of a recessed one from burnable framing.";
        THERMALLY_PROTECTED "thermally_protected" Type::Flag, written(), UNSET, "Whether a recessed one is marked as thermally protected.";
        SPRAYED "sprayed" Type::Flag, written(), UNSET, "Whether shower spray reaches it.";
        LOWEST "lowest" q(Dimension::Length), as_built(), UNSET, "Height of its lowest part, of a fan its blades, above the finished floor.";
        POLARITY_RIGHT "polarity_right" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, the hot is on its ungrounded lead and the neutral on the grounded one.";
        GROUND_REACHES "ground_reaches" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, its ground lead is joined to the ground bar.";
        WORKS_AS_WIRED "works_as_wired" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, it gets its full voltage and obeys its switches in every position.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its box, or else its room, where nothing is written.";
        REPLACES "replaces" Type::Flag, written(), OWNER, "Whether it takes the place of an older one; yes for a new one on an existing box where nothing is written.";
        GFCI_FROM "gfci_from" Type::Item("device"), written(), UNSET, "GFCI device upstream that protects it through its load terminals; `none` where none does.";
        OWN_CONTROL "own_control" Type::Word(&["none", "pull_chain", "motion", "photocell"]), written(), Default::Word("none"), "What of its own turns it on and off, besides switches.";
    }
}

kind! {
    /// An appliance or other load that is on the plan.
    appliance "appliance" word "appliance" Nest::Top("appliance"), Required {
        ROOM "room" Type::Item("room"), written(), UNSET, "Its room.";
        CIRCUIT "circuit" Type::Item("circuit"), written(), UNSET, "Circuit that feeds it.";
        KIND "kind" Type::Word(&["range", "cooktop", "oven", "dryer", "clothes_washer", "water_heater", "dishwasher", "disposer", "microwave", "refrigerator", "freezer", "range_hood", "trash_compactor", "furnace", "air_conditioner", "heat_pump", "air_handler", "electric_heat", "ev_charger", "sump_pump", "well_pump", "garage_opener", "bath_heater", "whirlpool", "bidet", "other"]), required(), UNSET, "What it is.";
        LOAD "load" q(Dimension::Power), written(), UNSET, "Nameplate load.";
        VOLTAGE "voltage" q(Dimension::Voltage), written(), UNSET, "Nameplate voltage.";
        CURRENT "current" q(Dimension::Current), written(), UNSET, "Nameplate current, where no load is given.";
        DRAW "draw" q(Dimension::Power), Filled::Derived, UNSET, "What it draws: its load, or its current at its voltage or that of its circuit.";
        MIN_AMPACITY "min_ampacity" q(Dimension::Current), written(), UNSET, "Minimum circuit ampacity on the nameplate.";
        MAX_BREAKER "max_breaker" q(Dimension::Current), written(), UNSET, "Maximum breaker or fuse on the nameplate.";
        IS_MOTOR "is_motor" Type::Flag, written(), NO, "Whether it is a motor load.";
        CONTINUOUS "continuous" Type::Flag, written(), NO, "Whether it may run for three hours or more.";
        FASTENED "fastened" Type::Flag, written(), UNSET, "Whether it is fastened in place.";
        CORD_AND_PLUG "cord_and_plug" Type::Flag, written(), UNSET, "Whether it is connected by cord and plug.";
        CORD_LENGTH "cord_length" q(Dimension::Length), written(), UNSET, "Length of its cord.";
        DISCONNECT "disconnect" Type::Word(&["none", "plug", "breaker_in_sight", "breaker_lockable", "switch_in_sight", "unit_switch"]), written(), UNSET, "Its disconnecting means.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        RECEPTACLES "receptacles" list(Type::Item("device")), inverse("device", "serves_appliance"), UNSET, "Receptacles for it.";
        CONTROLLED_BY "controlled_by" list(Type::Item("device")), inverse("device", "controlled_appliances"), UNSET, "Switches that control it.";
        IS_GFCI_PROTECTED "is_gfci_protected" Type::Flag, Filled::Derived, UNSET, "Whether its breaker, a device upstream or every receptacle for it protects it against ground faults.";
        GROUNDED "grounded" Type::Flag, as_built(), UNSET, "Whether its frame is connected to the equipment grounding conductor.";
        ACCESS_PANEL "access_panel" Type::Flag, as_built(), UNSET, "Whether its electrical parts can be reached without damage to the finish.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its room where nothing is written.";
        GFCI_FROM "gfci_from" Type::Item("device"), written(), UNSET, "GFCI device upstream whose load terminals feed it where it is wired; `none` where none does.";
        NEEDS_NEUTRAL "needs_neutral" Type::Flag, written(), UNSET, "Whether its nameplate asks for a neutral, as 120/240 V does.";
        AUXILIARY "auxiliary" Type::Flag, written(), UNSET, "Whether it belongs to the heating equipment on its circuit: a pump, valve, humidifier or air cleaner.";
        VARIABLE_SPEED "variable_speed" Type::Flag, written(), UNSET, "Whether an air conditioner or heat pump has power conversion to vary the speed of its compressor.";
        WALL "wall" Type::Item("wall"), written(), UNSET, "Wall it stands against.";
        ALONG "along" q(Dimension::Length), written(), UNSET, "Its center, from the wall's start.";
        WIDTH "width" q(Dimension::Length), written(), UNSET, "Its width.";
        COUNTER "counter" Type::Item("counter"), written(), NOTHING, "Counter that it stands in, under or on.";
    }
}
