//! Options of the commands that read, make and inspect job files.

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::common::{TextOrJson, date};

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
    /// List the passed checks with their margins, and the excepted ones with their exceptions
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
    /// Inspect again whenever the job file or a ruleset changes; ends on Ctrl-C
    #[arg(long)]
    pub(crate) watch: bool,
    /// Number of threads; all cores where none is given
    #[arg(long, value_name = "N")]
    pub(crate) threads: Option<usize>,
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

/// The form of answers to `start`.
pub(crate) const ANSWERS: &str = "An answer a line: `name`, `place`, `permit-date`, `shop`, `stage`, `units metric`, `storeys`, `accessible`, `room`;\n\
`panel 200A main 200A spaces 40 in garage`, `sub-panel 100A spaces 12 fed 60A in workshop`; for work in an existing dwelling `remodel` \
and `existing-panel 200A spaces 40 free 20-24 in garage`.\n\
A room is `room bedroom 12x14 \"North bedroom\" @2`, bare numbers in feet (metric: in metres), `@2` the storey. After it stand its parts: \
`door south 3 32in latch-end to hall`, `door east 1 36in outdoors`, `window north 4 5ft`, `counter south 0 14ft`, in it `sink 6 33in` and \
`range 1 30in`, `island 6ft 3ft`, `tub` or `tub north 0 5ft`, `no-tub`, `basin east 1 20in`, `sink`, `laundry`, `bays 2`, `risers 13`, \
`finished`, `unfinished`, `appliances range 8800VA 240V north 6ft, dishwasher`; `detached` for a building that stands apart; \
`existing` where the work leaves the room as it is, and \
behind an appliance that is there already. In `--room` \
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
    /// Work in an existing dwelling
    #[arg(long)]
    pub(crate) remodel: bool,
    /// The panel of the dwelling, such as `200A main 200A spaces 40 in garage`
    #[arg(long, value_name = "PANEL")]
    pub(crate) panel: Option<String>,
    /// A panel that it feeds, such as `100A spaces 12 fed 60A in workshop` (can be repeated)
    #[arg(long, value_name = "PANEL")]
    pub(crate) sub_panel: Vec<String>,
    /// The panel that is there, such as `200A spaces 40 free 20-24`
    #[arg(long, value_name = "PANEL")]
    pub(crate) existing_panel: Option<String>,
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

/// Options of `update`.
#[derive(Args, Debug)]
pub(crate) struct Update {
    /// Job files, or folders that are searched for them
    #[arg(required = true, value_name = "JOB")]
    pub(crate) jobs: Vec<String>,
    /// Tell what is to change and write nothing
    #[arg(long)]
    pub(crate) check: bool,
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
