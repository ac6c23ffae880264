//! `drill`: makes a job to practise on from a sound one, with mistakes planted or figures changed by a seed, and keeps the key apart.

mod ask;
mod bank;
mod change;
mod place;
mod wire;

use std::path::{Path, PathBuf};

use storystick_engine::inspection::finding::{Finding, Outcome, Weight};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::world::World;

use super::next;
use crate::Answer;
use crate::args::{Common, Drill};
use crate::render::packet;
use crate::render::wrap::wrap;
use crate::teach::fault::FAULT_FILE;
use crate::teach::papers::{Key, Mistakes, Planned, Told};
use crate::teach::readings::READINGS_FILE;
use crate::teach::seed::Seed;
use crate::teach::{self, MISTAKES};
use crate::world::{self, Machine};

/// Stands at the head of a drill.
const WARNING: &str =
    "# A drill: figures or values in this job may be wrong on purpose. Nothing may be built from it.\n";

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Drill) -> Answer {
    if args.print_table {
        return Answer::clean(MISTAKES);
    }
    match drill(common, args) {
        Ok(told) => Answer::clean(told),
        Err(message) => Answer::fault(message),
    }
}

fn drill(common: &Common, args: &Drill) -> Result<String, String> {
    let of = |text: &Option<String>| text.clone().unwrap_or_default();
    let (job, number) = (of(&args.job), args.seed.unwrap_or_default());
    let folders = Folders { drill: PathBuf::from(of(&args.output)), key: PathBuf::from(of(&args.key)) };
    if args.mistakes == 0 && !args.figures && !args.fault {
        return Err(next::with(
            "nothing to practise is asked for: plant mistakes with `--mistakes K`, ask for worksheets and questions with `--figures`, or \
             plant a fault for the meter with `--fault`",
            &[next::DRILL],
        ));
    }
    folders.check(args.force)?;
    if args.fault && args.mistakes > 0 {
        return Err(next::with(
            "a drill has either a fault or mistakes: the meter reads the wiring of job.toml as it was handed out, and mistakes are put \
             right in that file. Make two drills, each with a folder and a key of its own.",
            &[
                "`storystick drill JOB --seed 1 --mistakes 3 -o drill --key key`",
                "`storystick drill JOB --seed 1 --fault -o meter --key meter-key`",
            ],
        ));
    }
    let table: Mistakes = match &args.table {
        Some(path) => {
            let read = Machine.read(path).and_then(|text| teach::read(path, &text));
            read.map_err(|why| next::with(&why, &[next::TABLE]))?
        }
        None => teach::read("mistakes", MISTAKES)?,
    };
    let sound = super::read_job(&job, super::look(common, crate::world::stderr_is_terminal()))?.text.to_string();
    let mut bench = Bench::new(common, &job)?;
    let before = bench.inspect(&sound).map_err(|message| format!("the job to start from can't be used:\n{message}"))?;
    if !before.report.faults.is_empty() {
        return Err(super::draw(&before.report.faults, &before.job.files, bench.look));
    }
    let standing: Vec<Told> = corrections(&before).into_iter().map(|finding| told(&before, finding)).collect();
    let mut seed = Seed::new(number);
    let mut text = sound;
    let mut changed = 0;
    if args.figures {
        (text, changed) = change::vary(&mut bench, &table, &mut seed, text)?;
    }
    let (text, planted) = change::plant(&mut bench, &table, &mut seed, text, args.mistakes)?;
    if planted.len() < args.mistakes {
        let most = planted.len();
        let why = format!(
            "only {most} of {} mistakes can be planted in `{job}`: a mistake is planted where the file writes the value that it changes, \
             and where nothing else is wrong yet",
            args.mistakes
        );
        let fewer = format!("ask for `--mistakes {most}`, or write out in the job what its defaults fill in");
        let next = if most == 0 { "write out in the job what its defaults fill in" } else { fewer.as_str() };
        return Err(next::with(&why, &[next, next::TABLE]));
    }
    let after = bench.inspect(&text)?;
    let asked = if args.figures { ask::figures(&bench, &after, &table, &mut seed) } else { Vec::new() };
    let question = if args.figures { bank::questions(&mut bench, &text, &after, &mut seed)? } else { Vec::new() };
    let fault = if args.fault { Some(fault(&after, &table, &mut seed)?) } else { None };
    let (fault, sealed): (Vec<Planned>, Option<String>) = match fault {
        Some((planned, sealed)) => (vec![planned], Some(sealed)),
        None => (Vec::new(), None),
    };
    let key =
        Key { key_format: 1, job: before.report.job.clone(), seed: number, standing, planted, asked, question, fault };
    let written = toml::to_string(&key).map_err(|error| format!("the key can't be written: {error}\n"))?;
    let head = "# Key of a drill. Keep it from the learners; `storystick grade DIR --key` reads it.\n";
    let kinds: Vec<String> = table.fault.iter().map(|fault| fault.id.clone()).collect();
    let (out, key_folder) = (&folders.drill, &folders.key);
    let mut files =
        vec![(out.join("job.toml"), format!("{WARNING}{text}")), (out.join("answers.toml"), ask::form(&key, &kinds))];
    if !key.question.is_empty() {
        files.push((out.join("questions.html"), packet::drill::page(&key)));
    }
    files.extend(sealed.map(|sealed| (out.join(FAULT_FILE), sealed)));
    files.push((key_folder.join("key.toml"), format!("{head}{written}")));
    let mut told = folders.write(&files)?;
    told.push_str(&wrap(&summary(&key, changed), world::columns(), "  "));
    let to_do = if key.fault.is_empty() { next::grading(key_folder) } else { next::metering(out) };
    told.push_str(&next::block(&[&to_do], world::columns()));
    Ok(told)
}

/// Says what is in a drill.
fn summary(key: &Key, changed: usize) -> String {
    let count = |count: usize, one: &str, more: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        count => Some(format!("{count} {more}")),
    };
    let all = [
        count(key.planted.len(), "mistake planted", "mistakes planted"),
        count(key.fault.len(), "fault to find with a meter", "faults to find with a meter"),
        count(changed, "figure changed", "figures changed"),
        count(key.asked.len(), "worksheet asked", "worksheets asked"),
        count(key.question.len(), "question asked", "questions asked"),
        Some(format!("seed {}", key.seed)),
    ];
    all.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// Picks the fault to find with a meter and seals it.
fn fault(inspected: &Inspected, table: &Mistakes, seed: &mut Seed) -> Result<(Planned, String), String> {
    let drill = seed.number() >> 1;
    let (planned, wrong) = wire::plan(inspected, &table.fault, drill, seed)
        .ok_or_else(|| next::with("no fault can be planted: no box of this job is wired up whole", &[next::PROPOSE]))?;
    let sealed = teach::fault::seal(&wrong, drill).map_err(|error| format!("the fault can't be sealed: {error}\n"))?;
    Ok((planned, sealed))
}

fn line(message: String) -> String {
    format!("{message}\n")
}

/// Where a drill goes.
struct Folders {
    drill: PathBuf,
    key: PathBuf,
}

impl Folders {
    /// Refuses a key that lies with the drill, and a drill in the place of another that somebody may have worked on.
    fn check(&self, force: bool) -> Result<(), String> {
        let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
        if whole(&self.key).starts_with(whole(&self.drill)) {
            return Err(next::with(
                "the key would lie in the folder of the drill, where learners read it: give `--key` another folder than `-o`",
                &[next::DRILL],
            ));
        }
        let all = FILES.map(|name| self.drill.join(name)).into_iter().chain([self.key.join("key.toml")]);
        match all.into_iter().find(|path| path.exists()).filter(|_| !force) {
            None => Ok(()),
            Some(there) => Err(next::with(
                &format!("`{}` is there already: a drill is made, and perhaps answered, there", there.display()),
                &["name other folders with `-o` and `--key`, or make it anew with `--force`"],
            )),
        }
    }

    /// Writes the files and returns their names; what an earlier drill left there and this one has not goes.
    fn write(&self, files: &[(PathBuf, String)]) -> Result<String, String> {
        let mut told = String::new();
        for (path, text) in files {
            if let Some(folder) = path.parent() {
                let said = |error: std::io::Error| {
                    let why = format!("`{}` can't be made: {}", folder.display(), world::plain(&error));
                    next::with(&why, &[next::WRITABLE])
                };
                std::fs::create_dir_all(folder).map_err(said)?;
            }
            world::replace(&path.to_string_lossy(), text).map_err(|why| next::with(&why, &[next::WRITABLE]))?;
            told.push_str(&format!("{}\n", path.display()));
        }
        for left in FILES.map(|name| self.drill.join(name)) {
            if !files.iter().any(|(path, _)| *path == left) && left.is_file() {
                std::fs::remove_file(&left)
                    .map_err(|error| format!("`{}` can't be taken away: {}\n", left.display(), world::plain(&error)))?;
            }
        }
        Ok(told)
    }
}

/// The files that may lie in the folder of a drill.
const FILES: [&str; 5] = ["job.toml", "answers.toml", "questions.html", FAULT_FILE, READINGS_FILE];

/// Where a drill is put together: a job is inspected after every change.
struct Bench {
    inspector: Inspector,
    name: String,
    options: Options,
    look: crate::render::report::Look,
}

impl Bench {
    fn new(common: &Common, name: &str) -> Result<Bench, String> {
        let inspector = Inspector::new(super::rulesets(common).map_err(line)?);
        // A day on which no special permission has lapsed, the same for ever: the same seed gives the same drill.
        let mut options = Options::on(jiff::civil::date(2000, 1, 1));
        options.lightest = Weight::Correction;
        let look = super::look(common, world::stderr_is_terminal());
        Ok(Bench { inspector, name: name.to_owned(), options, look })
    }

    fn inspect(&mut self, text: &str) -> Result<Inspected, String> {
        let look = self.look;
        let failed =
            |failure: storystick_engine::inspection::Failure| super::draw(&failure.problems, &failure.files, look);
        let text = JobText { name: self.name.clone(), text: text.into() };
        let prepared = self.inspector.prepare(text, &self.options).map_err(failed)?;
        self.inspector.inspect(&prepared, &self.options).map_err(failed)
    }
}

/// Returns what is to put right.
fn corrections(inspected: &Inspected) -> Vec<&Finding> {
    inspected.report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction).collect()
}

fn told(inspected: &Inspected, finding: &Finding) -> Told {
    Told {
        item: finding.item.clone(),
        rule: finding.rule.clone(),
        cites: finding.cite.clone(),
        says: inspected.words().message(finding),
    }
}
