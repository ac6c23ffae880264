//! `start`: makes a job file from a few answers.

mod answers;
mod appliances;
mod job_text;
mod rooms;

use std::io::{BufRead, IsTerminal, Write};
use std::path::Path;

use storystick_engine::inspection::{Inspector, JobText, Options};
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::world::World;

use crate::Answer;
use crate::args::{Common, Start};
use crate::world::{self, Machine};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Start) -> Answer {
    if let Some(path) = &args.file
        && !args.force
        && Path::new(path).exists()
    {
        return Answer::fault(format!(
            "`{path}` is there already: choose another name, or give --force to write over it\n"
        ));
    }
    let texts = match super::rulesets(common) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let (name, text) = match given(args) {
        Ok(given) => given,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let look = super::look(common, world::stderr_is_terminal());
    let mut files = Files::new();
    let file = match files.add(name, text.as_str()) {
        Ok(file) => file,
        Err(error) => return Answer::fault(format!("{error}\n")),
    };
    let mut inspector = Inspector::new(texts);
    let read = answers::read(&file, inspector.shelf());
    let told = match read {
        Ok(told) => told,
        Err(problems) => return Answer::fault(super::draw(&problems, &files, look)),
    };
    let job = job_text::job(&told);
    // The file must be one that every command takes: what is not so is told at the answer it came from.
    let options = Options::on(Machine.today());
    let tried = inspector
        .prepare(JobText { name: String::from("the new job"), text: job.as_str().into() }, &options)
        .and_then(|prepared| inspector.inspect(&prepared, &options));
    if let Err(failure) = tried {
        let site = told.permit_date.1;
        let problems: Vec<Problem> = failure
            .problems
            .iter()
            .map(|problem| {
                let written = failure.files.text(problem.span);
                let at = told.place_of(written).unwrap_or(site);
                let mut moved = Problem::new(at, problem.message.clone()).label("this answer");
                moved.help.clone_from(&problem.help);
                moved
            })
            .collect();
        return Answer::fault(super::draw(&problems, &files, look));
    }
    let Some(path) = &args.file else { return Answer::clean(job) };
    match world::replace(path, &job) {
        Ok(()) => Answer::clean(format!("wrote {path}\nnext: storystick propose {path}\n")),
        Err(message) => Answer::fault(format!("{message}\n")),
    }
}

/// Returns the answers as text, one on a line, with the name that problems are told by.
fn given(args: &Start) -> Result<(String, String), String> {
    let mut text = match &args.answers {
        Some(path) => Machine
            .read(path)
            .map_err(|message| super::next::told(&message, &[super::next::ANSWERS], world::columns()))?,
        None => String::new(),
    };
    let from_flags = flags(args);
    let name = match (&args.answers, from_flags.is_empty()) {
        (Some(path), _) => path.clone(),
        (None, false) => String::from("the command line"),
        (None, true) => {
            return asked().map(|text| (String::from("your answers"), text));
        }
    };
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(&from_flags);
    Ok((name, text))
}

/// Returns the flags in the form of answers.
fn flags(args: &Start) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut line = |key: &str, value: &Option<String>| {
        if let Some(value) = value {
            lines.push(format!("{key} {value}"));
        }
    };
    line("name", &args.name);
    line("place", &args.place);
    line("permit-date", &args.permit_date);
    line("shop", &args.shop);
    line("stage", &args.stage);
    line("units", &args.units);
    line("storeys", &args.storeys.map(|storeys| storeys.to_string()));
    if args.accessible {
        lines.push(String::from("accessible"));
    }
    for room in &args.room {
        // Behind the room stand its doors, windows and counters, with `;` between.
        let mut parts = room.split(';').map(str::trim);
        lines.push(format!("room {}", parts.next().unwrap_or_default()));
        lines.extend(parts.filter(|part| !part.is_empty()).map(str::to_owned));
    }
    lines.iter().map(|line| format!("{}\n", line.replace(['\n', '\r'], " "))).collect()
}

/// Reads answers from standard input; on a terminal with a question before each.
fn asked() -> Result<String, String> {
    let input = std::io::stdin();
    let terminal = input.is_terminal();
    let mut lines = String::new();
    let said = |error: std::io::Error| format!("the answers can't be read: {error}");
    if !terminal {
        for line in input.lock().lines() {
            lines.push_str(&line.map_err(said)?);
            lines.push('\n');
        }
        return Ok(lines);
    }
    let questions = [
        ("name", "What is the job called"),
        ("place", "Where is it (`storystick ruleset list` names the places)"),
        ("permit-date", "Day of the permit, as 2023-05-10"),
    ];
    let mut err = std::io::stderr();
    let mut ask = |question: &str| -> Result<Option<String>, String> {
        let _ = write!(err, "{question}: ");
        let _ = err.flush();
        let mut line = String::new();
        let read = input.lock().read_line(&mut line).map_err(said)?;
        Ok((read > 0).then(|| line.trim().to_owned()))
    };
    for (key, question) in questions {
        if let Some(answer) = ask(question)? {
            lines.push_str(&format!("{key} {answer}\n"));
        }
    }
    while let Some(answer) =
        ask("A room such as `bedroom 12x14`, a door in it such as `door south 3 32in`, or nothing to end")?
    {
        if answer.is_empty() {
            break;
        }
        let first = answer.split_whitespace().next().unwrap_or_default();
        let is_part = rooms::is_part(first);
        lines.push_str(&if is_part || first == "room" { format!("{answer}\n") } else { format!("room {answer}\n") });
    }
    Ok(lines)
}
