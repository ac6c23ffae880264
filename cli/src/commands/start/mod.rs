//! `start`: makes a job file from a few answers.

mod answers;
mod appliances;
mod ask;
mod job_text;
mod line;
mod panel;
mod rooms;

use std::io::{IsTerminal, Read as _};
use std::path::Path;

use storystick_engine::book::Shelf;
use storystick_engine::inspection::{Inspector, JobText, Options};
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::world::World;

use crate::Answer;
use crate::args::{Common, Start};
use crate::render::report::Look;
use crate::world::{self, Machine};

/// What problems call answers to questions.
const YOURS: &str = "your answers";

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
    let look = super::look(common, world::stderr_is_terminal());
    let mut inspector = Inspector::new(texts);
    let given = match given(args, inspector.shelf(), look) {
        Ok(given) => given,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let mut files = Files::new();
    let file = match files.add(given.name.as_str(), given.text.as_str()) {
        Ok(file) => file,
        Err(error) => return Answer::fault(format!("{error}\n")),
    };
    let read = answers::read(&file, inspector.shelf());
    let told = match read {
        Ok(told) => told,
        Err(problems) => return Answer::fault(super::draw(&problems, &files, look) + given.kept(args).as_str()),
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
        return Answer::fault(super::draw(&problems, &files, look) + given.kept(args).as_str());
    }
    let Some(path) = &args.file else { return Answer::clean(job) };
    match world::replace(path, &job) {
        Ok(()) => Answer::clean(format!("wrote {path}\nnext: storystick propose {path}\n")),
        Err(message) => Answer::fault(format!("{message}\n{}", given.kept(args))),
    }
}

/// Answers as text, one on a line.
struct Given {
    /// What problems call them.
    name: String,
    text: String,
    /// Whether somebody typed them at questions, and has them nowhere else.
    typed: bool,
}

impl Given {
    /// Keeps typed answers that no job file came of, and says where.
    fn kept(&self, args: &Start) -> String {
        let (true, Some(path)) = (self.typed && !self.text.is_empty(), &args.file) else { return String::new() };
        let beside = format!("{path}.answers");
        match world::replace(&beside, &self.text) {
            Ok(()) => format!(
                "your answers are kept in {beside}\nnext: put them right there, then storystick start {path} --answers {beside}\n"
            ),
            Err(message) => format!("{message}\nyour answers were:\n{}", self.text),
        }
    }
}

/// Returns the answers of a file, the flags, or of somebody who is asked.
fn given(args: &Start, shelf: &Shelf, look: Look) -> Result<Given, String> {
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
        (None, true) => return asked(shelf, look),
    };
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(&from_flags);
    Ok(Given { name, text, typed: false })
}

/// Reads answers from standard input; on a terminal with a question before each.
fn asked(shelf: &Shelf, look: Look) -> Result<Given, String> {
    let mut input = std::io::stdin().lock();
    let typed = input.is_terminal();
    let text = if typed {
        ask::asked(&mut input, &mut std::io::stderr(), shelf, look)
    } else {
        let mut text = String::new();
        input.read_to_string(&mut text).map(|_| text)
    };
    let text = text.map_err(|error| format!("the answers can't be read: {error}"))?;
    Ok(Given { name: String::from(YOURS), text, typed })
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
    line("panel", &args.panel);
    line("existing-panel", &args.existing_panel);
    for panel in &args.sub_panel {
        line("sub-panel", &Some(panel.clone()));
    }
    if args.remodel {
        lines.push(String::from("remodel"));
    }
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
