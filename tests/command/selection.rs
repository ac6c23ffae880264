//! Options that say what to look at, and the exit status.

use crate::support::{Folder, flat, found};

#[test]
fn corrections_give_1_and_cautions_only_when_asked() {
    let folder = Folder::little();
    assert_eq!(folder.inspect("").status, 1);
    assert_eq!(folder.inspect("--rule switch-not-too-high").status, 0);
    assert_eq!(folder.inspect("--rule switch-not-too-high --fail-on caution").status, 1);
    assert_eq!(folder.inspect("--rule grounds-made-up-here --fail-on caution").status, 0);
    assert_eq!(folder.inspect("--rule grounds-made-up-here --fail-on note").status, 1);
}

#[test]
fn the_stage_decides_which_rules_count() {
    let folder = Folder::little();
    assert_eq!(found(&folder.job("--stage layout"), "correction"), ["switch-not-too-high B2"]);
    let at_final = found(&folder.job("--stage final"), "correction");
    assert!(at_final.contains(&String::from("device-circuit-on R1")), "{at_final:?}");
    assert!(!found(&folder.job(""), "correction").contains(&String::from("device-circuit-on R1")));
    assert_eq!(folder.job("--stage final")["stage"], "final");
}

#[test]
fn place_and_permit_date_can_be_tried_on() {
    let folder = Folder::little();
    let limit = |words: &str| {
        let job = folder.job(&format!("--rule staple-near-box --item C2/from {words}"));
        (job["code"]["jurisdiction"].clone(), job["findings"][0]["allowed"]["text"].clone())
    };
    assert_eq!(limit(""), ("little/county".into(), "8 in max".into()));
    assert_eq!(limit("--permit-date 2021-12-31"), ("little/county".into(), "12 in max".into()));
    assert_eq!(limit("--permit-date 2022-01-01"), ("little/county".into(), "8 in max".into()));
    assert_eq!(limit("--at little/edition"), ("little/edition".into(), "12 in max".into()));
    let city = folder.job("--at little/city");
    assert!(!found(&city, "to_measure").iter().any(|one| one.starts_with("boxes-plumb")), "left out by the city");
}

#[test]
fn the_weight_hides_what_is_lighter_and_the_tally_counts_it_all_the_same() {
    let folder = Folder::little();
    let weights = |words: &str| {
        let job = folder.job(words);
        let mut weights: Vec<String> = job["findings"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|finding| finding["outcome"] == "correction")
            .map(|finding| finding["weight"].as_str().unwrap().to_owned())
            .collect();
        weights.sort();
        (weights, job["tally"].clone())
    };
    let (all, tally) = weights("--weight note");
    assert_eq!(all, ["caution", "correction", "correction", "note"]);
    assert_eq!(
        weights("--weight caution"),
        (vec!["caution".into(), "correction".into(), "correction".into()], tally.clone())
    );
    assert_eq!(weights("--weight correction"), (vec!["correction".into(), "correction".into()], tally));
}

#[test]
fn rules_and_items_narrow_the_inspection_and_a_slip_never_does() {
    let folder = Folder::little();
    let job = folder.job("--rule staple-near-box --rule wire-fits-breaker --item C2/from");
    assert_eq!(found(&job, "correction"), ["staple-near-box C2/from"]);
    // An earlier id of a rule goes on working.
    assert_eq!(found(&folder.job("--rule breaker-fits-wire"), "correction"), ["wire-fits-breaker C2"]);
    folder
        .inspect("--rule staple-near-bx")
        .refused("there is no rule `staple-near-bx` here help: did you mean `staple-near-box`?");
    folder.inspect("--item C2/form").refused("there is no item `C2/form` here help: did you mean `C2/from`?");
    folder.inspect("--at little/conty").refused("did you mean `little/county`?");
}

#[test]
fn misuse_of_the_command_line_gives_2_and_says_how() {
    let folder = Folder::little();
    folder.run("inspect").refused("JOB");
    folder.inspect("--stage soon").refused("rough_in");
    folder.run("inspect job.toml --on tomorrow").refused("write a date as YEAR-MONTH-DAY, such as 2023-05-10");
    folder.run("inspect none.toml").refused("`none.toml` can't be read: there is no such file");
    folder.run("inspect book").refused("`book` holds no job file");
    folder.run("inspect job.toml --rulesets none").refused("`none` is no folder of rulesets: it is not there");
    folder.write("empty/notes.txt", "nothing");
    folder.run("inspect job.toml --rulesets empty").refused("`empty` holds no ruleset");
    folder.inspect("--format csv").refused("`--format csv` is for `--working` alone");
    folder.write("latin.toml", "");
    std::fs::write(folder.path().join("latin.toml"), b"name = \"caf\xe9\"").unwrap();
    folder.run("inspect latin.toml").refused("`latin.toml` is not UTF-8 text: byte 11, in line 1, is out of place");
    // It is somebody's work: whatever is advised, not to write over it.
    let said = folder.run("walk latin.toml --by A").err;
    assert!(!said.contains("--force") && said.contains("next: "), "{said}");
    std::fs::write(folder.path().join("wide.toml"), b"\xff\xfen\x00").unwrap();
    folder.run("inspect wide.toml").refused("`wide.toml` is UTF-16 text: save it as UTF-8");
}

#[test]
fn an_unknown_place_is_pointed_at_with_the_nearest_name() {
    let folder = Folder::little();
    folder.change("job.toml", "little/county", "little/conuty");
    let ran = folder.inspect("");
    ran.refused("did you mean `little/county`?");
    assert!(ran.err.contains("job.toml:6:16"), "{}", ran.err);
}

#[test]
fn the_shop_stands_on_top() {
    let folder = Folder::little();
    folder.change("job.toml", "stage = \"rough_in\"", "stage = \"rough_in\"\nshop = \"little/shop\"");
    let job = folder.job("--rule switch-not-too-high");
    assert_eq!(job["findings"][0]["weight"], "note");
    let ids: Vec<&str> =
        job["code"]["rulesets"].as_array().unwrap().iter().map(|layer| layer["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["little/edition", "little/county", "little/shop"]);
}

#[test]
fn a_folder_of_jobs_is_searched_for_what_states_a_format() {
    let folder = Folder::little();
    folder.write("jobs/b.toml", &folder.read("job.toml"));
    folder.write("jobs/a/deep.toml", &folder.read("job.toml"));
    folder.write("jobs/notes.toml", "title = \"no job\"\n");
    folder.write("jobs/readme.md", "format = 1\n");
    let ran = folder.run("inspect jobs job.toml --rulesets book --on 2023-06-01 --format json");
    let jobs = ran.json();
    let files: Vec<&str> = jobs["jobs"].as_array().unwrap().iter().map(|job| job["file"].as_str().unwrap()).collect();
    assert_eq!(files, ["jobs/a/deep.toml", "jobs/b.toml", "job.toml"]);
    let text = folder.run("inspect jobs --rulesets book --on 2023-06-01").out;
    assert!(flat(&text).contains("All 2 jobs: 4 to put right"), "{text}");
}

#[test]
fn a_broken_job_among_good_ones_hides_none_of_them() {
    let folder = Folder::little();
    folder.write("jobs/a.toml", &folder.read("job.toml"));
    folder.write("jobs/b.toml", &folder.read("job.toml").replace("\"50 in\"", "50"));
    folder.write("jobs/c.toml", &folder.read("job.toml"));
    let ran = folder.run("inspect jobs --rulesets book --on 2023-06-01");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("`top` has no unit") && ran.err.contains("jobs/b.toml:37:7"), "{}", ran.err);
    assert!(ran.out.contains("jobs/a.toml ·") && ran.out.contains("jobs/c.toml ·"), "{}", ran.out);
    assert!(flat(&ran.out).contains("1 not read"), "{}", ran.out);
    let json = folder.run("inspect jobs --rulesets book --on 2023-06-01 --format json").json();
    assert_eq!(json["jobs"].as_array().unwrap().len(), 2);
    assert_eq!(json["unread"][0]["file"], "jobs/b.toml");
    assert_eq!(json["unread"][0]["problems"][0]["at"]["line"], 37);
}
