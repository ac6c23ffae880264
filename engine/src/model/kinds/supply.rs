//! How buildings get their power: feeders, buildings, and the electrodes that ground them.

use super::*;

kind! {
    /// A feeder: from the breaker of one panel to another panel, or to a disconnect.
    feeder "feeder" word "feeder" Nest::Top("feeder"), Made {
        FROM "from" Type::Item("panel"), required(), UNSET, "Panel that it starts from.";
        TO "to" Type::Item("panel"), required(), UNSET, "Panel that it ends at. A disconnect is a panel without circuits.";
        BREAKER "breaker" q(Dimension::Current), written(), UNSET, "Rating of the breaker that it starts from. With `circuit` it need not be written.";
        CIRCUIT "circuit" Type::Item("circuit"), written(), NOTHING, "Circuit that stands for its breaker in the panel. The cables, and the wires in raceways, that name this circuit are the feeder's.";
        WIRING_METHOD "wiring_method" Type::Word(&["NM", "UF", "AC", "MC", "SE", "in_raceway"]), written(), UNSET, "Kind of cable, or that it runs in a raceway.";
        SIZE "size" q(Dimension::Conductor), written(), UNSET, "Size of its ungrounded conductors.";
        MATERIAL "material" Type::Word(&["copper", "aluminum", "copper_clad_aluminum"]), written(), UNSET, "Material of its conductors.";
        INSULATION "insulation" q(Dimension::Temperature), written(), UNSET, "Temperature rating of the insulation in the place where it runs, dry or wet.";
        LENGTH "length" q(Dimension::Length), written(), UNSET, "Length of the run.";
        AMBIENT "ambient" q(Dimension::Temperature), written(), UNSET, "Highest surrounding temperature along it.";
        OTHERS_BESIDE "others_beside" q(Dimension::Number), written(), UNSET, "Current-carrying conductors of other circuits in its raceway, or bundled with it for more than 24 in.";
        IN_INSULATION "in_insulation" Type::Flag, written(), UNSET, "Whether its cable lies in thermal insulation.";
        WIRES "wires" q(Dimension::Number), written(), UNSET, "Its conductors, neutral and equipment ground counted: 4 for two hots, neutral and ground.";
        GROUND "ground" Type::Word(&["wire", "raceway", "armor", "none"]), written(), UNSET, "What serves as its equipment ground: a wire, the metal raceway, the armor of the cable, or nothing.";
        GROUND_SIZE "ground_size" q(Dimension::Conductor), written(), UNSET, "Size of the wire that is its equipment ground, of the material of its conductors.";
        TERMINALS "terminals" q(Dimension::Temperature), written(), UNSET, "Temperature that its breaker and the lugs at its other end are marked for; where they are not, the code says what to take.";
        LOAD "load" q(Dimension::Power), written(), UNSET, "Calculated load of what it feeds.";
        IS_WHOLE "is_whole" Type::Flag, written(), UNSET, "Whether it carries the whole load of one dwelling, as between a disconnect at the meter and the panel inside.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as the panel that it ends at where nothing is written.";
        BREAKER_LIMIT "breaker_limit" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect it in the best of places: by its terminals and its kind alone.";
        LARGEST_BREAKER "largest_breaker" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect it where it runs.";
        AMPACITY_AS_SERVICE "ampacity_as_service" q(Dimension::Current), Filled::Derived, UNSET, "Its ampacity where it runs, with the terminals of a service: what must be a set share of its breaker where it carries a whole dwelling.";
        GROUND_NEEDED "ground_needed" q(Dimension::Conductor), Filled::Derived, UNSET, "Wire that its equipment ground has to be, by its breaker and larger where its other conductors are.";
        VOLTAGE_DROP "voltage_drop" q(Dimension::Ratio), Filled::Derived, UNSET, "Its voltage drop from leg to leg under its calculated load, as a share of the voltage.";
    }
}

kind! {
    /// A building on the lot: the house itself, or one that stands apart from it.
    building "building" word "building" Nest::Top("building"), Required {
        NAME_ "name" Type::Text, written(), UNSET, "Its name on the papers; the id is used where none is given.";
        KIND "kind" Type::Word(&["main", "detached", "detached_dwelling"]), required(), UNSET, "The building of the service, one that stands apart from it, or a dwelling that stands apart.";
        SUPPLY "supply" Type::Word(&["service", "feeder", "branch_circuit", "multiwire_branch_circuit", "none"]), written(), UNSET, "What supplies it.";
        SUPPLIES "supplies" q(Dimension::Number), written(), UNSET, "Feeders and branch circuits that supply it; a multiwire circuit is one.";
        ANOTHER_SUPPLY "another_supply" Type::Word(&["none", "different_voltage", "lighting_control", "standby", "parallel_source", "vehicle_charger"]), written(), UNSET, "What a second supply is for, where there is one.";
        GROUND_RUN "ground_run" Type::Flag, written(), UNSET, "Whether an equipment ground comes with its supply.";
        METAL_PATHS "metal_paths" Type::Flag, written(), UNSET, "Whether metal that is bonded at both ends, such as a water pipe or the shield of a cable, joins it with the building that it is fed from.";
        DISCONNECT "disconnect" Type::Word(&["main_breaker", "breakers", "switch", "snap_switch", "none"]), written(), UNSET, "What shuts it off.";
        DISCONNECT_RATING "disconnect_rating" q(Dimension::Current), written(), UNSET, "Rating of that disconnect; of several together, where it is several.";
        DISCONNECTS "disconnects" q(Dimension::Number), written(), UNSET, "How many breakers or switches have to be moved to shut it off.";
        DISCONNECT_PLACE "disconnect_place" Type::Word(&["outside", "inside_at_entry", "farther_inside", "elsewhere"]), written(), UNSET, "Where the disconnect is: outside on the building, inside right where its supply comes in, farther in, or at another building.";
        SURGE_PROTECTION "surge_protection" Type::Flag, written(), UNSET, "Whether surge protection is fitted at its distribution equipment.";
        EMERGENCY_DISCONNECT "emergency_disconnect" Type::Flag, written(), UNSET, "Whether a marked emergency disconnect is outside on it.";
        ELECTRODE "electrode" Type::Word(&["rods", "concrete", "water_pipe", "other", "none"]), as_built(), UNSET, "Its grounding electrode, where the job has no `[[electrode]]` for it.";
        ROOMS "rooms" list(Type::Item("room")), inverse("room", "building"), UNSET, "Rooms in it.";
        PANELS "panels" list(Type::Item("panel")), inverse("panel", "building"), UNSET, "Panels in it or on it.";
        ELECTRODES "electrodes" list(Type::Item("electrode")), inverse("electrode", "building"), UNSET, "Its grounding electrodes.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work.";
    }
}

kind! {
    /// A grounding electrode, or several rods, pipes or plates that serve together.
    electrode "electrode" word "electrode" Nest::Top("electrode"), Made {
        KIND "kind" Type::Word(&["rod", "pipe", "plate", "concrete_encased", "ground_ring", "water_pipe", "building_metal", "other"]), required(), UNSET, "What it is.";
        BUILDING "building" Type::Item("building"), written(), NOTHING, "Building that it grounds; none for the building of the service.";
        NUMBER "number" q(Dimension::Number), as_built(), UNSET, "How many rods, pipes or plates there are.";
        SPACING "spacing" q(Dimension::Length), as_built(), UNSET, "Least distance between them, or to another electrode.";
        LENGTH "length" q(Dimension::Length), as_built(), UNSET, "Length in contact with soil, or in the concrete.";
        DEPTH "depth" q(Dimension::Length), as_built(), UNSET, "Depth of a plate or ring below the surface.";
        AREA "area" q(Dimension::Area), as_built(), UNSET, "Surface of a plate that touches soil.";
        SIZE "size" q(Dimension::Conductor), written(), UNSET, "Size of the copper wire that a ring, or an electrode in concrete, is made of.";
        RESISTANCE "resistance" q(Dimension::Resistance), as_built(), UNSET, "Resistance to ground that a test has proved.";
        CONNECTED "connected" Type::Flag, as_built(), UNSET, "Whether it is connected to the other electrodes and the service, or to the disconnect of its building.";
        FROM_ENTRY "from_entry" q(Dimension::Length), as_built(), UNSET, "How far inside from its entry a water pipe is connected.";
        CONDUCTOR "conductor" q(Dimension::Conductor), written(), UNSET, "Size of the conductor that runs to it.";
        CONDUCTOR_MATERIAL "conductor_material" Type::Word(&["copper", "aluminum", "copper_clad_aluminum"]), written(), UNSET, "Material of that conductor.";
        EXTENDS "extends" Type::Flag, written(), UNSET, "Whether that conductor runs on from it to an electrode of another kind that wants a larger one.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its building where nothing is written.";
        CONDUCTOR_NEEDED "conductor_needed" q(Dimension::Conductor), Filled::Derived, UNSET, "Conductor that has to run to it, by the supply of the building and its own kind.";
    }
}
