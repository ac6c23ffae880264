//! Rules at fault: each at its line, hiding no other rule, with status 2.

use crate::support::{Folder, flat, found};

const RULES: &str = "book/little/edition/rules/rules.rhai";

#[test]
fn a_rule_that_cannot_be_used_is_reported_at_its_line_and_the_others_go_on() {
    let folder = Folder::little();
    folder.change(RULES, "box.top_edge", "box.top_egde");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 2);
    let text = flat(&ran.out);
    assert!(text.contains("rule `switch-not-too-high` can't be used"), "{text}");
    assert!(text.contains("did you mean `top_edge`?"), "{text}");
    assert!(ran.out.contains("rules.rhai:17:14"), "{}", ran.out);
    assert!(text.contains("first support is 13 in; 8 in max"), "{text}");
    assert!(text.contains("1 fault of a rule"), "{text}");
    let job = folder.job("");
    assert_eq!(job["faults"].as_array().unwrap().len(), 1);
    assert_eq!(job["faults"][0]["at"]["line"], 17);
    assert!(found(&job, "correction").contains(&String::from("staple-near-box C2/from")));
}

#[test]
fn a_rule_that_faults_on_an_item_says_on_which() {
    let folder = Folder::little();
    folder.change("job.toml", "make = \"12/2\"", "make = \"8/2\"");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 2);
    let job = folder.job("");
    let message = job["faults"][0]["message"].as_str().unwrap();
    assert!(message.contains("rule `wire-fits-breaker` faulted on cable `C1`"), "{message}");
    assert!(found(&job, "correction").contains(&String::from("wire-fits-breaker C2")), "the other cable is told of");
}

#[test]
fn every_broken_rule_of_a_file_is_told_of() {
    let folder = Folder::little();
    let rules = folder.read(RULES);
    let rules =
        rules.replace("end.first_support", "end.frist_support").replace("code.wire.breaker", "code.wire.braker");
    folder.write(RULES, &rules);
    let job = folder.job("");
    let faults = job["faults"].to_string();
    for told in ["staple-near-box", "first_support", "wire-fits-breaker", "wire.breaker"] {
        assert!(faults.contains(told), "`{told}` is not in {faults}");
    }
    assert_eq!(job["faults"].as_array().unwrap().len(), 2);
}

#[test]
fn a_fault_of_a_rule_that_was_not_asked_for_does_not_count() {
    let folder = Folder::little();
    folder.change(RULES, "box.top_edge", "box.top_egde");
    assert_eq!(folder.inspect("--rule staple-near-box").status, 1);
    assert_eq!(folder.inspect("--rule switch-not-too-high").status, 2);
}

#[test]
fn a_broken_ruleset_file_is_an_error_at_its_line() {
    let folder = Folder::little();
    folder.change("book/little/edition/code/entries.toml", "value = \"12 in\"", "value = \"12 in");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("book/little/edition/code/entries.toml:2:"), "{}", ran.err);
    let folder = Folder::little();
    folder.change("book/little/county/ruleset.toml", "entry = \"staple.from_box\"", "entry = \"staple.form_box\"");
    folder.inspect("").refused("did you mean `staple.from_box`?");
}

#[test]
fn a_shop_book_written_for_another_code_is_told_once_where_the_job_names_it() {
    let folder = Folder::empty();
    let job = std::fs::read_to_string(crate::support::examples().join("hobby-room.toml")).unwrap();
    let job = job.replace("demo/harlow-county", "uk/england").replace("= 2023-05-10", "= 2025-05-10");
    folder.write("job.toml", &job);
    let ran = folder.run("inspect job.toml --on 2025-06-01");
    assert_eq!(ran.status, 2, "{}", ran.err);
    let text = flat(&ran.out);
    let says = "`shop/three-gable` asks for entries that the code of `uk/england` does not have";
    assert_eq!(text.matches(says).count(), 1, "{text}");
    for says in [
        "`box_fill.conductor`",
        "`box_fill.on_yoke`",
        "leave `shop` out",
        "`three-gable-box-room-to-spare` asks for them",
    ] {
        assert!(text.contains(says), "`{says}` is not in: {text}");
    }
    assert!(ran.out.contains("[job.toml:7:13]"), "{}", ran.out);
    assert!(!text.contains("which this calculation needs"), "{text}");
    // Without the shop there is nothing to complain of.
    folder.write("job.toml", &job.replace("site.shop = \"shop/three-gable\"\n", ""));
    let text = flat(&folder.run("inspect job.toml --on 2025-06-01").out);
    assert!(!text.contains("does not have"), "{text}");
}
