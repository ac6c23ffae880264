//! Rooms as they are used, and loads from what is known, as somebody uses the command.

use serde_json::Value;

use crate::support::{Folder, found};

const HEAD: &str = "format = 1\nsite.name = \"t\"\nsite.permit_date = 2021-06-01\nsite.jurisdiction = \"us-tx\"\n\
                    site.stage = \"final\"\npanel = [{ id = \"P1\", rating = \"200 A\", main = \"200 A\", spaces = 40 }]\n";

/// Returns what the inspection of a job says by one rule.
fn inspected(folder: &Folder, job: &str, rule: &str) -> Value {
    let ran = folder.run(&format!("inspect {job} --format json --all --stage final --rule {rule}"));
    ran.json()["jobs"][0].clone()
}

/// Returns the worst outcome of a rule on a job.
fn outcome(rule: &str, items: &str) -> String {
    let folder = Folder::empty();
    folder.write("job.toml", &format!("{HEAD}{items}"));
    let job = inspected(&folder, "job.toml", rule);
    ["correction", "to_measure", "met"]
        .into_iter()
        .find(|outcome| !found(&job, outcome).is_empty())
        .unwrap_or("nothing")
        .to_owned()
}

/// The audit's bathroom with one receptacle: nobody says how many basins it has, so it is asked; with two basins on its wall, one of them
/// 7 ft away, it is a correction, and with both in reach of one receptacle it passes (210.52(D)).
#[test]
fn each_basin_has_its_receptacle() {
    let rule = "bathroom-receptacle-near-basin";
    let plain = "room=[{id=\"b\",kind=\"bathroom\"}]\nbox=[{id=\"B1\",room=\"b\",purpose=\"receptacle\"}]\n\
                 device=[{id=\"D1\",box=\"B1\",kind=\"receptacle\",from_basin=\"1 ft\"}]\n";
    assert_eq!(outcome(rule, plain), "to_measure");
    assert_eq!(outcome(rule, &plain.replace("\"bathroom\"", "\"bathroom\", basin_count = 1")), "met");
    let drawn = |second: &str| {
        format!(
            "room=[{{id=\"b\",kind=\"bathroom\",length=\"12 ft\",width=\"8 ft\",basin=[{{wall=\"north\",at=\"1 ft\",width=\"20 in\"}},\
             {{wall=\"north\",at=\"{second}\",width=\"20 in\"}}]}}]\n\
             box=[{{id=\"B1\",room=\"b\",wall=\"north\",along=\"3 ft 6 in\",purpose=\"receptacle\"}}]\n\
             device=[{{id=\"D1\",box=\"B1\",kind=\"receptacle\"}}]\n"
        )
    };
    assert_eq!(outcome(rule, &drawn("4 ft 6 in")), "met");
    assert_eq!(outcome(rule, &drawn("9 ft")), "correction");
}

#[test]
fn what_decides_a_safety_rule_is_asked_and_not_taken_for_granted() {
    let receptacle = |room: &str| {
        format!(
            "circuit=[{{id=\"1\",rating=\"20 A\",voltage=\"120 V\"}}]\nroom=[{{id=\"r\",{room}}}]\n\
             box=[{{id=\"B1\",room=\"r\",height=\"18 in\"}}]\n\
             device=[{{id=\"D1\",box=\"B1\",circuit=\"1\",kind=\"receptacle\",rating=\"20 A\",from_tub=\"1 ft\"}}]\n"
        )
    };
    let zone = "receptacle-outside-tub-zone";
    assert_eq!(outcome(zone, &receptacle("kind=\"bathroom\"")), "to_measure");
    assert_eq!(outcome(zone, &receptacle("kind=\"bathroom\",has_tub_or_shower=false")), "nothing");
    let large = "kind=\"bathroom\",has_tub_or_shower=true,length=\"10 ft\",width=\"8 ft\"";
    assert_eq!(outcome(zone, &receptacle(large)), "correction");
    let wall = "wall-within-reach-of-receptacle";
    let basement = "kind=\"basement\",storey=0,length=\"20 ft\",width=\"20 ft\"";
    let room = |more: &str| format!("room=[{{id=\"r\",{basement}{more}}}]\n");
    assert_eq!(outcome(wall, &room("")), "to_measure");
    assert_eq!(outcome(wall, &room(",finished=true")), "correction");
    assert_eq!(outcome(wall, &room(",finished=false")), "nothing");
    let buried = "raceway=[{id=\"W\",wiring_method=\"PVC_40\",trade_size=\"1 in\",burial_depth=\"4 in\"}]\n";
    assert_eq!(outcome("buried-plastic-conduit-deep-enough", buried), "correction");
}

#[test]
fn a_washer_makes_a_utility_room_a_laundry_area() {
    let items = |more: &str| {
        format!(
            "circuit=[{{id=\"1\",rating=\"20 A\",voltage=\"120 V\",serves=\"general\"}}]\nroom=[{{id=\"u\",kind=\"utility\"{more}}}]\n\
             box=[{{id=\"B1\",room=\"u\"}}]\ndevice=[{{id=\"D1\",box=\"B1\",circuit=\"1\",kind=\"receptacle\",rating=\"20 A\"}}]\n"
        )
    };
    let washer = "appliance=[{id=\"W\",kind=\"clothes_washer\",room=\"u\"}]\n";
    for rule in ["receptacle-gfci-in-laundry-area", "circuit-afci-by-room", "laundry-has-its-circuit"] {
        assert_eq!(outcome(rule, &(items("") + washer)), "correction", "{rule}");
        assert_eq!(outcome(rule, &items("")), "to_measure", "{rule}");
        assert_eq!(outcome(rule, &items(",has_laundry=false")), "nothing", "{rule}");
    }
}

/// The audit's dwelling with a charger and a range (220.82(B)(3)), and the same with a load that is not recorded.
#[test]
fn the_load_says_what_the_service_needs_and_what_is_installed() {
    let folder = Folder::empty();
    let items = "room=[{id=\"k\",kind=\"living_room\",area=\"1363.636364 ft2\"},{id=\"g\",kind=\"garage\",area=\"400 ft2\"}]\n\
                 circuit=[{id=\"5\",rating=\"60 A\",voltage=\"240 V\",poles=2}]\n\
                 appliance=[{id=\"E\",kind=\"ev_charger\",room=\"k\",load=\"11520 W\",voltage=\"240 V\"},\
                 {id=\"R\",kind=\"range\",room=\"k\",load=\"12 kW\",voltage=\"240 V\"}]\n";
    folder.write("job.toml", &format!("{HEAD}{items}"));
    let out = folder.run("loads job.toml").out;
    for says in [
        "optional method = 19008",
        "needs 100 A; 200 A installed: enough",
        "g, garage: not counted",
        "220.11",
        "1500 ft2",
    ] {
        assert!(out.contains(says), "{says}:\n{out}");
    }
    folder.write("job.toml", &format!("{HEAD}{}", items.replace(",load=\"12 kW\"", "")));
    let ran = folder.run("loads job.toml --format json").json();
    let fields = ran["working"][0]["fields"].as_array().unwrap();
    let of = |name: &str| fields.iter().find(|field| field["field"] == name).unwrap();
    assert_eq!(of("standard method")["at_least"], true);
    assert_eq!(of("standard method")["missing"][0], "appliance R, load");
    assert!(of("service")["says"].as_str().unwrap().starts_with("needs at least 100 A; 200 A installed: open"));
}

#[test]
fn counters_islands_basins_and_appliances_of_answers_are_drawn() {
    let folder = Folder::empty();
    folder.write(
        "answers.txt",
        "name h\nplace us-tx\npermit-date 2024-06-01\nroom kitchen 14x12\ncounter north 0 12ft\nsink 5 33in\nisland 6ft 3ft\n\
         appliances refrigerator 700W 120V south 3ft\nroom bathroom 12x8\ntub south 0 5ft\nbasin north 1 20in\nbasin north 9 20in\n",
    );
    assert_eq!(folder.run("start h.toml --answers answers.txt").status, 0);
    assert_eq!(folder.run("propose h.toml").status, 0);
    assert_eq!(folder.run("markout h.toml --svg drawings").status, 0);
    for (drawing, shows) in [
        ("plan-kitchen.svg", &["island: place not recorded", ">sink<", ">refrigerator<"][..]),
        ("kitchen-north.svg", &["height not recorded", ">sink<"]),
        ("kitchen-south.svg", &[">refrigerator<"]),
        ("plan-bathroom.svg", &[">basin<"]),
        ("bathroom-north.svg", &[">basin<"]),
    ] {
        let svg = folder.read(&format!("drawings/{drawing}"));
        for text in shows {
            assert!(svg.contains(text), "{drawing}: {text}");
        }
    }
    // Each basin has its receptacle, and the refrigerator's is where it stands.
    let job = inspected(&folder, "h.toml", "bathroom-receptacle-near-basin");
    assert!(!found(&job, "met").is_empty() && found(&job, "correction").is_empty());
}
