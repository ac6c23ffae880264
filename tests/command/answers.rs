//! Signed answers to what only eyes can decide.

use crate::support::{Folder, found};

fn answered(rule: &str, item: &str, ok: &str) -> Folder {
    let folder = Folder::little();
    let answer = format!(
        "[[answer]]\nrule = \"{rule}\"\nitem = \"{item}\"\nok = {ok}\nby = \"R. Ames\"\non = 2023-05-30\nnote = \"box at the door\"\n"
    );
    folder.append("job.toml", &answer);
    folder
}

#[test]
fn without_an_answer_it_is_still_to_be_looked_at() {
    let job = Folder::little().job("--rule boxes-plumb");
    assert_eq!(found(&job, "to_measure"), ["boxes-plumb shed"]);
    assert_eq!(job["findings"][0]["message"], "look: boxes plumb and whole");
}

#[test]
fn yes_meets_it_and_no_fails_it() {
    let job = answered("boxes-plumb", "shed", "true").job("--rule boxes-plumb --all");
    assert_eq!(found(&job, "met"), ["boxes-plumb shed"]);
    let job = answered("boxes-plumb", "shed", "false").job("--rule boxes-plumb");
    assert_eq!(found(&job, "correction"), ["boxes-plumb shed"]);
    let finding = &job["findings"][0];
    assert_eq!(finding["message"], "boxes plumb and whole — found wrong by R. Ames on 2023-05-30: box at the door");
    assert_eq!(finding["at"]["line"], 61, "it points at the answer");
    assert_eq!(job["tally"]["correction"], 1);
}

#[test]
fn slips_are_errors_with_the_nearest_name() {
    answered("boxes-plumbb", "shed", "true").inspect("").refused("did you mean `boxes-plumb`?");
    answered("boxes-plumb", "shedd", "true").inspect("").refused("did you mean `shed`?");
}
