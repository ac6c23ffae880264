//! What to run next: the one place that knows which command helps with which mistake.

use std::collections::BTreeSet;
use std::path::Path;

use storystick_engine::problem::{Problem, Severity, Topic};
use storystick_engine::source::{Files, Span};

use super::job_files::states_format;
use crate::render::wrap::{GLUE, lines};

/// Names all rulesets.
pub(crate) const RULESETS: &str =
    "`storystick ruleset list` names all places, editions and shops; `--rulesets DIR` adds your own";

/// Makes a ruleset.
pub(crate) const NEW_RULESET: &str = "`storystick ruleset new our-town --dir our-rules` makes a ruleset that loads";

/// Makes an earlier result for `--since`.
pub(crate) const EARLIER: &str = "`storystick inspect JOB --format json > earlier.json` makes one";

/// Describes the answers of `start`.
pub(crate) const ANSWERS: &str = "`storystick start --help` shows the form of answers";

/// Makes a drill with its key.
pub(crate) const DRILL: &str =
    "`storystick drill JOB --seed 1 --mistakes 3 -o drill --key key` makes a drill with its key";

/// Tells how a class hands in.
pub(crate) const HANDED_IN: &str = "`storystick grade --help` says how the files of a class lie in a folder";

/// Tells what can be probed.
pub(crate) const POINTS: &str =
    "`storystick meter DRILL` names boxes, switches and circuits; `--box BOX` the points of a box";

/// Makes a drill with a fault for the meter.
pub(crate) const FAULT: &str =
    "`storystick drill JOB --seed 1 --fault -o drill --key key` makes a drill with a fault to find";

/// Fills in circuits and cables.
pub(crate) const PROPOSE: &str = "`storystick propose JOB` fills in circuits and cables, from which the wiring follows";

/// Where nothing can be written.
pub(crate) const WRITABLE: &str = "name a folder in which you may write";

/// Shows what can be planted.
pub(crate) const TABLE: &str = "`storystick drill --print-table > table.toml` prints the shipped table, to change";

/// Shows what is graded.
pub(crate) const RUBRIC: &str = "`storystick grade --print-rubric > rubric.toml` prints the shipped rubric, to change";

/// Returns a message with what to run next, broken to the terminal, with a last line end. Lines that begin with a blank or a figure
/// are laid out already, as the reader of TOML does.
pub(crate) fn with(message: &str, next: &[&str]) -> String {
    let columns = crate::world::columns();
    let broken = |line: &str| {
        let laid_out = line.starts_with(' ') || line.starts_with(|first: char| first.is_ascii_digit());
        if laid_out { format!("{line}\n") } else { lines(line, columns, "").join("\n") + "\n" }
    };
    let message: String = message.trim_end().lines().map(broken).collect();
    message + block(next, columns).as_str()
}

/// Returns a message with what to run next, without a last line end.
pub(crate) fn told(message: &str, next: &[&str], columns: usize) -> String {
    let message: Vec<String> = message.trim_end().lines().flat_map(|line| lines(line, columns, "")).collect();
    format!("{}\n{}", message.join("\n"), block(next, columns).trim_end())
}

/// Returns what to do with a drill that is to be graded.
pub(crate) fn grading(key: &Path) -> String {
    let key = key.join("key.toml");
    format!("`storystick grade HANDED-IN --key {}` grades what the class hands in", key.display())
}

/// Returns what to do with a drill that has a fault.
pub(crate) fn metering(drill: &Path) -> String {
    format!("`storystick meter {} --box BOX` names the points to probe in a box", drill.display())
}

/// Returns what to say of a file where a ruleset is wanted.
pub(crate) fn no_ruleset(path: &str) -> String {
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let folder = Path::new(path).ancestors().skip(1).take(2).find(|folder| folder.join("ruleset.toml").is_file());
    let next = match folder {
        _ if is_job(&text) => format!("`storystick inspect {path}` is for job files"),
        Some(folder) if !folder.as_os_str().is_empty() => {
            format!("`storystick ruleset check {}` takes its folder", folder.display())
        }
        _ => RULESETS.to_owned(),
    };
    let message = format!("`{path}` is a file: name a ruleset by its id, or a folder of rulesets");
    told(&message, &[&next], crate::world::columns())
}

/// Returns the lines that say what to run next; nothing where nothing is known.
pub(crate) fn block(next: &[&str], columns: usize) -> String {
    let mut out = String::new();
    for (at, line) in next.iter().enumerate() {
        let lead = if at == 0 { "next: " } else { "      " };
        for (nth, part) in lines(&unbroken(line), columns.saturating_sub(6), "").iter().enumerate() {
            out.push_str(if nth == 0 { lead } else { "      " });
            out.push_str(part);
            out.push('\n');
        }
    }
    out
}

/// Keeps what stands in backticks on one line, to be copied.
fn unbroken(line: &str) -> String {
    let mut inside = true;
    let mut part = |part: &str| {
        inside = !inside;
        if inside { part.replace(' ', GLUE.encode_utf8(&mut [0; 4])) } else { part.to_owned() }
    };
    line.split('`').map(&mut part).collect::<Vec<_>>().join("`")
}

/// Returns what to run after problems of the input, each line once. Notices ask for nothing.
pub(crate) fn after(problems: &[Problem], files: &Files) -> Vec<String> {
    let mut next = after_check(problems, files);
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let rulesets: BTreeSet<String> = errors.filter_map(|problem| ruleset_of(files, problem.span)).collect();
    next.extend(
        rulesets.iter().take(2).map(|id| format!("`storystick ruleset check {id}` tells all that is wrong in it")),
    );
    next
}

/// Returns the same for whoever has checked the rulesets already.
pub(crate) fn after_check(problems: &[Problem], files: &Files) -> Vec<String> {
    let errors: Vec<&Problem> = problems.iter().filter(|problem| problem.severity == Severity::Error).collect();
    let last = files.iter().last().filter(|file| states_format(file.text()));
    let job = last.map_or("JOB", |file| file.name());
    let mut next: Vec<String> = Vec::new();
    let topics: BTreeSet<&Topic> = errors.iter().filter_map(|problem| problem.topic.as_deref()).collect();
    next.extend(topics.iter().map(|topic| of(topic, job)));
    let own = errors.iter().filter(|problem| ruleset_of(files, problem.span).is_none());
    if next.is_empty()
        && let Some(file) = own.filter_map(|problem| files.file_of(problem.span)).next()
    {
        // A job's own mistakes are put right in the job, whatever command stumbled over them.
        next.push(match file.text() {
            text if is_job(text) => {
                format!("put it right, then `storystick inspect {}` reads the file again", file.name())
            }
            text if are_answers(text) => ANSWERS.to_owned(),
            _ => String::from("`storystick start house.toml` makes a job file from a few answers"),
        });
    }
    next
}

fn of(topic: &Topic, job: &str) -> String {
    match topic {
        Topic::Ruleset => RULESETS.to_owned(),
        Topic::Adoption(place) => {
            format!("`storystick ruleset guide {place}` tells what it adopts, and from which day on")
        }
        Topic::Entry => String::from("`storystick code --at PLACE --on DATE` lists all entries in force at a place"),
        Topic::Rule => format!("`storystick code {job}` lists all rules in force, behind the entries"),
        Topic::Item => format!("`storystick makeup {job}` names the boxes, `storystick directory {job}` the circuits"),
        Topic::JobWord => String::from("`storystick schema job` describes every key and word of a job file"),
        Topic::JobHead => String::from(
            "`storystick ruleset list` names the places; `storystick start OTHER.toml` makes a job file with all it needs",
        ),
        Topic::Lacking(_) => format!("`storystick code {job}` lists what the code in force has"),
        Topic::JobFile(path) => instead_of(path),
    }
}

/// Returns what to run where a file is no job file.
fn instead_of(path: &str) -> String {
    let known = Path::new(path);
    let read = std::fs::read_to_string(known);
    // What can't be read as text may be anybody's work: nothing is to be made in its place.
    let unread = read.is_err();
    let text = read.unwrap_or_default();
    let ruleset = known.ancestors().skip(1).take(2).find(|folder| folder.join("ruleset.toml").is_file());
    if known.is_dir() {
        let inside = super::job_files::job_files(&[path.to_owned()]).is_ok();
        if inside {
            format!("`storystick inspect {path}` takes all job files of a folder")
        } else {
            format!("`storystick start {}` makes a job file in it", known.join("house.toml").display())
        }
    } else if known.is_file() && unread {
        format!("`storystick inspect {path}` reads it again once it is UTF-8 text that you may read")
    } else if known.is_file() && text.trim().is_empty() {
        format!("`storystick start --force {path}` makes a job file of it")
    } else if let Some(folder) = ruleset {
        format!("`storystick ruleset check {}` is for rulesets", folder.display())
    } else if storystick_rulesets::FILES.iter().any(|(file, _)| file.strip_suffix("/ruleset.toml") == Some(path)) {
        format!("`{path}` is a ruleset: `storystick code --at {path} --on DATE` shows the code in force there")
    } else if known.exists() {
        String::from("`storystick start house.toml` makes a job file from a few answers")
    } else {
        format!("`storystick start {path}` makes a job file of that name")
    }
}

fn are_answers(text: &str) -> bool {
    let mut lines = text.lines().map(str::trim_start);
    lines.any(|line| ["name ", "place ", "permit-date ", "room "].iter().any(|key| line.starts_with(key)))
}

fn is_job(text: &str) -> bool {
    states_format(text) || text.lines().any(|line| line.trim() == "[site]")
}

/// Returns what `ruleset check` has to be given for the ruleset that a place lies in: the id of a shipped one, the folder of
/// another.
fn ruleset_of(files: &Files, span: Span) -> Option<String> {
    let file = files.file_of(span)?;
    let name = file.name();
    let folder = name.strip_suffix("/ruleset.toml").or_else(|| {
        ["/code/", "/rules/", "/trials/"].iter().filter_map(|part| name.rfind(part)).max().and_then(|at| name.get(..at))
    })?;
    Some(folder.strip_prefix("ruleset:").unwrap_or(folder).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_topic_names_a_command_and_each_is_told_once() {
        let mut files = Files::new();
        let file = files.add("shed.toml", "format = 1\n[site]\n").unwrap();
        let topics = [
            Topic::Ruleset,
            Topic::Adoption(String::from("demo/millrace")),
            Topic::Entry,
            Topic::Rule,
            Topic::Item,
            Topic::JobWord,
            Topic::JobHead,
            Topic::Lacking(String::from("box_fill.device")),
            Topic::JobFile(String::from("no/such.toml")),
        ];
        for topic in topics {
            let problem = Problem::new(file.span(0..6), "wrong").about(topic.clone());
            let next = after(&[problem.clone(), problem.clone()], &files);
            assert_eq!(next.len(), 1, "{topic:?}: {next:?}");
            assert!(next[0].contains("`storystick "), "{next:?}");
            assert!(after(&[problem.notice()], &files).is_empty());
        }
        let plain = Problem::new(file.span(0..6), "wrong");
        assert_eq!(after(&[plain], &files), ["put it right, then `storystick inspect shed.toml` reads the file again"]);
    }

    #[test]
    fn a_mistake_in_a_ruleset_leads_to_its_check() {
        for (name, given) in [
            ("ruleset:demo/millrace/code/amendments.toml", "demo/millrace"),
            ("our-rules/our-town/ruleset.toml", "our-rules/our-town"),
            ("our-rules/code/town/rules/x.rhai", "our-rules/code/town"),
        ] {
            let mut files = Files::new();
            let file = files.add(name, "id = 1\n").unwrap();
            let next = after(&[Problem::new(file.span(0..2), "wrong")], &files);
            assert_eq!(next, [format!("`storystick ruleset check {given}` tells all that is wrong in it")]);
        }
    }

    #[test]
    fn long_lines_are_broken_under_their_beginning() {
        let text = block(&["one two three four `five six` seven", "eight"], 22);
        assert_eq!(text, "next: one two three\n      four `five six`\n      seven\n      eight\n");
    }
}
