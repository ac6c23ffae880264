//! `inspect --since`: what is new, cleared and still open since an earlier result.

use serde_json::Value;

use crate::support::{Folder, flat};

/// A folder whose `earlier.json` tells of the little job as it stands.
fn earlier() -> Folder {
    let folder = Folder::little();
    let ran = folder.inspect("--format json");
    folder.write("earlier.json", &ran.out);
    folder
}

fn places(list: &Value) -> Vec<String> {
    let name = |one: &Value| format!("{} {}", one["rule"].as_str().unwrap(), one["item"].as_str().unwrap());
    list.as_array().unwrap().iter().map(name).collect()
}

#[test]
fn nothing_has_changed() {
    let folder = earlier();
    let job = folder.job("--since earlier.json");
    let since = &job["since"];
    assert_eq!((since["found"].clone(), since["earlier"].clone()), (true.into(), "earlier.json".into()));
    assert_eq!(places(&since["new"]), [""; 0]);
    assert_eq!(places(&since["cleared"]), [""; 0]);
    assert_eq!(
        places(&since["still_open"]),
        ["wire-fits-breaker C2", "grounds-made-up-here B1", "switch-not-too-high B2", "staple-near-box C2/from"]
    );
    assert_eq!(since["to_measure"], serde_json::json!({ "decided": 0, "new": 0 }));
}

#[test]
fn put_right_moved_measured_and_broken_anew() {
    let folder = earlier();
    folder.change("job.toml", "\"13 in\"", "\"7 in\"");
    folder.change("job.toml", "\"6 in\"", "\"9 in\"");
    folder.change("job.toml", "to = \"B2\"", "to = { at = \"B2\", first_support = \"5 in\" }");
    // Lines move: findings are known by rule and item.
    folder.write("job.toml", &format!("# Looked at again.\n\n{}", folder.read("job.toml")));
    let job = folder.job("--since earlier.json");
    let since = &job["since"];
    assert_eq!(places(&since["new"]), ["staple-near-box C1/to"]);
    assert_eq!(places(&since["cleared"]), ["staple-near-box C2/from"]);
    assert_eq!(since["cleared"][0]["now"], "met");
    assert_eq!(since["still_open"].as_array().unwrap().len(), 3);
    assert_eq!(since["to_measure"], serde_json::json!({ "decided": 1, "new": 0 }));
    assert!(!job["findings"].as_array().unwrap().iter().any(|finding| finding["outcome"] == "met"), "only looked up");
    let text = folder.inspect("--since earlier.json").out;
    insta::assert_snapshot!("since", text[text.find("Since").unwrap()..].to_owned());
}

#[test]
fn what_cannot_be_told_any_more_is_not_cleared() {
    let folder = earlier();
    folder.change("job.toml", "from = { at = \"B1\", first_support = \"13 in\" }", "from = \"B1\"");
    let job = folder.job("--since earlier.json");
    let still = job["since"]["still_open"].as_array().unwrap();
    let staple = still.iter().find(|one| one["rule"] == "staple-near-box").unwrap();
    assert_eq!(staple["now"], "to_measure");
    assert_eq!(job["since"]["to_measure"]["new"], 1);
}

#[test]
fn why_a_finding_has_gone_is_said() {
    let folder = earlier();
    let text = folder.read("job.toml");
    folder.write("job.toml", &text.replace("C2", "C9").replace("purpose = \"switch\"", "purpose = \"receptacle\""));
    let since = folder.job("--since earlier.json --at little/county")["since"].clone();
    let now = |rule: &str| {
        let list = since["cleared"].as_array().unwrap();
        list.iter().find(|one| one["rule"] == rule).map(|one| one["now"].as_str().unwrap().to_owned())
    };
    assert_eq!(now("staple-near-box").as_deref(), Some("item_gone"));
    assert_eq!(now("switch-not-too-high").as_deref(), Some("not_applicable"));
    assert!(places(&since["new"]).contains(&String::from("staple-near-box C9/from")));
}

#[test]
fn what_this_inspection_does_not_look_at_is_not_cleared() {
    let folder = earlier();
    let narrowed = |words: &str| folder.job(&format!("--since earlier.json {words}"))["since"].clone();
    let by_stage = narrowed("--stage layout");
    assert_eq!(places(&by_stage["cleared"]), [""; 0]);
    assert_eq!(by_stage["not_looked_at"].as_array().unwrap().len(), 3);
    let by_rule = narrowed("--rule staple-near-box");
    assert_eq!(places(&by_rule["cleared"]), [""; 0]);
    assert_eq!(places(&by_rule["still_open"]), ["staple-near-box C2/from"]);
    let by_weight = narrowed("--weight correction");
    assert_eq!(places(&by_weight["cleared"]), [""; 0]);
    assert_eq!(by_weight["not_looked_at"].as_array().unwrap().len(), 2);
}

#[test]
fn a_rule_renamed_since_is_known_by_its_earlier_id() {
    let folder = earlier();
    let rules = "book/little/edition/rules/rules.rhai";
    let renamed = folder.read(rules).replace(
        "rule \"staple-near-box\" on cable_end at rough_in cites \"1.1\"",
        "rule \"staple-close\" on cable_end at rough_in cites \"1.1\" was \"staple-near-box\"",
    );
    folder.write(rules, &renamed);
    let since = folder.job("--since earlier.json")["since"].clone();
    assert_eq!(places(&since["new"]), [""; 0]);
    assert!(places(&since["still_open"]).contains(&String::from("staple-near-box C2/from")), "{since}");
}

#[test]
fn a_permission_granted_since_clears() {
    let folder = earlier();
    folder.append(
        "job.toml",
        "[[permission]]\nrule = \"staple-near-box\"\nitems = [\"C2/from\"]\ngranted_by = \"Little county\"\n\
               reason = \"nothing to nail to\"\nuntil = 2023-12-31\n",
    );
    let since = folder.job("--since earlier.json")["since"].clone();
    assert_eq!(since["cleared"][0]["now"], "permitted");
}

#[test]
fn another_job_is_told_apart_and_a_file_that_has_moved_is_known_by_the_name_of_the_job() {
    let folder = earlier();
    folder.write("moved.toml", &folder.read("job.toml"));
    let moved =
        folder.run("inspect moved.toml --rulesets book --on 2023-06-01 --since earlier.json --format json").json();
    assert_eq!(moved["jobs"][0]["since"]["found"], true);
    folder.write("other.toml", &folder.read("job.toml").replace("Shed, 5 Alder Row", "Another shed"));
    let ran = folder.run("inspect other.toml --rulesets book --on 2023-06-01 --since earlier.json");
    assert!(flat(&ran.out).contains("earlier.json holds nothing of this job"), "{}", ran.out);
}

#[test]
fn sarif_names_the_state() {
    let folder = earlier();
    folder.change("job.toml", "\"6 in\"", "\"9 in\"");
    let log = folder.inspect("--since earlier.json --format sarif").json();
    let state = |item: &str| {
        let results = log["runs"][0]["results"].as_array().unwrap();
        results.iter().find(|r| r["properties"]["item"] == item).unwrap()["baselineState"].clone()
    };
    assert_eq!(state("C1/to"), "new");
    assert_eq!(state("C2/from"), "unchanged");
}

#[test]
fn a_file_that_is_no_result_is_refused() {
    let folder = earlier();
    folder.write("none.json", "{");
    folder.inspect("--since none.json").refused("`none.json` is no JSON");
    folder.write("none.json", "{\"jobs\": 3}");
    folder.inspect("--since none.json").refused("`none.json` is no result of an inspection");
    folder.write("none.json", "{\"schema\": 99, \"jobs\": []}");
    folder.inspect("--since none.json").refused("`none.json` has the form 99, and this version reads forms 1 to 2");
    folder.write("none.json", "{\"schema\": 1, \"jobs\": [{\"job\": \"a\", \"file\": \"b\", \"findings\": [{}]}]}");
    folder.inspect("--since none.json").refused("has a finding without its rule, item or outcome");
    folder.inspect("--since gone.json").refused("`gone.json` can't be read: there is no such file");
}
