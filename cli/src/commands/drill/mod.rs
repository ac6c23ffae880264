//! `drill`: makes a job to practise on from a sound one, with mistakes planted or figures changed by a seed, and keeps the key apart.

mod ask;
mod bank;
mod change;
mod place;
mod wire;

use std::path::Path;

use storystick_engine::inspection::finding::{Finding, Outcome, Weight};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::world::World;

use crate::Answer;
use crate::args::{Common, Drill};
use crate::render::packet;
use crate::teach::fault::FAULT_FILE;
use crate::teach::papers::{Key, Mistakes, Planned, Told};
use crate::teach::seed::Seed;
use crate::teach::{self, MISTAKES};
use crate::world::{self, Machine};

/// Stands at the head of a drill.
const WARNING: &str =
    "# A drill: figures or values in this job may be wrong on purpose. Nothing may be built from it.\n";

/// Runs the command.
pub(crate) fn run(common: &Common, args: &Drill) -> Answer {
    match drill(common, args) {
        Ok(told) => Answer::clean(told),
        Err(message) => Answer::fault(message),
    }
}

fn drill(common: &Common, args: &Drill) -> Result<String, String> {
    let (out, key_folder) = (Path::new(&args.output), Path::new(&args.key));
    if out == key_folder {
        return Err(String::from("the key would lie beside the drill: give `--key` another folder than `-o`\n"));
    }
    let table: Mistakes = match &args.table {
        Some(path) => teach::read(path, &Machine.read(path).map_err(line)?)?,
        None => teach::read("mistakes", MISTAKES)?,
    };
    let sound = super::read_job(&args.job, super::look(common, crate::world::stderr_is_terminal()))?.text.to_string();
    let mut bench = Bench::new(common, &args.job)?;
    let before = bench.inspect(&sound).map_err(|message| format!("the job to start from can't be used:\n{message}"))?;
    if !before.report.faults.is_empty() {
        return Err(super::draw(&before.report.faults, &before.job.files, bench.look));
    }
    let standing: Vec<Told> = corrections(&before).into_iter().map(told).collect();
    let mut seed = Seed::new(args.seed);
    let mut text = sound;
    let mut changed = 0;
    if args.figures {
        (text, changed) = change::vary(&mut bench, &table, &mut seed, text)?;
    }
    let (text, planted) = change::plant(&mut bench, &table, &mut seed, text, args.mistakes)?;
    if planted.len() < args.mistakes {
        return Err(format!(
            "only {} of {} mistakes can be planted in `{}`: what they change is not written there; ask for fewer\n",
            planted.len(),
            args.mistakes,
            args.job
        ));
    }
    let after = bench.inspect(&text)?;
    let asked = if args.figures { ask::figures(&bench, &after, &table, &mut seed) } else { Vec::new() };
    let question = if args.figures { bank::questions(&mut bench, &text, &after, &mut seed)? } else { Vec::new() };
    let fault = if args.fault { Some(fault(&after, &table, &mut seed)?) } else { None };
    let (fault, sealed): (Vec<Planned>, Option<String>) = match fault {
        Some((planned, sealed)) => (vec![planned], Some(sealed)),
        None => (Vec::new(), None),
    };
    let key = Key {
        key_format: 1,
        job: before.report.job.clone(),
        seed: args.seed,
        standing,
        planted,
        asked,
        question,
        fault,
    };
    let written = toml::to_string(&key).map_err(|error| format!("the key can't be written: {error}\n"))?;
    let head = "# Key of a drill. Keep it from the learners; `storystick grade DIR --key` reads it.\n";
    let kinds: Vec<String> = table.fault.iter().map(|fault| fault.id.clone()).collect();
    let mut files =
        vec![(out.join("job.toml"), format!("{WARNING}{text}")), (out.join("answers.toml"), ask::form(&key, &kinds))];
    if !key.question.is_empty() {
        files.push((out.join("questions.html"), packet::drill::page(&key)));
    }
    files.extend(sealed.map(|sealed| (out.join(FAULT_FILE), sealed)));
    files.push((key_folder.join("key.toml"), format!("{head}{written}")));
    let mut told = String::new();
    for (path, text) in files {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)
                .map_err(|error| format!("`{}` can't be made: {error}\n", folder.display()))?;
        }
        world::replace(&path.to_string_lossy(), &text).map_err(line)?;
        told.push_str(&format!("{}\n", path.display()));
    }
    told.push_str(&format!(
        "{} mistakes planted{} · {changed} figures changed · {} worksheets and {} questions asked · seed {}\n",
        key.planted.len(),
        if key.fault.is_empty() { "" } else { " · 1 fault to find with a meter" },
        key.asked.len(),
        key.question.len(),
        args.seed
    ));
    Ok(told)
}

/// Picks the fault to find with a meter and seals it.
fn fault(inspected: &Inspected, table: &Mistakes, seed: &mut Seed) -> Result<(Planned, String), String> {
    let drill = seed.number() >> 1;
    let (planned, wrong) = wire::plan(inspected, &table.fault, drill, seed)
        .ok_or("no fault can be planted: no box of this job is wired up whole\n")?;
    let sealed = teach::fault::seal(&wrong, drill).map_err(|error| format!("the fault can't be sealed: {error}\n"))?;
    Ok((planned, sealed))
}

fn line(message: String) -> String {
    format!("{message}\n")
}

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

fn told(finding: &Finding) -> Told {
    Told {
        item: finding.item.clone(),
        rule: finding.rule.clone(),
        cites: finding.cite.clone(),
        says: finding.message.clone(),
    }
}
