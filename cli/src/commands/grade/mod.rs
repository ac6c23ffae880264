//! `grade`: holds what a class handed in against a key, a reference job or the code alone, competency by competency.

mod close;
mod mark;
mod meter;
mod parts;
mod trainee;
mod written;

use std::path::{Path, PathBuf};

use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::world::World;

use super::next;
use crate::args::{Common, Grade, GradeFormat};
use crate::render::grades::{Class, Sheet};
use crate::render::{grades, packet};
use crate::teach::papers::{Key, Rubric};
use crate::teach::readings::Log;
use crate::teach::{self, RUBRIC};
use crate::world::{self, Machine};
use crate::{Answer, Status};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Grade) -> Answer {
    if args.print_rubric {
        return Answer::clean(RUBRIC);
    }
    grade(common, args).unwrap_or_else(Answer::fault)
}

/// What a class is held against.
struct Measure {
    inspector: Inspector,
    options: Options,
    rubric: Rubric,
    key: Option<Key>,
    reference: Option<Inspected>,
    look: crate::render::report::Look,
}

fn grade(common: &Common, args: &Grade) -> Result<Answer, String> {
    let line = |message: String| format!("{message}\n");
    let rubric: Rubric = match &args.rubric {
        Some(path) => {
            let read = Machine.read(path).and_then(|text| teach::read(path, &text));
            read.map_err(|why| next::with(&why, &[next::RUBRIC]))?
        }
        None => teach::read("rubric", RUBRIC)?,
    };
    // A folder has a key for each trainee, where each had a drill of another seed; or the one that `drill` put into it.
    let keys = args.key.as_deref().map(Path::new).filter(|path| path.is_dir() && !path.join("key.toml").is_file());
    let key_file = match &args.key {
        Some(path) if Path::new(path).is_dir() => Some(Path::new(path).join("key.toml").to_string_lossy().into_owned()),
        path => path.clone(),
    };
    let key: Option<Key> = match &key_file {
        Some(path) if keys.is_none() => Some(read_key(path)?),
        _ => None,
    };
    // As in a drill: a day on which no special permission has lapsed.
    let mut options = Options::on(jiff::civil::date(2000, 1, 1));
    options.met = true;
    let inspector = Inspector::new(super::rulesets(common).map_err(line)?);
    let look = super::look(common, world::stderr_is_terminal());
    let mut measure = Measure { inspector, options, rubric, key, reference: None, look };
    if let Some(path) = &args.reference {
        let why = |why: String| format!("the reference can't be used:\n{why}");
        let text = super::read_job(path, look).map_err(why)?.text.to_string();
        measure.reference = Some(measure.inspect(path, text).map_err(why)?);
    }
    let folder = args.folder.as_deref().unwrap_or_default();
    let own_keys = if keys.is_some() { &args.key } else { &key_file };
    let own: Vec<&str> = [own_keys, &args.reference, &args.rubric].into_iter().flatten().map(String::as_str).collect();
    let handed_in = trainee::all(folder, &own)?;
    if let Some(keys) = keys.filter(|keys| handed_in.iter().all(|one| key_path(keys, &one.name).is_none())) {
        let why = format!("no key for anybody who handed in: `{}` has no `NAME/key.toml` of theirs", keys.display());
        return Err(next::with(
            &why,
            &["give the key of the drill, `--key KEY/key.toml`, or a folder with one for each"],
        ));
    }
    let mut class = Class { title: measure.rubric.title.clone(), competencies: Vec::new(), sheets: Vec::new() };
    let titles = measure.rubric.competency.iter().map(|one| (one.id.clone(), one.title.clone()));
    class.competencies = titles.collect();
    let mut err = String::new();
    for one in handed_in {
        let mut lacks = None;
        if let Some(keys) = keys {
            let (key, why) = key_of(keys, &one.name);
            measure.key = Some(key);
            lacks = why;
        }
        let (mut sheet, why) = measure.sheet(one);
        if let Some(lacks) = lacks {
            err.push_str(&lacks);
            sheet.notes.push(lacks.trim_end().to_owned());
        }
        err.push_str(&why);
        class.sheets.push(sheet);
    }
    if !err.is_empty() {
        let next = "have it put right and handed in again: until then it counts as not handed in";
        err.push_str(&next::block(&[next], look.width));
    }
    let shown = |id: &str| class.sheets.iter().any(|sheet| sheet.marks.iter().any(|mark| mark.competency == id));
    let seen: Vec<(String, String)> = class.competencies.iter().filter(|(id, _)| shown(id)).cloned().collect();
    class.competencies = seen;
    let out = match args.format {
        GradeFormat::Text => grades::text(&class, world::columns()),
        GradeFormat::Csv => grades::csv(&class),
        GradeFormat::Html => packet::class::page(&class),
    };
    let status = if err.is_empty() { Status::Clean } else { Status::Corrections };
    Ok(Answer { out, err, status })
}

fn read_key(path: &str) -> Result<Key, String> {
    let read = Machine.read(path).and_then(|text| teach::read(path, &text));
    let key: Key = read.map_err(|why| next::with(&format!("the key can't be used: {why}"), &[next::DRILL]))?;
    if key.key_format != 1 {
        let why = format!("the key `{path}` has key_format {}; this program knows 1", key.key_format);
        return Err(next::with(&why, &[next::DRILL]));
    }
    Ok(key)
}

fn key_path(keys: &Path, name: &str) -> Option<PathBuf> {
    let paths = [keys.join(name).join("key.toml"), keys.join(format!("{name}.toml"))];
    paths.into_iter().find(|path| path.is_file())
}

/// Returns the key of a trainee: `NAME/key.toml` or `NAME.toml` of a folder; without one, a key that asks nothing, and what to say.
fn key_of(keys: &Path, name: &str) -> (Key, Option<String>) {
    let Some(path) = key_path(keys, name) else {
        let path = keys.join(name).join("key.toml");
        return (Key::default(), Some(format!("no key for `{name}`: `{}` is not there\n", path.display())));
    };
    match read_key(&path.to_string_lossy()) {
        Ok(key) => (key, None),
        Err(why) => (Key::default(), Some(why)),
    }
}

impl Measure {
    fn inspect(&mut self, path: &str, text: String) -> Result<Inspected, String> {
        let look = self.look;
        let failed =
            |failure: storystick_engine::inspection::Failure| super::draw(&failure.problems, &failure.files, look);
        let text = JobText { name: path.to_owned(), text: text.into() };
        let prepared = self.inspector.prepare(text, &self.options).map_err(failed)?;
        self.inspector.inspect(&prepared, &self.options).map_err(failed)
    }

    /// Grades one trainee; what can't be read counts as not handed in, and is told.
    fn sheet(&mut self, one: trainee::HandedIn) -> (Sheet, String) {
        let (mut err, mut notes) = (String::new(), Vec::new());
        let job = match &one.job {
            None => {
                // A drill of readings and questions alone has no job to put right.
                if self.key.as_ref().is_none_or(|key| !key.planted.is_empty()) {
                    notes.push(String::from("no job was handed in"));
                }
                None
            }
            Some(path) => match Machine.read(path).and_then(|text| self.inspect(path, text)) {
                Ok(job) => Some(job),
                Err(why) => {
                    notes.push(format!("the job `{path}` can't be read"));
                    err.push_str(&next::with(&why, &[]));
                    None
                }
            },
        };
        let answers = match &one.answers {
            None => None,
            Some(path) => match Machine.read(path).and_then(|text| teach::read(path, &text)) {
                Ok(answers) => Some(answers),
                Err(why) => {
                    notes.push(format!("the answers `{path}` can't be read"));
                    err.push_str(&next::with(&why, &[]));
                    None
                }
            },
        };
        let answers: Option<teach::papers::Answers> = answers;
        let name = answers.as_ref().and_then(|answers| answers.name.clone()).filter(|name| !name.trim().is_empty());
        let log: Option<Log> = match &one.readings {
            None => None,
            Some(path) => match Machine.read(path).and_then(|text| teach::read(path, &text)) {
                Ok(log) => Some(log),
                Err(why) => {
                    notes.push(format!("the readings `{path}` can't be read"));
                    err.push_str(&next::with(&why, &[]));
                    None
                }
            },
        };
        let trainee = mark::Trainee { job: job.as_ref(), answers: answers.as_ref(), log: log.as_ref() };
        let marks = self.rubric.competency.iter().filter_map(|competency| mark::mark(self, competency, &trainee));
        (Sheet { name: name.unwrap_or(one.name), notes, marks: marks.collect() }, err)
    }
}
