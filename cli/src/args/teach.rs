//! Options of the commands that teach.

use clap::{Args, ValueEnum};

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
