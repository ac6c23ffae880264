//! Options of the commands that print papers.

use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;

use super::common::{TextOrJson, date};

/// The papers of a packet, in the order of the page.
pub(crate) const SHEETS: [&str; 10] =
    ["findings", "walk", "mark-out", "make-up", "take-off", "directory", "loads", "tests", "met", "code"];

/// The papers.
#[derive(Debug, Subcommand)]
pub(crate) enum PaperTask {
    /// Mark-out: every wall with its boxes, plans, and the story stick
    Markout(MarkoutArgs),
    /// Make-up sheets: what lands in every panel, what is spliced and landed in every box, with the worksheet of its fill
    Makeup(MakeupArgs),
    /// Take-off: what to order, by room or in total
    Takeoff(TakeoffArgs),
    /// Circuit directory of every panel
    Directory(DirectoryArgs),
    /// Go through what is to measure and to look at, room by room; or print it as a list with room to write
    ///
    /// Asks for each reading with its limit and writes the answer into the job file at once, with comments and layout kept. Answers:
    /// a reading (`11`, `11 in`), `ok`, `no`, `skip`, `back`, `quit`, `?`. Exit status: 0 nothing to put right, 1 corrections, 2 a fault.
    Walk(WalkArgs),
    /// Test record: the readings to take on every circuit and what is acceptable
    Readings(ReadingsArgs),
    /// All papers of a job in one HTML file
    Packet(PacketArgs),
}

/// The job a paper is about.
#[derive(Args, Debug)]
pub(crate) struct JobArgs {
    /// Job file
    #[arg(value_name = "JOB")]
    pub(crate) job: String,
    /// The day of the paper, which decides whether permissions have lapsed; today where none is given
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) on: Option<Date>,
}

/// Options of `markout`.
#[derive(Args, Debug)]
pub(crate) struct MarkoutArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// Only this room (can be repeated)
    #[arg(long, value_name = "ROOM")]
    pub(crate) room: Vec<String>,
    /// Write the drawings into this folder as SVG files, one for each wall, plan and the story stick
    #[arg(long, value_name = "DIR")]
    pub(crate) svg: Option<String>,
}

/// Options of `makeup`.
#[derive(Args, Debug)]
pub(crate) struct MakeupArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// Only these boxes and panels, by id; default: every panel, and every box that a cable enters
    #[arg(value_name = "BOX|PANEL")]
    pub(crate) items: Vec<String>,
    /// Form of the sheets
    #[arg(long, value_enum, default_value_t = TextOrJson::Text, conflicts_with = "svg")]
    pub(crate) format: TextOrJson,
    /// Write the drawings into this folder as SVG files, one for each box and panel
    #[arg(long, value_name = "DIR")]
    pub(crate) svg: Option<String>,
}

/// Text or CSV.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum TextOrCsv {
    /// For people.
    Text,
    /// For a spreadsheet.
    Csv,
}

/// Options of `takeoff`.
#[derive(Args, Debug)]
pub(crate) struct TakeoffArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// Room by room instead of in total
    #[arg(long)]
    pub(crate) by_room: bool,
    /// Form of the paper
    #[arg(long, value_enum, default_value_t = TextOrCsv::Text)]
    pub(crate) format: TextOrCsv,
}

/// Options of `directory`.
#[derive(Args, Debug)]
pub(crate) struct DirectoryArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// Form of the paper
    #[arg(long, value_enum, default_value_t = TextOrCsv::Text)]
    pub(crate) format: TextOrCsv,
}

/// Options of `walk`.
#[derive(Args, Debug)]
pub(crate) struct WalkArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// Print the list with room to write
    #[arg(long, conflicts_with_all = ["room", "answers", "by"])]
    pub(crate) print: bool,
    /// Only this room, by id or name; `whole dwelling` for what is in none (can be repeated)
    #[arg(long, value_name = "ROOM")]
    pub(crate) room: Vec<String>,
    /// Take the answers from this file, one a line, instead of standard input
    #[arg(long, value_name = "FILE")]
    pub(crate) answers: Option<String>,
    /// Who measures and looks; asked first where it is not given
    #[arg(long, value_name = "NAME")]
    pub(crate) by: Option<String>,
    /// Up to this stage instead of the job's own
    #[arg(long, value_parser = ["layout", "rough_in", "trim_out", "final"])]
    pub(crate) stage: Option<String>,
    /// Behind each room, list what is already met
    #[arg(long, requires = "print")]
    pub(crate) evidence: bool,
}

/// Options of `readings`.
#[derive(Args, Debug)]
pub(crate) struct ReadingsArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
}

/// Options of `packet`.
#[derive(Args, Debug)]
pub(crate) struct PacketArgs {
    #[command(flatten)]
    pub(crate) job: JobArgs,
    /// File to write; standard output where none is given
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<String>,
    /// Up to this stage instead of the job's own
    #[arg(long, value_parser = ["layout", "rough_in", "trim_out", "final"])]
    pub(crate) stage: Option<String>,
    /// Only this paper, behind the cover with its cautions (can be repeated)
    #[arg(long, value_name = "PAPER", value_parser = SHEETS)]
    pub(crate) sheet: Vec<String>,
}
