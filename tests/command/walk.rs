//! `walk`: readings and answers at a prompt or from a list, in the job file at once.

use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Write};
use std::process::Stdio;

use crate::support::{Folder, Ran, examples, flat, found, ran};

fn walk(folder: &Folder, words: &str, answers: &str) -> Ran {
    folder.write("answers.txt", answers);
    folder.run(&format!("walk job.toml --rulesets book --on 2023-06-01 --by Ames --answers answers.txt {words}"))
}

#[test]
fn readings_go_into_the_file_and_are_judged_at_once() {
    let folder = Folder::little();
    let before = folder.read("job.toml");
    let ran = walk(&folder, "", "11\nno, cracked at the door\n");
    let text = flat(&ran.out);
    assert!(text.contains("end C2/to: first support 8 in max (1.1) [in] > 11 recorded: C2/to first_support = 11 in"));
    assert!(text.contains("PUT RIGHT: end C2/to: first support is 11 in; 8 in max (1.1)"), "{text}");
    assert!(text.contains("do: add a staple closer to the box"), "{text}");
    assert!(
        text.contains("room shed: look at boxes plumb and whole 1.5 [ok or no] > no, cracked at the door"),
        "{text}"
    );
    assert!(
        text.contains(
            "2 recorded · 0 skipped · 0 still open on this walk · 4 to put right in the whole job next: \
                       `storystick inspect job.toml`"
        ),
        "{text}"
    );
    assert_eq!(ran.status, 1);
    let after = folder.read("job.toml");
    let added = after.strip_prefix(&before).expect("what stood there stands there still");
    assert!(
        added
            .contains("item = \"C2/to\"\nfield = \"first_support\"\nvalue = \"11 in\"\nby = \"Ames\"\non = 2023-06-01")
    );
    assert!(added.contains("ok = false\nby = \"Ames\"\non = 2023-06-01\nnote = \"cracked at the door\""), "{added}");
    let job = folder.job("");
    assert!(found(&job, "to_measure").is_empty());
    assert!(found(&job, "correction").contains(&String::from("staple-near-box C2/to")));
}

#[test]
fn back_asks_again_and_the_later_reading_stands() {
    let folder = Folder::little();
    let ran = walk(&folder, "", "11\nback\n6 1/2\nskip\n");
    assert!(flat(&ran.out).contains("recorded: C2/to first_support = 6 1/2 in cleared: end C2/to (staple-near-box)"));
    let text = folder.read("job.toml");
    assert_eq!(text.matches("[[measure]]").count(), 1);
    assert!(text.contains("value = \"6 1/2 in\"") && !text.contains("11 in"), "{text}");
    assert!(ran.out.contains("2 recorded · 1 skipped · 1 still open"), "{}", ran.out);
    let first = walk(&Folder::little(), "", "back\n");
    assert!(first.out.contains("This is the first question."));
}

#[test]
fn a_bad_answer_is_explained_and_asked_again() {
    let folder = Folder::little();
    let ran = walk(&folder, "", "11 A\nok\nperhaps\n\n?\n-4\n7\nhm\nok\n");
    let text = flat(&ran.out);
    for said in [
        "expected a length such as `12 in` or `300 mm`, found a current `11 A`",
        "`ok` tells no length: measure it, or `skip`",
        "nothing typed",
        "Distance from the box to the first staple or strap, along the cable.",
        "A bare number counts in `in`",
        "Nothing is recorded of that.",
        "`hm` says neither `ok` nor `no`",
        "recorded: boxes-plumb of shed: ok",
    ] {
        assert!(text.contains(said), "`{said}` is not in {text}");
    }
    assert_eq!(folder.read("job.toml").matches("[[measure]]").count(), 1, "only the 7");
}

#[test]
fn the_end_of_the_answers_loses_nothing_and_quit_stops() {
    let folder = Folder::little();
    assert!(walk(&folder, "", "7").out.contains("1 recorded · 0 skipped · 1 still open"));
    let again = walk(&folder, "", "quit\nok\n");
    assert!(again.out.contains("0 recorded") && !again.out.contains("C2/to"), "{}", again.out);
    assert!(!folder.read("job.toml").contains("[[answer]]"));
}

#[test]
fn the_walk_is_signed_and_its_room_exists() {
    let folder = Folder::little();
    let mut child = folder.command();
    child.args("walk job.toml --rulesets book --on 2023-06-01".split(' ')).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = child.stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"R. Ames\n7\n").unwrap();
    let ran = ran(child.wait_with_output().unwrap());
    assert!(ran.out.contains("Who measures and looks?"), "{}", ran.out);
    assert!(folder.read("job.toml").contains("by = \"R. Ames\""));
    folder.run("walk job.toml --rulesets book").refused("a walk is signed");
    walk(&folder, "--room shedd", "").refused("did you mean `shed`?");
    assert!(walk(&folder, "--room shed", "").out.contains("1 still open"));
    let named =
        folder.command().args(["walk", "job.toml", "--rulesets", "book", "--by", "A", "--room", "Shed"]).output();
    assert!(String::from_utf8(named.unwrap().stdout).unwrap().contains("look at boxes plumb and whole"));
}

#[test]
fn the_job_of_the_examples_can_be_walked_from_end_to_end() {
    let folder = Folder::empty();
    let text = std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap();
    folder.write("job.toml", &text);
    folder.write("answers.txt", &"skip\n".repeat(200));
    let ran = folder.run("walk job.toml --on 2023-06-01 --by Ames --answers answers.txt");
    assert!(ran.out.contains("\nwhole dwelling\n") && ran.out.contains("0 recorded"), "{}", ran.out);
    assert_eq!(folder.read("job.toml"), text, "skipping changes nothing");
}

/// The little job with many cables whose staples nobody has measured, and comments that must outlive everything.
fn many(cables: usize) -> Folder {
    let folder = Folder::little();
    let mut text = String::from("# kept: first\n") + folder.read("job.toml").as_str();
    for number in 0..cables {
        let _ = write!(
            text,
            "\n[[cable]] # kept: {number}\nid = \"K{number}\"\nmake = \"12/2\"\nfrom = \"P1\"\nto = \"B1\"\n"
        );
    }
    folder.write("job.toml", &(text + "# kept: last\n"));
    folder
}

#[test]
fn killed_again_and_again_it_keeps_every_answer_that_it_acknowledged() {
    let folder = many(40);
    let mut acknowledged: Vec<String> = Vec::new();
    for (round, stop) in [3_usize, 1, 5, 2, 7, 4].into_iter().enumerate() {
        let answers: String = (0..40).map(|at| format!("{}/16\n", 1 + at + round)).collect();
        let mut command = folder.command();
        command.args("walk job.toml --rulesets book --on 2023-06-01 --by Ames".split(' '));
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        // Whoever is killed reads no more: what can't be written any longer is nobody's loss.
        let _ = child.stdin.take().unwrap().write_all(answers.as_bytes());
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let (mut line, mut seen) = (String::new(), 0);
        while out.read_line(&mut line).unwrap() > 0 {
            if let Some(told) = line.trim().strip_prefix("recorded: ") {
                acknowledged.push(told.to_owned());
                seen += 1;
                if seen == stop {
                    child.kill().unwrap();
                }
            }
            line.clear();
        }
        child.wait().unwrap();
        let text = folder.read("job.toml");
        let job: toml::Table = text.parse().unwrap_or_else(|error| panic!("torn in round {round}: {error}\n{text}"));
        let measures = job["measure"].as_array().unwrap();
        for told in &acknowledged {
            let (place, value) = told.split_once(" = ").unwrap();
            let (item, field) = place.split_once(' ').unwrap();
            let holds = |one: &toml::Value| {
                one["item"].as_str() == Some(item)
                    && one["field"].as_str() == Some(field)
                    && one["value"].as_str() == Some(value)
            };
            assert!(measures.iter().any(holds), "{told} is lost in round {round}");
        }
        assert_eq!(text.matches("# kept: ").count(), 42, "comments are lost in round {round}");
    }
    assert!(acknowledged.len() >= 22, "{acknowledged:?}");
    assert_ne!(folder.inspect("").status, 2, "the job can still be inspected");
}

/// A person with a phone in one hand: what is asked, what can be typed and what it does stands on the first screen.
#[test]
fn the_first_screen_says_what_to_type_and_fits_a_phone() {
    let folder = Folder::little();
    folder.write("answers.txt", "?\nquit\n");
    let mut command = folder.command();
    command.args("walk job.toml --rulesets book --on 2023-06-01 --by Ames --answers answers.txt".split(' '));
    let ran = ran(command.env("COLUMNS", "40").output().unwrap());
    let first = ran.out.split("\nShed\n").next().unwrap();
    let said = flat(first);
    for wanted in
        ["2 questions in 1 place.", "in job.toml at once", "a reading such as `11`", "`quit` ends", "locked out"]
    {
        assert!(said.contains(wanted), "`{wanted}` is not in {said}");
    }
    assert!(first.lines().count() <= 16, "{first}");
    assert!(ran.out.lines().all(|line| line.chars().count() <= 40), "{}", ran.out);
    assert!(flat(&ran.out).contains("next: `storystick walk job.toml` goes on"), "{}", ran.out);
}

#[test]
fn a_file_from_another_system_keeps_its_line_ends_and_its_mark() {
    let folder = Folder::little();
    let before = format!("\u{feff}{}", folder.read("job.toml").replace('\n', "\r\n"));
    folder.write("job.toml", &before);
    assert!(walk(&folder, "", "7\r\n").out.contains("recorded: C2/to first_support = 7 in"));
    let after = folder.read("job.toml");
    assert!(after.starts_with(&before), "what stood there stands there still");
    assert_eq!(after.matches('\n').count(), after.matches("\r\n").count());
}
