//! Special permissions: who, why, until when; one that lapsed, one that nothing needs, one with a slip in it.

use crate::support::{Folder, flat, found};

fn with(rule: &str, items: &str, until: &str) -> Folder {
    let folder = Folder::little();
    let permission = format!(
        "[[permission]]\nrule = \"{rule}\"\nitems = [{items}]\ngranted_by = \"Little county\"\n\
         reason = \"nothing to nail to\"\nuntil = {until}\n"
    );
    folder.append("job.toml", &permission);
    folder
}

#[test]
fn a_permission_covers_its_rule_and_items_alone() {
    let folder = with("staple-near-box", "\"C2/from\"", "2023-12-31");
    let job = folder.job("");
    assert_eq!(found(&job, "permitted"), ["staple-near-box C2/from"]);
    assert!(found(&job, "correction").contains(&String::from("wire-fits-breaker C2")));
    assert_eq!(job["tally"]["permitted"], 1);
    let permission =
        &job["findings"].as_array().unwrap().iter().find(|f| f["outcome"] == "permitted").unwrap()["permission"];
    assert_eq!(permission["granted_by"], "Little county");
    assert_eq!(permission["reason"], "nothing to nail to");
    assert_eq!(permission["lapsed"], false);
    let text = flat(&folder.inspect("").out);
    assert!(
        text.contains(
            "permitted: end C2/from, first support is 13 in; 8 in max (staple-near-box) — by Little county \
             until 2023-12-31: nothing to nail to"
        ),
        "{text}"
    );
}

#[test]
fn it_holds_on_its_last_day_and_not_on_the_next() {
    let folder = with("staple-near-box", "\"C2/from\"", "2023-06-01");
    assert_eq!(found(&folder.job(""), "permitted").len(), 1);
    let ran = folder.run("inspect job.toml --rulesets book --on 2023-06-02");
    assert_eq!(ran.status, 1);
    let text = flat(&ran.out);
    assert!(text.contains("the permission of Little county lapsed on 2023-06-01"), "{text}");
    assert!(text.contains("this permission lapsed"), "{text}");
}

#[test]
fn one_that_nothing_needs_is_said_so() {
    let folder = with("staple-near-box", "\"C1/to\"", "2023-12-31");
    let job = folder.job("");
    assert_eq!(job["notices"][0]["message"], "the permission for `staple-near-box` covers nothing that was found");
    assert_eq!(job["notices"][0]["at"]["line"], 58);
    assert!(
        flat(&folder.inspect("").out)
            .contains("note: the permission for `staple-near-box` covers nothing that was found")
    );
}

#[test]
fn whether_it_is_needed_is_not_said_by_an_inspection_that_did_not_look() {
    let folder = with("staple-near-box", "\"C1/to\"", "2023-12-31");
    for words in ["--rule wire-fits-breaker", "--item B2", "--stage layout"] {
        assert_eq!(folder.job(words)["notices"], serde_json::json!([]), "{words}");
    }
}

#[test]
fn a_slip_in_the_rule_is_an_error_with_the_nearest_id() {
    let ran = with("staple-near-bix", "\"C2/from\"", "2023-12-31").inspect("");
    ran.refused("there is no rule `staple-near-bix` here");
    ran.refused("did you mean `staple-near-box`?");
    assert!(ran.err.contains("job.toml:59:8"), "{}", ran.err);
}

#[test]
fn a_slip_in_an_item_is_an_error_with_the_nearest_id() {
    let ran = with("staple-near-box", "\"C2/form\"", "2023-12-31").inspect("");
    ran.refused("did you mean `C2/from`?");
}

#[test]
fn an_earlier_id_of_the_rule_goes_on_working() {
    let job = with("breaker-fits-wire", "\"C2\"", "2023-12-31").job("");
    assert_eq!(found(&job, "permitted"), ["wire-fits-breaker C2"]);
}

#[test]
fn a_rule_that_is_not_in_force_here_makes_it_idle_not_wrong() {
    let folder = with("boxes-plumb", "\"shed\"", "2023-12-31");
    let job = folder.job("--at little/city");
    let notices = job["notices"].to_string();
    assert!(notices.contains("the rule `boxes-plumb` is not in force for this place and permit date"), "{notices}");
}
