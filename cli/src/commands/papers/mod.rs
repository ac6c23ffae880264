//! The commands that print papers. Each opens the job, inspects it keeping the met checks, and writes one paper.

mod directory;
mod makeup;
mod markout;
mod packet;
mod readings;
mod takeoff;
mod walk_print;

use storystick_engine::inspection::{Inspected, Inspector, Options};
use storystick_engine::model::Stage;
use storystick_engine::sheet::{Desk, Masthead};
use storystick_engine::world::World;

use super::next;
use crate::args::{Common, JobArgs, PaperTask};
use crate::render::paper::head;
use crate::world::{self, Machine};
use crate::{Answer, Status};

/// Runs a command that prints a paper.
pub(crate) fn run(common: &Common, task: &PaperTask) -> Answer {
    let answer = match task {
        PaperTask::Markout(args) => markout::run(common, args),
        PaperTask::Makeup(args) => makeup::run(common, args),
        PaperTask::Takeoff(args) => takeoff::run(common, args),
        PaperTask::Directory(args) => directory::run(common, args),
        PaperTask::Walk(args) => walk_print::run(common, args),
        PaperTask::Readings(args) => readings::run(common, args),
        PaperTask::Packet(args) => packet::run(common, args),
    };
    answer.unwrap_or_else(Answer::fault)
}

/// A job, opened and inspected.
struct Opened {
    inspector: Inspector,
    inspected: Inspected,
    /// What the reader of job files and the rulesets had to say, drawn.
    err: String,
}

/// Opens and inspects a job, keeping the met checks.
fn open(common: &Common, job: &JobArgs, stage: Option<&str>) -> Result<Opened, String> {
    let look = super::look(common, world::stderr_is_terminal());
    let mut inspector = Inspector::new(super::rulesets(common).map_err(|message| format!("{message}\n"))?);
    let text = super::read_job(&job.job, look)?;
    let mut options = Options::on(job.on.unwrap_or_else(|| Machine.today()));
    options.met = true;
    options.stage = stage.and_then(Stage::of);
    let failed = |failure: storystick_engine::inspection::Failure| super::draw(&failure.problems, &failure.files, look);
    let prepared = inspector.prepare(text, &options).map_err(failed)?;
    let inspected = inspector.inspect(&prepared, &options).map_err(failed)?;
    let err = super::draw(&inspected.report.faults, &inspected.job.files, look);
    Ok(Opened { inspector, inspected, err })
}

impl Opened {
    fn desk(&self) -> Desk<'_> {
        let inspected = &self.inspected;
        Desk::new(&inspected.job, &inspected.code.book, &inspected.report, self.inspector.library())
    }

    /// Returns a text paper between its head and its foot.
    fn paper(&self, title: &str, desk: &Desk<'_>, body: &str) -> Answer {
        let columns = world::columns();
        let out = format!("{}{body}{}", head::head(title, &Masthead::of(desk), columns), head::foot(columns));
        self.answer(out)
    }

    /// Returns an answer; a rule at fault makes it one too, since the paper then lacks what the rule would have said.
    fn answer(&self, out: String) -> Answer {
        let status = if self.err.is_empty() { Status::Clean } else { Status::Fault };
        Answer { out, err: self.err.clone(), status }
    }
}

/// Writes a file, or says why that can't be done.
fn write(path: &std::path::Path, text: &str) -> Result<(), String> {
    world::replace(&path.to_string_lossy(), text).map_err(|message| format!("{message}\n"))
}

/// Makes a folder, or says why that can't be done.
fn make_folder(folder: &std::path::Path) -> Result<(), String> {
    std::fs::create_dir_all(folder)
        .map_err(|error| format!("the folder `{}` can't be made: {}\n", folder.display(), world::plain(&error)))
}

/// Returns the name of a drawing's file: an id may hold what a file name may not.
fn file_name(name: &str) -> String {
    let plain = |letter: char| if letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.') { letter } else { '-' };
    format!("{}.svg", name.chars().map(plain).collect::<String>())
}

/// Checks that rooms named on the command line exist, by id, by name, or as the whole dwelling.
pub(crate) fn check_rooms_or_whole(desk: &Desk<'_>, rooms: &[String]) -> Result<(), String> {
    let named = |room: &&String| {
        *room == "whole dwelling" || desk.items("room").iter().any(|&item| desk.room_name(item) == **room)
    };
    let ids: Vec<String> = rooms.iter().filter(|room| !named(room)).cloned().collect();
    check_rooms(desk, &ids)
}

/// Checks that rooms named on the command line exist, by id; the nearest id is offered for one that does not.
fn check_rooms(desk: &Desk<'_>, rooms: &[String]) -> Result<(), String> {
    let known: Vec<&str> = desk.items("room").iter().map(|&room| desk.job.id(room)).collect();
    let Some(room) = rooms.iter().find(|room| !known.contains(&room.as_str())) else { return Ok(()) };
    let hint = storystick_engine::problem::did_you_mean(room, known.iter().copied());
    let hint = hint.map_or_else(String::new, |hint| format!("; {hint}"));
    let markout = format!("`storystick markout {}` shows all rooms", desk.report.file);
    Err(next::told(&format!("there is no room `{room}` in this job{hint}"), &[&markout], world::columns()) + "\n")
}
