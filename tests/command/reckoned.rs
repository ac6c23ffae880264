//! Findings whose sides are reckoned: the sentence shows the math, and each written value has its own label.

use serde_json::{Value, json};

use crate::support::Folder;

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A job in Harlow County.
fn harlow(stage: &str, rest: &str) -> Folder {
    let folder = Folder::empty();
    let head = format!(
        "format = 1\n[site]\njurisdiction = \"demo/harlow-county\"\npermit_date = 2023-05-10\nstage = \"{stage}\"\n\
         [[panel]]\nid = \"P1\"\n[[room]]\nid = \"den\"\nkind = \"den\"\nlength = \"14 ft\"\nwidth = \"12 ft\"\nfinished = true\n"
    );
    folder.write("job.toml", &(head + rest));
    folder
}

/// Returns the only finding of a rule on an item.
fn finding(folder: &Folder, rule: &str, item: &str) -> Value {
    let ran = folder.run(&format!("inspect job.toml --on 2023-06-01 --format json --rule {rule} --item {item}"));
    let job = &ran.json()["jobs"][0];
    assert_eq!(job["faults"], json!([]));
    job["findings"][0].clone()
}

fn amount(text: &str, amount: f64, unit: &str, dimension: &str) -> Value {
    json!({ "text": text, "amount": amount, "unit": unit, "dimension": dimension })
}

#[test]
fn a_continuous_load_is_never_said_to_be_what_was_made_of_it() {
    let folder = harlow(
        "layout",
        "[[circuit]]\nid = \"1\"\nrating = \"20 A\"\nvoltage = \"120 V\"\ncontinuous_load = \"2400 VA\"\n",
    );
    let rule = "continuous-load-within-circuit";
    let found = finding(&folder, rule, "1");
    assert_eq!(found["message"], "continuous load: 125 % x 2400 VA = 3000 VA; 2400 VA max (20 A x 120 V)");
    assert_eq!(found["found"], amount("3000 VA", 3000.0, "VA", "power"));
    assert_eq!(found["allowed"]["limits"], json!([amount("2400 VA", 2400.0, "VA", "power")]));
    assert_eq!(found["margin"], amount("-600 VA", -600.0, "VA", "power"));
    let math = &found["working"]["found"];
    assert_eq!((&math["step"], &math["operator"]), (&"operation".into(), &"*".into()));
    assert_eq!(math["parts"][0]["source"], json!({ "entry": "circuit.continuous_factor" }));
    assert_eq!(math["parts"][1]["source"], json!({ "kind": "circuit", "item": "1", "field": "continuous_load" }));
    let text = folder.run(&format!("inspect job.toml --on 2023-06-01 --plain --rule {rule}")).out;
    for label in ["continuous load 2400 VA", "rating 20 A", "voltage 120 V"] {
        assert!(text.lines().any(|line| line.contains("at job.toml:") && line.ends_with(label)), "{label} in {text}");
    }
    assert!(!text.lines().any(|line| line.contains("at job.toml:") && line.contains("3000 VA")), "{text}");
}

#[test]
fn a_box_front_is_never_said_to_be_where_the_code_would_have_it() {
    let folder = harlow(
        "rough_in",
        "[[room.wall]]\nid = \"north\"\nlength = \"14 ft\"\nboard = \"3/4 in\"\n[[box]]\nid = \"B1\"\nroom = \"den\"\nwall = \"north\"\nalong = \"4 ft\"\nproud = \"1/8 in\"\n",
    );
    let rule = "box-set-out-for-the-finish";
    let found = finding(&folder, rule, "B1");
    let message = found["message"].as_str().unwrap();
    assert!(message.starts_with("proud: 1/8 in + 1/4 in = 3/8 in; 3/4 in min (board of "), "{message}");
    assert_eq!(found["found"], amount("3/8 in", 0.375, "in", "length"));
    let text = flat(&folder.run(&format!("inspect job.toml --on 2023-06-01 --plain --rule {rule}")).out);
    assert!(text.contains("proud 1/8 in") && !text.contains(": 3/8 in proud"), "{text}");
}

#[test]
fn a_rule_without_guide_text_is_refused_with_what_to_write() {
    let folder = Folder::little();
    folder.change(
        "book/little/edition/rules/rules.rhai",
        "/// Boxes are plumb and whole.\nrule \"boxes-plumb\"",
        "rule \"boxes-plumb\"",
    );
    for ran in [folder.inspect(""), folder.run("ruleset check little/edition --rulesets book")] {
        let told = flat(&format!("{} {}", ran.out, ran.err));
        assert!(told.contains("rule `boxes-plumb` has no guide text"), "{told}");
        assert!(told.contains("in your own words: corrections say it"), "{told}");
        assert_ne!(ran.status, 0);
    }
}

#[test]
fn every_report_of_the_examples_is_as_the_published_schema_says() {
    let folder = Folder::little();
    let schema = folder.run("schema report").json();
    jsonschema::draft7::meta::validate(&schema).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let examples = concat!(env!("CARGO_MANIFEST_DIR"), "/../examples");
    let all = folder.run(&format!("inspect {examples} --on 2023-06-01 --format json --all")).json();
    assert!(all["jobs"].as_array().unwrap().len() > 3 && !all["unread"].as_array().unwrap().is_empty());
    let little = folder.inspect("--format json --all").json();
    folder.write("earlier.json", &little.to_string());
    let since = folder.inspect("--format json --since earlier.json").json();
    for report in [&all, &little, &since] {
        let wrong: Vec<String> =
            validator.iter_errors(report).take(5).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
    // A schema that lets everything through would say the same.
    let mut other = little.clone();
    other["jobs"][0]["findings"][0]["found"] = "13 in".into();
    assert!(!validator.is_valid(&other));
}

#[test]
fn a_report_of_the_first_form_can_still_be_compared_with() {
    let folder = Folder::little();
    let mut earlier = folder.inspect("--format json --all").json();
    earlier["schema"] = 1.into();
    for finding in earlier["jobs"][0]["findings"].as_array_mut().unwrap() {
        for key in ["found", "allowed", "margin"] {
            finding[key] = finding[key]["text"].clone();
        }
    }
    folder.write("earlier.json", &earlier.to_string());
    let since = &folder.job("--since earlier.json")["since"];
    assert_eq!((&since["found"], &since["new"], &since["cleared"]), (&true.into(), &json!([]), &json!([])));
    assert!(!since["still_open"].as_array().unwrap().is_empty());
}
