//! `inspect` for people.

use crate::support::{Folder, flat};

#[test]
fn a_report_at_80_columns() {
    let ran = Folder::little().inspect("");
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!("report_80", ran.out);
}

#[test]
fn a_report_with_everything_in_plain_words() {
    let ran = Folder::little().inspect("--plain --all --each");
    assert_eq!(ran.status, 1);
    insta::assert_snapshot!("report_plain", ran.out);
    assert!(!ran.out.contains(['│', '─', '╭', '╰', '×', '☞', '\u{1b}']), "{}", ran.out);
}

#[test]
fn every_line_fits_the_terminal() {
    let folder = Folder::little();
    for columns in [36, 40, 60, 80, 132] {
        let run = folder.command();
        let ran = inspect_at(run, columns);
        for line in ran.lines() {
            // A path has no blank to break it at.
            let heading = line.contains("─[");
            assert!(heading || line.chars().count() <= columns, "{columns}: {line}");
        }
    }
}

fn inspect_at(mut command: std::process::Command, columns: usize) -> String {
    command.args(["inspect", "job.toml", "--rulesets", "book", "--on", "2023-06-01"]);
    command.env("COLUMNS", columns.to_string());
    String::from_utf8(command.output().unwrap().stdout).unwrap()
}

#[test]
fn a_narrow_terminal_loses_no_word() {
    let folder = Folder::little();
    let said = flat(&inspect_at(folder.command(), 40));
    for sentence in [
        "end C2/from: first support is 13 in; 8 in max",
        "where the limit comes from: 12 in (Little edition, 1.1) → 8 in (Little county, Ord. 2, in force 2022-01-01)",
        "not verified: `height.switch_box` is from memory",
    ] {
        assert!(said.contains(sentence), "`{sentence}` is not in:\n{said}");
    }
}

/// Five staples that are too far off: three in full, two in a line.
fn many_staples() -> Folder {
    let folder = Folder::little();
    let more: String = (3..7)
        .map(|n| {
            format!(
                "[[cable]]\nid = \"C{n}\"\nmake = \"12/2\"\ncircuit = \"1\"\n\
                 from = {{ at = \"B1\", first_support = \"1{n} in\" }}\nto = {{ at = \"P1\" }}\n"
            )
        })
        .collect();
    folder.append("job.toml", &more);
    folder
}

#[test]
fn findings_of_one_rule_are_folded_behind_the_third() {
    let folder = many_staples();
    let ran = folder.inspect("--rule staple-near-box");
    assert!(ran.out.contains("and 2 more of staple-near-box: C5/from, C6/from\n"), "{}", ran.out);
    assert_eq!(ran.out.matches(" in; 8 in max").count(), 3);
    let each = folder.inspect("--rule staple-near-box --each");
    assert_eq!(each.out.matches(" in; 8 in max").count(), 5);
    assert!(!each.out.contains("more of"));
    assert!(each.out.contains("5 to put right"));
}

#[test]
fn the_value_and_the_line_of_the_ruleset_are_pointed_at_exactly() {
    let ran = Folder::little().inspect("--rule staple-near-box");
    assert!(ran.out.contains("─[job.toml:56:37]"), "{}", ran.out);
    assert!(ran.out.contains("─[book/little/county/ruleset.toml:15:9]"), "{}", ran.out);
    let lines: Vec<&str> = ran.out.lines().collect();
    let column =
        |text: &str, needle: &str| text.chars().collect::<String>().find(needle).map(|at| text[..at].chars().count());
    let shown = lines.iter().position(|line| line.contains("first_support = \"13 in\"")).unwrap();
    assert_eq!(column(lines[shown], "\"13 in\""), column(lines[shown + 1], "───┬───"), "{}", ran.out);
}

#[test]
fn a_draft_and_a_value_nobody_has_verified_are_said_so() {
    let folder = Folder::little();
    folder.change(
        "book/little/county/ruleset.toml",
        "version = \"2\"",
        "version = \"2\"\ndraft = \"Ord. 2 was not read\"",
    );
    let ran = folder.inspect("");
    assert!(ran.out.contains("little/county   v2"), "{}", ran.out);
    assert!(ran.out.contains("DRAFT"), "{}", ran.out);
    assert!(ran.out.contains("draft: little/county — Ord. 2 was not read"), "{}", ran.out);
    assert!(ran.out.contains("not verified: `height.switch_box` is from memory"), "{}", ran.out);
}

#[test]
fn a_clean_job_says_what_it_was_held_against_and_that_it_approves_nothing() {
    let folder = Folder::little();
    folder.change("job.toml", "\"13 in\"", "\"7 in\"");
    folder.change("job.toml", "make = \"14/2\"", "make = \"12/2\"");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 0, "cautions and notes alone: {}", ran.out);
    assert!(ran.out.contains("0 to put right · 2 to measure"), "{}", ran.out);
    assert!(flat(&ran.out).contains("it approves nothing"), "{}", ran.out);
}

#[test]
fn metric_jobs_speak_metric() {
    let folder = Folder::little();
    folder.change("job.toml", "stage = \"rough_in\"", "stage = \"rough_in\"\nunits = \"metric\"");
    let out = flat(&folder.inspect("--rule staple-near-box").out);
    assert!(out.contains("first support is 330.2 mm; 203.2 mm max"), "{out}");
}
