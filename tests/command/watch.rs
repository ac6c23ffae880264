//! `--watch`: again on every change, however an editor saves, until Ctrl-C.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use crate::support::Folder;

/// Runs a command that goes on until it is ended, and hands on what it prints, line by line.
fn watch(folder: &Folder, words: &str) -> (std::process::Child, Receiver<String>) {
    let mut command = folder.command();
    command.args(words.split_whitespace()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let (send, lines) = channel();
    for output in [
        Box::new(child.stdout.take().unwrap()) as Box<dyn std::io::Read + Send>,
        Box::new(child.stderr.take().unwrap()),
    ] {
        let send = send.clone();
        std::thread::spawn(move || {
            for line in BufReader::new(output).lines().map_while(Result::ok) {
                let _ = send.send(line);
            }
        });
    }
    (child, lines)
}

fn wait_for(lines: &Receiver<String>, says: &str) {
    let until = Instant::now() + Duration::from_secs(60);
    let mut seen = Vec::new();
    while let Ok(line) = lines.recv_timeout(until.saturating_duration_since(Instant::now())) {
        let found = line.contains(says);
        seen.push(line);
        if found {
            return;
        }
    }
    panic!("`{says}` did not come:\n{}", seen.join("\n"));
}

#[test]
fn trials_run_again_when_a_file_changes() {
    let folder = Folder::little();
    let (mut child, lines) = watch(&folder, "ruleset try book --watch");
    wait_for(&lines, "little/edition: 7 rules, 4 trials, 0 failed");
    folder.change("book/little/edition/code/entries.toml", "\"12 in\"", "\"15 in\"");
    wait_for(&lines, "little/edition: 7 rules, 4 trials, 1 failed");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn an_inspection_runs_again_when_the_job_changes_even_by_a_rename() {
    let folder = Folder::little();
    let (mut child, lines) =
        watch(&folder, "inspect job.toml --rulesets book --on 2023-06-01 --watch --rule nosuch-rule");
    wait_for(&lines, "there is no rule `nosuch-rule`");
    wait_for(&lines, "watching");
    folder.write("beside", &folder.read("job.toml").replace("format = 1", "format = 9"));
    std::fs::rename(folder.path().join("beside"), folder.path().join("job.toml")).unwrap();
    wait_for(&lines, "format");
    child.kill().unwrap();
    child.wait().unwrap();
}

/// Sends Ctrl-C, and returns how the command ended.
#[cfg(unix)]
fn interrupt(child: &mut std::process::Child, signal: &str) -> Option<i32> {
    let sent = Command::new("kill").arg(signal).arg(child.id().to_string()).status().unwrap();
    assert!(sent.success());
    let until = Instant::now() + Duration::from_secs(60);
    while Instant::now() < until {
        if let Some(status) = child.try_wait().unwrap() {
            return status.code();
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    child.kill().unwrap();
    panic!("it goes on after {signal}");
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_it_with_the_status_of_the_last_run() {
    let folder = Folder::little();
    let inspect = "inspect job.toml --rulesets book --on 2023-06-01 --watch";
    let (mut child, lines) = watch(&folder, inspect);
    wait_for(&lines, "watching for changes; Ctrl-C ends");
    assert_eq!(interrupt(&mut child, "-INT"), Some(1), "corrections were found");
    // The run before counts no more.
    let (mut child, lines) = watch(&folder, inspect);
    wait_for(&lines, "watching");
    folder.change("job.toml", "format = 1", "format = 9");
    wait_for(&lines, "watching");
    assert_eq!(interrupt(&mut child, "-INT"), Some(2), "the file can't be read by now");
    let (mut child, lines) = watch(&folder, "ruleset try book --watch");
    wait_for(&lines, "watching");
    assert_eq!(interrupt(&mut child, "-TERM"), Some(0), "all trials came out as written");
}

/// Counts the runs until nothing has come for a while.
fn runs(lines: &Receiver<String>) -> usize {
    let mut count = 0;
    while let Ok(line) = lines.recv_timeout(Duration::from_millis(1500)) {
        count += usize::from(line.contains("watching for changes"));
    }
    count
}

#[test]
fn several_quick_saves_give_one_run_and_what_is_no_input_gives_none() {
    let folder = Folder::little();
    let (mut child, lines) = watch(&folder, "inspect job.toml --rulesets book --on 2023-06-01 --watch");
    wait_for(&lines, "watching");
    let text = folder.read("job.toml");
    for round in 0..6 {
        folder.write("job.toml", &format!("{text}# {round}\n"));
        folder.write("book/little/edition/notes.toml~", "x");
        std::thread::sleep(Duration::from_millis(15));
    }
    assert_eq!(runs(&lines), 1);
    folder.write("other.toml", "x = 1\n");
    folder.write("notes.txt", "x\n");
    folder.write("book/little/edition/.job.toml.swp.toml", "x\n");
    assert_eq!(runs(&lines), 0);
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn a_file_or_a_folder_that_is_away_for_a_while_comes_back() {
    let folder = Folder::little();
    let (mut child, lines) = watch(&folder, "inspect job.toml --rulesets book --on 2023-06-01 --watch");
    wait_for(&lines, "watching");
    let text = folder.read("job.toml");
    std::fs::remove_file(folder.path().join("job.toml")).unwrap();
    wait_for(&lines, "there is no such file");
    wait_for(&lines, "watching");
    folder.write("job.toml", &text);
    wait_for(&lines, "2 to put right");
    // The folder of rulesets is moved away and another comes in its place.
    std::fs::rename(folder.path().join("book"), folder.path().join("old")).unwrap();
    wait_for(&lines, "is no folder of rulesets");
    std::fs::rename(folder.path().join("old"), folder.path().join("book")).unwrap();
    wait_for(&lines, "2 to put right");
    folder.change("book/little/county/ruleset.toml", "\"8 in\"", "\"20 in\"");
    wait_for(&lines, "1 to put right");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn a_job_that_is_not_there_yet_is_waited_for_and_its_name_is_free() {
    let folder = Folder::little();
    let text = folder.read("job.toml");
    let (mut child, lines) = watch(&folder, "inspect shed.job --rulesets book --on 2023-06-01 --watch");
    wait_for(&lines, "there is no such file");
    wait_for(&lines, "watching");
    folder.write("shed.job", &text);
    wait_for(&lines, "2 to put right");
    child.kill().unwrap();
    child.wait().unwrap();
}
