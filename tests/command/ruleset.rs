//! `ruleset try`, `ruleset list` and `schema`.

use crate::support::{EDITION_RULES, Folder, flat};

const TRIALS: &str = "book/little/edition/trials/trials.toml";

#[test]
fn trials_that_pass_name_the_rules_that_lack_some() {
    let ran = Folder::little().run("ruleset try book");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    insta::assert_snapshot!("trials_pass", ran.out);
}

#[test]
fn a_trial_that_fails_is_pointed_at_with_expected_against_got() {
    let folder = Folder::little();
    folder.change("book/little/edition/code/entries.toml", "\"12 in\"", "\"15 in\"");
    let ran = folder.run("ruleset try book");
    assert_eq!(ran.status, 1);
    insta::assert_snapshot!("trials_fail", ran.out);
    let text = flat(&ran.out);
    assert!(text.contains("help: - correction + met"), "{text}");
    assert!(ran.out.contains(&format!("{TRIALS}:23:10")), "{}", ran.out);
    // A trial that does not pass shows nothing of its rule.
    assert!(text.contains("no trial fails: staple-near-box,"), "{text}");
}

#[test]
fn what_was_found_counts_too() {
    let folder = Folder::little();
    folder.change(TRIALS, "found = \"13 in\"", "found = \"14 in\"");
    let ran = folder.run("ruleset try book");
    assert_eq!(ran.status, 1);
    assert!(flat(&ran.out).contains("expected to find 14 in"), "{}", ran.out);
    assert!(ran.out.contains("found 13 in"), "{}", ran.out);
}

#[test]
fn slips_in_trial_files_are_errors_at_their_place() {
    let slips = [
        ("rule = \"wire-fits-breaker\"", "rule = \"wire-fits-braker\"", "did you mean `wire-fits-breaker`?"),
        ("name = \"a staple at 13 in\"", "nmae = \"a staple at 13 in\"", "a trial has no `nmae`"),
        ("expect = \"to_measure\"", "expect = \"to_meassure\"", "`to_meassure` is no outcome"),
        ("[base.two-boxes]", "[base.three-boxes]", "this file has no base `two-boxes`"),
    ];
    for (from, to, says) in slips {
        let folder = Folder::little();
        folder.change(TRIALS, from, to);
        let ran = folder.run("ruleset try book");
        assert_ne!(ran.status, 0, "{to}");
        assert!(flat(&ran.out).contains(says), "`{says}` is not in:\n{}", ran.out);
        assert!(ran.out.contains(TRIALS), "{}", ran.out);
    }
}

#[test]
fn one_ruleset_of_the_known_ones_can_be_tried_and_a_slip_has_a_neighbour() {
    let folder = Folder::little();
    let ran = folder.run("ruleset try little/edition --rulesets book");
    assert_eq!(ran.status, 0);
    assert!(ran.out.ends_with("little/edition: 7 rules, 4 trials, 0 failed\n"), "{}", ran.out);
    let ran = folder.run("ruleset try little/editon --rulesets book");
    assert_eq!(ran.status, 2);
    assert!(ran.out.contains("did you mean `little/edition`?"), "{}", ran.out);
}

#[test]
fn a_rule_that_cannot_be_used_fails_its_trials() {
    let folder = Folder::little();
    folder.write(
        "book/little/edition/rules/rules.rhai",
        &EDITION_RULES.replace("end.first_support", "end.frist_support"),
    );
    let ran = folder.run("ruleset try book");
    assert_ne!(ran.status, 0);
    assert!(ran.out.contains("`first_support`"), "{}", ran.out);
}

#[test]
fn the_list_names_what_is_known() {
    let folder = Folder::little();
    let ran = folder.run("ruleset list --rulesets book");
    assert_eq!(ran.status, 0);
    let line = ran.out.lines().find(|line| line.contains("little/county")).unwrap();
    assert_eq!(line.split_whitespace().collect::<Vec<_>>(), ["little/county", "jurisdiction", "Little", "county"]);
    assert!(ran.out.contains("us/accessible-2010"), "the shipped ones too:\n{}", ran.out);
}

#[test]
fn a_ruleset_of_the_user_stands_in_front_of_the_shipped_one() {
    let folder = Folder::little();
    folder.write(
        "own/demo/harlow-county/ruleset.toml",
        "id = \"demo/harlow-county\"\ntitle = \"Our own county\"\nkind = \"jurisdiction\"\nversion = \"9\"\nreviewed = 2023-01-01\nsource = \"ours\"\n\
         [[adopts]]\nruleset = \"little/edition\"\nfrom = 2020-01-01\ncites = \"ours\"\n",
    );
    let ran = folder.run("code --at demo/harlow-county --on 2023-05-10 --rulesets book --rulesets own");
    assert!(ran.out.contains("Our own county") && ran.out.contains("little/edition"), "{}{}", ran.out, ran.err);
    // The user's own folder is found without being named.
    let mut command = folder.command();
    command.args(["ruleset", "list"]).env("STORYSTICK_RULESETS", folder.path().join("book"));
    assert!(crate::support::ran(command.output().unwrap()).out.contains("little/edition"));
}

#[test]
fn the_folder_of_a_single_ruleset_is_enough() {
    let folder = Folder::little();
    let whole = folder.run("ruleset try book").out;
    let one = folder.run("ruleset try book/little/edition");
    assert!(one.out.contains("little/edition: ") && !one.out.contains("little/county"), "{}{}", one.out, one.err);
    let line = one.out.lines().last().unwrap();
    assert!(whole.contains(line), "{whole}");
    folder.write("misnamed/ruleset.toml", "id = \"my-place\"\n");
    let ran = folder.run("ruleset try misnamed");
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(flat(&ran.err).contains("give the folder the name of the id"), "{}", ran.err);
}

#[test]
fn the_schema_of_job_files_is_printed_and_takes_the_little_job() {
    let folder = Folder::little();
    let schema = folder.run("schema").json();
    assert_eq!(schema["$schema"], "http://json-schema.org/draft-07/schema#");
    assert!(schema["properties"]["box"].is_object());
    let validator = jsonschema::validator_for(&schema).unwrap();
    let job: toml::Value = toml::from_str(&folder.read("job.toml")).unwrap();
    let mut job = serde_json::to_value(job).unwrap();
    job["site"]["permit_date"] = "2023-05-10".into();
    assert!(validator.is_valid(&job), "{:?}", validator.iter_errors(&job).map(|e| e.to_string()).collect::<Vec<_>>());
    job["site"]["permit_dat"] = "2023-05-10".into();
    assert!(!validator.is_valid(&job));
}
