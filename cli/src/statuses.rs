//! What the exit status of each command means, for the help and the manual.

use clap::{CommandFactory, FromArgMatches};

/// What holds of every command.
const ALL: &str = "Exit status of every command:\n  0  done, and nothing to correct\n  1  corrections, failed trials or \
                   something lacking were found\n  2  the input, the rulesets or the command line are at fault\n\n\
                   `storystick COMMAND --help` tells more closely.";

/// What 0, 1 and 2 mean for a command; one that never ends with 1 has nothing there.
type Meaning = [&'static str; 3];

const AT_FAULT: &str = "the job file, the rulesets or the command line are at fault";
const PAPER: Meaning = ["the paper is made, whatever has to be put right", "", AT_FAULT];
const MADE: Meaning = ["done", "", "it can't be done; the message tells why"];

/// Commands by their words.
const MEANINGS: &[(&str, Meaning)] = &[
    (
        "inspect",
        [
            "nothing to correct",
            "corrections were found; with --fail-on, cautions or notes as well",
            "a job file, a ruleset or a rule is at fault, or the command line is",
        ],
    ),
    ("start", ["the job file is made", "", "an answer can't be used; nothing is written"]),
    (
        "update",
        [
            "the files are in the newest format",
            "something is left for you to decide, or with --check something is to change",
            "a file can't be read or written",
        ],
    ),
    ("loads", ["the load is worked out", "", AT_FAULT]),
    ("code", ["shown", "", "nothing has one of the names, or the job file or a ruleset is at fault"]),
    ("drill", ["the drill and its key are made", "", AT_FAULT]),
    (
        "meter",
        [
            "the reading is told and logged",
            "",
            "the folder is no drill with a fault, or a point, switch or circuit is not there",
        ],
    ),
    (
        "ruleset try",
        ["all trials came out as written", "a trial did not", "a ruleset, a rule or a trial file can't be read"],
    ),
    ("ruleset list", MADE),
    ("ruleset new", ["the ruleset is made", "", "it can't be made; nothing is written"]),
    ("ruleset export", ["the copy is made", "", "it can't be made; nothing is written"]),
    ("ruleset guide", ["the book is printed", "", "the ruleset can't be read"]),
    ("markout", PAPER),
    ("makeup", PAPER),
    ("takeoff", PAPER),
    ("directory", PAPER),
    ("readings", PAPER),
    ("packet", PAPER),
    ("fields", ["shown", "", "there is no such kind, or what a ruleset declares of facts is at fault"]),
    ("schema", MADE),
    ("completions", MADE),
    ("man", MADE),
    ("lsp", ["the editor shut the server down", "the editor left without that", "the server could not be started"]),
];

/// Commands that go on with `--watch` until Ctrl-C.
const WATCHES: [&str; 2] = ["inspect", "ruleset try"];

/// Returns the command of this process; misuse ends it with status 2 and help, as clap does.
pub(crate) fn read() -> crate::args::Command {
    let matches = documented().get_matches();
    crate::args::Command::from_arg_matches(&matches).unwrap_or_else(|error| error.exit())
}

/// Returns the description of the command line, with what each command's exit status means behind its help.
pub(crate) fn documented() -> clap::Command {
    with(crate::args::Command::command(), "").after_long_help(ALL)
}

fn with(mut command: clap::Command, words: &str) -> clap::Command {
    let inner: Vec<String> = command.get_subcommands().map(|inner| inner.get_name().to_owned()).collect();
    for name in inner {
        let whole = format!("{words} {name}");
        command = command.mut_subcommand(name, |inner| with(inner, whole.trim_start()));
    }
    let Some((_, meaning)) = MEANINGS.iter().find(|(known, _)| *known == words) else { return command };
    let mut text = command.get_after_help().map_or_else(String::new, |help| format!("{help}\n\n"));
    text.push_str("Exit status:");
    for (status, means) in meaning.iter().enumerate().filter(|(_, means)| !means.is_empty()) {
        text.push_str(&format!("\n  {status}  {means}"));
    }
    if WATCHES.contains(&words) {
        text.push_str("\nWith --watch, Ctrl-C ends it with the status of the last run.");
    }
    command.after_long_help(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_says_what_its_status_means() {
        fn look(command: &mut clap::Command, words: &str) {
            let inner: Vec<String> = command.get_subcommands().map(|inner| inner.get_name().to_owned()).collect();
            if inner.is_empty() && words != "help" {
                let help = command.render_long_help().to_string();
                let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(help.contains("Exit status"), "`{words}` says nothing of it:\n{help}");
            }
            for name in inner.iter().filter(|name| *name != "help") {
                let whole = format!("{words} {name}");
                look(command.find_subcommand_mut(name).unwrap(), whole.trim_start());
            }
        }
        look(&mut documented(), "");
        for (words, _) in MEANINGS {
            let mut command = documented();
            let mut at = &mut command;
            for word in words.split(' ') {
                at = at.find_subcommand_mut(word).unwrap_or_else(|| unreachable!("no command `{words}`"));
            }
        }
    }
}
