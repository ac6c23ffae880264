//! Options of `ruleset`.

use clap::{Args, Subcommand, ValueEnum};

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
    /// Every rule in force, its own and those below, is compiled for every day on which something changes, and every trial is run. Exit
    /// status: 0 all is in order, 1 a trial failed, something is lacking or an amendment switches a rule off, 2 a ruleset or a rule can't be used.
    Check(RulesetCheck),
    /// List the rulesets that are known
    List,
    /// Make a ruleset that loads: a value of its own, a rule and its trials, to write on from
    New(New),
    /// Copy a shipped ruleset into a folder, byte for byte, to amend it there
    Export(Export),
    /// Print the book of a ruleset: values with their sources, rules in words, trials as examples
    Guide(Guide),
}

/// Options of `ruleset check`.
#[derive(Args, Debug)]
pub(crate) struct RulesetCheck {
    /// Rulesets by id, or folders of rulesets; all known ones where none is given
    #[arg(value_name = "RULESET")]
    pub(crate) which: Vec<String>,
    /// Change each rule and value a little, one at a time, and name every change that no trial notices; exit status 1 where there is one
    #[arg(long)]
    pub(crate) mutants: bool,
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

/// Options of `ruleset new`.
#[derive(Args, Debug)]
pub(crate) struct New {
    /// Its id, such as `our-town` or `us-il/our-town`: the path of its folder
    #[arg(value_name = "ID")]
    pub(crate) id: String,
    /// The folder of rulesets that it goes into
    #[arg(long, value_name = "DIR", default_value = "rulesets")]
    pub(crate) dir: String,
    /// The place around it, whose adoptions and amendments hold here too
    #[arg(long, value_name = "PLACE", conflicts_with = "kind")]
    pub(crate) within: Option<String>,
    /// What it is, where it is no place inside another
    #[arg(long, value_parser = ["jurisdiction", "edition", "accessibility", "shop"])]
    pub(crate) kind: Option<String>,
}

/// Options of `ruleset export`.
#[derive(Args, Debug)]
pub(crate) struct Export {
    /// The shipped ruleset
    #[arg(value_name = "ID")]
    pub(crate) id: String,
    /// The folder of rulesets that it goes into
    #[arg(long, value_name = "DIR", default_value = "rulesets")]
    pub(crate) dir: String,
}

/// Options of `ruleset guide`.
#[derive(Args, Debug)]
pub(crate) struct Guide {
    /// The ruleset by id, or its folder
    #[arg(value_name = "ID")]
    pub(crate) id: String,
    /// Form of the book
    #[arg(long, value_enum, default_value_t = GuideForm::Markdown)]
    pub(crate) format: GuideForm,
    /// Write it into this file
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<String>,
}

/// Forms of the book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum GuideForm {
    /// One page that needs no network.
    Html,
    /// Text with marks.
    Markdown,
}
