//! Options of every command, and forms that several share.

use clap::{Args, ValueEnum};
use jiff::civil::Date;

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
