//! A kitchen in an existing house: from the first answers to the packet, with an existing panel, rooms that are left as they are, and an
//! old receptacle that is written in.

use serde_json::Value;

use crate::support::{Folder, examples, flat};

/// A file of the example: `answers.txt`, or `old.toml` with an old circuit to an old receptacle with two slots, on cable without a ground.
fn example(name: &str) -> String {
    std::fs::read_to_string(examples().join("kitchen-remodel").join(name)).unwrap()
}

/// Returns a folder with the remodel as it is proposed.
fn proposed() -> Folder {
    let folder = Folder::empty();
    folder.write("answers", &example("answers.txt"));
    let made = folder.run("start job.toml --answers answers");
    assert_eq!(made.status, 0, "{made:?}");
    let ran = folder.run("propose job.toml");
    assert_eq!(ran.status, 0, "{ran:?}");
    folder
}

fn report(folder: &Folder, args: &str) -> Value {
    let ran = folder.run(&format!("inspect {args} --format json"));
    assert!(ran.status < 2, "{ran:?}");
    let mut report: Value = serde_json::from_str(&ran.out).unwrap();
    report["jobs"][0].take()
}

/// Returns rule and item of each finding with an outcome.
fn findings(report: &Value, outcome: &str) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let of = |finding: &&Value| finding["outcome"] == outcome;
    let all = report["findings"].as_array().unwrap().iter().filter(of);
    all.map(|finding| (text(&finding["rule"]), text(&finding["item"]))).collect()
}

#[test]
fn start_writes_the_existing_panel_and_the_rooms_that_stay_as_they_are() {
    let folder = Folder::empty();
    folder.write("answers", &example("answers.txt"));
    let made = folder.run("start --answers answers");
    assert_eq!(made.status, 0, "{made:?}");
    for lines in [
        "new_work = false",
        "id = \"P1\"\nexisting = true\nroom = \"utility\"\nrating = \"200 A\"\nmain = \"200 A\"\nspaces = 40\nfree_positions = [20, 21, 22, 23, 24, 30]\n",
        "id = \"hallway\"\nkind = \"hallway\"\nlength = \"12 ft\"\nwidth = \"4 ft\"\nexisting = true\n",
        "kind = \"refrigerator\"\nexisting = true\n",
    ] {
        assert!(made.out.contains(lines), "`{lines}` is not in:\n{}", made.out);
    }
    for (answer, told) in [
        ("existing-panel 200A spaces 20 free 20-24", "position 24 is not in the panel"),
        ("existing-panel 200X", "no rating of a panel"),
        ("existing-panel 200A free 24-20", "can't be read"),
        ("existing-panel 200A fre 20", "does not belong to a panel"),
        ("existing-panel 200A in cellar", "there is no such room"),
    ] {
        folder.write("wrong", &format!("place demo/harlow-county\npermit-date 2024-05-10\n{answer}\nroom den 9x9\n"));
        folder.run("start --answers wrong").refused(told);
    }
}

#[test]
fn a_proposal_takes_free_positions_and_leaves_existing_rooms_alone() {
    let folder = proposed();
    let report = report(&folder, "job.toml --stage layout --all");
    let job: toml::Table = folder.read("job.toml").parse().unwrap();
    let list = |key: &str| job.get(key).and_then(|list| list.as_array()).unwrap().iter();
    for circuit in list("circuit") {
        assert_eq!(circuit["existing"].as_bool(), Some(false), "{circuit}");
        for at in circuit["positions"].as_array().unwrap() {
            assert!([20, 21, 22, 23, 24, 30].contains(&at.as_integer().unwrap()), "{circuit}");
        }
    }
    assert!(list("box").all(|one| one["room"].as_str() == Some("kitchen")));
    assert_eq!(findings(&report, "correction"), []);
    assert!(findings(&report, "met").contains(&("new-breaker-on-free-position".into(), "20".into())));
}

#[test]
fn a_panel_without_free_positions_is_told_and_not_made_up() {
    let folder = Folder::empty();
    for (free, why) in [("free 20", "no free ones left that fit"), ("", "nobody wrote which ones are free")] {
        folder.write("answers", &example("answers.txt").replace("free 20-24,30", free));
        let made = folder.run("start job.toml --force --answers answers");
        assert_eq!(made.status, 0, "{made:?}");
        let ran = folder.run("propose job.toml");
        assert!(ran.out.contains("not proposed") && flat(&ran.out).contains(why), "{ran:?}");
    }
}

#[test]
fn old_work_written_in_gives_no_false_corrections() {
    let folder = proposed();
    let before = report(&folder, "job.toml --stage final");
    folder.write("with.toml", &(folder.read("job.toml") + example("old.toml").as_str()));
    let with = report(&folder, "with.toml --stage final");
    assert_eq!(findings(&before, "correction"), findings(&with, "correction"));
    let old = ["7", "OLD", "OLDR", "OLDC", "OLDC/from", "OLDC/to"];
    let asked = findings(&with, "to_measure");
    assert!(!asked.iter().any(|(_, item)| old.contains(&item.as_str())), "nothing is asked of it: {asked:?}");
    let listed = with["existing_work"].as_array().unwrap();
    let of = |kind: &str| listed.iter().find(|one| one["kind"] == kind).unwrap();
    assert_eq!(of("device")["items"], serde_json::json!(["OLDR"]));
    let has = |list: &Value, rule: &str| list.as_array().unwrap().iter().any(|one| one == rule);
    assert!(has(&of("device")["not_applied"], "receptacle-tamper-resistant"));
    assert!(has(&of("cable")["faults_only"], "copper-wire-fits-breaker"));
    let told = folder.run("inspect with.toml --stage final --all");
    assert!(flat(&told.out).contains("Existing work, out of the scope of rules for new work: panel: P1;"), "{told:?}");
    let short = folder.run("inspect with.toml --stage final");
    assert!(flat(&short.out).contains("items are existing work: rules for new work not applied"), "{short:?}");
}

#[test]
fn dangerous_old_work_is_a_correction_all_the_same() {
    let folder = proposed();
    let old = example("old.toml")
        .replace("rating = \"15 A\"", "rating = \"20 A\"")
        .replace("id = \"OLD\"", "id = \"OLD\"\ncover_on = false");
    folder.write("with.toml", &(folder.read("job.toml") + old.as_str()));
    let wrong = findings(&report(&folder, "with.toml --stage final"), "correction");
    for (rule, item) in [("copper-wire-fits-breaker", "OLDC"), ("box-covered", "OLD")] {
        assert!(wrong.contains(&(rule.into(), item.into())), "{wrong:?}");
    }
}

#[test]
fn a_new_range_circuit_needs_four_wires_and_an_old_one_does_not() {
    let folder = proposed();
    let three_wire = folder.read("job.toml").replace("make = \"8/3\"", "make = \"8/2\"");
    let three_wire = three_wire.replace("kind = \"range\"\n", "kind = \"range\"\nneeds_neutral = true\n");
    folder.write("three.toml", &three_wire);
    let rule = "range-and-dryer-fed-by-four-wires";
    let of = |file: &str| {
        let report = report(&folder, &format!("{file} --stage layout --rule {rule}"));
        findings(&report, "correction")
    };
    assert_eq!(of("three.toml"), [(String::from(rule), String::from("22C-1"))], "{three_wire}");
    let (head, rest) = three_wire.split_once("id = \"22C-1\"\n").unwrap();
    folder.write("old.toml", &format!("{head}id = \"22C-1\"\nexisting = true\n{rest}"));
    assert_eq!(of("old.toml"), []);
}

#[test]
fn papers_order_nothing_for_old_work_and_say_which_it_is() {
    let folder = proposed();
    folder.write("job.toml", &(folder.read("job.toml") + example("old.toml").as_str()));
    let parts = folder.run("takeoff job.toml");
    assert!(!parts.out.contains("panel, 200 A"), "{parts:?}");
    assert!(
        flat(&parts.out).contains("existing, so not counted: panel P1; circuit 7; box OLD; device OLDR; cable OLDC"),
        "{parts:?}"
    );
    assert!(folder.run("markout job.toml").out.contains("existing: duplex receptacle"));
    assert!(folder.run("makeup job.toml OLD").out.contains("existing 1-gang box"));
    let card = folder.run("directory job.toml");
    // 40 spaces; 7 positions are taken by what is in the job.
    assert_eq!(card.out.matches("existing, not in the job").count(), 33, "{card:?}");
    let packet = folder.run("packet job.toml -o packet.html");
    assert!(packet.status < 2, "{packet:?}");
    assert!(folder.read("packet.html").contains("<h3>Existing work</h3>"));
}

/// The example's README is run as it stands, and what it says of changes holds.
#[test]
fn the_example_is_as_its_text_says() {
    let folder = Folder::empty();
    for name in ["answers.txt", "old.toml"] {
        folder.write(name, &example(name));
    }
    for line in example("README.md").lines() {
        if line.starts_with("cat ") {
            folder.write("kitchen.toml", &(folder.read("kitchen.toml") + folder.read("old.toml").as_str()));
        } else if let Some(command) = line.strip_prefix("storystick ") {
            let ran = folder.run(command);
            assert_eq!(ran.status, 0, "{command}: {ran:?}");
        }
    }
    let job = folder.read("kitchen.toml");
    let receptacle = "configuration = \"1-15R\"\n";
    let rules = |text: &str| {
        folder.write("changed.toml", text);
        let wrong = findings(&report(&folder, "changed.toml --stage final"), "correction");
        wrong.into_iter().map(|(rule, _)| rule).collect::<Vec<_>>()
    };
    let afci = String::from("replaced-receptacle-afci-protected");
    let gfci = String::from("replaced-receptacle-without-ground-protected");
    let replaced = job.replace(receptacle, &format!("{receptacle}existing = false\n"));
    assert!(rules(&replaced).contains(&afci) && !rules(&replaced).contains(&gfci));
    let three = job.replace(receptacle, "configuration = \"5-15R\"\nexisting = false\n");
    assert!(rules(&three).contains(&afci) && rules(&three).contains(&gfci));
    let outlet = "\n[[box]]\nid = \"NEW\"\nroom = \"kitchen\"\n[[device]]\nid = \"NEWR\"\nkind = \"receptacle\"\nbox = \"NEW\"\ncircuit = \"7\"\n";
    assert!(rules(&(job + outlet)).contains(&String::from("extended-circuit-afci-protected")));
}
