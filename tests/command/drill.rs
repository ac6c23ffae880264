//! `drill`: mistakes that an inspection finds, and a key that lies apart.

use std::collections::BTreeSet;

use crate::support::{Folder, examples};

fn make(folder: &Folder, job: &str, words: &str) -> toml::Table {
    let path = examples().join(job);
    let ran = folder.run(&format!("drill {} -o out --key key {words}", path.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.read("key/key.toml").parse().unwrap()
}

/// Returns what is to put right in a job, as `rule item`.
fn wrong(folder: &Folder, job: &str) -> BTreeSet<String> {
    let ran = folder.run(&format!("inspect {job} --format json --on 2023-06-01 --weight correction"));
    let report = ran.json();
    let findings = report["jobs"][0]["findings"].as_array().unwrap_or_else(|| panic!("{}", ran.err)).clone();
    let wrong = findings.iter().filter(|one| one["outcome"] == "correction");
    wrong.map(|one| format!("{} {}", one["rule"].as_str().unwrap(), one["item"].as_str().unwrap())).collect()
}

fn of_key(key: &toml::Table, list: &str) -> BTreeSet<String> {
    let name = |told: &toml::Value| format!("{} {}", told["rule"].as_str().unwrap(), told["item"].as_str().unwrap());
    let told = key[list].as_array().unwrap().iter();
    match list {
        "standing" => told.map(name).collect(),
        _ => told.flat_map(|one| one["finding"].as_array().unwrap()).map(name).collect(),
    }
}

#[test]
fn an_inspection_finds_what_was_planted_and_nothing_else() {
    for (job, seed) in [("three-bedroom.toml", 1), ("three-bedroom.toml", 2), ("hobby-room.toml", 3)] {
        let folder = Folder::empty();
        let key = make(&folder, job, &format!("--seed {seed} --mistakes 6"));
        assert_eq!(key["planted"].as_array().unwrap().len(), 6);
        let sound = wrong(&folder, examples().join(job).to_str().unwrap());
        let drilled = wrong(&folder, "out/job.toml");
        assert_eq!(of_key(&key, "standing"), sound, "{job} {seed}");
        let new: BTreeSet<String> = drilled.difference(&sound).cloned().collect();
        assert_eq!(of_key(&key, "planted"), new, "{job} {seed}");
        assert!(sound.is_subset(&drilled), "no mistake hides another");
    }
}

#[test]
fn the_key_undoes_the_drill() {
    let folder = Folder::empty();
    let key = make(&folder, "three-bedroom.toml", "--seed 5 --mistakes 5");
    let kinds: BTreeSet<&str> =
        key["planted"].as_array().unwrap().iter().map(|one| one["mistake"].as_str().unwrap()).collect();
    assert_eq!(kinds.len(), 5, "each mistake is of another kind: {kinds:?}");
    let sound = std::fs::read_to_string(examples().join("three-bedroom.toml")).unwrap();
    let drilled = folder.read("out/job.toml");
    let changed: Vec<(&str, &str)> =
        sound.lines().zip(drilled.lines().skip(1)).filter(|(old, new)| old != new).collect();
    assert_eq!(changed.len(), 5, "comments and all other values stay: {changed:?}");
    for one in key["planted"].as_array().unwrap() {
        let (was, now) = (one["was"].as_str().unwrap(), one["now"].as_str().unwrap());
        assert!(changed.iter().any(|(old, new)| old.contains(was) && new.contains(now)), "{one}");
    }
    assert!(drilled.starts_with("# A drill:"), "nobody builds from it");
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_one_others() {
    let (one, two, other) = (Folder::empty(), Folder::empty(), Folder::empty());
    make(&one, "hobby-room.toml", "--seed 9 --mistakes 4 --figures");
    make(&two, "hobby-room.toml", "--seed 9 --mistakes 4 --figures");
    make(&other, "hobby-room.toml", "--seed 10 --mistakes 4 --figures");
    for file in ["out/job.toml", "out/answers.toml", "key/key.toml"] {
        assert_eq!(one.read(file), two.read(file), "{file}");
    }
    assert_ne!(one.read("out/job.toml"), other.read("out/job.toml"));
}

#[test]
fn changed_figures_keep_the_job_sound_and_ask_for_worksheets() {
    let folder = Folder::empty();
    let key = make(&folder, "three-bedroom.toml", "--seed 4 --figures");
    assert!(wrong(&folder, "out/job.toml").is_empty(), "still nothing to put right");
    let asked = key["asked"].as_array().unwrap();
    for figure in ["box.fill", "cable.ampacity", "circuit.voltage_drop", "site.load_standard", "site.load_optional"] {
        assert!(asked.iter().any(|one| one["figure"].as_str() == Some(figure)), "{figure}");
    }
    // What the key says is what the working of the job says.
    let load = asked.iter().find(|one| one["figure"].as_str() == Some("site.load_standard")).unwrap();
    let working = folder.run("inspect out/job.toml --working site --format json").json();
    let fields = working["working"][0]["fields"].as_array().unwrap();
    let field = fields.iter().find(|field| field["field"] == "load_standard").unwrap();
    assert_eq!(field["value"].as_str(), load["value"].as_str());
    let form = folder.read("out/answers.toml");
    let form: toml::Table = form.parse().unwrap_or_else(|error| panic!("the form is no TOML: {error}\n{form}"));
    assert_eq!(form["worked"].as_array().unwrap().len(), asked.len());
    assert!(form["worked"].as_array().unwrap().iter().all(|one| one["value"].as_str() == Some("")), "no answer in it");
}

/// The answer of each sum is reckoned here a second time, in floating point, from the words of the question.
#[test]
fn the_sums_come_out_as_a_second_reckoning_has_them() {
    for seed in 0..4 {
        let folder = Folder::empty();
        let key = make(&folder, "hobby-room.toml", &format!("--seed {seed} --figures"));
        for one in key["question"].as_array().unwrap() {
            let (id, asks) = (one["id"].as_str().unwrap(), one["asks"].as_str().unwrap());
            let given: f64 = match id {
                _ if id.starts_with("measure") => inches(one["answer"].as_str().unwrap()),
                _ => one["answer"].as_str().unwrap().split(' ').next().unwrap().parse().unwrap_or(f64::NAN),
            };
            let numbers: Vec<f64> = asks.split(' ').filter_map(|word| word.parse().ok()).collect();
            let right = match id {
                "ohms-law-1" | "ohms-law-2" => numbers[0] * numbers[1],
                "ohms-law-3" => 2.0 * numbers[1] / numbers[0],
                _ if id.starts_with("measure") => {
                    let text = asks.trim_start_matches("How long is ").trim_end_matches('?');
                    match text.split_once(" less ") {
                        Some((long, short)) => inches(long) - inches(short),
                        None => text.split(" and ").map(inches).sum(),
                    }
                }
                _ => continue,
            };
            assert!((given - right).abs() < 1e-6, "{asks}: {given} is not {right}");
        }
    }
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

#[test]
fn what_can_not_be_done_is_told() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    let job = job.display();
    folder.run(&format!("drill {job} --seed 1 --mistakes 2 -o out --key out")).refused("another folder");
    folder.run(&format!("drill {job} --seed 1 --mistakes 500 -o out --key key")).refused("mistakes can be planted");
    folder.run("drill no.toml --seed 1 --mistakes 2 -o out --key key").refused("there is no such file");
    folder.write("own.toml", "mistake = 3\n");
    folder.run(&format!("drill {job} --seed 1 --mistakes 1 --table own.toml -o out --key key")).refused("own.toml");
    assert!(!folder.path().join("out").exists(), "nothing is written of a drill that failed");
}
