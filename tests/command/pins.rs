//! Pins: a job that insists on a ruleset's version or content.

use crate::support::Folder;

fn pinned(lines: &str) -> Folder {
    let folder = Folder::little();
    folder.append("job.toml", &format!("[[pin]]\n{lines}"));
    folder
}

fn content(folder: &Folder, id: &str) -> String {
    let job = folder.job("");
    let layers = job["code"]["rulesets"].as_array().unwrap();
    layers.iter().find(|layer| layer["id"] == id).unwrap()["content"].as_str().unwrap().to_owned()
}

#[test]
fn a_pin_that_holds_changes_nothing() {
    let content = content(&Folder::little(), "little/county");
    let folder = pinned(&format!("ruleset = \"little/county\"\nversion = \"2\"\ncontent = \"{content}\"\n"));
    assert_eq!(folder.inspect("").status, 1);
    assert_eq!(folder.inspect("").out, Folder::little().inspect("").out);
}

#[test]
fn another_version_is_an_error_that_points_at_the_pin_and_at_the_ruleset() {
    let ran = pinned("ruleset = \"little/county\"\nversion = \"1\"\n").inspect("");
    ran.refused("the job pins version `1` of `little/county`, and `2` is in force");
    assert!(ran.err.contains("job.toml:60:11"), "{}", ran.err);
    assert!(ran.err.contains("book/little/county/ruleset.toml:1:"), "{}", ran.err);
}

#[test]
fn content_that_has_changed_is_an_error_whatever_the_version_says() {
    let content = content(&Folder::little(), "little/edition");
    let folder = pinned(&format!("ruleset = \"little/edition\"\nversion = \"3\"\ncontent = \"{content}\"\n"));
    assert_eq!(folder.inspect("").status, 1);
    folder.change("book/little/edition/code/entries.toml", "\"12 in\"", "\"14 in\"");
    let ran = folder.inspect("");
    ran.refused(&format!("the job pins content `{content}` of `little/edition`, and"));
}

#[test]
fn line_ends_of_a_checkout_do_not_change_the_content() {
    let folder = Folder::little();
    let before = content(&folder, "little/edition");
    let name = "book/little/edition/code/entries.toml";
    folder.write(name, &folder.read(name).replace('\n', "\r\n"));
    assert_eq!(content(&folder, "little/edition"), before);
}

#[test]
fn a_ruleset_that_is_not_in_force_cannot_be_pinned() {
    let folder = pinned("ruleset = \"little/edtion\"\nversion = \"3\"\n");
    let ran = folder.inspect("");
    ran.refused("the ruleset `little/edtion` is pinned and not in force for this job");
    ran.refused("did you mean `little/edition`?");
}

#[test]
fn held_against_another_place_the_pins_of_this_one_are_only_told() {
    let folder = pinned("ruleset = \"little/county\"\nversion = \"2\"\n");
    let job = folder.job("--at little/edition");
    let notices = job["notices"].to_string();
    assert!(notices.contains("the ruleset `little/county` is pinned and not in force for this job"), "{notices}");
}
