//! The command line.

mod common;
mod jobs;
mod made;
mod papers;
mod rulesets;
mod teach;

use clap::{Parser, Subcommand};

pub(crate) use common::{Color, Common, TextOrJson, date};
pub(crate) use jobs::{ANSWERS, Code, Compare, Format, Inspect, Loads, PlaceAt, Propose, Sheets, Start, Update};
pub(crate) use made::{Completions, FieldsArgs, Man, SchemaArgs, Which};
pub(crate) use papers::{
    DirectoryArgs, JobArgs, MakeupArgs, MarkoutArgs, PacketArgs, PaperTask, ReadingsArgs, SHEETS, TakeoffArgs,
    TextOrCsv, WalkArgs,
};
pub(crate) use rulesets::{CheckFormat, Export, Guide, GuideForm, New, Ruleset, RulesetCheck, RulesetTask};
pub(crate) use teach::{Drill, Grade, GradeFormat, Meter};

/// Hold every box, cable, circuit and device of a dwelling against the electrical code of its place
#[derive(Debug, Parser)]
#[command(name = "storystick", version, max_term_width = 100)]
pub(crate) struct Command {
    /// How the answer is written.
    #[command(flatten)]
    pub(crate) common: Common,
    /// What to do.
    #[command(subcommand)]
    pub(crate) task: Task,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Task {
    /// Inspect job files against the code in force at their place
    Inspect(Inspect),
    /// Make a job file from a few answers: flags, a file of answers, or questions on standard input
    Start(Start),
    /// Fill in what a job lacks: receptacles, switches, lights, alarms, circuits and cables, by the code in force
    ///
    /// Nothing that is written is changed, and nothing that only somebody on site can know is made up. Exit status: 0 nothing to correct,
    /// 1 something written has to be put right, 2 the input or the rulesets are at fault.
    Propose(Propose),
    /// Bring job files up to the newest format, in place: words of the trade become those of the format, comments and layout stay
    ///
    /// Each change is told with its line. Exit status: 0 all is done or nothing was to do, 1 something is left for you to decide, or with
    /// `--check` something is to change, 2 a file can't be read or written.
    Update(Update),
    /// Work out the calculated load of dwellings: standard and optional method, neutral, service
    Loads(Loads),
    /// Show the code in force for a job or a place, and who set each value
    Code(Code),
    /// Hold one job against several places and dates, and tell what made each difference
    ///
    /// Exit status: 0 nothing newly fails, 1 something newly fails under one of them, 2 the input or the rulesets are at fault.
    Compare(Compare),
    /// Grade the jobs and answers of a class: by trainee and competency, with the working
    ///
    /// Exit status: 0 all are graded, 1 somebody's files can't be read and are graded as if not handed in, 2 rubric, key or folder are at fault.
    Grade(Grade),
    /// Make a job to practise on from a sound one: plant mistakes, change figures, keep the key apart
    Drill(Drill),
    /// Take a reading with a meter on the wiring of a drill, to find the fault that is planted in it
    ///
    /// Readings are worked out from the wiring as it is followed, with the fault in it, and logged in `readings.toml`. Breakers trip on a short,
    /// GFCI devices and breakers on a ground fault; AFCI do not trip. Nothing of it is for real wiring: there the circuit is off, locked out and proved dead, and only qualified persons take live readings.
    Meter(Meter),
    /// Work with rulesets
    Ruleset(Ruleset),
    /// The papers of a job.
    #[command(flatten)]
    Papers(PaperTask),
    /// Print every field of every kind of item: what it means and holds, who writes it, what leaving it out means
    Fields(FieldsArgs),
    /// Print the JSON Schema of job files, or of the files of a ruleset
    Schema(SchemaArgs),
    /// Print a script that completes commands and options in a shell
    Completions(Completions),
    /// Write the manual pages of all commands into a folder
    Man(Man),
    /// Serve an editor: findings, help, places and completion in job files and rulesets, over standard input and output
    Lsp,
}
