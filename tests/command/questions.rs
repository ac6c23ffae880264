//! The questions of a drill: their answers are found here a second time, from the words of the question and the text of the job.

use std::collections::BTreeSet;

use storystick_engine::quantity::{Dimension, parse};

use crate::support::{Folder, examples};

fn make(folder: &Folder, job: &str, words: &str) -> toml::Table {
    let path = examples().join(job);
    let ran = folder.run(&format!("drill {} --force -o out --key key {words}", path.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.read("key/key.toml").parse().unwrap()
}

fn all<'a>(key: &'a toml::Table, begins: &str) -> Vec<&'a toml::Value> {
    let questions = key["question"].as_array().unwrap().iter();
    questions.filter(|one| one["id"].as_str().unwrap().starts_with(begins)).collect()
}

fn text<'a>(one: &'a toml::Value, name: &str) -> &'a str {
    one[name].as_str().unwrap()
}

/// Returns the totals of a question's lines.
fn lines(one: &toml::Value) -> Vec<&str> {
    one.get("lines").and_then(toml::Value::as_array).into_iter().flatten().map(|line| text(line, "total")).collect()
}

fn number(text: &str) -> f64 {
    text.split(' ').next().unwrap().parse().unwrap_or(f64::NAN)
}

fn near(asks: &str, given: f64, right: f64, within: f64) {
    assert!((given - right).abs() <= within, "{asks}: {given} is not {right}");
}

/// Ohm's and Kirchhoff's laws in floating point, as any textbook of circuits has them.
#[test]
fn the_sums_of_circuits_come_out_as_a_second_reckoning_has_them() {
    for seed in 0..8 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        let sums = all(&key, "ohms-law");
        assert_eq!(sums.len(), 5);
        for one in sums {
            let asks = text(one, "asks");
            let n: Vec<f64> = asks.split([' ', ',']).filter_map(|word| word.parse().ok()).collect();
            let (right, working) = match text(one, "id") {
                "ohms-law-1" => (n[0] * n[1], vec![]),
                "ohms-law-2" => (n[0] * n[1], vec![n[1] / n[0]]),
                "ohms-law-3" => {
                    let currents = [n[2] / n[0], n[2] / n[1]];
                    (currents[0] + currents[1], vec![currents[0], currents[1], 1.0 / (1.0 / n[0] + 1.0 / n[1])])
                }
                "ohms-law-4" => {
                    let all = n[0] + n[1] + n[2];
                    let current = n[3] / all;
                    (current * n[2], vec![all, current, current * n[0], current * n[1]])
                }
                _ => {
                    let both = n[1] * n[2] / (n[1] + n[2]);
                    let current = n[3] / (n[0] + both);
                    (current * both / n[1], vec![both, n[0] + both, current, current * both])
                }
            };
            near(asks, number(text(one, "answer")), right, 1e-9);
            assert_eq!(lines(one).len(), working.len(), "{asks}");
            lines(one).iter().zip(working).for_each(|(line, right)| near(asks, number(line), right, 0.005));
        }
    }
}

#[test]
fn the_sums_with_a_tape_come_out_as_a_second_reckoning_has_them() {
    for seed in 0..4 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        let sums = all(&key, "measure");
        assert_eq!(sums.len(), 4);
        let page = folder.read("out/questions.html");
        for one in sums {
            let (asks, given) = (text(one, "asks"), inches(text(one, "answer")));
            match text(one, "id") {
                "measure-3" => {
                    let row =
                        asks.trim_start_matches("From a corner you lay out ").split(", one after").next().unwrap();
                    let parts: Vec<f64> = row.split(", then ").map(inches).collect();
                    near(asks, given, parts.iter().sum(), 1e-6);
                    near(asks, inches(lines(one)[0]), parts[0] + parts[1], 1e-6);
                }
                "measure-4" => {
                    // The drawing's text alternative counts the small marks.
                    let marks = page.split("the arrow is at the small mark number ").nth(1).unwrap();
                    let marks: f64 = marks.split('"').next().unwrap().parse().unwrap();
                    let inch = asks.split("past ").nth(1).unwrap().trim_end_matches(" in?");
                    near(asks, given, inch.parse::<f64>().unwrap() + marks / 16.0, 1e-6);
                }
                _ => {
                    let row = asks.trim_start_matches("How long is ").trim_end_matches('?');
                    let right = match row.split_once(" less ") {
                        Some((long, short)) => inches(long) - inches(short),
                        None => row.split(" and ").map(inches).sum(),
                    };
                    near(asks, given, right, 1e-6);
                }
            }
        }
    }
}

/// Cosecants as tables of trigonometry have them (from memory): 10 degrees 5.759, 22 1/2 degrees 2.613, 30 degrees 2, 45 degrees 1.414.
/// The shrink of an offset is its travel less its run: the square root of the difference of squares, not the tangent that the program takes.
#[test]
fn bends_come_out_by_tables_and_by_pythagoras() {
    const COSECANTS: [(&str, f64); 4] = [("10", 5.759), ("22 1/2", 2.613), ("30", 2.0), ("45", 1.414)];
    let cosecant = |asks: &str, behind: &str| {
        let angle = asks.split(behind).nth(1).unwrap().split(" degrees").next().unwrap();
        COSECANTS.iter().find(|(words, _)| *words == angle).unwrap_or_else(|| panic!("{angle}: {asks}")).1
    };
    let before = |asks: &str, unit: &str| number(asks.split(unit).next().unwrap().rsplit(' ').next().unwrap());
    for seed in 0..8 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        let sums = all(&key, "bend");
        assert_eq!(sums.len(), 3);
        let (offset, three, four) = (sums[0], sums[1], sums[2]);
        let asks = text(offset, "asks");
        let (rise, factor) = (before(asks, " in is bent"), cosecant(asks, "bends of "));
        let travel = rise * factor;
        near(asks, inches(text(offset, "answer")), travel, 0.05);
        near(asks, number(lines(offset)[0]), factor, 0.006);
        near(asks, inches(lines(offset)[1]), travel - (travel * travel - rise * rise).sqrt(), 0.06);
        let asks = text(three, "asks");
        let outer = if asks.contains("of 45 degrees") { 2.613 } else { 2.0 };
        near(asks, inches(text(three, "answer")), before(asks, " in high") * outer, 0.05);
        let asks = text(four, "asks");
        let travel = before(asks, " in high") * cosecant(asks, "bends of ");
        near(asks, inches(text(four, "answer")), 2.0 * travel + before(asks, " in apart"), 0.08);
        near(asks, inches(lines(four)[1]), travel, 0.05);
    }
}

/// In the hobby room every white conductor is grounded and every bare one grounding; the ids tell what a thing is.
#[test]
fn terms_fit_what_the_ids_of_the_hobby_room_say() {
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for seed in 0..10 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        assert!(all(&key, "definitions").len() >= 8);
        for one in all(&key, "definitions") {
            let (asks, answer) = (text(one, "asks"), text(one, "answer"));
            let choices = one["choices"].as_array().unwrap();
            assert!(choices.iter().any(|choice| choice.as_str() == Some(answer)), "{asks}: {answer}");
            let right = match text(one, "id") {
                "definitions-conductor" if asks.contains(".bare ") => "equipment grounding conductor",
                "definitions-conductor" if asks.contains(".white ") => "grounded conductor",
                "definitions-conductor" => "ungrounded conductor",
                "definitions-point" if asks.contains("receptacle R") => "receptacle outlet",
                "definitions-point" if asks.contains("switch S") => "device",
                "definitions-point" if asks.contains("itself") => "utilization equipment",
                "definitions-point" => "lighting outlet",
                "definitions-location" => "dry location",
                "definitions-room" => "neither bathroom nor kitchen",
                _ => continue,
            };
            assert_eq!(answer, right, "{asks}");
            seen.insert(right.to_owned());
        }
    }
    assert!(seen.len() >= 8, "{seen:?}");
}

#[test]
fn symbols_are_drawn_without_their_names_and_counted_as_the_file_has_them() {
    let mut counted: BTreeSet<String> = BTreeSet::new();
    for seed in 0..8 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures --mistakes 2"));
        let page = folder.read("out/questions.html");
        assert!(
            !page.contains("<title>d") && !page.contains("! B"),
            "no drawing tells its answer, or a planted mistake"
        );
        let symbols = all(&key, "plan-reading-symbol");
        assert_eq!(symbols.len(), 3);
        for one in symbols {
            let looks = text(one, "asks").split(": ").nth(1).unwrap().trim_end_matches('?');
            assert!(page.contains(&format!("aria-label=\"Symbol: {looks}\"")), "{looks}");
            // As published drawing standards have them: two lines a duplex receptacle, S3 a three-way switch, rays a luminaire.
            let right = match looks {
                "a circle with two lines across it" => "duplex receptacle",
                "a circle with two lines across it, with GFCI" => "duplex receptacle, GFCI",
                "the letter S, with 3" => "three-way switch",
                "the letter S" => "switch",
                "a circle with four rays" => "luminaire",
                other => panic!("{other}"),
            };
            assert_eq!(text(one, "answer"), right);
        }
        let one = all(&key, "plan-reading-count")[0];
        let name = text(one, "asks").rsplit(": ").next().unwrap().trim_end_matches('?');
        let job: toml::Table = folder.read("out/job.toml").parse().unwrap();
        let of = |kind: &str| job[kind].as_array().unwrap().clone();
        let right = match name {
            "luminaire" => of("luminaire").len(),
            "duplex receptacle" => of("device").iter().filter(|it| it["kind"].as_str() == Some("receptacle")).count(),
            "three-way switch" => of("device")
                .iter()
                .filter(|it| it.get("action").and_then(toml::Value::as_str) == Some("three_way"))
                .count(),
            "switch" => of("device")
                .iter()
                .filter(|it| it.get("action").and_then(toml::Value::as_str) == Some("single_pole"))
                .count(),
            other => panic!("{other}"),
        };
        assert_eq!(text(one, "answer"), right.to_string(), "{name}");
        counted.insert(name.to_owned());
    }
    assert!(counted.len() > 1, "{counted:?}");
}

#[test]
fn the_take_off_counts_what_the_file_holds() {
    let folder = Folder::empty();
    let key = make(&folder, "three-bedroom.toml", "--seed 7 --figures");
    let job: toml::Table = folder.read("out/job.toml").parse().unwrap();
    let count = |kind: &str| job[kind].as_array().unwrap().len();
    let sum = |one: &toml::Value| lines(one).iter().map(|line| number(line)).sum::<f64>();
    let by_hand = [
        ("take-off-boxes", count("box")),
        ("take-off-devices", count("device")),
        ("take-off-breakers", count("circuit") + count("panel")),
    ];
    for (id, right) in by_hand {
        let one = all(&key, id)[0];
        assert_eq!(text(one, "answer"), right.to_string(), "{id}");
        near(id, sum(one), right as f64, 0.0);
    }
    let breakers = all(&key, "take-off-breakers")[0];
    let line = |what: &str| {
        let lines = breakers["lines"].as_array().unwrap().iter();
        lines.filter(|line| text(line, "what").contains(what)).map(|line| number(text(line, "total"))).sum::<f64>()
    };
    let rated = |rating: &str| {
        job["circuit"].as_array().unwrap().iter().filter(|it| it["rating"].as_str() == Some(rating)).count()
    };
    near("15 A", line("15 A"), rated("15 A") as f64, 0.0);
    near("20 A", line("20 A"), rated("20 A") as f64, 0.0);
    // With slack there is more cable than the runs are long.
    let lengths: f64 = job["cable"].as_array().unwrap().iter().map(|it| inches(text(it, "length"))).sum();
    let cable = all(&key, "take-off-cable")[0];
    assert!(inches(text(cable, "answer")) > lengths, "{} in are written", lengths);
    near("cable", lines(cable).iter().map(|line| inches(line)).sum(), inches(text(cable, "answer")), 1.0);
}

/// The stated loads of the file, added up by leg: two spaces side by side are on one leg, the next two on the other (common practice,
/// no source); a two-pole circuit counts half on each.
#[test]
fn the_legs_of_the_panel_carry_what_the_file_says() {
    let folder = Folder::empty();
    let key = make(&folder, "three-bedroom.toml", "--seed 3 --figures");
    let job: toml::Table = folder.read("out/job.toml").parse().unwrap();
    let of = |kind: &str| job[kind].as_array().unwrap();
    let power = |text: &str| parse(text, Dimension::Power).unwrap().amount();
    let mut legs = [0_i64; 2];
    for circuit in of("circuit") {
        let here = |one: &&toml::Value| one.get("circuit").and_then(toml::Value::as_str) == circuit["id"].as_str();
        let loads = of("luminaire").iter().chain(of("appliance")).filter(here);
        let load: i64 = loads.filter_map(|one| one.get("load")).map(|load| power(load.as_str().unwrap())).sum();
        let positions = circuit["positions"].as_array().unwrap();
        match positions.as_slice() {
            [one] => legs[((one.as_integer().unwrap() - 1) / 2 % 2) as usize] += load,
            _ => legs = legs.map(|leg| leg + load / 2),
        }
    }
    let asked = key["asked"].as_array().unwrap();
    let figure = |name: &str| power(text(asked.iter().find(|one| text(one, "figure") == name).unwrap(), "value"));
    assert_eq!([figure("panel.leg_1_load"), figure("panel.leg_2_load")], legs);
    assert_eq!(figure("panel.leg_difference"), (legs[0] - legs[1]).abs());
    let shared = all(&key, "leg-balance-3")[0];
    let asks = text(shared, "asks");
    let amperes: Vec<f64> = asks
        .split(' ')
        .zip(asks.split(' ').skip(1))
        .filter(|(_, unit)| unit.starts_with('A'))
        .filter_map(|(n, _)| n.parse().ok())
        .collect();
    let opposite = lines(shared)[0] != lines(shared)[1];
    // The currents of opposite legs flow against each other in the neutral (Kirchhoff's current law).
    let right = if opposite { amperes[0] - amperes[1] } else { amperes[0] + amperes[1] };
    near(asks, number(text(shared, "answer")), right, 0.0);
    assert_eq!(text(all(&key, "leg-balance-4")[0], "answer"), if opposite { "yes" } else { "no" });
}

#[test]
fn the_load_of_a_circuit_is_raised_for_what_runs_for_hours() {
    let folder = Folder::empty();
    folder.write(
        "job.toml",
        "format = 1\n[site]\npermit_date = 2023-05-10\njurisdiction = \"demo/harlow-county\"\nstage = \"layout\"\n[[panel]]\nid = \"P1\"\n\
         [[circuit]]\nid = \"1\"\npositions = [1]\nrating = \"20 A\"\nvoltage = \"120 V\"\nserves = \"dedicated\"\nother_load = \"300 VA\"\n\
         continuous_load = \"800 VA\"\n",
    );
    let working = folder.run("inspect job.toml --working 1 --format json").json();
    let fields = working["working"][0]["fields"].as_array().unwrap();
    let value =
        |name: &str| fields.iter().find(|field| field["field"] == name).unwrap()["value"].as_str().unwrap().to_owned();
    assert_eq!(value("load"), "1100 VA");
    // 125 percent of what is continuous (210.20(A), from memory): 300 + 1.25 x 800.
    assert_eq!(value("load_counted"), "1300 VA");
}

/// 125 percent of what runs for three hours and more (210.20(A)), then the next of the standard ratings 15, 20, 25, 30, 35, 40 A (240.6(A));
/// both from memory.
#[test]
fn a_breaker_for_a_continuous_load_is_the_next_standard_one() {
    let mut ratings: BTreeSet<String> = BTreeSet::new();
    for seed in 0..6 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        let one = all(&key, "circuit-load-2")[0];
        let asks = text(one, "asks");
        let n: Vec<f64> = asks.split(' ').filter_map(|word| word.parse().ok()).collect();
        let (raised, sum) = (n[1] * 1.25, n[1] * 1.25 + n[2]);
        let working = [raised, sum, sum / n[0]];
        lines(one).iter().zip(working).for_each(|(line, right)| near(asks, number(line), right, 1e-6));
        let standard = [15.0, 20.0, 25.0, 30.0, 35.0, 40.0];
        let right = standard.into_iter().find(|rating| *rating >= working[2]).unwrap();
        near(asks, number(text(one, "answer")), right, 0.0);
        ratings.insert(text(one, "answer").to_owned());
    }
    assert!(ratings.len() > 1, "{ratings:?}");
}

/// Returns what is to put right in a job, as `rule item`.
fn wrong(folder: &Folder, job: &str) -> BTreeSet<String> {
    let report = folder.run(&format!("inspect {job} --format json --on 2023-06-01 --weight correction")).json();
    let findings = report["jobs"][0]["findings"].as_array().unwrap().clone();
    let wrong = findings.iter().filter(|one| one["outcome"] == "correction");
    wrong.map(|one| format!("{} {}", one["rule"].as_str().unwrap(), one["item"].as_str().unwrap())).collect()
}

#[test]
fn questions_on_the_job_agree_with_a_count_of_the_file() {
    let folder = Folder::empty();
    let key = make(&folder, "three-bedroom.toml", "--seed 12 --mistakes 4 --figures");
    let job: toml::Table = folder.read("out/job.toml").parse().unwrap();
    let of = |kind: &str| job[kind].as_array().unwrap().iter().filter_map(toml::Value::as_table).collect::<Vec<_>>();
    let question = |id: &str| {
        let mut all = key["question"].as_array().unwrap().iter();
        let one = all.find(|one| one["id"].as_str() == Some(id)).unwrap_or_else(|| panic!("no {id}"));
        (one["asks"].as_str().unwrap().to_owned(), one["answer"].as_str().unwrap().to_owned())
    };
    let (asks, answer) = question("take-off-1");
    let make = asks.split(' ').nth(2).unwrap();
    let runs = of("cable").into_iter().filter(|cable| cable["make"].as_str() == Some(make));
    let sum: f64 = runs.map(|cable| inches(cable["length"].as_str().unwrap())).sum();
    assert!((inches(&answer) - sum).abs() < 1e-6, "{asks} {answer} is not {sum} in");

    let (asks, answer) = question("plan-reading-1");
    let circuit = asks.split(' ').nth(7).unwrap();
    let here = |one: &&toml::Table| one.get("circuit").and_then(toml::Value::as_str) == Some(circuit);
    let receptacles = of("device").into_iter().filter(here).filter(|one| one["kind"].as_str() == Some("receptacle"));
    let count = receptacles.count() + of("luminaire").into_iter().filter(here).count();
    assert_eq!(answer, count.to_string(), "{asks}");

    // Two spaces of a panel side by side are on one leg, the next two on the other.
    let (asks, answer) = question("leg-balance-1");
    let circuit = asks.split(' ').nth(8).unwrap().trim_end_matches(',');
    let circuit = of("circuit").into_iter().find(|one| one["id"].as_str() == Some(circuit)).unwrap();
    let position = circuit["positions"][0].as_integer().unwrap();
    assert_eq!(answer, ((position - 1) / 2 % 2 + 1).to_string(), "{asks}");

    let (asks, answer) = question("edition-compare-1");
    let day = asks.split(' ').nth(7).unwrap().trim_end_matches(',');
    let other =
        folder.run(&format!("inspect out/job.toml --permit-date {day} --format json --weight correction")).json();
    let findings = other["jobs"][0]["findings"].as_array().unwrap();
    let known = wrong(&folder, "out/job.toml");
    let name = |one: &serde_json::Value| format!("{} {}", one["rule"].as_str().unwrap(), one["item"].as_str().unwrap());
    let new = findings.iter().filter(|one| one["outcome"] == "correction" && !known.contains(&name(one)));
    let cites: BTreeSet<&str> = new.map(|one| one["cite"].as_str().unwrap()).collect();
    assert!(!cites.is_empty() && cites.iter().any(|cite| answer.contains(cite)), "{asks} {answer}: {cites:?}");
}

fn inches(text: &str) -> f64 {
    let feet = text.split_once(" ft").map_or(0.0, |(feet, _)| feet.trim().parse().unwrap());
    let rest = text.split_once(" ft").map_or(text, |(_, rest)| rest).replace(" in", "");
    let part = |word: &str| match word.split_once('/') {
        Some((up, down)) => up.parse::<f64>().unwrap() / down.parse::<f64>().unwrap(),
        None => word.parse().unwrap(),
    };
    feet * 12.0 + rest.split_whitespace().map(part).sum::<f64>()
}
