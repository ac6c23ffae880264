//! Dwellings by the thousand: each an invented house by its number, the same on every machine.
//!
//! A house has eight to eleven rooms on one panel. Receptacles stand along the walls, each circuit runs from box to box, and
//! here and there a support, a height or a rating is left out or wrong, so that every sort of finding comes up.

#![allow(unreachable_pub, dead_code, reason = "shared by several programs, each of which uses a part")]

use std::fmt::Write as _;

use crate::numbers::Numbers;

const ROOMS: [(&str, u64, u64); 8] = [
    ("kitchen", 14, 12),
    ("bathroom", 9, 6),
    ("bedroom", 12, 11),
    ("living_room", 18, 14),
    ("dining_room", 13, 11),
    ("hallway", 13, 4),
    ("laundry", 8, 7),
    ("bedroom", 13, 12),
];

const WALLS: [&str; 4] = ["north", "east", "south", "west"];

/// A house under way.
struct House {
    text: String,
    numbers: Numbers,
    circuits: usize,
    boxes: usize,
}

/// Returns the job file of the house with this number.
pub fn dwelling(number: u64) -> String {
    let mut house = House { text: String::new(), numbers: Numbers::new(number ^ 0x5eed), circuits: 0, boxes: 0 };
    house.site(number);
    let rooms = 8 + house.numbers.below(4) as usize;
    for room in 0..rooms {
        let (kind, length, width) = ROOMS[room % ROOMS.len()];
        let (length, width) = (length + house.numbers.below(4), width + house.numbers.below(3));
        house.room(room, kind, length, width);
    }
    house.text
}

impl House {
    fn put(&mut self, text: std::fmt::Arguments<'_>) {
        self.text.write_fmt(text).expect("a string takes everything");
    }

    fn site(&mut self, number: u64) {
        let day = 1 + self.numbers.below(28);
        self.put(format_args!(
            "format = 1\n[site]\nname = \"House {number}\"\npermit_date = 2023-05-{day:02}\njurisdiction = \"demo/millrace\"\n\
             shop = \"shop/three-gable\"\nstage = \"rough_in\"\nfloor_area = \"1840 ft2\"\nfloor_build_up = \"3/4 in\"\nboard = \"1/2 in\"\n\
             ceiling = \"8 ft\"\nambient = \"30 degC\"\nservice_rating = \"200 A\"\n\
             [defaults.box]\nvolume = \"22.5 in3\"\nbody_height = \"3 3/4 in\"\nclamps = false\n\
             [defaults.box.luminaire]\nmounted = \"ceiling\"\nluminaire_rated = true\n\
             [defaults.device.receptacle]\ntamper_resistant = true\n[defaults.device.switch]\naction = \"single_pole\"\n\
             [defaults.luminaire]\nlamp = \"led\"\n[defaults.circuit]\nvoltage = \"120 V\"\n\
             [defaults.cable]\ninsulation = \"90 degC\"\nroute = \"bored_holes\"\n[defaults.cable_end]\nentry = \"unclamped\"\n\
             [[panel]]\nid = \"P1\"\nrating = \"200 A\"\nmain = \"200 A\"\nspaces = 42\nstate = \"set\"\n"
        ));
    }

    fn circuit(&mut self, rating: &str) -> usize {
        self.circuits += 1;
        let (id, gfci) = (self.circuits, self.numbers.below(2) > 0);
        self.put(format_args!(
            "[[circuit]]\nid = \"{id}\"\npositions = [{id}]\nrating = \"{rating}\"\npoles = 1\ngfci = {gfci}\nafci = true\n"
        ));
        id
    }

    fn room(&mut self, room: usize, kind: &str, length: u64, width: u64) {
        self.put(format_args!(
            "[[room]]\nid = \"r{room}\"\nkind = \"{kind}\"\nlength = \"{length} ft\"\nwidth = \"{width} ft\"\n\
             opening = [{{ wall = \"south\", kind = \"door\", at = \"12 in\", width = \"30 in\" }}]\n"
        ));
        let rating = ["15 A", "20 A"][self.numbers.below(2) as usize];
        let circuit = self.circuit(rating);
        let mut before = String::from("P1");
        for wall in WALLS {
            // The door takes the beginning of the south wall; the hallway gets by with one box a wall.
            let long = if matches!(wall, "north" | "south") { length } else { width };
            let first = if wall == "south" { 4 } else { 1 };
            for along in (first..long).step_by(6) {
                before = self.receptacle(room, circuit, wall, along, &before);
            }
        }
        let light = self.outlet(room, "luminaire", "", &before, circuit);
        let load = 9 + self.numbers.below(40);
        self.put(format_args!(
            "[[luminaire]]\nid = \"{light}L\"\nbox = \"{light}\"\ncircuit = \"{circuit}\"\nkind = \"surface\"\nload = \"{load} VA\"\n"
        ));
        let place = "wall = \"south\"\nalong = \"44 in\"\n";
        let switch = self.outlet(room, "switch", place, &light, circuit);
        self.put(format_args!(
            "[[device]]\nid = \"{switch}S\"\nbox = \"{switch}\"\ncircuit = \"{circuit}\"\nkind = \"switch\"\ncontrols = [\"{light}L\"]\n"
        ));
    }

    fn receptacle(&mut self, room: usize, circuit: usize, wall: &str, along: u64, before: &str) -> String {
        let mut place = format!("wall = \"{wall}\"\nalong = \"{along} ft 3 in\"\n");
        if self.numbers.below(9) == 0 {
            place.push_str("top = \"67 in\"\n");
        }
        let id = self.outlet(room, "receptacle", &place, before, circuit);
        self.put(format_args!(
            "[[device]]\nid = \"{id}R\"\nbox = \"{id}\"\ncircuit = \"{circuit}\"\nkind = \"receptacle\"\n"
        ));
        id
    }

    /// Adds a box, and the cable that comes to it.
    fn outlet(&mut self, room: usize, purpose: &str, place: &str, before: &str, circuit: usize) -> String {
        self.boxes += 1;
        let id = format!("B{}", self.boxes);
        let set_back = self.numbers.below(5);
        self.put(format_args!(
            "[[box]]\nid = \"{id}\"\nroom = \"r{room}\"\n{place}purpose = \"{purpose}\"\nset_back = \"{set_back}/16 in\"\n\
             secured = true\ngrounds_made_up = true\nstate = \"made_up\"\n"
        ));
        let make = if self.numbers.below(12) == 0 { "14/2" } else { "12/2" };
        let (feet, other) = (6 + self.numbers.below(30), 3 + self.numbers.below(3));
        // Now and then a support is too far away, or was not measured.
        let support = match self.numbers.below(20) {
            0 => String::new(),
            1 => String::from("first_support = \"13 in\", "),
            near => format!("first_support = \"{} in\", ", 3 + near % 3),
        };
        let edge = if self.numbers.below(15) == 0 { 9 } else { 11 + self.numbers.below(12) };
        self.put(format_args!(
            "[[cable]]\nid = \"{id}C\"\nmake = \"{make}\"\ncircuit = \"{circuit}\"\nlength = \"{feet} ft\"\n\
             from = {{ at = \"{before}\", first_support = \"{other} in\", sheath_inside = \"1/2 in\", free_conductor = \"8 in\", past_opening = \"4 in\" }}\n\
             to = {{ at = \"{id}\", {support}sheath_inside = \"1/2 in\", free_conductor = \"8 in\", past_opening = \"4 in\" }}\n\
             hole = [{{ edge_distance = \"{edge}/8 in\" }}]\nstate = \"made_up\"\n"
        ));
        id
    }
}
