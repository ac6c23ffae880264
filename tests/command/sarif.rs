//! `--format sarif`, held against the schema of SARIF 2.1.0 (OASIS Standard, errata 01) by a validator that is not ours.

use std::path::Path;

use serde_json::Value;

use crate::support::Folder;

/// The schema as published, but for one pattern that holds a bracket too many, which the validator's engine refuses.
fn schema() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/command/data/sarif-schema-2.1.0.json");
    let mut schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    for owner in ["run", "toolComponent"] {
        let pattern = schema.pointer_mut(&format!("/definitions/{owner}/properties/language/pattern")).unwrap();
        *pattern = "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$".into();
    }
    schema
}

fn valid(log: &Value) {
    let validator = jsonschema::options().should_validate_formats(true).build(&schema()).unwrap();
    let errors: Vec<String> =
        validator.iter_errors(log).map(|error| format!("{error} at {}", error.instance_path())).collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

fn results(log: &Value) -> &Vec<Value> {
    log["runs"][0]["results"].as_array().unwrap()
}

#[test]
fn the_validator_refuses_what_the_schema_forbids() {
    let validator = jsonschema::options().should_validate_formats(true).build(&schema()).unwrap();
    let log = Folder::little().inspect("--format sarif").json();
    for (place, wrong) in [
        ("/runs/0/results/0/kind", "wrong"),
        ("/version", "2.0"),
        ("/runs/0/results/0/locations/0/physicalLocation/artifactLocation/uri", "lot 14.toml"),
    ] {
        let mut log = log.clone();
        *log.pointer_mut(place).unwrap() = wrong.into();
        assert!(!validator.is_valid(&log), "{place}");
    }
}

#[test]
fn every_log_keeps_to_the_schema() {
    let folder = Folder::little();
    for words in ["", "--all", "--stage final", "--rule staple-near-box"] {
        valid(&folder.inspect(&format!("--format sarif {words}")).json());
    }
    folder.write("broken.toml", "format = 1\n[site]\nnam = 3\n");
    let log = folder.run("inspect job.toml broken.toml none.toml --rulesets book --format sarif").json();
    valid(&log);
    let runs = log["runs"].as_array().unwrap();
    assert_eq!(runs.len(), 3);
    for (run, works) in runs.iter().zip([true, false, false]) {
        assert_eq!(run["invocations"][0]["executionSuccessful"], works);
    }
}

#[test]
fn kinds_and_levels_follow_outcome_and_weight() {
    let log = Folder::little().inspect("--format sarif --all").json();
    let mut seen: Vec<(String, &str, &str)> = results(&log)
        .iter()
        .map(|result| {
            let item =
                format!("{} {}", result["ruleId"].as_str().unwrap(), result["properties"]["item"].as_str().unwrap());
            (item, result["kind"].as_str().unwrap(), result["level"].as_str().unwrap())
        })
        .collect();
    seen.sort();
    assert_eq!(
        seen,
        [
            ("boxes-plumb shed".into(), "open", "none"),
            ("grounds-made-up-here B1".into(), "fail", "note"),
            ("staple-near-box C1/to".into(), "pass", "none"),
            ("staple-near-box C2/from".into(), "fail", "error"),
            ("staple-near-box C2/to".into(), "open", "none"),
            ("switch-not-too-high B2".into(), "fail", "warning"),
            ("wire-fits-breaker C1".into(), "pass", "none"),
            ("wire-fits-breaker C2".into(), "fail", "error"),
        ]
    );
    let plain = Folder::little().inspect("--format sarif").json();
    assert!(results(&plain).iter().all(|result| result["kind"] != "pass"), "readers take passes for alerts");
}

/// Every address in a log.
fn addresses(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                match value {
                    Value::String(text) if key == "uri" => found.push(text.clone()),
                    _ => addresses(value, found),
                }
            }
        }
        Value::Array(list) => list.iter().for_each(|value| addresses(value, found)),
        _ => {}
    }
}

#[test]
fn addresses_are_relative_and_escaped() {
    let folder = Folder::little();
    let name = "lots/lot 14 #2 ½.toml";
    folder.write(name, &folder.read("job.toml"));
    for path in [folder.path().join(name), Path::new(".").join(name)] {
        let mut command = folder.command();
        command.args(["inspect", "--rulesets", "book", "--on", "2023-06-01", "--format", "sarif"]).arg(path);
        let log: Value = serde_json::from_slice(&command.output().unwrap().stdout).unwrap();
        valid(&log);
        let mut found = Vec::new();
        addresses(&log, &mut found);
        assert!(found.iter().any(|uri| uri.ends_with("lots/lot%2014%20%232%20%C2%BD.toml")), "{found:?}");
        for uri in found {
            assert!(!uri.starts_with('/') && !uri.contains([':', ' ', '\\']) && uri.is_ascii(), "{uri}");
        }
    }
}

#[test]
fn a_result_points_at_the_value_and_at_the_line_that_set_the_limit() {
    let log = Folder::little().inspect("--format sarif --rule staple-near-box --item C2/from").json();
    let result = &results(&log)[0];
    let region = serde_json::json!({ "startLine": 56, "startColumn": 37, "endColumn": 44 });
    assert_eq!(result["locations"][0]["physicalLocation"]["region"], region);
    let related = result["relatedLocations"].as_array().unwrap();
    assert_eq!(related.len(), 2);
    assert_eq!(related[0]["physicalLocation"]["artifactLocation"]["uri"], "book/little/county/ruleset.toml");
    assert_eq!(related[0]["physicalLocation"]["region"]["startLine"], 15);
    assert_eq!(result["ruleIndex"], 0);
    assert_eq!(log["runs"][0]["tool"]["driver"]["rules"][0]["id"], "staple-near-box");
    assert_eq!(
        result["partialFingerprints"]["ruleAndItem/v1"],
        "Shed, 5 Alder Row/staple-near-box/C2/from/end C2/from, first_support"
    );
}

#[test]
fn a_permission_is_a_suppression_with_its_reason() {
    let folder = Folder::little();
    folder.append(
        "job.toml",
        "[[permission]]\nrule = \"staple-near-box\"\nitems = [\"C2/from\"]\ngranted_by = \"Little county\"\n\
               reason = \"nothing to nail to\"\nuntil = 2023-12-31\n",
    );
    let log = folder.inspect("--format sarif --rule staple-near-box").json();
    valid(&log);
    let result = results(&log).iter().find(|result| result["properties"]["item"] == "C2/from").unwrap();
    let suppression = serde_json::json!([{ "kind": "inSource", "status": "accepted",
        "justification": "Little county: nothing to nail to (until 2023-12-31)" }]);
    assert_eq!(result["suppressions"], suppression);
    assert_eq!(result["kind"], "fail");
}
