//! Every shipped ruleset: it loads for every day, its rules compile, its trials pass, each rule is shown failing and met, and nothing
//! in it stands without citation, source and how it was checked.

use storystick_engine::book::RulesetText;
use storystick_engine::inspection::Inspector;
use storystick_engine::trial::cover;

#[test]
fn every_shipped_ruleset_is_sound() {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let ids: Vec<String> = inspector.shelf().ids().map(str::to_owned).collect();
    let covered = cover(&mut inspector, &ids);
    let files = inspector.shelf().files();
    let place = |span| files.place(span).map_or_else(String::new, |at| format!("{}:{}", at.file, at.line));
    let mut wrong = Vec::new();
    for one in &covered {
        let id = &one.ruleset;
        wrong.extend(one.problems.iter().map(|p| format!("{id}: {} {}", p.message, place(p.span))));
        for trial in &one.failed {
            let why = trial.problem.as_ref().map_or("", |problem| problem.message.as_str());
            wrong.push(format!("{id}: trial “{}” of {}: {why}", trial.name, trial.rule));
        }
        wrong.extend(one.unfounded.iter().map(|noted| format!("{id}: {} {}", noted.name, place(noted.span))));
        for rule in one.untried() {
            let lacks =
                [(rule.failed, "fails"), (rule.met, "meets"), (!rule.exceptions.is_empty(), "shows an exception of")];
            for (_, what) in lacks.into_iter().filter(|(lacks, _)| *lacks) {
                wrong.push(format!("{id}: no trial {what} {}", rule.rule));
            }
        }
        wrong.extend(one.unusable.iter().map(|(rule, why)| format!("{id}: {rule} can't be used: {why}")));
        wrong.extend(one.unread.iter().map(|entry| format!("{id}: nothing reads {}", entry.name)));
    }
    assert!(wrong.is_empty(), "{} things are wrong:\n{}", wrong.len(), wrong.join("\n"));
    // A folder of rulesets that was not found would pass everything above.
    assert!(covered.len() >= 30);
    assert!(covered.iter().map(|one| one.trials).sum::<usize>() >= 1500);
    assert!(covered.iter().map(|one| one.rules).sum::<usize>() >= 400);
}
