//! Terminals, pipes and colours.

use std::io::Read;
use std::process::Stdio;

use crate::support::{Folder, ran};

#[test]
fn a_pipe_gets_no_escape_codes() {
    let folder = Folder::little();
    for form in ["text", "json", "sarif", "junit"] {
        let ran = folder.inspect(&format!("--format {form}"));
        assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{form}");
    }
    folder.change("job.toml", "top = \"50 in\"", "topp = \"50 in\"");
    assert!(!folder.inspect("").err.contains('\u{1b}'));
    assert!(!folder.run("code job.toml staple --rulesets book").out.contains('\u{1b}'));
    assert!(!folder.run("ruleset try book").out.contains('\u{1b}'));
}

#[test]
fn colour_comes_when_it_is_asked_for_and_says_nothing_by_itself() {
    let folder = Folder::little();
    let colored = folder.inspect("--color always");
    assert!(colored.out.contains("\u{1b}["), "{}", colored.out);
    assert_eq!(without_escapes(&colored.out), folder.inspect("--color never").out);
    let mut command = folder.command();
    command.args("inspect job.toml --rulesets book --on 2023-06-01 --color always".split(' ')).env("NO_COLOR", "1");
    assert!(ran(command.output().unwrap()).out.contains("\u{1b}["), "what is asked for counts more than NO_COLOR");
    assert!(!folder.inspect("--color always --plain").out.contains('\u{1b}'));
}

fn without_escapes(text: &str) -> String {
    let mut out = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        if letter == '\u{1b}' {
            letters.by_ref().take_while(|c| !c.is_ascii_alphabetic()).for_each(drop);
        } else {
            out.push(letter);
        }
    }
    out
}

#[test]
fn a_job_file_cannot_steer_the_terminal() {
    let folder = Folder::little();
    folder.change("job.toml", "name = \"Shed, 5 Alder Row\"", "name = \"Shed\\u001b[2J\"");
    folder.change("job.toml", "name = \"Shed\"\n", "name = \"Shed\\u001b]0;x\\u0007\"\n");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(!ran.out.contains(['\u{1b}', '\u{7}']), "{:?}", ran.out);
    folder.change("job.toml", "kind = \"receptacle\"", "kind = \"\\u001b[31m\"");
    let ran = folder.inspect("");
    assert_eq!(ran.status, 2);
    assert!(!ran.err.contains('\u{1b}'), "{:?}", ran.err);
}

#[test]
fn a_reader_that_has_seen_enough_is_no_failure() {
    let folder = Folder::little();
    let long = folder.read("job.toml");
    // More than a pipe holds, so that the command writes when nobody reads any more.
    for n in 0..40 {
        folder.write(&format!("jobs/{n}.toml"), &long);
    }
    let mut command = folder.command();
    command.args("inspect jobs --rulesets book --on 2023-06-01".split(' '));
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = [0; 16];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut first).unwrap();
    drop(out);
    let ran = ran(child.wait_with_output().unwrap());
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
}
