//! `meter`: readings on a drill with a fault in its wiring, and how they are graded.

use std::collections::BTreeSet;

use crate::support::{Folder, Ran, examples, flat};

/// Makes a drill with a fault of one kind, or of any.
fn make(folder: &Folder, seed: u64, fault: &str) -> toml::Table {
    let table = "vary = []\nask = []\nmistake = []\n[[fault]]\nid = \"planted\"\nwhat = \"planted\"\n";
    folder.write("own.toml", &format!("{table}{fault}\n"));
    let own = if fault.is_empty() { "" } else { "--table own.toml" };
    let job = examples().join("hobby-room.toml");
    let ran = folder.run(&format!("drill {} --seed {seed} --fault {own} -o drill --key key", job.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.read("key/key.toml").parse().unwrap()
}

fn planted(key: &toml::Table) -> (String, String, Vec<String>) {
    let fault = &key["fault"][0];
    let text = |name: &str| fault[name].as_str().unwrap().to_owned();
    let conductors = fault["conductors"].as_array().unwrap().iter().map(|one| one.as_str().unwrap().to_owned());
    (text("kind"), text("box"), conductors.collect())
}

fn reads(folder: &Folder, words: &str) -> String {
    let ran: Ran = folder.run(&format!("meter drill {words}"));
    assert_eq!(ran.status, 0, "{}", ran.err);
    let reading = ran
        .out
        .lines()
        .skip_while(|line| !line.contains("breaker"))
        .find(|line| ["V", "ohm", "path"].iter().any(|unit| line.ends_with(unit)) || line.contains("trips"));
    reading.unwrap_or_else(|| panic!("{}", ran.out)).trim().to_owned()
}

/// Returns the points of a box whose names end so.
fn points(folder: &Folder, id: &str, ends: &[&str]) -> Vec<String> {
    let text = flat(&folder.run(&format!("meter drill --box {id}")).out);
    let names = text.split([' ', ',']).filter(|word| ends.iter().any(|end| word.ends_with(end)));
    names.map(str::to_owned).collect()
}

#[test]
fn every_kind_of_fault_is_planted_sooner_or_later_and_none_stands_in_the_drill() {
    let mut kinds: BTreeSet<String> = BTreeSet::new();
    for seed in 0..24 {
        let folder = Folder::empty();
        let key = make(&folder, seed, "");
        let (kind, _, conductors) = planted(&key);
        let sound = std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap();
        assert!(folder.read("drill/job.toml").ends_with(&sound), "the job file says nothing of the fault");
        let sealed = folder.read("drill/fault.sealed");
        assert!(!conductors.iter().any(|one| sealed.contains(one.as_str())), "{sealed}");
        let found = key["fault"][0]["shows"].as_array().unwrap();
        assert!(!found.is_empty(), "{kind}: following the current shows it");
        kinds.insert(kind);
    }
    assert_eq!(kinds.len(), 8, "{kinds:?}");
}

#[test]
fn a_ground_out_of_its_splice_is_open_and_the_rest_is_joined() {
    let folder = Folder::empty();
    let key = make(&folder, 5, "change = \"open\"\non = [\"grounding\"]");
    let (_, place, conductors) = planted(&key);
    let grounds = points(&folder, &place, &[".bare", ".green", ".ground"]);
    let (mut open, mut joined) = (0, 0);
    for one in grounds.iter().filter(|one| **one != conductors[0]) {
        match reads(&folder, &format!("{} {one} --ohms", conductors[0])).as_str() {
            "open: no path" => open += 1,
            "0 ohm" => joined += 1,
            other => panic!("{one}: {other}"),
        }
    }
    assert!(open > 0 && joined == 0, "{place} {conductors:?}: {open} open, {joined} joined");
}

#[test]
fn a_short_trips_its_breaker_and_reads_nothing_until_the_circuit_is_parted() {
    let folder = Folder::empty();
    let key = make(&folder, 2, "change = \"touch\"\non = [\"ungrounded\", \"grounded\"]");
    let (_, _, conductors) = planted(&key);
    let both = conductors.join(" ");
    // The circuit whose cable the conductor is of: C1 to C3 are of circuit 1, C4 to C7 of circuit 2.
    let cable: i64 = conductors[0][1..2].parse().unwrap();
    let circuit = if cable <= 3 { "1" } else { "2" };
    // A switch may stand between breaker and fault: in one of its positions the breaker trips.
    let volts = ["", " --on S1", " --on S2", " --on S1 --on S2"].map(|on| reads(&folder, &format!("{both}{on}")));
    let trips = format!("0 V; the breaker of circuit {circuit} trips as soon as it is closed");
    assert!(volts.contains(&trips), "{volts:?}");
    assert_eq!(reads(&folder, &format!("{both} --open {circuit}")), "0 V");
    assert_eq!(reads(&folder, &format!("{both} --ohms")), "0 ohm");
    let other = if circuit == "1" { "C4/to.black C4/to.white" } else { "C1/to.black C1/to.white" };
    assert!(reads(&folder, other).starts_with("120 V"), "the other circuit stays on");
}

/// Neutral and ground are bonded at the service, so that a second bond shows only with the neutral lifted off its bar.
#[test]
fn a_second_bond_of_the_neutral_shows_once_the_neutral_is_lifted_at_the_panel() {
    let folder = Folder::empty();
    let key = make(&folder, 1, "change = \"touch\"\non = [\"grounded\", \"grounding\"]");
    let (_, _, conductors) = planted(&key);
    let cable: i64 = conductors[0][1..2].parse().unwrap();
    let (feed, other) = if cable <= 3 { ("C1", "C4") } else { ("C4", "C1") };
    let lifted =
        |feed: &str| reads(&folder, &format!("{feed}/from.white {feed}/from.bare --ohms --lift {feed}/from.white"));
    // What lies behind a lifted neutral is clear of the ground where there is no fault.
    assert_eq!((lifted(feed).as_str(), lifted(other).as_str()), ("0 ohm", "open: no path"));
}

#[test]
fn conductors_that_changed_places_read_the_wrong_way_round() {
    let folder = Folder::empty();
    let key = make(&folder, 4, "change = \"swap\"\non = [\"ungrounded\", \"grounded\"]");
    let (_, place, conductors) = planted(&key);
    // In the box the terminals have changed sides: some neutral terminal is live against the ground, which none is in a sound box.
    let neutrals = points(&folder, &place, &[".silver", ".line_neutral", ".load_neutral", ".neutral", ".white"]);
    let ground = &points(&folder, &place, &[".bare"])[0];
    let read = |one: &String| reads(&folder, &format!("{place}:{one} {place}:{ground}"));
    let live: Vec<String> = neutrals.iter().map(read).filter(|volts| !volts.starts_with("0 V")).collect();
    assert!(!live.is_empty() || !folder.read("key/key.toml").contains("reversed"), "{place} {conductors:?}");
}

#[test]
fn readings_carry_the_cautions_and_are_logged() {
    let folder = Folder::empty();
    make(&folder, 1, "");
    let printed = folder.run("meter drill C1/to.black C1/to.white").out;
    assert!(printed.lines().all(|line| line.chars().count() <= 80), "{printed}");
    let live = flat(&printed);
    assert!(live.contains("live readings are for qualified persons alone") && live.contains("locked out"), "{live}");
    let dead = flat(&folder.run("meter drill C1/to.black C1/to.white --ohms").out);
    assert!(
        dead.contains("absence of voltage proved") && dead.contains("Never put an ohmmeter on a live circuit"),
        "{dead}"
    );
    let log: toml::Table = folder.read("drill/readings.toml").parse().unwrap();
    assert_eq!(log["reading"].as_array().unwrap().len(), 2);
    // A log that was changed is told, not continued.
    let text = folder.read("drill/readings.toml");
    folder.write("drill/readings.toml", &text.replacen("C1/to.black", "C1/to.red", 1));
    folder.run("meter drill C1/to.black C1/to.bare").refused("is not the log of this drill");
}

#[test]
fn what_is_asked_wrongly_is_told_with_the_nearest() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    folder
        .run(&format!("drill {} --seed 1 --fault --mistakes 2 -o a --key b", job.display()))
        .refused("a drill has either a fault or mistakes");
    folder.run("meter nowhere A B").refused("fault.sealed");
    make(&folder, 1, "");
    folder.run("meter drill C1/to.blak C1/to.white").refused("did you mean `C1/to.black`?");
    folder.run("meter drill C1/to.black C1/to.black").refused("both probes are on");
    folder.run("meter drill C1/to.black C1/to.white --on R1").refused("there is no wired switch `R1`");
    folder.run("meter drill C1/to.black C1/to.white --open 9").refused("there is no circuit `9`");
    folder.run("meter drill B9:C1/to.black C1/to.white").refused("no conductor ends in a box or panel `B9`");
    folder.run("meter drill --box B9").refused("no conductor ends in a box or panel `B9`");
    assert!(!folder.path().join("drill/readings.toml").exists(), "no reading was taken");
    // The conductors of a raceway have one name at both ends.
    let dwelling = examples().join("alder-row/dwelling.toml");
    let ran = folder.run(&format!("drill {} --seed 1 --fault -o long --key long-key", dwelling.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.run("meter long 21-PVC.white 21-PVC.bare").refused("such as `X-5:21-PVC.white`");
    assert_eq!(folder.run("meter long X-5:21-PVC.white X-5:21-PVC.bare --ohms").status, 0);
    folder.write("drill/fault.sealed", "drill = 1\nsealed = \"zz\"\n");
    folder.run("meter drill C1/to.black C1/to.white").refused("not as the drill made it");
}

/// Kind, box, conductor and the number of readings count a quarter each.
#[test]
fn a_fault_is_graded_by_what_is_named_and_by_the_readings_it_took() {
    let folder = Folder::empty();
    let key = make(&folder, 6, "");
    let (kind, place, conductors) = planted(&key);
    let par = key["fault"][0]["readings"].as_integer().unwrap();
    let answer = |kind: &str, place: &str, conductor: &str| {
        format!("[[fault]]\nkind = \"{kind}\"\nbox = \"{place}\"\nconductor = \"{conductor}\"\n")
    };
    let right = answer(&kind, &place, &conductors[0]);
    for _ in 0..2 * par {
        reads(&folder, "C1/to.black C1/to.white");
        if !folder.path().join("in/quick.readings.toml").exists() {
            folder.write("in/quick.readings.toml", &folder.read("drill/readings.toml"));
        }
    }
    folder.write("in/quick.answers.toml", &right);
    folder.write("in/slow.answers.toml", &right);
    folder.write("in/slow.readings.toml", &folder.read("drill/readings.toml"));
    folder.write("in/guess.answers.toml", &right);
    folder.write("in/cheat.answers.toml", &right);
    folder.write("in/cheat.readings.toml", &folder.read("drill/readings.toml").replacen("120 V", "0 V", 1));
    folder.write("in/half/answers.toml", &answer("no-such", &place, &conductors[0]));
    folder.write("in/half/readings.toml", &folder.read("in/quick.readings.toml"));
    folder.write("in/false.answers.toml", &[answer("no-such", "B99", "C1/to.black"), right.clone()].concat());
    let ran = folder.run("grade in --key key/key.toml --format csv");
    assert_eq!(ran.status, 0, "{}", ran.err);
    let of = |name: &str| {
        let row = ran.out.lines().find(|row| row.starts_with(&format!("{name},fault-finding,")));
        row.unwrap_or_else(|| panic!("{}", ran.out)).split(',').nth(3).unwrap().to_owned()
    };
    // Twice the readings of a search by halves give half of that quarter.
    let marks = ["quick", "slow", "guess", "cheat", "half"].map(of);
    assert_eq!(marks, ["100", "88", "75", "75", "75"]);
    // Three of four, less half a mark for the fault that is none.
    assert_eq!(of("false"), "63");
    let text = flat(&folder.run("grade in --key key/key.toml").out);
    assert!(text.contains("a fault named without a reading is a guess"), "{text}");
    assert!(text.contains("reading 1: volts between C1/to.black in B1 and C1/to.white in B1"), "{text}");
}

/// In the hobby room R1 in B1 is a GFCI that guards R2 and R3, fed through C2 and C3; C4 to C7 are of a circuit without one.
#[test]
fn a_ground_fault_trips_the_gfci_before_it_and_a_short_the_breaker() {
    let (mut behind, mut elsewhere) = (0, 0);
    for seed in 1..9 {
        let folder = Folder::empty();
        let key = make(&folder, seed, "change = \"touch\"\non = [\"ungrounded\", \"grounding\"]");
        let (_, place, conductors) = planted(&key);
        let read = |words: &str| {
            ["", " --on S1", " --on S2", " --on S1 --on S2"].map(|on| reads(&folder, &format!("{words}{on}")))
        };
        let fed = read("C1/to.black C1/to.white");
        let guarded = ["B2", "B3"].contains(&place.as_str())
            || (place == "B1" && conductors.iter().any(|one| one.starts_with("C2/") && !one.ends_with(".bare")));
        if guarded {
            assert!(fed.iter().all(|shows| shows == "120 V; GFCI R1 trips"), "{place} {conductors:?}: {fed:?}");
            assert_eq!(reads(&folder, "C3/to.black C3/to.white"), "0 V; GFCI R1 trips");
            // With the breaker open nothing trips, and the ohmmeter finds the fault through the GFCI that is reset.
            assert_eq!(reads(&folder, "C1/to.black C1/to.white --open 1"), "0 V");
            assert_eq!(reads(&folder, "C1/to.black C1/to.bare --ohms"), "0 ohm");
            behind += 1;
        } else {
            assert!(!fed.concat().contains("GFCI"), "{place} {conductors:?}: {fed:?}");
            assert!(fed.concat().contains("breaker of circuit"), "{place} {conductors:?}: {fed:?}");
            elsewhere += 1;
        }
    }
    assert!(behind > 0 && elsewhere > 0, "{behind} {elsewhere}");
}

/// Only the shop's book has the current from which a GFCI trips.
#[test]
fn without_a_trip_current_in_the_book_nothing_trips_and_the_meter_says_so() {
    let folder = Folder::empty();
    make(&folder, 1, "change = \"touch\"\non = [\"ungrounded\", \"grounding\"]");
    let told = |folder: &Folder| flat(&folder.run("meter drill C1/to.black C1/to.white").out);
    let silent = "no book in force sets `tests.gfci_trip_high`";
    assert!(!told(&folder).contains(silent));
    let job = folder.read("drill/job.toml");
    folder.write("drill/job.toml", &job.replace("site.shop = \"shop/three-gable\"\n", ""));
    let without = told(&folder);
    assert!(without.contains(silent) && !without.contains("GFCI R1 trips"), "{without}");
}

#[test]
fn a_neutral_joined_past_a_gfci_trips_it() {
    let mut seen = 0;
    for seed in 1..13 {
        let folder = Folder::empty();
        let key = make(&folder, seed, "change = \"touch\"\non = [\"grounded\", \"grounding\"]");
        let (_, place, _) = planted(&key);
        let shows = reads(&folder, "C1/to.black C1/to.white");
        if ["B2", "B3"].contains(&place.as_str()) {
            assert_eq!(shows, "120 V; GFCI R1 trips", "{place}");
            seen += 1;
        } else if place != "B1" {
            assert_eq!(shows, "120 V", "{place}");
        }
    }
    assert!(seen > 0);
}

#[test]
fn without_points_the_meter_names_what_can_be_probed_and_set() {
    let folder = Folder::empty();
    make(&folder, 1, "");
    let ran = folder.run("meter drill");
    assert_eq!(ran.status, 0, "{}", ran.err);
    let said = flat(&ran.out);
    assert!(said.contains("switches: S1, S2 circuits: 1, 2 next: `storystick meter drill --box BOX`"), "{said}");
    assert!(!folder.path().join("drill/readings.toml").exists(), "no reading is taken");
}

/// With a ground open and nothing else wrong no current goes astray: whole dwellings with every load on trip nothing.
#[test]
fn a_sound_dwelling_trips_nothing() {
    let table = "vary = []\nask = []\nmistake = []\n[[fault]]\nid = \"planted\"\nwhat = \"planted\"\nchange = \"open\"\non = [\"grounding\"]\n";
    for job in ["three-bedroom.toml", "alder-row/dwelling.toml"] {
        let folder = Folder::empty();
        folder.write("own.toml", table);
        let job = examples().join(job);
        assert!(std::fs::read_to_string(&job).unwrap().contains("gfci = true"), "{}", job.display());
        let ran = folder.run(&format!("drill {} --seed 3 --fault --table own.toml -o drill --key key", job.display()));
        assert_eq!(ran.status, 0, "{}", ran.err);
        let (_, place, conductors) = planted(&folder.read("key/key.toml").parse().unwrap());
        let about = flat(&folder.run("meter drill").out);
        let switches = about.split("switches: ").nth(1).unwrap().split(" circuits: ").next().unwrap();
        let on: String = switches.split(", ").map(|id| format!(" --on {id}")).collect();
        let live = points(&folder, &place, &[".black", ".red"]);
        for on in ["", on.as_str()] {
            let ran = folder.run(&format!("meter drill {place}:{} {place}:{}{on}", live[0], conductors[0]));
            assert_eq!(ran.status, 0, "{}", ran.err);
            assert!(!ran.out.contains("trips"), "{}", ran.out);
        }
    }
}
