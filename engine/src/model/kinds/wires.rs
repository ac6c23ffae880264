//! Cables with their ends and bored holes, and raceways.

use super::*;

kind! {
    /// A run of cable between two boxes, or a box and a panel.
    cable "cable" word "cable" Nest::Top("cable"), Made {
        CIRCUIT "circuit" Type::Item("circuit"), written(), UNSET, "Circuit it carries; the first, where it carries two that share a neutral.";
        SECOND_CIRCUIT "second_circuit" Type::Item("circuit"), written(), NOTHING, "Second circuit of a multiwire cable.";
        WIRING_METHOD "wiring_method" Type::Word(&["NM", "UF", "AC", "MC", "SE"]), written(), UNSET, "Kind of cable.";
        KEY_MAKE "make" Type::Text, Filled::Key { required: false }, UNSET, "Size and number of insulated conductors: `12/2`, `14/3`, `2.5 mm2/2`.";
        SIZE "size" q(Dimension::Conductor), Filled::By("make"), UNSET, "Size of its insulated conductors.";
        CONDUCTORS "conductors" q(Dimension::Number), Filled::By("make"), UNSET, "Number of its insulated conductors.";
        GROUND "ground" Type::Flag, written(), YES, "Whether it has an equipment grounding conductor.";
        GROUND_SIZE "ground_size" q(Dimension::Conductor), written(), UNSET, "Size of that conductor where it is not the size of the others.";
        MATERIAL "material" Type::Word(&["copper", "aluminum", "copper_clad_aluminum"]), written(), UNSET, "Conductor material.";
        INSULATION "insulation" q(Dimension::Temperature), written(), UNSET, "Temperature rating of the conductor insulation.";
        CURRENT_CARRYING "current_carrying" q(Dimension::Number), written(), UNSET, "Conductors that carry current at the same time, where it is not all of them.";
        LENGTH "length" q(Dimension::Length), written(), UNSET, "Length of the run.";
        ROUTE "route" Type::Word(&["bored_holes", "along_framing", "exposed", "fished", "attic", "in_raceway", "underground", "basement_joists"]), written(), UNSET, "How it runs.";
        BUNDLED_WITH "bundled_with" q(Dimension::Number), written(), UNSET, "Other cables that share a hole or lie bundled with it without spacing.";
        BUNDLE_LENGTH "bundle_length" q(Dimension::Length), written(), UNSET, "Length over which they lie so.";
        IN_INSULATION "in_insulation" Type::Flag, written(), UNSET, "Whether it shares a hole that is sealed, or lies in insulation, with others.";
        AMBIENT "ambient" q(Dimension::Temperature), written(), UNSET, "Highest surrounding temperature along it.";
        SUPPORTS "supports" list(q(Dimension::Length)), as_built(), UNSET, "Where it is secured, measured along it from its `from` end.";
        SUPPORT_GAP "support_gap" q(Dimension::Length), as_built(), UNSET, "Longest distance between two supports.";
        EDGE_DISTANCE "edge_distance" q(Dimension::Length), as_built(), UNSET, "Least distance from the nearest edge of framing that it runs along.";
        PLATE "plate" Type::Flag, as_built(), UNSET, "Whether a plate protects it where it runs along framing.";
        GUARDED "guarded" Type::Flag, as_built(), UNSET, "Whether guard strips or framing protect it in an accessible attic or where exposed.";
        FROM_HATCH "from_hatch" q(Dimension::Length), as_built(), UNSET, "Distance from the nearest edge of the attic hatch.";
        HAS_STAIR "has_stair" Type::Flag, written(), UNSET, "Whether permanent stairs or a ladder lead to that attic.";
        BURIAL_DEPTH "burial_depth" q(Dimension::Length), as_built(), UNSET, "Least cover over an underground run.";
        BEND_RADIUS "bend_radius" q(Dimension::Length), as_built(), UNSET, "Least radius of its bends.";
        DIAMETER "diameter" q(Dimension::Length), written(), UNSET, "Its width or diameter.";
        FLAT_ON_EDGE "flat_on_edge" Type::Flag, as_built(), UNSET, "Whether a flat cable is stapled on edge anywhere.";
        CABLES_PER_STAPLE "cables_per_staple" q(Dimension::Number), as_built(), UNSET, "Most cables under one staple.";
        SHEATH_INTACT "sheath_intact" Type::Flag, as_built(), UNSET, "Whether its sheath is whole.";
        WHITE_REMARKED "white_remarked" Type::Flag, as_built(), UNSET, "Whether a white conductor used as a hot one is re-marked at every end.";
        WHITE_IS_HOT "white_is_hot" Type::Flag, written(), NO, "Whether its white conductor is used as a hot one.";
        STATE "state" Type::Word(STATES), as_built(), UNSET, "How far the work on it has come.";
        ENDS "ends" list(Type::Item("cable_end")), inverse("cable_end", "cable"), UNSET, "Its two ends.";
        HOLES "holes" list(Type::Item("hole")), inverse("hole", "cable"), UNSET, "Bored holes it runs through.";
        WIDEST_SUPPORT_GAP "widest_support_gap" q(Dimension::Length), Filled::Derived, UNSET, "Longest distance between two supports, measured or from their positions.";
        AMPACITY "ampacity" q(Dimension::Current), Filled::Derived, UNSET, "Its ampacity where it runs.";
        IN_AIR_RETURN "in_air_return" Type::Word(&["no", "square_across", "along"]), as_built(), UNSET, "Whether it runs in a joist or stud space used for return air, and how.";
        SLEEVE_HEIGHT "sleeve_height" q(Dimension::Length), as_built(), UNSET, "Height above the floor to which exposed cable that comes through it is sleeved.";
        UNDER "under" Type::Word(&["soil", "driveway", "slab", "building", "concrete", "street"]), written(), UNSET, "What an underground run lies under: `slab` is one outdoors that no vehicle drives on, `driveway` belongs to the dwelling, `concrete` covers a trench.";
        EMERGES_PROTECTED "emerges_protected" Type::Flag, as_built(), UNSET, "Whether it is protected where it comes out of the ground, from the depth asked for up to 8 ft.";
        TRENCH_SEEN "trench_seen" Type::Flag, as_built(), UNSET, "Whether the trench was inspected open.";
        BUSHED "bushed" Type::Flag, as_built(), UNSET, "Whether the cut ends of armored cable have their bushings.";
        WHITE_RETURNS "white_returns" Type::Flag, written(), NO, "Whether a re-marked white conductor is the switched return of a switch loop.";
        DEPTH_IN_WALL "depth_in_wall" q(Dimension::Length), as_built(), UNSET, "Depth of a concealed cable below the finished surface.";
        FROM_CORNER "from_corner" q(Dimension::Length), as_built(), UNSET, "How far it runs from the nearest corner of the wall.";
        FROM_CEILING "from_ceiling" q(Dimension::Length), as_built(), UNSET, "How far it runs below the top of the wall.";
        IN_LINE "in_line" Type::Flag, as_built(), UNSET, "Whether it runs straight up, down or across to an accessory that can be seen.";
        EARTHED_COVER "earthed_cover" Type::Flag, written(), NO, "Whether it has an earthed metal covering.";
        PAST_PARTITION "past_partition" q(Dimension::Length), as_built(), UNSET, "How far it goes on beyond an old partition.";
        LARGEST_BREAKER "largest_breaker" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect it where it runs.";
        GROUND_NEEDED "ground_needed" q(Dimension::Conductor), Filled::Derived, UNSET, "Equipment grounding conductor that it needs, by its breaker and larger where its other conductors are.";
        WHITE_CARRIES_HOT "white_carries_hot" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, its white conductor is ever live.";
        WHITE_COMES_BACK "white_comes_back" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, its white conductor brings a switched leg back to the load.";
        CURRENTS_BALANCE "currents_balance" Type::Flag, Filled::Derived, UNSET, "Whether, in the wiring as followed, the current of every load goes and comes back in it.";
        STRANDED "stranded" Type::Flag, written(), UNSET, "Whether its insulated conductors are stranded rather than solid.";
        WHIP "whip" Type::Word(&["none", "luminaire", "equipment"]), written(), Default::Word("none"), "Whether it is a whip: the last piece to a luminaire or equipment in or above an accessible ceiling, or to equipment that shakes or has to move.";
        JACKETED "jacketed" Type::Flag, written(), UNSET, "Whether an armored cable has a plastic jacket over its armor.";
        BREAKER_LIMIT "breaker_limit" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect it in the best of places: by its terminals and its kind alone, before warmth or a bundle takes anything away.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as its circuits where nothing is written and it ends at nothing new.";
        AMPACITY_AS_SERVICE "ampacity_as_service" q(Dimension::Current), Filled::Derived, UNSET, "Its ampacity where it runs, with the terminals of a service: what must be a set share of the rating where a feeder carries a whole dwelling.";
        AMPACITY_LIMIT "ampacity_limit" q(Dimension::Current), Filled::Derived, UNSET, "Its ampacity in the best of places: by its terminals and its kind alone.";
        TAP "tap" Type::Word(&["none", "cooking", "luminaire"]), written(), Default::Word("none"), "Whether it is a tap: from a larger circuit to one cooking appliance, or to one luminaire.";
        ON_ROOF "on_roof" Type::Flag, written(), NO, "Whether it runs above a roof in the sun.";
        ABOVE_ROOF "above_roof" q(Dimension::Length), as_built(), UNSET, "Least distance above that roof.";
        RUN_HEIGHT "run_height" q(Dimension::Length), as_built(), UNSET, "Height above the floor of the lowest part that runs exposed.";
    }
}

kind! {
    /// One end of a cable. `from = "B12"` is short for `from = { at = "B12" }`.
    cable_end "cable_end" word "end" Nest::Inside { parent: "cable", keys: &["from", "to"], many: false, short: Some("at") }, Made {
        CABLE "cable" Type::Item("cable"), Filled::Nesting, UNSET, "Its cable.";
        SIDE "side" Type::Word(&["from", "to"]), Filled::Nesting, UNSET, "Which end it is.";
        KEY_AT "at" Type::Text, Filled::Key { required: true }, UNSET, "Id of the box, panel, luminaire or appliance it ends at.";
        BOX "box" Type::Item("box"), Filled::By("at"), UNSET, "Box it ends at.";
        PANEL "panel" Type::Item("panel"), Filled::By("at"), UNSET, "Panel it ends at.";
        LUMINAIRE "luminaire" Type::Item("luminaire"), Filled::By("at"), UNSET, "Luminaire it ends at.";
        APPLIANCE "appliance" Type::Item("appliance"), Filled::By("at"), UNSET, "Appliance it ends at.";
        FIRST_SUPPORT "first_support" q(Dimension::Length), as_built(), UNSET, "Distance from the box to the first staple or strap, along the cable.";
        ENTRY_TO_SUPPORT "entry_to_support" q(Dimension::Length), as_built(), UNSET, "Length of cable between its entry and its first support, slack and all.";
        SHEATH_INSIDE "sheath_inside" q(Dimension::Length), as_built(), UNSET, "Length of sheath inside the box, past any clamp.";
        FREE_CONDUCTOR "free_conductor" q(Dimension::Length), as_built(), UNSET, "Free length of conductor from where it leaves its sheath.";
        PAST_OPENING "past_opening" q(Dimension::Length), as_built(), UNSET, "Length of conductor that reaches outside the box opening.";
        ENTRY "entry" Type::Word(&["connector", "internal_clamp", "unclamped"]), written(), UNSET, "How it is held at the box.";
        IS_AT_BOX "is_at_box" Type::Flag, Filled::Derived, UNSET, "Whether it ends at a box.";
        IS_AT_PANEL "is_at_panel" Type::Flag, Filled::Derived, UNSET, "Whether it ends at a panel.";
    }
}

kind! {
    /// A hole or notch in framing that a cable or raceway runs through.
    hole "hole" word "hole" Nest::Inside { parent: "cable", keys: &["hole"], many: true, short: None }, Made {
        CABLE "cable" Type::Item("cable"), Filled::Nesting, UNSET, "Its cable.";
        MEMBER "member" Type::Word(&["wood_stud", "wood_joist", "wood_plate", "steel_stud"]), written(), Default::Word("wood_stud"), "Member it is in.";
        IS_NOTCH "is_notch" Type::Flag, written(), NO, "Whether it is a notch.";
        EDGE_DISTANCE "edge_distance" q(Dimension::Length), as_built(), UNSET, "Distance from the hole to the nearest edge of the member.";
        PLATE "plate" Type::Flag, as_built(), UNSET, "Whether a steel plate protects the cable there.";
        PLATE_THICKNESS "plate_thickness" q(Dimension::Length), as_built(), UNSET, "Thickness of that plate; none for a thinner one that is listed.";
        BUSHED "bushed" Type::Flag, as_built(), UNSET, "Whether a hole in steel has its bushing.";
        CABLES "cables" q(Dimension::Number), as_built(), UNSET, "Cables in the same hole.";
        FIRE_STOPPED "fire_stopped" Type::Flag, as_built(), UNSET, "Whether a hole through a plate is sealed.";
    }
}

kind! {
    /// A raceway between two boxes, or a box and a panel.
    raceway "raceway" word "raceway" Nest::Top("raceway"), Required {
        FROM "from" Type::Text, Filled::Key { required: false }, UNSET, "Id of the box, panel, luminaire or appliance at one end; `none` where it ends at nothing.";
        TO "to" Type::Text, Filled::Key { required: false }, UNSET, "Id of the box, panel, luminaire or appliance at the other end; `none` where it ends at nothing.";
        WIRING_METHOD "wiring_method" Type::Word(&["EMT", "PVC_40", "PVC_80", "RMC", "IMC", "FMC", "LFMC", "LFNC", "ENT"]), required(), UNSET, "Kind of raceway.";
        TRADE_SIZE "trade_size" q(Dimension::Length), required(), UNSET, "Trade size.";
        LENGTH "length" q(Dimension::Length), written(), UNSET, "Length.";
        BENDS "bends" q(Dimension::Angle), as_built(), UNSET, "Sum of the bends between two pull points.";
        FIRST_SUPPORT "first_support" q(Dimension::Length), as_built(), UNSET, "Longest distance from a box to the nearest support.";
        SUPPORT_GAP "support_gap" q(Dimension::Length), as_built(), UNSET, "Longest distance between two supports.";
        BURIAL_DEPTH "burial_depth" q(Dimension::Length), as_built(), UNSET, "Least cover over an underground run.";
        CONDUCTORS "conductors" list(Type::Item("raceway_conductor")), inverse("raceway_conductor", "raceway"), UNSET, "Conductors in it.";
        FILL "fill" q(Dimension::Ratio), Filled::Derived, UNSET, "Share of its inside area that the conductors take.";
        FILL_ALLOWED "fill_allowed" q(Dimension::Ratio), Filled::Derived, UNSET, "Share allowed for that number of conductors.";
        UNDER "under" Type::Word(&["soil", "driveway", "slab", "building", "concrete", "street"]), written(), UNSET, "What an underground run lies under: `slab` is one outdoors that no vehicle drives on, `driveway` belongs to the dwelling, `concrete` covers a trench.";
        WET "wet" Type::Flag, written(), UNSET, "Whether it runs outdoors or in another wet place.";
        BUSHED "bushed" Type::Flag, as_built(), UNSET, "Whether large conductors pass an insulating bushing at its ends.";
        TRENCH_SEEN "trench_seen" Type::Flag, as_built(), UNSET, "Whether the trench was inspected open.";
        UNDERGROUND "underground" Type::Flag, written(), UNDER_COVER, "Whether it runs underground.";
        SEALED "sealed" Type::Flag, as_built(), UNSET, "Whether a raceway from underground or outdoors into the building is sealed.";
        NIPPLE "nipple" Type::Flag, written(), NO, "Whether it is a nipple between enclosures.";
        FROM_BOX "from_box" Type::Item("box"), Filled::By("from"), UNSET, "Box at its `from` end.";
        FROM_PANEL "from_panel" Type::Item("panel"), Filled::By("from"), UNSET, "Panel at its `from` end.";
        FROM_LUMINAIRE "from_luminaire" Type::Item("luminaire"), Filled::By("from"), UNSET, "Luminaire at its `from` end.";
        FROM_APPLIANCE "from_appliance" Type::Item("appliance"), Filled::By("from"), UNSET, "Appliance at its `from` end.";
        TO_BOX "to_box" Type::Item("box"), Filled::By("to"), UNSET, "Box at its `to` end.";
        TO_PANEL "to_panel" Type::Item("panel"), Filled::By("to"), UNSET, "Panel at its `to` end.";
        TO_LUMINAIRE "to_luminaire" Type::Item("luminaire"), Filled::By("to"), UNSET, "Luminaire at its `to` end.";
        TO_APPLIANCE "to_appliance" Type::Item("appliance"), Filled::By("to"), UNSET, "Appliance at its `to` end.";
        BOXES "boxes" list(Type::Item("box")), through(&["from_box", "to_box"]), UNSET, "Boxes that it joins.";
        ROOMS "rooms" list(Type::Item("room")), through(&["from_box.room", "from_panel.room", "from_luminaire.room", "from_appliance.room", "to_box.room", "to_panel.room", "to_luminaire.room", "to_appliance.room"]), UNSET, "Rooms that its ends are in.";
        CIRCUITS "circuits" list(Type::Item("circuit")), through(&["conductors.circuit"]), UNSET, "Circuits whose conductors it holds.";
        AMBIENT "ambient" q(Dimension::Temperature), written(), UNSET, "Highest surrounding temperature along it.";
        WHIP "whip" Type::Word(&["none", "luminaire", "equipment"]), written(), Default::Word("none"), "Whether it is a flexible whip: the last piece to a luminaire or equipment in or above an accessible ceiling, or to equipment that has to move.";
        EXISTING "existing" Type::Flag, written(), OWNER, "Whether it is existing work; as the circuits in it where nothing is written and it ends at nothing new.";
        ON_ROOF "on_roof" Type::Flag, written(), NO, "Whether it runs above a roof in the sun.";
        ABOVE_ROOF "above_roof" q(Dimension::Length), as_built(), UNSET, "Least distance above that roof.";
    }
}

kind! {
    /// Conductors of one size and insulation in a raceway.
    raceway_conductor "raceway_conductor" word "conductor" Nest::Inside { parent: "raceway", keys: &["conductor"], many: true, short: None }, Made {
        RACEWAY "raceway" Type::Item("raceway"), Filled::Nesting, UNSET, "Its raceway.";
        CIRCUIT "circuit" Type::Item("circuit"), written(), UNSET, "Its circuit.";
        SIZE "size" q(Dimension::Conductor), required(), UNSET, "Size.";
        COUNT "number" q(Dimension::Number), required(), UNSET, "How many.";
        INSULATION "insulation" Type::Word(&["THHN", "THWN", "THWN-2", "THHN/THWN", "THHN/THWN-2", "THW", "THW-2", "XHHW", "XHHW-2", "RHW", "RHW-2", "USE-2", "TW", "bare"]), written(), UNSET, "Insulation, as it is marked on the wire.";
        IS_GROUND "is_ground" Type::Flag, written(), NO, "Whether they are equipment grounding conductors.";
        CURRENT_CARRYING "current_carrying" Type::Flag, written(), YES, "Whether they carry current.";
        THROUGH_FROM "through_from" Type::Flag, written(), NO, "Whether they run on unbroken through the box at the raceway's `from` end.";
        THROUGH_TO "through_to" Type::Flag, written(), NO, "Whether they run on unbroken through the box at the raceway's `to` end.";
        MATERIAL "material" Type::Word(&["copper", "aluminum", "copper_clad_aluminum"]), written(), Default::Word("copper"), "Conductor material.";
        STRANDED "stranded" Type::Flag, written(), UNSET, "Whether they are stranded rather than solid.";
        AMPACITY "ampacity" q(Dimension::Current), Filled::Derived, UNSET, "Their ampacity where they run, beside all that is in the raceway.";
        LARGEST_BREAKER "largest_breaker" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect them where they run.";
        BREAKER_LIMIT "breaker_limit" q(Dimension::Current), Filled::Derived, UNSET, "Largest breaker that may protect them in the best of places: by their terminals alone, before warmth or a crowd takes anything away.";
        AMPACITY_AS_SERVICE "ampacity_as_service" q(Dimension::Current), Filled::Derived, UNSET, "Their ampacity where they run, with the terminals of a service: what must be a set share of the rating where a feeder carries a whole dwelling.";
        AMPACITY_LIMIT "ampacity_limit" q(Dimension::Current), Filled::Derived, UNSET, "Their ampacity in the best of places: by their terminals alone.";
    }
}
