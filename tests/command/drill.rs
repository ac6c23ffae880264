//! `drill`: mistakes that an inspection finds, and a key that lies apart.

use std::collections::BTreeSet;

use crate::support::{Folder, examples};

fn make(folder: &Folder, job: &str, words: &str) -> toml::Table {
    let path = examples().join(job);
    let ran = folder.run(&format!("drill {} --force -o out --key key {words}", path.display()));
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
    // The make-up of a box is written out in lines of its own; all others are changed in their place.
    let made_up = |line: &&str| ["splice = [", "landing = [", "cap = ["].iter().any(|key| line.starts_with(key));
    let rest: Vec<&str> = drilled.lines().skip(1).filter(|line| !made_up(line)).collect();
    assert_eq!(rest.len(), sound.lines().count());
    let changed: Vec<(&str, &str)> = sound.lines().zip(rest).filter(|(old, new)| old != new).collect();
    let values: Vec<&toml::Value> =
        key["planted"].as_array().unwrap().iter().filter(|one| one["field"].as_str() != Some("make_up")).collect();
    assert_eq!(changed.len(), values.len(), "comments and all other values stay: {changed:?}");
    for one in values {
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

/// A table of mistakes in the make-up of boxes alone: no starting job has one written, so that it is derived and written out.
const WIRING: &str = "vary = []\nask = []\n\
    [[mistake]]\nid = \"swapped\"\nwhat = \"swapped\"\nwiring = \"swap\"\n\
    [[mistake]]\nid = \"left-out\"\nwhat = \"left out\"\nwiring = \"open\"\n\
    [[mistake]]\nid = \"joined\"\nwhat = \"joined\"\nwiring = \"touch\"\n";

#[test]
fn mistakes_in_the_make_up_are_written_out_and_found() {
    for (job, seed) in [("hobby-room.toml", 1), ("three-bedroom.toml", 2), ("three-bedroom.toml", 3)] {
        let folder = Folder::empty();
        folder.write("wiring.toml", WIRING);
        let key = make(&folder, job, &format!("--seed {seed} --mistakes 3 --table wiring.toml"));
        let planted = key["planted"].as_array().unwrap();
        let kinds: BTreeSet<&str> = planted.iter().map(|one| one["mistake"].as_str().unwrap()).collect();
        assert_eq!(kinds.len(), 3, "{job} {seed}: each kind once: {kinds:?}");
        let drilled: toml::Table = folder.read("out/job.toml").parse().unwrap();
        let boxes = drilled["box"].as_array().unwrap();
        for one in planted {
            assert_eq!(one["field"].as_str(), Some("make_up"));
            let id = one["item"].as_str().unwrap();
            let made_up = boxes.iter().find(|it| it["id"].as_str() == Some(id)).unwrap();
            assert!(made_up.get("splice").or(made_up.get("landing")).is_some(), "{made_up}");
            // The first conductor that the key names stands in the make-up of that box.
            let conductor = one["was"].as_str().unwrap().split(' ').next().unwrap();
            let is_there = made_up.to_string().contains(conductor);
            assert_eq!(is_there, one["mistake"].as_str() != Some("left-out"), "{conductor} in {made_up}");
        }
        let sound = wrong(&folder, examples().join(job).to_str().unwrap());
        let drilled = wrong(&folder, "out/job.toml");
        let new: BTreeSet<String> = drilled.difference(&sound).cloned().collect();
        assert_eq!(of_key(&key, "planted"), new, "{job} {seed}");
        // Put right it is all right, left as it is nothing is.
        folder.write("in/sound.toml", &std::fs::read_to_string(examples().join(job)).unwrap());
        folder.write("in/untouched.toml", &folder.read("out/job.toml"));
        let csv = folder.run("grade in --key key/key.toml --format csv").out;
        assert!(csv.contains("sound,fault-finding,2,100,") && csv.contains("untouched,fault-finding,2,0,"), "{csv}");
    }
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
    folder.run(&format!("drill {job} --seed 1 --mistakes 2 -o out --key out/key")).refused("where learners read it");
    folder.run(&format!("drill {job} --seed 1 --mistakes 2 -o ./out --key out")).refused("where learners read it");
    folder.run(&format!("drill {job} --seed 1 -o out --key key")).refused("nothing to practise is asked for");
    assert!(!folder.path().join("out").exists(), "nothing is written of a drill that failed");
}

/// A form that somebody has filled in is not written over unasked, and what an earlier drill left does not mix with the next.
#[test]
fn a_drill_takes_the_place_of_another_only_when_told_to() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    let job = job.display();
    assert_eq!(folder.run(&format!("drill {job} --seed 1 --fault --figures -o out --key key")).status, 0);
    folder.write("out/answers.toml", "name = \"Ann\"\n");
    assert_eq!(folder.run("meter out C1/to.black C1/to.white").status, 0);
    let again = format!("drill {job} --seed 2 --mistakes 1 -o out --key key");
    folder.run(&again).refused("perhaps answered");
    assert_eq!(folder.read("out/answers.toml"), "name = \"Ann\"\n");
    folder
        .run(&format!("drill {job} --seed 2 --mistakes 1 -o other --key key"))
        .refused("`key/key.toml` is there already");
    assert!(!folder.path().join("other").exists());
    assert_eq!(folder.run(&format!("{again} --force")).status, 0);
    let left: BTreeSet<String> = std::fs::read_dir(folder.path().join("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(left, BTreeSet::from(["answers.toml", "job.toml"].map(String::from)));
}

#[test]
fn the_shipped_table_can_be_printed_and_used_as_an_own_one() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    let job = job.display();
    let printed = folder.run("drill --print-table");
    assert_eq!(printed.status, 0, "{}", printed.err);
    folder.write("table.toml", &printed.out);
    for (words, to) in [("", "a"), ("--table table.toml", "b")] {
        let ran = folder.run(&format!("drill {job} --seed 5 --mistakes 3 {words} -o {to} --key {to}-key"));
        assert_eq!(ran.status, 0, "{}", ran.err);
    }
    assert_eq!(folder.read("a-key/key.toml"), folder.read("b-key/key.toml"));
}
