//! The command line.

use clap::{Args, FromArgMatches, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

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

/// Options of every command.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// Folder of rulesets that add to the shipped ones or stand in front of them (can be repeated)
    #[arg(long, global = true, value_name = "DIR", help_heading = "Options of every command")]
    pub(crate) rulesets: Vec<String>,
    /// When to use colour
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, help_heading = "Options of every command")]
    pub(crate) color: Color,
    /// Write without frames, for screen readers and logs
    #[arg(long, global = true, help_heading = "Options of every command")]
    pub(crate) plain: bool,
}

/// When colour is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
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
    Papers(crate::commands::papers::PaperTask),
    /// Print the JSON Schema of job files, or of the files of a ruleset
    Schema(crate::commands::schema::SchemaArgs),
    /// Print a script that completes commands and options in a shell
    Completions(crate::commands::manual::Completions),
    /// Write the manual pages of all commands into a folder
    Man(crate::commands::manual::Man),
    /// Serve an editor: findings, help, places and completion in job files and rulesets, over standard input and output
    Lsp,
}

/// Options of `inspect`.
#[derive(Args, Debug)]
pub(crate) struct Inspect {
    /// Job files, or folders that are searched for them
    #[arg(required = true, value_name = "JOB")]
    pub(crate) jobs: Vec<String>,
    /// Inspect as at this stage instead of the job's own
    #[arg(long, value_parser = ["layout", "rough_in", "trim_out", "final"])]
    pub(crate) stage: Option<String>,
    /// Inspect as if the job stood in this place
    #[arg(long, value_name = "RULESET")]
    pub(crate) at: Option<String>,
    /// Inspect as if the permit had this date
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) permit_date: Option<Date>,
    /// The day of the inspection, which decides whether permissions have lapsed; today where none is given
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) on: Option<Date>,
    /// Leave out findings of less weight than this
    #[arg(long, value_parser = ["correction", "caution", "note"])]
    pub(crate) weight: Option<String>,
    /// Lightest failed check that makes the exit status 1
    #[arg(long, value_parser = ["correction", "caution", "note"], default_value = "correction")]
    pub(crate) fail_on: String,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Include the met checks with their margins
    #[arg(long)]
    pub(crate) all: bool,
    /// Show every finding in full instead of folding those of one rule
    #[arg(long)]
    pub(crate) each: bool,
    /// Only this rule (can be repeated)
    #[arg(long, value_name = "RULE")]
    pub(crate) rule: Vec<String>,
    /// Only this item (can be repeated)
    #[arg(long, value_name = "ITEM")]
    pub(crate) item: Vec<String>,
    /// Tell what is new, cleared and still open since an earlier result of `--format json`
    #[arg(long, value_name = "EARLIER", conflicts_with = "working")]
    pub(crate) since: Option<String>,
    /// Print how the computed figures of this item came about instead of inspecting (can be repeated)
    #[arg(long, value_name = "ITEM")]
    pub(crate) working: Vec<String>,
    /// Run every rule on the rule language's own evaluator, to hold the lowered rules against it
    #[arg(long, hide = true)]
    pub(crate) evaluator: bool,
    /// Inspect again whenever the job file or a ruleset changes; ends on Ctrl-C
    #[arg(long)]
    pub(crate) watch: bool,
    /// Number of threads; all cores where none is given
    #[arg(long, value_name = "N")]
    pub(crate) threads: Option<usize>,
}

/// The form of answers to `start`.
pub(crate) const ANSWERS: &str = "An answer a line: `name`, `place`, `permit-date`, `shop`, `stage`, `units metric`, `storeys`, `accessible`, `room`.\n\
A room is `room bedroom 12x14 \"North bedroom\" @2`, bare numbers in feet (metric: in metres), `@2` the storey. After it stand its parts: \
`door south 3 32in latch-end to hall`, `door east 1 36in outdoors`, `window north 4 5ft`, `counter south 0 14ft`, in it `sink 6 33in` and \
`range 1 30in`, `island 6ft 3ft`, `tub`, `sink`, `bays 2`, `risers 13`, `unfinished`, `appliances range 8800VA 240V, dishwasher`. In `--room` \
they stand behind it with `;` between. An answer to a question is the same; there the word `room` can be left out.";

/// Options of `start`.
#[derive(Args, Debug)]
#[command(
    after_help = ANSWERS
)]
pub(crate) struct Start {
    /// Job file to make; standard output where none is given
    #[arg(value_name = "FILE")]
    pub(crate) file: Option<String>,
    /// What the job is called
    #[arg(long)]
    pub(crate) name: Option<String>,
    /// Ruleset of the place
    #[arg(long, value_name = "RULESET")]
    pub(crate) place: Option<String>,
    /// Day of the permit
    #[arg(long, value_name = "DATE")]
    pub(crate) permit_date: Option<String>,
    /// A room, such as `bedroom 12x14` (can be repeated)
    #[arg(long, value_name = "ROOM")]
    pub(crate) room: Vec<String>,
    /// Number of storeys
    #[arg(long, value_name = "N")]
    pub(crate) storeys: Option<i64>,
    /// The dwelling has to be accessible
    #[arg(long)]
    pub(crate) accessible: bool,
    /// Ruleset of the shop
    #[arg(long, value_name = "RULESET")]
    pub(crate) shop: Option<String>,
    /// Stage of the work
    #[arg(long)]
    pub(crate) stage: Option<String>,
    /// Units of bare numbers and of the papers: customary or metric
    #[arg(long)]
    pub(crate) units: Option<String>,
    /// File of answers, one on a line; flags add to it
    #[arg(long, value_name = "FILE")]
    pub(crate) answers: Option<String>,
    /// Write over a file that is there
    #[arg(long)]
    pub(crate) force: bool,
}

/// Options of `propose`.
#[derive(Args, Debug)]
pub(crate) struct Propose {
    /// Job file; the proposal is written into it
    #[arg(value_name = "JOB")]
    pub(crate) job: String,
    /// Print the difference instead of writing it
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// Only these parts, with commas between them
    #[arg(long, value_delimiter = ',', value_name = "PARTS", value_parser = ["receptacles", "switches", "lights", "alarms", "appliances", "circuits", "cables"])]
    pub(crate) only: Vec<String>,
    /// Write to this file instead of the job file
    #[arg(short, long = "out", value_name = "FILE")]
    pub(crate) out: Option<String>,
}

/// Options of `loads`.
#[derive(Args, Debug)]
pub(crate) struct Loads {
    /// Job files, or folders that are searched for them
    #[arg(required = true, value_name = "JOB")]
    pub(crate) jobs: Vec<String>,
    /// Work it out as if the job stood in this place
    #[arg(long, value_name = "RULESET")]
    pub(crate) at: Option<String>,
    /// Work it out as if the permit had this date
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) permit_date: Option<Date>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = Sheets::Text)]
    pub(crate) format: Sheets,
}

/// Forms of a worksheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Sheets {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// Comma-separated values.
    Csv,
}

/// A place, a date, or both, to hold a job against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PlaceAt {
    /// Ruleset of the place; the job's own where none is given.
    pub(crate) place: Option<String>,
    /// The date that counts there; the job's own dates where none is given.
    pub(crate) date: Option<Date>,
}

/// Options of `compare`.
#[derive(Args, Debug)]
pub(crate) struct Compare {
    /// Job file
    #[arg(value_name = "JOB")]
    pub(crate) job: String,
    /// Place to compare with, with the date that counts there; `@DATE` alone for the job's own place on another day
    #[arg(long, required = true, num_args = 1.., value_name = "PLACE[@DATE]", value_parser = place_at)]
    pub(crate) with: Vec<PlaceAt>,
    /// Inspect as at this stage instead of the job's own
    #[arg(long, value_parser = ["layout", "rough_in", "trim_out", "final"])]
    pub(crate) stage: Option<String>,
    /// The day of the inspection, which decides whether permissions have lapsed; today where none is given
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) on: Option<Date>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    pub(crate) format: TextOrJson,
}

/// Options of `code`.
#[derive(Args, Debug)]
pub(crate) struct Code {
    /// Job file, unless `--at` names a place
    #[arg(value_name = "JOB", required_unless_present_any = ["at", "diff"])]
    pub(crate) job: Option<String>,
    /// Entries or rules to show; a dotted beginning shows all under it. Everything where none is given
    #[arg(value_name = "ENTRY")]
    pub(crate) entries: Vec<String>,
    /// Show the code of this place instead of a job's
    #[arg(long, value_name = "RULESET", requires = "on", group = "places")]
    pub(crate) at: Option<String>,
    /// The permit date to look at
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) on: Option<Date>,
    /// Tell what the second of two codes has otherwise than the first; the day is that of `--on`, or today, where none is given
    #[arg(long, num_args = 2, value_names = ["PLACE[@DATE]", "PLACE[@DATE]"], value_parser = place_at, group = "places")]
    pub(crate) diff: Vec<PlaceAt>,
    /// With the accessibility requirements of the place
    #[arg(long, requires = "places")]
    pub(crate) accessible: bool,
    /// With this shop book on top
    #[arg(long, value_name = "RULESET", requires = "places")]
    pub(crate) shop: Option<String>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    pub(crate) format: TextOrJson,
}

/// Options of `grade`.
#[derive(Args, Debug)]
pub(crate) struct Grade {
    /// Folder with a folder for each trainee (job file, `answers.toml`, `readings.toml`, or some of them), or files `NAME.toml`,
    /// `NAME.answers.toml`, `NAME.readings.toml`
    #[arg(value_name = "DIR", required_unless_present = "print_rubric")]
    pub(crate) folder: Option<String>,
    /// Key of the drill that the class worked on, or its folder; or a folder with `NAME/key.toml` for each trainee, where each had
    /// another seed
    #[arg(long, value_name = "KEY", conflicts_with = "reference")]
    pub(crate) key: Option<String>,
    /// A job to hold the jobs of the class against
    #[arg(long, value_name = "JOB")]
    pub(crate) reference: Option<String>,
    /// A rubric of your own instead of the shipped one
    #[arg(long, value_name = "FILE")]
    pub(crate) rubric: Option<String>,
    /// Print the shipped rubric, to copy and change, and grade nobody
    #[arg(long, exclusive = true)]
    pub(crate) print_rubric: bool,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = GradeFormat::Text)]
    pub(crate) format: GradeFormat,
}

/// Forms of a grade report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum GradeFormat {
    /// For people.
    Text,
    /// For a spreadsheet: a row for each trainee and competency.
    Csv,
    /// A page to read and print, with a sheet for each trainee.
    Html,
}

/// Options of `drill`.
#[derive(Args, Debug)]
#[command(
    override_usage = "storystick drill [OPTIONS] --seed <N> -o <DIR> --key <DIR> <JOB>\n       storystick drill --print-table"
)]
pub(crate) struct Drill {
    /// Sound job file to start from
    #[arg(value_name = "JOB", required_unless_present = "print_table")]
    pub(crate) job: Option<String>,
    /// The same seed gives the same drill
    #[arg(long, value_name = "N", required_unless_present = "print_table")]
    pub(crate) seed: Option<u64>,
    /// How many mistakes to plant
    #[arg(long, value_name = "K", default_value_t = 0)]
    pub(crate) mistakes: usize,
    /// Change figures of the job, and ask for worksheets and sums
    #[arg(long)]
    pub(crate) figures: bool,
    /// Plant a fault in the wiring that only a meter finds: `storystick meter` takes the readings. Not with --mistakes
    #[arg(long)]
    pub(crate) fault: bool,
    /// Folder for the drill: `job.toml`, the form `answers.toml`, `questions.html` with its drawings, `fault.sealed`
    #[arg(short, long, value_name = "DIR", required_unless_present = "print_table")]
    pub(crate) output: Option<String>,
    /// Folder for the key, away from the drill
    #[arg(long, value_name = "DIR", required_unless_present = "print_table")]
    pub(crate) key: Option<String>,
    /// A table of mistakes of your own instead of the shipped one
    #[arg(long, value_name = "FILE")]
    pub(crate) table: Option<String>,
    /// Make the drill anew where one is already, with whatever was answered in it
    #[arg(long)]
    pub(crate) force: bool,
    /// Print the shipped table of mistakes, to copy and change, and make no drill
    #[arg(long, exclusive = true)]
    pub(crate) print_table: bool,
}

/// Options of `meter`.
#[derive(Args, Debug)]
pub(crate) struct Meter {
    /// Folder of the drill, with `job.toml` and `fault.sealed`; alone, it names the boxes, switches and circuits
    #[arg(value_name = "DRILL")]
    pub(crate) folder: String,
    /// Where the first probe is: a conductor's end such as `C1/to.black`, or a terminal such as `R1.silver`; `B1:C1/to.black` names the box too
    #[arg(value_name = "POINT", requires = "second")]
    pub(crate) first: Option<String>,
    /// Where the second probe is
    #[arg(value_name = "POINT")]
    pub(crate) second: Option<String>,
    /// Name the points of a box or panel, and take no reading
    #[arg(long = "box", value_name = "BOX", conflicts_with = "first")]
    pub(crate) at_box: Option<String>,
    /// Read ohms, with every breaker open, instead of volts
    #[arg(long)]
    pub(crate) ohms: bool,
    /// Set a switch to its second position: on, or the other one of a three-way or four-way switch (repeatable)
    #[arg(long, value_name = "SWITCH")]
    pub(crate) on: Vec<String>,
    /// Open the breaker of a circuit (repeatable)
    #[arg(long, value_name = "CIRCUIT")]
    pub(crate) open: Vec<String>,
    /// Lift a conductor off its splice or terminal for this reading (repeatable)
    #[arg(long, value_name = "CONDUCTOR")]
    pub(crate) lift: Vec<String>,
}

/// Options of `ruleset`.
#[derive(Args, Debug)]
pub(crate) struct Ruleset {
    /// What to do.
    #[command(subcommand)]
    pub(crate) task: RulesetTask,
}

/// What to do with rulesets.
#[derive(Debug, Subcommand)]
pub(crate) enum RulesetTask {
    /// Run the trials of rulesets: each rule met, failed and unrecorded
    Try {
        /// Rulesets by id, or folders of rulesets; all shipped ones where none is given
        #[arg(value_name = "RULESET")]
        which: Vec<String>,
        /// Try again whenever one of the folders changes; ends on Ctrl-C
        #[arg(long)]
        watch: bool,
    },
    /// Tell what rulesets cover and how far they can be trusted: rules, values, how they were checked, trials, and what is lacking
    ///
    /// Every rule is compiled for every day on which something changes, and every trial is run. Exit status: 0 all is in order,
    /// 1 a trial failed or something is lacking, 2 a ruleset or a rule can't be used.
    Check(RulesetCheck),
    /// List the rulesets that are known
    List,
    /// Make a ruleset that loads: a value of its own, a rule and its trials, to write on from
    New(crate::commands::new::New),
    /// Copy a shipped ruleset into a folder, byte for byte, to amend it there
    Export(crate::commands::export::Export),
    /// Print the book of a ruleset: values with their sources, rules in words, trials as examples
    Guide(crate::commands::guide::Guide),
}

/// Options of `ruleset check`.
#[derive(Args, Debug)]
pub(crate) struct RulesetCheck {
    /// Rulesets by id, or folders of rulesets; all known ones where none is given
    #[arg(value_name = "RULESET")]
    pub(crate) which: Vec<String>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = CheckFormat::Text)]
    pub(crate) format: CheckFormat,
}

/// Forms of the answer of `ruleset check`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CheckFormat {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// The table alone, in Markdown, for documents.
    Markdown,
}

/// Forms of a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people.
    Text,
    /// The whole, for programs.
    Json,
    /// SARIF 2.1.0.
    Sarif,
    /// JUnit XML.
    Junit,
    /// Comma-separated values, of `--working` alone.
    Csv,
}

/// Text or JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum TextOrJson {
    /// For people.
    Text,
    /// For programs.
    Json,
}

pub(crate) fn date(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| String::from("write a date as YEAR-MONTH-DAY, such as 2023-05-10"))
}

fn place_at(text: &str) -> Result<PlaceAt, String> {
    let (place, day) = match text.split_once('@') {
        Some((place, day)) => (place, Some(date(day)?)),
        None => (text, None),
    };
    let place = Some(place).filter(|place| !place.is_empty()).map(str::to_owned);
    if place.is_none() && day.is_none() {
        return Err(String::from("write a place such as demo/millrace, with a date such as demo/millrace@2024-09-01"));
    }
    Ok(PlaceAt { place, date: day })
}

impl Command {
    /// Returns the command of this process; misuse ends it with status 2 and help, as clap does.
    pub(crate) fn read() -> Command {
        let matches = crate::statuses::documented().get_matches();
        Command::from_arg_matches(&matches).unwrap_or_else(|error| error.exit())
    }
}
