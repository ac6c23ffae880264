//! What an electrician would laugh at in a proposal, and must not find there. Where no source is named, it is common practice.

use toml::{Table, Value};

use crate::support::{Folder, examples};

/// Returns the example of three bedrooms, proposed.
fn three_bedrooms() -> Table {
    proposed(&std::fs::read_to_string(examples().join("three-bedroom-house/answers.txt")).unwrap())
}

/// Starts a job from answers, has it proposed, and returns it. Nothing is to be put right in it.
fn proposed(answers: &str) -> Table {
    let folder = Folder::empty();
    folder.write("answers.txt", answers);
    let made = folder.run("start job.toml --answers answers.txt");
    assert_eq!(made.status, 0, "{made:?}");
    let ran = folder.run("propose job.toml");
    assert_eq!(ran.status, 0, "{ran:?}");
    folder.read("job.toml").parse().unwrap()
}

fn all<'t>(job: &'t Table, kind: &str) -> Vec<&'t Table> {
    job.get(kind).and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_table).collect()
}

fn text<'t>(item: &'t Table, key: &str) -> &'t str {
    item.get(key).and_then(Value::as_str).unwrap_or_default()
}

fn with<'t>(job: &'t Table, kind: &str, key: &str, value: &str) -> Vec<&'t Table> {
    all(job, kind).into_iter().filter(|item| text(item, key) == value).collect()
}

/// Reads `12 ft 6 in` or `900 mm` or `3.2 m` in inches.
fn inches(length: &str) -> f64 {
    let words: Vec<&str> = length.split(' ').collect();
    let parts = words.chunks(2).map(|part| {
        let number: f64 = part[0].parse().unwrap_or_else(|_| panic!("{length}"));
        number
            * match part[1] {
                "in" => 1.0,
                "ft" => 12.0,
                "mm" => 1.0 / 25.4,
                "m" => 1000.0 / 25.4,
                other => panic!("{other} in {length}"),
            }
    });
    parts.sum()
}

/// Returns the length in feet of the run that ends at a box.
fn run_to(job: &Table, id: &str) -> f64 {
    let ends = |cable: &&&Table| cable.get("to").and_then(Value::as_table).is_some_and(|to| text(to, "at") == id);
    let cables = all(job, "cable");
    let cable = cables.iter().find(ends).unwrap_or_else(|| panic!("no run to {id}"));
    inches(text(cable, "length")) / 12.0
}

/// Returns the box of the only light in a room.
fn light_box(job: &Table, room: &str) -> String {
    let boxes = with(job, "box", "room", room);
    let lights: Vec<&&Table> = boxes.iter().filter(|it| text(it, "purpose") == "luminaire").collect();
    assert_eq!(lights.len(), 1, "{room}: {lights:?}");
    text(lights[0], "id").to_owned()
}

#[test]
fn no_run_is_much_longer_than_the_way_it_goes() {
    let job = three_bedrooms();
    // From the switch at the door up to the middle of a ceiling of 12 by 12 ft: 6 and 6 ft and the height of the wall above it.
    let ceiling = run_to(&job, &light_box(&job, "bedroom-1"));
    assert!((12.0..=20.0).contains(&ceiling), "{ceiling}");
    // Through the wall and up, however large the yard is.
    for light in with(&job, "box", "room", "yard").iter().filter(|it| text(it, "purpose") == "luminaire") {
        let beside = run_to(&job, text(light, "id"));
        assert!((4.0..=12.0).contains(&beside), "{beside}");
    }
    // Through the doorway from the living room into the hall; half round both would be 52 ft.
    let hall = with(&job, "box", "room", "hall");
    let hall = hall.iter().find(|it| text(it, "purpose") == "receptacle").unwrap();
    let through = run_to(&job, text(hall, "id"));
    assert!((10.0..=40.0).contains(&through), "{through}");
    // Within the room of the panel, 28 ft around, nothing is farther than half round.
    let washer = with(&job, "device", "serves_appliance", "clothes-washer");
    let beside = run_to(&job, text(washer[0], "box"));
    assert!(beside <= 14.0 + 8.0 + 4.0, "{beside}");
}

#[test]
fn the_switches_of_a_hall_are_at_its_two_ends() {
    let job = three_bedrooms();
    let hall = with(&job, "box", "room", "hall");
    let switches: Vec<&&Table> = hall.iter().filter(|it| text(it, "purpose") == "switch").collect();
    assert_eq!(switches.len(), 2, "{switches:?}");
    assert!(switches.iter().all(|it| text(it, "wall") == "hall/north"), "{switches:?}");
    let apart = inches(text(switches[0], "along")) - inches(text(switches[1], "along"));
    assert!(apart.abs() >= 8.0 * 12.0, "{apart} in apart in a hall of 18 ft");
}

#[test]
fn the_switch_of_the_light_outside_shares_the_box_at_its_door() {
    let job = three_bedrooms();
    let switches = with(&job, "device", "kind", "switch");
    for (room, light) in [("living", "porch"), ("kitchen", "yard")] {
        let inside = light_box(&job, room) + "L";
        let controls = |it: &Table, light: &str| {
            it.get("controls")
                .and_then(Value::as_array)
                .is_some_and(|list| list.iter().any(|id| id.as_str() == Some(light)))
        };
        let here: Vec<&str> = switches.iter().filter(|it| controls(it, &inside)).map(|it| text(it, "box")).collect();
        let lit = with(&job, "box", "room", light);
        let outside =
            lit.iter().filter(|it| text(it, "purpose") == "luminaire").map(|it| text(it, "id").to_owned() + "L");
        let shared = outside
            .into_iter()
            .any(|light| switches.iter().any(|it| controls(it, &light) && here.contains(&text(it, "box"))));
        assert!(shared, "{room}: {here:?}");
    }
}

#[test]
fn outlets_are_shared_out_evenly_over_circuits() {
    let job = three_bedrooms();
    for (serves, kind) in [("lighting", "luminaire"), ("general", "device")] {
        let circuits = with(&job, "circuit", "serves", serves);
        let on = |circuit: &&Table| {
            let outlets = with(&job, kind, "circuit", text(circuit, "id"));
            outlets.iter().filter(|it| kind == "luminaire" || text(it, "kind") == "receptacle").count()
        };
        let loads: Vec<usize> = circuits.iter().map(on).collect();
        let (least, most) = (loads.iter().min().unwrap(), loads.iter().max().unwrap());
        assert!(loads.len() >= 2 && least * 2 >= *most, "{serves}: {loads:?}");
    }
}

#[test]
fn a_receptacle_at_a_basin_is_over_it() {
    // Not more than 12 in below the top of the basin: section 210.52(D) of the 2020 edition, from memory; basins stand about 32 in high.
    let job = proposed(
        "name Flat\nplace demo/harlow-county\npermit-date 2024-05-10\nroom bedroom 12x12 \"Room\"\n\
         door south 1 36in latch-end outdoors\nroom bathroom 6x5 \"Bath\"\ndoor west 1 30in latch-end to room\n",
    );
    let bath = with(&job, "box", "room", "bath");
    let heights: Vec<f64> =
        bath.iter().filter(|it| text(it, "purpose") == "receptacle").map(|it| inches(text(it, "height"))).collect();
    assert_eq!(heights, [42.0]);
    // Nobody sells a panel of four spaces for a dwelling.
    let spaces = all(&job, "panel")[0].get("spaces").and_then(Value::as_integer);
    assert!(spaces >= Some(12), "{spaces:?}");
}

const COTTAGE: &str = "name Mill Cottage
place uk/england
permit-date 2024-05-10
units metric
room living_room 4.8x4.2 \"Lounge\"
door south 0.5 0.9 latch-end outdoors
window south 2 1.8 sill 0.6
doorway east 1 1.5 to kitchen
doorway north 3 0.9 to hall
room kitchen 4.2x3.6 \"Kitchen\"
doorway west 1 1.5 to lounge
counter south 0 4.2
sink 1.8 0.8
range 0.3 0.6
appliances range 8800VA 230V, dishwasher 2100VA, refrigerator
room hallway 5.4x1.2 \"Hall\"
door north 1.5 0.8 to bedroom-1
door north 4 0.8 to bathroom
room bedroom 3.6x3.6 \"Bedroom 1\"
door south 0.3 0.8 latch-end to hall
room bathroom 2.4x1.6 \"Bathroom\"
door west 0.3 0.75 latch-end to hall
tub
appliances electric_heat 1000VA 230V
";

/// Residual current protection of sockets, lights and whatever is in a bathroom, and the floor area of a radial circuit: BS 7671:2018,
/// 411.3.3, 411.3.4, 701.411.3.3 and the standard circuits, from memory.
#[test]
fn an_english_cottage_has_radial_circuits_with_residual_current_protection() {
    let job = proposed(COTTAGE);
    let circuits = all(&job, "circuit");
    for circuit in &circuits {
        let id = text(circuit, "id");
        let protected = circuit.get("gfci").and_then(Value::as_bool) == Some(true);
        let serves = text(circuit, "serves");
        let in_bath = with(&job, "appliance", "circuit", id).iter().any(|it| text(it, "room") == "bathroom");
        assert!(protected || (serves == "dedicated" && !in_bath), "{circuit:?}");
        assert_eq!(text(circuit, "form"), "", "radial: {circuit:?}");
        if serves == "general" {
            let area: f64 = text(circuit, "area_served").trim_end_matches(" m2").parse().unwrap();
            assert_eq!(text(circuit, "rating"), "20 A");
            assert!(area > 0.0 && area <= 50.0, "{circuit:?}");
        }
    }
    assert!(circuits.iter().filter(|it| text(it, "serves") == "general").count() >= 2);
    let sink = inches("1.8 m")..=inches("2.6 m");
    let worktop = with(&job, "box", "purpose", "counter_receptacle");
    assert!(worktop.len() >= 3, "{worktop:?}");
    for socket in worktop {
        assert!(!sink.contains(&inches(text(socket, "along"))), "{socket:?}");
        let height = inches(text(socket, "height")) * 25.4;
        assert!((900.0..=1200.0).contains(&height), "{socket:?}");
    }
}
